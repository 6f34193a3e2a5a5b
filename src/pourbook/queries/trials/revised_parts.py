"""The parts of a trial revised by what changes: "chestnut -2, apple +2".

>>> from pourbook import Book, Draft, Item, Recipe
>>> book = Book.create(":memory:", house="Quillmere")
>>> parts = (RecipePart("V000001R", "96", "base"), RecipePart("V000002P", "4"))
>>> opened = Item("V000001R", {"wood": "oak"}), Item("V000002P", {"wood": "chestnut"}), Recipe("Ash", parts)
>>> trial = Item("T000002M", {"follows": "Ash", "total": "100 ml"})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (*opened, trial)))
>>> changes = PartChange("chestnut", "-1.5"), PartChange("water", "+1.5")
>>> [(part.component, part.parts) for part in revised_parts(book, "T000002M", changes)]
[('V000001R', '96'), ('V000002P', '2.5'), ('water', '1.5')]
"""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.kept_parts import changed
from pourbook.bench.trials import WATER
from pourbook.book.entries import RecipePart
from pourbook.book.items import facts
from pourbook.codes.identifiers import key_of, named
from pourbook.errors import Ambiguous, Malformed, OutOfRange, Unknown
from pourbook.numerals import EXACT, as_decimal, read_decimal
from pourbook.queries.traces.behind import sources_behind
from pourbook.queries.trials.components import component_or_item
from pourbook.queries.trials.trial_plan import kept_parts, recipe_of_trial
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["PartChange", "revised_parts"]


class PartChange(NamedTuple):
    """A change of a recipe: a component (identifier, ref, or a word of its wood or role), and parts such as "-2"."""

    component: str
    by: str


def revised_parts(book: "BookCore", trial: str, changes: Iterable[PartChange]) -> tuple[RecipePart, ...]:
    """The parts of the recipe that a trial follows, with changes; what has none left is not in it.

    Bounds stay as they are, whether a part is still in them or not. Fixed parts keep their part of the whole, and parts
    in a ratio change together.

    Raises:
        Refused: the trial follows no recipe.
        Malformed: a change is no number with a sign.
        OutOfRange: fewer than none would be left of a component, or parts that are kept leave no room for a change.
        Unknown, Ambiguous: the component is not known.
    """
    mark = book.settings["decimal_mark"]
    parts = {part.component: part for part in recipe_of_trial(book.store, book.find(trial))[0].recipe.parts}
    changed_by: dict[str, Fraction] = {}
    for component, by in changes:
        if by[:1] not in ("+", "-", "−"):
            raise Malformed(f"'{by}' is not a change of {component}", "write how many parts more or less: +2 or -2")
        change = Fraction(read_decimal(by[1:], mark)) * (1 if by[0] == "+" else -1)
        found = _component(book, parts, component)
        before = parts.setdefault(found, RecipePart(found, "0")).parts
        changed_by[found] = changed_by.get(found, Fraction(0)) + change
        if Fraction(read_decimal(before, mark)) + changed_by[found] < 0:
            raise OutOfRange(f"{named(found)} has {before} parts, so {by} is too much", "take less")
    after = changed(kept_parts(parts.values(), mark), changed_by)
    return tuple(one._replace(parts=_typed(after[name], mark)) for name, one in parts.items() if after[name])


def _typed(part: Fraction, mark: str) -> str:
    """A part as a person types it."""
    return f"{as_decimal(part).normalize(EXACT):f}".replace(".", mark)


def _component(book: "BookCore", parts: Mapping[str, RecipePart], text: str) -> str:
    """A component by its word, or any item of the book by its name."""
    if text == WATER:
        return WATER
    by_kind = [name for name, part in parts.items() if lookup_form(part.stands_for) == lookup_form(text)]
    try:
        return by_kind[0] if by_kind else component_or_item(book, text)
    except Unknown as unknown:
        word = text.casefold()
        found = [name for name, part in parts.items() if any(word in told for told in _words_of(book, part))]
        if len(found) > 1:
            raise Ambiguous(f"'{text}' may be {' or '.join(map(named, found))}", "name the item") from None
        if not found:
            raise Unknown(f"no component is called '{text}', and nothing else in the book", unknown.remedy) from None
        return found[0]


def _words_of(book: "BookCore", part: RecipePart) -> list[str]:
    """What a component and the casks behind it are called, in small letters."""
    if part.component == WATER:
        return [WATER]
    items = (part.component, *sources_behind(book.store, part.component))
    known = [facts(book.store, key_of(item)) for item in items]
    return [part.role.casefold(), *(one.get(name, "").casefold() for one in known for name in ("ref", "name", "wood"))]
