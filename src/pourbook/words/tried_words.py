"""What was tried in words: what a part is called, what changed, what was thought of it, which is the best so far.

>>> from pourbook.bench.trials import Difference
>>> changes_words([Difference("C000001H", 0.06, 0.03), Difference("water", 0.1, 0.13)], {"C000001H": "Q 204"}, ".")
'−3.00 Q 204, +3.00 water'
>>> from pourbook.queries.trials.opinions import Ahead, Mean
>>> mean_words(Mean(80.0, 0.58, 3, 4), "."), ahead_words(Ahead("T000002M", 7.5, 19.06, 2), ".")
('80.0 ± 0.6 (3)', 'not told apart, +7.5 ± 19.1 by the 2 who tasted both')
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened, named
from pourbook.numerals import counted, shown
from pourbook.queries.items.called import at_sight
from pourbook.queries.trials.family import LEAST_CHANGE
from pourbook.queries.trials.opinions import set_apart

if TYPE_CHECKING:
    from pourbook.bench.trials import Difference
    from pourbook.queries.traces.made_of import Composition
    from pourbook.queries.trials.family import Member
    from pourbook.queries.trials.opinions import Ahead, Best, Mean

__all__ = [
    "MOST_CHANGES", "UNSAID", "ahead_words", "best_words", "changes_words", "made_words", "mean_words", "part_words",
    "signed",
]  # fmt: skip

UNSAID = "not recorded"
"""Stands for the wood, spirit or component of a cask that has none in the book."""

MOST_CHANGES = 3
"""So many differences between two blends are told where they stand in one line."""


def part_words(part: str, called: Mapping[str, str]) -> str:
    """A part of a blend: what it is called, or else its identifier; a wood, spirit or component as it is."""
    return called.get(part) or (named(part) if part else UNSAID)


def changes_words(parts: "Iterable[Difference]", called: Mapping[str, str], mark: str) -> str:
    """What is more and what is less, in parts of a hundred."""
    seen = (one for one in parts if abs(one.change) >= LEAST_CHANGE)
    return ", ".join(f"{signed(one.change, mark)} {part_words(one.component, called)}" for one in seen)


def made_words(one: "Member", called: Mapping[str, str]) -> str:
    """The batches that were made by a trial; empty where it was made in none."""
    return f"made as {', '.join(called[batch] or hyphened(batch) for batch in one.batches)}" if one.batches else ""


def signed(change: float, mark: str, digits: int = 2) -> str:
    """A change in per cent, without a sign where it is shown as nothing."""
    written = shown(abs(change) * 100, digits, mark)
    return _with_sign(written, change)


def _with_sign(written: str, value: float) -> str:
    return written if not written.strip("0.,") else f"{'−' if value < 0 else '+'}{written}"


def mean_words(mean: "Mean | None", mark: str) -> str:
    """A mean with its standard error, and by how many tasters; empty for none."""
    if mean is None:
        return ""
    error = "" if mean.error is None else f" ± {shown(mean.error, 1, mark)}"
    return f"{shown(mean.mean, 1, mark)}{error} ({mean.tasters})"


def ahead_words(other: "Ahead", mark: str) -> str:
    """How far the best is ahead of another, and whether that may be said."""
    if other.band is None:
        both = counted(other.both, "person", "persons") if other.both else "nobody"
        return f"{other.stands}: {both} tasted both"
    ahead = _with_sign(shown(abs(other.ahead), 1, mark), other.ahead)
    return f"{other.stands}, {ahead} ± {shown(other.band, 1, mark)} by the {other.both} who tasted both"


def best_words(
    best: "Best | None", made_of: "Mapping[str, Composition]", called: Mapping[str, str], mark: str
) -> Iterator[str]:
    """The best so far, how sure that is, and what sets it apart from those next to it; nothing where there is none."""
    if best is None:
        return
    mean = best.mean
    notes = f"{counted(mean.notes, 'note')} by {counted(mean.tasters, 'taster')}"
    doubt = "" if mean.error is None else f", standard error {shown(mean.error, 1, mark)}"
    name = at_sight(best.name, called[best.name])
    stands = "best so far" if best.others else f"the only one with a {best.by}"
    yield f"{stands}: {name}, {best.by} {shown(mean.mean, 1, mark)} ({notes}{doubt})"
    for other, apart in zip(best.others, set_apart(best, made_of), strict=True):
        what = changes_words(apart[:MOST_CHANGES], called, mark) or "the same in it"
        yield f"  beside {at_sight(other.name, called[other.name])}: {ahead_words(other, mark)}"
        yield f"    it has {what}"
