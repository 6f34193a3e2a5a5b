"""The history of a cask on paper: its wood, what it held before, what happened to it, each fill and what it gave."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook.codes.identifiers import hyphened
from pourbook.lineage.ages import age_of
from pourbook.papers.blocks import Block, Facts, Lines, Part
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY_STRONG, SMALL, Piece
from pourbook.papers.endpoints import named_endpoint
from pourbook.papers.listing import ENTRY, WHEN, listed, named
from pourbook.papers.page import Imprint, Title
from pourbook.papers.sections import facts
from pourbook.papers.tables import Column, Content
from pourbook.queries.casks.provenance import WOOD_FACTS, CaskFill, Provenance
from pourbook.times import day_shown, minute
from pourbook.words.cask_words import (
    amount_words,
    fact_words,
    happened,
    lost_so_far,
    lost_words,
    source_words,
    span_words,
    thought_of,
    time_in_cask,
)
from pourbook.words.figure_words import UNKNOWN, age_text, in_litres, percent, strength_shown
from pourbook.words.paper_figures import Notation
from pourbook.words.tasting_words import found_words, tasted_words

if TYPE_CHECKING:
    from datetime import tzinfo


__all__ = ["CaskPaper", "cask_paper"]

_COMPUTED = (
    "Previous contents are as typed, the oldest first. A fill lasts from the first pour into the empty cask until the "
    "cask is empty again; fills before it came into this book are counted as far as they were recorded. Strengths and "
    "volumes are at 20 °C.\n"
    "What a fill gave is listed for each trial, batch, lot and cask it reached, straight from the cask or through "
    "others, so the lines do not add up: a lot is listed beside its batch. Litres and strength "
    "are those of the cask's own spirit in it; the share is its part, by pure alcohol, of all that was ever poured "
    "into it. Liquids are assumed perfectly mixed. What was thought of it is the mean of its own notes, each taster "
    "counted once, ± one standard error, with how many tasted; it is of the whole, not of this cask's part.\n"
    "The yearly loss follows from gauges of one fill 60 days apart or more, between draws of no more than a twentieth; "
    "± at 95 %."
)


@dataclass(frozen=True, slots=True)
class CaskPaper:
    """What the paper says under its imprint: the history `found`, its times in the zone of the house."""

    imprint: Imprint
    found: Provenance
    zone: "tzinfo"


def cask_paper(values: CaskPaper, paper: str = "A4") -> bytes:
    """The history as PDF. Raises as `pourbook.papers.page.document`."""
    view = values.found.view
    title = Title("Cask history", hyphened(view.id), view.id)
    sections = _sections(values)
    return report(values.imprint, title, lambda width: _statement(values, width), sections, paper, "nothing recorded")


def _statement(values: CaskPaper, width_pt: float) -> list[Flowable]:
    view, notation = values.found.view, values.imprint.notation
    known = view.facts
    holds = amount_words(view.holding.liquid, notation.mark) if view.holding.mass_mg else "empty"
    pairs: list[tuple[str, Content]] = [
        ("Cask", Piece(view.ref or known.get("name", "") or hyphened(view.id), BODY_STRONG)),
        ("Holds", Piece(holds, BODY_STRONG)),
        ("Place", known.get("place", UNKNOWN)),
        ("As of", minute(values.found.until_us, values.zone)),
        *((fact_words(name).capitalize(), _fact(name, known, notation)) for name in WOOD_FACTS),
        ("Fills before this book", known.get("earlier_fills", UNKNOWN)),
    ]
    return [facts(pairs, width_pt), Spacer(0, 2)]


def _fact(name: str, known: dict[str, str], notation: Notation) -> str:
    value = known.get(name, "")
    return f"{value.replace('.', notation.mark)} l" if value and name == "capacity_l" else value or UNKNOWN


def _sections(values: CaskPaper) -> Iterator[Section]:
    found = values.found
    previous = tuple(f"{number}. {text}" for number, text in enumerate(found.previous, 1))
    yield Section("What it held before it came here", [Lines(previous)] if previous else [])
    yield Section("Arrival, inspections, treatments and repairs", _happened(values))
    if found.tastings:
        yield Section("Tasting notes", _tasted(values))
    fills = [Part(_heading(fill, values), tuple(_fill(fill, values))) for fill in found.fills]
    yield Section("Fills in this book", fills)
    yield Section("How these figures are computed", [Lines(tuple(_COMPUTED.splitlines()), SMALL)])


def _happened(values: CaskPaper) -> list[Block]:
    return listed(
        happened(values.found),
        (
            (WHEN, lambda one: day_shown(one.happened_us, values.zone)),
            (ENTRY, lambda one: str(one.entry)),
            (Column("about", 24), lambda one: one.subject),
            (Column("what", 60, stretch=1), lambda one: one.text),
            (Column("who", 32), lambda one: one.who),
        ),
    )


def _tasted(values: CaskPaper) -> list[Block]:
    return listed(
        values.found.tastings,
        (
            (WHEN, lambda one: day_shown(one.note.happened_us, values.zone)),
            (ENTRY, lambda one: str(one.note.entry)),
            (Column("what", 40), tasted_words),
            (Column("found", 60, stretch=1), lambda one: found_words(one.note, values.imprint.notation.mark)),
            (Column("by", 28), lambda one: one.note.assessor),
        ),
    )


def _heading(fill: CaskFill, values: CaskPaper) -> str:
    return f"Fill {fill.number}: {source_words(fill.poured)}, {span_words(fill, values.zone)}"


def _fill(fill: CaskFill, values: CaskPaper) -> Iterator[Block]:
    notation, zone = values.imprint.notation, values.zone
    count, drawn_ml = fill.samples
    yield Facts(
        (
            ("Filled with" if fill.poured else "Found", amount_words(fill.filled, notation.mark)),
            ("Holds" if fill.ended_us is None else "Held at the end", amount_words(fill.last, notation.mark)),
            ("In this cask", time_in_cask(fill, values.found.until_us, zone)),
            ("Time in wood", age_text(age_of(fill.age.youngest, zone))),
            ("Lost, by gauges and recorded losses", lost_so_far(fill, notation.mark)),
            ("Lost in a year", lost_words(fill.loss, notation.mark)),
            ("Samples", f"{count}, {in_litres(drawn_ml, notation.mark)}" if count else "none"),
        )
    )
    yield from _gave(fill, notation)


def _gave(fill: CaskFill, notation: Notation) -> list[Block]:
    return listed(
        fill.gave,
        (
            (Column("gave to", 34), lambda one: named(named_endpoint(one.item.id, {one.item.id: one.item.facts}))),
            (Column("", 24, stretch=1), lambda one: "" if one.is_direct else "through others"),
            (Column("volume\nat 20 °C", 26, "right"), lambda one: in_litres(one.volume_ml_20c, notation.mark)),
            (
                Column("strength\n% vol", 22, "right"),
                lambda one: strength_shown(one.strength_20c, notation.mark),
            ),
            (
                Column("pure alcohol\nLPA", 24, "right"),
                lambda one: notation.fixed(one.pure_alcohol_ml / 1000, 3),
            ),
            (Column("share of it\n%", 22, "right"), lambda one: percent(one.share, notation.mark)),
            (Column("thought of it", 34, stretch=1), lambda one: Piece(thought_of(one, notation.mark), SMALL)),
        ),
    ) or [Lines(("Gave nothing to a trial, batch or lot.",))]
