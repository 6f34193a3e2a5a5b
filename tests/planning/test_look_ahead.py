"""The look ahead against a plain simulation of the stock: cask by cask, year by year, by another hand.

The simulation knows no linear program: it walks over the casks, oldest first, and keeps what each holds. It needs fixed
parts of the alcohol, where there is nothing to choose but the order. With tolerances, what must hold of any answer is
checked: nothing is lost or made, limits hold, and no year makes more than is possible.
"""

from itertools import pairwise
from math import floor, inf

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.planning.enough import Share, most_batches, takings
from pourbook.planning.look_ahead import StockCask, look_ahead
from pourbook.planning.recipe import House, Limits, Part, Recipe, Target

NAMES = ("base", "rich", "peat")
YEARS = 6


# -- the plain simulation ----------------------------------------------------------------


class Barrel:
    """One cask that ages, and from which somebody takes."""

    def __init__(self, of):
        self.of, self.litres, self.percent = of, of.volume_l, of.strength_vol

    def lie_a_year(self):
        """The air takes its part, and the strength moves."""
        self.litres -= self.litres * self.of.loss
        self.percent += self.of.strength_change


def simulated(recipe, stock, years, wanted):
    """By year: batches made, litres taken by cask, litres the air took; a batch is made in full or not at all."""
    target = recipe.target
    needed = target.volume_l / (1 - sum(recipe.losses.values()) / 100) * target.strength_vol / 100
    barrels = [Barrel(one) for one in sorted(stock, key=lambda one: (-one.wood_days, one.ref))]
    told = []
    for year in range(years):
        here = [one for one in barrels if one.of.comes <= year]
        air = 0.0
        for one in here:
            if one.of.comes < year:
                before = one.litres
                one.lie_a_year()
                air += before - one.litres
        of = {
            name: [one for one in here if (ends := one.of.windows.get(name)) and ends[0] <= year <= ends[1]]
            for name in recipe.components
        }
        enough = min(
            sum(one.litres * one.percent / 100 for one in of[name]) / (part.part / 100 * needed)
            for name, part in recipe.components.items()
        )
        made, taken = min(wanted, floor(enough + 1e-9)), {}
        for name, part in recipe.components.items():
            lacks = made * part.part / 100 * needed
            for one in of[name]:
                take = min(one.litres, lacks / (one.percent / 100))
                if take > 1e-6:
                    taken[one.of.ref] = take
                    one.litres -= take
                    lacks -= take * one.percent / 100
        told.append((enough, made, taken, air))
    return told


@st.composite
def houses(draw, tolerance=0.0, least=0):
    """A recipe with parts of three components, and a stock whose casks are of one each."""
    cut = draw(st.lists(st.integers(5, 45), min_size=2, max_size=2))
    parts = dict(zip(NAMES, (*cut, 100 - sum(cut)), strict=True))
    recipe = Recipe(
        {name: Part(part, part - tolerance, part + tolerance) for name, part in parts.items()},
        Target(draw(st.integers(100, 900)), 46.0),
        losses={"filter": draw(st.sampled_from((0.0, 0.5)))},
        basis="alcohol" if not tolerance else draw(st.sampled_from(("alcohol", "volume"))),
    )
    count = draw(st.integers(least, 14))
    stock = []
    for at in range(count):
        first = draw(st.integers(0, 5))
        comes = draw(st.sampled_from((0, 0, 0, 2)))
        stock.append(
            StockCask(
                f"C{at}", draw(st.floats(20, 400)), draw(st.floats(52, 66)), draw(st.sampled_from((0.0, 0.02, 0.035))),
                draw(st.sampled_from((-0.4, 0.0, 0.2))),
                {draw(st.sampled_from(NAMES)): (max(first, comes), draw(st.sampled_from((inf, first + 2))))},
                draw(st.integers(0, 6000)), comes,
            )
        )  # fmt: skip
    return recipe, stock


@settings(max_examples=60, deadline=None)
@given(houses(), st.integers(1, 3))
def test_it_is_what_a_plain_simulation_finds(house, wanted):
    """Batches, litres by cask and what the air took, in every year; rounding of the program apart."""
    recipe, stock = house
    ahead = look_ahead(recipe, stock, YEARS, wanted)
    for year, (enough, made, taken, air) in zip(ahead.years, simulated(recipe, stock, YEARS, wanted), strict=True):
        assert year.possible == pytest.approx(enough, abs=1e-5)
        if abs(enough - round(enough)) < 1e-4:  # a whole number to the last digits: either is right, and what follows
            return
        assert year.made == made
        assert {ref: litres for (ref, _), litres in year.takes.items()} == pytest.approx(taken, abs=2e-3)
        assert year.air_l == pytest.approx(air, abs=1e-2)


@settings(max_examples=60, deadline=None)
@given(houses(tolerance=3.0), st.integers(1, 2))
def test_nothing_is_lost_and_limits_hold(house, wanted):
    """What is there, what the air took and what was used are what was there at first and what came."""
    recipe, stock = house
    ahead = look_ahead(recipe, stock, YEARS, wanted)
    first = sum(one.volume_l for one in stock if not one.comes)
    came = sum(year.came_l for year in ahead.years)
    gone = sum(year.air_l + year.taken_l for year in ahead.years)
    assert first + came == pytest.approx(gone + ahead.years[-1].left_l, rel=1e-9, abs=1e-6)
    casks = {one.ref: one for one in stock}
    for year in ahead.years:
        assert year.made <= min(wanted, year.possible + 1e-6)
        if year.made:
            by = dict.fromkeys(recipe.components, 0.0)
            alcohol = 0.0
            for (ref, name), litres in year.takes.items():
                one = casks[ref]
                assert one.windows[name][0] <= year.year <= one.windows[name][1]
                pure = litres * (one.strength_vol + one.strength_change * (year.year - one.comes)) / 100
                alcohol += pure
                by[name] += pure if recipe.basis == "alcohol" else litres
            for name, part in recipe.components.items():
                assert part.low - 1e-4 <= 100 * by[name] / sum(by.values()) <= part.high + 1e-4
            needed = recipe.target.volume_l * 0.46 / (1 - sum(recipe.losses.values()) / 100)
            assert alcohol == pytest.approx(year.made * needed, rel=1e-5)
    for name in recipe.components:
        flows = [year.components[name] for year in ahead.years]
        for before, after in pairwise(flows):
            stays = before.reach_l - before.taken_l - after.air_l + after.in_l - after.out_l
            assert after.reach_l == pytest.approx(stays, abs=1e-5)


@settings(max_examples=30, deadline=None)
@given(houses(tolerance=2.0, least=3), st.integers(1, 2))
def test_what_would_be_short_is_enough(house, wanted):
    """Laid down now as casks of each component at its mean loss, it carries every year; the order stays."""
    recipe, stock = house
    stock = [one._replace(strength_vol=60.0, strength_change=0.0, loss=0.02) for one in stock]
    ahead = look_ahead(recipe, stock, YEARS, wanted)
    more = [
        StockCask(f"more {name}", litres * (1 + 1e-6) + 1e-3, 60.0, 0.02, 0.0, {name: (0.0, inf)}, -1)
        for name, litres in ahead.short_now_l.items()
    ]
    assert all(year.made == wanted for year in look_ahead(recipe, [*stock, *more], YEARS, wanted).years)
    assert ahead.runs_out is None or more


# -- single cases, worked by hand --------------------------------------------------------

PLAIN = Recipe({"rich": Part(10.0, 10.0, 10.0), "base": Part(90.0, 90.0, 90.0)}, Target(1000.0, 46.0), basis="alcohol")
"""A batch takes 46 l of pure alcohol of the rich component and 414 of the base."""


def cask(ref, litres, name, first=0.0, last=inf, days=3650, **more):
    """A cask of 50 % vol without losses, unless told otherwise."""
    return StockCask(ref, litres, 50.0, more.pop("loss", 0.0), 0.0, {name: (first, last)}, days, **more)


def test_an_empty_stock_makes_nothing_and_lacks_everything():
    """At the strength of the label, as there is no other: 100 l and 900 l for each batch."""
    ahead = look_ahead(PLAIN, [], 3)
    assert [(year.possible, year.made, year.left_l) for year in ahead.years] == [(0.0, 0, 0.0)] * 3
    assert ahead.runs_out == (0, ("rich", "base"))
    assert ahead.short_now_l == pytest.approx({"rich": 300.0, "base": 2700.0})


def test_what_runs_out_first_is_named_with_its_year():
    """200 l of rich are 100 l of alcohol, enough for two batches of 46; the third lacks 38 l, that is 76 l."""
    ahead = look_ahead(PLAIN, [cask("A", 200, "rich"), cask("B", 9000, "base")], 3)
    assert [year.made for year in ahead.years] == [1, 1, 0]
    assert ahead.runs_out == (2, ("rich",))
    assert ahead.years[2].components["rich"].lacking_l == pytest.approx(76.0)
    assert ahead.years[2].components["rich"].batches == pytest.approx(8 / 46)


def test_ages_move_with_time():
    """A cask that is old enough in two years, and one that is too old from then on."""
    stock = [cask("A", 92, "rich", 2), cask("L", 500, "rich", last=1), cask("B", 9000, "base")]
    years = look_ahead(PLAIN, stock, 4).years
    assert [year.components["rich"].reach_l for year in years] == pytest.approx([500.0, 408.0, 92.0, 0.0])
    assert (years[2].components["rich"].in_l, years[2].components["rich"].out_l) == pytest.approx((92.0, 316.0))
    assert [year.made for year in years] == [1, 1, 1, 0]


def test_the_oldest_goes_first_or_what_leaves_first():
    """Two casks: the older stays in reach for ever, the younger for a year only."""
    stock = [cask("A", 100, "rich", days=5000), cask("Y", 100, "rich", last=0, days=4000), cask("B", 9000, "base")]
    assert ("A", "rich") in look_ahead(PLAIN, stock, 2).years[0].takes
    ahead = look_ahead(PLAIN, stock, 2, order="leaving")
    assert ("Y", "rich") in ahead.years[0].takes
    assert [year.made for year in ahead.years] == [1, 1]


def test_a_cask_that_can_be_of_another_component_is_kept_for_it():
    """The older of two base casks will be rich next year, and nothing else will: the younger goes first."""
    old = StockCask("A", 1000.0, 50.0, 0.0, 0.0, {"base": (0, inf), "rich": (1, inf)}, 4000)
    stock = [old, cask("B", 1000.0, "base", days=2000), cask("R", 92.0, "rich", last=0), cask("S", 828.0, "base", 1)]
    ahead = look_ahead(PLAIN, stock, 2)
    assert [set(year.takes) for year in ahead.years] == [{("B", "base"), ("R", "rich")}, {("A", "rich"), ("S", "base")}]


def test_the_order_is_kept_where_a_later_cask_is_weaker():
    """By volume a weak cask would save alcohol of the first component; it stays behind the one before it."""
    recipe = Recipe({"a": Part(50, 48, 52), "b": Part(50, 48, 52)}, Target(100, 46))
    ranked = [Share("1", "a", 30, 66.0, 0.0), Share("2", "a", 300, 66.0, 0.5), Share("3", "a", 300, 50.0, 0.52)]
    taken = takings(recipe, [*ranked, Share("B", "b", 1000, 60.0)], 1).litres
    assert taken == pytest.approx({("1", "a"): 30.0, ("2", "a"): 46 / 1.26 - 30, ("B", "b"): 46 / 1.26})


def test_an_unknown_age_goes_last():
    """It may be the youngest."""
    stock = [cask("A", 100, "rich", days=None), cask("Y", 100, "rich", days=10), cask("B", 9000, "base")]
    assert ("Y", "rich") in look_ahead(PLAIN, stock, 1).years[0].takes


def test_a_cask_of_two_components_is_not_used_twice():
    """92 l serve one batch of rich alone; the base needs the other."""
    both = StockCask("A", 920.0, 50.0, 0.0, 0.0, {"rich": (0, inf), "base": (0, inf)}, 1)
    (year,) = look_ahead(PLAIN, [both], 1).years
    assert year.possible == pytest.approx(1.0)
    assert year.takes == pytest.approx({("A", "rich"): 92.0, ("A", "base"): 828.0})


def test_a_filling_that_is_planned_comes_when_it_does():
    """And from then on the air takes of it."""
    stock = [cask("N", 100, "rich", first=1, loss=0.02, comes=1, days=-365), cask("B", 9000, "base")]
    years = look_ahead(PLAIN, stock, 3).years
    assert [year.came_l for year in years] == [0.0, 100.0, 0.0]
    assert [year.made for year in years] == [0, 1, 0]
    assert years[2].air_l == pytest.approx(0.16)


def test_a_vat_that_is_too_small_makes_no_batch():
    """It lacks no component, so none is named."""
    ahead = look_ahead(PLAIN._replace(limits=Limits(vat_l=900.0)), [cask("A", 200, "rich"), cask("B", 9000, "base")], 1)
    assert (ahead.years[0].possible, ahead.runs_out) == (0.0, (0, ()))


def test_a_rule_of_the_house_binds_as_a_bound_does():
    """No component above 85 %: a base of 90 % cannot be."""
    recipe = PLAIN._replace(house=House(85.0))
    assert most_batches(recipe, [Share("A", "rich", 200, 50.0), Share("B", "base", 9000, 50.0)]) == 0.0


def test_the_strength_before_water_is_kept():
    """Of 50 and 60 % vol half and half are needed for 55; volumes hardly contract among them."""
    recipe = Recipe({"base": Part(100.0)}, Target(1000.0, 46.0), Limits(least_strength_before=55.0))
    shares = [Share("A", "base", 5000, 50.0, 0.0), Share("B", "base", 5000, 60.0, 1.0)]
    taken = takings(recipe, shares, 1).litres
    assert taken["A", "base"] == pytest.approx(taken["B", "base"], rel=0.01)
    assert most_batches(recipe, shares[:1]) == 0.0


def test_a_planner_chooses_whole_casks():
    """It is asked for one batch after the other, of what is left; what it cannot make is not made."""
    asked = []

    def planner(shares):
        asked.append([one.volume_l for one in shares])
        whole = {(one.ref, one.component): one.volume_l for one in shares if one.volume_l in (92.0, 828.0)}
        return whole if len(whole) == 2 else None

    stock = [cask("A", 92, "rich"), cask("R", 500, "rich"), cask("B", 828, "base"), cask("S", 9000, "base")]
    ahead = look_ahead(PLAIN, stock, 2, batches=2, planner=planner)
    assert [(year.made, year.takes) for year in ahead.years] == [
        (1, {("A", "rich"): 92.0, ("B", "base"): 828.0}),
        (0, {}),
    ]
    assert ahead.whole_casks
    assert ahead.runs_out == (0, ())  # by litres nothing lacks
    assert asked == [[92.0, 500.0, 828.0, 9000.0], [500.0, 9000.0], [500.0, 9000.0]]
