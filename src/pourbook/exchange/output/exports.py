"""Stock, journal, pours and traces as tables: what other programs read.

Numbers are whole milligrams or unrounded, identifiers carry no hyphens, times are UTC. Figures are working
figures; the legal gauge and the duty return follow the local authority and licensed practice.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere", clock=lambda: 0) as book:
...     [(row["number"], row["kind"], row["happened"]) for row in journal_table(book).rows]
[(1, 'house', '1970-01-01T00:00:00Z')]
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from pourbook.book.items import facts, on_hand
from pourbook.book.journal import journal
from pourbook.codes.identifiers import key_of
from pourbook.exchange.output.counted_lines import replayed
from pourbook.exchange.output.writing import Row, Table
from pourbook.queries.traces.trace import trace_back, trace_forward

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.lineage.bases import Basis

__all__ = ["OfTrace", "journal_table", "pours_table", "stock_table", "trace_table"]

OfTrace = Literal["items", "origins", "pours"]

_FACTS = (
    *("name", "wood", "cooper", "toast", "char", "seasoning", "capacity_l", "spirit", "place", "owner"),
    *("previous", "earlier_fills", "note"),
)
_OF_ENTRIES = ("number", "kind", "happened", "recorded", "who", "login", "where", "reason")


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


def journal_table(book: "BookCore", at_us: int | None = None) -> Table:
    """Every entry until a moment; None is all."""
    rows = (
        {
            **{name: logged.entry.get(name, "") for name in _OF_ENTRIES},
            "gone": logged.gone,
            "body": logged.entry["body"],
            "hash": logged.hash,
        }
        for logged in journal(book.store)
        if at_us is None or logged.happened_us <= at_us
    )
    return Table((*_OF_ENTRIES, "gone", "body", "hash"), rows)


def pours_table(book: "BookCore", at_us: int | None = None) -> Table:
    """Every line that counts until a moment; None is all."""
    ends = ("source", "source_ref", "target", "target_ref")
    moved = ("mass_mg", "ethanol_mg", "extract_mg", "received_mg")
    return Table(("entry", "line", "happened", "verb", *ends, *moved, "who", "reason", "facts"), _pours(book, at_us))


def trace_table(
    book: "BookCore", item: str, table: OfTrace, by: "Basis" = "alcohol", *, forward: bool = False,
    at_us: int | None = None,
) -> Table:  # fmt: skip
    """A table of the trace of an item as of `at_us` (None: now); with `forward`, of what it went into."""
    frame = (trace_forward if forward else trace_back)(book, item, by, at_us).frame(table).astype(object)
    frame.columns = frame.columns.map(str)
    return Table(tuple(frame.columns), frame.where(frame.notna(), None).to_dict("records"))  # type: ignore[arg-type]


def _pours(book: "BookCore", at_us: int | None) -> Iterator[Row]:
    refs: dict[str, str] = {}
    for line in replayed(book.store, at_us):
        if line.entry["kind"] != "pour":
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
