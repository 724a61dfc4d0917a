"""A further visit begins with what stays of a building, and with nothing that was measured."""

import re
import tomllib
from pathlib import Path

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site import write_new_site
from thermalkit.site.sections import site_model

SAMPLE = Path(__file__).parents[2] / "sample_sites" / "cold-corner"


@pytest.fixture
def old():
    return tomllib.loads((SAMPLE / "site.toml").read_text("utf-8"))


@pytest.fixture
def text(tmp_path):
    return (write_new_site(tmp_path / "again", again=SAMPLE) / "site.toml").read_text("utf-8")


def test_rooms_instruments_and_the_question_are_taken_over(text, old):
    """Without the air, the weather and the day of the earlier visit."""
    new = tomllib.loads(text)
    assert new["instruments"] == old["instruments"]
    assert new["surveyor"] == old["surveyor"]
    assert new["site"] == {key: value for key, value in old["site"].items() if key != "surveyed_at"}
    measured = {"air_temperature_degc", "relative_humidity_percent", "instrument"}
    assert new["rooms"] == [{k: v for k, v in room.items() if k not in measured} for room in old["rooms"]]
    assert new["weather"] == {}
    assert not {"frames", "references", "marks", "loggers", "samples"} & set(new)


def test_frames_and_their_marks_are_a_list_of_what_to_take_again(text, old):
    """Once the # is taken away, they are valid, with the old names and places and no old reading."""
    to_do = text.partition("to be taken again\n")[2]
    again = tomllib.loads(re.sub(r"^#(?=[\w\[])", "", to_do, flags=re.M))
    assert [frame["id"] for frame in again["frames"]] == [frame["id"] for frame in old["frames"]]
    assert again["marks"] == old["marks"]
    assert not {"taken_at", "reflected_temperature_degc", "photo"} & set(again["frames"][0])
    head = {"format": 1, "site": {"name": "x", "surveyed_at": old["site"]["surveyed_at"]}}
    assert site_model().model_validate(head | again)


def test_an_earlier_visit_that_cannot_be_read_leaves_nothing(tmp_path):
    """No half a folder."""
    with pytest.raises(ReadingError):
        write_new_site(tmp_path / "again", again=tmp_path / "nowhere")
    assert not (tmp_path / "again").exists()
