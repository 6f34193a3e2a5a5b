"""Portions of a trial as poured: how sure each is, whether two can be told apart, how large a trial must be.

Fractions are by volume as poured. All liquids are taken to have one temperature, which then cancels.
Two portions by one pipette share its permissible error, so it all but cancels in their difference;
two pipettes of a kind do not. A pipette that must be filled several times adds its error each time,
so a larger trial is surer only as long as the fillings do not grow with it.

>>> from pourbook.uncertainty.wording import read_instrument
>>> pipette = read_instrument("graduated pipette A 10 ml", "volume")
>>> told = distinguished(0.07, 0.08, 100.0, pipette)
>>> told.difference.shown(), f"{told.times:.0f}", told.sure(2.0)
('0.01000 ± 0.00053', '19', True)
>>> least_total_ml(0.07, 0.08, pipette, factor=2.0)
11
"""

from collections.abc import Mapping
from math import inf
from typing import NamedTuple

from pourbook.errors import Malformed, OutOfRange
from pourbook.uncertainty.instrument_errors import InstrumentErrors
from pourbook.uncertainty.propagation import Figure, Uncertain

__all__ = ["LARGEST_TRIAL_ML", "Distinction", "Portion", "distinguished", "least_total_ml", "portions"]

LARGEST_TRIAL_ML = 10_000
"""Larger ones are batches; no size is sought beyond."""


class Portion(NamedTuple):
    """A component of a trial as it will be poured.

    Attributes:
        volume_ml: to pour.
        fraction: of the volumes poured, 0 to 1.
        fillings: of its instrument.
    """

    volume_ml: Uncertain
    fraction: Uncertain
    fillings: int


class Distinction(NamedTuple):
    """Two fractions of a component, as they would be poured.

    Attributes:
        first: one fraction.
        second: the other.
        difference: second less first, with what they share taken into account.
    """

    first: Uncertain
    second: Uncertain
    difference: Uncertain

    @property
    def times(self) -> float:
        """How many times its standard uncertainty the difference is; infinite if it has none."""
        spread = self.difference.standard
        return abs(self.difference.value) / spread if spread else inf

    def sure(self, factor: float = 2.0) -> bool:
        """Whether the difference is larger than its uncertainty, k times the standard uncertainty."""
        return self.times >= factor


def portions(volumes_ml: Mapping[str, float], by: Mapping[str, InstrumentErrors]) -> dict[str, Portion]:
    """How sure each component of a planned trial is.

    Args:
        volumes_ml: to pour of each, above zero.
        by: the instrument that measures each; one that serves several is shared by them.

    Raises:
        Malformed: a component without an instrument.
        OutOfRange: nothing to pour; a volume its instrument cannot measure.
    """
    missing = [name for name in volumes_ml if name not in by]
    if missing:
        raise Malformed(f"it is not said what measures {', '.join(missing)}", "name an instrument for each")
    if not volumes_ml or not all(volume > 0.0 for volume in volumes_ml.values()):
        raise OutOfRange("a portion of nothing", "leave it out")
    poured = {name: by[name].reading(volume, f"pour of {name}") for name, volume in volumes_ml.items()}
    whole = sum(poured.values(), start=Uncertain(0.0))
    return {name: Portion(volume, volume / whole, by[name].fillings(volume.value)) for name, volume in poured.items()}


def distinguished(
    first: float,
    second: float,
    total_ml: float,
    by: InstrumentErrors,
    rest_by: InstrumentErrors | None = None,
    *,
    two_pipettes: bool = False,
) -> Distinction:
    """Whether two fractions of a component in trials of one size differ by more than their error.

    Args:
        first: fraction in one trial, above 0 and below 1.
        second: fraction in the other.
        total_ml: volumes poured for each trial, together.
        by: what measures the component.
        rest_by: what measures all else; None takes that as exact.
        two_pipettes: whether each trial has a pipette of its own, of the same kind.

    Raises:
        OutOfRange: fractions that are none; a volume its instrument cannot measure.
    """
    _check(first, second, total_ml)
    other = by._replace(name=f"{by.name}, the second") if two_pipettes else by
    one = _fraction(first, total_ml, by, rest_by, "first trial")
    two = _fraction(second, total_ml, other, rest_by, "second trial")
    return Distinction(one, two, two - one)


def _check(first: float, second: float, total_ml: float) -> None:
    if not (0.0 < first < 1.0 and 0.0 < second < 1.0 and total_ml > 0.0):
        raise OutOfRange(
            f"{100 * first:g} % and {100 * second:g} % of {total_ml:g} ml",
            "give parts between 0 and 100 % of some volume",
        )


def _fraction(
    fraction: float, total_ml: float, by: InstrumentErrors, rest_by: InstrumentErrors | None, label: str
) -> Uncertain:
    volume = by.reading(fraction * total_ml, label)
    rest_ml = total_ml - volume.value
    rest: Figure = rest_ml if rest_by is None else rest_by.reading(rest_ml, f"rest of {label}")
    return volume / (volume + rest)


def least_total_ml(
    first: float,
    second: float,
    by: InstrumentErrors,
    rest_by: InstrumentErrors | None = None,
    *,
    factor: float = 2.0,
    two_pipettes: bool = False,
) -> int:
    """The smallest trial, in whole mL, in which two fractions of a component can be told apart.

    Every size is tried, as a larger one is not always surer: see above.

    Args:
        first: fraction in one trial.
        second: fraction in the other.
        by: what measures the component.
        rest_by: what measures all else; None takes that as exact.
        factor: how many times its standard uncertainty the difference is to be.
        two_pipettes: as for `distinguished`.

    Raises:
        OutOfRange: no size up to `LARGEST_TRIAL_ML` will do; the fractions are the same.
    """
    _check(first, second, 1.0)
    if first == second:
        raise OutOfRange(f"{100 * first:g} % and {100 * second:g} % are the same", "give two that differ")
    for total_ml in range(1, LARGEST_TRIAL_ML + 1):
        try:
            told = distinguished(first, second, float(total_ml), by, rest_by, two_pipettes=two_pipettes)
        except OutOfRange:  # not a whole number of fillings of a one-mark pipette
            continue
        if told.sure(factor):
            return total_ml
    raise OutOfRange(
        f"no trial up to {LARGEST_TRIAL_ML / 1000:g} l tells {100 * first:g} % from {100 * second:g} % by {by.name}",
        "take a finer instrument, or one that holds more",
    )
