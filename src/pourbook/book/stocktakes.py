"""Stocktakes: their rules, what they say in one line, the rows they add, and how they are read back.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> for entry in (Item("C000001H", {}), Stocktake("Autumn", "Row 3"), Seen("Autumn", "C000001H", "Row 3")):
...     _ = book.record(Draft(entry, 0, "M. Aldane"))
>>> taken = stocktake_named(book.store, "autumn")
>>> taken.stocktake.place, [(one.seen.id, one.who) for one in sightings(book.store, taken)], taken.end
('Row 3', [('C000001H', 'M. Aldane')], None)
"""

import json
from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from pourbook.book.cellar_entries import Misplaced, Seen, Stocktake
from pourbook.book.journal import Logged, entry_of
from pourbook.book.rules import Case
from pourbook.book.search import in_force, mentioning
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Malformed, Refused, Unknown
from pourbook.numerals import counted
from pourbook.texts import lookup_form

__all__ = [
    "OF_SIGHTINGS", "OF_STOCKTAKES", "Sighting", "Taken", "last_seen", "seen_before", "seen_rows", "seen_words",
    "sightings", "stocktake_named", "stocktake_rows", "stocktake_words", "stocktakes",
]  # fmt: skip

_Statement = tuple[str, tuple[Any, ...]]
_MENTION = "INSERT INTO mention (item, entry) VALUES (?, ?)"


class Taken(NamedTuple):
    """A stocktake: as it was begun, the entry that did, and the one that ended it with its result; None under way."""

    stocktake: Stocktake
    begun: Logged
    end: Logged | None
    result: Stocktake | None


class Sighting(NamedTuple):
    """What was seen in a stocktake: the entry's number, when it happened, who recorded it, and what."""

    entry: int
    happened_us: int
    who: str
    seen: Seen


# -- read back -------------------------------------------------------------------------


def stocktakes(store: Store) -> list[Taken]:
    """Every stocktake, in the order they were begun."""
    entries = [(one, _stocktake(one.entry["body"])) for one in in_force(store, "stocktake")]
    ends = {lookup_form(told.name): (one, told) for one, told in entries if told.ended}
    return [
        Taken(told, one, *ends.get(lookup_form(told.name), (None, None))) for one, told in entries if not told.ended
    ]


def stocktake_named(store: Store, name: str) -> Taken:
    """The stocktake of that name, in any case and spacing; `Unknown` where there is none."""
    every = stocktakes(store)
    found = [one for one in every if lookup_form(one.stocktake.name) == lookup_form(name)]
    if not found:
        known = ", ".join(one.stocktake.name for one in every[-8:])
        remedy = f"stocktakes are: {known}" if known else "begin one: pourbook stocktake open NAME"
        raise Unknown(f"no stocktake is called '{name}'", remedy)
    return found[0]


def sightings(store: Store, taken: Taken) -> list[Sighting]:
    """All that was seen in a stocktake, in the order it was recorded."""
    name = taken.stocktake.name
    within = in_force(store, "seen", containing=f'"stocktake":{json.dumps(name, ensure_ascii=False)}')
    return [one for one in map(_sighting, within) if one.seen.stocktake == name]


def last_seen(store: Store, taken: Taken) -> tuple[int, Logged]:
    """How many sightings a stocktake has so far, and the last of them; where there is none, what began it."""
    begun, name = taken.begun.number, json.dumps(taken.stocktake.name, ensure_ascii=False)
    ((count, last),) = store.query(
        "SELECT count(*), max(number) FROM entry WHERE kind = 'seen' AND kind NOT IN ('pour', 'gauge', 'item')"
        " AND number > ? AND gone = 0 AND instr(bytes, ?) > 0",
        (begun, f'"stocktake":{name}'),
    )
    return count, entry_of(store, last or begun)


def seen_before(store: Store, name: str, item: str) -> list[Sighting]:
    """Where and when an item was seen in a stocktake so far."""
    logged = mentioning(store, [key_of(item)], "seen").get(key_of(item), [])
    return [one for one in map(_sighting, logged) if one.seen.stocktake == name]


def _sighting(logged: Logged) -> Sighting:
    body = logged.entry["body"]
    told = {name: value for name, value in body.items() if name in Seen._fields}
    seen = Seen(**{**told, "id": body.get("item", ""), "illegible": "illegible" in body})
    return Sighting(logged.number, logged.happened_us, logged.entry["who"], seen)


def _stocktake(body: Mapping[str, Any]) -> Stocktake:
    lists = {name: tuple(body.get(name, ())) for name in ("found", "missing", "emptied", "illegible", "unknown")}
    extra = tuple(Misplaced(**one) for one in body.get("extra", ()))
    return Stocktake(body["name"], body.get("place", ""), "ended" in body, extra=extra, **lists)


# -- rules -----------------------------------------------------------------------------


def stocktake_has_a_name_of_its_own(case: Case) -> None:
    """A name is of one stocktake, which is begun once and ended once."""
    name, ended = case.entry.name, case.entry.ended
    if not name.strip():
        raise Malformed("the stocktake has no name", "give it one: 'autumn 2026'")
    found = [
        one for one in stocktakes(case.known.store) if lookup_form(one.stocktake.name) == lookup_form(name)
    ]  # fmt: skip
    if found and not ended:
        raise Refused(f"a stocktake is called '{found[0].stocktake.name}' already", "give this one a name of its own")
    if ended and not found:
        raise Unknown(f"no stocktake is called '{name}'", "begin it: pourbook stocktake open NAME")
    if found and found[0].end is not None:
        raise Refused(f"the stocktake '{name}' has ended", "begin another: pourbook stocktake open NAME")


def stocktake_is_of_known_items(case: Case) -> None:
    """What is missing, found or elsewhere is in the book."""
    told = case.entry
    for item in (*told.found, *told.missing, *told.emptied, *(one.item for one in told.extra)):
        case.known.key(item)


def sighting_is_of_something(case: Case) -> None:
    """An item, a code or a label that could not be read is seen, in a stocktake that is under way."""
    seen = case.entry
    if bool(seen.id or seen.illegible) is bool(seen.code):
        raise Malformed("nothing, or two things, were seen", "scan an item, or say illegible")
    if seen.id:
        case.known.key(seen.id)
    taken = stocktake_named(case.known.store, seen.stocktake)
    if taken.end is not None:
        raise Refused(f"the stocktake '{seen.stocktake}' has ended", "begin another: pourbook stocktake open NAME")


OF_STOCKTAKES = (stocktake_has_a_name_of_its_own, stocktake_is_of_known_items)
OF_SIGHTINGS = (sighting_is_of_something,)


# -- words and rows --------------------------------------------------------------------


def stocktake_words(body: Mapping[str, Any], _mark: str) -> str:
    """Where it is taken, or how many of what were found."""
    if "ended" not in body:
        return f"stocktake {body['name']} begun: {body.get('place') or 'the whole house'}"
    elsewhere = counted(len(body.get("extra", ())), "item") + " elsewhere than in the book"
    lists = ("found", "missing", "emptied", "illegible", "unknown")
    told = [f"{len(body[name])} {name}" for name in lists if body.get(name)]
    told += [elsewhere] if body.get("extra") else []
    return f"stocktake {body['name']} ended: {', '.join(told) or 'nothing found'}"


def seen_words(body: Mapping[str, Any], _mark: str) -> str:
    """What was seen, and where."""
    code = f"unknown code '{body['code']}'" if "code" in body else ""
    what = hyphened(body["item"]) if body.get("item") else code or "a label"
    where = f" at {body['place']}" if "place" in body else ""
    return f"seen {what}{where}{' (illegible)' if 'illegible' in body else ''}: stocktake {body['stocktake']}"


def stocktake_rows(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[_Statement]:
    """The items that it found missing, elsewhere or without a readable label; those in their place were seen."""
    for item in dict.fromkeys((*body.get("missing", ()), *(one["item"] for one in body.get("extra", ())))):
        yield _MENTION, (key_of(item), number)


def seen_rows(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[_Statement]:
    """The item that was seen."""
    if body.get("item"):
        yield _MENTION, (key_of(body["item"]), number)
