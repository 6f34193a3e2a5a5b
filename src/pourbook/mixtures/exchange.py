"""Choosing rows of a matrix that tell most, by exchanging one at a time (Fedorov 1972, Cook & Nachtsheim 1980).

Columns are the terms of a model, rows the candidates; a row may be chosen more than once. Where there are several
blocks, each chosen row has that of its block beside it.

>>> candidates = np.array([[1.0, 0.0], [0.5, 0.5], [0.0, 1.0]])
>>> sorted(exchanged(candidates, 4))
[(0, 0), (0, 0), (2, 0), (2, 0)]
"""

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

__all__ = ["contrasts", "exchanged"]

_Array = NDArray[np.float64]

_BEGINNINGS = 12
_BETTER = 1e-9
"""By how much an exchange must better a design; less is rounding."""
_RIDGE = 1e-8
"""Information of nothing, so that a design that has too few rows as yet can be judged, too."""


def contrasts(blocks: int) -> _Array:
    """A row for each block, whose columns tell the blocks apart and add to zero over them; one block needs none."""
    return np.vstack([np.eye(blocks - 1), np.full((1, blocks - 1), -1.0)])


def exchanged(
    candidates: _Array, count: int, repeats: int = 0, blocks: int = 1, fixed: _Array | None = None,
    moments: _Array | None = None,
) -> list[tuple[int, int]]:  # fmt: skip
    """The best of several searches: `count` candidates by place, each with its block, counted from 0.

    The last `repeats` are taken again from those before. `fixed` rows are there already, in a block of their own where
    there are several. With `moments` (the mean products of every two terms) the mean variance of a prediction is made
    small, without them the determinant of the information is made great.
    """
    search = _Search.of(candidates, blocks, fixed, moments)
    slots = [slot % blocks for slot in range(count)]
    found = [search.found(slots, repeats, beginning) for beginning in range(_BEGINNINGS)]
    return max(found, key=lambda one: round(search.worth(one), 9))


class _Judged(NamedTuple):
    """What is known of rows chosen so far; for every block, of every candidate in it.

    `spread` is the candidates times the inverse of the information, `pull` times the inverse, the moments and the
    inverse again; `variance` and `relief` are these times the candidates themselves, row by row.
    """

    spread: tuple[_Array, ...]
    variance: tuple[_Array, ...]
    pull: tuple[_Array, ...]
    relief: tuple[_Array, ...]


class _Search(NamedTuple):
    """Candidates in each block, what is there already as information, and the moments (None: the determinant)."""

    rows: tuple[_Array, ...]
    there: _Array
    moments: _Array | None

    @classmethod
    def of(cls, candidates: _Array, blocks: int, fixed: _Array | None, moments: _Array | None) -> "_Search":
        """With columns for blocks, which no moment weighs."""
        is_there = fixed is not None and len(fixed) > 0
        of_blocks = contrasts(blocks + (is_there and blocks > 1))
        rows = tuple(_beside(candidates, of_blocks[block]) for block in range(blocks))
        more = of_blocks.shape[1]
        there = _RIDGE * np.eye(rows[0].shape[1])
        if fixed is not None and is_there:
            beside = _beside(fixed, of_blocks[-1])
            there = there + beside.T @ beside
        return cls(rows, there, None if moments is None else np.pad(moments, (0, more)))

    def worth(self, chosen: Sequence[tuple[int, int]]) -> float:
        """What is made great."""
        information = self._information(chosen)
        if self.moments is None:
            return float(np.linalg.slogdet(information)[1])
        return -float(np.log(np.trace(np.linalg.inv(information) @ self.moments)))

    def found(self, slots: Sequence[int], repeats: int, beginning: int) -> list[tuple[int, int]]:
        """Rows for blocks given in turn, by one search; the first takes the best row each time, others by lot."""
        lot = np.random.default_rng(beginning)
        chosen: list[tuple[int, int]] = []
        for block in slots[: len(slots) - repeats]:
            variance = self._judged(chosen).variance[block]
            chosen.append((int(np.argmax(variance * (lot.random(len(variance)) if beginning else 1.0))), block))
        chosen = self._improved(chosen)
        for block in slots[len(slots) - repeats :]:
            times = Counter(place for place, _ in chosen)
            rarest = [place for place, count in times.items() if count == min(times.values())]
            gains = self._gain_of_one_more(self._judged(chosen), block)
            chosen.append((max(sorted(rarest), key=lambda place: round(float(gains[place]), 9)), block))
        return chosen

    def _improved(self, chosen: list[tuple[int, int]]) -> list[tuple[int, int]]:
        """Exchanged until no exchange betters it."""
        chosen, judged, is_better = list(chosen), self._judged(chosen), True
        while is_better:
            is_better = False
            for slot, (place, block) in enumerate(chosen):
                gains = self._gain_of_exchange(judged, place, block)
                best = int(np.argmax(gains))
                if gains[best] > _BETTER:
                    chosen[slot], is_better = (best, block), True
                    judged = self._judged(chosen)
        return chosen

    def _information(self, chosen: Sequence[tuple[int, int]]) -> _Array:
        if not chosen:
            return self.there
        rows = np.array([self.rows[block][place] for place, block in chosen])
        return np.asarray(self.there + rows.T @ rows)

    def _judged(self, chosen: Sequence[tuple[int, int]]) -> _Judged:
        inverse = np.linalg.inv(self._information(chosen))
        spread = tuple(rows @ inverse for rows in self.rows)
        pull = () if self.moments is None else tuple(one @ self.moments @ inverse for one in spread)
        return _Judged(spread, _by_row(spread, self.rows), pull, _by_row(pull, self.rows[: len(pull)]))

    def _gain_of_exchange(self, judged: _Judged, place: int, block: int) -> _Array:
        """For every candidate, how much it would better the design in place of one row of its block."""
        variance, row = judged.variance[block], self.rows[block][place]
        shared, own = judged.spread[block] @ row, variance[place]
        ratio = np.maximum((1.0 + variance) * (1.0 - own) + shared**2, 1e-300)  # of the determinants, after and before
        if self.moments is None:
            return np.asarray(np.log(ratio))
        relief, pull = judged.relief[block], judged.pull[block] @ row
        gained = (1.0 - own) * relief + 2.0 * shared * pull - (1.0 + variance) * relief[place]
        return np.where(ratio > _BETTER, gained / ratio, -np.inf)

    def _gain_of_one_more(self, judged: _Judged, block: int) -> _Array:
        variance = judged.variance[block]
        return np.asarray(np.log1p(variance) if self.moments is None else judged.relief[block] / (1.0 + variance))


def _beside(rows: _Array, of_block: _Array) -> _Array:
    return np.hstack([rows, np.tile(of_block, (len(rows), 1))])


def _by_row(first: Sequence[_Array], second: Sequence[_Array]) -> tuple[_Array, ...]:
    return tuple((one * other).sum(axis=1) for one, other in zip(first, second, strict=True))
