"""A case of a class worked in real JupyterLab, to a marked result."""

from __future__ import annotations

import pytest

from thermalkit.diagnosis.class_.choices import words
from thermalkit.diagnosis.class_.questions import in_own_words
from thermalkit.exercise.key import read_key
from thermalkit.exercise.make import make_class
from thermalkit.exercise.marking import row_of
from thermalkit.exercise.plan import ClassKeys
from thermalkit.exercise.rubric import read_rubric
from thermalkit.language import render

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SEED = "5d0c8a1f7be2943660f1d2c3b4a59687"


@pytest.fixture
def case(tmp_path):
    plan = ClassKeys(name="Notebook", number=1, truths=("drying",))
    made = make_class(plan, tmp_path / "class", SEED, workers=1)
    learner = read_key(made.key).learners[0]
    return made.hand_out / learner.name, learner


@pytest.fixture
def address(served, case):
    return served("class", case[0])


def title(step):
    return render(in_own_words("class", "damp", f"step.{step}"), "en")


def rectangle(workbook, step, corners, shape):
    """Draw on the picture of a step."""
    panel = workbook.panel(title(step))
    canvas = panel.locator("canvas.tk-marks")
    panel.locator("[data-act=rectangle]").click()
    canvas.scroll_into_view_if_needed()
    box = canvas.bounding_box()
    x, y = (
        [box[side] + box[size] * (point[axis] + 0.5) / shape[axis] for point in corners]
        for side, size, axis in (("x", "width", 1), ("y", "height", 0))
    )
    mouse = workbook.page.mouse
    mouse.move(x[0], y[0])
    mouse.down()
    mouse.move(x[1], y[1], steps=4)
    mouse.up()
    workbook.page.wait_for_timeout(800)


def test_a_case_is_worked_by_clicking_and_marked(workbook, case, page):
    """What was clicked is in the record, and the record gets the points of the truth."""
    folder, learner = case
    truth = learner.truth
    workbook.open()
    for step, id in (
        ("look", truth.look[0]),
        ("survey", truth.survey[0]),
        ("trust", truth.trust),
        ("predict", truth.predict[0]),
        ("emissivity", truth.emissivity),
        ("verdict", truth.verdict),
        ("cause", truth.cause),
        ("traps", truth.traps[0]),
    ):
        workbook.panel(title(step)).get_by_label(render(words("damp", step, id), "en"), exact=True).check()
        page.wait_for_timeout(300)
        workbook.keep(title(step))
    points = truth.area[0]
    ends = [[pick(point[axis] for point in points) for axis in (0, 1)] for pick in (min, max)]
    workbook.panel(title("suspect")).locator("canvas.tk-marks").wait_for(timeout=30_000)
    rectangle(workbook, "suspect", ends, truth.shape)
    workbook.keep(title("suspect"))
    clear = ((6, 70), (14, 90)) if ends[0][0] > 20 else ((100, 70), (110, 90))
    rectangle(workbook, "sound", clear, truth.shape)
    workbook.keep(title("sound"))
    fields = workbook.panel(title("numbers")).locator("input[type=text]")
    for number, item in enumerate(truth.numbers.values()):
        fields.nth(number).fill(f"{item.accepted[0]:.1f}")
    page.wait_for_timeout(500)
    workbook.keep(title("numbers"))
    workbook.shot("class")
    row = row_of(folder.parent, learner, read_rubric())
    assert row.state == "marked"
    full = {part for part, share in row.shares.items() if share == 1.0}
    assert full >= set(row.shares) - {"sound", "order"}
