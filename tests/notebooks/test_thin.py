"""Notebooks explain and show; they hold no logic."""

import ast
import json
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import investigation

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))
LOGIC = (
    *(ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef, ast.Lambda, ast.For, ast.While, ast.If, ast.IfExp),
    *(ast.Try, ast.With, ast.BinOp, ast.AugAssign, ast.Compare, ast.BoolOp, ast.ListComp, ast.SetComp),
    *(
        ast.DictComp,
        ast.GeneratorExp,
        ast.Delete,
        ast.Global,
        ast.Assert,
        ast.Raise,
        ast.Match,
        ast.JoinedStr,
    ),
)

pytestmark = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.name)


def cells(path, kind="code"):
    return [
        cell for cell in json.loads(path.read_text(encoding="utf-8"))["cells"] if cell["cell_type"] == kind
    ]


def source(cell):
    return "".join(cell["source"])


def logic_in(code):
    return [type(node).__name__ for node in ast.walk(ast.parse(code)) if isinstance(node, LOGIC)]


def test_no_cell_holds_logic(path):
    """Formulas and loops live in the package, where they are tested."""
    assert [logic_in(source(cell)) for cell in cells(path)] == [[]] * len(cells(path))


def test_logic_would_be_seen(path):
    """The test above can fail."""
    assert logic_in("x = 1 + 2") == ["BinOp"]
    assert logic_in("[f(x) for x in y]") == ["ListComp"]


def test_parameters_come_first_and_imports_second(path):
    """A batch run finds the parameters; nothing is imported later on."""
    first, second, *others = cells(path)
    assert first["metadata"]["tags"] == ["parameters"]
    assert "import" in source(second)
    assert not any("import" in source(cell) for cell in (first, *others))


def test_cells_are_short_and_folded(path):
    """Somebody who reads no code sees none."""
    for cell in cells(path):
        assert len(source(cell).splitlines()) <= 6
        assert cell["metadata"]["jupyter"]["source_hidden"] is True


def test_outputs_are_stripped(path):
    """Neither results nor somebody's paths are stored."""
    for cell in cells(path):
        assert cell["outputs"] == []
        assert cell["execution_count"] is None


def test_every_step_is_explained_then_shown_in_its_order(path):
    """A step that is added to an investigation cannot be forgotten in its notebook."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    own = notebook["metadata"]["thermalkit"]
    if "kind" not in own:
        pytest.skip("belongs to no investigation")
    shown = [source(cell).split('"')[1] for cell in cells(path) if source(cell).startswith("session.show(")]
    assert shown == [step.name for step in investigation(own["kind"]).STEPS]
    assert own["run_on_open"] is True
    for before, cell in zip(notebook["cells"], notebook["cells"][1:], strict=False):
        if source(cell).startswith("session."):
            assert before["cell_type"] == "markdown"
