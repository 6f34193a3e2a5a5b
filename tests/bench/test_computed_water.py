"""Water that is computed for a trial: total and strength are met, the other parts keep their proportions."""

from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.mixing import mix, water_to_reach
from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c, volume_ml
from pourbook.bench.bounds import Bounds
from pourbook.bench.trials import WATER, laid_out, planned
from pourbook.errors import NotThere, OutOfRange

WATER_KG_M3 = 998.20
"""Density of water at 20 °C: OIML R 22, the constant A1 of the general formula."""

samples = st.lists(
    st.tuples(st.integers(1, 99), st.floats(45, 90), st.floats(0, 30)).map(
        lambda read: (str(read[0]), liquid_of_volume(1000.0, read[1], extract_g_per_l=read[2]))
    ),
    min_size=1,
    max_size=6,
)


def recipe(made):
    """Parts as typed, and what each component holds."""
    names = [f"V{number:06d}" for number in range(len(made))]
    return [(name, part) for name, (part, _) in zip(names, made, strict=True)], {
        name: liquid for name, (_, liquid) in zip(names, made, strict=True)
    }


@settings(deadline=None)
@given(samples, st.floats(50, 400), st.floats(0.2, 0.99))
def test_total_and_strength_are_met_and_nothing_is_lost(made, total_ml, part):
    """Volumes add to the total, the mix has the strength, its alcohol is the parts', and they keep proportion."""
    parts, holds = recipe(made)
    undiluted = laid_out(parts, total_ml, holds)
    to_percent = part * strength_20c(mix(pour.liquid for pour in undiluted))
    pours = laid_out(parts, total_ml, holds, to_percent=to_percent)
    whole = mix(pour.liquid for pour in pours)
    assert sum(pour.volume_ml for pour in pours) == pytest.approx(total_ml, rel=1e-12)
    assert sum(pour.fraction for pour in pours) == 1
    # Every pour is rounded to the milligram: half of one, of up to seven in 50 ml, is 0.007 %.
    assert strength_20c(whole) == pytest.approx(to_percent, abs=0.008)
    assert whole.ethanol_mg == sum(pour.liquid.ethanol_mg for pour in pours if pour.component != WATER)
    beside = sum(pour.fraction for pour in pours[:-1])
    for pour, before in zip(pours[:-1], undiluted, strict=True):
        assert float(pour.fraction / beside) == pytest.approx(float(before.fraction), rel=1e-12)


@settings(deadline=None)
@given(samples, st.floats(0.2, 0.99), st.randoms())
def test_the_order_of_the_parts_is_all_one(made, part, chance):
    """The same water, whatever is written first."""
    parts, holds = recipe(made)
    to_percent = part * strength_20c(mix(pour.liquid for pour in laid_out(parts, 100.0, holds)))
    shuffled = chance.sample(parts, len(parts))
    first, second = (laid_out(one, 100.0, holds, to_percent=to_percent) for one in (parts, shuffled))
    assert {pour.component: pour.volume_ml for pour in first} == pytest.approx(
        {pour.component: pour.volume_ml for pour in second}, abs=0.01
    )


@settings(deadline=None)
@given(samples, st.floats(0.2, 0.99))
def test_it_is_the_water_of_the_reduction(made, part):
    """Mixed first and reduced then, as a vat is: the same strength takes the same water."""
    parts, holds = recipe(made)
    to_percent = part * strength_20c(mix(pour.liquid for pour in laid_out(parts, 100.0, holds)))
    *others, water = laid_out(parts, 100.0, holds, to_percent=to_percent)
    assume(water.component == WATER)
    expected = water_to_reach(mix(pour.liquid for pour in others), to_percent)
    assert water.volume_ml == pytest.approx(volume_ml(expected), abs=0.02)  # rounding of up to six pours to 1 mg


def test_water_by_a_table():
    """60 % vol to 40: a litre takes 1.5 x 948.05 - 909.11 g of water, so of 1513.9 ml poured 513.9 are water.

    Densities 909.11 and 948.05 kg/m3: alcoholimetric table at 20 °C, second-hand, two decimals.
    """
    pours = planned([("V000001R", "1")], 100.0, {"V000001R": liquid_of_volume(200.0, 60.0)}, to_percent=40.0)
    water_per_litre_ml = (1.5 * 948.05 - 909.11) / WATER_KG_M3 * 1000
    assert [pour.component for pour in pours] == ["V000001R", WATER]
    assert pours[1].volume_ml == pytest.approx(100 * water_per_litre_ml / (1000 + water_per_litre_ml), abs=0.002)


def test_bounds_are_of_what_is_poured_beside_the_water():
    """Reducing moves no part out of its bounds: 20 to 30 of a hundred parts of the spirit."""
    holds = {"V000001R": liquid_of_volume(200.0, 60.0), "V000002P": liquid_of_volume(200.0, 60.0)}
    bounds = {"V000002P": Bounds(Fraction(1, 5), Fraction(3, 10))}
    first, second, water = laid_out([("V000001R", "75"), ("V000002P", "25")], 100.0, holds, ".", bounds, 40.0)
    beside_ml = first.volume_ml + second.volume_ml
    assert (first.bounds_ml, water.bounds_ml) == (None, None)
    assert second.bounds_ml == pytest.approx((0.2 * beside_ml, 0.3 * beside_ml))


def test_a_blend_that_is_weak_already_gets_none():
    """Weaker is refused; of that strength, nothing is added."""
    holds = {"V000001R": liquid_of_volume(200.0, 40.0)}
    with pytest.raises(OutOfRange, match="already weaker than 46"):
        planned([("V000001R", "1")], 100.0, holds, to_percent=46.0)
    assert [pour.component for pour in planned([("V000001R", "1")], 100.0, holds, to_percent=40.0)] == ["V000001R"]


def test_of_an_empty_glass_no_water_is_computed():
    """Nothing would be the strength of it."""
    with pytest.raises(NotThere, match="V-000001-R: empty"):
        planned([("V000001R", "1")], 100.0, {"V000001R": liquid_of_volume(200.0, 60.0).scaled(0)}, to_percent=46.0)
