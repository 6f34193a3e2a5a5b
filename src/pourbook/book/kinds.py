"""Every kind of entry, and all that the book does with it: one table.

A new kind is a class in `entries.py` and a line here; its own rules, rows and words stand in `rules.py`,
`entry_rows.py` and `entry_words.py`.

>>> kind_of_entry(Note("C000123Y", "bung replaced"))
'note'
>>> KIND_OF_NAME["note"].words({"item": "C000123Y", "text": "bung replaced"}, ".")
'note C-000123-Y: bung replaced'
"""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from pourbook.book import entry_rows, entry_words, rules
from pourbook.book.entries import (
    Close,
    Declared,
    Entry,
    Facts,
    Gauge,
    Hold,
    House,
    Imported,
    Item,
    Note,
    Packed,
    Paper,
    Pour,
    Recall,
    Recipe,
    Release,
    Reserve,
    Void,
)
from pourbook.book.entry_rows import Rows, Statement
from pourbook.book.rules import Rule

__all__ = ["KIND_OF_NAME", "Kind", "kind_of_entry", "remains", "statements"]


class Kind(NamedTuple):
    """What the book does with a kind of entry.

    Attributes:
        entry: its class; its name in lower case is the word for it in the journal.
        words: what an entry says in one line, from its body and the house's decimal mark.
        rules: what is checked before it is recorded, besides the rules of every entry.
        rows: what it adds to the projections while it counts.
        remains: what is left once it was voided or replaced; None for the part of `rows` that stays by itself.
        can_be_corrected: whether a later entry may void or replace it.
    """

    entry: type[Any]
    words: Callable[[Mapping[str, Any], str], str]
    rules: tuple[Rule, ...] = ()
    rows: Rows | None = None
    remains: Rows | None = None
    can_be_corrected: bool = False


_OF_NEW_ITEMS = (rules.item_is_new, rules.facts_are_text, rules.bottles_have_a_size)
_OF_FACTS = (rules.item_is_known, rules.facts_are_text)
_KINDS = (
    Kind(House, entry_words.house, (rules.settings_are_known,), entry_rows.house_rows),
    Kind(Item, entry_words.item, _OF_NEW_ITEMS, entry_rows.item_rows, can_be_corrected=True),
    Kind(Facts, entry_words.facts, _OF_FACTS, entry_rows.facts_rows, can_be_corrected=True),
    Kind(Pour, entry_words.pour, (), entry_rows.pending_row, entry_rows.touched_rows, can_be_corrected=True),
    Kind(Gauge, entry_words.gauge, (), None, entry_rows.touched_rows, can_be_corrected=True),
    Kind(Hold, entry_words.hold, (rules.item_is_known,), entry_rows.hold_rows, can_be_corrected=True),
    Kind(Note, entry_words.note, (rules.item_is_known,), entry_rows.mention_row, can_be_corrected=True),
    Kind(Packed, entry_words.packed, (rules.units_of_a_lot,), entry_rows.packed_rows, can_be_corrected=True),
    Kind(Recipe, entry_words.recipe, (rules.recipe_is_not_overwritten,), entry_rows.recipe_rows),
    Kind(Reserve, entry_words.reserve, (rules.reservable_numbers,), entry_rows.reserve_rows),
    Kind(Paper, entry_words.paper, (), entry_rows.mention_rows),
    Kind(Imported, entry_words.imported),
    Kind(Close, entry_words.close, (rules.nothing_pending,)),
    Kind(Declared, entry_words.declared, (rules.declarable_period,)),
    Kind(Recall, entry_words.recall, (rules.recall_in_order,), entry_rows.recall_rows),
    Kind(Release, entry_words.release, (rules.recall_not_released,), entry_rows.release_rows),
    Kind(Void, entry_words.void),
)  # fmt: skip

KIND_OF_NAME: Mapping[str, Kind] = {kind.entry.__name__.lower(): kind for kind in _KINDS}
"""By the word for it in the journal."""

_STAYING = ("counter", "reserved", "mention", "unit")
"""Tables whose rows stay though their entry no longer counts: an issued number is not free again."""


def kind_of_entry(entry: Entry) -> str:
    """The word for this kind of entry in the journal."""
    return type(entry).__name__.lower()


def statements(kind: str, body: Mapping[str, Any], number: int, happened: int, place: int) -> list[Statement]:
    """What an entry in force adds to the projections; `place` is the entry it stands in for, or its own number."""
    made = KIND_OF_NAME[kind].rows
    return list(made(body, number, happened, place)) if made else []


def remains(kind: str, body: Mapping[str, Any], number: int) -> list[Statement]:
    """What a voided or replaced entry leaves."""
    left = KIND_OF_NAME[kind].remains
    if left:
        return list(left(body, number, 0, 0))
    return [row for row in statements(kind, body, number, 0, 0) if any(table in row[0] for table in _STAYING)]
