"""Stock, pours and traces as tables: what other programs read.

Numbers are whole milligrams or unrounded, identifiers carry no hyphens, times are UTC. Figures are working
figures; the legal gauge and the duty return follow the local authority and licensed practice.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     list(stock_table(book).rows)
[]
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from pourbook.book.contents import EVER, LINES
from pourbook.book.entries import STAGES
from pourbook.book.items import facts, on_hand
from pourbook.book.tasting_notes import About, TastingNote, notes, stage_words
from pourbook.codes.identifiers import key_of
from pourbook.exchange.output.counted_lines import replayed
from pourbook.exchange.output.refs import Refs
from pourbook.exchange.output.writing import Row, Table
from pourbook.queries.traces.trace import trace_back, trace_forward
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.lineage.bases import Basis

__all__ = ["OfTastings", "OfTrace", "pours_table", "stock_table", "tastings_table", "trace_table"]

OfTastings = Literal["notes", "words"]
_NOTED = ("entry", "happened", "item", "ref", "assessor", "who", "session", "code")
_OF_A_NOTE = (
    *("text", "finish_s", "missing", "too_much", "liking", "score", "off_notes", "strength_vol", "temperature_c"),
    *("amount_ml", "rank", "blind"),
)

OfTrace = Literal["items", "origins", "pours"]

_FACTS = (
    *("name", "wood", "cooper", "toast", "char", "seasoning", "capacity_l", "spirit", "place", "owner"),
    *("previous", "earlier_fills", "note"),
)


def stock_table(book: "BookCore", at_us: int | None = None) -> Table:
    """What holds liquid at a moment; None is now."""
    contents = ("mass_mg", "ethanol_mg", "extract_mg", "volume_ml_20c", "strength_20c", "pure_alcohol_ml")
    rows = (
        {
            **{name: getattr(item, name) for name in ("id", "kind", "ref")},
            **item.holding.liquid._asdict(),
            **{name: getattr(item, name) for name in ("volume_ml_20c", "strength_20c", "pure_alcohol_ml")},
            **{name: item.facts.get(name, "") for name in _FACTS},
        }
        for item in on_hand(book.store, at_us)
    )
    return Table(("id", "kind", "ref", *contents, *_FACTS), rows)


def pours_table(book: "BookCore", at_us: int | None = None) -> Table:
    """Every line that counts until a moment; None is all."""
    ends = ("source", "source_ref", "target", "target_ref")
    moved = ("mass_mg", "ethanol_mg", "extract_mg", "received_mg")
    return Table(("entry", "line", "happened", "verb", *ends, *moved, "who", "reason", "facts"), _pours(book, at_us))


def tastings_table(book: "BookCore", rows: OfTastings = "notes", at_us: int | None = None) -> Table:
    """Every tasting note until a moment (None is all), a row each; or a row for each word with an intensity."""
    found = notes(book.store, About(until_us=EVER if at_us is None else at_us))
    said = (_of_note(book, note) for note in found)
    if rows == "notes":
        return Table((*_NOTED, *STAGES, *_OF_A_NOTE), (row for row, _ in said))
    return Table(
        (*_NOTED, "stage", "word", "intensity"),
        (
            {**{name: row[name] for name in _NOTED}, "stage": stage, "word": word, "intensity": intensity}
            for row, note in said
            for stage, found in note.stages.items()
            for word, intensity in found.words.items()
        ),
    )


def _of_note(book: "BookCore", note: TastingNote) -> tuple[Row, TastingNote]:
    ref = facts(book.store, key_of(note.item)).get("ref", "") if note.item else ""
    row: Row = {
        name: getattr(note, name) for name in ("entry", "item", "assessor", "who", "session", "code", *_OF_A_NOTE)
    }
    row |= {"ref": ref, "happened": written(note.happened_us), "off_notes": "; ".join(note.off_notes)}
    row |= {name: "" if row[name] is None else row[name] for name in _OF_A_NOTE}
    return row | {name: stage_words(one, ".") for name, one in note.stages.items()}, note


def trace_table(
    book: "BookCore", item: str, table: OfTrace, by: "Basis" = "alcohol", *, forward: bool = False,
    at_us: int | None = None,
) -> Table:  # fmt: skip
    """A table of the trace of an item as of `at_us` (None: now); with `forward`, of what it went into."""
    frame = (trace_forward if forward else trace_back)(book, item, by, at_us).frame(table).astype(object)
    frame.columns = frame.columns.map(str)
    rows: list[Row] = frame.where(frame.notna(), None).to_dict("records")  # type: ignore[assignment]
    refs = Refs(book.store)
    refs.learn(*(row[name] for row in rows for name in _ENDS if row.get(name)))
    told = [name for column in frame.columns for name in _TOLD.get(column, (column,))]
    return Table(told, (_told(row, refs) for row in rows))


_ENDS = ("source", "target", "into")
_TOLD = {"line": ("entry", "line"), "happened_us": ("happened",), **{end: (end, f"{end}_ref") for end in _ENDS}}
"""Columns of a trace that are the book's own numbers, or name an item, with the columns that stand in their place."""


def _told(row: Row, refs: Refs) -> Row:
    """A row of a trace as others read it: entry and line by their numbers, time as text, items with their refs."""
    told = {**row, **{f"{end}_ref": refs.get(row[end], "") for end in _ENDS if end in row}}
    if "line" in row:
        told["entry"], told["line"] = divmod(row["line"], LINES)
    if "happened_us" in row:
        told["happened"] = None if row["happened_us"] is None else written(int(row["happened_us"]))
    return told


def _pours(book: "BookCore", at_us: int | None) -> Iterator[Row]:
    refs = Refs(book.store)
    for line in replayed(book.store, at_us):
        if line.entry["kind"] != "pour":
            continue
        body = line.body
        refs.learn(body["from"], body["to"])
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
