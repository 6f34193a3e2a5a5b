"""What gauges say of a cask: by hand, from casks whose loss is known, and where something is wrong."""

import random
from math import exp, log, sqrt

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pourbook.documents.gauges import unexpected_words
from pourbook.errors import OutOfRange, Refused
from pourbook.gauging.evaporation import (
    ASSUMED_RELATIVE,
    ASSUMED_STRENGTH_VOL,
    LEAST_SPAN_DAYS,
    YEAR_US,
    Reading,
    evaporation,
    expected,
    judged,
)
from pourbook.house_style import HouseStyle

SEED = 20260611


def reading(years, litres, strength=None, kept=1.0):
    return Reading(round(years * YEAR_US), 1, None if litres is None else litres * 1000, strength, kept)


def test_three_gauges_by_hand():
    """Least squares on logarithms, worked on paper.

    At 0, 1 and 2 years the logarithm of the volume is ln 200, ln 200 - 0.03, ln 200 - 0.04. Its mean is
    ln 200 - 0.07/3, its slope -0.04/2 = -0.02 a year: a yearly loss of 1 - exp(-0.02) = 1.980 %. The line
    passes +0.01/3 above, -0.02/3 ... so the residuals are 0.01/3, -0.02/3 and 0.01/3, their squares add to
    6e-4/9, and with one degree of freedom the spread is sqrt(6e-4/9) = 0.0081650. A year on, at 3 years, the
    line has ln 200 - 0.07/3 - 0.04; the prediction widens the spread by sqrt(1 + 1/3 + 4/2) and
    t(0.95, 1) = 12.706.
    """
    gauges = [reading(years, 200 * exp(-fall)) for years, fall in ((0, 0.0), (1, 0.03), (2, 0.04))]
    found = evaporation(gauges)
    assert found.loss_volume().expected == pytest.approx(1 - exp(-0.02))
    assert found.volume.spread == pytest.approx(sqrt(6e-4 / 9))
    ahead = expected(found, 3 * YEAR_US)
    line, margin = log(200_000) - 0.07 / 3 - 0.04, 12.7062 * sqrt(6e-4 / 9) * sqrt(1 + 1 / 3 + 2)
    assert ahead.volume_ml == pytest.approx((exp(line - margin), exp(line), exp(line + margin)), rel=1e-6)
    assert not ahead.rests_on_assumption
    assert ahead.pure_alcohol_ml is None
    assert ahead.strength_vol is None


def test_two_gauges_give_no_band_of_their_own():
    """A line passes through two points whatever they are; the band is that of the assumed deviations."""
    found = evaporation([reading(0, 200, 63.5), reading(2, 192.08, 62.9)])
    assert found.volume.spread is None
    ahead = expected(found, 2 * YEAR_US)
    assert ahead.rests_on_assumption
    widening = sqrt(1 + 1 / 2 + 1 / 2)
    assert ahead.volume_ml.low == pytest.approx(192_080 * exp(-1.959964 * ASSUMED_RELATIVE * widening))
    assert ahead.strength_vol.high == pytest.approx(62.9 + 1.959964 * ASSUMED_STRENGTH_VOL * widening)


@given(
    st.floats(-0.01, 0.12),
    st.floats(-1.0, 1.0),
    st.floats(0.1, 5000),
    st.lists(st.integers(0, 7000), min_size=3, max_size=9, unique=True),
)
def test_a_known_loss_is_found_again(loss, drift, litres, days):
    """From gauges without error, whatever the cask: loss, drift of strength, and what a later day brings."""
    assume(max(days) - min(days) >= LEAST_SPAN_DAYS)

    def at(years):
        return reading(years, litres * (1 - loss) ** years, 60 + drift * years)

    gauges = [at(day / 365.2425) for day in sorted(days)]
    found = evaporation(gauges)
    assert found.loss_volume().expected == pytest.approx(loss, abs=1e-6)
    assert found.strength_change().expected == pytest.approx(drift, abs=1e-6)
    later = max(days) / 365.2425 + 1
    ahead = expected(found, round(later * YEAR_US))
    assert ahead.volume_ml.expected == pytest.approx(at(later).volume_ml, rel=1e-6)
    assert ahead.strength_vol.expected == pytest.approx(60 + drift * later, abs=1e-6)
    assert judged(gauges, at(later))[1] == ()


@given(st.floats(0.005, 0.08), st.lists(st.floats(0.95, 1.0), min_size=3, max_size=6))
def test_what_was_drawn_is_no_loss_to_the_air(loss, drawn):
    """Readings after draws are those of a fuller cask, times the part that was left."""
    kept, gauges = 1.0, []
    for year, part in enumerate(drawn):
        gauges.append(reading(year, 200 * (1 - loss) ** year * kept, 62.0, kept))
        kept *= part
    found = evaporation(gauges)
    assert found.loss_volume().expected == pytest.approx(loss, abs=1e-9)
    assert found.loss_alcohol().expected == pytest.approx(loss, abs=1e-9)
    ahead = expected(found, len(drawn) * YEAR_US, kept)
    assert ahead.volume_ml.expected == pytest.approx(200_000 * (1 - loss) ** len(drawn) * kept)


def test_bands_hold_what_they_promise():
    """Of many made-up casks with errors of measurement, 95 in 100 next gauges lie within the band.

    The errors are larger than the assumed ones, so that the bands are those of the readings.
    """
    chance = random.Random(SEED)
    within = {"volume": 0, "strength": 0}
    casks = 1500
    for _ in range(casks):
        loss, drift = chance.uniform(0.01, 0.05), chance.uniform(-0.4, 0.2)
        gauges = [
            reading(
                year,
                200 * (1 - loss) ** year * exp(chance.gauss(0, 4 * ASSUMED_RELATIVE)),
                62 + drift * year + chance.gauss(0, 4 * ASSUMED_STRENGTH_VOL),
            )
            for year in range(chance.randint(4, 9))
        ]
        ahead = expected(evaporation(gauges[:-1]), gauges[-1].happened_us)
        within["volume"] += ahead.volume_ml.low <= gauges[-1].volume_ml <= ahead.volume_ml.high
        within["strength"] += ahead.strength_vol.low <= gauges[-1].strength_vol <= ahead.strength_vol.high
    # 95 % of 1500 with a standard deviation of 8.4; readings that agree by chance widen a few bands
    assert all(0.93 * casks <= count <= 0.98 * casks for count in within.values()), within


WRONG = {
    "less than can have evaporated": ((181.0, 62.6), "a leak, theft, or a misreading"),
    "more than there was": ((201.0, 62.6), "a misreading, or a pour not recorded"),
    "weaker than it can have become": ((192.0, 58.0), "a misreading, or other liquid added"),
    "stronger than it can have become": ((192.0, 66.0), "a misreading, or other liquid added"),
}


@pytest.mark.parametrize(("read", "cause"), WRONG.values(), ids=WRONG)
def test_a_gauge_far_outside_expectation_warns(read, cause):
    """The sentence gives the figure, the bound and what the trade would think of first."""
    earlier = [reading(0, 200, 63.5), reading(1, 196, 63.2), reading(2, 192.08, 62.9)]
    ahead, outside = judged(earlier, reading(2.5, *read))
    warning = unexpected_words(outside, HouseStyle())
    assert warning.endswith(cause)
    assert ("at least" if read[0] < 190 or read[1] < 60 else "at most") in warning
    assert ahead.volume_ml.low < 190_150 < ahead.volume_ml.high


def test_an_ordinary_gauge_does_not_warn():
    """A reading as good as gauges are is no cause for alarm, and the house's decimal mark is kept."""
    earlier = [reading(0, 200, 63.5), reading(1, 196, 63.2), reading(2, 192.08, 62.9)]
    assert judged(earlier, reading(3, 188.2 * 1.005, 62.5))[1] == ()
    _, outside = judged(earlier, reading(3, 170, 62.5))
    assert "170,0 l, where at least" in unexpected_words(outside, HouseStyle({"decimal_mark": ","}))


def test_too_few_gauges_expect_nothing():
    """One gauge, or two at one moment, say nothing of a loss; a strength alone says nothing of volume."""
    for few in ([reading(0, 200)], [reading(1, 200), reading(1, 199)], [reading(0, None, 60), reading(1, None, 59)]):
        with pytest.raises(Refused, match="needs two gauges"):
            evaporation(few)
        assert judged(few, reading(3, 150)) is None


def test_a_day_out_of_all_sight_is_refused():
    """The line says nothing of the next century but one."""
    with pytest.raises(OutOfRange, match="century"):
        expected(evaporation([reading(0, 200), reading(1, 196)]), 150 * YEAR_US)


# -- gauges too near for a rate, and what a rate may say ----------------------------------------


@pytest.mark.parametrize("days", [1 / 1440, 1, 59])
def test_gauges_too_near_each_other_give_no_rate(days):
    """A minute, a day, two months less a day: their errors alone would be a loss of 8 % a year and far more."""
    near = [reading(0, 200, 63.5), reading(days / 365.2425, 190, 20.0)]
    with pytest.raises(Refused, match="60 days apart or more"):
        evaporation(near)
    assert judged(near, reading(1, 150, 60)) is None


def test_a_strength_is_expected_within_what_a_strength_can_be():
    """Two readings 60 days apart, 40 % vol down: a line, and years on still no strength below nothing or above all."""
    found = evaporation([reading(0, 200, 60.0), reading(60 / 365.2425 + 1e-6, 200, 20.0)])
    for years in (-20, 20):
        ahead = expected(found, round(years * YEAR_US))
        assert all(0.0 <= value <= 100.0 for value in ahead.strength_vol)
    grown = evaporation([reading(0, 1e-3, 60.0), reading(0.2, 200, 60.0)])
    assert expected(grown, 50 * YEAR_US).volume_ml.high < float("inf")


def test_a_yearly_loss_has_its_bounds():
    """By hand: two gauges two years apart stand a year from their middle, so the slope's deviation is d / sqrt(2).

    With the assumed deviations and z(0.95) = 1.959964; that of the pure alcohol is of volume and strength together.
    """
    found = evaporation([reading(0, 200, 63.5), reading(2, 192.08, 62.9)])
    half = 1.959964 * ASSUMED_RELATIVE / sqrt(2)
    assert found.loss_volume() == pytest.approx((1 - 0.98 * exp(half), 0.02, 1 - 0.98 * exp(-half)), abs=1e-6)
    of_strength = 1.959964 * ASSUMED_STRENGTH_VOL / sqrt(2)
    assert found.strength_change() == pytest.approx((-0.3 - of_strength, -0.3, -0.3 + of_strength), abs=1e-6)
    both = 1.959964 * sqrt(ASSUMED_RELATIVE**2 + (ASSUMED_STRENGTH_VOL / 63.2) ** 2)
    ahead = expected(found, 2 * YEAR_US)
    assert ahead.level == 0.95
    assert log(ahead.pure_alcohol_ml.high / ahead.pure_alcohol_ml.expected) == pytest.approx(both * sqrt(2), rel=1e-6)
    low, middle, high = found.loss_alcohol()
    assert log((1 - low) / (1 - middle)) == pytest.approx(both / sqrt(2), rel=1e-6)
    assert low < middle < high
