"""Terms of a model of blends (Scheffé 1958): components alone, two together, three together.

As fractions add to one, such a model has no intercept and no squares. A linear model says that components do not
change each other; a quadratic one lets every two, a special cubic one every three as well.

>>> term_names(("ash", "chestnut", "heather"), "quadratic")
('ash', 'chestnut', 'heather', 'ash*chestnut', 'ash*heather', 'chestnut*heather')
>>> model_matrix([[0.5, 0.5, 0], [0.25, 0.25, 0.5]], "quadratic").tolist()
[[0.5, 0.5, 0.0, 0.25, 0.0, 0.0], [0.25, 0.25, 0.5, 0.0625, 0.125, 0.125]]
"""

from collections.abc import Sequence
from itertools import combinations
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["MODELS", "Model", "model_matrix", "term_names", "terms"]

Model = Literal["linear", "quadratic", "special-cubic"]

MODELS: tuple[Model, ...] = get_args(Model)
"""From the simplest; each holds all terms of the one before, in the same order, first."""


def terms(components: int, model: Model) -> tuple[tuple[int, ...], ...]:
    """Every term as the places of the components whose fractions it multiplies, counted from 0."""
    together = range(1, MODELS.index(model) + 2)
    return tuple(term for size in together for term in combinations(range(components), size))


def term_names(components: Sequence[str], model: Model) -> tuple[str, ...]:
    """Every term as its components' names joined by an asterisk, in the order of the columns of `model_matrix`."""
    return tuple("*".join(components[place] for place in term) for term in terms(len(components), model))


def model_matrix(blends: ArrayLike, model: Model) -> NDArray[np.float64]:
    """The value of every term (a column) in every blend (a row of fractions that add to one)."""
    fractions = np.asarray(blends, dtype=float)
    return np.column_stack([fractions[:, term].prod(axis=1) for term in terms(fractions.shape[1], model)])
