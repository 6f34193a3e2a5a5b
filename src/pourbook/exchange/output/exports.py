"""Stock, journal and pours as CSV or JSON: what other programs read.

Numbers are whole milligrams or unrounded, identifiers carry no hyphens, times are UTC. In CSV a cell
that a spreadsheet would run (it begins with = + - @) gets an apostrophe in front. Figures are working
figures; the legal gauge and the duty return follow the local authority and licensed practice.

>>> import sys
>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere", clock=lambda: 0) as book:
...     export_table(book, "journal", sys.stdout, "csv")
number,kind,happened,recorded,who,where,reason,gone,body,hash
1,house,1970-01-01T00:00:00Z,1970-01-01T00:00:00Z,pourbook,,,0,"{""settings"":{""house"":""Quillmere""}}",...
1
"""

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain, islice
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, TextIO

from pourbook.book.items import facts, on_hand
from pourbook.book.logged import journal
from pourbook.codes.identifiers import key_of
from pourbook.exchange.output.counted_lines import replayed
from pourbook.exchange.tables.table_files import guarded

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["Form", "Row", "What", "export_table", "export_trace", "write_csv"]

Form = Literal["csv", "json"]
"""How a table is written."""

What = Literal["stock", "journal", "pours"]
"""The tables there are."""

Row = dict[str, Any]
"""A row of a table: column to value."""

_CHUNK = 20_000
_FACTS = ("name", "wood", "capacity_l", "spirit", "place", "owner", "previous", "note")
_OF_ENTRIES = ("number", "kind", "happened", "recorded", "who", "where", "reason")


class _Table(NamedTuple):
    """Columns, and the rows of a book at a moment."""

    columns: Sequence[str]
    rows: "Callable[[BookCore, int | None], Iterator[Row]]"


def export_table(book: "BookCore", what: What, file: TextIO, form: Form, at_us: int | None = None) -> int:
    """Write a table; how many rows it has.

    Args:
        book: to read.
        what: stock (what holds liquid), journal (every entry), pours (every line that counts).
        file: open for writing text; CSV wants it opened with `newline=""`.
        form: CSV, or one JSON document.
        at_us: stock at that moment, journal and pours until then; None is now.
    """
    table = _TABLES[what]
    rows = table.rows(book, at_us)
    if form == "csv":
        return write_csv(file, table.columns, rows)
    return _write_json(file, table.columns, rows)


def export_trace(trace: "Trace", table: Literal["items", "origins", "pours"], file: TextIO, form: Form) -> int:
    """Write a table of a trace; how many rows it has. Arguments as `export_table`."""
    frame = trace.frame(table).astype(object)
    columns = [str(column) for column in frame.columns]
    records = frame.where(frame.notna(), None).to_dict("records")
    rows = ({str(name): value for name, value in record.items()} for record in records)
    return write_csv(file, columns, rows) if form == "csv" else _write_json(file, columns, rows)


# -- tables -----------------------------------------------------------------------------


def _stock(book: "BookCore", at_us: int | None) -> Iterator[Row]:
    for item in on_hand(book.store, at_us):
        yield {
            "id": item.id,
            "kind": item.kind,
            "ref": item.ref,
            "mass_mg": item.holding.mass_mg,
            "ethanol_mg": item.holding.ethanol_mg,
            "extract_mg": item.holding.extract_mg,
            "volume_ml_20c": item.volume_ml_20c,
            "strength_20c": item.strength_20c,
            "pure_alcohol_ml": item.pure_alcohol_ml,
            **{name: item.facts.get(name, "") for name in _FACTS},
        }


def _journal(book: "BookCore", at_us: int | None) -> Iterator[Row]:
    last, _ = book.head()
    parts = (journal(book.store, first, first + _CHUNK - 1) for first in range(1, last + 1, _CHUNK))
    for logged in chain.from_iterable(parts):
        if at_us is not None and logged.happened_us > at_us:
            continue
        entry = logged.entry
        yield {
            **{name: entry.get(name, "") for name in _OF_ENTRIES},
            "gone": logged.gone,
            "body": entry["body"],
            "hash": logged.hash,
        }


def _pours(book: "BookCore", at_us: int | None) -> Iterator[Row]:
    refs: dict[str, str] = {}
    for line in replayed(book.store, at_us):
        if line.kind != "pour":
            continue
        body = line.body
        for end in (body["from"], body["to"]):
            if end not in refs:
                refs[end] = facts(book.store, key_of(end)).get("ref", "") if end[0].isupper() else ""
        yield {
            "entry": line.entry["number"],
            "line": line.place,
            "happened": line.entry["happened"],
            "verb": line.entry["body"]["verb"],
            "source": body["from"],
            "source_ref": refs[body["from"]],
            "target": body["to"],
            "target_ref": refs[body["to"]],
            **line.left._asdict(),
            "received_mg": line.received_mg,
            "who": line.entry["who"],
            "reason": line.entry.get("reason", ""),
            "facts": body.get("facts", {}),
        }


_TABLES = {
    "stock": _Table(
        (
            *("id", "kind", "ref", "mass_mg", "ethanol_mg", "extract_mg"),
            *("volume_ml_20c", "strength_20c", "pure_alcohol_ml", *_FACTS),
        ),
        _stock,
    ),
    "journal": _Table((*_OF_ENTRIES, "gone", "body", "hash"), _journal),
    "pours": _Table(
        (
            *("entry", "line", "happened", "verb", "source", "source_ref", "target", "target_ref"),
            *("mass_mg", "ethanol_mg", "extract_mg", "received_mg", "who", "reason", "facts"),
        ),
        _pours,
    ),
}


# -- forms ------------------------------------------------------------------------------


def write_csv(file: TextIO, columns: Sequence[str], rows: Iterable[Row]) -> int:
    """Write rows as CSV, a part at a time; how many there were."""
    import pandas as pd  # heavy, and only for those who write CSV

    rows = iter(rows)
    count, header = 0, True
    while chunk := list(islice(rows, _CHUNK)):
        cells = ([_cell(row.get(column, "")) for column in columns] for row in chunk)
        frame = pd.DataFrame(cells, columns=list(columns), dtype=object)
        frame.to_csv(file, index=False, header=header, lineterminator="\n")
        count, header = count + len(chunk), False
    if header:
        pd.DataFrame(columns=list(columns)).to_csv(file, index=False, lineterminator="\n")
    return count


def _cell(value: object) -> object:
    if isinstance(value, dict | list):
        value = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return guarded(value) if isinstance(value, str) else value


def _write_json(file: TextIO, columns: Sequence[str], rows: Iterable[Row]) -> int:
    """One document: a list of objects, each on its line."""
    count = 0
    file.write("[")
    for row in rows:
        file.write(",\n" if count else "\n")
        json.dump({column: row.get(column) for column in columns}, file, ensure_ascii=False)
        count += 1
    file.write("\n]\n")
    return count
