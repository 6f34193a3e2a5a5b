"""Entries and facts found by what they hold, by kind, by item, by time.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> _ = book.record(Draft(Item(cask, {"place": "Row 3/12"}), 0, "Isla Farrow"))
>>> [one.number for one in in_force(book.store, "item")], was_recorded_by(book.store, "isla farrow")
([2], True)
>>> [(fact.name, fact.value, fact.opens) for fact in stated(book.store, ("place",))]
[('place', 'Row 3/12', True)]
"""

import json
import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book.coded_names import person_meant
from pourbook.book.contents import EVER, LINES, Holding
from pourbook.book.items import facts, ledger, of_plans
from pourbook.book.journal import LOGGED, Logged, line_of, logged, parsed
from pourbook.book.store import Store, chunks
from pourbook.codes.identifiers import key_of

__all__ = [
    "EVERYTHING",
    "Filled", "FromOutside", "LedgerLine", "Stated", "Wanted", "counting", "due_until", "ever_mentioning",
    "filled", "from_outside", "in_force", "ledger_lines", "mentioning", "no_longer_counting", "stated", "told",
    "wanted", "was_recorded_by",
]  # fmt: skip

_ALWAYS = -(1 << 62)
_COMMON = ("pour", "gauge", "item")
_SELDOM = " AND kind NOT IN ('pour', 'gauge', 'item')"
"""Said of other kinds, so that their index is used."""


class Wanted(NamedTuple):
    """Which entries are wanted; what is left as it is narrows nothing.

    Attributes:
        first: number of the first.
        last: number of the last.
        kind: word for the kind.
        who: who did it, by name or login name, whatever the case.
        where: station where it was recorded, whatever the case.
        since_us: happened then or later.
        until_us: happened then or earlier.
        item: key of an item that it concerns.
    """

    first: int = 1
    last: int = EVER
    kind: str = ""
    who: str = ""
    where: str = ""
    since_us: int | None = None
    until_us: int | None = None
    item: int | None = None


class Stated(NamedTuple):
    """What is true of an item from a time on.

    Attributes:
        item: its key.
        happened_us: from when.
        place: of its entry among what happened at that moment.
        name: of the fact.
        value: empty where the fact ends.
        opens: whether the item was entered with it.
    """

    item: int
    happened_us: int
    place: int
    name: str
    value: str
    opens: bool


class FromOutside(NamedTuple):
    """A pour from outside.

    Attributes:
        line: number of the line.
        target: state that it went into.
        happened_us: when.
        told: facts of the line.
    """

    line: int
    target: int
    happened_us: int
    told: Mapping[str, Any]


class Filled(NamedTuple):
    """Spirit from outside poured into an item.

    Attributes:
        item: its key.
        happened_us: when.
        place: of the line among what happened at that moment.
        was_empty: whether nothing was in the item before.
        told: facts of the line.
    """

    item: int
    happened_us: int
    place: int
    was_empty: bool
    told: Mapping[str, Any]


class LedgerLine(NamedTuple):
    """A line of the ledger.

    Attributes:
        happened_us: when.
        place: order among what happened at that moment.
        key: of the item.
        line: its number: the entry's times `LINES`, plus its place in the entry.
        after: what the item held then.
        entry: as the journal keeps it; `told` reads it.
    """

    happened_us: int
    place: int
    key: int
    line: int
    after: Holding
    entry: str


EVERYTHING = Wanted()
"""Narrowed by nothing."""


# -- entries ---------------------------------------------------------------------------------


def in_force(
    store: Store,
    *kinds: str,
    start_us: int = _ALWAYS,
    end_us: int = EVER,
    containing: str = "",
    who: Sequence[str] = (),
    item: str = "",
) -> Iterator[Logged]:
    """Entries of some kinds that count, in the order they were recorded.

    They happened from `start_us` to before `end_us`, hold the text `containing`, and were recorded by one of `who`,
    names or login names in small letters; they mention `item`, where one is named.
    """
    by = (("AND (", "who"), ("OR", "login")) if who else ()
    seldom = "" if set(kinds) & set(_COMMON) else _SELDOM
    question = f"{LOGGED} WHERE kind IN ({_marks(kinds)}){seldom} AND gone = 0"
    span = () if (start_us, end_us) == (_ALWAYS, EVER) else (start_us, end_us)
    question += " AND happened >= ? AND happened < ?" if span else ""  # else the whole index would be gone through
    question += " AND instr(bytes, ?) > 0" if containing else ""
    question += "".join(f" {word} lower(json_extract(bytes, '$.{name}')) IN ({_marks(who)})" for word, name in by)
    question += ")" if who else ""
    question += " AND number IN (SELECT entry FROM mention WHERE item = ?)" if item else ""
    values = (*kinds, *span, *((containing,) if containing else ()), *who, *who)
    values += (key_of(item),) if item else ()
    return map(logged, store.query(f"{question} ORDER BY number", values))


def mentioning(store: Store, keys: Collection[int], *kinds: str) -> dict[int, list[Logged]]:
    """Entries of some kinds that count and concern any of the items, by item, in the order things happened."""
    found: dict[int, list[Logged]] = {}
    fields = "number, kind, happened, gone, bytes, hash, place"
    for marks, chunk in chunks(keys):
        for item, *row in store.query(
            f"SELECT mention.item, {fields} FROM mention JOIN entry ON number = mention.entry"
            f" WHERE kind IN ({_marks(kinds)}) AND gone = 0 AND mention.item IN ({marks}) ORDER BY happened, place",
            (*kinds, *chunk),
        ):
            found.setdefault(item, []).append(logged(row))
    return found


def ever_mentioning(store: Store, keys: Collection[int], kinds: Collection[str]) -> set[int]:
    """Numbers of entries of these kinds that concern one of the items without moving its liquid (any more)."""
    found: set[int] = set()
    for marks, chunk in chunks(keys):
        rows = store.query(
            "SELECT entry.number FROM mention JOIN entry ON entry.number = mention.entry"
            f" WHERE mention.item IN ({marks}) AND kind IN ({_marks(kinds)})",
            (*chunk, *kinds),
        )
        found.update(number for (number,) in rows)
    return found


def no_longer_counting(store: Store) -> Iterator[Logged]:
    """Entries that no longer count, in the order of their correction."""
    return map(logged, store.query(f"{LOGGED} WHERE gone <> 0 ORDER BY gone, number"))


def _numbers_concerning(store: Store, key: int) -> set[int]:
    """Entries that concern an item: pours, gauges, facts, holds, notes, papers; also those corrected."""
    mentions = store.query(
        "SELECT mention.entry, entry.gone FROM mention JOIN entry ON entry.number = mention.entry"
        " WHERE mention.item = ?",
        (key,),
    )
    numbers = {number for entry, gone in mentions for number in (entry, gone or entry)}
    return numbers | {row.entry for row in ledger(store, key)}


def wanted(store: Store, which: Wanted, last: int | None = None) -> Iterator[Logged]:
    """Entries that are wanted, whether or not they count, in the order they were recorded; memory flat.

    With `last`, so many of the last of them: those are looked for from the end.
    """
    asked: list[tuple[str, Sequence[object]]] = [("number BETWEEN ? AND ?", (which.first, which.last))]
    if which.kind:
        asked.append((f"kind = ?{'' if which.kind in _COMMON else _SELDOM}", (which.kind,)))
    if which.who:
        by = "lower(?) IN (lower(json_extract(bytes, '$.who')), lower(json_extract(bytes, '$.login')))"
        asked.append((by, (person_meant(store, which.who),)))
    if which.where:
        asked.append(("lower(json_extract(bytes, '$.where')) = lower(?)", (which.where,)))
    if which.since_us is not None or which.until_us is not None:
        since = _ALWAYS if which.since_us is None else which.since_us
        asked.append(("happened BETWEEN ? AND ?", (since, EVER if which.until_us is None else which.until_us)))
    if which.item is not None:
        numbers = json.dumps(sorted(_numbers_concerning(store, which.item)))
        asked.append(("number IN (SELECT value FROM json_each(?))", (numbers,)))
    question = f"{LOGGED} WHERE {' AND '.join(condition for condition, _ in asked)} ORDER BY number"
    values = [value for _, given in asked for value in given]
    if last is None:
        return map(logged, store.stream(question, values))
    return map(logged, reversed(store.query(f"{question} DESC LIMIT ?", (*values, last))))


def counting(store: Store, until_us: int | None = None) -> Iterator[Logged]:
    """Pours and gauges that count, in the order they apply; until a moment, if one is given. Memory stays flat."""
    question = f"{LOGGED} WHERE gone = 0 AND kind IN ('pour', 'gauge') AND happened <= ? ORDER BY happened, place"
    return map(logged, store.stream(question, (EVER if until_us is None else until_us,)))


def was_recorded_by(store: Store, name: str) -> bool:
    """Whether anybody of this name, or login name, recorded an entry."""
    told = (json.dumps({by: name}, ensure_ascii=False, separators=(",", ":"))[1:-1] for by in ("who", "login"))
    says = "instr(lower(bytes), lower(?)) > 0"
    question = f"SELECT 1 FROM entry WHERE {says} OR {says} LIMIT 1"
    return bool(store.query(question, tuple(told)))


def from_outside(
    store: Store, how: str, *, until_us: int = EVER, entry: int | None = None, words: str = ""
) -> list[FromOutside]:
    """Pours from outside (origin, water or additive) that count, up to a moment, or of one entry.

    `words` is a sieve: runs of letters and digits that all stand in the entry, which may still not hold the words.
    """
    question = (
        "SELECT flow.line, flow.target, flow.happened, entry.bytes FROM flow JOIN entry ON entry.number = flow.line / ?"
        " WHERE flow.source = 0 AND flow.how = ? AND flow.happened <= ?"
    )
    question += "" if entry is None else " AND entry.number = ?"
    question += "".join(f" AND entry.bytes LIKE '%{run}%'" for run in re.findall(r"[A-Za-z0-9]+", words))
    rows = store.query(question, (LINES, how, until_us, *(() if entry is None else (entry,))))
    return [FromOutside._make((*row, line_of(parsed(text)["body"], row[0]).get("facts", {}))) for *row, text in rows]


def filled(store: Store) -> Iterator[Filled]:
    """Every pour of spirit from outside into an item, item by item in order of time."""
    for item, happened_us, place, line, state, remained, text in store.stream(
        "SELECT state.item, ledger.happened, ledger.place, flow.line, flow.target, EXISTS (SELECT 1 FROM flow AS rest"
        " WHERE rest.target = flow.target AND rest.line = flow.line AND rest.carry = 1), entry.bytes"
        " FROM flow JOIN state ON state.id = flow.target JOIN entry ON entry.number = flow.line / ?"
        " JOIN ledger ON ledger.item = state.item AND ledger.happened = flow.happened AND ledger.line = flow.line"
        " WHERE flow.source = 0 AND flow.how = 'origin' ORDER BY state.item, ledger.happened, ledger.place",
        (LINES,),
    ):
        told = line_of(parsed(text)["body"], line).get("facts", {})
        yield Filled(item, happened_us, place, state >> 1 == line and not remained, told)


# -- facts -----------------------------------------------------------------------------------


def stated(
    store: Store, names: Sequence[str], keys: Collection[int] | None = None, until_us: int = EVER
) -> list[Stated]:
    """Facts by their names, item by item, in order of time; of some items, or of all."""
    question = (
        "SELECT fact.item, fact.happened, fact.place, fact.name, fact.value, entry.kind = 'item'"
        " FROM fact JOIN entry ON entry.number = fact.place"
        f" WHERE fact.name IN ({_marks(names)}) AND fact.happened <= ?{{}}"
        " ORDER BY fact.item, fact.happened, fact.place"
    )
    if keys is None:
        rows = store.query(question.format(of_plans(*names)), (*names, until_us))
    else:
        rows = [
            row
            for marks, chunk in chunks(keys)
            for row in store.query(question.format(f" AND fact.item IN ({marks})"), (*names, until_us, *chunk))
        ]
    return [Stated._make((*row[:5], bool(row[5]))) for row in rows]


def due_until(store: Store, day: str) -> list[tuple[int, str]]:
    """Items, by key, whose next check is due by a day (ISO), with the day that stands now; the earliest first."""
    rows = store.query(
        "SELECT DISTINCT item, value FROM fact WHERE name = 'due' AND value > '' AND value <= ? ORDER BY value, item",
        (day,),
    )
    return [(item, value) for item, value in rows if facts(store, item).get("due") == value]


def _marks(values: Collection[object]) -> str:
    return ",".join("?" * len(values))


# -- the ledger -----------------------------------------------------------------------------


def ledger_lines(store: Store, keys: Sequence[int], until_us: int) -> Iterator[LedgerLine]:
    """Every line that touched these items until a moment, by item and time."""
    for marks, chunk in chunks(keys):
        for key, happened, place, line, *held, text in store.query(
            "SELECT ledger.item, ledger.happened, ledger.place, ledger.line, ledger.mass, ledger.ethanol,"
            " ledger.extract, ledger.state, ledger.sealed, entry.bytes"
            f" FROM ledger JOIN entry ON entry.number = ledger.line / {LINES} WHERE ledger.item IN ({marks})"
            " AND ledger.happened <= ? ORDER BY ledger.item, ledger.happened, ledger.place",
            (*chunk, until_us),
        ):
            yield LedgerLine(happened, place, key, line, Holding(*held), text)


def told(line: LedgerLine) -> Mapping[str, Any]:
    """The line of a pour, or the body of a gauge."""
    return line_of(parsed(line.entry)["body"], line.line)
