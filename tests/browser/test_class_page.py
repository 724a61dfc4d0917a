"""The page form of a class, from the first look to a marked result."""

from __future__ import annotations

import json
from functools import cache

import pytest

from thermalkit.diagnosis.class_.questions import in_own_words
from thermalkit.diagnosis.run import run
from thermalkit.exercise.key import read_key
from thermalkit.exercise.make import make_class
from thermalkit.exercise.marking import mark_class
from thermalkit.exercise.plan import ClassKeys
from thermalkit.exercise.rubric import read_rubric
from thermalkit.exercise.scoring import unfit_of
from thermalkit.language import render
from thermalkit.record.store import read_record, replay
from thermalkit.site.folder import read_site

pytestmark = pytest.mark.browser

SEED = "5d0c8a1f7be2943660f1d2c3b4a59687"


CASES = {"damp": "drying", "envelope": "air-leak", "heating": "deposit"}


@pytest.fixture(scope="module")
def made_case(tmp_path_factory):
    """One case of a kind, and its key."""

    @cache
    def made(kind):
        plan = ClassKeys(name="Page", number=1, kinds=(kind,), truths=(CASES[kind],))
        made = make_class(plan, tmp_path_factory.mktemp(kind) / "class", SEED, workers=1)
        return made, read_key(made.key)

    return made


@pytest.fixture
def case(made_case):
    """One case of water that dries, and its key."""
    return made_case("damp")


def drag(page, corners, truth):
    """Draw a rectangle round pixels of the first picture."""
    canvas = page.locator("#pictures canvas.tk-marks").first
    page.locator("#pictures [data-act=rectangle]").first.click()
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    (top, left), (below, right) = corners
    rows, columns = truth.shape
    at = [
        (box["x"] + box["width"] * (c + 0.5) / columns, box["y"] + box["height"] * (r + 0.5) / rows)
        for r, c in ((top, left), (below, right))
    ]
    page.mouse.move(*at[0])
    page.mouse.down()
    page.mouse.move(*at[1], steps=4)
    page.mouse.up()


def clear(truth):
    """Corners of a stretch to compare with, away from the place and from things."""
    fit = ~unfit_of(truth)
    rows, columns = truth.shape
    boxes = ((top, left) for top in range(4, rows - 14, 3) for left in range(4, columns - 18, 3))
    top, left = max(boxes, key=lambda at: fit[at[0] : at[0] + 10, at[1] : at[1] + 14].mean())
    return (top, left), (top + 9, left + 13)


def fill_in(page, truth):
    """Everything that is true, as a learner would click it."""
    for step, value in (("look", truth.look[0]), ("survey", truth.survey[0]), ("trust", truth.trust)):
        page.check(f"input[name={step}][value='{value}']")
    page.click("#lock")
    assert "estimate first" in page.inner_text("#locked")
    assert page.is_hidden("#numbers-part")
    page.check(f"input[name=predict][value='{truth.predict[0]}']")
    page.click("#lock")
    assert page.is_disabled("input[name=predict] >> nth=0")
    page.check(f"input[name=emissivity][value='{truth.emissivity}']")
    page.wait_for_selector("#pictures .tk-readout:has-text('Point at') >> nth=1")
    area = truth.area[0]
    ends = [[pick(point[axis] for point in area) for axis in (0, 1)] for pick in (min, max)]
    drag(page, ends, truth)
    page.check("input[name=marking][value=sound]")
    drag(page, clear(truth), truth)
    for name, item in truth.numbers.items():
        page.fill(f"input[name={name}]", f"{item.accepted[0]:.1f}".replace(".", ","))
    for step, value in (("verdict", truth.verdict), ("cause", truth.cause), ("traps", truth.traps[0])):
        page.check(f"input[name={step}][value='{value}']")
    for place, job in zip(("first", "second", "third"), truth.order, strict=True):
        page.select_option(f"select[name={place}]", job)
    page.fill("textarea[name=justify]", "ragged edge, wetter at depth")
    page.fill("#by", "A. Learner")


def saved(page, folder):
    with page.expect_download() as download:
        page.click("#save")
    path = folder / download.value.suggested_filename
    download.value.save_as(path)
    return path


@pytest.mark.parametrize("kind", CASES)
def test_a_case_is_answered_offline_handed_in_and_marked(page, made_case, tmp_path, kind):
    """The saved file is a record: it is marked, and the notebook and the annex take it as decided."""
    made, key = made_case(kind)
    learner = key.learners[0]
    page.goto((made.hand_out / learner.name / "page.html").as_uri())
    fill_in(page, learner.truth)
    page.wait_for_selector("#left:has-text('Nothing is open')")
    path = saved(page, tmp_path)
    assert path.name == f"{learner.name}-class.json"
    done = mark_class(tmp_path, key, tmp_path / "out", read_rubric(), made.hand_out)
    row = done.rows[0]
    assert row.state == "marked"
    assert {part for part, share in row.shares.items() if share == 1.0} >= set(row.shares) - {"sound"}
    assert row.given.by == "A. Learner"
    site = read_site(made.hand_out / learner.name)
    (site.folder / "record").mkdir()
    (site.folder / "record" / "class.json").write_bytes(path.read_bytes())
    assert run("class", site, replay(read_record(site.folder, "class"))).open_steps == ()
    page.goto((tmp_path / "out" / "feedback" / f"{learner.name}.html").as_uri())
    page.wait_for_selector(".tk-readout:has-text('Point at')")
    why = render(in_own_words("exercise", kind, f"why.{CASES[kind]}"), "en")
    assert why in page.inner_text("main")


def test_a_number_that_is_not_saved_is_named_before_it_is_handed_in(page, case):
    """A unit behind a number is read; what is no number stays open."""
    made, key = case
    page.goto((made.hand_out / key.learners[0].name / "page.html").as_uri())
    fill_in(page, key.learners[0].truth)
    surface = page.locator("input[name=surface]")
    for typed, is_open in (("12,5 K", True), ("12,5 °C", False), ("warm", True), ("", False)):
        surface.fill(typed)
        surface.blur()
        assert ("Your numbers" in page.inner_text("#left")) is is_open, typed
        assert page.get_by_text("Not saved: this has to be a number from -60 to 200").count() == is_open


def test_answers_outlive_a_reload_and_come_back_from_a_file(page, case, tmp_path):
    """A hint stays taken; a file that holds nothing of the kind is refused and changes nothing."""
    made, key = case
    page.goto((made.hand_out / key.learners[0].name / "page.html").as_uri())
    page.check("input[name=look][value=even]")
    page.locator("#hints button").first.click()
    path = saved(page, tmp_path)
    page.reload()
    assert page.is_checked("input[name=look][value=even]")
    assert page.locator("#hints button").first.is_disabled()
    page.evaluate("localStorage.clear()")
    page.reload()
    assert not page.is_checked("input[name=look][value=even]")
    (tmp_path / "no.json").write_text(json.dumps({"schema": 1, "kind": "damp", "entries": []}))
    page.set_input_files("#load", tmp_path / "no.json")
    page.wait_for_selector("#loaded:has-text('no answers')")
    page.set_input_files("#load", path)
    page.wait_for_selector("#loaded:has-text('Loaded')")
    assert page.is_checked("input[name=look][value=even]")


def test_pages_of_a_class_are_accessible(page, case, tmp_path):
    """Axe finds nothing on the page form and on the class; both fit a phone."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright").Axe()
    made, key = case
    mark_class(tmp_path, key, tmp_path / "out", read_rubric(), made.hand_out)
    for path in (made.hand_out / key.learners[0].name / "page.html", tmp_path / "out" / "class.html"):
        page.goto(path.as_uri())
        if path.name == "page.html":
            page.check("input[name=predict][value='1-2']")
            page.click("#lock")
            page.check("input[name=emissivity][value='0.93']")
            page.wait_for_selector("#pictures .tk-readout:has-text('Point at') >> nth=1")
        page.set_viewport_size({"width": 390, "height": 800})
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, path.name
        page.set_viewport_size({"width": 1280, "height": 900})
        violations = axe.run(page).response["violations"]
        assert [(v["id"], v["nodes"][0]["html"][:200]) for v in violations] == []
