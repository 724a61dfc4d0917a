"""What the standard expects a report of a thermographic survey to state, beside where the annex states it."""

import re
from dataclasses import replace

import pytest

from thermalkit.annex.build import page
from thermalkit.diagnosis.finding import Alternative
from thermalkit.diagnosis.run import run
from thermalkit.language import say
from thermalkit.record.store import replay
from thermalkit.site import read_site

# Items of the report after ISO 6781:1983, clause 7, EN 13187:1998, clause 7, and ISO 6781-1, from memory:
# item, section of the annex, what stands there for the invented site.
ITEMS = [
    ("standard followed and kind of survey", "method", "ISO 6781-1"),
    ("object of the survey", "header", "Invented terrace 4"),
    ("who asked, and what", "header", "where does the musty smell come from?"),
    ("who carried it out, and their qualification", "header", "Robin Invented, building surveyor"),
    ("certificate of the thermographer", "header", "level 2, no. L2-5417, valid until 31 May 2027"),
    ("date and time", "header", "21 January 2026, 08:30 (UTC+00:00)"),
    ("construction of the building", "conditions", "Construction not written down"),
    ("surface materials and emissivity", "places", "0.93 (0.91 to 0.95), about what was written down"),
    ("emissivity where it was assumed", "places", "assumed since not written down"),
    ("reflected temperature", "places", "Reflected temperature used 18.0 °C"),
    ("orientation of the surfaces", "places", "Outside faces north-east"),
    ("orientation nobody wrote down", "places", "Outside faces not written down"),
    ("camera with serial number", "instruments", "CAM-0001"),
    ("calibration of the instruments", "instruments", "1 June 2025"),
    ("other instruments", "instruments", "contact thermometer (probe)"),
    ("outdoor air temperature during the survey", "conditions", "outdoor air temperature 1.5 °C"),
    ("outdoor air temperature of the 24 hours before", "conditions", "over the 24 hours before 2.1 °C"),
    (
        "sky and sun in the hours before",
        "conditions",
        "sky overcast since the sun last reached the surfaces 14 h",
    ),
    ("precipitation", "conditions", "since the last rain 20 h"),
    ("wind", "conditions", "wind 1.2 m/s"),
    ("indoor air temperature and humidity", "conditions", "Rear bedroom 18.5 °C 62 %"),
    ("difference between indoors and outdoors", "conditions", "17 K"),
    (
        "pressure difference across the envelope",
        "conditions",
        "pressure difference across the envelope not written",
    ),
    ("steadiness of heating", "conditions", "heating or cooling unchanged for 12 h"),
    ("deviations from the conditions asked for", "survey", "Remark"),
    ("parts that were examined", "looked-at", "outer wall behind the wardrobe"),
    ("parts that were not, and why", "looked-at", "eaves – not possible stored goods"),
    ("thermograms with their position", "places", "Rear bedroom – bedroom-corner"),
    ("file, moment and distance of each thermogram", "places", "thermal/bedroom.npy"),
    ("moment of each thermogram", "places", "21 January 2026, 08:41 (UTC+00:00)"),
    ("distance to the surface", "places", "Distance 2 m"),
    ("photograph of the same place", "places", "photos/bedroom.jpg"),
    ("kind and extent of each irregularity", "places", "temperature factor"),
    ("limits and their conditions", "limits", "20 °C and 50 % indoors, −5 °C outdoors"),
    ("surface resistance of the limit", "limits", "0.25 m²K/W"),
    ("how sure the limit is", "limits", "a published copy of the source"),
    ("supplementary readings", "conditions", "wood moisture 14.5 %"),
    ("uncertainty and how it was found", "method", "JCGM 101"),
    ("sources", "method", "ISO 13788"),
    ("assumptions", "assumptions", "Source"),
    (
        "files with their sums and moments",
        "provenance",
        "thermal/bedroom.npy 21 January 2026, 08:41 (UTC+00:00)",
    ),
    ("decisions with changes of mind", "decisions", "replaced later"),
    ("what the report does not say", "general-cautions", "It does not look into a wall."),
    ("date and signature", "declaration", "Place and date"),
]


@pytest.fixture(scope="module")
def sections(invented, tmp_path_factory):
    """Words of each section of the annex of the invented site, which has some things and lacks others."""
    folder = invented.write_site(tmp_path_factory.mktemp("site"))
    toml = folder / "site.toml"
    written = toml.read_text("utf-8").replace(
        'photo = "photos/bedroom.jpg"', 'photo = "photos/bedroom.jpg"\norientation = "NE"\ndistance_m = 2.0'
    )
    toml.write_text(written, "utf-8")
    (folder / "readings.csv").write_text("place,quantity,value,unit\nbedroom,wood moisture,14.5,%\n", "utf-8")
    site = read_site(folder)
    record = invented.entries("damp", site)
    html = page(run("damp", site, replay(record)), site, record, "en").decode("utf-8")
    html = re.sub(r"<(script|style).*?</\1>", "", html, flags=re.DOTALL)
    found = dict(re.findall(r'<section id="([a-z-]+)"[^>]*>(.*?)(?=<section id=|</main>)', html, re.DOTALL))
    found["header"] = html[html.index("<header>") : html.index("</header>")]
    return {name: " ".join(re.sub("<[^>]*>", " ", text).split()) for name, text in found.items()}


@pytest.mark.parametrize(("item", "section", "words"), ITEMS, ids=[item for item, _, _ in ITEMS])
def test_annex_states_what_a_report_owes(sections, item, section, words):
    """Each item stands in its section, or the section says that nobody wrote it down."""
    assert words in sections[section]


def test_build_up_and_pressure_are_told_where_they_were_written_down(invented, tmp_path):
    """A table of parts and a reading take the place of the words that say they are absent."""
    folder = invented.write_site(tmp_path)
    toml = folder / "site.toml"
    element = (
        '[[elements]]\nid = "north"\nroom = "bedroom"\nkind = "wall"\nbuilt_in = 1930\norientation = "N"\n'
        '[[elements.layers]]\nmaterial = "brick"\nthickness_mm = 240\n'
        '[[elements]]\nid = "top"\nkind = "roof"\nconstruction = "cold roof"\n'
    )
    toml.write_text(toml.read_text("utf-8") + element, "utf-8")
    (folder / "readings.csv").write_text(
        "place,quantity,value,unit\nhall,pressure difference,-2,Pa\n", "utf-8"
    )
    site = read_site(folder)
    record = invented.entries("damp", site)
    html = page(run("damp", site, replay(record)), site, record, "en").decode("utf-8")
    words = " ".join(re.sub("<[^>]*>", " ", html[html.index('id="conditions"') :]).split())
    words = words[: words.index("The places in detail")]
    assert "wall (north) Rear bedroom brick 240 mm 1930 north" in words
    assert "roof (top) – cold roof not written down not written down" in words
    assert "hall pressure difference across the envelope −2 Pa" in words
    assert "Construction not written down" not in words


def test_first_readings_stand_for_many(invented, tmp_path):
    """Sixty rows, and how many more there are."""
    folder = invented.write_site(tmp_path)
    rows = "".join(f"bedroom,wood moisture,{i},%\n" for i in range(10, 75))
    (folder / "readings.csv").write_text(f"place,quantity,value,unit\n{rows}", "utf-8")
    site = read_site(folder)
    record = invented.entries("damp", site)
    html = page(run("damp", site, replay(record)), site, record, "en").decode("utf-8")
    assert html.count("wood moisture</td>") == 60
    assert "5 more stand in readings.csv." in html


def test_what_widened_the_result_becomes_advice_for_a_further_visit(invented, tmp_path):
    """Late sun and changed heating: come earlier, leave the heating alone; nothing where all was well."""
    folder = invented.write_site(tmp_path)
    toml = folder / "site.toml"
    spoilt = toml.read_text("utf-8").replace("hours_since_sun = 14.0", "hours_since_sun = 5.0")
    toml.write_text(spoilt.replace("hours_steady = 12.0", "hours_steady = 3.0"), "utf-8")
    site = read_site(folder)
    record = invented.entries("damp", site)
    findings = run("damp", site, replay(record))
    html = page(findings, site, record, "en").decode("utf-8")
    assert html.count("the sun has been gone for 12 hours") == 1
    assert html.count("unchanged for at least 12 hours") == 1
    calm = replace(findings, survey=replace(findings.survey, remarks=()))
    assert "What a further visit" not in page(calm, site, record, "en").decode("utf-8")


def test_frames_that_were_not_used_are_named(invented, tmp_path):
    """A mirror-like surface gives no finding, but the frame was taken."""
    folder = invented.write_site(tmp_path)
    toml = folder / "site.toml"
    toml.write_text(toml.read_text("utf-8").replace("emissivity = 0.93", "emissivity = 0.30"), "utf-8")
    site = read_site(folder)
    record = invented.entries("damp", site)
    html = page(run("damp", site, replay(record)), site, record, "en").decode("utf-8")
    unused = html[html.index("Frames not used") : html.index('<section id="places">')]
    assert "thermal/bedroom.npy" in unused
    assert "cellar" not in unused


def test_values_that_are_surface_temperatures_were_not_corrected(invented, tmp_path):
    """Nothing is said of an emissivity that was never applied."""
    folder = invented.write_site(tmp_path)
    toml = folder / "site.toml"
    toml.write_text(toml.read_text("utf-8").replace('values = "apparent"', 'values = "surface"'), "utf-8")
    site = read_site(folder)
    record = invented.entries("damp", site)
    html = page(run("damp", site, replay(record)), site, record, "en").decode("utf-8")
    assert html.count("the file holds surface temperatures") == 4


def test_explanations_are_told_with_what_speaks_for_them(findings, site, record):
    """Reasons and rivals stand at the place, the likeliest cause in the short answer."""
    first = next(f for f in findings.findings if f.verdict == "indicated")
    cause = replace(
        first,
        code="damp.cause",
        statement=say("damp.nothing-cold", frame="cause of the case"),
        verdict=None,
        probability=0.7,
        reasons=(say("annex.caution.surface"),),
        alternatives=(
            Alternative(name=say("answer.yes"), probability=0.7),
            Alternative(name=say("answer.unknown"), probability=0.3),
        ),
    )
    plain = tuple(f for f in findings.findings if not f.alternatives)
    html = page(replace(findings, findings=(*plain, cause)), site, record, "en").decode("utf-8")
    assert ": cause of the case" in html[html.index('class="answers"') : html.index("</ol>")]
    listed = html[html.index("Explanations considered") :]
    assert re.findall(r"<th scope=\"row\">(\w+)</th><td[^>]*>(\d+)\xa0%", listed)[:2] == [
        ("yes", "70"),
        ("unknown", "30"),
    ]
    assert "It does not look into a wall" in listed[: listed.index("<table")]
    assert "Explanations considered" not in page(
        replace(findings, findings=plain), site, record, "en"
    ).decode("utf-8")
