"""Vatting: the whole has the strength and the total that were asked."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import liquid_of_mass
from pourbook.alcoholometry.mixing import mix, water_to_reach
from pourbook.alcoholometry.vatting import Part, part_to_reach, vatted
from pourbook.alcoholometry.volumes import composition, strength_20c, volume_ml
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import Liquid

WATER = composition(0.0)


@settings(deadline=None)
@given(
    st.floats(0, 50), st.floats(55, 95), st.floats(0.02, 0.98), st.floats(1e4, 1e8), st.floats(0, 60), st.floats(5, 30)
)
def test_two_spirits_make_strength_and_total(weak, strong, part, total_ml, extract, temperature_c):
    """From water or spirit, sweetened or not, at any temperature: to 0.001 % vol and a drop."""
    parts = [Part(composition(weak, extract)), Part(composition(strong))]
    target = weak + part * (strong - weak)
    whole = mix(vatted(parts, target, total_ml, temperature_c))
    assert strength_20c(whole) == pytest.approx(target, abs=0.001)
    assert volume_ml(whole, temperature_c) == pytest.approx(total_ml, abs=0.05)


@settings(deadline=None)
@given(st.floats(45, 70), st.floats(35, 80), st.floats(0.5, 0.95), st.floats(0.3, 0.9))
def test_beside_a_fixed_part_two_more_are_found(fixed, other, thin, share):
    """A cask that must go in, another spirit and water."""
    cask = liquid_of_mass(200_000_000, composition(fixed))
    target = thin * min(fixed, other)
    total_ml = volume_ml(cask) * fixed / target / share
    liquids = vatted([Part(WATER), Part(composition(fixed), cask), Part(composition(other))], target, total_ml)
    assert liquids[1] == cask
    assert strength_20c(mix(liquids)) == pytest.approx(target, abs=0.001)
    assert volume_ml(mix(liquids)) == pytest.approx(total_ml, abs=0.05)


@settings(deadline=None)
@given(st.integers(10**6, 10**11), st.floats(20, 80), st.floats(0.1, 0.95))
def test_water_as_a_part_is_the_water_of_a_reduction(mass, percent, part):
    """Two ways to ask one question: the same to a few milligrams in a tonne."""
    spirit = liquid_of_mass(mass, composition(percent))
    target = part * strength_20c(spirit)
    water = part_to_reach(spirit, WATER, target)
    assert water.mass_mg == pytest.approx(water_to_reach(spirit, target).mass_mg, abs=2 + 2e-9 * mass / part**2)


@settings(deadline=None)
@given(
    st.lists(st.tuples(st.floats(0, 95), st.floats(0, 80), st.integers(1, 10**10)), min_size=2, max_size=6),
    st.integers(),
)
def test_vatting_has_no_order(spirits, seed):
    """Whole milligrams: in any order, in one vat or by way of two, the same whole to the milligram."""
    parts = []
    for percent, extract, mass in spirits:
        made_of = composition(percent * (1 - extract * 0.00062), extract)
        parts.append(Part(made_of, liquid_of_mass(mass, made_of)))
    shuffled = random.Random(seed).sample(parts, len(parts))
    together = mix(vatted(parts))
    assert together == mix(vatted(shuffled))
    assert together == mix(vatted(shuffled[:1])) + mix(vatted(shuffled[1:]))


def test_the_order_of_the_answer_is_that_of_the_question():
    """Stronger first or last, each part gets its own amount."""
    strong, weak = Part(composition(61.2)), Part(composition(45.0))
    assert vatted([strong, weak], 50.0, 5e5) == vatted([weak, strong], 50.0, 5e5)[::-1]


def test_strength_by_the_cross_of_the_trade():
    """61.2 and 45 to 50: 5 parts to 11.2 by volume where nothing contracts (rule of the cross, common
    practice, no source); contraction shifts it by less than 1 % of a part."""
    strong, weak = (
        volume_ml(liquid) for liquid in vatted([Part(composition(61.2)), Part(composition(45.0))], 50.0, 5e5)
    )
    assert strong / weak == pytest.approx(5 / 11.2, rel=0.02)


@pytest.mark.parametrize(
    ("parts", "target", "total", "refusal", "says"),
    [
        ([61.2, 45.0], 70.0, 5e5, OutOfRange, "cannot make 500.00 l of 70 % vol"),
        ([61.2, 45.0], 40.0, 5e5, OutOfRange, "cannot make 500.00 l of 40 % vol"),
        ([0.0, 0.0], 40.0, 5e5, OutOfRange, "cannot make"),
        ([61.2, 45.0], 50.0, None, Malformed, "two parts have no amount"),
        ([61.2, 45.0], None, 5e5, Malformed, "two parts have no amount"),
        ([61.2, 45.0, 40.0], 50.0, 5e5, Malformed, "3 parts have no amount"),
        ([61.2], 50.0, None, OutOfRange, "the amount is zero"),
        ([], None, 5e5, Malformed, "every part has its amount"),
    ],
)
def test_what_cannot_be_answered_is_refused(parts, target, total, refusal, says):
    """Too little said, too much asked, or a strength beyond the parts."""
    with pytest.raises(refusal, match=says) as told:
        vatted([Part(composition(percent)) for percent in parts], target, total)
    assert told.value.remedy


def test_one_open_part_has_no_total():
    """With one part open the total follows from the strength."""
    cask = Part(composition(60.0), Liquid(10**8, 5 * 10**7))
    with pytest.raises(Malformed, match="one part has no amount"):
        vatted([cask, Part(WATER)], 46.0, 5e5)


def test_a_fixed_part_that_is_too_much_is_named():
    """200 kg of spirit do not fit into 100 litres."""
    cask = Part(composition(60.0), liquid_of_mass(200_000_000, composition(60.0)))
    with pytest.raises(OutOfRange, match="cannot make") as told:
        vatted([cask, Part(WATER), Part(composition(70.0))], 46.0, 1e5)
    assert "too much" in told.value.remedy
