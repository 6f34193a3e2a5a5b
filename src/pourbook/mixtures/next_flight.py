"""The next glasses of a bench: blends within bounds, in parts that a pipette can pour, with the reason and the doubt.

>>> from fractions import Fraction
>>> region = Region(("ash", "heather"), ((Fraction(0), Fraction(1)), (Fraction(0), Fraction(3, 20))))
>>> blends = np.array([[1.0, 0.0], [0.95, 0.05], [0.9, 0.1], [0.9, 0.1]])
>>> tasted = {"liking": Glasses(region.components, blends, np.array([4.0, 5.0, 6.5, 6.0]))}
>>> wishes, scales = (Wish("liking", "more"),), {"liking": (1.0, 9.0)}
>>> (found,) = next_flight(region, tasted, wishes, scales, count=1, seed=1)
>>> found.parts, found.proposal.why, found.best.tolist()
((85.0, 15.0), 'improves', [0.9, 0.1])
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from pourbook.errors import Malformed, OutOfRange
from pourbook.mixtures.glasses import Glasses
from pourbook.mixtures.next_glass import Proposal, expected, propose
from pourbook.mixtures.regions import Region, face_centroids, reached
from pourbook.mixtures.surface import Notes, Surface, surface
from pourbook.mixtures.wishes import Wish

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Matrix = NDArray[Any]

__all__ = ["Foreseen", "NextGlass", "next_flight"]

_STEP = 0.5
"""Parts of a hundred to which a proposal is rounded: half a millilitre of a glass of 100 ml."""
_DRAWN, _AROUND = 250, 150
"""Blends drawn at random within the region, and around the best."""
_NEAR = 0.25
"""How far around the best, as part of the way to a blend drawn at random."""
_MOST_GLASSES = 12
_SAME = 1e-9
_NO_FIGURES: Mapping[str, Sequence[float]] = {}


class Foreseen(NamedTuple):
    """An attribute foreseen in the proposed glass and in the best so far.

    Attributes:
        attribute: its name.
        mean, sd: mean and standard deviation in the proposed glass.
        best_mean, best_sd: in the best so far.
    """

    attribute: str
    mean: float
    sd: float
    best_mean: float
    best_sd: float


class NextGlass(NamedTuple):
    """A glass to pour next.

    Attributes:
        parts: of each component, in a hundred, in the order of the region.
        proposal: why, and how far it meets the wishes.
        foreseen: the attributes wished for.
        best: fractions of the tried blend that meets them best so far.
        nearest: number of the tried blend that is nearest, and `distance` to it: the part of the glass that differs.
        distance: half the sum of all differences of fractions.
    """

    parts: tuple[float, ...]
    proposal: Proposal
    foreseen: tuple[Foreseen, ...]
    best: "Matrix"
    nearest: "Matrix"
    distance: float


def next_flight(
    region: Region, tasted: Mapping[str, Glasses], wishes: Sequence[Wish], scales: Mapping[str, tuple[float, float]],
    count: int, seed: int, figures: Mapping[str, Sequence[float]] = _NO_FIGURES,
) -> tuple[NextGlass, ...]:  # fmt: skip
    """So many glasses to pour next; each after the first takes those before it as tasted and found as expected.

    The same `seed` draws the same candidates, so the same table gives the same answer. `tasted` has the glasses of each
    attribute that is learned, `figures` what each component counts of one that is known. Glasses outside the region
    teach, too.

    Raises:
        Malformed: there is no wish, or one of an attribute that is neither learned nor known.
        OutOfRange: too many glasses, a value off its scale, or bounds that admit no blend.
    """
    if not 1 <= count <= _MOST_GLASSES:
        raise OutOfRange(f"{count} glasses at once", f"ask for 1 to {_MOST_GLASSES}, and taste them")
    if not tasted:
        raise Malformed("nothing that was tasted is wished for", "wish for an attribute that was noted")
    _check_scales(tasted, scales)
    chance = np.random.default_rng(seed)
    ends = np.array([[float(end) for end in both] for both in reached(region)])
    offered = _offered(region, chance)
    notes = {name: _notes(glasses) for name, glasses in tasted.items()}
    counts = {name: np.array(values) for name, values in figures.items()}
    tried = np.unique(np.vstack([one.blends for one in notes.values()]).round(6), axis=0)
    known = learned = _learned(notes, scales, ends)
    best = tried[expected(known, wishes, scales, tried, counts).mean.argmax()]
    found: list[NextGlass] = []
    for _ in range(count):
        candidates = np.vstack([offered, _rounded(region, _around(best, offered, ends, chance))])
        others = [_parts(blend) not in {one.parts for one in found} for blend in candidates]
        chosen = propose(learned, wishes, scales, tried, candidates[others], counts)
        # what is shown of it leans on nothing but what was really tasted
        shown = propose(known, wishes, scales, tried, chosen.blend[None, :], counts)._replace(why=chosen.why)
        found.append(_told(shown, known, tried))
        notes = {name: _believed(one, chosen.blend, learned[name]) for name, one in notes.items()}
        learned = _learned(notes, scales, ends)
    return tuple(found)


def _learned(
    notes: Mapping[str, Notes], scales: Mapping[str, tuple[float, float]], ends: "Matrix"
) -> dict[str, Surface]:  # fmt: skip
    return {name: surface(one, scales[name], (ends[:, 0], ends[:, 1])) for name, one in notes.items()}


def _told(chosen: Proposal, learned: Mapping[str, Surface], tried: "Matrix") -> NextGlass:
    best = tried[chosen.best]
    foreseen = []
    for name, one in learned.items():
        mean, variance = one.at(np.vstack([chosen.blend, best]))
        sd = np.sqrt(variance)
        foreseen.append(Foreseen(name, *map(float, (mean[0], sd[0], mean[1], sd[1]))))
    apart = np.abs(tried - chosen.blend).sum(axis=1) / 2.0
    nearest = int(apart.argmin())
    return NextGlass(_parts(chosen.blend), chosen, tuple(foreseen), best, tried[nearest], float(apart[nearest]))


def _parts(blend: "Matrix") -> tuple[float, ...]:
    return tuple((100.0 * blend).round(6).tolist())


def _notes(glasses: Glasses) -> Notes:
    names = sorted(set(glasses.assessors)) or [""]
    who = [names.index(one) for one in glasses.assessors] or [0] * len(glasses.response)
    return Notes(glasses.blends, glasses.response, np.array(who))


def _believed(notes: Notes, blend: "Matrix", learned: Surface) -> Notes:
    """The notes, and one by nobody known that says of a blend what is expected."""
    expected = learned.at(blend[None, :])[0]
    nobody = np.array([int(notes.assessors.max()) + 1])
    return Notes(
        np.vstack([notes.blends, blend]), np.append(notes.values, expected), np.append(notes.assessors, nobody)
    )


def _check_scales(tasted: Mapping[str, Glasses], scales: Mapping[str, tuple[float, float]]) -> None:
    for name, glasses in tasted.items():
        low, high = scales[name]
        if off := [value for value in glasses.response.tolist() if not low <= value <= high]:
            raise OutOfRange(f"{name} {off[0]:g} is off its scale {low:g}..{high:g}", "correct it, or give its scale")


def _offered(region: Region, chance: np.random.Generator) -> "Matrix":
    """Blends over the whole region: corners, middles of faces, and some at random."""
    corners = np.array([[float(part) for part in blend] for blend in face_centroids(region)])
    drawn = chance.dirichlet(np.full(len(corners), 0.5), _DRAWN) @ corners
    return _rounded(region, np.vstack([corners, drawn]))


def _around(best: "Matrix", offered: "Matrix", ends: "Matrix", chance: np.random.Generator) -> "Matrix":
    """Blends on the way from the best into the region."""
    inside = offered if ((best >= ends[:, 0] - _SAME) & (best <= ends[:, 1] + _SAME)).all() else offered[:0]
    if not len(inside):
        return offered
    steps = chance.random((_AROUND, 1)) * _NEAR
    return np.asarray(best + steps * (inside[chance.integers(len(inside), size=_AROUND)] - best))


def _rounded(region: Region, blends: "Matrix") -> "Matrix":
    """Blends in whole steps that are still within the region; as they are where none is."""
    steps = round(100 / _STEP)
    scaled = blends * steps
    whole = np.floor(scaled + _SAME)
    left = np.round(steps - whole.sum(axis=1)).astype(int)
    order = np.argsort(whole - scaled, axis=1, kind="stable")
    for row, more in enumerate(left):
        whole[row, order[row, :more]] += 1
    within = _is_within(region, whole / steps)
    return np.asarray(np.unique(whole[within], axis=0) / steps if within.any() else blends)


def _is_within(region: Region, blends: "Matrix") -> "Matrix":
    ends = np.array([[float(end) for end in both] for both in region.bounds])
    inside = (blends >= ends[:, 0] - _SAME) & (blends <= ends[:, 1] + _SAME)
    kept = np.asarray(inside.all(axis=1))
    for limit in region.limits:
        sums = blends @ np.array([float(weight) for weight in limit.weights])
        if limit.low is not None:
            kept &= sums >= float(limit.low) - _SAME
        if limit.high is not None:
            kept &= sums <= float(limit.high) + _SAME
    return kept
