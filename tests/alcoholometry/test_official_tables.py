"""Official tables a house has loaded: looked up and interpolated as the regulation prints it."""

from decimal import Decimal

import pytest

from pourbook.alcoholometry.official_tables import TABLES, official_tables
from pourbook.alcoholometry.us_gauging import gallons_per_pound
from pourbook.errors import FaultsFound


def loaded(*cells):
    """Tables of (table, proof, °F, value)."""
    rows = [
        {"table": table, "proof": str(proof), "temperature_f": str(temperature), "value": str(value)}
        for table, proof, temperature, value in cells
    ]
    rows = [{column: text for column, text in row.items() if text} for row in rows]
    return official_tables("gauging.csv", enumerate(rows, 2))


# 27 CFR 30.23
TABLE_1 = [("1", 192, 72, "189.1"), ("1", 193, 72, "190.2"), ("1", 192, 73, "188.9")]
# 27 CFR 30.64
TABLE_4 = [("4 wine", 190, "", "0.14718"), ("4 proof", 190, "", "0.27964"), ("4 proof", 200, "", "0.30258")]
# 27 CFR 30.66
TABLE_6 = [("6 water", p, "", v) for p, v in ((191, "5.59"), (188, "7.36"), (112, "47.75"), (100, "53.73"))]


def test_the_example_of_30_23():
    """189.1 + 1.1 x 0.82 - 0.2 x 0.15 = 189.972."""
    assert loaded(*TABLE_1).value("1", 192.82, 72.15) == Decimal("189.972")
    assert loaded(*TABLE_1).value("1", 193, 72) == Decimal("190.2")


def test_the_example_of_the_bureau():
    """TTB, web page on interpolation: 80.32 at 68.36 °F: 76.4 + 0.32 x 1.0 - 0.36 x 0.4 = 76.576."""
    tables = loaded(("1", 80, 68, "76.4"), ("1", 81, 68, "77.4"), ("1", 80, 69, "76.0"))
    assert tables.value("1", 80.32, 68.36) == Decimal("76.576")


def test_the_tank_of_30_64():
    """81,000 lb of 190 proof: 11,921.58 wine gallons and 22,650.84 proof gallons."""
    assert loaded(*TABLE_4).gallons_of_weight(81_000, 190.04) == (Decimal("11921.58"), Decimal("22650.84"))


def test_the_reduction_of_30_64():
    """1,000 lb from 200 to 190 proof: 82.03 lb of water."""
    assert round(loaded(*TABLE_4).pounds_of_water(1000, 200, 190), 2) == Decimal("82.03")


def test_the_reductions_of_30_66():
    """191 to 188 proof: 1.89 (the example cuts 95.5 / 94 to 1.01, hence 1.84); 112 to 100: 12.4276, cut to 12.42."""
    tables = loaded(*TABLE_6)
    assert tables.water_per_100_volumes(191, 188) == pytest.approx(Decimal("1.8874"), abs=Decimal("0.0001"))
    assert tables.water_per_100_volumes(112, 100) == pytest.approx(Decimal("12.4276"), abs=Decimal("0.0001"))


def test_the_gauge_of_30_51():
    """4,308.48 gallons at 86.8 proof and 72 °F with the factor 0.995: 3,721.1 proof gallons."""
    corners = [("7", proof, t, "0.995") for proof in (85, 90) for t in (72, 74)]
    wine, proof_gallons = loaded(*corners).gallons_of_volume(4308.48, 86.8, 72.0)
    assert round(wine, 2) == Decimal("4286.94")
    assert round(proof_gallons, 1) == Decimal("3721.1")


def test_table_7_is_interpolated_between_even_degrees():
    """27 CFR 30.67: 180 proof at 51 °F is 1.0055, half way between two printed factors (1.006 and 1.005)."""
    tables = loaded(("7", 180, 50, "1.006"), ("7", 180, 52, "1.005"))
    assert tables.value("7", 180, 51) == Decimal("1.0055")


def test_solids_take_wine_gallons_by_apparent_and_proof_gallons_by_true_proof():
    """27 CFR 30.41 and 30.64: pounds x gallons per pound at the apparent proof x true proof / 100."""
    wine_88 = round(gallons_per_pound(88.0)[0], 5)
    tables = loaded(("4 wine", 88, "", wine_88))
    wine, proof_gallons = tables.gallons_of_weight(1000, 90.0, 88.0)
    assert wine == Decimal(str(wine_88)) * 1000
    assert proof_gallons == wine * Decimal("0.9")


@pytest.mark.parametrize(
    "asked",
    [
        lambda tables: tables.value("1", 192.82, 73.5),  # no warmer neighbour
        lambda tables: tables.value("1", 191, 72),  # below what is there
        lambda tables: tables.value("4 wine", 190.1),  # not in the file
        lambda tables: tables.value("4 proof", 195),  # its neighbours are ten proof apart, not a tenth
        lambda tables: tables.value("7", 190, 60),  # no such table in the file
        lambda tables: tables.gallons_of_weight(1000, 150),
        lambda tables: tables.gallons_of_volume(1000, 150, 60),
        lambda tables: tables.water_per_100_volumes(150, 100),
        lambda tables: tables.pounds_of_water(1000, 150, 100),
    ],
)
def test_a_value_that_is_not_there_is_not_guessed(asked):
    """None, never the nearest."""
    assert asked(loaded(*TABLE_1, *TABLE_4)) is None


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ({"table": "9", "proof": "190", "value": "1"}, "table"),
        ({"table": "4 wine", "proof": "many", "value": "0.14718"}, "proof"),
        ({"table": "4 wine", "proof": "190"}, "value"),
        ({"table": "7", "proof": "190", "value": "0.991"}, "temperature_f"),
        ({"table": "4 wine", "proof": "190", "temperature_f": "60", "value": "0.14718"}, "temperature_f"),
        ({"table": "4 wine", "proof": "190", "value": "0.41718"}, "value"),  # two digits swapped
        ({"table": "6 air", "proof": "64", "value": "0.06291"}, "value"),  # a digit dropped
        ({"table": "1", "proof": "192", "temperature_f": "72", "value": "198.1"}, "value"),
    ],
)
def test_a_slip_of_the_copyist_is_found(row, column):
    """File, row, column, value and what to do."""
    with pytest.raises(FaultsFound, match="nothing was computed") as found:
        official_tables("gauging.csv", [(2, row)])
    (fault,) = found.value.faults
    assert (fault.file, fault.row, fault.column) == ("gauging.csv", 2, column)
    assert fault.remedy


def test_every_fault_is_listed_and_two_values_for_one_cell_are_one():
    """All rows are read; a cell that is there twice with one value is no fault."""
    with pytest.raises(FaultsFound) as found:
        loaded(*TABLE_4, *TABLE_4, ("4 wine", 190, "", "0.14719"), ("8", 1, "", "1"))
    assert [fault.column for fault in found.value.faults] == ["value", "table"]


def test_every_table_of_the_regulation_can_be_loaded():
    """Tables 1 and 4 to 7; 2 and 3 are products of table 4."""
    assert {name.split()[0] for name in TABLES} == {"1", "4", "5", "6", "7"}
    tables = loaded(
        ("1", 193, 75, "189.5"),  # 27 CFR 30.61
        ("5 wine", 190, "", "6.7943"), ("5 proof", 190, "", "3.5760"),  # 30.65, second-hand
        ("6 air", 190, "", "0.81582"), ("6 vacuum", 100, "", "0.93426"),  # second-hand; computed
        ("7", 190, 76, "0.991"),  # 30.67, second-hand
    )  # fmt: skip
    assert tables.value("5 proof", 190) == Decimal("3.5760")
