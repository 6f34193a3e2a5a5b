"""Portions of a trial: worked by hand, what correlation changes, how large a trial must be."""

from math import hypot, inf, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pourbook.errors import Malformed, OutOfRange
from pourbook.uncertainty.instrument_errors import instrument_errors
from pourbook.uncertainty.portions import Comparison, fraction_difference, least_portion_ml, least_trial_ml, portions
from pourbook.uncertainty.wording import read_instrument

PIPETTE = read_instrument("graduated pipette A 10 ml", "volume")
CYLINDER = read_instrument("cylinder A 100 ml", "volume")


def test_seven_and_eight_per_cent_by_hand():
    """100 mL, 10 mL class A pipette (ISO 835: ± 0.05 mL), read to 0.1 mL at start and end.

    Each time 0.1/√6 = 0.0408 mL, shared 0.05/√3 = 0.0289 mL; a millilitre more of the component is
    93/100² = 0.0093 of the first trial, 0.0092 of the second. By one pipette 0.0408 x
    √(0.0093² + 0.0092²) = 0.000534 and of the shared part only 0.0289 x 0.0001; by two pipettes
    √(0.0408² + 0.0289²) x 0.01308 = 0.000654.
    """
    told = fraction_difference(Comparison(0.07, 0.08, PIPETTE), 100.0)
    assert told.difference.value == pytest.approx(0.01)
    assert told.difference.standard == pytest.approx(0.000534, rel=0.002)
    apart = fraction_difference(Comparison(0.07, 0.08, PIPETTE, two_pipettes=True), 100.0)
    assert apart.difference.standard == pytest.approx(0.000654, rel=0.002)
    assert told.exceeds(2.0)
    assert apart.exceeds(2.0)


def test_what_ignoring_the_shared_error_gets_wrong():
    """An old pipette of ± 1 mL pours 7 and 8 mL: which of the two is which is known well all the same.

    As if by two pipettes the difference would be 1.3 times its uncertainty and so no difference at
    all; by the one that poured both it is over twenty times.
    """
    old = instrument_errors("old pipette", limit=1.0, division=0.1)
    assert fraction_difference(Comparison(0.07, 0.08, old), 100.0).times > 20
    assert fraction_difference(Comparison(0.07, 0.08, old, two_pipettes=True), 100.0).times == pytest.approx(
        1.32, abs=0.01
    )


def test_the_rest_counts_too():
    """8 % of 100 mL err with the rest by 0.08 x 0.92 of its relative error: shown by a coarse cylinder."""
    exact = instrument_errors("exact")
    rest = instrument_errors("jug", spread=9.2)  # a tenth of 92 mL
    told = fraction_difference(Comparison(0.08, 0.08, exact, rest), 100.0)
    assert told.second.standard == pytest.approx(0.08 * 0.92 * 0.1, rel=1e-6)
    assert (told.times, told.exceeds()) == (0.0, False)


def test_without_any_error_all_can_be_told():
    """An exact instrument makes the smallest difference infinitely many times its uncertainty."""
    assert fraction_difference(Comparison(0.07, 0.0701, instrument_errors("exact")), 100.0).times == inf


def test_a_second_filling_brings_the_shared_error_back():
    """9 mL is one filling of 10 mL, 11 mL is two: one pipette's error then stands in the difference."""
    pipette = instrument_errors("pipette", limit=0.05, holds=10.0)
    one_each = fraction_difference(Comparison(0.07, 0.09, pipette), 100.0)
    one_and_two = fraction_difference(Comparison(0.09, 0.11, pipette), 100.0)
    assert one_and_two.difference.standard > 20 * one_each.difference.standard
    assert one_and_two.difference.standard == pytest.approx(0.05 / sqrt(3) * (2 * 0.89 - 0.91) / 100, rel=1e-6)


# -- how large -------------------------------------------------------------------------------------


def test_the_least_trial_by_hand():
    """By two exact-scale pipettes of ± 0.1 mL: step x V ≥ 2 u with u = 0.1/√3 x √(0.93² + 0.92²) = 0.0755.

    V ≥ 2 x 0.0755 / 0.01 = 15.1, so 16 mL.
    """
    pipette = instrument_errors("pipette", limit=0.1)
    assert 2 * 0.1 / sqrt(3) * hypot(0.93, 0.92) / 0.01 == pytest.approx(15.1, abs=0.01)
    assert least_trial_ml(Comparison(0.07, 0.08, pipette, two_pipettes=True)) == 16


def test_the_least_honest_portion_by_hand():
    """Of ± 0.1 mL, read to 0.1: u = √(0.1²/3 + 0.1²/12) = 0.0645; 2 u is a tenth of 1.29, so 1.3 mL in tenths."""
    pipette = instrument_errors("pipette", limit=0.1, division=0.1, holds=10.0)
    assert 2 * hypot(0.1 / sqrt(3), 0.1 / sqrt(12)) / 0.1 == pytest.approx(1.29, abs=0.005)
    assert least_portion_ml(pipette, 0.1) == 1.3
    assert least_portion_ml(pipette, 0.5) == 1.5
    assert least_portion_ml(pipette, 0.1, within=0.01) is None  # 12.9 mL are more than it holds


@given(st.floats(0.001, 0.2), st.floats(0.0, 0.05), st.floats(0.0, 0.04), st.sampled_from([0.05, 0.1, 0.5]))
def test_it_is_honest_and_a_step_less_is_not(limit, division, part, step):
    """Whatever the instrument errs by."""
    by = instrument_errors("pipette", limit=limit, limit_part=part, division=division)
    least = least_portion_ml(by, step)
    assert least is not None

    def unsure(volume):
        return 2 * by.reading(volume, "portion").standard / volume

    assert unsure(least) <= 0.1 + 1e-6
    assert least <= step * 1.001 or unsure(least - step) > 0.1 - 1e-6


@pytest.mark.parametrize("text", ["pipette A 10 ml", "limit 12 %"])
def test_some_instruments_measure_no_portion_honestly(text):
    """One mark measures whole fillings only; where the error grows with the portion, none is large enough."""
    assert least_portion_ml(read_instrument(text, "volume"), 0.1) is None


@given(st.floats(0.02, 0.4), st.floats(0.005, 0.1), st.sampled_from([1.0, 2.0, 5.0]))
def test_the_least_trial_is_enough_and_a_smaller_one_is_not(first, step, factor):
    """Just enough: with a millilitre less the two cannot be told apart."""
    found = least_trial_ml(Comparison(first, first + step, PIPETTE, CYLINDER, coverage_factor=factor))
    assert fraction_difference(Comparison(first, first + step, PIPETTE, CYLINDER), found).exceeds(factor)
    assume(found > 1)
    assert not fraction_difference(Comparison(first, first + step, PIPETTE, CYLINDER), found - 1).exceeds(factor)


@given(st.floats(0.02, 0.3), st.floats(0.005, 0.1))
def test_more_is_asked_of_a_larger_trial(first, step):
    """A larger factor never needs a smaller trial, nor does a coarser pipette."""
    coarse = PIPETTE._replace(rounding=2 * PIPETTE.rounding, spread=2 * PIPETTE.spread)
    found = least_trial_ml(Comparison(first, first + step, PIPETTE))
    assert least_trial_ml(Comparison(first, first + step, PIPETTE, coverage_factor=3.0)) >= found
    assert least_trial_ml(Comparison(first, first + step, coarse)) >= found


def test_no_trial_is_large_enough():
    """A small pipette filled ever more often carries its error along; that is said, not searched for ever."""
    small = instrument_errors("small pipette", limit=0.1, holds=1.0)
    with pytest.raises(OutOfRange, match="no trial up to 10 l"):
        least_trial_ml(Comparison(0.07, 0.071, small, two_pipettes=True))


def test_a_one_mark_pipette_needs_whole_fillings():
    """7 and 8 % in whole fillings of 10 mL: not before a litre."""
    assert least_trial_ml(Comparison(0.07, 0.08, read_instrument("pipette A 10 ml", "volume"))) == 1000


@pytest.mark.parametrize(("first", "second"), [(0.07, 0.07), (0.0, 0.1), (0.5, 1.0)])
def test_fractions_that_cannot_be_told_apart_are_refused(first, second):
    """The same twice, nothing, or all of it."""
    with pytest.raises(OutOfRange):
        least_trial_ml(Comparison(first, second, PIPETTE))


# -- a planned trial -------------------------------------------------------------------------------


def test_portions_by_hand():
    """70 mL and 30 mL by one cylinder (± 0.5 mL shared, no scatter): 0.289 mL each, in the same direction.

    The first fraction errs by (0.3 - 0.7) x 0.289 / 100, as both volumes move together.
    """
    cylinder = instrument_errors("cylinder", limit=0.5)
    found = portions({"base": 70.0, "accent": 30.0}, {"base": cylinder, "accent": cylinder})
    assert found["base"].volume_ml.standard == pytest.approx(0.5 / sqrt(3))
    assert found["base"].fraction.standard == pytest.approx(0.4 * 0.5 / sqrt(3) / 100)
    assert found["accent"].fraction.relative == pytest.approx(0.4 * 0.5 / sqrt(3) / 100 / 0.3)


@given(st.lists(st.floats(1.0, 60.0), min_size=2, max_size=5))
def test_fractions_add_up_to_one_whatever_was_poured(volumes):
    """Their errors cancel in the sum, down to the last bits."""
    named = {f"part {number}": volume for number, volume in enumerate(volumes)}
    found = portions(named, dict.fromkeys(named, CYLINDER) | {"part 0": PIPETTE})
    whole = sum(part.fraction for part in found.values())
    assert whole.value == pytest.approx(1.0)
    assert whole.standard < 1e-12


@given(st.floats(1.0, 30.0), st.floats(1.05, 3.0))
def test_a_larger_trial_is_relatively_surer(accent, times):
    """As long as each portion is one filling."""
    by = {"base": CYLINDER, "accent": CYLINDER}
    small = portions({"base": 33.0, "accent": accent}, by)
    large = portions({"base": 33.0 * times, "accent": accent * times}, by)
    assert all(large[name].volume_ml.relative < small[name].volume_ml.relative for name in by)
    assert all(large[name].fraction.relative < small[name].fraction.relative for name in by)


def test_what_is_missing_is_named():
    """A component without an instrument, and a portion of nothing."""
    with pytest.raises(Malformed, match="accent"):
        portions({"base": 70.0, "accent": 30.0}, {"base": CYLINDER})
    with pytest.raises(OutOfRange):
        portions({"base": 0.0}, {"base": CYLINDER})
