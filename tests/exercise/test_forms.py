"""The page and the sheet of a hand-out, as files."""

from __future__ import annotations

import json
import re

import pytest

from thermalkit.annex.packing import unpacked_frame
from thermalkit.diagnosis.class_.choices import EMISSIVITIES
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.exercise.forms import form_files
from thermalkit.physics.moist_air import critical_surface_temperature_degc
from thermalkit.site.folder import read_site


@pytest.fixture
def site(made, key):
    """The case of a learner who got a damp one."""
    damp = next(learner for learner in key.learners if learner.truth.kind == "damp")
    return read_site(made.hand_out / damp.name)


def data_of(page):
    text = page.decode().split('id="data">')[1].split("</script>")[0]
    return json.loads(text)


def test_the_page_asks_every_question_with_every_option(site):
    """In the order of the notebook; nothing is filled in."""
    data = data_of((site.folder / "page.html").read_bytes())
    assert [step["name"] for step in data["steps"]] == [step.name for step in STEPS]
    assert all(step["nothing"] in ("open", "", [], {}) for step in data["steps"])
    assert [frame["id"] for frame in data["frames"]] == list(site.frames)


def test_a_lower_emissivity_moves_the_picture_away_from_what_is_mirrored(site):
    """At 1.00 the page shows what the camera showed; each lower choice stretches it about the reflected."""
    data = data_of((site.folder / "page.html").read_bytes())
    for frame in data["frames"]:
        spreads = [unpacked_frame(frame["seen"][chosen]["frame"]).std() for chosen in EMISSIVITIES]
        assert spreads == sorted(spreads)


def test_the_table_of_humidity_agrees_with_its_inverse(site, key):
    """A surface at the critical temperature of 80 % meets air of 80 %: the inverse formula."""
    data = data_of(form_files(site, key.plan, "01")["page.html"])
    room = next(iter(site.frames.values())).room
    critical = float(
        critical_surface_temperature_degc(room.air_temperature_degc, room.relative_humidity_percent / 100.0)
    )
    below, above = (
        next(percent for degc, percent in data["frames"][0]["beside"] if degc >= critical + step)
        for step in (-0.5, 0.0)
    )
    assert above <= 80.0 <= below


@pytest.mark.parametrize("name", ["page.html", "sheet.html"])
def test_forms_load_nothing_and_speak_german(site, key, name):
    german = key.plan.model_copy(update={"language": "de"})
    text = form_files(site, german, "01")[name].decode()
    assert 'lang="de"' in text
    assert not re.search(r"""(src|href)=["']?https?:""", text)
    assert "Welchen Emissionsgrad die Wand hat" in text
    assert "default-src &#39;none&#39;" in text


def test_the_sheet_holds_a_grid_of_numbers_for_each_picture(site, key):
    text = form_files(site, key.plan, "01")["sheet.html"].decode()
    grids = re.findall(r'<table class="grid">.*?</table>', text, re.S)
    assert len(grids) == len(site.frames)
    assert all(len(re.findall(r"<td>[−\d.]+</td>", grid)) == 20 * 15 for grid in grids)
