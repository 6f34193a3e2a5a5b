"""Instruments: their classes against what was published, their errors against worked arithmetic, as typed."""

import csv
from math import sqrt
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed, OutOfRange
from pourbook.uncertainty.classes import HYDROMETERS, SERIES, balance_limit, class_instrument
from pourbook.uncertainty.instrument_errors import instrument_errors
from pourbook.uncertainty.wording import read_instrument

with (Path(__file__).parent / "permissible_errors.csv").open(encoding="utf-8", newline="") as _file:
    PUBLISHED = list(csv.DictReader(_file))
"""Permissible errors: each with its standard, whether it was checked against it, and where it was read."""


# -- classes ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"{row['kind']} {row['nominal_ml']} {row['quantity']}")
def test_a_class_allows_what_its_standard_does(row):
    """Number, standard and whether it was read, row by row."""
    series, nominal = SERIES[row["kind"]], float(row["nominal_ml"])
    table = series.spreads if row["quantity"] == "spread" else series.limits
    assert table[nominal] == pytest.approx(float(row["value_ml"]))
    assert series.read == (row["status"] == "read")
    assert series.standard.split(" (")[0].split(":")[0] in row["source"]


def test_no_class_is_without_a_published_row():
    """Nothing stands in the tables that is not in the published list."""
    published = {(row["kind"], float(row["nominal_ml"])) for row in PUBLISHED if row["quantity"] == "limit"}
    assert {(kind, nominal) for kind, series in SERIES.items() for nominal in series.limits} == published


def test_a_one_mark_pipette_by_hand():
    """10 mL class A, ISO 648: 0.02/√3 = 0.01155 shared; settings scatter by a quarter, 0.005 (an assumption)."""
    pipette = class_instrument("pipette A", 10.0)
    assert (pipette.systematic, pipette.random) == (pytest.approx(0.02 / sqrt(3)), 0.005)


def test_a_burette_is_read_twice():
    """Start and end each to 0.05 mL: two readings rounded, √2 x 0.05/√12 = 0.05/√6, GUM."""
    assert class_instrument("burette A/0.05", 25.0).random == pytest.approx(0.05 / sqrt(6))


def test_a_piston_pipette_has_its_own_permissible_scatter():
    """ISO 8655-2, 1000 µL: ± 8 µL systematic, 3 µL standard deviation."""
    pipette = read_instrument("piston pipette 1000 ul", "volume")
    assert (pipette.systematic, pipette.random) == (pytest.approx(0.008 / sqrt(3)), pytest.approx(0.003))


def test_sizes_and_kinds_that_a_standard_does_not_have():
    """Neither is guessed."""
    with pytest.raises(OutOfRange, match="no cylinder A of 33 ml"):
        class_instrument("cylinder A", 33.0)
    with pytest.raises(Malformed, match="not a class of instrument"):
        class_instrument("bucket", 10.0)


@pytest.mark.parametrize(("load_e", "times"), [(5_000, 1), (5_001, 2), (20_000, 2), (20_001, 3)])
def test_a_balance_of_class_ii_in_service(load_e, times):
    """Directive 90/384/EEC, annex I, 4.1, table 3, and 4.2: 0.5, 1, 1.5 e on verification, twice in service."""
    assert balance_limit("II", 0.1, load_e * 0.1) == pytest.approx(times * 0.1)


def test_classes_of_balances_and_intervals_that_are_none():
    """Both are refused with what to do."""
    with pytest.raises(Malformed):
        balance_limit("IV", 0.1, 1.0)
    with pytest.raises(OutOfRange):
        balance_limit("I", 0.0, 1.0)


def test_a_hydrometer_says_where_its_limit_comes_from():
    """What was read and what was not checked is told apart."""
    assert all("not checked against the standard" in hydrometer.source for hydrometer in HYDROMETERS.values())


# -- readings --------------------------------------------------------------------------------------


def test_net_weight_by_one_balance():
    """Gross less tare: the shared error goes, the two roundings stay, d/√6 (GUM)."""
    balance = instrument_errors("balance", limit=0.3, division=0.1)
    net = balance.reading(512.4, "gross") - balance.reading(112.1, "tare")
    assert net.standard == pytest.approx(0.1 / sqrt(6))


def test_a_certificate_is_divided_by_its_factor():
    """U = 0.04 with k = 2 is a standard uncertainty of 0.02, GUM 4.3.3."""
    assert instrument_errors("meter", certificate=(0.04, 2.0)).systematic == 0.02


def test_an_error_in_proportion_grows_with_the_reading():
    """A dip read to ± 0.5 %: of 200 L it is 1/√3 L, of 400 L twice that."""
    dip = instrument_errors("dip", limit_part=0.005)
    assert dip.reading(200.0, "one").standard == pytest.approx(1 / sqrt(3))
    assert dip.reading(400.0, "two").standard == pytest.approx(2 / sqrt(3))


def test_several_fillings_share_the_error_and_not_the_scatter():
    """Three fillings: three times the shared part, √3 times the scatter."""
    pipette = instrument_errors("pipette", limit=0.05, spread=0.02, holds=10.0)
    poured = pipette.reading(25.0, "pour")
    assert poured.sources["pipette"] == pytest.approx(3 * 0.05 / sqrt(3))
    assert poured.sources["pipette, pour, repeated"] == pytest.approx(sqrt(3) * 0.02)
    assert (pipette.fillings(10.0), pipette.fillings(10.1), pipette.fillings(30.0)) == (1, 2, 3)


def test_one_mark_measures_only_what_it_holds():
    """2 x 10 mL can be measured, 7 mL cannot."""
    pipette = class_instrument("pipette A", 10.0)
    assert pipette.fillings(20.0) == 2
    with pytest.raises(OutOfRange, match="one mark"):
        pipette.reading(7.0, "pour")


@given(st.floats(0.0, 1.0), st.floats(0.001, 1.0), st.floats(0.1, 50.0))
def test_a_larger_permissible_error_is_a_larger_uncertainty(limit, more, volume):
    """Whatever is poured, in however many fillings."""
    small = instrument_errors("a", limit=limit, division=0.1, holds=10.0).reading(volume, "pour")
    large = instrument_errors("a", limit=limit + more, division=0.1, holds=10.0).reading(volume, "pour")
    assert large.standard > small.standard


@pytest.mark.parametrize(
    "wrong", [{"limit": -0.1}, {"division": float("nan")}, {"holds": 0.0}, {"certificate": (0.1, 0.0)}]
)
def test_errors_that_cannot_be(wrong):
    """A negative error, none at all, an instrument that holds nothing, a factor of zero."""
    with pytest.raises(OutOfRange):
        instrument_errors("meter", **wrong)


# -- as typed --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "measures", "systematic", "random"),
    [
        ("limit 0.05 ml, division 0.1 ml", "volume", 0.05 / sqrt(3), 0.1 / sqrt(12)),
        ("limit 0.05 l", "volume", 50 / sqrt(3), 0.0),
        ("certificate 0.04 k 2", "strength", 0.02, 0.0),
        ("certificate 0.04", "strength", 0.02, 0.0),
        ("limit 0.2 proof", "strength", 0.1 / sqrt(3), 0.0),
        ("Hydrometer II", "strength", 0.1 / sqrt(3), 0.1 / sqrt(12)),
        ("hydrometer II, certificate 0.02, spread 0.01", "strength", 0.01, 0.01),
        ("thermometer 0.5", "temperature", 0.5 / sqrt(3), 0.5 / sqrt(12)),
        ("limit 1 F", "temperature", 5 / 9 / sqrt(3), 0.0),
        ("limit 0.00002 g/cm3", "density", 0.02 / sqrt(3), 0.0),
        ("balance II 0.1 g", "mass", 100 / sqrt(3), 100 / sqrt(12)),
        ("limit 0.5 g, spread 100 mg", "mass", 500 / sqrt(3), 100.0),
    ],
)
def test_an_instrument_as_typed(text, measures, systematic, random):
    """In mL, mg, % vol, °C and kg/m3, whatever the unit that was typed."""
    found = read_instrument(text, measures)
    assert (found.systematic, found.random) == (pytest.approx(systematic), pytest.approx(random))
    assert found.name == text


@pytest.mark.parametrize(
    ("text", "measures"),
    [
        ("bucket", "volume"),
        ("limit", "volume"),
        ("limit 0.1 kg", "volume"),
        ("limit 0.1 bar", "strength"),
        ("limit 0.1 %", "temperature"),
        ("certificate 0.04 k 1.2.3", "strength"),
        ("hydrometer II", "volume"),
        ("balance IV 0.1 g", "mass"),
    ],
)
def test_what_is_no_instrument_is_refused(text, measures):
    """With a sentence, never with a guess."""
    with pytest.raises(Malformed):
        read_instrument(text, measures)
