"""A private report names neither the site nor the surveyor, whatever was investigated."""

from __future__ import annotations

import pytest

from thermalkit.annex.build import write_annex
from thermalkit.diagnosis.run import run
from thermalkit.record.store import read_record, recall, replay
from thermalkit.site.folder import read_site


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("damp", "cannot-answer"),
        ("envelope", "cooled-flat"),
        ("heating", "heat-pump-house"),
        ("panel", "switch-room"),
    ],
)
def test_names_are_left_out_of_every_file(sample_site, tmp_path, kind, name):
    """Page, findings and tables."""
    folder = sample_site(name)
    text = (folder / "site.toml").read_text("utf-8")
    text = "\n".join(line for line in text.splitlines() if not line.startswith("private ="))
    assert "[report]" in text
    (folder / "site.toml").write_text(text.replace("[report]", "[report]\nprivate = true", 1), "utf-8")
    site, record = read_site(folder), read_record(folder, kind)
    findings = run(kind, site, replay(record), recall(record))
    for path in write_annex(tmp_path / "annex.html", findings, site, record):
        written = path.read_text("utf-8")
        assert site.keys.site.name not in written, path
        assert (site.keys.surveyor.name or "nobody") not in written, path
