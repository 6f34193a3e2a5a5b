"""Plans from a book: which casks qualify, what is aimed at, and that nothing breaks the house's rules.

Every figure of a plan is worked out here anew from the book's own queries. Common practice, no source: a rich component
is held at about 7 % of a blend, none is all of it, and a shift of ten parts in a hundred makes another drink.
"""

import pytest
from house import HOW, House, moment

from pourbook.actions.planning import plan_and_open
from pourbook.alcoholometry.mixing import mix, water_to_reach
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.batches.bottles_wanted import BottlesWanted, Filled
from pourbook.bench.trials import liquid_of_volume
from pourbook.book.entries import Component, RecipePart, Stage, Taste, Word
from pourbook.book.entries import House as Settings
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, OutOfRange, Refused, ToConfirm
from pourbook.planning.plan import Plan
from pourbook.planning.recipe import Band, Limits
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.casks.expected_content import expected_contents
from pourbook.queries.plans.asked import PlanAsked
from pourbook.queries.plans.candidates import Choice

NOW = "2026-12-01"
CASKS = {  # litres, % vol, filled, spirit, wood, cost
    "C1": ("200 l", "63", "2014-03-01", "malt", "oak", "6"),
    "C2": ("190 l", "61", "2015-03-01", "malt", "oak", "7"),
    "C3": ("180 l", "60", "2016-03-01", "malt", "oak", "5"),
    "C4": ("60 l", "62", "2016-03-01", "malt", "oak", "5"),
    "C5": ("50 l", "58", "2015-03-01", "malt", "chestnut", "9"),
    "C6": ("40 l", "59", "2018-03-01", "malt", "chestnut", "9"),
    "C7": ("150 l", "60", "2019-03-01", "rye", "oak", "8"),
}
RECIPE = (RecipePart("Base", "93"), RecipePart("Rich", "7 in 6.5..7.5"))


@pytest.fixture
def house():
    """Three casks of a base and two of a rich kind, all gauged this autumn; rules as a house has them."""
    with House(decimal_mark=".") as house:
        for name, (amount, strength, filled, spirit, wood, cost) in CASKS.items():
            house.open(name, wood=wood, place=f"Warehouse 1, row {name[1]}", ref=f"Row {name[1]}")
            house.cask(name, amount, strength, at=filled, spirit=spirit, wood_days="0", cost=cost)
            house.gauge(name, f"{float(amount.split()[0]) * 0.9:g} l", f"{float(strength) - 1:g}", at="2026-10-01")
        rules = Settings({"most_of_one": "95", "role.rich": "0..10"})
        kinds = Component("Base", "malt", "oak", min_age=8), Component("Rich", wood="chestnut", role="rich")
        house.record(rules, *kinds, at="2026-10-02")
        house.book.write_recipe(HOW, "Autumn", RECIPE)
        house.clock.us = max(house.clock.us, moment(NOW))
        yield house


def wanted(**asked):
    return PlanAsked(**{"final": read_amount("300 l"), "to_strength": read_strength("46"), **asked})


def planned(house, what="Autumn", **asked):
    found = house.book.plan(what, wanted(**asked), seconds=20)
    assert isinstance(found.found, Plan)
    return found


def left_out(house, **choice):
    found = house.book.candidates("Autumn", PlanAsked(choice=Choice(**choice)))
    return {house.name(one.cask): [(why.what, why.found) for why in one.why] for one in found.left_out}


# -- which casks qualify -----------------------------------------------------------------


def test_casks_qualify_by_their_kind(house):
    found = house.book.candidates("Autumn")
    assert {house.name(one.cask.ref): one.cask.component for one in found.found} == {
        "C1": "Base", "C2": "Base", "C3": "Base", "C4": "Base", "C5": "Rich", "C6": "Rich",
    }  # fmt: skip
    assert left_out(house) == {"C7": [("wood", "oak")]}  # chestnut alone it would need; a base needs malt, and age


def test_a_cask_offers_what_it_should_hold_today(house):
    """By its evaporation since the gauge, with the age and the cost that the trace says."""
    ids = list(map(house.id, CASKS))
    expected = expected_contents(house.book, ids)
    for one in house.book.candidates("Autumn").found:
        cask, trace = one.cask, house.book.trace_back(one.cask.ref)
        assert cask.volume_l == pytest.approx(volume_ml(expected[cask.ref].liquid) / 1000, abs=1e-9)
        assert cask.strength_vol == pytest.approx(strength_20c(expected[cask.ref].liquid), abs=1e-9)
        assert cask.volume_l < house.book.show(cask.ref).volume_ml_20c / 1000
        assert cask.wood_days == trace.age.youngest_us // 86_400_000_000
        assert cask.cost_per_lpa == float(CASKS[house.name(cask.ref)][5])


@pytest.mark.parametrize(
    ("choice", "cask", "why"),
    [
        ({"only": ("Row 1", "Row 5")}, "C2", "not-named"),
        ({"without": ("Row 2",)}, "C2", "not-named"),
        ({"place": "Warehouse 1, row 2"}, "C1", "place"),
        ({"wood": "oak"}, "C5", "wood"),
        ({"least_years": 11}, "C3", "young"),
        ({"most_years": 10}, "C2", "old"),
        ({"least_days": 4018}, "C3", "days"),
        ({"gauged_within_days": 30}, "C1", "old-gauge"),
    ],
)
def test_a_cask_is_left_out_with_its_reason(house, choice, cask, why):
    assert why in [what for what, _ in left_out(house, **choice)[cask]]


def test_a_hold_a_fault_and_a_pending_strength_leave_a_cask_out(house):
    """A hold always; the others unless a person overlooks them."""
    house.book.hold(HOW._replace(reason="leaks"), [house.id("C1")])
    house.record(Word("sulphur", off=True), at="2026-10-30")
    house.record(Taste(house.id("C2"), "Isla Farrow", off_notes=("sulphur",)), at="2026-11-01")
    house.open("C8", wood="oak")
    house.pour("origin", "C8", "100 l", "60", verb="fill", at="2016-01-01", spirit="malt", wood_days="0", pending=True)
    found = left_out(house, gauged_within_days=9000)
    assert [what for what, _ in found["C1"]] == ["held"]
    assert (found["C2"], found["C8"]) == ([("fault", "sulphur")], [("pending", "")])
    overlooked = frozenset(("fault", "pending", "old-gauge"))
    assert {"C2", "C8"}.isdisjoint(left_out(house, despite=overlooked))


def test_what_cannot_be_overlooked_is_refused(house):
    with pytest.raises(Malformed, match="'hold' cannot be overlooked"):
        left_out(house, despite=frozenset(("hold",)))


# -- what a plan comes to ----------------------------------------------------------------


def test_every_figure_follows_from_the_book(house):
    """Parts by volume as poured; strength, water and volume by the masses of what each cask should hold."""
    plan = planned(house, losses=read_amount("3 l"))
    expected = expected_contents(house.book, [one.candidate.cask.ref for one in plan.taken])
    bodies = [liquid_of_volume(one.volume_l * 1000, expected[one.candidate.cask.ref].liquid) for one in plan.taken]
    poured = sum(one.volume_l for one in plan.taken)
    for name in ("Base", "Rich"):
        part = sum(one.volume_l for one in plan.taken if one.candidate.cask.component == name) / poured
        assert plan.found.fractions[name] == pytest.approx(part, abs=1e-6)
    assert 0.065 - 1e-6 <= plan.found.fractions["Rich"] <= 0.075 + 1e-6
    whole = mix(bodies)
    water = water_to_reach(whole, 46.0)
    assert plan.found.strength_before == pytest.approx(strength_20c(whole), abs=0.001)
    assert plan.found.water_l == pytest.approx(volume_ml(water) / 1000, abs=0.01)
    assert plan.found.volume_l == pytest.approx(volume_ml(mix([whole, water])) / 1000 * 300 / 303, abs=0.01)
    assert 294 - 0.001 <= plan.found.volume_l <= 306 + 0.001
    for one in plan.taken:
        assert one.left_l == pytest.approx(one.candidate.cask.volume_l - one.volume_l, abs=1e-9)
    costs = [one.lpa * float(CASKS[house.name(one.candidate.cask.ref)][5]) for one in plan.taken]
    assert plan.will_be.cost == pytest.approx(sum(costs), rel=1e-9)
    assert (plan.found.proved, plan.found.objective) == (True, len(plan.taken))


def test_ages_are_those_of_the_trace(house):
    """The youngest, and the mean by pure alcohol."""
    plan = planned(house)
    traces = [house.book.trace_back(one.candidate.cask.ref) for one in plan.taken]
    assert plan.will_be.youngest.wood_us == min(trace.age.youngest_us for trace in traces)
    mean = sum(trace.age.mean_us * one.lpa for trace, one in zip(traces, plan.taken, strict=True))
    assert plan.will_be.mean_days == pytest.approx(mean / sum(one.lpa for one in plan.taken) / 86_400e6, rel=1e-9)


def test_bottles_are_never_fewer_than_wanted(house):
    bottles = BottlesWanted((Filled(300, read_amount("700 ml")),), read_amount("6 l"))
    plan = planned(house, final=None, bottles=bottles)
    assert 210 - 0.001 <= plan.found.volume_l <= 210 * 1.02 + 0.001
    assert plan.recipe.recipe.losses == {"bottling": pytest.approx(100 * 6 / 216)}


def test_what_is_asked_narrows_the_plan(house):
    least_left = planned(house, limits=Limits(least_left_l=30.0))
    assert all(one.whole or one.left_l >= 30 - 0.001 for one in least_left.taken)
    cheapest = planned(house, objective={"cost": 1.0})
    assert cheapest.will_be.cost == pytest.approx(cheapest.found.objective)
    assert cheapest.will_be.cost <= least_left.will_be.cost
    assert house.book.plan("Autumn", wanted(limits=Limits(most_casks=1)), seconds=20).found is None


def test_a_batch_needs_one_volume_and_a_strength(house):
    for asked, said in (({"final": None}, "one volume"), ({"to_strength": None}, "a strength")):
        with pytest.raises(Malformed, match=said):
            house.book.plan("Autumn", wanted(**asked))


# -- the house's rules -------------------------------------------------------------------


def test_no_plan_breaks_the_rules_of_the_house(house):
    """The role's 10 % binds a recipe that would allow 20; the recipe's own bounds stay where they are narrower."""
    house.book.write_recipe(HOW, "Wide", (RecipePart("Base", "92"), RecipePart("Rich", "8 in 1..20")))
    (base, rich) = house.book.plan("Wide", wanted(), seconds=20).recipe.aims.parts
    assert (rich.part.low, rich.part.high, rich.tolerance) == (pytest.approx(1), pytest.approx(10), "recipe")
    assert (base.part.low, base.part.high, base.tolerance) == (pytest.approx(90), pytest.approx(94), "usual")
    dearest = planned(house, "Wide", objective={"cost": 1.0}).found.fractions
    assert dearest["Rich"] <= 0.1 + 1e-6


@pytest.mark.parametrize(
    ("parts", "said"),
    [
        ((RecipePart("Base", "100"),), "Base is 100.00 % of the blend, and the house takes at most 95 % of one"),
        ((RecipePart("Base", "83"), RecipePart("Rich", "17")), "role 'rich' is 17.00 % of the blend"),
    ],
)
def test_a_recipe_that_breaks_the_rules_is_not_planned(house, parts, said):
    """Nothing at 100 %, and ten parts more of the rich kind: a person may write such a recipe, and none is planned."""
    with pytest.raises(ToConfirm, match=said):
        house.book.write_recipe(HOW, "Broken", parts)
    house.book.write_recipe(HOW._replace(confirm=True), "Broken", parts)
    with pytest.raises(Refused, match=said):
        house.book.plan("Broken", wanted())


def test_a_tolerance_of_ten_parts_makes_another_drink(house):
    with pytest.raises(OutOfRange, match="makes another drink"):
        house.book.plan("Autumn", wanted(tolerance=10))


# -- after a trial, and after a batch ----------------------------------------------------


@pytest.fixture
def trial(house):
    """A trial of vials, each taken for itself."""
    for vial, cask in (("V1", "C1"), ("V2", "C5")):
        house.draw(cask, vial, "300 ml", at="2026-10-03")
    parts = RecipePart(house.id("V1"), "92"), RecipePart(house.id("V2"), "8", "rich")
    composed = house.book.compose_trial(HOW, read_amount("100 ml"), "Glass", parts)
    house.ids["T1"] = composed.id
    house.pour("V1", "T1", "92 ml", at="2026-10-04")
    house.pour("V2", "T1", "8 ml", at="2026-10-04")
    return composed.id


def test_vials_of_a_trial_are_casks_like_those_behind_them(house, trial):
    """Of the same spirit and wood, and of an age within three years of theirs: C3 is two years younger than C1."""
    plan = planned(house, trial)
    kinds = {one.name: (one.wanted.kind.min_age, one.wanted.kind.max_age) for one in plan.recipe.aims.parts}
    assert kinds == {"malt · oak": (9, 15), "malt · chestnut": (8, 14)}
    found = {house.name(one.cask.ref) for one in plan.candidates.found}
    assert found == {"C1", "C2", "C3", "C4", "C5", "C6"}
    assert plan.found.fractions["malt · chestnut"] == pytest.approx(0.08, abs=0.008 + 1e-6)


def test_a_plan_that_is_recorded_opens_the_batch_and_pours_nothing(house):
    opened = plan_and_open(house.book, HOW, "Autumn", wanted(), {"ref": "Vatting 9"}, seconds=20)
    batch = house.book.show("Vatting 9")
    assert (batch.holding.mass_mg, batch.facts["plan"]) == (0, hyphened(batch.id))
    parts = {part.component: part for part in house.book.recipe_card(hyphened(batch.id)).recipe.parts}
    for one in opened.planned.taken:
        part = parts[one.candidate.cask.ref]
        # Rounded up to the hundredth of a litre, so that there is enough.
        assert -0.0002 <= float(part.parts) - one.volume_l <= 0.0101
        assert part.stands_for == one.candidate.cask.component
    assert house.book.recipe_of_batch("Vatting 9") == opened.planned.recipe
    assert house.book.verify().faults == ()


def test_what_was_poured_is_in_the_vat_of_a_new_plan(house):
    opened = plan_and_open(house.book, HOW, "Autumn", wanted(), {"ref": "Vatting 9"}, seconds=20)
    first = opened.planned.taken[0]
    house.ids["B9"] = opened.opened.batch
    house.pour(house.name(first.candidate.cask.ref), "B9", "40 l")
    (poured,) = house.book.recipe_of_batch("Vatting 9").recipe.in_vat
    assert (poured.component, poured.whole) == (first.candidate.cask.component, False)
    assert poured.volume_l == pytest.approx(40, abs=0.001)
    assert poured.strength_vol == pytest.approx(house.book.show(first.candidate.cask.ref).strength_20c, abs=0.001)


def test_a_batch_is_planned_again_as_it_was_poured(house):
    """As much as it was, as strong, from casks of the same kinds."""
    opened = plan_and_open(house.book, HOW, "Autumn", wanted(final=read_amount("100 l")), seconds=20)
    house.ids["B9"] = opened.opened.batch
    for one in opened.planned.taken:
        house.pour(house.name(one.candidate.cask.ref), "B9", f"{one.volume_l:.3f} l")
    house.water("B9", f"{opened.planned.found.water_l:.3f} l")
    again = house.book.plan("B-000001-Y", PlanAsked(), seconds=20)
    assert isinstance(again.found, Plan)
    assert [(one.name, one.tolerance) for one in again.recipe.aims.parts] == [("Base", "usual"), ("Rich", "recipe")]
    assert again.recipe.recipe.target.volume_l == pytest.approx(opened.planned.found.volume_l, abs=0.5)
    assert again.recipe.recipe.target.strength_vol == 46


# -- how it is to taste ------------------------------------------------------------------


def tasted(house, item, smoke):
    """A note on an item, in this autumn."""
    house.record(Taste(house.id(item), "Isla Farrow", stages={"nose": Stage("", {"smoke": smoke})}), at="2026-11-01")


def test_bands_of_notes_bind_the_casks_that_have_them(house):
    """Of two base casks of smoke 1 and 4, a mean of 2 to 2.2 is by hand a third and two thirds, or nearly."""
    tasted(house, "C1", "1")
    tasted(house, "C2", "4")
    only = Choice(only=("Row 1", "Row 2", "Row 5"))
    found = planned(house, attributes={"smoke": Band(low=2.0, high=2.2)}, choice=only)
    taken = {house.name(one.candidate.cask.ref): one.volume_l for one in found.taken}
    mean = (taken["C1"] + 4 * taken["C2"]) / (taken["C1"] + taken["C2"])
    assert 2.0 - 1e-4 <= mean <= 2.2 + 1e-4
    assert found.will_be.attributes["smoke"] == pytest.approx(mean)


def test_the_least_distance_is_from_what_notes_say_of_the_trial(house, trial):
    """The trial tasted of smoke 3; casks of 1, 3 and 4 lie there, and that of 3 alone is enough for the base."""
    for cask, smoke in (("C1", "1"), ("C2", "3"), ("C3", "4")):
        tasted(house, cask, smoke)
    tasted(house, house.name(trial), "3")
    found = planned(house, trial, final=read_amount("150 l"), objective={"distance": 1.0, "casks": 0.01})
    assert {house.name(one.candidate.cask.ref) for one in found.taken} & {"C1", "C2", "C3"} == {"C2"}
    assert found.recipe.recipe.attributes == {"smoke": Band(aim=3.0)}


def test_a_distance_from_nothing_is_refused(house):
    with pytest.raises(Refused, match="no note says how Autumn tastes"):
        house.book.plan("Autumn", wanted(objective={"distance": 1.0}))


# -- heels, lots, and parts of the pure alcohol ------------------------------------------


def vatting(house, **litres):
    """A batch of so many litres of each cask, poured in this autumn."""
    house.open("B7", ref="Vatting 7")
    for cask, amount in litres.items():
        house.pour(cask, "B7", f"{amount} l", at="2026-10-05")


def test_a_heel_counts_as_what_its_casks_brought(house):
    """90 l of base and 10 of rich in the heel: a fifth of it brings 18 and 2 to what is poured, and its age counts."""
    vatting(house, C3=90, C6=10)
    plan = planned(house, heel=("Vatting 7", read_amount("20 l")))
    assert plan.recipe.recipe.heel.parts == {"Base": pytest.approx(90), "Rich": pytest.approx(10)}
    heel = house.book.trace_back("Vatting 7")
    assert plan.recipe.recipe.heel.strength_vol == pytest.approx(heel.held_strength)
    assert plan.recipe.recipe.heel.wood_days == heel.age.youngest_us // 86_400_000_000
    poured = sum(one.volume_l for one in plan.taken)
    rich = sum(one.volume_l for one in plan.taken if one.candidate.cask.component == "Rich")
    assert plan.found.fractions["Rich"] == pytest.approx((rich + 2) / (poured + 20), abs=1e-6)
    traces = [house.book.trace_back(one.candidate.cask.ref) for one in plan.taken]
    assert plan.will_be.youngest.wood_us == min(one.age.youngest_us for one in (*traces, heel))
    opened = plan_and_open(house.book, HOW, "Autumn", plan.asked, {"ref": "Vatting 9"}, seconds=20)
    parts = house.book.recipe_card(hyphened(opened.opened.batch)).recipe.parts
    assert [part.parts for part in parts if part.component == house.id("B7")] == ["20"]


def test_a_heel_of_something_else_leaves_its_part_to_no_component(house):
    """Half of the heel is rye, of which the recipe has none."""
    vatting(house, C1=10, C7=10)
    plan = planned(house, heel=("Vatting 7", read_amount("2 l")))
    assert plan.recipe.recipe.heel.parts == {"Base": pytest.approx(50), "Rich": 0.0}
    poured = sum(one.volume_l for one in plan.taken)
    assert sum(plan.found.fractions.values()) == pytest.approx(1 - 1 / (poured + 2), abs=1e-6)
    assert house.book.plan("Autumn", wanted(heel=("Vatting 7", None)), seconds=20).found is None  # too much of the rye


@pytest.mark.parametrize(("amount", "said"), [("200 l", "holds .* of the 200.00 l wanted"), ("1 l", "is empty")])
def test_a_heel_that_is_not_there_is_refused(house, amount, said):
    vatting(house, C1=10)
    if amount == "1 l":
        house.pour("B7", "loss", None, disposition="accident", confirmed=True)
    with pytest.raises(Refused, match=said):
        house.book.plan("Autumn", wanted(heel=("Vatting 7", read_amount(amount))))


def test_parts_of_pure_alcohol_are_kept_in_it(house):
    house.book.write_recipe(HOW, "By alcohol", (RecipePart("Base", "93"), RecipePart("Rich", "7")), by="pure-alcohol")
    plan = planned(house, "By alcohol")
    lpa = sum(one.lpa for one in plan.taken)
    rich = sum(one.lpa for one in plan.taken if one.candidate.cask.component == "Rich")
    assert plan.recipe.aims.basis == "alcohol"
    assert plan.found.fractions["Rich"] == pytest.approx(rich / lpa, abs=1e-6)
    assert 0.063 - 1e-6 <= rich / lpa <= 0.077 + 1e-6
    vatting(house, C1=10)
    with pytest.raises(Refused, match="not known of a heel"):
        house.book.plan("By alcohol", wanted(heel=("Vatting 7", None)))


def test_a_lot_is_planned_as_its_batch(house):
    vatting(house, C1=93, C5=7)
    house.pour("B7", "L1", "35 l", verb="bottle", bottles=50)
    found = house.book.plan("L-000001-C", wanted(final=read_amount("60 l")), seconds=20)
    assert found.recipe.aims.follows == house.id("B7")
    assert [one.name for one in found.recipe.aims.parts] == ["malt · oak", "malt · chestnut"]


# -- the same again ----------------------------------------------------------------------


def test_a_plan_stands_beside_earlier_batches_in_every_measure(house):
    """Two batches of the recipe, one of another: figures by the trace of each."""
    for ref in ("Vatting 8", "Vatting 9"):
        opened = plan_and_open(house.book, HOW, "Autumn", wanted(final=read_amount("60 l")), {"ref": ref}, seconds=20)
        house.ids[f"B{ref[-1]}"] = opened.opened.batch
        for one in opened.planned.taken:
            house.pour(house.name(one.candidate.cask.ref), f"B{ref[-1]}", f"{one.volume_l:.3f} l")
    vatting(house, C1=5)
    tasted(house, "B9", "3")
    tasted(house, "C1", "2")
    plan = planned(house, final=read_amount("60 l"))
    found = house.book.repeats(plan)
    assert [house.name(one.batch) for one in found.earlier] == ["B9", "B8"]
    for one in found.earlier:
        trace = house.book.trace_back(one.batch)
        assert one.strength_before == one.strength == pytest.approx(trace.held_strength)  # no water went in
        assert one.youngest == trace.age.youngest
        assert one.mean_days == pytest.approx(trace.age.mean_us / 86_400e6)
        assert one.cost_per_lpa == pytest.approx(trace.cost_per_litre / trace.held_strength * 100)
        assert one.casks == {other.item.id for other in trace.items if other.item.kind == "cask"}
        apart = abs(found.plan.fractions["Rich"] - one.fractions["Rich"])
        assert found.plan.shifted(one) == pytest.approx(apart)  # of two components, one gains what the other loses
    assert found.earlier[0].attributes == {"smoke": 3.0}
    lpa = sum(one.lpa for one in plan.taken)
    assert found.plan.cost_per_lpa == pytest.approx(plan.will_be.cost / lpa)


def test_what_was_never_made_has_nothing_beside_it(house):
    assert house.book.repeats(planned(house)) is None
