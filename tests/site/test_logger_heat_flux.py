"""The logger of a heat flux plate: a column in W/m2, either sign, with a temperature beside it or without."""

import pytest

from thermalkit.errors import ReadingError
from thermalkit.site.loggers import read_logger
from thermalkit.site.model import LoggerKeys


@pytest.fixture
def read(tmp_path):
    def of(text, **keys):
        (tmp_path / "a.csv").write_text(text, encoding="utf-8")
        raw = {"id": "a", "file": "a.csv", "place": "surface", **keys}
        return read_logger(tmp_path / "a.csv", LoggerKeys.model_validate(raw))

    return of


@pytest.mark.parametrize("heading", ["Heat flux (W/m2)", "Wärmestromdichte [W/m²]", "Warmtestroom"])
def test_a_plate_is_known_by_its_heading(read, heading):
    """English, German and Dutch words of the trade; negative values are as good."""
    series = read(f"Time;{heading}\n2026-01-10 00:00;-12.5\n2026-01-10 01:00;-11.0\n")
    assert series.table["heat_flux_w_m2"].tolist() == [-12.5, -11.0]
    assert series.table["temperature_degc"].isna().all()


def test_a_heading_of_ones_own_is_named_in_the_site_file(read):
    series = read("Time,ch 3\n2026-01-10 00:00,9.5\n", columns={"heat_flux": "ch 3"})
    assert series.table["heat_flux_w_m2"].tolist() == [9.5]


def test_an_impossible_flux_is_named(read):
    with pytest.raises(ReadingError, match="2400 W/m2"):
        read("Time,Heat flux\n2026-01-10 00:00,2400\n")
