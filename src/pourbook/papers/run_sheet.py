"""The run sheet of a bottling: boxes to fill in at the line while it runs, and what the book has of it by then.

Before the line it is all boxes; printed once the run has ended it is all figures. Both on one paper, since a run is
long and somebody prints it again.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import Flowable, KeepTogether, Spacer

from pourbook.codes.identifiers import hyphened
from pourbook.papers.cells import BODY, BODY_STRONG, IDENTIFIER, SMALL, Box, Mark, Piece, scanned
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import initials, lines, section, sheet_head
from pourbook.papers.tables import Column, Content, paper_table
from pourbook.queries.bottling.run import BottlingRun, LotOfRun, VatOfRun
from pourbook.times import minute
from pourbook.words.bottling_words import CAUTION, balance_rows, good_words, run_words

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = ["RunSheet", "run_sheet"]

_BEFORE = (
    "Line rinsed and drained", "Filter fitted, its lot noted", "First litres run through and put back",
    "Strength read at the filler", "Glass, closures, labels: lots noted", "Lot mark and size on the label",
)  # fmt: skip
"""What is looked at before a line starts (common practice, no source)."""

_COUNTED = {
    "time": 16, "lot": 18, "counter": 18, "put back": 15, "broken": 15, "laboratory": 17, "retained": 15,
    "new lot of glass, closure, filter": 42, "by": 13,
}  # fmt: skip
_LEFT = {"purge": 1, "of it put back": 1, "filter": 1, "spilled": 1, "left in the vat": 1, "at °C": 1}
"""What is written in columns of boxes, each with its share of the width."""

_COUNTS = 7
_FILLS = 30
_ACROSS = 10
_BETWEEN_PT = 6.0
_BOX_PT = 7.5 * mm
_MODULE_DOTS = 12


@dataclass(frozen=True, slots=True)
class RunSheet:
    """What it says under its imprint: a `run`, `prepared_by` whom, its `date`; times in the `zone` of the house."""

    imprint: Imprint
    run: BottlingRun
    zone: "tzinfo"
    prepared_by: str
    date: str


def run_sheet(values: RunSheet, paper: str = "A4") -> bytes:
    """The sheet as PDF. Raises as `pourbook.papers.page.document`."""
    run = values.run

    def story(width_pt: float) -> list[Flowable]:
        name = run.lots[0].view.facts.get("name") or hyphened(run.id)
        found = [
            *sheet_head(f"Bottling of {name}", _stated(values), width_pt, (), ()),
            Spacer(0, 3),
            _lots(values, width_pt),
        ]
        if run.under_way:
            found += _boxes(values, width_pt)
        if any(lot.counted.filled for lot in run.lots) or any(vat.losses for vat in run.vats):
            found += _figures(values, width_pt)
        labels = ("Line run by", "Fills measured by", "Date and time")
        return [*found, Spacer(0, 4), KeepTogether([*lines([CAUTION.capitalize()], SMALL), initials(labels, width_pt)])]

    return document(values.imprint, Title("Bottling run", hyphened(run.id), run.id), story, paper)


def _stated(values: RunSheet) -> list[tuple[str, Content]]:
    run, notation = values.run, values.imprint.notation
    found: list[tuple[str, Content]] = [
        ("Run", "under way" if run.under_way else "ended"),
        ("Prepared by", values.prepared_by),
        ("Date", values.date),
        ("Sizes", str(len(run.lots))),
    ]
    for vat in run.vats:
        known = vat.view.facts
        strength = notation.with_unit(vat.view.strength_20c, 2, "% vol") if vat.view.holding.mass_mg else "empty"
        where = " · ".join(text for text in (vat.view.ref, known.get("place", ""), strength) if text)
        found.append((f"From {hyphened(vat.view.id)}", Piece(where, BODY_STRONG)))
    return found


_LOTS = (
    Column("scan", 10.5),
    Column("lot", 34, stretch=1.4),
    Column("size\nml", 13, "right"),
    Column("label\n% vol", 15, "right"),
    Column("lot mark", 24, stretch=1),
    Column("may lack\nml", 15, "right"),
    Column("least\nml", 14, "right"),
    Column("filled", 15, "right"),
    Column("put\nback", 12, "right"),
    Column("gone", 12, "right"),
)


def _lots(values: RunSheet, width_pt: float) -> Flowable:
    return paper_table(_LOTS, [_lot(lot, values) for lot in values.run.lots], width_pt, padding_pt=1.5)


def _lot(lot: LotOfRun, values: RunSheet) -> tuple[Content, ...]:
    fixed, known, error = values.imprint.notation.fixed, lot.view.facts, lot.tolerable_ml
    name = hyphened(lot.view.id)
    counted = lot.counted if lot.counted.filled else None
    return (
        Mark("data-matrix", scanned(name, lot.view.id), _MODULE_DOTS),
        (Piece(name, IDENTIFIER), Piece(lot.view.ref, SMALL)),
        Piece(fixed(lot.size_ml, 0), BODY_STRONG),
        known.get("labelled_strength", "").replace(".", values.imprint.notation.mark),
        known.get("lot_mark", ""),
        "" if error is None else fixed(error, 1),
        "" if error is None else Piece(fixed(lot.size_ml - error, 1), BODY_STRONG),
        "" if counted is None else str(counted.filled),
        "" if counted is None else str(counted.put_back),
        "" if counted is None else str(counted.gone),
    )


# -- before the line, and at it -----------------------------------------------------------


def _boxes(values: RunSheet, width_pt: float) -> list[Flowable]:
    asked = f"Everything here is typed once: pourbook bottling add {hyphened(values.run.lots[0].view.id)} …"
    return [
        *section("Before the line", [_checks(width_pt)], width_pt),
        *section("Counted at the line", [*lines([asked], SMALL), _counts(values, width_pt)], width_pt),
        *section("Fills, ml or g of the full bottle", [_fills(width_pt)], width_pt),
        *section("Lost and left", [_amounts(width_pt)], width_pt),
    ]


def _checks(width_pt: float) -> Flowable:
    columns = 2 * (Column("", 7), Column("", 50, stretch=1), Column("by", 12))
    box, by = Box(4.6 * mm, 4.6 * mm), Box(10 * mm, 4.6 * mm)
    pairs = zip(_BEFORE[::2], _BEFORE[1::2], strict=True)
    return paper_table(columns, [(box, left, by, box, right, by) for left, right in pairs], width_pt, padding_pt=1)


def _counts(values: RunSheet, width_pt: float) -> Flowable:
    rows = _COUNTS if len(values.run.lots) < 3 else _COUNTS + 4
    return _boxed(_COUNTED, rows, width_pt)


def _fills(width_pt: float) -> Flowable:
    return _boxed({str(number): 1 for number in range(1, _ACROSS + 1)}, _FILLS // _ACROSS, width_pt)


def _amounts(width_pt: float) -> Flowable:
    return _boxed(_LEFT, 1, width_pt)


def _boxed(columns: Mapping[str, float], rows: int, width_pt: float) -> Flowable:
    """Rows of boxes under their heads, each as wide as its share of the page."""
    whole = sum(columns.values())
    wide = {head: width_pt / mm * share / whole for head, share in columns.items()}
    row = tuple(Box(one * mm - _BETWEEN_PT, _BOX_PT) for one in wide.values())
    heads = tuple(Column(head, one) for head, one in wide.items())
    return paper_table(heads, [row] * rows, width_pt, padding_pt=0.8)


# -- what the book has ----------------------------------------------------------------------


def _figures(values: RunSheet, width_pt: float) -> list[Flowable]:
    found: list[Flowable] = []
    for lot in values.run.lots:
        if lot.counted.filled:
            title = f"{hyphened(lot.view.id)}  {lot.view.ref}".rstrip()
            found += section(title, lines(_of_lot(lot, values), SMALL), width_pt)
    for vat in values.run.vats:
        if any(vat.bottles) or vat.losses or vat.is_measured:
            title = f"What left {hyphened(vat.view.id)}  {vat.view.ref}".rstrip()
            found.append(KeepTogether(section(title, [_balance(vat, values, width_pt)], width_pt)))
    return found


def _of_lot(lot: LotOfRun, values: RunSheet) -> Iterator[str]:
    yield from (text for _, text in run_words(lot, lambda us: minute(us, values.zone), values.imprint.notation.mark))
    for kind in dict.fromkeys(one.kind for one in lot.goods):
        yield "; ".join(good_words(one) for one in lot.goods if one.kind == kind)


_BALANCE = (
    Column("", 60, stretch=1), Column("l at 20 °C", 24, "right"), Column("LPA", 24, "right"),
    Column("% of LPA", 22, "right"),
)  # fmt: skip


def _balance(vat: VatOfRun, values: RunSheet, width_pt: float) -> Flowable:
    fixed = values.imprint.notation.fixed
    *parts, whole, left = (
        (name, fixed(one.litres, 2), fixed(one.lpa, 3), fixed(share, 2) if share else "")
        for name, one, share in balance_rows(vat)
    )
    strong = tuple(Piece(text, BODY_STRONG) for text in whole)
    quiet = tuple(Piece(text, BODY) for text in left)
    return paper_table(_BALANCE, [*parts, strong, quiet], min(width_pt, 150 * mm))
