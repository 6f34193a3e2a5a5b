"""What a paper rests on, checked: the chain of hashes, and every row of some items against their entries.

The entries that name the items are folded again without a second book; rows that differ are faults. What another item
gave or took is believed of that item, so the work grows with the items and the journal's length, not with the house.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> verify_part(book.store, [key_of(cask)])
()
>>> book.store.execute("UPDATE ledger SET mass = 999")
>>> [fault.problem for fault in verify_part(book.store, [key_of(cask)])]
['what C-000001-H held does not follow from the journal (entry 3)']
"""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pourbook.book.coded_names import chained
from pourbook.book.contents import LINES, NOTHING, Holding
from pourbook.book.fold import Flow, Outcome, gauge, line_number, pour
from pourbook.book.journal import GENESIS, chain, is_group, last_entry, lines_of, parsed
from pourbook.book.kinds import Statement, remains, statements
from pourbook.book.refold import items_of
from pourbook.book.store import Row, Store, chunks
from pourbook.codes.identifiers import KINDS, LIQUID_KINDS, hyphened, key_of, of_key
from pourbook.errors import Fault, PourbookError, Question
from pourbook.lineage.graph import RETURN
from pourbook.numerals import counted
from pourbook.times import moment_of

__all__ = ["book_agrees", "verify_part"]

_CHAIN_AT_MOST = 100_000
"""Of a longer journal the links before and after each entry are checked, not the whole chain."""

_MOST_FAULTS = 20
_NAMED = re.compile(r'"([A-Z][0-9]{6,12}[0-9A-Z])"')
_STATING = frozenset(letter for kind, letter in KINDS.items() if kind not in LIQUID_KINDS)
_INSERTED = re.compile(r"INSERT INTO (fact|item|mention|pending|setting|unit) ")
_KEY_COLUMNS = {"fact": 4, "item": 1, "mention": 2, "pending": 1, "setting": 1, "unit": 1}
_COLUMNS = "number, kind, happened, place, gone, bytes, hash"
_BEFORE = (
    "SELECT mass, ethanol, extract, state, sealed FROM ledger WHERE item = ? AND (happened, place) < (?, ?)"
    " ORDER BY happened DESC, place DESC LIMIT 1"
)
_FLOW = "target, line, carry, source, how, mass, ethanol, extract, out_mass, out_ethanol, out_extract, happened"
_STATE = "id, item, sealed_happened, sealed_place, mass_in, ethanol_in"

_Rows = dict[tuple[Any, ...], tuple[Any, ...]]
"""Rows of a table, by their table and key."""


class _Entry(NamedTuple):
    """A row of the journal, as stored; `gone` and `place` are the table's claim."""

    number: int
    kind: str
    happened: int
    place: int
    gone: int
    text: str

    @property
    def body(self) -> Mapping[str, Any]:
        body: Mapping[str, Any] = parsed(self.text)["body"]
        return body


def verify_part(store: Store, keys: Collection[int]) -> tuple[Fault, ...]:
    """The first faults of the chain, else of the rows of these items and of all people, instruments and places.

    Of a journal of at most 100,000 entries every hash is checked, and no entry that names the items is left out.
    """
    try:
        entries, faults = _entries(store, keys)
        if not faults:
            faults = tuple(_row_faults(store, set(keys), entries))[:_MOST_FAULTS]
    except PourbookError as error:
        return (_fault(0, f"the journal cannot be applied: {error.message}"),)
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        return (_fault(0, f"the journal cannot be applied ({type(error).__name__})"),)
    return faults


def book_agrees(store: Store, keys: Collection[int]) -> Question | None:
    """What is asked before a paper of these items is printed, where the book does not agree with its journal."""
    faults = verify_part(store, keys)
    if not faults:
        return None
    first, more = faults[0].problem, len(faults) - 1
    others = f" (and {counted(more, 'other fault')})" if more else ""
    remedy = f"{faults[0].remedy}; a paper printed all the same says so on every page."
    said = f"this book does not agree with its journal: {first}{others}"
    return Question("agrees-with-journal", said, remedy, {"faults": len(faults)})


def _fault(number: int, problem: str) -> Fault:
    return Fault("journal", number, "", "", problem, "find out where: pourbook verify")


# -- the entries, and their hashes -------------------------------------------------------------


def _entries(store: Store, keys: Collection[int]) -> tuple[list[_Entry], tuple[Fault, ...]]:
    """The entries that name the items, in order, and what is wrong with the chain."""
    if is_group(store):
        return _joined(store, keys)
    last, _ = last_entry(store)
    return _walked(store, keys) if last <= _CHAIN_AT_MOST else _linked(store, keys)


def _walked(store: Store, keys: Collection[int]) -> tuple[list[_Entry], tuple[Fault, ...]]:
    """The whole chain: entries that name the items, whatever the tables say."""
    wanted = {of_key(key) for key in keys}
    head, last = GENESIS, 0
    found: list[_Entry] = []
    claims: dict[int, tuple[int, int]] = {}
    text_of = chained(store)
    for number, kind, happened, place, gone, text, hash_ in store.stream(
        f"SELECT {_COLUMNS} FROM entry ORDER BY number"
    ):
        if number != last + 1:
            return [], (_fault(last + 1, f"entry {last + 1} is missing"),)
        head, last = chain(head, text_of(number, text).encode()), number
        if head != hash_:
            return [], (_fault(number, f"entry {number} is not what was recorded: its hash differs"),)
        _claim(claims, number, kind, text)
        names = _NAMED.findall(text)
        if kind == "house" or not wanted.isdisjoint(names) or _states_of_no_liquid(kind, names):
            found.append(_Entry(number, kind, happened, place, gone, text))
    return found, (*_problems(found), *_not_standing(found, claims))


def _joined(store: Store, keys: Collection[int]) -> tuple[list[_Entry], tuple[Fault, ...]]:
    """Of a group, which has no chain of its own: the chains of its sites, and their entries as the group has them."""
    from pourbook.book.group_checked import check_group  # few books are a group's

    *_, faults = check_group(store)
    wanted = {of_key(key) for key in keys}
    found: list[_Entry] = []
    claims: dict[int, tuple[int, int]] = {}
    for row in store.stream(f"SELECT {_COLUMNS} FROM entry ORDER BY number") if not faults else ():
        entry = _Entry(*row[:6])
        _claim(claims, entry.number, entry.kind, entry.text)
        names = _NAMED.findall(entry.text)
        if entry.kind == "house" or not wanted.isdisjoint(names) or _states_of_no_liquid(entry.kind, names):
            found.append(entry)
    return found, faults or (*_problems(found), *_not_standing(found, claims))


def _states_of_no_liquid(kind: str, names: Iterable[str]) -> bool:
    """Whether it states what a person, an instrument or a place is."""
    return kind in ("item", "facts") and any(name[0] in _STATING for name in names)


def _linked(store: Store, keys: Collection[int]) -> tuple[list[_Entry], tuple[Fault, ...]]:
    """Of a long journal the entries that the tables name, each with the links before and after it."""
    numbers = _known_entries(store, keys)
    found: list[_Entry] = []
    claims: dict[int, tuple[int, int]] = {}
    text_of = chained(store)
    for number in sorted(numbers):
        rows = store.query(f"SELECT {_COLUMNS} FROM entry WHERE number BETWEEN ? AND ?", (number - 1, number + 1))
        by_number = {row[0]: row for row in rows}
        if number not in by_number:
            return [], (_fault(number, f"entry {number} is missing"),)
        for one in (number, number + 1):
            before = by_number[one - 1][6] if one - 1 in by_number else GENESIS if one == 1 else None
            if one not in by_number:
                continue
            text = text_of(one, by_number[one][5])
            if before is None or chain(before, text.encode()) != by_number[one][6]:
                return [], (_fault(one, f"entry {one} is not what was recorded: its hash differs"),)
        found.append(_Entry(*by_number[number][:6]))
    gone = {entry.gone for entry in found if entry.gone}
    for entry in _of_numbers(store, gone | numbers):
        _claim(claims, entry.number, entry.kind, entry.text)
    return found, (*_problems(found), *_not_standing(found, claims))


def _known_entries(store: Store, keys: Collection[int]) -> set[int]:
    numbers = {last_entry(store)[0]}
    for marks, chunk in chunks(keys):
        for question in (
            f"SELECT DISTINCT line / {LINES} FROM ledger WHERE item IN ({marks})",
            f"SELECT entry FROM mention WHERE item IN ({marks})",
            f"SELECT entry FROM item WHERE key IN ({marks})",
        ):
            numbers.update(number for (number,) in store.query(question, chunk))
    return numbers


def _of_numbers(store: Store, numbers: Collection[int]) -> Iterator[_Entry]:
    for marks, chunk in chunks(sorted(numbers)):
        for row in store.query(f"SELECT {_COLUMNS} FROM entry WHERE number IN ({marks}) ORDER BY number", chunk):
            yield _Entry(*row[:6])


def _claim(claims: dict[int, tuple[int, int]], number: int, kind: str, text: str) -> None:
    """Note which entry a void or a replacement takes the place of: number to (gone by, place)."""
    if kind != "void" and '"replaces":' not in text:
        return
    entry = parsed(text)
    target = entry["body"]["entry"] if kind == "void" else entry.get("replaces", 0)
    if target:
        place = claims.get(target, (0, target))[1]
        claims[target] = (number, place)
        if kind != "void":
            claims[number] = (0, place)


def _problems(entries: Iterable[_Entry]) -> Iterator[Fault]:
    for entry in entries:
        written = parsed(entry.text)
        if (written["number"], written["kind"], moment_of(written["happened"])) != entry[:3]:
            problem = f"entry {entry.number}: number, kind or time in the table differ from the entry itself"
            yield _fault(entry.number, problem)


def _not_standing(entries: Iterable[_Entry], claims: Mapping[int, tuple[int, int]]) -> Iterator[Fault]:
    for entry in entries:
        if (entry.gone, entry.place) != claims.get(entry.number, (0, entry.number)):
            yield _fault(entry.number, f"entry {entry.number}: what took its place does not follow from the journal")


# -- the rows ------------------------------------------------------------------------------------


def _row_faults(store: Store, keys: set[int], entries: list[_Entry]) -> Iterator[Fault]:
    """Rows of the tables that differ from what the entries give."""
    stating = keys | {
        key_of(name)
        for entry in entries
        if _states_of_no_liquid(entry.kind, names := _NAMED.findall(entry.text))
        for name in names
        if name[0] in _STATING
    }
    expected = _stated(entries, stating)
    kept = dict(_kept_statements(store, stating, entries))
    yield from _differences(*(_without_others(rows, keys) for rows in (expected, kept)))
    expected, states = _folded(store, keys, entries)
    kept, all_states = _kept_liquid(store, keys, states)
    touching = {key: row for key, row in expected.items() if key[0] != "flow" or {row[0], row[3]} & all_states}
    yield from _differences(touching, kept)


def _without_others(rows: _Rows, keys: set[int]) -> _Rows:
    """Without mentions of what is not asked about: a note on a person is among no entries that were read."""
    return {key: row for key, row in rows.items() if key[0] != "mention" or key[1] in keys}


def _differences(expected: _Rows, kept: _Rows) -> Iterator[Fault]:
    for key in expected.keys() | kept.keys():
        row, other = expected.get(key), kept.get(key)
        if row != other:
            problem = _words(key[0], other or row or ())
            remedy = "rebuild the tables from the journal: pourbook repair"
            yield Fault(f"table {key[0]}", 0, "", "", problem, remedy)


def _words(table: str, row: tuple[Any, ...]) -> str:
    """What does not follow from the journal, for people."""
    match table:
        case "ledger":
            said = f"what {hyphened(of_key(row[0]))} held"
            return f"{said} does not follow from the journal (entry {row[3] // LINES})"
        case "fact":
            return f"the {row[1].replace('_', ' ')} of {hyphened(of_key(row[0]))} does not follow from the journal"
        case "flow":
            return f"what entry {row[1] // LINES} poured does not follow from the journal"
    return "does not follow from the journal"


def _stated(entries: Iterable[_Entry], keys: set[int]) -> _Rows:
    """Facts, mentions, trade units and pending strengths, as the entries state them."""
    rows: _Rows = {}
    for entry in entries:
        for sql, values in _made(entry):
            if (table := _INSERTED.match(sql)) and _is_of(table[1], values, keys):
                rows[(table[1], *values[: _KEY_COLUMNS[table[1]]])] = tuple(values)
    return rows


def _made(entry: _Entry) -> list[Statement]:
    """What an entry gives; a despatch in a group's book may open a consignment."""
    _, kind, happened, place, gone, _ = entry
    if gone:
        return remains(kind, entry.body, entry.number)
    opened = [statements("item", one, entry.number, happened, place) for one in entry.body.get("opens", ())]
    return [*(row for rows in opened for row in rows), *statements(kind, entry.body, entry.number, happened, place)]


def _is_of(table: str, values: tuple[Any, ...], keys: set[int]) -> bool:
    return table in ("pending", "setting") or values[1 if table == "unit" else 0] in keys


def _kept_statements(
    store: Store, keys: Collection[int], entries: Collection[_Entry]
) -> Iterator[tuple[tuple[Any, ...], Row]]:
    for marks, chunk in chunks(keys):
        for table, question in (
            ("fact", f"SELECT item, name, happened, place, value, lookup FROM fact WHERE item IN ({marks})"),
            ("item", f"SELECT key, kind, entry FROM item WHERE key IN ({marks})"),
            ("mention", f"SELECT item, entry FROM mention WHERE item IN ({marks})"),
        ):
            for row in store.query(question, chunk):
                yield (table, *row[: _KEY_COLUMNS[table]]), row
    wanted = set(keys)
    for row in store.stream("SELECT sscc, item, entry FROM unit"):
        if row[1] in wanted:
            yield ("unit", row[0]), row
    if any(entry.kind == "house" for entry in entries):
        for row in store.query("SELECT name, value FROM setting"):
            yield ("setting", row[0]), row
    for marks, chunk in chunks([entry.number for entry in entries]):
        for row in store.query(f"SELECT entry FROM pending WHERE entry IN ({marks})", chunk):
            yield ("pending", *row), row


def _folded(store: Store, keys: set[int], entries: list[_Entry]) -> tuple[_Rows, set[int]]:
    """Ledger, state and flow rows of the items, as their entries give them; and their states."""
    rows: _Rows = {}
    states: set[int] = set()
    holding: dict[int, Holding] = {}
    counting = [entry for entry in entries if not entry.gone and entry.kind in ("pour", "gauge")]
    for entry in sorted(counting, key=lambda one: (one.happened, one.place)):
        for index, line in enumerate(lines_of(entry.body)):
            source, target = items_of(entry.kind, line)
            if keys.isdisjoint((source, target)):
                continue
            number, key = line_number(entry.number, index), (entry.happened, entry.place * LINES + index)
            held = {
                item: holding.get(item, NOTHING) if item in keys else _before(store, item, key)
                for item in (source, target)
                if item is not None
            }
            outcome = _outcome(entry.kind, line, number, held, source, target)
            for item, after in ((source, outcome.source), (target, outcome.target)):
                if item in keys and item is not None and after is not None:
                    holding[item] = after
                    rows["ledger", item, *key] = (item, *key, number, *after)
                    if after.state >> 1 == number:
                        states.add(after.state)
                        rows["state", after.state] = (after.state, item, None, None)
            for state, item, half in (
                (outcome.gauge_sealed, source, 0),
                (outcome.pour_sealed, source if source is not None else target, 1),
            ):
                if state and item in keys:
                    rows["state", state] = (state, item, key[0], key[1] * 2 + half)
            for flow in outcome.flows:
                rows["flow", *flow[:3]] = (*flow, key[0])
    return _with_sums(rows), states


def _with_sums(rows: _Rows) -> _Rows:
    """The rows, those of states with the sums of what flowed into them."""
    poured: dict[int, tuple[int, int]] = {}
    for flow in (Flow._make(row[:-1]) for key, row in rows.items() if key[0] == "flow"):
        if flow.how != RETURN:
            mass_mg, ethanol_mg = poured.get(flow.target, (0, 0))
            poured[flow.target] = (mass_mg + flow.mass_mg, ethanol_mg + flow.ethanol_mg)
    return {key: (*row, *poured.get(row[0], (0, 0))) if key[0] == "state" else row for key, row in rows.items()}


def _outcome(
    kind: str, line: Mapping[str, Any], number: int, held: Mapping[int, Holding], source: int | None, target: int | None
) -> Outcome:
    before, into = (None if item is None else held[item] for item in (source, target))
    return gauge(line, number, before or NOTHING) if kind == "gauge" else pour(line, number, before, into)


def _before(store: Store, item: int, key: tuple[int, int]) -> Holding:
    rows = store.query(_BEFORE, (item, *key))
    return Holding(*rows[0]) if rows else NOTHING


def _kept_liquid(store: Store, keys: Collection[int], states: set[int]) -> tuple[_Rows, set[int]]:
    """Ledger, state and flow rows of the items, as the book keeps them; and their states, also those it should have."""
    rows: _Rows = {}
    for marks, chunk in chunks(keys):
        for row in store.query(
            "SELECT item, happened, place, line, mass, ethanol, extract, state, sealed FROM ledger"
            f" WHERE item IN ({marks})",
            chunk,
        ):
            rows["ledger", *row[:3]] = row
        for row in store.query(f"SELECT {_STATE} FROM state WHERE item IN ({marks})", chunk):
            rows["state", row[0]] = row
    every = states | {key[1] for key in rows if key[0] == "state"}
    for marks, chunk in chunks(every):
        for end in ("target", "source"):
            for row in store.query(f"SELECT {_FLOW} FROM flow WHERE {end} IN ({marks})", chunk):
                rows["flow", *row[:3]] = row
    return rows, every
