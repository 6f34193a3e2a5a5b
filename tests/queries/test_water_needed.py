"""A trial of a strength while it is poured: whatever really goes in, the water that is asked for reaches it."""

import pytest
from house import House
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook import Recipe, RecipePart
from pourbook.bench.beside_plan import rests
from pourbook.liquid import EMPTY
from pourbook.quantities import read_amount
from pourbook.queries.trials.targets import targets

TO = 46.0


def a_trial(*poured):
    """Three samples of 63, 58 and 50 % vol and a trial of 60, 30 and 10 parts of them, 100 ml at 46 % vol."""
    house = House()
    parts = []
    for name, strength, part in (("V1", "63", "60"), ("V2", "58", "30 "), ("V3", "50", "10")):
        house.fill(name, "900 ml", strength)
        parts.append(RecipePart(house.id(name), part.strip()))
    house.record(Recipe("Ash", tuple(parts)))
    house.open("T1", at=house.clock.us, follows="Ash", total="100 ml", target_strength=f"{TO:g} % vol")
    for source, ml in poured:
        house.pour(source, "T1", f"{ml:.2f} ml")
    return house


def beside(house):
    """Targets of the trial by the short names of their components."""
    return {house.name(one.component): one for one in targets(house.book, house.id("T1"))}


def strength(house):
    return house.book.show(house.id("T1")).strength_20c


amounts = st.floats(0.5, 90)
glasses = st.permutations(["V1", "V2", "V3"])


@settings(deadline=None, max_examples=40)
@given(glasses, st.lists(amounts, min_size=3, max_size=3), st.floats(0, 5))
def test_the_water_asked_for_reaches_the_strength(order, ml, early):
    """However much of each was poured, in any order, with some water first: the glass ends at the strength."""
    house = a_trial(*([("water", early)] if early > 0.01 else []), *zip(order, ml, strict=True))
    found = beside(house)
    # What is still to go of the others is counted on, so it is poured as well.
    for name in order:
        if found[name].to_go_ml:
            house.pour(name, "T1", f"{found[name].to_go_ml:.4f} ml")
    water = beside(house)["water"]
    assert water.needed_ml == pytest.approx(found["water"].needed_ml, abs=0.02), "and that was known before"
    more = water.needed_ml - water.poured_ml
    if more > 0.01:
        house.water("T1", f"{more:.4f} ml")
        assert strength(house) == pytest.approx(TO, abs=0.01)  # a milligram in five grams is 0.01 % vol


@settings(deadline=None, max_examples=25)
@given(glasses, st.lists(amounts, min_size=3, max_size=3))
def test_the_order_of_pouring_is_all_one(order, ml):
    """The same glasses in another order need the same water."""
    poured = list(zip(order, ml, strict=True))
    first, second = (beside(a_trial(*one))["water"].needed_ml for one in (poured, sorted(poured)))
    assert first == pytest.approx(second, abs=0.01)


def test_before_the_first_pour_it_is_the_plan():
    """Nothing poured, nothing other than planned."""
    water = beside(a_trial())["water"]
    assert water.needed_ml == pytest.approx(water.planned_ml, abs=0.01)


def test_what_is_spilled_of_the_glass_needs_no_water():
    """Half of it gone: half of the water, for what is left; the parts count as poured."""
    house = a_trial(("V1", 60), ("V2", 30), ("V3", 10))
    needed = beside(house)["water"].needed_ml
    house.lose("T1", read_amount(f"{house.book.show(house.id('T1')).volume_ml_20c / 2:.3f} ml"), disposition="spill")
    assert beside(house)["water"].needed_ml == pytest.approx(needed / 2, abs=0.02)


def test_too_much_water_is_put_right_by_the_rest():
    """Ten millilitres too much: more of all three, in proportion, and then the strength is that of the trial."""
    house = a_trial(("V1", 42.8), ("V2", 21.4), ("V3", 7.13))
    water = beside(house)["water"]
    house.water("T1", f"{water.needed_ml + 10:.2f} ml")
    found = beside(house)
    assert found["water"].over_ml == pytest.approx(10, abs=0.02)
    assert found["water"].to_go_ml == 0
    (more,) = (rest.to_go_ml for rest in rests(tuple(found.values()), EMPTY) if rest.keeps == "proportions")
    for component, ml in more.items():
        if ml:
            house.pour(house.name(component), "T1", f"{ml:.3f} ml")
    assert strength(house) == pytest.approx(TO, abs=0.02)
