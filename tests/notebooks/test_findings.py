"""A notebook adds nothing but explanation: its findings are those of the one loop."""

import json
import os
from pathlib import Path

import nbformat
import numpy as np
import pytest
from nbclient import NotebookClient
from nbformat.v4 import new_code_cell

from thermalkit.diagnosis.run import accept, investigation, run
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site.folder import read_site
from thermalkit.workbook import open_session

ROOT = Path(__file__).parents[2]
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
SITES = sorted(path.parent for path in (ROOT / "sample_sites").glob("*/site.toml"))
TELL = "import json\nprint(json.dumps(session.concluded().as_json('en')))"


def findings_of(path, site, *, unattended):
    """Findings as JSON after running every cell of a notebook."""
    notebook = nbformat.read(path, as_version=4)
    cell = next(cell for cell in notebook.cells if "parameters" in cell.metadata.get("tags", []))
    cell.source = f"site_folder = {str(site)!r}\nunattended = {unattended}"
    notebook.cells = [cell for cell in notebook.cells if "annex" not in cell.source]
    notebook.cells.append(new_code_cell(TELL))
    NotebookClient(notebook, timeout=300, resources={"metadata": {"path": str(path.parent)}}).execute()
    return json.loads(notebook.cells[-1].outputs[0].text)


def kind_of(path):
    return nbformat.read(path, as_version=4).metadata.thermalkit.get("kind")


def sites_of(kind):
    """Sites worked for a kind: the smallest in the ordinary run, all of them when more is asked for."""
    worked = [site for site in SITES if (site / "record" / f"{kind}.json").exists()]
    worked.sort(key=lambda site: sum(path.stat().st_size for path in site.rglob("*") if path.is_file()))
    return worked if "THERMALKIT_SCENES" in os.environ else worked[:1]


CASES = [(path, site) for path in NOTEBOOKS if kind_of(path) for site in sites_of(kind_of(path))]


@pytest.mark.slow
@pytest.mark.parametrize(("path", "site"), CASES, ids=lambda p: p.stem)
def test_an_unattended_notebook_finds_what_a_run_finds(path, site):
    """Same site, same record: same JSON."""
    kind = kind_of(path)
    record = read_record(site, kind)
    found = run(kind, read_site(site), replay(record), recall(record))
    assert findings_of(path, site, unattended=True) == found.as_json("en")


@pytest.mark.slow
@pytest.mark.parametrize(
    "path", [path for path in NOTEBOOKS if kind_of(path) == "damp"], ids=lambda p: p.stem
)
def test_a_worked_notebook_finds_what_its_record_says(path, tmp_path):
    """With every proposal kept by a person, the notebook runs through and nothing is unconfirmed."""
    site = tmp_path / "invented"
    (site / "thermal").mkdir(parents=True)
    (site / "site.toml").write_text(SITE_TOML, encoding="utf-8")
    np.save(site / "thermal" / "wall.npy", 17.0 - 5.0 * (np.indices((24, 32)).sum(axis=0) < 12))
    session = open_session("damp", site)
    for step in investigation("damp").STEPS:
        if step.name in session.case.values:
            session.keep(step, session.question(step).proposal)
    found = run("damp", read_site(site), replay(read_record(site, "damp")))
    assert found.open_steps == ()
    assert findings_of(path, site, unattended=False) == found.as_json("en")
    assert found.as_json("en") != run("damp", read_site(site), accept).as_json("en")


SITE_TOML = """\
format = 1

[site]
name = "Invented wall"
surveyed_at = 2026-01-21T08:30:00+00:00

[weather]
air_temperature_degc = 1.5

[[rooms]]
id = "room"
air_temperature_degc = 20.0
relative_humidity_percent = 60.0

[[frames]]
id = "wall"
file = "thermal/wall.npy"
room = "room"
subject = "wall"
values = "apparent"
"""
