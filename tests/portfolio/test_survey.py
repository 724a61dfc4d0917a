"""A portfolio from its folder to its table and page, by processes and by a cluster."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
import sys
import time

import pandas as pd
import pytest

from thermalkit.errors import WritingError
from thermalkit.portfolio import survey_portfolio
from thermalkit.portfolio.workers import WorkersLost

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def done(portfolio, tmp_path_factory):
    """What two processes made of it."""
    out = tmp_path_factory.mktemp("done")
    seen = []
    result = survey_portfolio(portfolio, "damp", out, workers=2, progress=lambda *count: seen.append(count))
    assert seen == [(n, 9) for n in range(10)]
    return result


def bytes_of(result):
    return [path.read_bytes() for path in result.files]


def test_one_unreadable_site_is_one_row(done):
    """The table holds every site, the broken one with its reason."""
    table = pd.read_parquet(io.BytesIO(done.files[0].read_bytes()))
    assert (done.sites, done.unreadable) == (9, 1)
    assert list(table.site) == sorted(table.site)
    broken = table[table.state == "unreadable"]
    assert list(broken.site) == ["a/0003"]
    assert "site.toml" in broken.reason.iloc[0]
    assert set(table[table.state == "done"].judged_by) == {"damp.temperature-factor"}


def test_a_run_that_is_ended_goes_on_to_the_same_bytes(portfolio, done, tmp_path):
    """Killed after some rows; the second run makes the others only."""
    script = (
        "import sys; from pathlib import Path; from thermalkit.portfolio import survey_portfolio\n"
        "if __name__ == '__main__':\n"
        "    survey_portfolio(Path(sys.argv[1]), 'damp', Path(sys.argv[2]), workers=1)\n"
    )
    (tmp_path / "run.py").write_text(script)
    out = tmp_path / "out"
    process = subprocess.Popen(
        [sys.executable, tmp_path / "run.py", portfolio, out], stderr=subprocess.DEVNULL
    )
    deadline = time.monotonic() + 120.0
    while len(list(out.rglob("*.json"))) < 2 and time.monotonic() < deadline:
        time.sleep(0.05)
    process.kill()
    process.wait()
    kept = {path: path.stat().st_mtime_ns for path in out.rglob("*.json")}
    assert 2 <= len(kept) < 9
    assert bytes_of(survey_portfolio(portfolio, "damp", out, workers=1)) == bytes_of(done)
    again = [path for path, at in kept.items() if path.stat().st_mtime_ns != at]
    assert [json.loads(path.read_text())["row"]["state"] for path in again] in ([], ["unreadable"])


def test_only_a_changed_site_is_judged_again(portfolio, tmp_path):
    """By the fingerprint of its files."""
    folder, out = tmp_path / "stock", tmp_path / "out"
    shutil.copytree(portfolio / "b", folder)
    survey_portfolio(folder, "damp", out, workers=1)
    before = {path: path.stat().st_mtime_ns for path in out.rglob("rows/**/*.json")}
    site = folder / "0001" / "site.toml"
    site.write_text(site.read_text("utf-8").replace("built_in = 1955", "built_in = 1890"), "utf-8")
    survey_portfolio(folder, "damp", out, workers=1)
    changed = [path for path, at in before.items() if path.stat().st_mtime_ns != at]
    assert [json.loads(path.read_text())["row"]["built"] for path in changed] == [1890]


def test_a_cluster_that_loses_a_worker_makes_the_same_bytes(portfolio, done, tmp_path):
    """Two worker processes, one killed after the first row; the cluster does its work again."""
    distributed = pytest.importorskip("distributed")
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
    )
    with cluster:
        killed = []

        def kill_one(count, of):
            if count == 1:
                worker = next(iter(cluster.workers.values()))
                killed.append(worker.process.pid)
                worker.process.process._process.kill()

        result = survey_portfolio(
            portfolio, "damp", tmp_path, scheduler=cluster.scheduler_address, progress=kill_one
        )
    assert killed
    assert bytes_of(result) == bytes_of(done)


def test_a_cluster_that_is_not_there_is_told(portfolio, tmp_path, monkeypatch):
    """What is finished is kept, says the error."""
    monkeypatch.setattr("thermalkit.portfolio.workers._PATIENCE", "0.5s")
    with pytest.raises(WorkersLost, match="run the same command again"):
        survey_portfolio(portfolio, "damp", tmp_path, scheduler="tcp://127.0.0.1:9")


def test_nothing_is_written_into_a_site(portfolio):
    """The place of the evidence stays as it is."""
    with pytest.raises(WritingError, match="inside the site"):
        survey_portfolio(portfolio, "damp", portfolio / "b" / "0001" / "out")


def test_two_runs_do_not_share_a_folder(portfolio, tmp_path):
    """The second one is refused while the first is at work."""
    from filelock import FileLock

    with FileLock(tmp_path / ".portfolio.lock"), pytest.raises(WritingError, match="Another run"):
        survey_portfolio(portfolio, "damp", tmp_path)


def test_a_file_in_the_place_of_the_folder_is_told(portfolio, tmp_path):
    """It is not replaced."""
    (tmp_path / "out").write_text("mine")
    with pytest.raises(WritingError, match="cannot be written"):
        survey_portfolio(portfolio, "damp", tmp_path / "out")
    assert (tmp_path / "out").read_text() == "mine"
