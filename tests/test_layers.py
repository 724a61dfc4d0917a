"""The layers of the package, read from its imports."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[1] / "thermalkit"

GROUND = {"errors", "measured", "glossary", "language", "processes", "__init__"}
LEFT_OF = {
    "physics": set(),
    "imaging": {"physics"},
    "scenes": {"physics", "imaging"},
    "site": {"physics", "imaging"},
    "diagnosis": {"physics", "imaging", "site"},
    "record": {"physics", "imaging", "site", "diagnosis"},
    "annex": {"physics", "imaging", "site", "diagnosis", "record"},
    "workbook": {"physics", "imaging", "site", "diagnosis", "record", "annex", "scenes"},
    "exercise": {"physics", "imaging", "site", "diagnosis", "record", "annex", "scenes"},
    "portfolio": {"physics", "imaging", "site", "diagnosis", "record", "annex"},
}
LEFT_OF["cli"] = set(LEFT_OF)


def imported(path: Path) -> set[str]:
    """Parts of the package that a file imports, at its top or inside a function."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names |= {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
    return {parts[1] for name in names if (parts := name.split("."))[0] == "thermalkit" and len(parts) > 1}


def part_of(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_layer_imports_only_from_its_left(path):
    """Lazy imports count too; level 0 is open to everybody and imports only itself."""
    part = part_of(path)
    allowed = GROUND if part in GROUND else GROUND | {part} | LEFT_OF[part]
    assert imported(path) - {"__version__"} <= allowed


def test_no_import_is_relative():
    """One way to write an import, which the test above can read."""
    for path in PACKAGE.rglob("*.py"):
        nodes = [
            n for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, ast.ImportFrom)
        ]
        assert not [n for n in nodes if n.level], path


def test_an_import_from_the_right_is_seen(tmp_path):
    """The guard can fail: a lazy import of the command inside physics is found."""
    path = tmp_path / "x.py"
    path.write_text("def f():\n    from thermalkit.cli import main\n    return main\n")
    assert imported(path) == {"cli"}
