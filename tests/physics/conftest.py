"""Printed values: `@pytest.mark.published("dew_point_degc")` runs a test once for each row of that table."""

import csv
from dataclasses import dataclass
from pathlib import Path

import pytest

PUBLISHED = Path(__file__).parents[1] / "published"
NOT_INPUTS = {"function", "printed", "allowed", "source", "why"}


@dataclass(frozen=True)
class Printed:
    """One printed value: of which function, for which inputs, and how far a result may lie from it."""

    function: str
    inputs: dict
    printed: float
    allowed: float

    @property
    def expected(self):
        return pytest.approx(self.printed, abs=self.allowed)

    def __str__(self):
        return " ".join([self.function, *(str(value) for value in self.inputs.values())])


def number(text):
    for kind in (int, float):
        try:
            return kind(text)
        except ValueError:
            continue
    return text


def published(name):
    """Rows of `tests/published/<name>.csv`; an empty cell is an input left at its default."""
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert all(row["source"] and row["why"] for row in rows), name
    return [
        Printed(
            function=row["function"],
            inputs={key: number(text) for key, text in row.items() if key not in NOT_INPUTS and text != ""},
            printed=float(row["printed"]),
            allowed=float(row["allowed"]),
        )
        for row in rows
    ]


def pytest_configure(config):
    config.addinivalue_line("markers", "published(*names): once for each row of these printed tables")


def pytest_generate_tests(metafunc):
    names = [name for mark in metafunc.definition.iter_markers("published") for name in mark.args]
    if names:
        metafunc.parametrize("row", [row for name in names for row in published(name)], ids=str)
