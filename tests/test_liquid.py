"""A body of liquid: parts add to the whole, and nothing in it turns negative."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.liquid import EMPTY, MOST_MG, Liquid, share


@st.composite
def liquids(draw):
    """Any possible liquid, the smallest and the largest included."""
    mass = draw(st.integers(0, 20) | st.integers(0, MOST_MG - 1))
    solutes = draw(st.integers(0, mass))
    ethanol = draw(st.integers(0, solutes))
    return Liquid(mass, ethanol, solutes - ethanol)


@st.composite
def splits(draw):
    """A liquid and a mass to take from it."""
    liquid = draw(liquids())
    return liquid, draw(st.integers(0, liquid.mass_mg))


def possible(liquid):
    return all(isinstance(amount, int) and amount >= 0 for amount in (*liquid, liquid.water_mg))


@given(splits())
def test_parts_add_to_the_whole(case):
    """Every constituent, to the milligram."""
    liquid, mass = case
    part, rest = liquid.split(mass)
    assert part.mass_mg == mass
    assert part + rest == liquid


@given(splits())
def test_no_constituent_turns_negative(case):
    """Ethanol, extract and water on either side, however unlucky the rounding."""
    liquid, mass = case
    assert all(possible(part) for part in liquid.split(mass))


@given(splits())
def test_each_constituent_goes_in_proportion(case):
    """Ethanol within half a milligram of its share; extract, rounded with it, within one."""
    liquid, mass = case
    part, _ = liquid.split(mass)
    whole = max(liquid.mass_mg, 1)
    assert abs(2 * (part.ethanol_mg * whole - liquid.ethanol_mg * mass)) <= whole
    assert abs(part.extract_mg * whole - liquid.extract_mg * mass) <= whole


@given(liquids())
def test_taking_all_leaves_exactly_nothing(liquid):
    """m = M takes everything, m = 0 nothing; also of nothing."""
    assert liquid.split(liquid.mass_mg) == (liquid, EMPTY)
    assert (EMPTY if liquid == EMPTY else liquid.split(0)[0]) == EMPTY


@given(liquids(), st.lists(st.integers(0, 1000), max_size=60))
def test_many_small_splits_conserve(liquid, draws):
    """Sixty sips from one vessel: what left and what stays is what was there."""
    taken, held = EMPTY, liquid
    for draw in draws:
        part, held = held.split(min(draw, held.mass_mg))
        taken += part
        assert possible(part)
        assert possible(held)
    assert taken + held == liquid


def test_a_thousand_milligram_draws_empty_a_gram():
    """Drawn to the last milligram, no ethanol is lost or made: 400 mg and 7 mg came out."""
    held, taken = Liquid(1000, 400, 7), EMPTY
    for _ in range(1000):
        part, held = held.split(1)
        taken += part
    assert (taken, held) == (Liquid(1000, 400, 7), EMPTY)


@given(splits())
def test_scaled_down_is_what_a_split_takes(case):
    """The same composition at a smaller mass."""
    liquid, mass = case
    assert liquid.scaled(mass) == liquid.split(mass)[0]


@given(liquids().filter(lambda liquid: liquid.mass_mg > 0), st.integers(1, 1000))
def test_scaled_up_whole_times_is_exact(liquid, times):
    """Twice the mass, twice of everything."""
    assert liquid.scaled(liquid.mass_mg * times) == Liquid(*(amount * times for amount in liquid))


@given(liquids(), liquids(), liquids())
def test_adding_has_no_order_and_taking_away_undoes_it(a, b, c):
    """Whole numbers: sums are equal, not nearly equal."""
    assert (a + b) + c == a + (c + b)
    assert a + b - b == a


@pytest.mark.parametrize(
    ("amount", "part", "whole", "expected"),
    [(5, 1, 2, 3), (1, 1, 3, 0), (2, 1, 3, 1), (1, 1, 2, 1), (0, 7, 9, 0)],
)
def test_a_share_rounds_half_up(amount, part, whole, expected):
    """In whole numbers: (2am + M) // 2M."""
    assert share(amount, part, whole) == expected
