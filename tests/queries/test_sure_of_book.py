"""How sure a plan from a book is: how well its casks are known, by hand, and that plan and chances are of one thing."""

from math import hypot, sqrt

import pytest
from house import HOW, House, moment

from pourbook import Item
from pourbook.actions.planning import open_plan
from pourbook.book.entries import Component, RecipePart
from pourbook.errors import OutOfRange, Refused
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.planning.plan import Plan
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.plans.asked import PlanAsked
from pourbook.queries.plans.known_contents import known_contents
from pourbook.queries.plans.sure import SureAsked
from pourbook.times import DAY_US
from pourbook.uncertainty.wording import read_instrument

NOW = "2026-10-01"
YEAR_DAYS = 365.2425
BATCH = PlanAsked(read_amount("300 l"), to_strength=read_strength("46"))


@pytest.fixture
def house():
    """Casks filled four years ago; C1 and C4 were gauged two years ago, C2 a year ago, C3 never."""
    with House(decimal_mark=".") as house:
        for name, wood in (("C1", "oak"), ("C2", "oak"), ("C3", "oak"), ("C4", "chestnut")):
            house.open(name, wood=wood, ref=f"Row {name[1]}")
            house.cask(name, "200 l", "63", at="2022-10-01", spirit="malt", wood_days="0")
        for name, litres, day in (("C1", "192 l", "2024-10-01"), ("C2", "190 l", "2025-10-01")):
            house.gauge(name, litres, "62.5", at=day)
        house.gauge("C4", "193 l", "62", at="2024-10-01")
        house.record(Component("Base", "malt", "oak"), Component("Rich", wood="chestnut"))
        house.book.write_recipe(HOW, "Autumn", (RecipePart("Base", "90 in 85..95"), RecipePart("Rich", "10 in 8..12")))
        house.clock.us = moment(NOW)
        yield house


def known(house, name, litres=180.0, percent=62.0, usual=0.03):
    cask = house.id(name)
    return known_contents(house.book, {cask: (litres, percent)}, usual, house.clock.us)[cask]


def days(first, last):
    return (moment(last) - moment(first)) / DAY_US


@pytest.mark.parametrize(("name", "gauged"), [("C1", "2024-10-01"), ("C2", "2025-10-01")])
def test_the_air_is_as_unsure_as_the_rate(house, name, gauged):
    """Two measurements a span apart give a rate good to their deviation × √2 / span, since the last of them."""
    found = known(house, name)
    since, span = days(gauged, NOW), days("2022-10-01", gauged)
    grown = sqrt(2.0) * since / span
    assert found.years == pytest.approx(since / YEAR_DAYS)
    assert found.held.volume_l.standard == pytest.approx(180.0 * 0.005 * hypot(1.0, grown), rel=1e-6)
    assert found.held.strength_vol.standard == pytest.approx(0.15 * hypot(1.0, grown), rel=1e-6)
    assert found.regauged.volume_l.standard == pytest.approx(180.0 * 0.005)
    assert (found.held.volume_l.value, found.held.strength_vol.value) == (180.0, 62.0)
    assert (found.assumed, found.has_rate) == (("volume", "strength"), True)


def test_without_a_rate_the_air_took_from_nothing_to_twice_the_usual(house):
    """A rectangle: its standard deviation is half its width by √3; the strength moved by ± 0.5 % vol a year."""
    found = known(house, "C3")
    years = days("2022-10-01", NOW) / YEAR_DAYS
    air = 180.0 * 0.03 * years / sqrt(3.0)
    assert found.held.volume_l.standard == pytest.approx(hypot(180.0 * 0.005, air))
    assert found.held.strength_vol.standard == pytest.approx(hypot(0.15, 0.5 * years / sqrt(3.0)))
    assert not found.has_rate


def instrument(house, ref, kind, unit, mpe, resolution=""):
    facts = {"ref": ref, "instrument": kind, "unit": unit, "mpe": mpe, "resolution": resolution}
    house.record(Item(house.book.next_id("instrument"), {name: text for name, text in facts.items() if text}))


def gauged_by(house, name, litres, percent):
    read = WhatWasRead(read_amount(litres), true=read_strength(percent))
    house.book.gauge(HOW, house.id(name), read, ("H-1", "M-1"))


def test_two_casks_by_one_hydrometer_share_its_error(house):
    """And a new gauge keeps it, with a reading of its own."""
    instrument(house, "H-1", "density meter", "% vol", "0.1", "0.1")
    instrument(house, "M-1", "flow meter", "l", "0.5 %")
    for name in ("C1", "C2"):
        gauged_by(house, name, "186 l", "62.0")
    one, two = known(house, "C1"), known(house, "C2")
    shared = one.held.strength_vol.sources.keys() & two.held.strength_vol.sources.keys()
    assert shared == {"H-1"}
    assert one.held.strength_vol.sources["H-1"] == pytest.approx(0.1 / sqrt(3.0))
    anew = one.regauged.strength_vol
    assert anew.sources["H-1"] == one.held.strength_vol.sources["H-1"]
    assert anew.standard == pytest.approx(one.held.strength_vol.standard, rel=1e-6)  # gauged just now
    assert not {name for name in anew.sources if name != "H-1"} & one.held.strength_vol.sources.keys()
    assert one.assumed == ()


def planned(house):
    found = house.book.plan("Autumn", BATCH, seconds=20)
    assert isinstance(found.found, Plan)
    return found


def test_the_chances_are_of_the_plan(house):
    """Its figures stand in the limits; what it pushed to an edge is kept in one case of two."""
    plan = planned(house)
    found = house.book.how_sure_of_plan(plan)
    figures = {(one.demand, one.ref): one.figure.value for one in found.sure.limits}
    for name, fraction in plan.found.fractions.items():
        assert figures[f"components.{name}", ""] == pytest.approx(100 * fraction)
    assert figures["target.volume_l", ""] == pytest.approx(plan.found.volume_l)
    assert figures["target.strength_20c", ""] == pytest.approx(46.0, abs=1e-6)
    for one in found.sure.limits:
        if min(one.figure.value - one.low, one.high - one.figure.value) < 1e-6:
            assert one.chance == pytest.approx(0.5, abs=0.01)
    assert set(found.known) == {take.ref for take in plan.found.takes}
    assert 0.0 < found.sure.together <= min(one.chance for one in found.sure.limits) + 0.01


def test_what_measures_part_takes_counts(house):
    """The volume is the less sure, the more the meter errs."""
    plan = planned(house)
    rough = SureAsked(read_instrument("limit 5 %", "volume", name="bucket"))

    def volume(asked):
        limits = house.book.how_sure_of_plan(plan, asked).sure.limits
        return next(one.figure.standard for one in limits if one.demand == "target.volume_l")

    assert volume(rough) > 2 * volume(SureAsked())


def test_without_a_plan_there_is_no_chance(house):
    """Ten thousand litres cannot be had."""
    large = house.book.plan("Autumn", BATCH._replace(final=read_amount("10000 l")), seconds=20)
    with pytest.raises(Refused, match="no plan"):
        house.book.how_sure_of_plan(large)


@pytest.mark.parametrize("asked", [SureAsked(level=0.5), SureAsked(level=1.0), SureAsked(strength_within=0.0)])
def test_what_cannot_be_asked_is_refused(house, asked):
    """A chance of half is none that anybody would call sure."""
    with pytest.raises(OutOfRange, match="cannot be sure"):
        house.book.how_sure_of_plan(planned(house), asked)


def test_of_an_open_batch_what_is_left_counts(house):
    """What was poured is in the vat; a cask that the plan empties is still emptied, by what it holds now."""
    plan = planned(house)
    batch = open_plan(house.book, HOW, plan).batch
    before = house.book.how_sure_of_batch(batch)
    planned_to_be = {one.demand: one.figure.value for one in house.book.how_sure_of_plan(plan).sure.limits}
    figures = {one.demand: one.figure.value for one in before.sure.limits}
    assert figures == pytest.approx(planned_to_be, rel=1e-2)  # a pull list has tenths of a litre
    first = plan.taken[0]
    house.ids["B1"] = batch
    house.pour(house.name(first.candidate.cask.ref), "B1", None if first.whole else f"{first.volume_l:.1f} l")
    after = house.book.how_sure_of_batch(batch)
    assert set(before.known) - set(after.known) == {first.candidate.cask.ref}
    assert after.sure.exact == ("what is in the vat",)


def test_a_plan_that_can_no_longer_be_poured_says_why(house):
    """A cask of it that is on hold."""
    plan = planned(house)
    batch = open_plan(house.book, HOW, plan).batch
    house.hold(plan.taken[0].candidate.cask.ref)
    with pytest.raises(Refused, match="can no longer be poured as planned: it is on hold"):
        house.book.how_sure_of_batch(batch)
