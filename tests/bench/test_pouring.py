"""What was poured into a trial: volumes, cost, age, what awaits the laboratory, and its revisions."""

import pytest

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.times import DAY_US

ETHANOL_KG_M3 = 789.24
"""Density of ethanol at 20 °C: OIML R 22, general formula at p = 1."""


@pytest.fixture
def samples(house):
    """Two casks, one of them dearer, and a vial drawn from each."""
    house.open("C1", at="2016-01-01", previous="oloroso")
    house.open("C2", at="2016-01-01")
    house.fill("C1", "200 l", "63.5", at="2016-01-01", spirit="malt spirit", cost="4.20", wood_days=0)
    house.fill("C2", "180 l", "58.2", at="2018-01-01", spirit="grain spirit", cost="2,80", wood_days=0)
    house.draw("C1", "V1", "500 ml", at="2024-01-01")
    house.draw("C2", "V2", "500 ml", at="2024-01-01")
    return house


def test_what_was_poured_twice_counts_together(samples):
    """A second drop of the same sample adds to the first; the order is that of first pouring."""
    for source, amount in (("V2", "20 ml"), ("V1", "60 ml"), ("V2", "5 ml")):
        samples.pour(source, "T1", amount)
    samples.water("T1", "15 ml")
    found = samples.back("T1").poured_ml
    assert list(found) == [samples.id("V2"), samples.id("V1"), "water"]
    # Each pour is kept to the milligram.
    assert list(found.values()) == pytest.approx([25, 60, 15], abs=0.002)


def test_what_went_into_the_sources_is_not_counted(samples):
    """Only pours into the trial itself are its recipe as poured."""
    samples.pour("V1", "T1", "60 ml")
    assert list(samples.back("T1").poured_ml) == [samples.id("V1")]


def test_cost_by_hand(samples):
    """Cost of each origin per litre of pure alcohol, times the pure alcohol it gave, over the litres of the blend."""
    samples.pour("V1", "T1", "60 ml")
    samples.pour("V2", "T1", "30 ml")
    samples.water("T1", "10 ml")
    trace = samples.back("T1")
    by_spirit = {origin.facts.get("spirit"): origin.ethanol_mg for origin in trace.origins}
    pure_l = {spirit: ethanol / ETHANOL_KG_M3 / 1000 for spirit, ethanol in by_spirit.items()}
    assert pure_l["malt spirit"] == pytest.approx(0.060 * 0.635, abs=2e-6)
    blend_l = volume_ml(trace.held) / 1000
    by_hand = (4.20 * pure_l["malt spirit"] + 2.80 * pure_l["grain spirit"]) / blend_l
    assert samples.back("T1").cost_per_litre == pytest.approx(by_hand, rel=1e-5)


def test_cost_is_unknown_when_any_spirit_has_none(samples):
    """A price that nobody gave is not a price of nothing."""
    samples.cask("C3", "100 l", "60", at="2020-01-01", spirit="rum")
    samples.pour("V1", "T1", "60 ml")
    samples.pour("C3", "T1", "1 ml")
    assert samples.back("T1").cost_per_litre is None


def test_age_is_that_of_the_youngest(samples):
    """The younger cask decides, however little of it."""
    samples.pour("V1", "T1", "99 ml")
    samples.pour("V2", "T1", "1 ml")
    assert samples.back("T1").age.youngest_us / DAY_US == 6 * 365 + 1  # 2018-01-01 to 2024-01-01, one leap day


def test_a_pending_strength_makes_it_provisional(samples):
    """The entry that awaits the laboratory is named."""
    pending = samples.fill("C3", "100 l", "68", at="2023-01-01", pending=True).numbers[-1]
    samples.pour("C3", "T1", "50 ml")
    assert samples.back("T1").pending == (pending,)


def test_previous_contents_are_told(samples):
    """Who must avoid something learns what lay in the casks before."""
    samples.pour("V1", "T1", "60 ml")
    assert samples.back("T1").previous == ((samples.id("C1"), "oloroso"),)
