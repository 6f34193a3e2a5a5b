"""Evaporation: what a cask loses in a year by its gauges, and what it should hold on a day.

The part of its contents that a cask loses each year hardly depends on how much is in it, so the
logarithms of volume and of pure alcohol fall along a straight line in time; the strength, as % vol,
rises or falls along another. Each line is drawn by least squares with equal weights. A reading after a
draw is divided by the part that was left, `kept`. Gauges that span less than 60 days give no line.

By hand: 200 L at the fill and 192.08 L two years later are 0.9604 of it, 0.98 for each year, so 2 % a
year leave the cask, and a year later 0.98 x 192.08 = 188.24 L are expected. With strengths of 63.5
and 62.9 % vol the strength falls by 0.3 % vol a year.

>>> years = [0, 2 * YEAR_US]
>>> found = evaporation([Reading(years[0], 1, 200_000, 63.5), Reading(years[1], 2, 192_080, 62.9)])
>>> f"{found.loss_volume().expected:.4f}, {found.strength_change().expected:+.2f} % vol a year"
'0.0200, -0.30 % vol a year'
>>> ahead = expected(found, 3 * YEAR_US)
>>> f"{ahead.volume_ml.expected / 1000:.2f} l, {ahead.strength_vol.expected:.2f} % vol", ahead.rests_on_assumption
('188.24 l, 62.60 % vol', True)
"""

from collections.abc import Sequence
from math import exp, hypot, log, sqrt
from statistics import NormalDist
from typing import Literal, NamedTuple

from pourbook.errors import OutOfRange, Refused
from pourbook.times import DAY_US
from pourbook.uncertainty.student_t import t_quantile

__all__ = [
    "ASSUMED_RELATIVE",
    "ASSUMED_STRENGTH_VOL",
    "LEAST_SPAN_DAYS",
    "LEVEL",
    "YEAR_US",
    "Band",
    "Evaporation",
    "Expected",
    "Line",
    "Outside",
    "Reading",
    "evaporation",
    "expected",
    "judged",
]

YEAR_US = 31_556_952_000_000
"""Microseconds in a mean year of the calendar, 365.2425 days."""

ASSUMED_RELATIVE = 0.005
"""A gauge of a cask is good to 0.5 % of its volume (one standard deviation): common practice, no source."""

ASSUMED_STRENGTH_VOL = 0.15
"""A reading of its strength is good to 0.15 % vol (one standard deviation): common practice, no source."""

LEAST_SPAN_DAYS = 60
"""Gauges over fewer days give no rate: their errors would be more than any loss (common practice, no source).

By the deviations above, two gauges 60 days apart tell the yearly loss to 8 %, two a day apart to 500 %.
"""

LEVEL = 0.95
"""Of the bounds of a figure, where no other level is asked for."""

_MOST_EXPONENT = 700.0
_FAR = 0.99
"""One good reading in a hundred lies outside these bounds."""


Figure = Literal["volume_ml", "strength_vol"]


class Reading(NamedTuple):
    """What was measured of a cask; at 20 °C.

    Attributes:
        happened_us: when.
        entry: number of the entry in the journal.
        volume_ml: volume; None where only the strength was read.
        strength_vol: % vol; None where only the amount was measured.
        kept: the part of the contents that draws had left in the cask since the first reading.
    """

    happened_us: int
    entry: int
    volume_ml: float | None
    strength_vol: float | None
    kept: float = 1.0

    @property
    def pure_alcohol_ml(self) -> float | None:
        """Volume of the pure alcohol; None where not both were measured."""
        if self.volume_ml is None or self.strength_vol is None:
            return None
        return self.volume_ml * self.strength_vol / 100.0


class Line(NamedTuple):
    """A straight line through readings, by least squares with equal weights.

    Attributes:
        readings: how many.
        middle_us: the mean of their times.
        level: the line at that time.
        per_year: its slope.
        spread: standard deviation of the readings about it; None for two, through which it passes.
        squares: sum of the squared distances in time from the middle, in years.
    """

    readings: int
    middle_us: float
    level: float
    per_year: float
    spread: float | None
    squares: float

    def at(self, moment_us: float) -> float:
        """The line at a moment."""
        return self.level + self.per_year * (moment_us - self.middle_us) / YEAR_US

    def margin(self, moment_us: float, confidence: float, assumed: float) -> tuple[float, bool]:
        """How far a new reading may lie from the line, and whether that rests on the assumption.

        The prediction interval with the spread found and Student's t, or with the assumed deviation of a reading
        if that is wider: readings may agree by chance, and two always do.
        """
        years = (moment_us - self.middle_us) / YEAR_US
        return self._widened(sqrt(1.0 + 1.0 / self.readings + years * years / self.squares), confidence, assumed)

    def slope(self, confidence: float, assumed: float) -> "Band":
        """The slope between its bounds, by the same deviations."""
        margin, _ = self._widened(1.0 / sqrt(self.squares), confidence, assumed)
        return Band(self.per_year - margin, self.per_year, self.per_year + margin)

    def _widened(self, widening: float, confidence: float, assumed: float) -> tuple[float, bool]:
        least = NormalDist().inv_cdf((1.0 + confidence) / 2.0) * assumed * widening
        if self.spread is None:
            return least, True
        found = t_quantile(confidence, self.readings - 2) * self.spread * widening
        return max(found, least), least > found


class Evaporation(NamedTuple):
    """What a cask loses, from its readings since it was filled.

    Attributes:
        readings: what it rests on, in order of time.
        volume: line through the logarithms of the volume.
        alcohol: line through those of the pure alcohol; None where fewer than two give it.
        strength: line through the strengths, % vol; None likewise.
    """

    readings: tuple[Reading, ...]
    volume: Line
    alcohol: Line | None
    strength: Line | None

    def loss_volume(self, confidence: float = LEVEL) -> "Band":
        """Part of the volume that a year takes, between its bounds; below zero where it seems to grow."""
        return _loss(self.volume.slope(confidence, ASSUMED_RELATIVE))

    def loss_alcohol(self, confidence: float = LEVEL) -> "Band | None":
        """Part of the pure alcohol that a year takes; None where that was not measured twice."""
        return None if self.alcohol is None else _loss(self.alcohol.slope(confidence, self.assumed_alcohol))

    def strength_change(self, confidence: float = LEVEL) -> "Band | None":
        """By how much the strength rises in a year, % vol, between its bounds; below zero where it falls."""
        return None if self.strength is None else self.strength.slope(confidence, ASSUMED_STRENGTH_VOL)

    @property
    def assumed_alcohol(self) -> float:
        """Relative deviation of a measured pure alcohol: that of the volume and that of the strength."""
        percent = self.strength.level if self.strength else 100.0
        return hypot(ASSUMED_RELATIVE, ASSUMED_STRENGTH_VOL / percent) if percent > 0 else ASSUMED_RELATIVE


class Band(NamedTuple):
    """A figure as expected, between its low and high bounds."""

    low: float
    expected: float
    high: float


class Expected(NamedTuple):
    """What a cask should hold at a moment, at 20 °C; the bounds are those for a gauge then.

    Attributes:
        at_us: the moment.
        volume_ml: volume.
        pure_alcohol_ml: volume of the pure alcohol; None where it was not measured twice.
        strength_vol: % vol; None likewise.
        rests_on_assumption: whether a band is that of the assumed deviations, not of the readings.
        level: the part of all good gauges that lies within the bounds.
    """

    at_us: int
    volume_ml: Band
    pure_alcohol_ml: Band | None
    strength_vol: Band | None
    rests_on_assumption: bool
    level: float


class Outside(NamedTuple):
    """A figure that was read outside the band in which it was expected."""

    figure: Figure
    read: float
    band: Band


def evaporation(readings: Sequence[Reading]) -> Evaporation:
    """What a cask loses, from the readings of one filling in order of time.

    Raises:
        Refused: fewer than two of them give a volume, or all within `LEAST_SPAN_DAYS`.
    """
    volume = _line([(one.happened_us, log(one.volume_ml / one.kept)) for one in readings if one.volume_ml])
    if volume is None:
        raise Refused(
            f"evaporation needs two gauges of the contents, {LEAST_SPAN_DAYS} days apart or more",
            "gauge the cask later: pourbook gauge CASK",
        )
    alcohol = _line([(one.happened_us, log(ml / one.kept)) for one in readings if (ml := one.pure_alcohol_ml)])
    strength = _line([(one.happened_us, one.strength_vol) for one in readings if one.strength_vol is not None])
    return Evaporation(tuple(readings), volume, alcohol, strength)


def _line(points: Sequence[tuple[int, float]]) -> Line | None:
    """The line of least squares; None where the points span too little time for one."""
    count = len(points)
    moments = [moment for moment, _ in points]
    if not points or max(moments) - min(moments) < LEAST_SPAN_DAYS * DAY_US:
        return None
    middle = sum(moment for moment, _ in points) / count
    level = sum(value for _, value in points) / count
    years = [(moment - middle) / YEAR_US for moment, _ in points]
    squares = sum(year * year for year in years)
    slope = sum(year * (value - level) for year, (_, value) in zip(years, points, strict=True)) / squares
    rest = sum((value - level - slope * year) ** 2 for year, (_, value) in zip(years, points, strict=True))
    return Line(count, middle, level, slope, sqrt(rest / (count - 2)) if count > 2 else None, squares)


def _loss(slope: "Band") -> "Band":
    """A yearly loss, from the slope of a logarithm."""
    return Band(*(1.0 - _exp(value) for value in (slope.high, slope.expected, slope.low)))


def expected(found: Evaporation, at_us: int, kept: float = 1.0, confidence: float = LEVEL) -> Expected:
    """What the cask should hold at a moment, with the band for a gauge then; `kept` is the part that draws left.

    Raises:
        OutOfRange: a moment more than a century from the readings.
    """
    if abs(at_us - found.volume.middle_us) > 100 * YEAR_US:
        raise OutOfRange("the day is more than a century from the gauges", "name a nearer day")
    volume, by_volume = _grown(found.volume, at_us, kept, confidence, ASSUMED_RELATIVE)
    alcohol, by_alcohol, strength, by_strength = None, False, None, False
    if found.alcohol is not None:
        alcohol, by_alcohol = _grown(found.alcohol, at_us, kept, confidence, found.assumed_alcohol)
    if found.strength is not None:
        at = found.strength.at(at_us)
        margin, by_strength = found.strength.margin(at_us, confidence, ASSUMED_STRENGTH_VOL)
        strength = Band(*(min(100.0, max(0.0, value)) for value in (at - margin, at, at + margin)))
    return Expected(at_us, volume, alcohol, strength, by_volume or by_alcohol or by_strength, confidence)


def _grown(line: Line, at_us: int, kept: float, confidence: float, assumed: float) -> tuple[Band, bool]:
    """The band of a figure whose logarithm lies on the line."""
    at = line.at(at_us)
    margin, is_assumed = line.margin(at_us, confidence, assumed)
    return Band(*(kept * _exp(value) for value in (at - margin, at, at + margin))), is_assumed


def _exp(value: float) -> float:
    """As `exp`, but of gauges that cannot be right no number too large for a float."""
    return exp(min(value, _MOST_EXPONENT))


def judged(earlier: Sequence[Reading], latest: Reading) -> tuple[Expected, tuple[Outside, ...]] | None:
    """What to expect of the latest reading by the earlier ones of its filling, and what of it lies outside that.

    None where the earlier readings are too few. One good reading in a hundred would lie outside.

    >>> years = [YEAR_US * year for year in range(4)]
    >>> gauges = [Reading(at, 1, 200_000 * 0.98 ** (at / YEAR_US), 63.0) for at in years]
    >>> judged(gauges[:3], gauges[3])[1]
    ()
    >>> (volume,) = judged(gauges[:3], gauges[3]._replace(volume_ml=170_000))[1]
    >>> volume.figure, volume.read, f"{volume.band.low / 1000:.1f} l"
    ('volume_ml', 170000, '183.9 l')
    """
    try:
        found = evaporation(earlier)
    except Refused:
        return None
    ahead = expected(found, latest.happened_us, latest.kept, _FAR)
    pairs: tuple[tuple[Figure, float | None, Band | None], ...] = (
        ("volume_ml", latest.volume_ml, ahead.volume_ml),
        ("strength_vol", latest.strength_vol, ahead.strength_vol),
    )
    outside = (
        Outside(figure, read, band)
        for figure, read, band in pairs
        if read is not None and band is not None and not band.low <= read <= band.high
    )
    return ahead, tuple(outside)
