"""Bands of urgency, insulation and type tests, against what is printed."""

import pytest

from thermalkit.diagnosis.panel.limits import band, bounds, insulation_bound, type_test_degc


@pytest.mark.parametrize(
    ("rise_k", "kind", "expected"),
    [
        (1.0, "like", "none"),
        (1.01, "like", "investigate"),
        (3.0, "like", "investigate"),
        (3.01, "like", "probable"),
        (3.5, "like", "probable"),
        (15.0, "like", "probable"),
        (15.01, "like", "major"),
        (1.0, "air", "none"),
        (10.0, "air", "investigate"),
        (10.5, "air", "probable"),
        (20.0, "air", "probable"),
        (20.5, "air", "monitor"),
        (40.0, "air", "monitor"),
        (40.01, "air", "major"),
    ],
)
def test_bands_are_half_open(rise_k, kind, expected):
    """ANSI/NETA MTS Table 100.18: 1-3, 4-15, above 15 K; 1-10, 11-20, 21-40, above 40 K; its gaps closed."""
    assert band(rise_k, kind) == expected


@pytest.mark.parametrize(
    ("insulation", "degc"),
    [("PVC", 70), ("XLPE or EPR", 90), ("rubber 60", 60), ("mineral", 70), ("unknown", 70)],
)
def test_insulation_bears_what_is_printed(insulation, degc):
    """IEC 60364-5-52: PVC 70, XLPE and EPR 90 °C; what is not known is taken as PVC."""
    assert insulation_bound(insulation).value == degc


def test_bare_conductors_have_no_insulation_to_judge():
    assert insulation_bound("bare") is None


@pytest.mark.parametrize(
    ("plating", "degc"), [("unknown", 105), ("bare", 95), ("tinned", 100), ("silver", 105)]
)
def test_type_tests_allow_what_the_insulation_does_not(plating, degc):
    """70 K at 35 °C is 105 °C (IEC 61439-1 Table 6); IEC 60947-1 from memory: 60, 65, 70 K."""
    allowed, row = type_test_degc(plating)
    assert allowed == degc
    assert row.kind == "type-test"
    assert allowed > insulation_bound("PVC").value


def test_every_row_cites_its_source():
    """And says so where it is from memory."""
    assert all(row.source and row.confidence in ("published", "from memory") for row in bounds().values())
