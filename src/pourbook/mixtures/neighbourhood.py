"""The neighbourhood of a blend: how far each part may drift, the others in proportion, before it would be noticed.

Every attribute with a model moves by so many of its own noises (d' of signal detection: the difference over the
standard deviation of a single glass); several attributes together make the root of the sum of their squares, as if
their noises had nothing to do with each other. What d' a panel notices is given from outside (`panels`).

The cautious limits take the far end of the interval of every effect, and the lower one of what a glass varies by,
instead of the estimates: where glasses were few, less may drift.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from scipy.special import chdtri, stdtrit

from pourbook.mixtures.effects import along
from pourbook.mixtures.glasses import Blend
from pourbook.mixtures.models import Fit

__all__ = ["Drift", "Reach", "neighbourhood"]

_STEPS = 100
_PASSES = 5
"""Each looks between two steps of the one before."""


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
        cautious: by the ends of their intervals that allow less.
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
    fits: Sequence[Fit], blend: Blend, place: int, tasted: tuple[float, float], d_prime: float, level: float
) -> Reach:
    here = float(blend[place])
    ends = min(tasted[0], here), max(tasted[1], here)
    (low, low_known), (high, high_known) = (_limit(fits, blend, place, end, d_prime, level) for end in ends)
    return Reach(low, high, low_known, high_known)


def _limit(
    fits: Sequence[Fit], blend: Blend, place: int, end: float, d_prime: float, level: float
) -> tuple[float, bool]:
    """The fraction it may reach towards an end, and whether it would be noticed beyond: looked for ever more finely."""
    within = float(blend[place])
    for _ in range(_PASSES if within < 1.0 else 0):
        steps = np.linspace(within, end, _STEPS + 1)
        noticed = _d_primes(fits, blend, along(blend, place, steps), level) >= d_prime
        if not noticed.any():
            return end, False
        first = int(noticed.argmax())
        within, end = float(steps[first - 1]), float(steps[first])
    return within, within < 1.0


def _d_primes(fits: Sequence[Fit], blend: Blend, there: Blend, level: float) -> Blend:
    """The d' between a blend and others; level 0: by the estimates alone."""
    return np.asarray(np.linalg.norm([_of_one(fit, blend, there, level) for fit in fits], axis=0))


def _of_one(fit: Fit, blend: Blend, there: Blend, level: float) -> Blend:
    contrasts = fit.rows(there) - fit.rows(blend[None])
    changes = np.abs(contrasts @ fit.coefficients)
    if not level:
        return np.asarray(changes / fit.sd)
    tail, (errors, dfs) = 0.5 - level / 2, fit.doubts(contrasts)
    least_sd = fit.sd * float(np.sqrt(fit.df / chdtri(fit.df, tail)))
    return np.asarray((changes + stdtrit(dfs, 1 - tail) * errors) / least_sd)
