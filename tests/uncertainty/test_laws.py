"""The law of a sum of errors: against hand-worked areas, the examples of JCGM 101, and draws at random.

The numbers of JCGM 101:2008, 9.2, are as others quote them, not checked against the standard; ± 3.88 is worked by hand.
"""

import random
from math import sqrt
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.uncertainty.instrument_errors import instrument_errors
from pourbook.uncertainty.labelling import label_check
from pourbook.uncertainty.laws import below, inside
from pourbook.uncertainty.propagation import Uncertain

FOUR = [sqrt(3.0)] * 4
"""Four rectangular errors of standard deviation 1, the additive model of JCGM 101:2008, 9.2.3."""


def test_four_equal_rectangular_errors():
    """JCGM 101:2008, 9.2.3: 95 % lie within ± 3.88, where the normal law says ± 3.92.

    By hand: beyond x, a tail of (4a - x)^4 / (24 x 16 a^4) is 2.5 %, so x = a (4 - 9.6^(1/4)), with a = √3.
    """
    end = sqrt(3.0) * (4.0 - 9.6**0.25)
    assert end == pytest.approx(3.88, abs=0.005)
    assert below(end, FOUR, 0.0) - below(-end, FOUR, 0.0) == pytest.approx(0.95, abs=1e-12)


def test_one_rectangular_error_that_dominates():
    """JCGM 101:2008, 9.2.4: three of standard deviation 1 and one of 10: ± 17.0; the normal law says ± 19.9."""
    widths = [sqrt(3.0)] * 3 + [10.0 * sqrt(3.0)]
    assert below(16.95, widths, 0.0) - below(-16.95, widths, 0.0) < 0.95 < 2.0 * below(17.05, widths, 0.0) - 1.0


@pytest.mark.parametrize(
    ("x", "widths", "area"),
    [
        (0.1, [0.3], 4 / 6),
        (-0.3, [0.3], 0.0),
        (0.3, [0.3], 1.0),
        (0.1, [0.1, 0.1], 1 - 0.5 * 0.5**2),  # a triangle: a quarter of its foot has an eighth of its area
        (0.05, [0.1, 0.05], 0.75),  # a trapezium: flat from -0.05 to 0.05, and as wide again
        (0.0, [0.2, 0.05, 0.01], 0.5),
    ],
)
def test_areas_by_hand(x, widths, area):
    """Rectangle, triangle, trapezium: geometry."""
    assert below(x, widths, 0.0) == pytest.approx(area, abs=1e-12)


@given(st.floats(-3, 3))
def test_without_rectangles_it_is_the_normal_law(x):
    """As the standard library has it."""
    assert below(x, [], 1.0) == pytest.approx(NormalDist().cdf(x), abs=1e-12)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.floats(0.02, 1.0), min_size=1, max_size=5), st.sampled_from([0.0, 0.01, 0.3, 2.0]), st.floats(-2, 2))
def test_as_drawn_at_random(widths, normal, x):
    """As JCGM 101:2008 propagates laws, by random draws from a fixed seed, to four of their standard deviations."""
    drawn = random.Random(101)
    draws = 4_000
    count = sum(
        sum(drawn.uniform(-half, half) for half in widths) + drawn.gauss(0.0, normal) <= x for _ in range(draws)
    )
    expected = below(x, widths, normal)
    assert count / draws == pytest.approx(expected, abs=4.0 * sqrt(0.25 / draws))


@given(st.lists(st.floats(0.001, 1.0), min_size=1, max_size=12), st.floats(0.0, 0.5), st.floats(-2, 2), st.floats(0, 1))
@settings(max_examples=60, deadline=None)
def test_it_rises_from_nought_to_one(shares, normal, x, more):
    """However many errors, and of whatever size."""
    error = Uncertain(
        0.0,
        {str(number): share for number, share in enumerate(shares)} | {"normal": normal},
        {str(number): 1 for number in range(len(shares))},
    )
    narrow, wide = inside(error, -9.0, x), inside(error, -9.0, x + more)
    assert 0.0 <= narrow <= wide + 1e-7 <= 1.0 + 1e-7
    assert inside(error, -99.0, 99.0) == pytest.approx(1.0, abs=1e-7)


def test_one_rectangular_error_on_a_label():
    """A limit of ± 0.2 and a gauge 0.2 high: the truth lies from 46.0 to 46.4, three quarters of it below 46.3.

    The normal law of the same standard deviation says 81 %.
    """
    gauge = instrument_errors("meter", limit=0.2).reading(46.2, "gauge")
    assert label_check(gauge, 46.0, 0.3).probability == pytest.approx(0.75, abs=1e-9)
    certain = instrument_errors("meter", limit=0.1).reading(46.2, "gauge")
    check = label_check(certain, 46.0, 0.3)
    assert (check.verdict, check.probability) == ("within", pytest.approx(1.0))


def test_a_scale_read_twice_has_a_triangular_error():
    """From mark to mark: two roundings to 0.1 are a triangle of ± 0.1."""
    twice = instrument_errors("burette", division=0.1, readings=2).reading(5.0, "pour")
    assert inside(twice, 4.95, 5.05) == pytest.approx(0.75)


@given(st.floats(45.4, 46.6), st.floats(0.005, 0.4), st.floats(0.005, 0.4), st.sampled_from([0.9, 0.95, 0.99]))
@settings(max_examples=60, deadline=None)
def test_within_is_inside_the_guard_band_for_any_law(value, limit, certificate, confidence):
    """Verdict and guard band never contradict each other."""
    by = instrument_errors("meter", limit=limit, certificate=(certificate, 2.0))
    check = label_check(by.reading(value, "gauge"), 46.0, 0.3, confidence)
    inside_by = -1.0 if check.guard_band is None else 0.3 - check.guard_band - abs(value - 46.0)
    if abs(inside_by) > 1e-9:
        assert (check.verdict == "within") == (inside_by > 0.0)
