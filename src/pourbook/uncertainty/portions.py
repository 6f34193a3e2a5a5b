"""Portions of a trial as poured: the uncertainty of each, whether two differ by more, how large a trial must be.

Fractions are by volume as poured, all at one temperature, which then cancels. Two portions by one pipette
share its permissible error, which all but cancels in their difference; two pipettes of a kind do not. Each
filling adds its error, so a larger trial is surer only if it does not need more fillings.

>>> from pourbook.uncertainty.wording import read_instrument
>>> pipette = read_instrument("graduated pipette A 10 ml", "volume")
>>> asked = Comparison(0.07, 0.08, pipette)
>>> told = fraction_difference(asked, 100.0)
>>> told.difference.shown(), f"{told.times:.0f}", told.exceeds(2.0)
('0.0100 ± 0.0011 (k = 2)', '19', True)
>>> least_trial_ml(asked)
11
"""

from collections.abc import Mapping
from math import ceil, hypot, inf, sqrt
from typing import NamedTuple

from pourbook.errors import Malformed, OutOfRange
from pourbook.uncertainty.instrument_errors import InstrumentErrors
from pourbook.uncertainty.propagation import COVERAGE_FACTOR, Figure, Uncertain

__all__ = [
    "HONEST",
    "LARGEST_TRIAL_ML",
    "Comparison",
    "FractionDifference",
    "Portion",
    "TrialDifference",
    "fraction_difference",
    "least_portion_ml",
    "least_trial_ml",
    "portions",
    "trial_difference",
    "trial_size",
]

LARGEST_TRIAL_ML = 10_000
"""Larger ones are batches."""

HONEST = 0.1
"""Up to which part of itself a portion may be unsure (k = 2): common practice, no source."""

_ROUNDING = 1e-9


class Portion(NamedTuple):
    """A component of a trial as it will be poured: volume, fraction of the whole, and fillings of its instrument."""

    volume_ml: Uncertain
    fraction: Uncertain
    fillings: int


class Comparison(NamedTuple):
    """Two fractions of a component, in trials of one size.

    Attributes:
        first: the fraction in one trial; second: in the other.
        by: what measures the component; rest_by: what measures all else, which None takes as exact.
        two_pipettes: whether each trial has a pipette of its own, of the same kind.
        coverage_factor: k; how many times its standard uncertainty a difference is to be.
    """

    first: float
    second: float
    by: InstrumentErrors
    rest_by: InstrumentErrors | None = None
    two_pipettes: bool = False
    coverage_factor: float = 2.0


class FractionDifference(NamedTuple):
    """Two fractions of a component as poured, and the difference, second less first, with what they share."""

    first: Uncertain
    second: Uncertain
    difference: Uncertain

    @property
    def times(self) -> float:
        """How many times its standard uncertainty the difference is; infinite if it has none."""
        spread = self.difference.standard
        return abs(self.difference.value) / spread if spread else inf

    def exceeds(self, coverage_factor: float = 2.0) -> bool:
        """Whether the difference is larger than its expanded uncertainty, k times the standard uncertainty."""
        return self.times >= coverage_factor


def portions(volumes_ml: Mapping[str, float], by: Mapping[str, InstrumentErrors]) -> dict[str, Portion]:
    """Each component of a planned trial with its uncertainty; `by` names the instrument of each.

    Raises:
        Malformed: a component without an instrument.
        OutOfRange: nothing to pour; a volume its instrument cannot measure.
    """
    missing = [name for name in volumes_ml if name not in by]
    if missing:
        raise Malformed(
            f"no instrument measures {', '.join(missing)}", "name one for each: --instrument NAME=INSTRUMENT"
        )
    if not volumes_ml or not all(volume > 0.0 for volume in volumes_ml.values()):
        raise OutOfRange("a portion is zero", "leave it out")
    poured = {name: by[name].reading(volume, f"pour of {name}") for name, volume in volumes_ml.items()}
    whole = sum(poured.values(), start=Uncertain(0.0))
    return {name: Portion(volume, volume / whole, by[name].fillings(volume.value)) for name, volume in poured.items()}


def least_portion_ml(by: InstrumentErrors, step_ml: float, within: float = HONEST) -> float | None:
    """The smallest volume, in whole steps, whose expanded uncertainty (k = 2) is at most so much of it.

    None where no single filling is that sure.

    >>> from pourbook.uncertainty.wording import read_instrument
    >>> least_portion_ml(read_instrument("graduated pipette A 10 ml", "volume"), 0.1)
    1.0
    """
    fixed, rate = hypot(by.systematic, by.random), COVERAGE_FACTOR * by.proportional
    if by.whole or rate >= within:
        return None
    least = COVERAGE_FACTOR * fixed / sqrt(within**2 - rate**2)
    steps = max(1, ceil(least / step_ml - _ROUNDING))
    return None if by.holds is not None and steps * step_ml > by.holds * (1 + _ROUNDING) else round(steps * step_ml, 9)


def fraction_difference(asked: Comparison, total_ml: float) -> FractionDifference:
    """Whether two fractions of a component in trials of one size differ by more than their error."""
    _check(asked, total_ml)
    by = asked.by
    other = by._replace(name=f"{by.name}, the second") if asked.two_pipettes else by
    one = _fraction(asked.first, total_ml, by, asked.rest_by, "first trial")
    two = _fraction(asked.second, total_ml, other, asked.rest_by, "second trial")
    return FractionDifference(one, two, two - one)


def _check(asked: Comparison, total_ml: float) -> None:
    if not (0.0 < asked.first < 1.0 and 0.0 < asked.second < 1.0 and total_ml > 0.0):
        raise OutOfRange(
            f"cannot compare {100 * asked.first:g} % and {100 * asked.second:g} % of {total_ml:g} ml",
            "give parts between 0 and 100 % of some volume",
        )


def _fraction(
    fraction: float, total_ml: float, by: InstrumentErrors, rest_by: InstrumentErrors | None, label: str
) -> Uncertain:
    volume = by.reading(fraction * total_ml, label)
    rest_ml = total_ml - volume.value
    rest: Figure = rest_ml if rest_by is None else rest_by.reading(rest_ml, f"rest of {label}")
    return volume / (volume + rest)


def least_trial_ml(asked: Comparison) -> int:
    """The smallest trial, in whole mL, in which two fractions of a component can be told apart.

    Every size up to `LARGEST_TRIAL_ML` is tried, as a larger one is not always surer.
    """
    _check(asked, 1.0)
    first, second = 100 * asked.first, 100 * asked.second
    if first == second:
        raise OutOfRange(f"{first:g} % and {second:g} % are the same", "give two that differ")
    for total_ml in range(1, LARGEST_TRIAL_ML + 1):
        try:
            told = fraction_difference(asked, float(total_ml))
        except OutOfRange:  # not a whole number of fillings of a one-mark pipette
            continue
        if told.exceeds(asked.coverage_factor):
            return total_ml
    raise OutOfRange(
        f"no trial up to {LARGEST_TRIAL_ML / 1000:g} l tells {first:g} % from {second:g} % by {asked.by.name}",
        "take a finer instrument, or one that holds more",
    )


# -- what one pipette makes of it, and what two -----------------------------------------


class TrialDifference(NamedTuple):
    """Two trials of one size.

    Attributes:
        asked: which fractions, and what pours them.
        found: as they would be poured.
        by_two_pipettes: the difference by two pipettes of the kind.
        total_ml: volumes poured for each trial.
        least_by_two_ml: the smallest trial by two pipettes, where it was sought; None where none is large enough.
    """

    asked: Comparison
    found: FractionDifference
    by_two_pipettes: Uncertain
    total_ml: float
    least_by_two_ml: int | None = None


def trial_difference(asked: Comparison, total_ml: float) -> TrialDifference:
    """Whether two fractions in trials of one size differ by more than what pours them errs."""
    apart = fraction_difference(asked._replace(two_pipettes=True), total_ml).difference
    return TrialDifference(asked, fraction_difference(asked, total_ml), apart, total_ml)


def trial_size(asked: Comparison) -> TrialDifference:
    """The smallest trial in which two fractions can be told apart."""
    total_ml = least_trial_ml(asked)
    try:
        by_two: int | None = least_trial_ml(asked._replace(two_pipettes=True))
    except OutOfRange:
        by_two = None
    return trial_difference(asked, float(total_ml))._replace(least_by_two_ml=by_two)
