"""Ids, files and entries must fit each other."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.language import words_in
from thermalkit.site import read_site


def found_in(folder):
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    return {words_in(p.place, "en"): str(p) for p in caught.value.problems}


@pytest.mark.parametrize(
    ("old", "new", "place", "words"),
    [
        (
            'room = "cellar"\nsubject',
            'room = "attic"\nsubject',
            'frames[0].room ("corner")',
            'Not listed under [[rooms]]. Listed: "cellar".',
        ),
        (
            'room = "cellar"\nsubject',
            'room = "cellar"\nfar_side = "attic"\nsubject',
            'frames[0].far_side ("corner")',
            'Not listed under [[rooms]]. Listed: "outdoors", "heated", "unheated", "cellar".',
        ),
        (
            'instrument = "cam"',
            'instrument = "came"',
            'frames[0].instrument ("corner")',
            'Not listed under [instruments]. Listed: "cam", "hygro", "probe".',
        ),
        (
            'instrument = "cam"',
            'instrument = "hygro"',
            'frames[0].instrument ("corner")',
            '"hygro" is a thermohygrometer',
        ),
        ('frame = "corner"', 'frame = "x"', "references[0].frame", 'Listed: "corner".'),
        ('mark = "sound"', 'mark = "sonud"', "references[0].mark", 'Did you mean "sound"?'),
        ('instrument = "probe"', 'instrument = "cam"', "references[0].instrument", "touches the surface"),
        ('frame = "corner"\nid', 'frame = "x"\nid', 'marks[0].frame ("sound")', 'Listed: "corner".'),
        (
            'values = "apparent"',
            'values = "camera-corrected"\ncamera_reflected_temperature_degc = 20',
            'frames[0].camera_emissivity ("corner")',
            "needs",
        ),
        (
            'values = "apparent"',
            'values = "camera-corrected"\ncamera_emissivity = 0.9',
            'frames[0].camera_reflected_temperature_degc ("corner")',
            "needs",
        ),
        ("emissivity = 0.93", "scale = 0", 'frames[0].scale ("corner")', "any number but 0"),
        (
            "emissivity = 0.93",
            "uncovered_at = 2026-01-21T08:42:00+00:00",
            'frames[0].uncovered_at ("corner")',
            "not after taken_at",
        ),
        ("columns = 24", "band_um = [14.0, 7.5]", "instruments.cam.band_um", "from the shorter"),
        ('shape = "patch"', 'shape = "pin"', 'marks[0].points ("sound")', "one point for a pin"),
        (", [9, 9], [9, 2]]", "]", 'marks[0].points ("sound")', "3 or more for a patch"),
        (
            'shape = "patch"\npoints = [[2, 2], [2, 9], [9, 9], [9, 2]]',
            'shape = "trace"\npoints = [[2, 2]]',
            'marks[0].points ("sound")',
            "2 or more for a trace",
        ),
        ("points = [[2, 2]", "points = [[16, 2]", 'marks[0].points[0] ("sound")', "rows 0 to 15"),
        ("points = [[2, 2]", "points = [[-1, 2]", 'marks[0].points[0][0] ("sound")', "-0.5 to"),
        (
            "[costs]",
            '[[rooms]]\nid = "cellar"\n\n[costs]',
            'rooms[1].id ("cellar")',
            "Already used by rooms[0]",
        ),
        (
            "[costs]",
            '[[marks]]\nframe = "corner"\nid = "sound"\nshape = "pin"\npoints = [[1, 1]]\n\n[costs]',
            'marks[1].id ("sound")',
            "Already used by marks[0]",
        ),
        (
            "[costs]",
            '[[loggers]]\nid = "a"\nplace = "room"\nfile = "loggers/a.csv"\n\n[costs]',
            'loggers[0].file ("a")',
            "missing",
        ),
    ],
)
def test_entries_that_do_not_fit(folder, old, new, place, words):
    """Each misfit is named at its key, and only that."""
    folder.replace(old, new)
    found = found_in(folder)
    assert words in found[place]
    assert len(found) == 1


@pytest.mark.parametrize(
    ("named", "place", "words"),
    [
        ('[[rooms]]\nid = "Ku\u0308che"\n', 'rooms[2].id ("Ku\u0308che")', "Already used by rooms[1]"),
        (
            '[[frames]]\nid = "b"\nfile = "thermal/corner.npy"\nsubject = "wall"\nvalues = "apparent"\n'
            'room = "Ku\u0308che"\n',
            'frames[1].room ("b")',
            "stores its accents",
        ),
    ],
)
def test_names_that_look_the_same(folder, named, place, words):
    """An accent stored apart from its letter is no other room, and is named as what is wrong."""
    folder.append(f'[[rooms]]\nid = "K\u00fcche"\n\n{named}')
    assert words in found_in(folder)[place]


def test_same_mark_id_on_two_frames_is_fine(folder):
    """Marks need a name of their own on their frame only."""
    folder.append(
        '[[frames]]\nid = "b"\nfile = "thermal/corner.npy"\nsubject = "wall"\nvalues = "apparent"\n'
        '[[marks]]\nframe = "b"\nid = "sound"\nshape = "pin"\npoints = [[1, 1]]\n'
    )
    assert len(read_site(folder.path).keys.marks) == 2


def test_no_instruments_at_all(folder):
    """Where nothing is listed the message says so."""
    folder.toml(
        'format = 1\n[site]\nname = "x"\nsurveyed_at = 2026-01-21T08:30:00Z\n[weather]\ninstrument = "h"\n'
    )
    folder.readings("place,quantity,value,unit,instrument\ncellar,wind speed,1,m/s,w\n")
    found = found_in(folder)
    assert "None is listed" in found["weather.instrument"]
    assert "None is listed" in found["row 2, instrument"]


def test_broken_entry_still_counts_as_listed(folder):
    """A room with a bad number is there for the frame that names it."""
    folder.replace("air_temperature_degc = 12.5", "air_temperature_degc = 999")
    assert list(found_in(folder)) == ['rooms[0].air_temperature_degc ("cellar")']
