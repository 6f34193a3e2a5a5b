"""Every kind of entry, and all that the book does with it: one table.

Before it stand what each kind says in one line, and the rows (facts, mentions, counters …) it adds while it counts.
A new kind is a class in `entries.py`, with its name in the union there, and a line of the table here with its words
and rows before it. Rules of its own stand in `rules.py`. Nothing reads the words back; an entry in force gives the
same rows when it is recorded and when a book is rebuilt.

>>> kind_of_entry(entries.Note("C000123Y", "bung replaced"))
'note'
>>> KIND_OF_NAME["note"].words({"item": "C000123Y", "text": "bung replaced"}, ".")
'note C-000123-Y: bung replaced'
>>> statements("note", {"item": "C000123Y", "text": "bung replaced"}, 7, 0, 7)
[('INSERT INTO mention (item, entry) VALUES (?, ?)', (984, 7))]
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book import (
    approval_rules,
    blending_rules,
    bottling_rules,
    component_rules,
    entries,
    glass_rules,
    keys,
    lot_rules,
    rules,
    session_rows,
    session_rules,
    site_rules,
    stocktakes,
    tasting_rows,
    tasting_rules,
)
from pourbook.book.entries import Entry
from pourbook.book.gauge_readings import readings
from pourbook.book.rules import Rule
from pourbook.codes.gs1 import number_in_sscc
from pourbook.codes.identifiers import KINDS, hyphened, key_of, kind_of, named, readable, several
from pourbook.consignments import consigned
from pourbook.liquid import in_grams
from pourbook.numerals import counted
from pourbook.texts import lookup_form

__all__ = [
    "COUNT", "KIND_OF_NAME", "Kind", "Rows", "Statement", "about", "amount_of_line", "kind_of_entry", "remains",
    "statements",
]  # fmt: skip

_Body = Mapping[str, Any]
Statement = tuple[str, tuple[Any, ...]]
Rows = Callable[[_Body, int, int, int], Iterator[Statement]]
"""Body, number of the entry, moment, and place (number of the entry it stands in for; else its own)."""

_FACT = (
    "INSERT INTO fact (item, name, happened, place, value, lookup) VALUES (?, ?, ?, ?, ?, ?)"
    " ON CONFLICT (item, name, happened, place) DO UPDATE SET value = excluded.value, lookup = excluded.lookup"
)
_NAMES = ("ref", "lot_mark")
"""Facts by which an item is found."""
_MENTION = "INSERT INTO mention (item, entry) VALUES (?, ?)"
_SETTING = "INSERT INTO setting (name, value) VALUES (?, ?) ON CONFLICT (name) DO UPDATE SET value = excluded.value"
_NAMED = "INSERT INTO {} (name, entry, lookup) VALUES (?, ?, ?) ON CONFLICT (name) DO UPDATE SET entry = excluded.entry"
_PENDING = "INSERT INTO pending (entry) VALUES (?)"
_UNIT = "INSERT INTO unit (sscc, item, entry) VALUES (?, ?, ?) ON CONFLICT (sscc) DO NOTHING"  # two sites of a group
COUNT = (
    "INSERT INTO counter (kind, next) VALUES (?, ?)"
    " ON CONFLICT (kind) DO UPDATE SET next = excluded.next WHERE counter.next < excluded.next"
)
"""Raises the next number of a kind."""


class Kind(NamedTuple):
    """What the book does with a kind of entry.

    Attributes:
        entry: its class; its name in lower case is the word for it in the journal.
        words: what an entry says in one line, from its body and the house's decimal mark.
        rules: what is checked before it is recorded, besides the rules of every entry.
        rows: what it adds to the projections while it counts.
        remains: what is left once it was voided or replaced; None for the part of `rows` that stays by itself.
        can_be_corrected: whether a later entry may void or replace it.
        tables: whose rows name the entry and go when it is corrected; facts and items go by themselves.
    """

    entry: type[Any]
    words: Callable[[_Body, str], str]
    rules: tuple[Rule, ...] = ()
    rows: Rows | None = None
    remains: Rows | None = None
    can_be_corrected: bool = False
    tables: tuple[str, ...] = ()


# -- what each says, from its body and the decimal mark ---------------------------------


def _pour(body: _Body, mark: str) -> str:
    line, *more = body["lines"]
    rest = _more_lines(line, more)
    rest += f", work of recall {line['recall']}" if "recall" in line else ""
    return f"{body['verb']}: {amount_of_line(line, mark)}{_ends(line, body['verb'])}{rest}"


def _more_lines(line: _Body, more: Sequence[_Body]) -> str:
    """How many lines follow the first, and what they are: sources of the same target, targets, or neither."""
    if not more:
        return ""
    what = "source" if all(one["to"] == line["to"] for one in more) else ""
    what = what or ("target" if all(one["from"] == line["from"] for one in more) else "pour")
    return f" and {len(more)} more {what}{'' if len(more) == 1 else 's'}"


def _ends(line: _Body, verb: str) -> str:
    """From where into what, without what the verb says already; whom it was sent to, or how it was lost."""
    source, target, facts = line["from"], line["to"], line.get("facts", {})
    word = "of" if source in ("water", "additive") else "from"
    said = "" if source in (verb, "origin") else f" {word} {named(source)}"
    said += "" if target == verb else f" into {named(target)}"
    told = consigned(facts) or facts.get("customer") or facts.get("disposition")
    told = told or (facts.get("planned") and "not planned")
    return f"{said} ({told})" if told else said


def amount_of_line(line: _Body, mark: str) -> str:
    """How much a line moves: bottles, as typed, or in grams with this decimal mark."""
    if "bottles" in line.get("facts", {}):
        return counted(int(line["facts"]["bottles"]), "bottle")
    typed = line.get("typed", {}).get("amount")
    return typed or ("all" if "all" in line else in_grams(line["mass"], mark))


def _gauge(body: _Body, mark: str) -> str:
    read = readings(body)
    if not read and "mass" in body:
        read = [in_grams(body["mass"], mark)]
    return f"gauge {hyphened(body['item'])} {', '.join(read)}".rstrip()


def _house(body: _Body, _mark: str) -> str:
    return f"settings: {about({**body['settings'], **body.get('settings_there', {})})}"


def _item(body: _Body, _mark: str) -> str:
    return _of_item(kind_of(body["item"]), body)


def _facts(body: _Body, _mark: str) -> str:
    taken_over = " (from its sources)" if body.get("from_sources") else ""
    return _of_item("facts", body) + taken_over


def _of_item(word: str, body: _Body) -> str:
    said = about(body["facts"])
    return f"{word} {hyphened(body['item'])}" + (f": {said}" if said else "")


def about(body: _Body) -> str:
    """Facts in one line, each name with its value; what a plan was asked is a document that only programs read."""
    told = ((name, "kept" if name == "plan_asked" and value else str(value)) for name, value in body.items())
    return ", ".join(_fact(name, readable(value)) for name, value in told)


def _fact(name: str, value: str) -> str:
    """One fact: those that are figures with their unit."""
    if name == "capacity_l" and value:
        return f"capacity {value} l"
    if name == "wood_days" and value.isdecimal():
        return f"time in wood {counted(int(value), 'day')}"
    return f"{name.replace('_', ' ')} {value or 'no longer stated'}"


def _hold(body: _Body, _mark: str) -> str:
    why = f", as what it was poured from: recall {body['recall']}" if "recall" in body else ""
    why += f", for its off-note: tasting note {body['tasting']}" if "tasting" in body else ""
    return f"{'hold' if body['held'] else 'release'} {hyphened(body['item'])}{why}"


def _note(body: _Body, _mark: str) -> str:
    return f"{body.get('subject', 'note')} {hyphened(body['item'])}: {body['text']}"


def _packed(body: _Body, _mark: str) -> str:
    units = counted(len(body["ssccs"]), body["unit"])
    return f"packed {units} of {counted(body['bottles'], 'bottle')} of {hyphened(body['item'])}"


def _stacked(body: _Body, _mark: str) -> str:
    return f"{counted(len(body['cases']), 'case')} of {hyphened(body['item'])} on pallet {body['pallet']}"


def _blending(body: _Body, _mark: str) -> str:
    guests = counted(len(body["guests"]), "guest")
    return f"blending session {body['name']}: {guests}, a blend of {body['total']} each"


def _reserve(body: _Body, _mark: str) -> str:
    return f"reserve {several(body['items'])}"


def _paper(body: _Body, _mark: str) -> str:
    stopped = " (stopped half-way)" if "stopped" in body["facts"] else ""
    of = f": {several(body['items'])}" if body["items"] else ""  # an account is of no item
    return f"{body['paper']}{of}{stopped}"


def _imported(body: _Body, _mark: str) -> str:
    return f"imported {', '.join(body['files'])}: {counted(body['items'], 'item')}, {counted(body['pours'], 'pour')}"


def _declared(body: _Body, _mark: str) -> str:
    lines = counted(len(body["lines"]), "figure")
    return f"declared: {lines} of {body['start'][:10]} to {body['end'][:10]}, rounded {body['rule']}"


def _recall(body: _Body, _mark: str) -> str:
    held = f"{len(body['held'])} put on hold" if body["held"] else "none put on hold"
    said = f"{'mock recall' if body['mock'] else 'recall'}: {counted(len(body['items']), 'item')} affected, {held}"
    return f"{said}, first suspected {body['suspected']}" if "suspected" in body else said


def _release(body: _Body, _mark: str) -> str:
    return f"release of recall {body['recall']}: {several(body['items']) or 'nothing released'}"


def _void(body: _Body, _mark: str) -> str:
    return f"void of entry {body['entry']}"


# -- what each adds to the projections; contents and lineage are the business of `fold` and `refold` --


def _item_rows(body: _Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    key, kind = key_of(body["item"]), kind_of(body["item"])
    yield "INSERT INTO item (key, kind, entry) VALUES (?, ?, ?)", (key, kind, number)
    yield "DELETE FROM reserved WHERE key = ?", (key,)
    yield COUNT, (kind, key // len(KINDS) + 1)
    yield from _facts_rows(body, number, happened, place)


def _facts_rows(body: _Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    key = key_of(body["item"])
    for name, value in body["facts"].items():
        yield _FACT, (key, name, happened, place, value, lookup_form(value) or None if name in _NAMES else None)
    yield _MENTION, (key, number)


def _hold_rows(body: _Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    key = key_of(body["item"])
    yield _FACT, (key, "held", happened, place, "yes" if body["held"] else "", None)
    yield _MENTION, (key, number)


def _recall_rows(body: _Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    for identifier in body["held"]:
        yield _FACT, (key_of(identifier), "held", happened, place, "yes", None)
    yield from _mention_rows(body, number, happened, place)


def _release_rows(body: _Body, number: int, happened: int, place: int) -> Iterator[Statement]:
    for identifier in body["items"]:
        yield _FACT, (key_of(identifier), "held", happened, place, "", None)
    yield from _mention_rows(body, number, happened, place)


def _mention_row(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    yield _MENTION, (key_of(body["item"]), number)


def _mention_rows(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    for identifier in dict.fromkeys(body["items"]):
        yield _MENTION, (key_of(identifier), number)


def _reserve_rows(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    for identifier in body["items"]:
        key = key_of(identifier)
        yield "INSERT INTO reserved (key, entry) VALUES (?, ?)", (key, number)
        yield COUNT, (kind_of(identifier), key // len(KINDS) + 1)


def _packed_rows(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    key, prefix, ssccs = key_of(body["item"]), body["prefix"], body["ssccs"]
    for sscc in ssccs:
        yield _UNIT, (int(sscc), key, number)
    yield COUNT, (f"sscc {prefix}", max(number_in_sscc(sscc, prefix) for sscc in ssccs) + 1)
    yield _MENTION, (key, number)


def _house_rows(body: _Body, _number: int, _happened: int, _place: int) -> Iterator[Statement]:
    for name, value in body["settings"].items():
        yield _SETTING, (name, value)


def _named_rows(kind: str) -> Rows:
    """The latest entry of that name: a recipe, a component, a blending session."""

    def rows(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
        yield _NAMED.format(kind), (body["name"], number, lookup_form(body["name"]))

    return rows


def _pending_row(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    if any("pending" in line for line in body["lines"]):
        yield _PENDING, (number,)


def _touched_rows(body: _Body, number: int, _happened: int, _place: int) -> Iterator[Statement]:
    ends = [body["item"]] if "item" in body else [line[end] for line in body["lines"] for end in ("from", "to")]
    # Identifiers begin with a capital; words for outside do not.
    for end in dict.fromkeys(ends):
        if end[0].isupper():
            yield _MENTION, (key_of(end), number)


# -- the table -------------------------------------------------------------------------

_OF_NEW_ITEMS = (
    rules.item_is_new, rules.facts_are_text, rules.bottles_have_a_size, rules.bottles_are_of_a_usual_size,
    lot_rules.lot_mark_is_of_one_lot, site_rules.numbers_are_of_this_site,
)  # fmt: skip
_OF_FACTS = (
    rules.item_is_known, rules.facts_are_text, rules.bottles_are_of_a_usual_size, lot_rules.new_mark_has_its_reason,
    lot_rules.lot_mark_is_of_one_lot, lot_rules.printed_gtin_stays,
)  # fmt: skip
_OF_COMPONENTS = (
    component_rules.component_has_a_name_of_its_own, component_rules.component_is_possible,
    component_rules.house_rules_agree, component_rules.component_is_not_overwritten,
)  # fmt: skip
_OF_RECIPES = (component_rules.recipe_is_not_overwritten, component_rules.recipe_keeps_the_house_rules)
_OF_PACKING = (rules.units_of_a_lot, lot_rules.cases_have_their_bottles)
_OF_NOTES = (*tasting_rules.OF_TASTING_NOTES, session_rules.blind_note_has_its_glass)
_OF_SETTINGS = (
    rules.settings_are_known, component_rules.house_rules_agree, tasting_rules.scale_stays_under_its_notes,
)  # fmt: skip
_KINDS = (
    Kind(entries.Approval, approval_rules.in_words, approval_rules.OF_APPROVALS, _mention_row, can_be_corrected=True),
    Kind(entries.House, _house, (*_OF_SETTINGS, *site_rules.OF_SETTINGS), _house_rows),
    Kind(entries.Item, _item, _OF_NEW_ITEMS, _item_rows, can_be_corrected=True),
    Kind(entries.Facts, _facts, _OF_FACTS, _facts_rows, can_be_corrected=True),
    Kind(entries.Pour, _pour, (), _pending_row, _touched_rows, can_be_corrected=True, tables=("pending",)),
    Kind(entries.Gauge, _gauge, (), None, _touched_rows, can_be_corrected=True),
    Kind(entries.Key, keys.in_words, keys.OF_KEYS),
    Kind(entries.Hold, _hold, (rules.item_is_known, rules.hold_has_its_reason), _hold_rows, can_be_corrected=True),
    Kind(entries.Note, _note, (rules.item_is_known, rules.subject_is_known), _mention_row, can_be_corrected=True),
    Kind(entries.Packed, _packed, _OF_PACKING, _packed_rows, can_be_corrected=True),
    Kind(entries.Stacked, _stacked, (lot_rules.cases_are_stacked_once,), _mention_row, can_be_corrected=True),
    Kind(entries.Blending, _blending, blending_rules.OF_BLENDINGS, _named_rows("blending")),
    Kind(entries.Counted, bottling_rules.counted_words, bottling_rules.OF_COUNTS, _mention_row, can_be_corrected=True),
    Kind(entries.Fills, bottling_rules.fills_words, bottling_rules.OF_FILLS, _mention_row, can_be_corrected=True),
    Kind(entries.Component, component_rules.component_words, _OF_COMPONENTS, _named_rows("component")),
    Kind(entries.Recipe, component_rules.recipe_words, _OF_RECIPES, _named_rows("recipe")),
    Kind(entries.Reserve, _reserve, (rules.reservable_numbers, site_rules.numbers_are_of_this_site), _reserve_rows),
    Kind(entries.Paper, _paper, (glass_rules.labelled_glasses_are_there,), _mention_rows),
    Kind(entries.Imported, _imported),
    Kind(entries.Close, lambda _body, _mark: "close: nothing may happen before", (rules.nothing_pending,)),
    Kind(entries.Declared, _declared, (rules.declarable_period,)),
    Kind(entries.Recall, _recall, (rules.recall_in_order,), _recall_rows),
    Kind(entries.Release, _release, (rules.recall_not_released,), _release_rows),
    Kind(entries.Reveal, session_rows.reveal_words, session_rules.OF_REVEALS, session_rows.reveal_rows),
    Kind(entries.Seen, stocktakes.seen_words, stocktakes.OF_SIGHTINGS, stocktakes.seen_rows, can_be_corrected=True),
    Kind(entries.Stocktake, stocktakes.stocktake_words, stocktakes.OF_STOCKTAKES, stocktakes.stocktake_rows),
    Kind(entries.Session, session_rows.session_words, session_rules.OF_SESSIONS, session_rows.session_rows),
    Kind(
        entries.Taste, tasting_rows.taste_words, _OF_NOTES, tasting_rows.taste_rows,
        can_be_corrected=True, tables=("tasting", "tasted_word"),
    ),
    Kind(entries.Void, _void),
    Kind(entries.Word, tasting_rows.word_words, tasting_rules.OF_WORDS, can_be_corrected=True),
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
