"""Means over a region of blends, exact for polynomials: each of the region's simplices by a cubature rule.

Over all blends of three components, a fraction is a third on average, and its square a sixth:

>>> mean_products(np.eye(3)[None], "linear").round(9).tolist()[0]
[0.166666667, 0.083333333, 0.083333333]
"""

from itertools import combinations_with_replacement
from math import factorial

import numpy as np
from numpy.typing import NDArray

from pourbook.mixtures.terms import MODELS, Model, model_matrix

__all__ = ["mean_products"]

_Array = NDArray[np.float64]

_AT_ONCE = 500
"""Simplices worked out together, so that memory does not grow with the region."""


def mean_products(simplices: _Array, model: Model) -> _Array:
    """The mean of the products of every two terms of a model over a region.

    `simplices` fill the region: simplex by corner by component (`regions.simplices`).
    """
    edges = simplices[:, 1:] - simplices[:, :1]
    volumes = np.sqrt(np.abs(np.linalg.det(edges @ edges.transpose(0, 2, 1))))
    places, weights = _cubature(edges.shape[1], MODELS.index(model) + 1)
    products = np.zeros(())
    for first in range(0, len(simplices), _AT_ONCE):
        among = slice(first, first + _AT_ONCE)
        points = np.einsum("pc,scq->spq", places, simplices[among])
        values = model_matrix(points.reshape(-1, points.shape[2]), model)
        weighted = np.outer(volumes[among], weights).reshape(-1, 1) * values
        products = products + values.T @ weighted
    return np.asarray(products / volumes.sum())


def _cubature(dimensions: int, s: int) -> tuple[_Array, _Array]:
    """Barycentric points and weights of a mean over a simplex, exact up to degree 2 s + 1 (Grundmann & Möller 1978)."""
    degree = 2 * s + 1
    places, weights = [], []
    for i in range(s + 1):
        scale = degree + dimensions - 2 * i
        weight = (-1) ** i * scale**degree / (factorial(i) * factorial(degree + dimensions - i))
        for chosen in combinations_with_replacement(range(dimensions + 1), s - i):
            places.append([(2 * chosen.count(corner) + 1) / scale for corner in range(dimensions + 1)])
            weights.append(weight)
    return np.array(places), np.array(weights) / sum(weights)
