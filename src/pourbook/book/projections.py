"""From an entry that moves no liquid to rows: facts, mentions, counters, packed units, settings, recipes.

Pure: an entry in force gives the same statements when it is recorded and when a book is rebuilt.
(Pours and gauges are the business of `fold` and `refold`.)

>>> statements("note", {"item": "C000123Y", "text": "bung replaced"}, 7, 0, 7)
[('INSERT INTO mention (item, entry) VALUES (?, ?)', (984, 7))]
"""

from collections.abc import Iterator, Mapping
from typing import Any

from pourbook.codes.gs1 import number_in_sscc
from pourbook.codes.identifiers import KINDS, key_of, kind_of

__all__ = ["COUNT", "Statement", "remains", "statements"]

Statement = tuple[str, tuple[Any, ...]]

_FACT = (
    "INSERT INTO fact (item, name, happened, place, value) VALUES (?, ?, ?, ?, ?)"
    " ON CONFLICT (item, name, happened, place) DO UPDATE SET value = excluded.value"
)
_MENTION = "INSERT INTO mention (item, entry) VALUES (?, ?)"
_SETTING = "INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value"
_RECIPE = "INSERT INTO recipe (name, entry) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET entry = excluded.entry"
_UNIT = "INSERT INTO unit (sscc, item, entry) VALUES (?, ?, ?)"
COUNT = (
    "INSERT INTO counter (kind, next) VALUES (?, ?)"
    " ON CONFLICT (kind) DO UPDATE SET next = max(counter.next, excluded.next)"
)
"""Raises the next number of a kind."""


def statements(kind: str, body: Mapping[str, Any], number: int, happened: int, place: int) -> list[Statement]:
    """What an entry in force adds to the projections.

    Args:
        kind: of the entry.
        body: of the entry.
        number: of the entry.
        happened: when, in microseconds.
        place: number of the entry it stands in for; else its own.
    """
    rows = _ROWS.get(kind)
    return list(rows(body, number, happened, place)) if rows else []


def remains(kind: str, body: Mapping[str, Any], number: int) -> list[Statement]:
    """What an entry leaves that was voided or replaced: its number is not free again, and its items mention it."""
    if kind not in ("pour", "gauge"):
        rows = statements(kind, body, number, 0, 0)
        return [row for row in rows if any(table in row[0] for table in ("counter", "reserved", "mention", "unit"))]
    ends = [body["item"]] if kind == "gauge" else [line[end] for line in body["lines"] for end in ("from", "to")]
    # Identifiers begin with a capital; words for outside do not.
    return [(_MENTION, (key_of(end), number)) for end in dict.fromkeys(ends) if end[0].isupper()]


def _item(body: Mapping[str, Any], number: int, happened: int, place: int) -> Iterator[Statement]:
    key, kind = key_of(body["item"]), kind_of(body["item"])
    yield "INSERT INTO item (key, kind, entry) VALUES (?, ?, ?)", (key, kind, number)
    yield "DELETE FROM reserved WHERE key = ?", (key,)
    yield COUNT, (kind, key // len(KINDS) + 1)
    yield from _facts(body, number, happened, place)


def _facts(body: Mapping[str, Any], number: int, happened: int, place: int) -> Iterator[Statement]:
    key = key_of(body["item"])
    for name, value in body["facts"].items():
        yield _FACT, (key, name, happened, place, value)
    yield _MENTION, (key, number)


def _hold(body: Mapping[str, Any], number: int, happened: int, place: int) -> Iterator[Statement]:
    key = key_of(body["item"])
    yield _FACT, (key, "held", happened, place, "yes" if body["held"] else "")
    yield _MENTION, (key, number)


def _recall(body: Mapping[str, Any], number: int, happened: int, place: int) -> Iterator[Statement]:
    for identifier in body["held"]:
        yield _FACT, (key_of(identifier), "held", happened, place, "yes")
    yield from _paper(body, number, happened, place)


def _release(body: Mapping[str, Any], number: int, happened: int, place: int) -> Iterator[Statement]:
    for identifier in body["items"]:
        yield _FACT, (key_of(identifier), "held", happened, place, "")
    yield from _paper(body, number, happened, place)


def _note(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[Statement]:
    yield _MENTION, (key_of(body["item"]), number)


def _paper(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[Statement]:
    for identifier in dict.fromkeys(body["items"]):
        yield _MENTION, (key_of(identifier), number)


def _reserve(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[Statement]:
    for identifier in body["items"]:
        key = key_of(identifier)
        yield "INSERT INTO reserved (key, entry) VALUES (?, ?)", (key, number)
        yield COUNT, (kind_of(identifier), key // len(KINDS) + 1)


def _packed(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[Statement]:
    key, prefix, ssccs = key_of(body["item"]), body["prefix"], body["ssccs"]
    for sscc in ssccs:
        yield _UNIT, (int(sscc), key, number)
    yield COUNT, (f"sscc {prefix}", max(number_in_sscc(sscc, prefix) for sscc in ssccs) + 1)
    yield _MENTION, (key, number)


def _house(body: Mapping[str, Any], _number: int, _happened: int, _place: int) -> Iterator[Statement]:
    for name, value in body["settings"].items():
        yield (
            _SETTING,
            (name, value),
        )


def _recipe(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[Statement]:
    yield (
        _RECIPE,
        (body["name"], number),
    )


_ROWS = {
    "item": _item,
    "facts": _facts,
    "hold": _hold,
    "note": _note,
    "packed": _packed,
    "paper": _paper,
    "recall": _recall,
    "release": _release,
    "reserve": _reserve,
    "house": _house,
    "recipe": _recipe,
}
