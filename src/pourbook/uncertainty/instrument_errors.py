"""The errors of an instrument: what all its readings share, and what each has for itself.

The permissible error of an instrument is unknown but the same at every reading: one source under the
instrument's name. Rounding to the scale or setting a meniscus differs each time: a new source each. Limits and
roundings are rectangular, certificates and repeated readings normal; each law has a source of its own.

A graduated pipette of 10 mL with a permissible error of 0.05 mL, read to 0.1 mL, as hand-worked by
the GUM: 0.05/√3 = 0.0289 shared, 0.1/√12 = 0.0289 each time, so √(0.0289² + 0.0289²) = 0.0408.

>>> pipette = instrument_errors("pipette", limit=0.05, division=0.1, holds=10.0)
>>> seven, eight = pipette.reading(7.0, "first"), pipette.reading(8.0, "second")
>>> seven.shown(), (eight - seven).shown()  # the shared part is gone from the difference
('7.000 ± 0.082 (k = 2)', '1.000 ± 0.082 (k = 2)')
>>> pipette.reading(20.0, "third").shown()  # two fillings: shared parts add as they are, others in squares
'20.00 ± 0.14 (k = 2)'
"""

from math import ceil, hypot, isfinite, sqrt
from typing import NamedTuple

from pourbook.errors import OutOfRange
from pourbook.uncertainty.propagation import Uncertain

__all__ = ["CERTIFIED", "IN_PROPORTION", "REPEATED", "InstrumentErrors", "instrument_errors"]

CERTIFIED, IN_PROPORTION, REPEATED = ", by its certificate", ", in proportion", ", repeated"
"""What follows the name of a source of error."""

_ROUNDING = 1e-9  # of a volume, where it is divided into fillings


class InstrumentErrors(NamedTuple):
    """What an instrument errs by, in the unit of its readings.

    Attributes:
        name: of its shared error; two instruments must not have the same name.
        limit: standard uncertainty that all readings share as it is, from a permissible error.
        certified: the same from a certificate.
        proportional: standard uncertainty that all share, as a part of what is read, from a permissible error.
        rounding: standard uncertainty of each reading of the scale by itself, from its division.
        spread: standard uncertainty of each filling by itself, from repeated readings.
        readings: of the scale for one filling: two from mark to mark.
        holds: the most it takes at once; more takes several fillings.
        whole: whether it measures only what it holds, as a one-mark pipette does.
    """

    name: str
    limit: float = 0.0
    certified: float = 0.0
    proportional: float = 0.0
    rounding: float = 0.0
    spread: float = 0.0
    readings: int = 1
    holds: float | None = None
    whole: bool = False

    @property
    def systematic(self) -> float:
        """Standard uncertainty that all readings share as it is."""
        return hypot(self.limit, self.certified)

    @property
    def random(self) -> float:
        """Standard uncertainty of each filling by itself."""
        return hypot(self.rounding * sqrt(self.readings), self.spread)

    def fillings(self, value: float) -> int:
        """How often it is filled to measure so much; one mark measures whole fillings only."""
        if self.holds is None:
            return 1
        times = value / self.holds
        if self.whole and abs(times - round(times)) > _ROUNDING * max(1.0, times):
            raise OutOfRange(
                f"{self.name} has one mark: it cannot measure {value:g}", "take a graduated pipette or a burette"
            )
        return ceil(times * (1.0 - _ROUNDING))

    def reading(self, value: float, label: str) -> Uncertain:
        """A reading, in one or several fillings, with its uncertainty.

        Each reading of one instrument needs a label of its own.
        """
        times = self.fillings(value)
        rounded = times * self.readings
        shares = {
            self.name: (times * self.limit, 1),
            f"{self.name}{CERTIFIED}": (times * self.certified, 0),
            f"{self.name}{IN_PROPORTION}": (value * self.proportional, 1),
            f"{self.name}, {label}": (sqrt(rounded) * self.rounding, rounded),
            f"{self.name}, {label}{REPEATED}": (sqrt(times) * self.spread, 0),
        }
        return Uncertain(
            value,
            {source: share for source, (share, _) in shares.items() if share},
            {source: count for source, (share, count) in shares.items() if share and count},
        )


def instrument_errors(
    name: str,
    *,
    limit: float = 0.0,
    limit_part: float = 0.0,
    division: float = 0.0,
    spread: float = 0.0,
    readings: int = 1,
    certificate: tuple[float, float] | None = None,
    holds: float | None = None,
    whole: bool = False,
) -> InstrumentErrors:
    """The errors of an instrument, from what is known of it.

    Args:
        name: of its shared error.
        limit: maximum permissible error, ±.
        limit_part: the same as a part of the reading, 0.005 for half a per cent.
        division: what it is read to.
        spread: standard deviation of repeated readings.
        readings: of the scale for one filling.
        certificate: expanded uncertainty and its factor k, with or instead of a limit.
        holds: the most it takes at once.
        whole: whether it measures only that.
    """
    figures = (limit, limit_part, division, spread)
    if not all(isfinite(figure) and figure >= 0.0 for figure in figures) or (holds is not None and not holds > 0.0):
        raise OutOfRange(f"errors of {name} cannot be negative, and what it holds must be above zero", "check them")
    return InstrumentErrors(
        name,
        of_limit(limit),
        of_certificate(*certificate) if certificate else 0.0,
        of_limit(limit_part),
        of_division(division),
        spread,
        readings,
        holds,
        whole,
    )


def of_limit(limit: float) -> float:
    """Standard uncertainty from a maximum permissible error ±a, any error in it as likely: a/√3, GUM 4.3.7."""
    return limit / sqrt(3.0)


def of_division(division: float) -> float:
    """Standard uncertainty of a reading rounded to a division d: d/√12, GUM 4.3.7 with a = d/2."""
    return division / sqrt(12.0)


def of_certificate(expanded: float, factor: float) -> float:
    """Standard uncertainty from a calibration certificate: U/k, GUM 4.3.3."""
    if not (isfinite(expanded) and expanded >= 0.0 and factor > 0.0):
        raise OutOfRange(
            f"a certificate cannot have U = {expanded:g}, k = {factor:g}", "give U of zero or more, and k, often 2"
        )
    return expanded / factor
