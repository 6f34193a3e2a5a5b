"""The journal as a flat table: a row for each line of a pour, one for every other entry, in the order recorded.

Every column says one thing and its unit, so that a spreadsheet can sort and sum it. Masses are what a line moved as it
left, or what a gauge found; blank where an entry no longer counts. Items stand by identifier, beside what the house
calls them; times are of the house, with their offset. Whole entries, as the book keeps them: `pourbook journal --json`.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> drafts = (Item(cask, {"ref": "Row 3/12"}), Item(vial, {}), fill, Pour("draw", (Move(cask, vial, 10),)))
>>> _ = book.record(*(Draft(one, 0, "M. Aldane") for one in drafts))
>>> [(row["entry"], row["verb"], row["from_ref"], row["to"], row["mass_mg"])
...     for row in journal_table(book).rows if row["kind"] == "pour"]
[(4, 'fill', '', 'C000001H', 1000), (5, 'draw', 'Row 3/12', 'V000001R', 10)]
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.book.coded_names import by_codes_in
from pourbook.book.contents import LINES
from pourbook.book.flows import found_by_line, moved_by_line
from pourbook.book.journal import Logged, journal, lines_of
from pourbook.exchange.output.refs import Refs
from pourbook.exchange.output.writing import Row, Table
from pourbook.liquid import Liquid
from pourbook.times import moment_of, with_offset
from pourbook.words.entry_words import lines_in_words

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.core import BookCore

__all__ = ["journal_table"]

_COLUMNS = (
    "entry", "line", "counts", "see_entry", "in_place_of", "kind", "verb", "happened", "recorded", "who", "login",
    "second", "second_by", "station", "from", "from_ref", "to", "to_ref", "typed", "bottles", "mass_mg", "ethanol_mg",
    "extract_mg", "volume_ml_20c", "strength_percent_vol_20c", "received_mg", "customer", "site", "from_site",
    "document", "what", "reason", "hash",
)  # fmt: skip

_Moved = tuple[Liquid, Liquid]


def journal_table(book: "BookCore", at_us: int | None = None, *, names: bool = True) -> Table:
    """Every entry until a moment, line by line; None is all. Without `names` people stand by codes."""
    return Table(_COLUMNS, _rows(book, at_us, names=names))


def _rows(book: "BookCore", at_us: int | None, *, names: bool) -> Iterator[Row]:
    store, refs, zone, mark = book.store, Refs(book.store), book.zone, book.settings["decimal_mark"]
    poured, found = _Merged(moved_by_line(store)), _Merged(found_by_line(store))
    for logged in journal(store) if names else map(by_codes_in(store), journal(store)):
        own = poured.of_entry(logged.number) | found.of_entry(logged.number)
        if at_us is not None and logged.happened_us > at_us:
            continue
        shared = _entry(logged, zone)
        body = logged.entry["body"]
        ends = [line for line in lines_of(body) if "from" in line] or [{"to": body.get("item", "")}]
        for line in ends:
            refs.learn(line.get("from", ""), line["to"])
            if not names and line["to"][:1] == "P":  # a person's ref is their name
                refs[line["to"]] = ""
        words = lines_in_words(logged, mark, refs)
        for place, (line, said) in enumerate(zip(ends, words, strict=True)):
            moved = own.get(logged.number * LINES + place)
            yield {**shared, "line": place, **_ends(line, refs), **_amounts(line, moved), "what": said}


class _Merged:
    """Amounts by number of the line, in that order, handed out entry by entry: memory stays flat."""

    def __init__(self, every: Iterator[tuple[int, _Moved]]) -> None:
        self.every = every
        self.next = next(every, None)

    def of_entry(self, number: int) -> dict[int, _Moved]:
        """Those of the lines of an entry."""
        found = {}
        while self.next is not None and self.next[0] < (number + 1) * LINES:
            line, moved = self.next
            found[line] = moved
            self.next = next(self.every, None)
        return found


def _entry(logged: Logged, zone: "tzinfo") -> Row:
    entry = logged.entry
    return {
        "entry": logged.number,
        "counts": "no" if logged.gone else "yes",
        "see_entry": logged.gone or "",
        "in_place_of": entry.get("replaces", ""),
        "kind": logged.kind,
        "verb": entry["body"].get("verb", "") if logged.kind == "pour" else "",
        "happened": with_offset(logged.happened_us, zone),
        "recorded": with_offset(moment_of(entry["recorded"]), zone),
        "who": entry["who"],
        "login": entry.get("login", ""),
        "second": entry["body"].get("second", ""),
        "second_by": entry["body"].get("second_key") or ("account" if "second_account" in entry["body"] else ""),
        "station": entry.get("where", ""),
        "reason": entry.get("reason", ""),
        "hash": logged.hash,
    }


def _ends(line: Mapping[str, Any], refs: Mapping[str, str]) -> Row:
    source, target = line.get("from", ""), line["to"]
    told = line.get("facts", {})
    return {
        "from": source,
        "from_ref": refs[source],
        "to": target,
        "to_ref": refs[target],
        "typed": line.get("typed", {}).get("amount", ""),
        "bottles": told.get("bottles", ""),
        **{name: told.get(name, "") for name in ("customer", "site", "from_site", "document")},
    }


def _amounts(line: Mapping[str, Any], moved: _Moved | None) -> Row:
    if moved is None:
        return {}
    left, received = moved
    return {
        **left._asdict(),
        "volume_ml_20c": volume_ml(left),
        "strength_percent_vol_20c": strength_20c(left),
        "received_mg": received.mass_mg if "from" in line else "",
    }
