"""From the body of an entry to rows of the projections: facts, mentions, counters, packed units, settings, recipes.

An entry in force gives the same statements when it is recorded and when a book is rebuilt. `kinds.py` says
which rows a kind of entry has; contents and lineage are the business of `fold` and `refold`.

>>> list(mention_row({"item": "C000123Y", "text": "bung replaced"}, 7, 0, 7))
[('INSERT INTO mention (item, entry) VALUES (?, ?)', (984, 7))]
"""

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from pourbook.codes.gs1 import number_in_sscc
from pourbook.codes.identifiers import KINDS, key_of, kind_of

__all__ = [
    "COUNT", "Rows", "Statement", "facts_rows", "hold_rows", "house_rows", "item_rows", "mention_row", "mention_rows",
    "packed_rows", "pending_row", "recall_rows", "recipe_rows", "release_rows", "reserve_rows", "touched_rows",
]  # fmt: skip

Body = Mapping[str, Any]
Statement = tuple[str, tuple[Any, ...]]
Rows = Callable[[Body, int, int, int], Iterator[Statement]]
"""Body, number of the entry, moment, and place (number of the entry it stands in for; else its own)."""

_FACT = (
    "INSERT INTO fact (item, name, happened, place, value) VALUES (?, ?, ?, ?, ?)"
    " ON CONFLICT (item, name, happened, place) DO UPDATE SET value = excluded.value"
)
_MENTION = "INSERT INTO mention (item, entry) VALUES (?, ?)"
_SETTING = "INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value"
_RECIPE = "INSERT INTO recipe (name, entry) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET entry = excluded.entry"
_PENDING = "INSERT INTO pending (entry) VALUES (?)"
_UNIT = "INSERT INTO unit (sscc, item, entry) VALUES (?, ?, ?)"
COUNT = (
    "INSERT INTO counter (kind, next) VALUES (?, ?)"
    " ON CONFLICT (kind) DO UPDATE SET next = max(counter.next, excluded.next)"
)
"""Raises the next number of a kind."""


def item_rows(body: Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    """An item enters the book."""
    key, kind = key_of(body["item"]), kind_of(body["item"])
    yield "INSERT INTO item (key, kind, entry) VALUES (?, ?, ?)", (key, kind, number)
    yield "DELETE FROM reserved WHERE key = ?", (key,)
    yield COUNT, (kind, key // len(KINDS) + 1)
    yield from facts_rows(body, number, happened, place)


def facts_rows(body: Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    """Facts of an item from a moment on."""
    key = key_of(body["item"])
    for name, value in body["facts"].items():
        yield _FACT, (key, name, happened, place, value)
    yield _MENTION, (key, number)


def hold_rows(body: Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    """An item is held, or released."""
    key = key_of(body["item"])
    yield _FACT, (key, "held", happened, place, "yes" if body["held"] else "")
    yield _MENTION, (key, number)


def recall_rows(body: Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    """Items are held by a recall."""
    for identifier in body["held"]:
        yield _FACT, (key_of(identifier), "held", happened, place, "yes")
    yield from mention_rows(body, number, happened, place)


def release_rows(body: Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    """Items are released by the end of a recall."""
    for identifier in body["items"]:
        yield _FACT, (key_of(identifier), "held", happened, place, "")
    yield from mention_rows(body, number, happened, place)


def mention_row(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """An entry concerns an item."""
    yield _MENTION, (key_of(body["item"]), number)


def mention_rows(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """An entry concerns items."""
    for identifier in dict.fromkeys(body["items"]):
        yield _MENTION, (key_of(identifier), number)


def reserve_rows(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """Numbers are set aside."""
    for identifier in body["items"]:
        key = key_of(identifier)
        yield "INSERT INTO reserved (key, entry) VALUES (?, ?)", (key, number)
        yield COUNT, (kind_of(identifier), key // len(KINDS) + 1)


def packed_rows(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """Cases and pallets have numbers of their own."""
    key, prefix, ssccs = key_of(body["item"]), body["prefix"], body["ssccs"]
    for sscc in ssccs:
        yield _UNIT, (int(sscc), key, number)
    yield COUNT, (f"sscc {prefix}", max(number_in_sscc(sscc, prefix) for sscc in ssccs) + 1)
    yield _MENTION, (key, number)


def house_rows(body: Body, _number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """Settings now."""
    for name, value in body["settings"].items():
        yield _SETTING, (name, value)


def recipe_rows(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """The latest entry of a recipe."""
    yield _RECIPE, (body["name"], number)


def pending_row(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """A pour waits for a strength that the laboratory has still to read."""
    if any("pending" in line for line in body["lines"]):
        yield _PENDING, (number,)


def touched_rows(body: Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    """What remains of a pour or a gauge that was voided or replaced: its items mention it."""
    ends = [body["item"]] if "item" in body else [line[end] for line in body["lines"] for end in ("from", "to")]
    # Identifiers begin with a capital; words for outside do not.
    for end in dict.fromkeys(ends):
        if end[0].isupper():
            yield _MENTION, (key_of(end), number)
