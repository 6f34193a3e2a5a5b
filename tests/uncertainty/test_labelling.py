"""May it be labelled so: against the law's own numbers, the normal distribution, and sense."""

from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import OutOfRange
from pourbook.uncertainty.labelling import RULES, label_check
from pourbook.uncertainty.propagation import Uncertain


def gauge(value, spread=0.0):
    return Uncertain(value, {"hydrometer": spread} if spread else {})


@pytest.mark.parametrize(
    ("rule", "label", "least", "most"),
    [
        ("eu", 46.0, 45.7, 46.3),  # Reg. (EU) 1169/2011 Annex XII: ± 0.3 % vol (annex read)
        ("us", 40.0, 39.7, 40.3),  # 27 CFR 19.356(c): "39.7 to 40.3" for a label of 40 (section read)
        ("eu-fruit", 20.0, 18.5, 21.5),  # Reg. (EU) 1169/2011 Annex XII: ± 1.5 % vol (annex read)
    ],
)
def test_an_exact_gauge_is_within_up_to_the_end_of_the_tolerance(rule, label, least, most):
    """Both ends belong to it, a hundredth beyond does not."""
    for value in (least, label, most):
        assert label_check(gauge(value), label, RULES[rule].tolerance).verdict == "within"
    for value in (least - 0.01, most + 0.01):
        assert label_check(gauge(value), label, RULES[rule].tolerance).verdict == "not within"


def test_rules_say_at_which_temperature():
    """EU at 20 °C (annex XII), US at 60 °F (27 CFR 5.65(c))."""
    assert {name: rule.at_60f for name, rule in RULES.items()} == {"eu": False, "eu-fruit": False, "us": True}


@given(st.floats(44.5, 47.5), st.floats(0.01, 1.0))
def test_the_probability_is_that_of_the_normal_distribution(value, spread):
    """As the standard library computes it."""
    truth = NormalDist(value, spread)
    expected = truth.cdf(46.3) - truth.cdf(45.7)
    assert label_check(gauge(value, spread), 46.0, 0.3).probability == pytest.approx(expected, abs=1e-9)


def test_the_motor_oil_of_the_guide():
    """JCGM 106:2012, 7.4, example (read): 12.5 to 16.3 allowed, 13.6 measured with u = 1.8, so p = 0.66."""
    found = label_check(gauge(13.6, 1.8), (12.5 + 16.3) / 2, (16.3 - 12.5) / 2)
    assert found.probability == pytest.approx(0.66, abs=0.005)


def test_a_small_uncertainty_has_the_guard_band_of_the_textbook():
    """Far from the other end, 95 % needs 1.645 standard uncertainties (one-sided normal)."""
    check = label_check(gauge(46.0, 0.02), 46.0, 0.3)
    assert check.guard_band == pytest.approx(NormalDist().inv_cdf(0.95) * 0.02, rel=1e-6)


@given(st.floats(45.5, 46.5), st.floats(0.001, 0.2), st.sampled_from([0.9, 0.95, 0.99]))
def test_within_means_inside_the_guard_band(value, spread, confidence):
    """Verdict and guard band never contradict each other."""
    check = label_check(gauge(value, spread), 46.0, 0.3, confidence)
    inside = 0.0 if check.guard_band is None else 0.3 - check.guard_band - abs(value - 46.0)
    if check.guard_band is None or inside < -1e-9:
        assert check.verdict != "within"
    elif inside > 1e-9:
        assert check.verdict == "within"


def test_a_hydrometer_that_cannot_tell():
    """With 0.2 % vol of uncertainty even a gauge of just the label has only 87 %: 2 Φ(1.5) - 1 = 0.866."""
    check = label_check(gauge(46.0, 0.2), 46.0, 0.3)
    assert (check.verdict, check.guard_band) == ("cannot be told", None)
    assert check.probability == pytest.approx(0.866, abs=0.001)


def test_the_same_gauge_by_a_finer_instrument():
    """46.2 % vol: by a hydrometer of ± 0.1 it cannot be told, by a meter of ± 0.02 it is within."""
    assert label_check(gauge(46.2, 0.065), 46.0, 0.3).verdict == "cannot be told"
    assert label_check(gauge(46.2, 0.012), 46.0, 0.3).verdict == "within"


@given(st.floats(0.01, 0.1), st.floats(0.001, 0.05))
def test_a_less_sure_gauge_needs_a_wider_guard_band(spread, more):
    """And never makes a gauge inside the tolerance more probable."""
    sure, unsure = (label_check(gauge(46.1, value), 46.0, 0.3) for value in (spread, spread + more))
    assert unsure.guard_band > sure.guard_band
    assert unsure.probability <= sure.probability


@pytest.mark.parametrize(("label", "tolerance", "confidence"), [(46.0, 0.0, 0.95), (46.0, 0.3, 1.0), (146.0, 0.3, 0.9)])
def test_questions_that_are_none(label, tolerance, confidence):
    """No tolerance, certainty asked for, a label no spirit has."""
    with pytest.raises(OutOfRange):
        label_check(gauge(46.0, 0.1), label, tolerance, confidence)
