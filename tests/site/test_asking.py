"""A form asks what the models say, in both languages."""

import tomllib
from importlib.resources import files

import pytest

from thermalkit.site.asking import FIRST, asked_tables
from thermalkit.site.problems import table_model
from thermalkit.site.sections import site_model

# Constant, drawn on pictures, proposed from the file: only what is named here is left out of the forms.
NOT_ASKED = {"format", "marks", "plans", "loggers.columns", "frames.strip"}


def keys_of_the_models():
    """Every `table.key` of the site file, found without the code under test."""
    found = set()
    for table, field in site_model().model_fields.items():
        model = table_model(field.annotation)
        found |= {f"{table}.{key}" for key in model.model_fields} if model else {table}
    return found


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_key_of_the_site_file_is_asked(language):
    """A key added to a model appears on paper and on the screen, or the test says that it does not."""
    asked = {f"{t.table}.{f.key}" for t in asked_tables(language) if t.table != "readings" for f in t.fields}
    left_out = {key for key in keys_of_the_models() if {key, key.partition(".")[0]} & NOT_ASKED}
    assert asked == keys_of_the_models() - left_out


@pytest.mark.parametrize("language", ["en", "de"])
def test_every_field_has_its_words(language):
    """Nobody meets a bare key."""
    for table in asked_tables(language):
        assert table.title
        assert all(field.label and field.hint for field in table.fields), table.table


def test_no_german_word_stands_for_a_field_that_is_gone():
    """The other direction: what was removed from a model is removed here."""
    german = tomllib.loads(files("thermalkit.site").joinpath("german.toml").read_text("utf-8"))
    asked = {t.table: {f.key for f in t.fields} for t in asked_tables("en")}
    assert {table: set(german[table]) for table in asked} == asked
    assert set(german) == {*asked, "layers", "titles", "labels"}  # a layer is a table within a table
    assert set(german["titles"]) == set(asked)
    assert set(german["labels"]) == set.union(*asked.values())


def test_fields_asked_first_exist():
    """The short form names keys of the models, and every required key is in it or stands alone."""
    for table in asked_tables():
        if table.table in FIRST:
            known = {f.key for f in table.fields}
            assert set(FIRST[table.table]) <= known
            assert {f.key for f in table.fields if f.required} <= set(FIRST[table.table])


@pytest.mark.parametrize(
    ("table", "key", "form", "options"),
    [
        ("site", "surveyed_at", "moment", ()),
        ("surveyor", "certificate_expires_on", "day", ()),
        ("rooms", "open_flued_appliance", "choice", ("yes", "no", "unknown")),
        ("frames", "room", "entry", ("rooms",)),
        ("frames", "photo", "file", ("photo", ".jpg", ".jpeg", ".png")),
        ("elements", "layers", "layers", ()),
        ("samples", "nitrate", "word-or-number", ()),
        ("report", "private", "yes-no", ()),
        ("instruments", "band_um", "numbers", ()),
    ],
)
def test_the_form_of_an_answer_follows_its_type(table, key, form, options):
    """One example of each form, read off the models by hand."""
    fields = {f"{t.table}.{f.key}": f for t in asked_tables() for f in t.fields}
    assert (fields[f"{table}.{key}"].form, fields[f"{table}.{key}"].options) == (form, options)
