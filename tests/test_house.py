"""What keeps the house in order: lint, format, types, light imports, documents that stay true."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TREE = (ROOT / "pyproject.toml").exists() and (ROOT / "thermalkit").is_dir()
pytestmark = pytest.mark.skipif(not TREE, reason="needs the source tree")


def run(*command: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )


def test_lint_is_clean():
    done = run("ruff", "check", "thermalkit", "tests", "sample_sites")
    assert done.returncode == 0, done.stdout


def test_format_is_clean():
    done = run("ruff", "format", "--check", "thermalkit", "tests", "sample_sites")
    assert done.returncode == 0, done.stdout


@pytest.mark.slow
def test_types_are_strict():
    done = run("mypy")
    assert done.returncode == 0, done.stdout


def test_the_command_starts_light():
    """Help needs none of the heavy libraries."""
    code = "import sys, thermalkit.cli; print(sorted({m.split('.')[0] for m in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    heavy = {"numpy", "scipy", "pandas", "plotly", "skimage", "pydantic", "IPython", "jinja2", "PIL", "babel"}
    assert not {name for name in heavy if f"'{name}'" in loaded}


def commands_of_the_readme() -> list[str]:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return [line for block in re.findall(r"```sh\n(.*?)```", text, re.S) for line in block.splitlines()][:2]


def test_ci_runs_the_two_commands_of_the_readme():
    """Word for word, so that neither drifts."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
    assert commands_of_the_readme() == script[-2:]


def test_no_file_names_a_package_registry():
    """The project installs by package name alone."""
    hosts = re.compile(r"pypi\.(org|python)|files\.pythonhosted|registry\.npmjs|deb\.debian", re.I)
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
    for name in filter(None, listed.decode().split("\0")):
        path = ROOT / name
        if (
            path.suffix in {".py", ".toml", ".md", ".ipynb", ".js", ".json", ".html", ".css"}
            and path.name != Path(__file__).name
        ):
            assert not hosts.search(path.read_text(encoding="utf-8")), name


def test_notebooks_are_stripped():
    """Outputs and counters never enter the history."""
    import nbformat

    for path in (ROOT / "notebooks").glob("*.ipynb"):
        for cell in nbformat.read(path, as_version=4).cells:
            assert not cell.get("outputs"), path.name
            assert cell.get("execution_count") is None, path.name
