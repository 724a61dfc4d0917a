"""Elements and samples: what was built, what was drilled."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site import read_site
from thermalkit.site.sections.elements import ElementKeys
from thermalkit.site.sections.samples import SampleKeys

ELEMENT = """
[[elements]]
id = "north"
room = "cellar"
kind = "wall"
layers = [{ material = "plaster", thickness_mm = 15 }, { material = "brick", thickness_mm = 330.0 }]
"""


def sample(line):
    return f'[[samples]]\nid = "s1"\nelement = "north"\n{line}\n'


def problems_in(folder):
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    return {p.place: str(p) for p in caught.value.problems}


def test_an_element_and_its_sample(folder):
    """What is not known stays unknown; salts may be graded or weighed."""
    folder.append(ELEMENT + sample('nitrate = "low"\nsulfate = 0.4\nmoisture_percent = 8.5'))
    site = read_site(folder.path)
    (element,), (found,) = site.sections(ElementKeys), site.sections(SampleKeys)
    assert [layer.thickness_mm for layer in element.layers] == [15.0, 330.0]
    assert element.has_damp_proof_course == element.near_plumbing == "unknown"
    assert (found.nitrate, found.sulfate, found.chloride) == ("low", 0.4, None)


@pytest.mark.parametrize(
    ("line", "place", "words"),
    [
        ('nitrate = "lots"', "nitrate", '"low", "medium" or "high", or % by mass from 0 to 20'),
        ("nitrate = 50", "nitrate", "Allowed: 0 to 20"),
        ("nitrate = true", "nitrate", '"low", "medium" or "high"'),
        ("moisture_percent = -1", "moisture_percent", "Allowed: 0 to 300"),
        ('method = "weighed"', "method", '"drilled", "carbide" or "oven"'),
        ('room = "attic"', "room", "Not listed under [[rooms]]"),
    ],
)
def test_one_wrong_key_of_a_sample(folder, line, place, words):
    """Each is named by its key, once."""
    folder.append(ELEMENT + sample(line))
    found = problems_in(folder)
    assert list(found) == [f'samples[0].{place} ("s1")']
    assert words in found[f'samples[0].{place} ("s1")']


def test_a_sample_of_an_element_that_is_not_there(folder):
    """The elements that are listed are named."""
    folder.append(ELEMENT + sample("").replace('"north"', '"south"'))
    assert 'Listed: "north".' in problems_in(folder)['samples[0].element ("s1")']


def test_a_layer_without_thickness(folder):
    """Its place leads to the layer."""
    folder.append(ELEMENT.replace(", thickness_mm = 15", ""))
    assert list(problems_in(folder)) == ['elements[0].layers[0].thickness_mm ("north")']
