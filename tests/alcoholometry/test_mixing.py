"""Mixing: order-free, shrinking, and exact where a strength is to be reached."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.apparent import composition_of_liquid
from pourbook.alcoholometry.mixing import contraction_ml, mix, water_to_reach
from pourbook.alcoholometry.strength import mass_fraction_from_strength
from pourbook.alcoholometry.vatting import part_to_reach
from pourbook.alcoholometry.volumes import composition, liquid_of, liquid_of_volume, strength_20c, volume_ml
from pourbook.errors import OutOfRange
from pourbook.liquid import EMPTY, Liquid

amounts_ml = st.floats(100, 1e8)


@settings(deadline=None)
@given(amounts_ml, st.floats(5, 100), st.floats(0.05, 1), st.floats(0, 250))
def test_water_brings_the_liquid_to_the_strength(volume, percent_vol, part, extract_g_per_l):
    """From any strength and sweetness down to any strength, within 0.001 % vol."""
    percent_vol *= 1 - extract_g_per_l * 0.00062
    spirit = liquid_of_volume(volume, percent_vol, extract_g_per_l=extract_g_per_l)
    target = strength_20c(spirit) * part
    water = water_to_reach(spirit, target)
    assert water.ethanol_mg == water.extract_mg == 0
    # the water is whole milligrams: half of one shifts the strength by at most so much
    assert strength_20c(spirit + water) == pytest.approx(target, abs=max(1e-6, 0.1 / volume))


@settings(deadline=None)
@given(st.integers(1_000_000, 10**11), st.floats(10, 99), st.floats(1, 95))
def test_water_added_can_be_found_again(mass, percent_vol, added_percent):
    """Add water, read the strength of the mix, ask for the water: the same mass to 2 mg in a tonne."""
    spirit = liquid_of(mass, mass_fraction_from_strength(percent_vol))
    water = Liquid(int(mass * added_percent / 100), 0)
    found = water_to_reach(spirit, strength_20c(spirit + water))
    assert found.mass_mg == pytest.approx(water.mass_mg, abs=2 + 2e-9 * mass)


@settings(deadline=None, max_examples=60)
@given(amounts_ml, st.floats(0, 60), st.floats(0.05, 0.95), st.floats(0, 100))
def test_stronger_spirit_lifts_the_liquid_to_the_strength(volume, percent_vol, part, extract_g_per_l):
    """The least whole milligram that reaches it: one less does not."""
    weak = liquid_of_volume(volume, percent_vol, extract_g_per_l=extract_g_per_l)
    strong = liquid_of_volume(1e6, 96.0)
    target = strength_20c(weak) + part * (96.0 - strength_20c(weak))
    spirit = part_to_reach(weak, composition_of_liquid(strong), target)
    assert strength_20c(weak + spirit) >= target
    assert strength_20c(weak + strong.scaled(spirit.mass_mg - 1)) < target
    assert strength_20c(weak + spirit) == pytest.approx(target, abs=max(1e-6, 1 / volume))


def test_stronger_spirit_need_not_be_there_in_that_amount():
    """A vial of 96 % says how much of it a tank would take."""
    tank, vial = liquid_of_volume(1e6, 40.0), liquid_of_volume(10, 96.0)
    assert part_to_reach(tank, composition_of_liquid(vial), 50.0).mass_mg > vial.mass_mg


def test_at_the_strength_already_nothing_is_added():
    """Within half of the last digit that anyone shows, both directions answer nothing."""
    spirit = liquid_of_volume(1e6, 40.0)
    for target in (39.9999999, 40.0, 40.0004):
        assert part_to_reach(spirit, composition(96.0), target) == EMPTY
    for target in (40.0000001, 40.0004):
        assert water_to_reach(spirit, target) == EMPTY


@pytest.mark.parametrize(
    ("refused", "message"),
    [
        (
            lambda: water_to_reach(liquid_of_volume(1e6, 40.0), 43.0),
            "40.000 % vol is already weaker than 43 % vol",
        ),
        (lambda: water_to_reach(Liquid(100, 0), 40.0), "0.000 % vol is already weaker"),
        (lambda: water_to_reach(EMPTY, 40.0), "the amount is zero"),
        (lambda: water_to_reach(liquid_of_volume(1e6, 40.0), 0.0), "cannot be reduced to 0 % vol"),
        (lambda: water_to_reach(liquid_of_volume(1e6, 40.0), 1e-300), "cannot be reduced to 1e-300 % vol"),
        (lambda: water_to_reach(liquid_of_volume(1e6, 40.0), float("nan")), "cannot be reduced to nan % vol"),
        (
            lambda: part_to_reach(liquid_of_volume(1e6, 60.0), composition(96.0), 50.0),
            "60.00 % vol and 96.00 % vol cannot make 50 % vol",
        ),
        (
            lambda: part_to_reach(liquid_of_volume(1e6, 40.0), composition(50.0), 50.0),
            "40.00 % vol and 50.00 % vol cannot make 50 % vol",
        ),
        (lambda: part_to_reach(EMPTY, composition(96.0), 50.0), "the amount is zero"),
    ],
)
def test_what_cannot_be_reached_is_refused(refused, message):
    """The strength that is there is named."""
    with pytest.raises(OutOfRange, match=message) as refusal:
        refused()
    assert refusal.value.remedy


parts = st.lists(
    st.builds(
        lambda mass, fraction, extract: liquid_of(mass, fraction, extract * mass // 100),
        st.integers(0, 10**10),
        st.floats(0, 1),
        st.integers(0, 60),
    ),
    min_size=1,
    max_size=8,
)


@settings(deadline=None)
@given(parts, st.integers())
def test_mixing_has_no_order(several, seed):
    """Whole milligrams: shuffled and mixed in two steps, exactly the same."""
    shuffled = random.Random(seed).sample(several, len(several))
    assert mix(several) == mix(shuffled) == mix([mix(shuffled[:2]), mix(shuffled[2:])])


@settings(deadline=None)
@given(parts)
def test_the_strength_of_a_mix_lies_between_those_of_its_parts(several):
    """Never stronger than the strongest part; contraction can lift it above the mean."""
    strengths = [strength for part in several if (strength := strength_20c(part)) is not None]
    mixed = strength_20c(mix(several))
    assert (mixed is None) == (not strengths)
    if mixed is not None:
        assert mixed >= min(strengths) - 1e-9


def test_equal_volumes_of_ethanol_and_water_shrink():
    """50 mL and 50 mL make about 96.5 mL (descriptions of the experiment: 96 to 97, 96.26 in one)."""
    halves = [liquid_of_volume(50_000, 100.0), liquid_of_volume(50_000, 0.0)]
    assert 96.0 < volume_ml(mix(halves)) / 1000 < 97.0
    assert contraction_ml(halves) == pytest.approx(100_000 - volume_ml(mix(halves)), abs=0.01)


@settings(deadline=None)
@given(st.floats(1, 100), st.floats(10, 90))
def test_one_liquid_does_not_shrink_with_itself(percent_vol, part):
    """Parts of one spirit have the volume of the whole, to a milligram's worth."""
    whole = liquid_of_volume(1e6, percent_vol)
    assert contraction_ml(whole.split(int(whole.mass_mg * part / 100))) == pytest.approx(0.0, abs=0.003)
