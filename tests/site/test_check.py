"""What would help is named, most useful first."""

import re
from pathlib import Path

import pytest

from thermalkit.site import read_site
from thermalkit.site.check import ORDER, check

FULL = (
    (
        "air_temperature_degc = 1.5",
        "air_temperature_degc = 1.5\nmean_24h_air_temperature_degc = 2.0\n"
        "hours_since_sun = 14\nhours_steady = 12",
    ),
    ("accuracy_k = 2.0", "accuracy_k = 2.0\ncalibrated_on = 2025-06-01\nfield_of_view_deg = [25, 19]"),
    ("accuracy_k = 0.5", "accuracy_k = 0.5\ncalibrated_on = 2025-06-01"),
    (
        'kind = "contact_thermometer"',
        'kind = "contact_thermometer"\naccuracy_k = 0.3\ncalibrated_on = 2025-06-01',
    ),
    ('id = "cellar"', 'id = "cellar"\nopen_flued_appliance = "no"'),
    ("emissivity = 0.93", "emissivity = 0.93\nreflected_temperature_degc = 12.2\ndistance_m = 2.0"),
    ("[costs]", '[limits]\nset = "x"\n[climate]\nsource = "x"\n[surveyor]\nname = "x"\n\n[costs]'),
)


@pytest.fixture
def full(folder):
    for old, new in FULL:
        folder.replace(old, new)
    return folder


def missing(folder):
    return {m.what.id.split(".")[1]: m.place for m in check(read_site(folder.path))}


def test_full_site_misses_nothing(full):
    """Nothing is asked for twice."""
    assert missing(full) == {}


BARE = '[[cabinets]]\nid = "db"\n[[circuits]]\nid = "F1"\ncabinet = "db"\n'
CASES = [
    ("reference", 'kind = "contact"', 'kind = "foil"', 'frames "corner"'),
    (
        "other-day",
        "taken_at = 2026-01-21T08:41:00+00:00",
        "taken_at = 2026-11-28T16:23:14+00:00",
        'frames "corner"',
    ),
    ("room-humidity", "relative_humidity_percent = 78.0\n", "", None),
    ("room-air", "air_temperature_degc = 12.5\n", "", 'rooms "cellar"'),
    ("mean-24h", "mean_24h_air_temperature_degc = 2.0\n", "", "[weather]"),
    ("outdoor-air", "air_temperature_degc = 1.5\n", "", "[weather]"),
    ("reflected", "reflected_temperature_degc = 12.2\n", "", 'frames "corner"'),
    ("emissivity", "\nemissivity = 0.93", "", 'frames "corner"'),
    ("camera", 'instrument = "cam"\n', "", 'frames "corner"'),
    ("accuracy", "accuracy_k = 2.0\n", "", 'instruments "cam"'),
    ("room", 'room = "cellar"\nsubject', "subject", 'frames "corner"'),
    ("sun", "hours_since_sun = 14\n", "", "[weather]"),
    ("steady", "hours_steady = 12\n", "", "[weather]"),
    ("calibration", "calibrated_on = 2025-06-01\n", "", 'instruments "cam"'),
    ("calibration", "calibrated_on = 2025-06-01", "calibrated_on = 2024-06-01", 'instruments "cam"'),
    ("calibrated-later", "calibrated_on = 2025-06-01", "calibrated_on = 2026-06-01", 'instruments "cam"'),
    ("detector", "rows = 16\n", "", 'frames "corner"'),
    ("size", "distance_m = 2.0\n", "", 'frames "corner"'),
    ("size", "field_of_view_deg = [25, 19]\n", "", 'frames "corner"'),
    ("time", "taken_at = 2026-01-21T08:41:00+00:00\n", "", 'frames "corner"'),
    ("photo", 'photo = "photos/corner.png"\n', "", 'frames "corner"'),
    ("flue", 'open_flued_appliance = "no"\n', "", 'rooms "cellar"'),
    ("looked-at", 'room = "cellar"\nelement', "element", 'rooms "cellar"'),
    ("limits", '[limits]\nset = "x"\n', "", "[limits]"),
    ("climate", '[climate]\nsource = "x"\n', "", "[climate]"),
    ("surveyor", '[surveyor]\nname = "x"\n', "", "[surveyor]"),
    ("current", "[costs]", f"{BARE}[costs]", 'circuits "F1"'),
    ("conductor", "[costs]", f"{BARE}[costs]", 'circuits "F1"'),
    ("cabinet-air", "[costs]", f"{BARE}[costs]", 'cabinets "db"'),
    ("certificate", 'name = "x"\n', 'name = "x"\ncertificate_expires_on = 2025-12-31\n', "[surveyor]"),
]


@pytest.mark.parametrize(("key", "old", "new", "place"), CASES)
def test_each_gap_is_named(full, key, old, new, place):
    """Taking one thing away brings its sentence at its place."""
    full.replace(old, new)
    found = missing(full)
    if place is None:  # a humidity of the room stands in readings.csv
        assert key not in found
        full.readings("place,quantity,value,unit\n")
        found, place = missing(full), 'rooms "cellar"'
    assert found[key] == place


def test_site_without_frames(full):
    """A damp case without a frame still reads, and is told so first."""
    text = (full.path / "site.toml").read_text()
    text = re.sub(r"\[\[(frames|references|marks)\]\]\n(?:[^\[\n].*\n)*", "", text)
    full.toml(text)
    assert next(iter(missing(full))) == "frame"


def test_every_sentence_has_its_case():
    """No sentence is without a test."""
    assert set(ORDER) == {key for key, *_ in CASES} | {"frame"}


def test_most_useful_first(folder):
    """The second reading on a frame comes before the photo."""
    folder.replace('photo = "photos/corner.png"\n', "")
    folder.replace('kind = "contact"', 'kind = "foil"')
    order = list(missing(folder))
    assert order.index("reference") < order.index("photo")


def test_outdoor_logger_stands_for_readings(full):
    """A logger outdoors gives the air and its mean."""
    full.replace("mean_24h_air_temperature_degc = 2.0\n", "")
    Path(full.path / "loggers" / "out.csv").write_text("Time,T (°C)\n2026-01-20 08:00,1.5\n", "utf-8")
    full.append('[[loggers]]\nid = "out"\nfile = "loggers/out.csv"\nplace = "outdoor"\n')
    assert missing(full) == {}


def test_a_note_is_told_in_either_language(folder):
    """Where, what, and what it would do."""
    folder.replace('kind = "contact"', 'kind = "foil"')
    note = next(m for m in check(read_site(folder.path)) if m.what.id == "check.reference.what")
    assert note.told("en").startswith('Thermal frame "corner": No second reading on the frame. A contact')
    assert note.told("de").startswith('Wärmebild "corner": Keine zweite Messung im Bild. Ein Kontakt')


def test_nobody_is_asked_to_touch_live_equipment(folder):
    """A frame of a cabinet asks for currents and sizes, never for a contact reading, weather or room air."""
    folder.replace('subject = "wall"', 'subject = "cabinet"')
    folder.append(BARE)
    told = [item.what.id for item in check(read_site(folder.path))]
    assert {"check.current.what", "check.conductor.what", "check.cabinet-air.what"} <= set(told)
    assert not {"check.reference.what", "check.outdoor-air.what", "check.room-humidity.what"} & set(told)


def test_a_gap_is_told_in_the_words_of_the_form(full):
    """Nobody at a form knows the tables of the file."""
    full.replace("\nemissivity = 0.93", "")
    full.replace("mean_24h_air_temperature_degc = 2.0\n", "")
    found = {m.what.id.split(".")[1]: m for m in check(read_site(full.path))}
    assert found["emissivity"].told("en").startswith('Thermal frame "corner": No emissivity')
    assert found["emissivity"].told("de").startswith('Wärmebild "corner": ')
    assert found["mean-24h"].told("en").startswith("Outdoors: No mean outdoor temperature")


def test_of_radiators_nothing_is_asked_that_only_a_wall_needs(folder):
    """A front follows its water, not the sun of the afternoon nor the humidity of the room."""
    walls = {"mean-24h", "sun", "steady", "limits"}
    assert missing(folder).keys() & walls
    folder.replace('subject = "wall"', 'subject = "radiator"')
    assert not missing(folder).keys() & walls
