"""Plans worked by hand: which casks must be chosen, and what they come to."""

from math import isclose
from random import Random
from unittest import mock

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from planned import casks_of, recipe_of
from random_plans import houses

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength
from pourbook.planning import solving
from pourbook.planning.blend import blended, broken
from pourbook.planning.casks import Cask
from pourbook.planning.plan import OutOfTime, Plan, plan
from pourbook.planning.recipe import Band, Heel, House, InVat, Limits, Part, Recipe, Target, demands

BASE = [Cask(f"b{n}", "base", 200.0, 60.0, 5000, 5.0) for n in range(5)]
RICH = [Cask(f"r{n}", "rich", 100.0, 60.0, 6000, 9.0) for n in range(3)]


def recipe(**changes):
    """90 parts of base, 10 of rich, at 40 % vol: a litre poured at 60 % vol is 1.5 litres reduced."""
    components = {"base": Part(90.0), "rich": Part(10.0, 9.5, 10.5)}
    return Recipe(components, Target(900.0, 40.0, 890.0, 910.0))._replace(**changes)


def refs(found):
    return [take.ref for take in found.takes]


def test_fewest_casks():
    """890 / 1.5 = 593.3 litres poured at least, 9.5 % of them rich: three of base (2 would be 400) and one of rich."""
    found = plan(recipe(), BASE + RICH)
    assert isinstance(found, Plan)
    assert (found.objective, found.bound, found.gap, found.proved) == (4.0, 4.0, 0.0, True)
    assert sorted(ref[0] for ref in refs(found)) == ["b", "b", "b", "r"]
    assert 890.0 - 1e-6 <= found.volume_l <= 910.0 + 1e-6
    assert 0.095 - 1e-9 <= found.fractions["rich"] <= 0.105 + 1e-9
    assert isclose(sum(found.fractions.values()), 1.0)


def test_water_is_that_of_r22():
    """Masses by hand: litres x density; water brings ethanol to the mass fraction of 40 % vol."""
    found = plan(recipe(), BASE + RICH)
    litres = sum(take.volume_l for take in found.takes)
    mass = litres * density_kg_m3(mass_fraction_from_strength(60.0)) / 1000.0
    reduced_kg = litres * 1.5 * density_kg_m3(mass_fraction_from_strength(40.0)) / 1000.0
    assert isclose(found.water_l, (reduced_kg - mass) / 0.9982012, rel_tol=1e-6)  # R 22, water at 20 °C: 998.201 kg/m3
    assert isclose(found.strength_before, 60.0, abs_tol=1e-9)
    assert isclose(found.volume_l, litres * 1.5, rel_tol=1e-12)


def test_least_cost_takes_the_cheap_casks():
    """Of two casks that would do, the cheaper: 60 % of 200 l at 3.00 is 360.00, at 4.00 480.00."""
    casks = [Cask("dear", "base", 200.0, 60.0, cost_per_lpa=4.0), Cask("cheap", "base", 200.0, 60.0, cost_per_lpa=3.0)]
    asked = Recipe({"base": Part(100.0)}, Target(300.0, 40.0, 300.0, 300.0), objective={"cost": 1.0})
    found = plan(asked, casks)
    assert refs(found) == ["cheap"]
    assert isclose(found.objective, 360.0)


def test_least_left_over_empties_casks():
    """300 l reduced are 200 poured: 120 and 80 empty both, while 200 of the 250 leave 50."""
    casks = [Cask("a", "base", 250.0, 60.0), Cask("b", "base", 120.0, 60.0), Cask("c", "base", 80.0, 60.0)]
    asked = Recipe({"base": Part(100.0)}, Target(300.0, 40.0, 300.0, 300.0), objective={"left_l": 1.0})
    found = plan(asked, casks)
    assert refs(found) == ["b", "c"]
    assert all(take.whole for take in found.takes)
    assert found.objective == found.bound == found.gap == 0.0


@pytest.mark.parametrize(
    ("limits", "why"),
    [
        (Limits(most_casks=3), "three of base hold what is needed, and rich needs another"),
        (Limits(most_part_casks=0), "whole casks give 600 + 100 = 700 l, or 14 % of rich, or 600 without it"),
        (Limits(least_strength_before=60.5), "all casks have 60"),
        (Limits(vat_l=880.0), "at least 890 l"),
        (Limits(least_age_days=5001), "base has 5000 days"),
        (Limits(least_age_years=14), "14 years are 5114 days, 14 x 365 + 4"),
        (Limits(least_left_l=85.0), "part casks give 45 l of rich; 56 are needed, 64 the most, a whole one is 100"),
    ],
)
def test_no_plan(limits, why):
    """Each of these limits alone leaves no plan, and dropping it brings the plan back."""
    asked = recipe(limits=limits)
    assert plan(asked, BASE + RICH) is None, why
    (name,) = (name for name in demands(asked) if name.startswith("limits."))
    assert isinstance(plan(asked, BASE + RICH, without={name}), Plan)


def test_the_house_limits_one_component_and_wants_two_of_each():
    """Base is 89.5 % at least; two casks of rich make five in all."""
    assert plan(recipe(house=House(no_component_above=85.0)), BASE + RICH) is None
    found = plan(recipe(house=House(casks_of_each=2)), BASE + RICH)
    assert found.objective == 5.0
    assert sorted(ref[0] for ref in refs(found)) == ["b", "b", "b", "r", "r"]


def test_a_component_need_not_be_taken():
    """Two casks of each that is taken at all: none of rich is asked here, so none is opened."""
    asked = Recipe({"base": Part(90.0), "rich": Part(10.0)}, Target(300.0, 40.0, 300.0), house=House(casks_of_each=2))
    assert plan(asked, BASE + RICH).objective == 2.0


def test_a_heel_counts_in_fractions_and_volume():
    """120 l of heel at 46, 7 % rich: its 55.2 l of pure alcohol are 138 l at 40 % vol, so 501.3 to 514.7 are poured."""
    heel = Heel(120.0, 46.0, {"rich": 7.0, "base": 93.0}, 6000)
    found = plan(recipe(heel=heel), BASE + RICH)
    poured = {kind: sum(take.volume_l for take in found.takes if take.ref[0] == kind) for kind in "br"}
    assert isclose(found.fractions["rich"], (poured["r"] + 8.4) / (sum(poured.values()) + 120.0), rel_tol=1e-12)
    assert isclose(found.volume_l, (sum(poured.values()) * 0.6 + 55.2) / 0.4, rel_tol=1e-12)
    assert 890.0 - 1e-6 <= found.volume_l <= 910.0 + 1e-6


@pytest.mark.parametrize("days", [None, 4000])
def test_a_heel_too_young_or_of_unknown_age_leaves_no_plan(days):
    """It all goes in, so no choice of casks can help."""
    asked = recipe(limits=Limits(least_age_days=4500), heel=Heel(50.0, 46.0, {"base": 100.0}, days))
    assert plan(asked, BASE + RICH) is None
    assert plan(asked, BASE + RICH, without={"limits.least_age_days"}) is not None


def test_losses_are_of_the_reduced_batch_and_add():
    """1 and 1.5 percent: 200 l at 60 are 300 reduced, and 292.5 after."""
    asked = Recipe({"base": Part(100.0)}, Target(290.0, 40.0, 292.5), losses={"filter": 1.0, "line": 1.5})
    found = plan(asked, BASE)
    assert refs(found) == ["b0"] or found.objective == 1.0
    assert isclose(found.volume_l, 292.5, rel_tol=1e-9)


def test_parts_by_alcohol():
    """Half the pure alcohol from 40 % vol and half from 60: 150 l and 100 l, 60 of 250 litres."""
    casks = [Cask("weak", "a", 150.0, 40.0), Cask("strong", "b", 100.0, 60.0)]
    parts = {"a": Part(50.0, 50.0, 50.0), "b": Part(50.0, 50.0, 50.0)}
    asked = Recipe(parts, Target(300.0, 40.0, 300.0), basis="alcohol")
    found = plan(asked, casks)
    assert found.fractions == {"a": pytest.approx(0.5, abs=1e-9), "b": pytest.approx(0.5, abs=1e-9)}
    assert plan(asked._replace(basis="volume"), casks) is None


def test_what_is_in_the_vat_already_counts():
    """Two casks of base are poured, 400 l; one more and some rich make the batch, and four casks in all."""
    poured = (InVat("base", 200.0, 60.0), InVat("base", 200.0, 60.0))
    asked = recipe(in_vat=poured, limits=Limits(most_casks=4))
    found = plan(asked, BASE[2:] + RICH)
    assert found.objective == 2.0
    assert 890.0 - 1e-6 <= found.volume_l <= 910.0 + 1e-6
    assert plan(asked._replace(limits=Limits(most_casks=3)), BASE[2:] + RICH) is None


def test_kept_takes_stay_and_other_plans_are_avoided():
    """A take that is kept is in the plan as it was; the next best plan differs in more than one cask."""
    first = plan(recipe(), BASE + RICH)
    rich = next(take for take in first.takes if take.ref[0] == "r")
    assert rich in plan(recipe(), BASE + RICH, kept=[rich]).takes
    second = plan(recipe(), BASE + RICH, unlike=[refs(first)])
    assert len(set(refs(first)) ^ set(refs(second))) >= 3


def noted(ref, peat, litres=100.0):
    return Cask(ref, "base", litres, 60.0, attributes={} if peat is None else {"peat": peat})


def test_the_mean_of_an_attribute_stays_in_its_band_where_there_are_notes():
    """200 l of 100 l casks at 2, 4 and 9: only 2 and 4 have a mean of 3; what has no notes does not count."""
    asked = Recipe({"base": Part(100.0)}, Target(300.0, 40.0, 300.0, 300.0), attributes={"peat": Band(None, 2.5, 3.5)})
    casks = [noted("two", 2.0), noted("four", 4.0), noted("nine", 9.0)]
    found = plan(asked._replace(limits=Limits(most_part_casks=0)), casks)
    assert refs(found) == ["two", "four"]
    assert plan(asked._replace(attributes={"peat": Band(None, 9.5)}), casks) is None
    assert plan(asked._replace(attributes={"peat": Band(None, 9.5)}), casks, without={"attributes.peat.low"})
    assert plan(asked._replace(attributes={"peat": Band(None, 9.0)}), [noted("nine", 9.0), noted("none", None)])


def test_least_distance_of_attributes():
    """200 l of whole casks, aim 5: 4 and 7 are 200 l x 0.5 off, over 300 l aimed at 0.333; 2 and 9 are as far."""
    asked = Recipe(
        {"base": Part(100.0)}, Target(300.0, 40.0, 300.0, 300.0), limits=Limits(most_part_casks=0),
        attributes={"peat": Band(5.0)}, objective={"distance": 3.0},
    )  # fmt: skip
    found = plan(asked, [noted("two", 2.0), noted("nine", 9.0), noted("four", 4.0), noted("five", 5.5)])
    assert refs(found) == ["four", "five"]  # 4.75: 200 x 0.25 / 300, times 3
    assert isclose(found.objective, 0.5)
    assert found.proved


def test_fewest_shifts():
    """Of two casks alike, the one that is reached without moving others."""
    asked = Recipe({"base": Part(100.0)}, Target(150.0, 40.0, 150.0), objective={"shifts": 1.0})
    found = plan(asked, [BASE[0]._replace(shifts=4.0), BASE[1]._replace(shifts=1.0)])
    assert (refs(found), found.objective) == (["b1"], 1.0)


def test_notes_of_what_is_in_the_vat_count():
    """100 l at 9 are in the vat; to a mean of 5, 100 l at 1."""
    poured = (InVat("base", 100.0, 60.0, attributes={"peat": 9.0}),)
    asked = Recipe(
        {"base": Part(100.0)}, Target(300.0, 40.0, 300.0, 300.0), attributes={"peat": Band(5.0, None, 5.0)},
        in_vat=poured, objective={"distance": 1.0},
    )  # fmt: skip
    found = plan(asked, [noted("one", 1.0), noted("four", 4.0)])
    assert refs(found) == ["one"]
    assert found.objective == pytest.approx(0.0, abs=1e-9)


def test_no_time_no_plan():
    """With no time at all, nothing is claimed."""
    found = plan(recipe(), BASE + RICH, seconds=0.0)
    assert isinstance(found, OutOfTime)
    assert found.bound == 0.0


def test_of_plans_as_good_the_nearest_to_what_is_aimed_at():
    """Two casks are the fewest whatever is taken of them; a tenth and 200 litres of 40 % vol can be had exactly.

    200 l of 40 % vol are 80 l of pure alcohol. All casks have 50 % vol, so 160 l are taken, 16 of them of the rich one.
    """
    recipe = Recipe({"rich": Part(10.0, 8.0, 12.0), "base": Part(90.0)}, Target(200.0, 40.0, 150.0, 250.0))
    found = plan(recipe, [Cask("1", "rich", 180.0, 50.0), Cask("2", "base", 190.0, 50.0)])
    assert isinstance(found, Plan)
    assert [(take.ref, round(take.volume_l, 3)) for take in found.takes] == [("1", 16.0), ("2", 144.0)]
    assert found.volume_l == pytest.approx(200.0)
    assert found.fractions["rich"] == pytest.approx(0.1)


def test_of_casks_as_few_those_that_come_nearest_to_what_is_aimed_at():
    """240 l of 50 % vol make the 300 l of 40 % vol that are aimed at; of whole casks, only 101 and 139 l are 240 l."""
    limits = Limits(most_part_casks=0)
    recipe = Recipe({"base": Part(100.0)}, Target(300.0, 40.0, 270.0, 330.0), limits)
    casks = [Cask(f"{litres}", "base", float(litres), 50.0) for litres in (90, 101, 113, 122, 129, 139, 147)]
    found = plan(recipe, casks)
    assert isinstance(found, Plan)
    assert [take.ref for take in found.takes] == ["101", "139"]
    assert found.proved


def test_where_aims_contradict_each_other_each_gives_way_by_its_tolerance():
    """The rich cask has to be emptied: 20 l of it are 10 % of 200 l, and the volume may not be 200 l then.

    Poured are 20 l and as much as is wanted of 50 % vol, which reduces to 1.25 times as much: a tenth would be 200 l
    poured and 250 l reduced, and 150 l reduced would be 120 l poured and a sixth of it the rich one.
    """
    limits = Limits(most_part_casks=1)
    recipe = Recipe({"rich": Part(10.0, 9.0, 20.0), "base": Part(90.0)}, Target(150.0, 40.0, 140.0, 300.0), limits)
    found = plan(recipe, [Cask("1", "rich", 20.0, 50.0), Cask("2", "base", 400.0, 50.0)])
    assert isinstance(found, Plan)
    assert found.takes[0].whole
    assert 150.0 < found.volume_l < 250.0
    assert 0.10 < found.fractions["rich"] < 20.0 / (150.0 / 1.25)


# -- of any house ---------------------------------------------------------------------------


@settings(max_examples=30)
@given(houses(least=8, most=24))
def test_a_search_in_parts_finds_what_one_search_finds(house):
    """However few casks are searched first: what prices leave out is in no better plan."""
    recipe, casks = recipe_of(house[0]), casks_of(house[1])
    at_once = plan(recipe, casks)
    with mock.patch.object(solving, "_FIRST", 2), mock.patch("pourbook.planning.narrowing._OF_EACH", 1):
        in_parts = plan(recipe, casks)
    assert (at_once is None) == (in_parts is None)
    if at_once:
        assert at_once.proved
        assert in_parts.proved
        assert in_parts.objective == pytest.approx(at_once.objective, rel=2e-6, abs=1e-6)


@settings(max_examples=30)
@given(houses(least=2, most=10), st.randoms(use_true_random=False))
def test_the_order_of_casks_does_not_matter_and_more_casks_never_worsen_a_plan(house, chance):
    """The objective of all casks is that of the same in another order, and not above that of some of them."""
    recipe, casks = recipe_of(house[0]), casks_of(house[1])
    found = plan(recipe, casks)
    other = plan(recipe, chance.sample(casks, len(casks)))
    assert (found is None) == (other is None)
    if found:
        assert found.objective == pytest.approx(other.objective, rel=2e-6, abs=1e-6)
    if fewer := plan(recipe, casks[1:]):
        assert found
        assert found.objective <= fewer.objective * (1 + 2e-6) + 1e-6


@settings(max_examples=30)
@given(houses(least=2, most=10))
def test_a_plan_keeps_its_own_demands_and_its_bound(house):
    """Every figure from the takes anew; the bound is not above the objective."""
    recipe, casks = recipe_of(house[0]), casks_of(house[1])
    if found := plan(recipe, casks):
        assert broken(recipe, casks, found.takes, blended(recipe, casks, found.takes)) == ()
        assert 0.0 <= found.bound <= found.objective


def test_whoever_waits_may_end_the_search(monkeypatch):
    """It is asked now and then, and answers with the best so far; a bound that was proved by then stays proved."""
    monkeypatch.setattr(solving, "_ASKED_EVERY_S", 0.0)  # a quick solver is done before it would be asked
    random = Random(3)
    casks = [
        Cask(str(number), random.choice(("rich", "base")), random.uniform(60, 220), random.uniform(52, 64),
             cost_per_lpa=random.uniform(5, 20))
        for number in range(1000)
    ]  # fmt: skip
    recipe = Recipe(
        {"rich": Part(7.0, 6.5, 7.5), "base": Part(93.0)}, Target(1500.0, 46.0, 1490.0, 1510.0),
        Limits(most_casks=15, least_left_l=30.0), objective={"casks": 1.0, "cost": 0.01, "left_l": 0.01},
    )  # fmt: skip
    told = []

    def enough(seconds, best, bound):
        told.append((seconds, best, bound))
        return best is not None

    found = plan(recipe, casks, seconds=30.0, progress=enough)
    assert isinstance(found, Plan)
    assert [best is not None for _, best, _ in told].count(True) == 1
    assert found.bound < found.objective
    assert found.seconds < 15
