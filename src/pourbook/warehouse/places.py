"""Places as a house writes them, read into rows, tiers and positions, and put in the order of a walk.

No house is made to write in another way: words and numbers are taken as they come. A number called tier is the height
(1 is the lowest), one called position, or a last one without a word, is where in its row a cask lies; all before is the
row. Where a house writes otherwise, a location says which number is which (`Storage.levels`).

>>> address("Warehouse 2, row 4, tier 3, position 7")
Address(row=(Step(word='warehouse', number=2), Step(word='row', number=4)), tier=3, position=7, storage=None)
>>> found = address("Row 3/12")
>>> found.row, found.tier, found.position
((Step(word='row', number=3),), 1, 12)
>>> in_walking_order(["Row 10/1", "Row 9/10", "", "Row 9/9"], str)
['Row 9/9', 'Row 9/10', 'Row 10/1', '']
>>> in_walking_order(["Row 1/1", "Row 1/2", "Row 2/1", "Row 2/2"], str, serpentine=True)
['Row 1/1', 'Row 1/2', 'Row 2/2', 'Row 2/1']
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple, TypeVar

from pourbook.errors import Malformed

__all__ = [
    "KINDS_OF_STORAGE", "OPEN_ENDS", "STORAGE_FACTS", "Address", "Step", "Storage", "address", "by_number",
    "in_walking_order", "lies_in", "steps", "storage_of",
]  # fmt: skip

KINDS_OF_STORAGE = ("racked", "stow", "pallets")
"""Racked: each cask is taken by itself. Stow: casks lie behind each other on rails, tier on tier. Pallets: casks stand
on pallets, stacked one behind the other."""

OPEN_ENDS = ("first", "last", "both")
"""The end of a row from which casks are taken out: where its first position is, its last, or either."""


_TIER, _POSITION = "tier", "position"
_PIECE = re.compile(r"([^0-9]*)([0-9]+)|([^0-9]+)$")
_MARKS = re.compile(r"[\s.:#_\-–]+")

_Thing = TypeVar("_Thing")


class Step(NamedTuple):
    """A part of a place: a word in small letters, and the number after it; None where there is none."""

    word: str
    number: int | None


class Storage(NamedTuple):
    """How casks lie at a location.

    Attributes:
        within: the location; a step without a number stands for all of its kind, "row" for every row.
        kind: of `KINDS_OF_STORAGE`; empty where nobody said.
        levels: what the numbers after its name are, in order; empty where their words say it.
        open_end: of `OPEN_ENDS`.
    """

    within: tuple[Step, ...]
    kind: str = ""
    levels: tuple[str, ...] = ()
    open_end: str = "first"


class Address(NamedTuple):
    """A place as it is read.

    Attributes:
        row: all that is neither tier nor position; empty where no place is known.
        tier: its height, 1 the lowest.
        position: where in its row; None where the place does not say.
        storage: how casks lie there; None where nobody said.
    """

    row: tuple[Step, ...]
    tier: int = 1
    position: int | None = None
    storage: Storage | None = None


def steps(place: str) -> tuple[Step, ...]:
    """The words and numbers of a place, in order.

    >>> steps("Cage B, Row-3/12")
    (Step(word='cage b', number=None), Step(word='row', number=3), Step(word='', number=12))
    """
    pieces = (match.groups("") for part in re.split(r"[,;/\\]", place.casefold()) for match in _PIECE.finditer(part))
    read = ((_MARKS.sub(" ", before or alone).strip(), number) for before, number, alone in pieces)
    return tuple(Step(word, int(number) if number else None) for word, number in read if word or number)


def lies_in(place: Sequence[Step], within: Sequence[Step]) -> bool:
    """Whether a place is another, or a part of it; a last step without a number stands for all of its kind.

    >>> [lies_in(steps("Row 3/12"), steps(one)) for one in ("row 3", "Row", "Row 30", "Row 3/12/1")]
    [True, True, False, False]
    """
    return len(place) >= len(within) and all(
        mine.word == theirs.word and theirs.number in (None, mine.number)
        for mine, theirs in zip(place, within, strict=False)
    )


def storage_of(name: str, facts: Mapping[str, str]) -> Storage | None:
    """How casks lie at a location, from its facts (`STORAGE_FACTS`); None where they say nothing of it."""
    if not STORAGE_FACTS.keys() & facts.keys():
        return None
    levels = tuple(part.strip() for part in facts.get("levels", "").split("/") if part.strip())
    return Storage(steps(name), facts.get("storage", ""), levels, facts.get("open_end", "first"))


def address(place: str, storages: Iterable[Storage] = ()) -> Address:
    """A place as row, tier and position; the nearest location around it says how."""
    parts = steps(place)
    around = [one for one in storages if one.within and lies_in(parts, one.within)]
    storage = max(around, key=lambda one: (len(one.within), one.within[-1].number is not None), default=None)
    begins = _named_by(storage) if storage else 0
    named = _named(parts[begins:], storage.levels if storage else (), is_whole=not begins)
    found = {name: step.number for step, name in named if step.number is not None and name in (_TIER, _POSITION)}
    row = tuple(step for step, name in named if name not in found)
    return Address((*parts[:begins], *row), found.get(_TIER, 1), found.get(_POSITION), storage)


def _named_by(storage: Storage) -> int:
    """How many steps of a place the name of its location fixes, with their numbers."""
    return len(storage.within) - (storage.within[-1].number is None and bool(storage.levels))


def _named(parts: Sequence[Step], levels: Sequence[str], *, is_whole: bool) -> list[tuple[Step, str]]:
    """Each step with what it is: as the levels say in order, else by its word; a last bare number is the position."""
    if levels:
        numbered = iter(levels)
        return [(step, step.word if step.number is None else next(numbered, step.word)) for step in parts]
    named = [(step, step.word) for step in parts]
    if named and not named[-1][1] and not (is_whole and len(named) == 1):
        named[-1] = (named[-1][0], _POSITION)
    return named


def in_walking_order(
    things: Iterable[_Thing], place_of: Callable[[_Thing], str], then: Callable[[_Thing], str] = lambda _: "",
    storages: Sequence[Storage] = (), *, serpentine: bool = False,
) -> list[_Thing]:  # fmt: skip
    """Things in the order of a walk past their places, those without one last; at one place in the order of `then`.

    Rows go by their words and numbers, each from its first position on, from the lowest tier up. A serpentine walk
    goes backwards through every other row that it visits.
    """
    found = [(address(place_of(thing), storages), thing) for thing in things]
    rows = {row: rank for rank, row in enumerate(sorted({at.row for at, _ in found if at.row}, key=_by_step))}

    def rank(one: tuple[Address, _Thing]) -> tuple[Any, ...]:
        at, thing = one
        row = rows.get(at.row, len(rows))
        position = at.position or 0
        return row, -position if serpentine and row % 2 else position, at.tier, by_number(then(thing))

    return [thing for _, thing in sorted(found, key=rank)]


def _by_step(row: Sequence[Step]) -> list[tuple[str, int]]:
    return [(step.word, -1 if step.number is None else step.number) for step in row]


def by_number(text: str) -> list[tuple[int, str]]:
    """A key that sorts names by the value of the numbers in them.

    >>> sorted(["Q 10", "Q 9", "q 1"], key=by_number)
    ['q 1', 'Q 9', 'Q 10']
    """
    return [(int(digits or 0), word.casefold()) for digits, word in re.findall(r"([0-9]*)([^0-9]*)", text)]


def _choice(choices: Sequence[str]) -> Callable[[str], str]:
    def checked(text: str) -> str:
        if text not in choices:
            raise Malformed(f"'{text}' is not one of: {', '.join(choices)}", f"choose from: {'  '.join(choices)}")
        return text

    return checked


def _levels(text: str) -> str:
    names = [part.strip() for part in text.split("/")]
    if not all(names) or len(set(names)) < len(names):
        raise Malformed(f"'{text}' does not name the numbers of a place", "write them in order: row/tier/position")
    return "/".join(names)


STORAGE_FACTS: Mapping[str, Callable[[str], str]] = {
    "storage": _choice(KINDS_OF_STORAGE),
    "levels": _levels,
    "open_end": _choice(OPEN_ENDS),
}
"""Facts of a location that say how casks lie there, each with what checks it (`Malformed`)."""
