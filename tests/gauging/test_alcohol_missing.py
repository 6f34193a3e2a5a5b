"""Spirit swapped for water keeps the volume: the pure alcohol that is gone is asked about, and has its kind.

The fraud is as old as bonded warehouses (common practice, no source); its figures are worked by hand.
"""

import pytest
from house import House

from pourbook import Gauge
from pourbook.errors import ToConfirm
from pourbook.quantities import read_amount, read_strength


@pytest.fixture
def cask():
    """A cask of 200 litres at 60 % vol, 120 LPA, filled on 1 March 2024."""
    with House() as house:
        house.cask("C1", "200 l", "60", at="2024-03-01")
        yield house


def gauged(cask, amount, strength, at, facts=None, **draft):
    """A gauge that nobody confirms, unless it says so."""
    read = Gauge(cask.id("C1"), amount and read_amount(amount), read_strength(strength), facts=facts or {})
    return cask.record(read, at=at, **draft)


def test_water_in_place_of_spirit_is_asked_about(cask):
    """Twenty litres out and twenty of water in: 108 LPA of 120, in a month, at the same level."""
    with pytest.raises(ToConfirm, match=r"120\.00 LPA, and 108\.00 were found: 12\.00 LPA are missing"):
        gauged(cask, "200 l", "54", "2024-04-01")
    assert cask.held("C1").ethanol_mg == pytest.approx(120_000 * 789.24, rel=1e-5), "R 22: density of ethanol at 20 °C"


def test_a_strength_alone_is_judged_too(cask):
    """The level was not read; the book's stands, and the alcohol is gone all the same."""
    with pytest.raises(ToConfirm, match="LPA are missing"):
        gauged(cask, None, "54", "2024-04-01")


@pytest.mark.parametrize("strength", ["59.7", "60.4", "63"])
def test_a_reading_that_errs_and_a_gain_are_not(cask, strength):
    """A third of a per cent is misread; more alcohol than the book has is no loss."""
    gauged(cask, "200 l", strength, "2024-04-01")


def test_what_years_take_is_not(cask):
    """Three years in wood take some 6 % of the volume and 1 % vol of the strength."""
    gauged(cask, "188 l", "59", "2027-03-01")


def test_a_person_says_where_it_went(cask):
    """Confirmed with its kind, it is recorded."""
    gauged(cask, "200 l", "54", "2024-04-01", {"disposition": "theft"}, confirmed=True)
    assert cask.held("C1").ethanol_mg == pytest.approx(108_000 * 789.24, rel=1e-5)


def test_a_sample_read_as_it_was_drawn_lost_nothing(cask):
    """Half a litre drawn years after the fill, at 58.5: the cask's loss, which years explain, and none of the vial."""
    cask.draw("C1", "V1", "500 ml", at="2029-03-01")
    reading = Gauge(cask.id("V1"), None, read_strength("58.5"))
    cask.record(reading, reading._replace(id=cask.id("C1")), at="2029-03-01")
    with pytest.raises(ToConfirm, match="LPA are missing"):
        cask.record(reading._replace(strength=read_strength("56")), at="2029-03-02")
