"""The glasses that teach most about a model of blends: D- and I-optimal choice from candidates of a region.

Candidates are vertices, centroids of edges, of faces and of the whole, and the points halfway between the vertices
and that (after McLean & Anderson 1966, Snee 1975). Glasses are exchanged for candidates as long as that betters the
design (Fedorov 1972, one glass at a time), from several beginnings, and the best is kept. The same request gives
the same design, and in whatever order the components are named.

>>> from fractions import Fraction
>>> whole = Region(("ash", "chestnut", "heather"), ((Fraction(0), Fraction(1)),) * 3)
>>> found = design(whole, Request(6, "quadratic"))
>>> [tuple(map(float, glass)) for glass in found.glasses][:3], f"{found.merit.d_efficiency:.3f}"
([(0.0, 0.0, 1.0), (0.0, 0.5, 0.5), (0.0, 1.0, 0.0)], '1.000')
"""

from collections.abc import Sequence
from functools import lru_cache
from typing import Literal, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from pourbook.errors import OutOfRange
from pourbook.mixtures.exchange import contrasts, exchanged
from pourbook.mixtures.moments import mean_products
from pourbook.mixtures.regions import Blend, Region, centroid, face_centroids, reached, simplices, vertices
from pourbook.mixtures.terms import MODELS, Model, model_matrix, terms
from pourbook.numerals import counted

__all__ = ["CRITERIA", "Criterion", "Design", "Merit", "Request", "candidates", "design", "judged", "laid_out"]

Criterion = Literal["D", "I"]
"""What is made small: the volume of the coefficients' joint confidence region (D), or the variance of a prediction,
on average over the region (I)."""

CRITERIA: tuple[Criterion, ...] = ("D", "I")

_MOST_POURED = 200
"""Of one design: more than a panel tastes in weeks, and as many as are chosen in seconds."""

_Array = NDArray[np.float64]
_NONE: _Array = np.empty(0)
_Value = TypeVar("_Value")

_BEST_WITHIN, _MOST_STEPS = 1e-6, 500
"""How near to the best design of any number of glasses its information is worked out, and in how many steps at most."""
_REMEMBERED = 4
"""Regions whose candidates are kept, since a design is chosen and then judged as it is poured."""


class Request(NamedTuple):
    """What is asked of a design.

    Attributes:
        glasses: how many to pour, repeats and all.
        model: what they are to tell.
        criterion: what is made small.
        repeats: how many of them are second glasses of another one.
        blocks: on how many days they are poured and tasted; a day may lie higher or lower as a whole.
        tried: blends that were tasted before and need not be poured again; a day of their own where there are blocks.
    """

    glasses: int
    model: Model = "quadratic"
    criterion: Criterion = "D"
    repeats: int = 0
    blocks: int = 1
    tried: tuple[Blend, ...] = ()


class Merit(NamedTuple):
    """How much glasses teach about a model, with what was tried before; differences of blocks are allowed for.

    Attributes:
        d: the p-th root of the determinant of the information per glass on the p terms, in fractions as they are.
        d_efficiency: that, of what the best design of any number of glasses on the candidates would have; 1 is best.
        g_efficiency: p / n of the greatest variance of a prediction at a candidate; 1 is best.
        mean_variance: of a prediction, on average over the region, in variances of one tasting.
    """

    d: float
    d_efficiency: float
    g_efficiency: float
    mean_variance: float


class Design(NamedTuple):
    """Glasses to pour.

    Attributes:
        glasses: in ascending order within each block.
        blocks: in which one, from 1, each of them is.
        merit: what they teach; None where they cannot tell all terms of the model.
    """

    glasses: tuple[Blend, ...]
    blocks: tuple[int, ...]
    merit: Merit | None


def candidates(region: Region, model: Model) -> tuple[Blend, ...]:
    """The blends that a design is chosen from, in ascending order: faces of as many dimensions as a model bends in.

    Raises as `regions.vertices`.
    """
    corners = vertices(region)
    middle = centroid(corners)
    spanned = len(simplices(region)[0]) - 1
    faces = face_centroids(region, {spanned - 1, *range(MODELS.index(model) + 1)})
    return tuple(sorted({*faces, middle, *(centroid((corner, middle)) for corner in corners)}))


def design(region: Region, asked: Request) -> Design:
    """The glasses that teach most about a model.

    Raises:
        OutOfRange: too few glasses for the model, or more repeats or blocks than glasses; a component that cannot
            vary within its bounds; no blend is within.
        Malformed: as `regions.vertices`.
    """
    _check(region, asked)
    order = _order(region, asked.tried)
    canonical = region._replace(
        components=_taken(region.components, order),
        bounds=_taken(region.bounds, order),
        limits=tuple(limit._replace(weights=_taken(limit.weights, order)) for limit in region.limits),
    )
    basis, tried = _basis(canonical, asked.model), [_taken(blend, order) for blend in asked.tried]
    chosen = exchanged(
        basis.rows, asked.glasses, asked.repeats, asked.blocks, basis.terms_of(tried),
        basis.moments if asked.criterion == "I" else None,
    )  # fmt: skip
    back = sorted(range(len(order)), key=order.__getitem__)
    glasses = sorted((block + 1, _taken(basis.blends[place], back)) for place, block in chosen)
    blends, blocks = tuple(blend for _, blend in glasses), tuple(block for block, _ in glasses)
    merit = _merit(basis, [basis.blends[place] for place, _ in chosen], [block for _, block in chosen], tried)
    return Design(blends, blocks, merit)


def laid_out(region: Region, glasses: Sequence[Blend], asked: Request) -> Design:
    """Glasses that were chosen otherwise, all in one block, with what they teach. Raises as `design`."""
    blends = tuple(sorted(glasses))
    blocks = (1,) * len(blends)
    return Design(blends, blocks, judged(region, asked, blends, blocks))


def judged(region: Region, asked: Request, glasses: Sequence[Blend], blocks: Sequence[int]) -> Merit | None:
    """What glasses in blocks teach, with what was tried; None where they cannot tell all terms. Raises as `design`."""
    _check_fixed(region)
    return _merit(_basis(region, asked.model), glasses, blocks, asked.tried)


def _taken(row: Sequence[_Value], order: Sequence[int]) -> tuple[_Value, ...]:
    return tuple(row[place] for place in order)


def _order(region: Region, tried: tuple[Blend, ...]) -> list[int]:
    """Components by what is asked of them, so that it does not matter in which order they were named."""
    return sorted(
        range(len(region.components)),
        key=lambda place: (
            region.bounds[place], [limit.weights[place] for limit in region.limits], [one[place] for one in tried]
        ),
    )  # fmt: skip


def _check_fixed(region: Region) -> None:
    names = region.components
    fixed = [name for name, (low, high) in zip(names, reached(region), strict=True) if low == high]
    if fixed:
        raise OutOfRange(
            f"{' and '.join(fixed)} cannot vary within the bounds, so no glass shows what more or less of it does",
            "widen the bounds, or leave it out",
        )


def _check(region: Region, asked: Request) -> None:
    _check_fixed(region)
    if asked.glasses > _MOST_POURED:
        raise OutOfRange(f"{asked.glasses} glasses in one design", f"ask for {_MOST_POURED} at most")
    if not 0 <= asked.repeats <= asked.glasses // 2:
        raise OutOfRange(f"{asked.repeats} of {asked.glasses} glasses cannot be repeats", "repeat half of them at most")
    names = region.components
    p, different = len(terms(len(names), asked.model)), asked.glasses - asked.repeats + len(set(asked.tried))
    needed = p + asked.blocks - 1 + bool(asked.blocks > 1 and asked.tried)
    if different < needed:
        of_days = f" and {counted(needed - p, 'difference')} between days" if needed > p else ""
        simpler = MODELS[: MODELS.index(asked.model)]
        raise OutOfRange(
            f"{counted(different, 'different glass', 'different glasses')} cannot tell the"
            f" {counted(p, 'term')} of a {asked.model} model of {len(names)} components{of_days}",
            f"give at least {asked.glasses + needed - different} glasses"
            + (f", or a simpler model: {' or '.join(simpler)}" if simpler else ""),
        )
    if not 1 <= asked.blocks <= asked.glasses:
        raise OutOfRange(f"{asked.glasses} glasses on {asked.blocks} days", "give a day one glass or more")


# -- how much glasses teach --------------------------------------------------------------


class _Basis(NamedTuple):
    """The terms of a model in a form in which they hardly depend on each other, however narrow the region.

    The terms of L-pseudocomponents, `(fraction - low) / (1 - all lows)`, span the same models as those of fractions;
    `onto` makes them orthonormal over the candidates.
    """

    model: Model
    lows: _Array
    onto: _Array
    blends: tuple[Blend, ...] = ()
    rows: _Array = _NONE
    moments: _Array = _NONE
    best: float = 0.0

    def pseudo(self, fractions: _Array) -> _Array:
        """Fractions as pseudocomponents."""
        return np.asarray((fractions - self.lows) / (1.0 - self.lows.sum()))

    def terms_of(self, blends: Sequence[Blend]) -> _Array:
        """The terms of blends, a row each."""
        fractions = np.array(blends, dtype=float).reshape(-1, len(self.lows))
        return np.asarray(model_matrix(self.pseudo(fractions), self.model) @ self.onto)


@lru_cache(_REMEMBERED)
def _basis(region: Region, model: Model) -> _Basis:
    """The candidates of a region; `moments` over it, and `best`, the greatest determinant that weights on them give."""
    lows = np.array([low for low, _ in reached(region)], dtype=float)
    blends = candidates(region, model)
    plain = _Basis(model, lows, np.eye(len(terms(len(lows), model))), blends)
    rows = plain.terms_of(blends)
    if np.linalg.matrix_rank(rows) < rows.shape[1]:
        raise OutOfRange(
            f"the bounds are too narrow for a {model} model: its terms cannot be told apart within them",
            "widen them, or give a simpler model",
        )
    onto = np.linalg.inv(np.linalg.qr(rows)[1]) * np.sqrt(len(rows))
    corners = plain.pseudo(np.array(vertices(region), dtype=float))
    products = mean_products(corners[np.array(simplices(region))], model)
    best = _best_determinant(rows @ onto)
    return plain._replace(onto=onto, rows=rows @ onto, moments=onto.T @ products @ onto, best=best)


def _best_determinant(rows: _Array) -> float:
    """The logarithm of the greatest determinant of information per glass that weights on candidates can have.

    By the multiplicative algorithm (Titterington 1976); candidates that the best design cannot have are left out on
    the way (Harman & Pronzato 2007). Where it stops, what may be left to gain (Kiefer & Wolfowitz 1960) is added.
    """
    p, weights = rows.shape[1], np.full(len(rows), 1.0 / len(rows))
    for _ in range(_MOST_STEPS):
        inverse = np.linalg.inv((rows * weights[:, None]).T @ rows)
        variances = ((rows @ inverse) * rows).sum(axis=1)
        over = variances.max() - p
        if over <= _BEST_WITHIN * p:
            break
        kept = variances >= p * (1.0 + over / 2.0 - np.sqrt(over * (4.0 + over - 4.0 / p)) / 2.0)
        rows, weights = rows[kept], (weights * variances)[kept]
        weights = weights / weights.sum()
    return float(p * np.log1p(over / p) - np.linalg.slogdet(inverse)[1])


def _merit(basis: _Basis, glasses: Sequence[Blend], blocks: Sequence[int], tried: Sequence[Blend]) -> Merit | None:
    """How much glasses teach, with what was tried; None where they cannot tell all terms."""
    blends, p = (*glasses, *tried), basis.rows.shape[1]
    days = [*blocks, *[-1] * len(tried)] if len(set(blocks)) > 1 else [0] * len(blends)
    information = _beside_days(basis.terms_of(blends), days)
    if len(blends) < p or np.linalg.matrix_rank(information) < p:
        return None
    inverse = np.linalg.inv(information)
    as_they_are = _beside_days(model_matrix(np.array(blends, dtype=float), basis.model), days)
    lost = np.linalg.slogdet(information)[1] - basis.best
    greatest = ((basis.rows @ inverse) * basis.rows).sum(axis=1).max()
    return Merit(
        float(np.exp(np.linalg.slogdet(as_they_are)[1] / p) / len(blends)),
        float(np.exp(lost / p) / len(blends)),
        float(p / (len(blends) * greatest)),
        float(np.trace(inverse @ basis.moments)),
    )


def _beside_days(rows: _Array, days: Sequence[int]) -> _Array:
    """Information on terms once the differences between days are told, too."""
    names = sorted(set(days))
    of_days = contrasts(len(names))[[names.index(day) for day in days]]
    shared = rows.T @ of_days
    return np.asarray(rows.T @ rows - shared @ np.linalg.pinv(of_days.T @ of_days) @ shared.T)
