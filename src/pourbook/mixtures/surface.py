"""How an attribute may run over a region of blends, learned from few glasses and honest about what it does not know.

A Gaussian process: a constant, slopes, curvature and interaction of second degree, and local departures of any form,
each with a size that is not known. Instead of one best size of each, every combination of `_SIZES` counts by how well
it explains the notes (its marginal likelihood), so that few glasses give wide doubt and not a bold curve. An assessor
who marks all glasses higher or lower than others has an offset of their own.

Compositions are taken relative to the range of each component in the region: ten parts in a hundred of the base and
one of the rich component may be steps of the same size.

Source: C. E. Rasmussen and C. K. I. Williams, Gaussian Processes for Machine Learning (2006), algorithm 2.1 and
equations 2.25 and 2.26 (from memory). Averaging over a grid of sizes is common practice.
"""

from itertools import product
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["Notes", "Surface", "surface"]

_SIZES = {
    "slope": (0.15, 0.5),
    "curve": (0.0, 0.3, 1.0),
    "local": (0.0, 0.1, 0.25),
    "error": (0.05, 0.1, 0.2, 0.3),
    "assessor": (0.0, 0.1),
}
"""Standard deviations as parts of the scale: of slopes and curvature over the whole range, of local departures, of one
note about the glass, and of assessors about each other."""
_REACH = 0.4
"""How far a local departure reaches, as part of the range."""
_COUNTING = 0.99
"""The likeliest combinations that together have this weight are kept."""


class Notes(NamedTuple):
    """What was tasted: a row for each note.

    Attributes:
        blends: compositions, notes by components, each row adding to one.
        values: what was noted, on the scale.
        assessors: number of the assessor of each note, from 0.
    """

    blends: "NDArray[np.float64]"
    values: "NDArray[np.float64]"
    assessors: "NDArray[np.int64]"


class _Member(NamedTuple):
    """One combination of sizes: its weight, and what predicting needs."""

    weight: float
    sizes: tuple[float, ...]
    lower: "NDArray[np.float64]"
    solved: "NDArray[np.float64]"


class Surface(NamedTuple):
    """A learned attribute.

    Attributes:
        low: least share of each component in the region.
        width: from there to the greatest, above zero.
        blends: of the notes.
        middle: mean of the notes.
        unit: length of the scale.
        members: the combinations of sizes that count.
    """

    low: "NDArray[np.float64]"
    width: "NDArray[np.float64]"
    blends: "NDArray[np.float64]"
    middle: float
    unit: float
    members: tuple[_Member, ...]

    def at(self, blends: "NDArray[np.float64]") -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
        """Mean and variance of the attribute itself (not of one more note) at blends by components."""
        means, variances = [], []
        for member in self.members:
            across, spread = self._known_of(member, blends)
            means.append(self.middle + across.T @ member.solved)
            variances.append(self._own(member, blends) - (spread**2).sum(axis=0))
        mean, between = self._over(means)
        return mean, np.maximum(
            self._weights @ np.array(variances) + (between**2 * self._weights[:, None]).sum(axis=0), 0.0
        )

    def together(self, blends: "NDArray[np.float64]", one: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """Covariance of the attribute at each of `blends` with that at `one` blend."""
        both = np.vstack([blends, one])
        means, covariances = [], []
        for member in self.members:
            across, spread = self._known_of(member, both)
            means.append(across.T @ member.solved)
            alike = self._alike(member, blends, one[None, :])[:, 0]
            covariances.append(alike - spread[:, :-1].T @ spread[:, -1])
        _, between = self._over(means)
        shared: NDArray[np.float64] = self._weights @ (np.array(covariances) + between[:, :-1] * between[:, -1:])
        return shared

    @property
    def _weights(self) -> "NDArray[np.float64]":
        return np.array([member.weight for member in self.members])

    def _over(self, means: "list[NDArray[np.float64]]") -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
        """The mean over all members, and by how much each differs from it."""
        each = np.array(means)
        mean = self._weights @ each
        return mean, each - mean

    def _known_of(
        self, member: _Member, blends: "NDArray[np.float64]"
    ) -> "tuple[NDArray[np.float64], NDArray[np.float64]]":
        """Covariance of the notes with the attribute at blends, and that freed of the notes' own."""
        across = self._alike(member, self.blends, blends)
        return across, np.linalg.solve(member.lower, across).astype(np.float64)

    def learned(self, blends: "NDArray[np.float64]", elsewhere: "NDArray[np.float64]") -> "NDArray[np.float64]":
        """By how much one note at each of `blends` would lower the mean variance over `elsewhere`."""
        found = np.zeros(len(blends))
        for member in self.members:
            spread, there = self._known_of(member, blends)[1], self._known_of(member, elsewhere)[1]
            shared = self._alike(member, blends, elsewhere) - spread.T @ there
            own = self._own(member, blends) - (spread**2).sum(axis=0)
            error = (member.sizes[3] ** 2 + member.sizes[4] ** 2) * self.unit**2
            found += member.weight * (shared**2).mean(axis=1) / (own + error)
        return found

    def _alike(
        self, member: _Member, first: "NDArray[np.float64]", second: "NDArray[np.float64]"
    ) -> "NDArray[np.float64]":
        return self.unit**2 * _covariance(self._relative(first), self._relative(second), member.sizes)

    def _own(self, member: _Member, blends: "NDArray[np.float64]") -> "NDArray[np.float64]":
        inner = (self._relative(blends) ** 2).sum(axis=1)
        slope, curve, local = member.sizes[:3]
        own: NDArray[np.float64] = self.unit**2 * (1.0 + slope**2 * inner + curve**2 * inner**2 + local**2)
        return own

    def _relative(self, blends: "NDArray[np.float64]") -> "NDArray[np.float64]":
        return (blends - self.low) / self.width - 0.5


def surface(
    notes: Notes, scale: tuple[float, float], region: "tuple[NDArray[np.float64], NDArray[np.float64]]"
) -> Surface:
    """Learn an attribute from notes on a scale; `region` is the least and the greatest share of each component."""
    low, high = region
    width = np.where(high - low > 0, high - low, 1.0)
    bare = Surface(low, width, notes.blends, float(notes.values.mean()), scale[1] - scale[0], ())
    relative, known = bare._relative(notes.blends), (notes.values - bare.middle) / bare.unit  # noqa: SLF001 -- its own
    same = notes.assessors[:, None] == notes.assessors[None, :]
    found = [_weighed(relative, known, same, sizes) for sizes in product(*_SIZES.values())]
    likeliest = max(member.weight for member in found)
    weighed = [member._replace(weight=float(np.exp(member.weight - likeliest))) for member in found]
    whole = sum(member.weight for member in weighed)
    kept: list[_Member] = []
    for member in sorted(weighed, key=lambda one: -one.weight):
        if sum(one.weight for one in kept) >= _COUNTING * whole:
            break
        kept.append(member)
    total = sum(member.weight for member in kept)
    members = (_Member(one.weight / total, one.sizes, one.lower * bare.unit, one.solved / bare.unit) for one in kept)
    return bare._replace(members=tuple(members))


def _weighed(
    relative: "NDArray[np.float64]", known: "NDArray[np.float64]", same: "NDArray[np.bool_]", sizes: tuple[float, ...]
) -> _Member:
    """One combination of sizes, with the logarithm of its marginal likelihood for its weight."""
    *_, error, assessor = sizes
    among = _covariance(relative, relative, sizes) + assessor**2 * same + error**2 * np.eye(len(known))
    lower = np.linalg.cholesky(among).astype(np.float64)
    solved = np.linalg.solve(lower.T, np.linalg.solve(lower, known))
    likelihood = -0.5 * float(known @ solved) - float(np.log(np.diag(lower)).sum())
    return _Member(likelihood, sizes, lower, solved)


def _covariance(
    first: "NDArray[np.float64]", second: "NDArray[np.float64]", sizes: tuple[float, ...]
) -> "NDArray[np.float64]":
    """Of the attribute at two sets of blends, in units of the scale: constant, slopes, curvature, local departures."""
    slope, curve, local = sizes[:3]
    inner = first @ second.T
    apart = (first**2).sum(axis=1)[:, None] + (second**2).sum(axis=1)[None, :] - 2.0 * inner
    departures = np.exp(-np.maximum(apart, 0.0) / (2.0 * _REACH**2))
    covariance: NDArray[np.float64] = 1.0 + slope**2 * inner + curve**2 * inner**2 + local**2 * departures
    return covariance
