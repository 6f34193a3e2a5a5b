"""The sheet of a family as PDF: what was tried and which was best on the first page, then every note."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable, Spacer, Table  # loaded only by the verbs that print

from pourbook.codes.identifiers import hyphened
from pourbook.numerals import counted, shown
from pourbook.papers.blocks import Lines
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY_STRONG, SMALL, Mark, scanned
from pourbook.papers.family.family_marks import Layout, head_drawn, key_drawn, laid_out, row_drawn
from pourbook.papers.listing import WHEN, listed
from pourbook.papers.marks_drawing import DrawnMarks
from pourbook.papers.page import Imprint, Title, first_room_pt
from pourbook.papers.sections import facts, height_pt, lines
from pourbook.papers.tables import Column, Content
from pourbook.queries.trials.family import Family
from pourbook.times import day_shown
from pourbook.words.tried_words import best_words

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["FamilySheet", "Remark", "family_sheet"]

_MODULE_DOTS = 6
_ABOVE_PT = 75.0
"""The key and the heads of the columns, at the most."""
_COMPUTED = (
    "Figures in the columns are per cent by volume at 20 °C as poured, looked through to what the key names; what is "
    "tinted differs from what it was revised from, by the small figure below.\n"
    "Every taster counts once, with the mean of his or her notes: small circles. The dot is the mean of the tasters, "
    "the line its standard error. Whether one trial is ahead of another is judged by those who tasted both, at 95 %.\n"
    "Cost is before evaporation; age is that of the youngest spirit."
)


@dataclass(frozen=True, slots=True)
class Remark:
    """A note on a member: the `item`, when it `happened_us`, `who` made it, its `words`, and the figures given.

    The figures are a `score` and a `liking`, None where there is none.
    """

    item: str
    happened_us: int
    who: str
    words: str
    score: float | None = None
    liking: float | None = None


@dataclass(frozen=True, slots=True)
class FamilySheet:
    """What the sheet says under its imprint: a `family` with its `notes`, times in the `zone` of the house.

    `code` is the identifier of the trial that it is named by; costs are in `currency`.
    """

    imprint: Imprint
    code: str
    family: Family
    notes: tuple[Remark, ...]
    currency: str
    zone: "tzinfo"


def family_sheet(sheet: FamilySheet, paper: str = "A4") -> bytes:
    """The sheet as PDF. Raises as `pourbook.papers.page.document`."""

    def opening(width_pt: float) -> list[Flowable]:
        first, *others = _best(sheet)
        head = [facts(_stated(sheet), width_pt), *lines([first], BODY_STRONG), *lines(others)]
        mark_pt = Mark("qr", sheet.code, _MODULE_DOTS).width
        room = first_room_pt(paper) - height_pt(head, width_pt)
        mark = sheet.imprint.decimal_mark
        layout = laid_out(sheet.family, width_pt - mark_pt, room - _ABOVE_PT, sheet.currency, sheet.zone, mark)
        return [*head, Spacer(0, 4), DrawnMarks(key_drawn(layout)), _tree(layout, mark_pt)]

    title = Title("Family of trials", hyphened(sheet.code), sheet.code)
    return report(sheet.imprint, title, opening, _sections(sheet), paper, "none")


def _stated(sheet: FamilySheet) -> list[tuple[str, Content]]:
    members = sheet.family.members
    poured = sum(one.blend is not None for one in members)
    tasted = sum(bool(one.opinion.scores or one.opinion.likings) for one in members)
    first = members[0]
    began = first.name if first.trial is None else first.trial.ref or hyphened(first.name)
    return [
        ("Began with", began),
        ("Trials poured", f"{poured} of {sum(one.trial is not None for one in members)}"),
        ("Trials tasted", str(tasted)),
        ("Columns by", f"{sheet.family.by.group_by}{', beside the water' if sheet.family.by.without_water else ''}"),
    ]


def _best(sheet: FamilySheet) -> list[str]:
    """The best so far and why, a line for each that is next to it."""
    found = sheet.family
    said = map(str.strip, best_words(found.best, found.compositions, found.called, sheet.imprint.decimal_mark))
    first, *others = (*said,) or ("nobody gave a score or a liking yet",)
    pairs = zip(others[::2], others[1::2], strict=True)
    return [f"{first[0].upper()}{first[1:]}.", *(f"{beside}; {apart}." for beside, apart in pairs)]


def _tree(layout: Layout, mark_pt: float) -> Table:
    """A row for each member, its symbol to scan beside it; the heads stand on every page."""
    rows: list[list[Flowable | str]] = [[DrawnMarks(head_drawn(layout)), ""]]
    for number, one in enumerate(layout.family.members):
        symbol = Mark("qr", scanned(hyphened(one.name), one.name), _MODULE_DOTS) if one.trial else ""
        rows.append([DrawnMarks(row_drawn(layout, number)), symbol])
    style = [(name, (0, 0), (-1, -1), 0) for name in ("LEFTPADDING", "RIGHTPADDING", "TOPPADDING", "BOTTOMPADDING")]
    return Table(
        rows, colWidths=[layout.width, mark_pt], rowHeights=[20.0, *[layout.height] * (len(rows) - 1)],
        style=[*style, ("VALIGN", (0, 0), (-1, -1), "TOP")], hAlign="LEFT", repeatRows=1, normalizedData=1,
    )  # fmt: skip


def _sections(sheet: FamilySheet) -> Iterator[Section]:
    mark = sheet.imprint.decimal_mark
    called = {one.name: one.trial.ref for one in sheet.family.members if one.trial}
    notes = listed(
        sheet.notes,
        (
            (Column("trial", 30), lambda one: called[one.item] or hyphened(one.item)),
            (WHEN, lambda one: day_shown(one.happened_us, sheet.zone)),
            (Column("who", 28), lambda one: one.who),
            (Column("what was found", 80, stretch=1), lambda one: one.words),
            (Column("score", 13, "right"), lambda one: _given(one.score, mark)),
            (Column("liking", 13, "right"), lambda one: _given(one.liking, mark)),
        ),
    )
    yield Section(f"{counted(len(sheet.notes), 'note').capitalize()}" if sheet.notes else "Notes", notes)
    yield Section("How to read it", [Lines(tuple(_COMPUTED.splitlines()), SMALL)], is_whole=True)


def _given(value: float | None, mark: str) -> str:
    return "" if value is None else shown(value, 1, mark)
