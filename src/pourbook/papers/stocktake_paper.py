"""The result of a stocktake on paper: what was not as the book has it, lines to sign, then all that was found."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import Flowable

from pourbook import typefaces
from pourbook.codes.identifiers import hyphened
from pourbook.papers.blocks import Block, Lines, Place, Rows, Signatures
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY_STRONG, SMALL, Box, Cell, Piece, Type
from pourbook.papers.endpoints import Named
from pourbook.papers.listing import listed, named
from pourbook.papers.page import Imprint, Title
from pourbook.papers.sections import facts, lines
from pourbook.papers.tables import Column
from pourbook.times import minute
from pourbook.words.cask_words import wood_words
from pourbook.words.stocktake_words import NOT_AS_IN_THE_BOOK

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.queries.warehouse.stocktake import Line, StocktakeCard

__all__ = ["StocktakePaper", "stocktake_paper"]

_NAME = Type(typefaces.SEMIBOLD, 13, 16)
_HOW = (
    "Expected is whatever holds spirit and has its place there by the book. Nothing is written off by a stocktake: what"
    " is missing stays due until it is found, moved, poured from or written off."
)
_TO_WRITE = Box(42 * mm, 6.5 * mm)


@dataclass(frozen=True, slots=True)
class StocktakePaper:
    """What the paper says under its imprint: the stocktake `found`, its times in the zone of the house."""

    imprint: Imprint
    found: "StocktakeCard"
    zone: "tzinfo"


def stocktake_paper(values: StocktakePaper, paper: str = "A4") -> bytes:
    """The result as PDF. Raises as `pourbook.papers.page.document`."""
    begun = values.found.taken.begun
    title = Title("Stocktake", f"STOCKTAKE-{begun.number}", f"STOCKTAKE{begun.number}")
    return report(values.imprint, title, lambda width: _opening(values, width), _sections(values), paper)


def _opening(values: StocktakePaper, width_pt: float) -> list[Flowable]:
    taken, result = values.found.taken, values.found.result
    end = taken.end
    stated = [
        ("Place", Piece(taken.stocktake.place or "the whole house", BODY_STRONG)),
        ("Begun", f"{minute(taken.begun.happened_us, values.zone)}, {taken.begun.entry['who']}"),
        ("Ended", f"{minute(end.happened_us, values.zone)}, {end.entry['who']}" if end else "under way"),
        ("By the book", str(values.found.expected)),
        ("Found", Piece(str(len(result.found)), BODY_STRONG)),
        ("Missing", Piece(str(len(result.missing)), BODY_STRONG)),
        ("Elsewhere by the book", str(len(result.extra))),
        ("Labels to print again", str(len(result.illegible))),
    ]
    warning = [] if end else ["Provisional: the stocktake is under way."]
    return [
        Cell([Piece(taken.stocktake.name, _NAME)]),
        facts(stated, width_pt),
        *lines(warning, BODY_STRONG),
        *lines([_HOW]),
    ]


def _sections(values: StocktakePaper) -> Iterable[Section]:
    every = values.found.lines()
    for state, title in NOT_AS_IN_THE_BOOK.items():
        of_it = [one for one in every if one.state == state]
        if of_it or state == "missing":
            yield Section(title[:1].upper() + title[1:], _listed(of_it, values, to_write=state != "emptied"))
    twice = tuple(f"{hyphened(item)} was scanned at {' and at '.join(at)}." for item, at in values.found.twice.items())
    if twice:
        yield Section("Scanned at two places: are there two such labels?", [Lines(twice)])
    yield Section("Signed", [Signatures(("Counted by", "Checked by"))], is_whole=True)
    yield Section("Found", _listed([one for one in every if one.state == "found"], values, to_write=False))


def _listed(of: "Iterable[Line]", values: StocktakePaper, *, to_write: bool) -> list[Block]:
    def seen(one: "Line") -> str:
        return f"{minute(one.sighting.happened_us, values.zone)}, {one.sighting.who}" if one.sighting else ""

    columns: list[tuple[Column, Callable[[Line], Place]]] = [
        (Column("item", 34), _item),
        (Column("wood", 34, stretch=1), lambda one: wood_words(one.view.facts) if one.view else ""),
        (Column("place by the book", 28, stretch=1), lambda one: one.by_book),
        (Column("seen at", 28, stretch=1), lambda one: one.seen_at if one.seen_at != one.by_book else ""),
        (Column("seen", 40), lambda one: Piece(seen(one), SMALL)),
        (Column("label", 16), lambda one: "print again" if one.illegible and one.view else ""),
    ]
    found = listed(of, columns)
    return [_with_boxes(one) for one in found if isinstance(one, Rows)] if to_write else found


def _with_boxes(table: Rows) -> Rows:
    """Room on every line to write by hand."""
    columns = (*table.columns, Column("what became of it", 44, is_middle=True))
    return Rows(columns, tuple((*row, _TO_WRITE) for row in table.rows))


def _item(one: "Line") -> Place:
    if one.view is None:
        return one.text if one.state == "unknown code" else "not known"
    return named(Named(hyphened(one.view.id), one.view.ref or one.view.facts.get("name", "")))
