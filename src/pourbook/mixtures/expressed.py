"""Blends in terms of some components: how much of each was in them, where both are known by the casks they came from.

>>> vials = {"Q 204": 1.0}, {"Q 205": 1.0}
>>> in_terms_of(vials, [{"Q 204": 0.9, "Q 205": 0.1}, {"Q 204": 0.5, "Q 300": 0.5}])
[(0.9, 0.1), None]
>>> in_terms_of(vials * 2, [])
Traceback (most recent call last):
    ...
pourbook.errors.Refused: two components came from the same casks, so nobody can tell what each did
"""

from collections.abc import Mapping, Sequence

import numpy as np

from pourbook.errors import Refused

__all__ = ["in_terms_of"]

_OTHER = 0.02
"""Part of a blend that may be something else."""


def in_terms_of(
    components: Sequence[Mapping[str, float]], blends: Sequence[Mapping[str, float]]
) -> list[tuple[float, ...] | None]:
    """Fraction of each component in each blend, adding to one; None for a blend that holds anything else.

    Components and blends are fractions by cask. The fractions are those, none below zero, that miss the blend by the
    least sum of squares.

    Raises:
        Refused: components cannot be told apart.
    """
    from scipy.optimize import nnls

    names = sorted({name for one in (*components, *blends) for name in one})
    table = np.array([[one.get(name, 0.0) for name in names] for one in components]).T
    if np.linalg.matrix_rank(table, tol=1e-6) < len(components):
        raise Refused(
            "two components came from the same casks, so nobody can tell what each did", "leave one out of the recipe"
        )
    found: list[tuple[float, ...] | None] = []
    for blend in blends:
        wanted = np.array([blend.get(name, 0.0) for name in names])
        parts, _ = nnls(table, wanted)
        missed = np.abs(table @ parts - wanted).sum() / 2.0
        whole = float(parts.sum())
        found.append(None if missed > _OTHER or not whole else tuple((parts / whole).round(9).tolist()))
    return found
