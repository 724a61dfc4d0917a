import pytest
from CoolProp.CoolProp import PropsSI

from thermalkit.errors import ThermalkitError
from thermalkit.physics.materials import material, materials
from thermalkit.physics.tables import UnknownName


@pytest.mark.published("material")
def test_conductivity_is_the_printed_one(row):
    """Row by row against the standard, most from memory."""
    assert material(row.inputs["name"]).conductivity_w_mk == row.expected


@pytest.mark.parametrize("row", materials().values(), ids=lambda row: row.name)
def test_row_lies_in_its_range(row):
    """Row by row: what a building material can be, and where the row is from."""
    assert 0.02 <= row.low_w_mk < row.conductivity_w_mk < row.high_w_mk <= 400.0
    assert row.high_w_mk / row.low_w_mk <= 3.2
    assert 1.0 <= row.density_kg_m3 <= 9000.0
    assert 350.0 <= row.heat_capacity_j_kgk <= 4200.0
    assert row.vapour_resistance_factor >= 1.0
    assert row.confidence in {"published", "from memory"}
    assert row.confidence == "published" or "from memory" in row.source


def test_names_are_told_apart():
    """No row hides another of the same name."""
    from thermalkit.physics.tables import table_rows

    assert len(materials()) == len(table_rows("materials.csv"))


@pytest.mark.parametrize(("name", "fluid"), [("water at 20 degC", "Water"), ("still air", "Air")])
def test_fluids_agree_with_a_library(name, fluid):
    """Water and air against CoolProp at 20 and 10 °C: two digits are kept."""
    kelvin = 293.15 if fluid == "Water" else 283.15
    row = material(name)
    assert row.conductivity_w_mk == pytest.approx(PropsSI("L", "T", kelvin, "P", 101_325, fluid), rel=0.02)
    assert row.density_kg_m3 == pytest.approx(PropsSI("D", "T", kelvin, "P", 101_325, fluid), rel=0.02)
    assert row.heat_capacity_j_kgk == pytest.approx(PropsSI("C", "T", kelvin, "P", 101_325, fluid), rel=0.01)


def test_near_name_is_offered_but_not_taken():
    """A name that could mean several rows means none."""
    with pytest.raises(UnknownName, match='no material "concrete"; near: "concrete'):
        material("concrete")


def test_unknown_name_is_an_error_a_user_can_mend():
    """It is both a lookup error and one the command prints without a traceback."""
    with pytest.raises(LookupError):
        material("kryptonite")
    with pytest.raises(ThermalkitError, match='near: "'):
        material("\x1b[31m")
