"""The response over three components at a time, the others held: what a picture of contours shows."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from pourbook.errors import Malformed
from pourbook.mixtures.effects import estimates
from pourbook.mixtures.glasses import Blend
from pourbook.mixtures.models import Fit

__all__ = ["Section", "section"]


class Section(NamedTuple):
    """The response over three components, the others held: what a picture of contours shows.

    Attributes:
        components: the three.
        held: fraction of each other component.
        fractions: of the three in each point, of the whole blend; points by three.
        means: the response in each point.
        reaches: half of the interval of each mean; nan where nothing is left to judge by.
        glasses: the three as they were tasted, of what the others leave; glasses by three.
    """

    components: tuple[str, ...]
    held: dict[str, float]
    fractions: Blend
    means: Blend
    reaches: Blend
    glasses: Blend


def section(fit: Fit, blend: Blend, three: Sequence[str], level: float = 0.95, steps: int = 60) -> Section:
    """The response over the smallest triangle of three components that holds all that was tasted of them.

    Raises:
        Malformed: they are not three different components, or glasses do not spread over them.
    """
    names = fit.glasses.components
    places = [names.index(one) for one in three if one in names]
    if len(three) != 3 or len(set(places)) != 3:
        raise Malformed(f"'{','.join(three)}' are not three components", f"choose from: {', '.join(names)}")
    left = float(blend[places].sum())
    shares = fit.glasses.blends[:, places]
    glasses = shares[shares.sum(axis=1) > 0]
    glasses = left * glasses / glasses.sum(axis=1, keepdims=True)
    if np.linalg.matrix_rank(glasses - glasses.mean(axis=0), 1e-6) < 2:
        raise Malformed(f"glasses do not spread over {', '.join(three)}", "choose three tasted in other proportions")
    least = glasses.min(axis=0)
    lattice = [(i, j, steps - i - j) for i in range(steps + 1) for j in range(steps + 1 - i)]
    fractions = least + (left - least.sum()) * np.array(lattice) / steps
    blends = np.tile(blend, (len(lattice), 1))
    blends[:, places] = fractions
    said = estimates(fit, fit.rows(blends), level)
    held = {name: float(part) for name, part in zip(names, blend, strict=True) if name not in three}
    means, reaches = (np.array([one.value for one in said]), np.array([one.high - one.value for one in said]))
    return Section(tuple(three), held, fractions, means, reaches, glasses)
