"""The neighbourhood of a blend: how far each part may drift, the others in proportion, before it would be noticed.

Every attribute with a model moves by so many of its own noises (d' of signal detection: the difference over the
standard deviation of a single glass); several attributes together make the root of the sum of their squares, as if
their noises had nothing to do with each other. What d' a panel notices is given from outside (`panels`).

The cautious limits take the end of the interval of every effect instead of the estimate: where glasses were few, less
may drift.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.special import stdtrit

from pourbook.mixtures.effects import moved
from pourbook.mixtures.glasses import Blend
from pourbook.mixtures.models import Fit

__all__ = ["Drift", "Reach", "neighbourhood"]

_STEPS = 200
_HALVINGS = 40


class Reach(NamedTuple):
    """Between which fractions of the blend a component may be.

    Attributes:
        low, high: the limits.
        low_known, high_known: whether it would be noticed beyond them; else they are the ends of what was tasted.
    """

    low: float
    high: float
    low_known: bool
    high_known: bool


class Drift(NamedTuple):
    """How far a part may drift.

    Attributes:
        component: its name.
        fraction: of the blend, as it is.
        likely: by the estimates.
        cautious: by the far ends of their intervals.
    """

    component: str
    fraction: float
    likely: Reach
    cautious: Reach


def neighbourhood(fits: Sequence[Fit], blend: Blend, d_prime: float, level: float = 0.95) -> tuple[Drift, ...]:
    """How far each part of a blend may drift before a difference of `d_prime` is reached; fits of the same components.

    No limit goes beyond what was tasted of a component, nor past the blend itself where that lies outside.
    """
    components = fits[0].glasses.components
    tasted = np.vstack([fit.glasses.blends for fit in fits])
    return tuple(
        Drift(
            name,
            float(blend[place]),
            *(_reach(fits, blend, place, (tasted[:, place].min(), tasted[:, place].max()), d_prime, one)
              for one in (0.0, level)),
        )
        for place, name in enumerate(components)
    )  # fmt: skip


def _reach(
    fits: Sequence[Fit], blend: Blend, place: int, ends: tuple[float, float], d_prime: float, level: float
) -> Reach:
    low, high = (_limit(fits, blend, place, end - float(blend[place]), d_prime, level) for end in ends)
    return Reach(float(blend[place]) + min(low[0], 0.0), float(blend[place]) + max(high[0], 0.0), low[1], high[1])


def _limit(
    fits: Sequence[Fit], blend: Blend, place: int, furthest: float, d_prime: float, level: float
) -> tuple[float, bool]:
    """How far it may go towards an end, and whether it would be noticed beyond: the first crossing, then halved."""
    within = 0.0
    for step in np.linspace(0.0, furthest, _STEPS + 1)[1:]:
        if _noticed(fits, blend, place, float(step), level) >= d_prime:
            beyond = float(step)
            for _ in range(_HALVINGS):
                half = (within + beyond) / 2
                is_noticed = _noticed(fits, blend, place, half, level) >= d_prime
                within, beyond = (within, half) if is_noticed else (half, beyond)
            return within, True
        within = float(step)
    return within, False


def _noticed(fits: Sequence[Fit], blend: Blend, place: int, by: float, level: float) -> float:
    """The d' between a blend and one with that much more of a component; level 0: by the estimates alone."""
    there = moved(blend, place, by)
    if there is None:
        return float("inf")
    return float(np.linalg.norm([_d_prime(fit, blend, there, level) for fit in fits]))


def _d_prime(fit: Fit, blend: Blend, there: Blend, level: float) -> float:
    contrast = fit.row(there) - fit.row(blend)
    error, df = fit.doubt(contrast)
    reach = float(stdtrit(df, 0.5 + level / 2)) * error if level else 0.0
    return (abs(float(contrast @ fit.coefficients)) + reach) / fit.sd
