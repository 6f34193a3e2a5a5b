"""What a model says of blends, against what follows by hand."""

import numpy as np
import pytest
from tasted import YARN, glasses

from pourbook.mixtures.effects import effects, middle, moved, predicted, trace
from pourbook.mixtures.models import fit
from pourbook.mixtures.neighbourhood import neighbourhood

YARNS = fit(YARN, "quadratic")
THIRDS = np.full(3, 1 / 3)


def test_more_of_one_keeps_the_others_in_proportion():
    """Cox's direction: what is left is shared as before, and nothing beyond the whole."""
    blend = np.array([0.6, 0.3, 0.1])
    there = moved(blend, 2, 0.08)
    assert there.sum() == pytest.approx(1)
    assert there[2] == pytest.approx(0.18)
    assert there[0] / there[1] == pytest.approx(2)
    assert moved(blend, 2, 0.91) is None
    assert moved(blend, 2, -0.11) is None
    assert moved(np.array([1.0, 0.0]), 0, -0.1) is None  # nothing to share what is left


def test_an_effect_is_a_difference_of_two_blends():
    """By the coefficients of the yarn (11.7, 9.4, 16.4, 19, 11.4, -9.6), worked out by hand."""
    here = (11.7 + 9.4 + 16.4) / 3 + (19 + 11.4 - 9.6) / 9
    a, b = 1 / 3 + 0.1, 1 / 3 - 0.05
    there = 11.7 * a + (9.4 + 16.4) * b + (19 + 11.4) * a * b - 9.6 * b * b
    first, ten = effects(YARNS, THIRDS)[:2]
    assert (first.component, first.parts, ten.parts) == ("x1", 1.0, 10.0)
    assert ten.change.value == pytest.approx(there - here)
    assert predicted(YARNS, THIRDS).mean.value == pytest.approx(here)


def test_an_effect_is_surer_than_both_blends():
    """What two blends share cannot blur their difference."""
    error = effects(YARNS, THIRDS)[0].change.standard_error
    assert 0 < error < predicted(YARNS, THIRDS).mean.standard_error / 10


def test_what_was_never_tasted_is_said():
    """Of a region where the last component has at most 12 parts."""
    tasted = glasses("ab", [[95, 5], [90, 10], [88, 12], [92, 8]], [1, 2, 3, 2])
    found = fit(tasted, "linear")
    at = middle(found)
    beyond = {(one.component, one.parts): one.is_beyond for one in effects(found, at)}
    assert beyond == {("a", 1.0): False, ("b", 1.0): False, ("b", 10.0): True}
    assert predicted(found, np.array([0.5, 0.5])).beyond == ("a", "b")
    assert predicted(found, np.array([0.9, 0.1])).beyond == ()


def test_a_trace_runs_over_what_was_tasted():
    """From nothing to all of it, through the corners of the yarn."""
    found = trace(YARNS, THIRDS, "x1", points=11)
    assert (found.fractions[0], found.fractions[-1]) == (0.0, 1.0)
    assert found.means[-1].value == pytest.approx(11.7)
    assert found.means[0].value == pytest.approx((9.4 + 16.4) / 2 - 9.6 / 4)


def test_the_middle_counts_each_blend_once():
    """Repeats of a glass do not draw it towards them."""
    assert middle(YARNS) == pytest.approx(THIRDS)


# -- the neighbourhood -------------------------------------------------------------------------


def _bench(slope, noise=0.5, seed=5):
    """A bench of two components with a known slope, thirty glasses."""
    fractions = np.linspace(0, 0.3, 30)
    response = slope * fractions + np.random.default_rng(seed).normal(0, noise, 30)
    return fit(glasses("ab", np.column_stack([1 - fractions, fractions]), response), "linear")


def test_how_far_a_part_may_drift_by_hand():
    """Linear in two components: a difference of d' is reached after d' times the noise over the slope."""
    found = _bench(slope=20.0)
    at = np.array([0.85, 0.15])
    far = 1.2 * found.sd / (found.coefficients[1] - found.coefficients[0])
    _, drift = neighbourhood([found], at, 1.2)
    assert (drift.component, drift.fraction) == ("b", 0.15)
    assert (drift.likely.low, drift.likely.high) == pytest.approx((0.15 - far, 0.15 + far))
    assert drift.likely.low_known
    assert drift.likely.high_known


def test_a_cautious_neighbourhood_is_narrower():
    """By the far end of the interval of each effect, whichever way it goes."""
    for drift in neighbourhood([YARNS], np.array([0.4, 0.3, 0.3]), 1.0):
        assert drift.likely.low <= drift.cautious.low <= drift.fraction <= drift.cautious.high <= drift.likely.high


def test_what_is_never_noticed_ends_where_tasting_ended():
    """A component that changes nothing may drift as far as it was tasted, and that is said."""
    _, drift = neighbourhood([_bench(slope=0.01, noise=2.0)], np.array([0.85, 0.15]), 3.0)
    assert (drift.likely.low, drift.likely.high) == pytest.approx((0.0, 0.3))
    assert (drift.likely.low_known, drift.likely.high_known) == (False, False)


def test_two_attributes_are_noticed_sooner_than_one():
    """Each moves by as much: together by the root of two."""
    found, at = _bench(slope=20.0), np.array([0.85, 0.15])
    one, two = (neighbourhood([found] * count, at, 1.0)[1].likely for count in (1, 2))
    assert 0.15 - two.low == pytest.approx((0.15 - one.low) / np.sqrt(2), rel=1e-6)


def test_a_more_certain_panel_allows_less():
    """Twice the d' that is noticed, twice the drift."""
    at = np.array([0.85, 0.15])
    small, large = (neighbourhood([_bench(slope=20.0)], at, d_prime)[1].likely for d_prime in (0.5, 1.0))
    assert large.high - 0.15 == pytest.approx(2 * (small.high - 0.15))


def test_cautious_limits_are_rarely_too_wide():
    """Of 200 benches with a known truth, no more than 2.5 % and chance allow more drift than goes unnoticed in truth.

    Slope and noise are both estimated; the estimates alone are too wide half of the time.
    """
    slope, noise, benches = 20.0, 0.5, 200
    truth, too_wide = 1.0 * noise / slope, np.zeros(2)
    for seed in range(benches):
        _, drift = neighbourhood([_bench(slope, noise, seed)], np.array([0.85, 0.15]), 1.0)
        too_wide += [drift.cautious.high - 0.15 > truth, drift.likely.high - 0.15 > truth]
    assert too_wide[0] <= 0.05 * benches
    assert 0.35 * benches < too_wide[1] < 0.65 * benches
