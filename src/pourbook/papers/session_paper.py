"""The report of a tasting session that was closed: what each glass and each assessor found, and what follows."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable  # loaded only by the verbs that print

from pourbook import typefaces
from pourbook.codes.identifiers import hyphened
from pourbook.papers.blocks import Block, Lines, Place, Rows, tabled
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY_STRONG, SMALL, Cell, Piece, Type
from pourbook.papers.page import Imprint, Title
from pourbook.papers.sections import facts, lines
from pourbook.papers.tables import Column
from pourbook.words.paper_figures import Notation
from pourbook.words.session_words import CAUTION, found_words, spread_words

if TYPE_CHECKING:
    from pourbook.queries.tastings.session_report import SessionReport

__all__ = ["SessionPaper", "session_paper"]

_CHECK = "To check it, take the SHA-256 of sealed_text, as pourbook session report --json gives it."
_NAME = Type(typefaces.SEMIBOLD, 13, 16)


@dataclass(frozen=True, slots=True)
class SessionPaper:
    """What the report says: what was `found`, with its imprint, the session's `id` as read and `code` as scanned.

    `named` is each item as a line names it; `date`, `glass`, `alcohol` and `brings` are words.
    """

    imprint: Imprint
    id: str
    code: str
    found: "SessionReport"
    named: dict[str, str]
    date: str
    glass: str
    alcohol: str
    brings: str


def session_paper(values: SessionPaper, paper: str = "A4") -> bytes:
    """The report as PDF. Raises as `pourbook.papers.page.document`."""
    session = values.found.card.opened.session
    stated = [
        ("Date", values.date), ("Purpose", f"{session.test} test" if session.test else session.purpose),
        ("In each glass", values.glass), ("Assessors", str(len(session.assessors))),
    ]  # fmt: skip

    def opening(width_pt: float) -> list[Flowable]:
        return [
            Cell([Piece(session.name, _NAME)]),
            facts(stated, width_pt),
            *(lines([session.asks], label="Question") if session.asks else ()),
            *lines([values.alcohol, values.brings]),
            *lines([CAUTION], BODY_STRONG),
        ]

    return report(values.imprint, Title("Session report", values.id, values.code), opening, _sections(values), paper)


def _sections(values: SessionPaper) -> Iterable[Section]:
    found, notation = values.found, values.imprint.notation
    yield Section("What may be concluded", [Lines(found_words(found, values.named, notation.mark))])
    if any(one.ballots for one in found.glasses) and not found.test:
        yield Section("By glass", _by_glass(values))
        yield Section("What was found", _words(values))
    yield Section("By assessor: code, glass, score", [*_by_assessor(values)])
    agrees = "agrees: nothing was changed since the session was opened" if found.seal_agrees else "DOES NOT AGREE"
    seal = found.card.opened.session.seal
    yield Section("Seal", [Lines((f"SHA-256 {seal}", f"What was revealed {agrees}.", _CHECK), SMALL)])


def _by_glass(values: SessionPaper) -> list[Block]:
    mark = values.imprint.notation.mark
    columns = (
        Column("glass", 60, stretch=1), Column("ballots", 16, "right"), Column("score", 30, "right"),
        Column("liking", 30, "right"), Column("mean rank", 22, "right"),
    )  # fmt: skip
    rows = [
        (
            values.named[one.item], str(one.ballots), spread_words(one.score, mark), spread_words(one.liking, mark),
            values.imprint.notation.fixed(one.rank.mean, 2) if one.rank else "",
        )
        for one in values.found.glasses
    ]  # fmt: skip
    return tabled(columns, rows)


def _words(values: SessionPaper) -> list[Block]:
    mark = values.imprint.notation.mark
    columns = (
        Column("glass", 40, stretch=1), Column("words, mean intensity", 60, stretch=2),
        Column("missing", 40, stretch=1), Column("too much", 40, stretch=1),
    )  # fmt: skip
    rows = [
        (
            values.named[one.item],
            ", ".join(f"{word} {Notation(mark).fixed(found.mean, 1)} ({found.number})" for word, found in one.words),
            "; ".join(dict.fromkeys(one.missing)),
            "; ".join(dict.fromkeys(one.too_much)),
        )
        for one in values.found.glasses
        if one.words or one.missing or one.too_much
    ]
    return tabled(columns, rows)


def _by_assessor(values: SessionPaper) -> list[Block]:
    most = max(len(person.glasses) for person in values.found.people)
    places = (Column(str(place), 18, stretch=1) for place in range(1, most + 1))
    columns = (Column("", 28), *places, Column("mean", 20, "right"))
    rows: list[tuple[Place, ...]] = []
    for person in values.found.people:
        cells: list[Place] = []
        for glass, note in person.glasses:
            picked = "picked" if note and values.found.test and note.rank == 1 else ""
            score = values.imprint.notation.fixed(note.score, 0) if note and note.score is not None else ""
            cells.append((Piece(glass.code, BODY_STRONG), Piece(hyphened(glass.item), SMALL), Piece(picked or score)))
        mean = spread_words(person.score, values.imprint.notation.mark)
        rows.append((Piece(person.called, BODY_STRONG), *cells, *[""] * (most - len(cells)), mean))
    return [Rows(columns, tuple(rows))]
