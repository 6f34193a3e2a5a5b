"""The nearest plan: what is needed admits one, a little stricter does not, and where nothing is named nothing helps."""

import pytest
from hypothesis import assume, given, settings
from plan_oracle import broken, copy_of, demands, dropping, enumerated
from planned import casks_of, recipe_of
from random_plans import houses

from pourbook.planning.blend import is_most
from pourbook.planning.nearest import nearest
from pourbook.planning.plan import plan

WHOLE_NUMBERS = ("most_casks", "most_part_casks", "casks_of_each", "least_age_years", "least_age_days")


def changed(recipe, demand, value):
    """The recipe as written with another limit."""
    other = copy_of(recipe)
    *tables, key = demand.split(".")
    table = other
    for name in tables:
        table = table[name]
    table[key] = value
    return other


def asked(recipe, demand):
    value = recipe
    for name in demand.split("."):
        value = value[name]
    return value


def stricter(recipe, near):
    """A limit a thousandth nearer to what is asked, or one; None where that is no longer less than asked."""
    if near.demand.endswith(WHOLE_NUMBERS):
        value = near.needed + (-1 if is_most(near.demand) else 1)
        return value if value != near.asked else None
    step = 0.001 * max(abs(near.needed), 0.01)
    if abs(near.asked - near.needed) <= step:
        return None
    return near.needed + (step if near.asked > near.needed else -step)


def helps(recipe, casks, demand):
    """Whether any change of a demand alone would do, told without the planner."""
    if demand == "target.strength_20c":
        return any(
            enumerated(changed(recipe, demand, strength), casks, any_will_do=True) is not None
            for strength in (20.0, 30.0, 38.5, 40.0, 44.0, 46.0, 52.0, 57.3, 60.0)
        )
    if demand.startswith("limits.least_age"):
        return enumerated(changed(recipe, demand, 0), casks, any_will_do=True) is not None
    if demand in ("limits.least_taken_l", "limits.least_left_l"):
        return enumerated(changed(recipe, demand, 0.0), casks, any_will_do=True) is not None
    return enumerated(dropping(recipe, {demand}), casks, any_will_do=True) is not None


@settings(max_examples=12)
@given(houses(least=2, most=5))
def test_the_nearest_plan_of_each_demand(house):
    """Of every demand, in conflict or not: checked with every choice of casks tried."""
    recipe, casks = house
    assume(plan(recipe_of(recipe), casks_of(casks)) is None)
    for near in nearest(recipe_of(recipe), casks_of(casks), demands(recipe)):
        assert near.asked == asked(recipe, near.demand)
        if near.needed is None:
            assert near.takes is None
            assert not helps(recipe, casks, near.demand)
            continue
        admits = changed(recipe, near.demand, near.needed)
        assert enumerated(admits, casks, any_will_do=True) is not None
        takes = [{"ref": take.ref, "volume_l_20c": take.volume_l, "whole": take.whole} for take in near.takes]
        assert broken(admits, casks, takes) == []
        if (limit := stricter(recipe, near)) is not None:
            assert enumerated(changed(recipe, near.demand, limit), casks, any_will_do=True) is None


def test_a_limit_met_just_so_is_needed_just_so():
    """Two casks emptied give 150 l of pure alcohol, 375 l at 40 % vol: not a drop is added to be sure."""
    casks = [
        {"ref": "A", "component": "base", "volume_l_20c": 100.0, "strength_20c": 60.0},
        {"ref": "B", "component": "base", "volume_l_20c": 150.0, "strength_20c": 60.0},
    ]
    recipe = {
        "basis": "volume",
        "components": {"base": {"part": 100}},
        "target": {"volume_l": 400.0, "volume_low_l": 390.0, "strength_20c": 40.0},
    }
    (near,) = nearest(recipe_of(recipe), casks_of(casks), ("target.volume_low_l",))
    assert near.needed == pytest.approx(375.0, abs=1e-9)
    assert [take.whole for take in near.takes] == [True, True]


def test_a_component_that_another_demand_alone_makes_needful_may_be_left_out():
    """Of the base there is one cask where two are wanted; with less to make, the heel's 27 l of it are enough.

    Poured are 30 l of heel and, of casks of rich, up to 39 % of all with the 3 l in the heel: at most 14.26 l.
    """
    casks = [
        {"ref": "A", "component": "base", "volume_l_20c": 210.0, "strength_20c": 50.0},
        {"ref": "B", "component": "rich", "volume_l_20c": 210.0, "strength_20c": 50.0},
        {"ref": "C", "component": "rich", "volume_l_20c": 40.0, "strength_20c": 50.0},
    ]
    recipe = {
        "basis": "volume",
        "components": {"base": {"part": 70, "low": 49.0}, "rich": {"part": 30, "high": 39.0}},
        "target": {"volume_l": 400.0, "volume_low_l": 360.0, "strength_20c": 40.0},
        "limits": {"most_casks": 2},
        "house": {"casks_of_each": 2},
        "heel": {"volume_l_20c": 30.0, "strength_20c": 50.0, "parts": {"base": 90, "rich": 10}},
    }
    (near,) = nearest(recipe_of(recipe), casks_of(casks), ("target.volume_low_l",))
    rich = (0.39 * 30 - 3) / 0.61
    assert near.needed == pytest.approx((30 + rich) * 50 / 40, abs=1e-4)
