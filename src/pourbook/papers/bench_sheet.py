"""The bench sheet: what to pour for a trial, in pouring order, with room for what was poured.

Running totals and sums are computed here, so they agree with the rows above them. An unknown
strength or cost prints as unknown, never as zero.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> rows = (
...     BenchRow("Q 7/14", "hogshead 12, malt", "base", Fraction(3, 4), 75, 69_000, 61.4, 25),
...     BenchRow("water", "deionised", "reduction", Fraction(1, 4), 25, 24_955),
... )
>>> running(rows)
[(Fraction(75, 1), 69000), (Fraction(100, 1), 93955)]
>>> sheet = BenchSheet(imprint, "T-000042-K", "T000042K", "Trial 42", rows, target_volume_ml=100)
>>> bench_sheet(sheet, paper="Letter")[:5]
b'%PDF-'
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import Flowable, KeepTogether, Spacer

from pourbook import typefaces
from pourbook.papers.cells import BODY_STRONG, IDENTIFIER, Box, Cell, Mark, Piece, Type, scanned
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import facts, initials, lines, section, sheet_head
from pourbook.papers.tables import Column, Content, paper_table
from pourbook.words.paper_figures import UNKNOWN, Figure, Notation, digits_needed, exact

__all__ = ["BenchRow", "BenchSheet", "bench_sheet", "running"]

_MG_PER_G = 1000
_MOST_FRACTION_DIGITS = 4
_MODULE_DOTS = 12
_BALANCE = "Tare the empty glass to 0. If you do not, add its weight to each balance reading: ____________ g."
_BOUNDS = "Small figures under what to pour: stop between them, and the part stays within its bounds."
_TARGET = Type(typefaces.SEMIBOLD, 9.2, 12)
_RUNNING = Type(typefaces.TEXT, 9.2, 12)
_UNDER = Type(typefaces.TEXT, 7.6, 9.2)


@dataclass(frozen=True, slots=True)
class BenchRow:
    """One component to pour: its role, and target volume at 20 °C and mass.

    `ref` is what the house calls it, `what` its cask, wood and spirit. `fraction` is its exact part of the mix by
    volume as the recipe counts. `strength_vol` is None when pending; `left_ml` remains in the vial afterwards: negative
    when it does not suffice, None when unknown. `id` is read and `code` scanned; both are empty for what has none.
    `bounds_ml` is between what pouring is to stop, None where the part has no bounds.
    """

    ref: str
    what: str
    role: str
    fraction: Figure
    target_ml: Figure
    target_mg: int
    strength_vol: Figure | None = None
    left_ml: Figure | None = None
    id: str = ""
    code: str = ""
    bounds_ml: tuple[Figure, Figure] | None = None


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """What a bench sheet says. Facts left empty are left out; figures left None show as unknown.

    The trial's `id` is read and its `code` scanned; `ref` is what the house calls it. Beside imprint, name and date
    it has its recipe, the trial it was revised from, its purpose, and who it was prepared by. Strengths are % vol,
    volumes (the target's, too) and the density at 20 °C; a target strength is given where the water is computed for
    it. Rows stand in pouring order; expected strength, mixed volume and density are computed from them. Cost is per
    litre of the mix, in `currency`; the youngest age is in words. `warnings` say why figures are provisional,
    `remarks` what else to know before pouring; `notes`, `previous_contents` and `allergens` are one line each.
    Volume digits are as the pipette reads mL, mass digits as the balance reads g.
    """

    imprint: Imprint
    id: str
    code: str
    name: str
    rows: tuple[BenchRow, ...]
    ref: str = ""
    recipe: str = ""
    revised_from: str = ""
    purpose: str = ""
    prepared_by: str = ""
    date: str = ""
    target_volume_ml: Figure | None = None
    target_strength_vol: Figure | None = None
    expected_strength_vol: Figure | None = None
    mixed_ml: Figure | None = None
    density_g_per_ml: Figure | None = None
    cost_per_litre: Figure | None = None
    currency: str = ""
    youngest_age: str = ""
    warnings: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    previous_contents: tuple[str, ...] = ()
    allergens: tuple[str, ...] = ()
    volume_digits: int = 2
    mass_digits: int = 2


def bench_sheet(sheet: BenchSheet, paper: str = "A4") -> bytes:
    """The sheet as PDF. Raises as `pourbook.papers.page.document`."""

    def story(width_pt: float) -> list[Flowable]:
        return [
            *sheet_head(sheet.name, _stated(sheet), width_pt, sheet.warnings, sheet.remarks, sheet.purpose),
            Spacer(0, 4),
            _pours(sheet, width_pt),
            Spacer(0, 4),
            *lines([_BALANCE, *([_BOUNDS] if any(row.bounds_ml for row in sheet.rows) else [])]),
            *_expected(sheet, width_pt),
            *_cautions(sheet, width_pt),
            *(section("Notes", lines(sheet.notes), width_pt) if sheet.notes else ()),
            initials(("Poured by", "Checked by", "Date and time"), width_pt),
        ]

    return document(sheet.imprint, Title("Bench sheet", sheet.id, sheet.code), story, paper)


def running(rows: Sequence[BenchRow]) -> list[tuple[Fraction, int]]:
    """Volume in mL and mass in mg poured up to and with each row; the mass is the balance's reading."""
    totals, volume_ml, mass_mg = [], Fraction(0), 0
    for row in rows:
        volume_ml += exact(row.target_ml)
        mass_mg += row.target_mg
        totals.append((volume_ml, mass_mg))
    return totals


def _stated(sheet: BenchSheet) -> list[tuple[str, Content]]:
    """The facts at the head, without those that are not given; the target always."""
    notation = sheet.imprint.notation
    volume = notation.with_unit(sheet.target_volume_ml, sheet.volume_digits, "mL")
    texts = (
        ("Ref", sheet.ref),
        ("Recipe", sheet.recipe),
        ("Revised from", sheet.revised_from),
        ("Prepared by", sheet.prepared_by),
        ("Date", sheet.date),
    )
    return [
        *((label, text) for label, text in texts if text),
        ("Target volume at 20 °C", Piece(volume, BODY_STRONG)),
        *(
            [("Target strength", Piece(notation.with_unit(strength, 2, "% vol"), BODY_STRONG))]
            if (strength := sheet.target_strength_vol) is not None
            else []
        ),
    ]


_COLUMNS = (
    Column("", 5),
    Column("scan", 9.8),
    Column("vial, ref, what it is", 44, stretch=1),
    Column("fraction %\nrole", 16, "right"),
    Column("% vol", 12, "right"),
    Column("pour\nmL", 13, "right"),
    Column("cumulative\nmL", 16, "right"),
    Column("pour\ng", 13, "right"),
    Column("balance\nreads g", 14, "right"),
    Column("left\nmL", 11.5, "right"),
    Column("poured\ng or mL", 24, is_middle=True),
    Column("", 6, is_middle=True),
)


def _pours(sheet: BenchSheet, width_pt: float) -> Flowable:
    notation = sheet.imprint.notation
    digits = digits_needed((exact(row.fraction) * 100 for row in sheet.rows), _MOST_FRACTION_DIGITS)
    totals = running(sheet.rows)
    rows = [
        _pour(number, row, total, sheet, digits)
        for number, (row, total) in enumerate(zip(sheet.rows, totals, strict=True), start=1)
    ]
    volume_ml, mass_mg = totals[-1] if totals else (Fraction(0), 0)
    share = sum((exact(row.fraction) for row in sheet.rows), Fraction(0))
    sums = (notation.fixed(volume_ml, sheet.volume_digits), _grams(notation, mass_mg, sheet.mass_digits))
    total_row = ("", "", "Sum", notation.percent(share, digits), "", sums[0], "", sums[1], "", "", "", "")
    return paper_table(_COLUMNS, rows, width_pt, total_row, padding_pt=1.3)


def _pour(
    number: int, row: BenchRow, total: tuple[Fraction, int], sheet: BenchSheet, digits: int
) -> tuple[Content, ...]:
    notation = sheet.imprint.notation
    return (
        Piece(str(number), _RUNNING),
        Mark("data-matrix", scanned(row.id, row.code), _MODULE_DOTS) if row.code else "",
        _what(row),
        Cell([Piece(_percent(row.fraction, digits, notation), _RUNNING), Piece(row.role, _UNDER)], "right"),
        Piece(notation.fixed(row.strength_vol, 2) if row.strength_vol is not None else "pending", _RUNNING),
        _stop(row, Fraction(1), sheet.volume_digits, notation),
        Piece(notation.fixed(total[0], sheet.volume_digits), _RUNNING),
        _stop(row, Fraction(row.target_mg, _MG_PER_G) / exact(row.target_ml), sheet.mass_digits, notation),
        Piece(_grams(notation, total[1], sheet.mass_digits), _RUNNING),
        _left(row, notation, sheet.volume_digits),
        Box(19.5 * mm, 8 * mm),
        Box(4.6 * mm, 4.6 * mm),
    )


def _stop(row: BenchRow, per_ml: Fraction, digits: int, notation: Notation) -> Content:
    """What to pour, and under it between what to stop: in mL, or in grams by what one of them weighs."""
    target, *bounds = (notation.fixed(exact(ml) * per_ml, digits) for ml in (row.target_ml, *(row.bounds_ml or ())))
    between = [bounds[0], f"to {bounds[1]}"] if bounds else []
    return Cell([Piece(target, _TARGET), *(Piece(text, _UNDER) for text in between)], "right")


def _percent(fraction: Figure, digits: int, notation: Notation) -> str:
    """As per cent, marked where the digits do not show it exactly."""
    is_exact = (exact(fraction) * 100 * 10**digits).denominator == 1
    return ("" if is_exact else "≈") + notation.percent(fraction, digits)


def _what(row: BenchRow) -> tuple[Piece, ...]:
    if row.id:
        return (Piece(row.id, IDENTIFIER), Piece(f"{row.ref}  {row.what}", _UNDER))
    return (Piece(row.ref, IDENTIFIER._replace(face=typefaces.SEMIBOLD)), Piece(row.what, _UNDER))


def _left(row: BenchRow, notation: Notation, digits: int) -> Content:
    if row.left_ml is None:
        return Piece("" if not row.code else UNKNOWN, _RUNNING)
    amount = notation.fixed(row.left_ml, digits)
    if exact(row.left_ml) < 0:
        return (Piece(amount, _TARGET), Piece("short", _UNDER._replace(face=typefaces.SEMIBOLD)))
    return Piece(amount, _RUNNING)


def _grams(notation: Notation, mass_mg: int, digits: int) -> str:
    return notation.fixed(Fraction(mass_mg, _MG_PER_G), digits)


def _expected(sheet: BenchSheet, width_pt: float) -> list[Flowable]:
    notation = sheet.imprint.notation
    plain_ml = running(sheet.rows)[-1][0] if sheet.rows else Fraction(0)
    contraction_ml = None if sheet.mixed_ml is None else plain_ml - exact(sheet.mixed_ml)
    pairs = [
        ("Expected strength", notation.with_unit(sheet.expected_strength_vol, 2, "% vol")),
        ("Volume of the mix at 20 °C", notation.with_unit(sheet.mixed_ml, sheet.volume_digits, "mL")),
        ("Plain sum of volumes", notation.with_unit(plain_ml, sheet.volume_digits, "mL")),
        ("Contraction on mixing", notation.with_unit(contraction_ml, sheet.volume_digits, "mL")),
        ("Density at 20 °C", notation.with_unit(sheet.density_g_per_ml, 4, "g/mL")),
        ("Cost per litre", notation.with_unit(sheet.cost_per_litre, 2, sheet.currency)),
        ("Youngest spirit", sheet.youngest_age or UNKNOWN),
    ]
    return [KeepTogether(section("What to expect", [facts(pairs, width_pt)], width_pt))]


def _cautions(sheet: BenchSheet, width_pt: float) -> list[Flowable]:
    texts = [f"Previous contents: {text}" for text in sheet.previous_contents]
    texts += [f"Allergens: {text}" for text in sheet.allergens]
    body = lines(texts or ["None recorded; this does not mean there are none."])
    return section("Previous contents and allergens", body, width_pt)
