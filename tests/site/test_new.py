"""A new site folder explains itself and is valid once filled in."""

import re
import tomllib
from pathlib import Path

import pytest

from thermalkit.errors import ReadingError, WritingError
from thermalkit.site import new, read_site, write_new_site
from thermalkit.site.problems import table_model
from thermalkit.site.sections import site_model


def uncommented(folder):
    return re.sub(r"^#(?=[\w\[])", "", (folder / "site.toml").read_text(encoding="utf-8"), flags=re.M)


def test_fresh_folder_says_what_is_still_to_be_filled(tmp_path):
    """Only the name and the day of the survey are asked for."""
    folder = write_new_site(tmp_path / "new")
    assert {path.name for path in folder.iterdir()} == {"site.toml", "README.md", *new.SUBFOLDERS}
    with pytest.raises(ReadingError) as caught:
        read_site(folder)
    assert {p.place for p in caught.value.problems} == {"site.name", "site.surveyed_at"}


def test_template_with_all_its_lines_in_use_is_valid(tmp_path):
    """Every example in the template could be kept as it stands."""
    model = site_model()
    raw = tomllib.loads(uncommented(write_new_site(tmp_path / "new")))
    assert model.model_validate(raw)
    assert set(raw) == set(model.model_fields)


def keys_of(model):
    for name, field in model.model_fields.items():
        yield name
        inner = table_model(field.annotation)
        if inner is not None:
            yield from keys_of(inner)


def test_every_key_stands_in_the_template(tmp_path):
    """A key added to the model must be explained in the template."""
    text = uncommented(write_new_site(tmp_path / "new"))
    for key in keys_of(site_model()):
        assert re.search(rf"(^|[\[{{, .]){key}( =|\]|\.)", text, flags=re.M), key


def test_empty_folder_is_filled(tmp_path):
    """A folder that the user made is used, and nothing else is left beside it."""
    (tmp_path / "new").mkdir()
    write_new_site(tmp_path / "new")
    assert (tmp_path / "new" / "site.toml").is_file()
    assert [path.name for path in tmp_path.iterdir()] == ["new"]


@pytest.mark.parametrize("kind", ["full", "file", "orphan"])
def test_unsuitable_places_are_refused(tmp_path, kind):
    """What is there stays as it is."""
    folder = tmp_path / ("none/new" if kind == "orphan" else "new")
    if kind == "full":
        folder.mkdir()
        (folder / "mine.txt").write_text("mine")
    elif kind == "file":
        folder.write_text("mine")
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(WritingError):
        write_new_site(folder)
    assert sorted(tmp_path.rglob("*")) == before


@pytest.mark.parametrize("exists", [False, True])
def test_failure_leaves_nothing_behind(tmp_path, monkeypatch, exists):
    """A folder that cannot be completed is not begun."""
    folder = tmp_path / "new"
    if exists:
        folder.mkdir()
    rename = Path.rename

    def fail(self, target):
        if self.name in {"site", "thermal"}:
            raise OSError(28, "No space left on device")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fail)
    with pytest.raises(WritingError, match="No space left"):
        write_new_site(folder)
    assert list(tmp_path.rglob("*")) == ([folder] if exists else [])
