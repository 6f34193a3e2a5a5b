"""Reducing: the plan, and the gauge after it."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.reduction import equal_steps, fitting, reduced
from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c, volume_ml
from pourbook.errors import OutOfRange

amounts_ml = st.floats(1e4, 1e8)


@settings(deadline=None)
@given(amounts_ml, st.floats(20, 80), st.floats(0.1, 0.99), st.integers(1, 8), st.floats(0, 60))
def test_after_the_stated_water_the_gauge_is_the_target(volume, percent, part, steps, extract):
    """In any number of steps, with extract: to 0.001 % vol, and the extract is all there."""
    cask = liquid_of_volume(volume, percent, extract_g_per_l=extract)
    target = part * strength_20c(cask)
    made = reduced(cask, equal_steps(strength_20c(cask), target, steps))
    after = mix([cask, *(step.water for step in made)])
    assert after == made[-1].after
    assert strength_20c(after) == pytest.approx(target, abs=0.001)
    assert after.ethanol_mg == cask.ethanol_mg
    assert after.extract_mg == cask.extract_mg


@settings(deadline=None)
@given(amounts_ml, st.floats(20, 80), st.floats(0.1, 0.99), st.integers(2, 8))
def test_steps_take_the_water_of_one_step(volume, percent, part, steps):
    """Split as one likes, the water is the same to a milligram a step."""
    cask = liquid_of_volume(volume, percent)
    target = part * strength_20c(cask)
    stepwise = reduced(cask, equal_steps(strength_20c(cask), target, steps))
    (at_once,) = reduced(cask, [target])
    assert sum(step.water.mass_mg for step in stepwise) == pytest.approx(at_once.water.mass_mg, abs=steps + 1)


def test_each_step_begins_where_the_last_ended():
    """A chain, falling by equal strengths."""
    cask = liquid_of_volume(200_000, 63.5)
    made = reduced(cask, equal_steps(63.5, 46.0, 5))
    assert [step.before for step in made] == [cask, *(step.after for step in made[:-1])]
    falls = [strength_20c(step.before) - strength_20c(step.after) for step in made]
    assert falls == pytest.approx([3.5] * 5, abs=1e-4)


@settings(deadline=None)
@given(amounts_ml, st.floats(30, 80), st.floats(0.1, 0.9), st.floats(1.001, 2.0), st.floats(5, 30))
def test_a_vat_does_not_overflow(volume, percent, part, room, temperature_c):
    """What may stay fills the vat to the brim and not beyond; where there is room, all stays."""
    cask = liquid_of_volume(volume, percent, temperature_c)
    vat_ml = room * volume
    stays = fitting(cask, part * percent, vat_ml, temperature_c)
    (step,) = reduced(stays, [part * percent])
    final_ml = volume_ml(step.after, temperature_c)
    assert final_ml <= vat_ml + 0.05  # a drop: half a milligram of ethanol in thin spirit
    if stays != cask:
        assert final_ml >= vat_ml - 0.05


def test_a_vat_smaller_than_what_lies_in_it_is_asked_back():
    """1,000 litres in a vat of 300: perhaps gallons."""
    with pytest.raises(OutOfRange, match="does not fit a vat") as refusal:
        fitting(liquid_of_volume(1e6, 60.0), 46.0, 3e5)
    assert "gallons?" in refusal.value.remedy


@pytest.mark.parametrize("targets", [[50.0, 55.0], [65.0]])
def test_water_does_not_lift(targets):
    """A target above what is there is refused, in the middle of a plan too."""
    with pytest.raises(OutOfRange, match="already weaker"):
        reduced(liquid_of_volume(1e5, 60.0), targets)


def test_no_steps_are_no_plan():
    """At least one."""
    with pytest.raises(OutOfRange):
        equal_steps(60.0, 46.0, 0)


def test_a_reduction_by_hand():
    """1,000 l of 60 % vol become 1,500 l of 40 %: what they gain is water.

    Densities 909.11 and 948.05 kg/m3: alcoholimetric table at 20 °C, second-hand, two decimals.
    """
    (step,) = reduced(liquid_of_volume(1e6, 60.0), [40.0])
    assert step.water.mass_mg / 1e6 == pytest.approx(1.5 * 948.05 - 909.11, abs=2.5 * 0.005)
    assert volume_ml(step.after) / 1000 == pytest.approx(1500.0, abs=1e-4)
