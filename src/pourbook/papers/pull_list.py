"""The pull list of a batch: what to take from which cask, in the order of a walk, with room for what was taken.

Sums are computed here, from the same figures as the rows above them. An unknown strength prints as pending.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> cask = PullRow("C-000001-H", "C000001H", "Q 1", "refill hogshead", "Row 3", 196.2, 61.4, 75, 69_000_000, 68.9)
>>> values = PullList(imprint, "B-000002-W", "B000002W", "Vatting 7", (cask,), target_strength="46 % vol")
>>> pull_list(values, paper="Letter")[:5]
b'%PDF-'
"""

from dataclasses import dataclass
from fractions import Fraction

from reportlab.lib.units import mm  # loaded only by the verbs that print
from reportlab.platypus import Flowable, KeepTogether, Spacer

from pourbook import typefaces
from pourbook.codes.identifiers import kind_of
from pourbook.papers.cells import BODY, BODY_STRONG, IDENTIFIER, Box, Mark, Piece, Type, scanned
from pourbook.papers.page import Imprint, Title, document
from pourbook.papers.sections import facts, initials, lines, section, sheet_head
from pourbook.papers.tables import Column, Content, paper_table
from pourbook.words.paper_figures import Figure, Notation, exact

__all__ = ["PullList", "PullRow", "pull_list"]

_LITRE_DIGITS = _KG_DIGITS = 2
_MODULE_DOTS = 12
_TAKE = Type(typefaces.SEMIBOLD, 9.2, 12)
_PLAIN = Type(typefaces.TEXT, 9.2, 12)
_UNDER = Type(typefaces.TEXT, 7.6, 9.2)
_WORD = IDENTIFIER._replace(face=typefaces.SEMIBOLD)
_BOX_PT = 8 * mm


@dataclass(frozen=True, slots=True)
class PullRow:
    """One source to take from: its `id` is read and its `code` scanned (empty for water); ref, what it is, its place.

    `holds_l` and `strength_vol` are what the book expects in it, None where that is unknown or pending; `take_l` is at
    20 °C, `take_mg` in vacuum, `take_kg` what a scale in air shows, `cellar_l` the volume at the temperature of the
    list. `is_all` says that nothing stays behind; `taken_l` is what was taken already, None for nothing, and `is_taken`
    whether that is as planned.
    """

    id: str
    code: str
    ref: str
    what: str
    place: str
    holds_l: Figure | None
    strength_vol: Figure | None
    take_l: Figure
    take_mg: int
    take_kg: Figure
    cellar_l: Figure | None = None
    is_all: bool = False
    taken_l: Figure | None = None
    is_taken: bool = False


@dataclass(frozen=True, slots=True)
class PullList:
    """What a pull list says. Facts left empty are left out; figures left None show as unknown.

    The batch's `id` is read and its `code` scanned; `ref` is what the house calls it. Beside imprint, name and date it
    has what it follows, what it fills, its target strength, and who it was prepared by. Rows stand in the order of a
    walk: heel, casks, water. `temperature_c` is that of the cellar, where it is known; `expected_l` and
    `expected_strength_vol` are of the whole. `warnings` say why figures are provisional, `remarks` what else to know.
    """

    imprint: Imprint
    id: str
    code: str
    name: str
    rows: tuple[PullRow, ...]
    ref: str = ""
    follows: str = ""
    fills: str = ""
    target_strength: str = ""
    prepared_by: str = ""
    date: str = ""
    temperature_c: Figure | None = None
    expected_l: Figure | None = None
    expected_strength_vol: Figure | None = None
    warnings: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()


def pull_list(values: PullList, paper: str = "A4") -> bytes:
    """The list as PDF. Raises as `pourbook.papers.page.document`."""

    def story(width_pt: float) -> list[Flowable]:
        return [
            *sheet_head(values.name, _stated(values), width_pt, values.warnings, values.remarks),
            Spacer(0, 2),
            _pulls(values, width_pt),
            Spacer(0, 4),
            *lines(_how_to(values)),
            *_expected(values, width_pt),
            initials(("Taken by", "Checked by", "Date and time"), width_pt),
        ]

    return document(values.imprint, Title("Pull list", values.id, values.code), story, paper)


def _how_to(values: PullList) -> list[str]:
    scan = f"Scan each cask before anything flows: pourbook pour {values.id}."
    write = "Write what was really taken: litres with their temperature, kg, or 'all'."
    water = "Water comes last, when all else is in, mixed and gauged; its amount follows from what was really taken."
    rounded = "Litres to take are rounded up; kg are as a scale in air shows them."
    return [f"{scan} {write} {rounded}", *([water] if values.target_strength else [])]


def _stated(values: PullList) -> list[tuple[str, Content]]:
    """The facts at the head, without those that are not given."""
    notation, casks = values.imprint.notation, sum(kind_of(row.code) == "cask" for row in values.rows if row.code)
    texts = (
        ("Ref", values.ref),
        ("Follows", values.follows),
        ("For bottles", values.fills),
        ("Prepared by", values.prepared_by),
        ("Date", values.date),
        ("Casks", str(casks)),
        ("Cellar", "" if values.temperature_c is None else f"{notation.fixed(values.temperature_c, 1)} °C"),
    )
    stated: list[tuple[str, Content]] = [(label, text) for label, text in texts if text]
    if values.target_strength:
        stated.append(("Target strength", Piece(values.target_strength, BODY_STRONG)))
    return stated


def _columns(values: PullList) -> tuple[Column, ...]:
    cellar: tuple[Column, ...] = ()
    if values.temperature_c is not None:
        cellar = (Column(f"l at\n{values.imprint.notation.fixed(values.temperature_c, 1)} °C", 17, "right"),)
    return (
        Column("", 6),
        Column("scan", 9.8),
        Column("place", 16, stretch=1),
        Column("cask, ref, what it is", 33, stretch=1.6),
        Column("holds l\n% vol", 16, "right"),
        Column("take l\nat 20 °C", 17, "right"),
        *cellar,
        Column("take kg\non scale", 17, "right"),
        Column("taken\nl or kg", 23, is_middle=True),
        Column("°C", 12, is_middle=True),
        Column("by", 11, is_middle=True),
    )


def _pulls(values: PullList, width_pt: float) -> Flowable:
    notation = values.imprint.notation
    with_cellar = values.temperature_c is not None
    rows = [_pull(number, row, notation, with_cellar) for number, row in enumerate(values.rows, start=1)]
    litres = sum((exact(row.take_l) for row in values.rows), Fraction(0))
    kg = sum((exact(row.take_kg) for row in values.rows), Fraction(0))
    cellar = [""] if with_cellar else []  # volumes at other temperatures do not add up to one that is measured
    sums = ["", "", "", "Sum as poured", "", notation.fixed(litres, _LITRE_DIGITS), *cellar]
    total = (*sums, notation.fixed(kg, _KG_DIGITS), "", "", "")
    return paper_table(_columns(values), rows, width_pt, total, padding_pt=1.3)


def _pull(number: int, row: PullRow, notation: Notation, with_cellar: bool) -> tuple[Content, ...]:
    strength = "pending" if row.strength_vol is None else notation.fixed(row.strength_vol, 2)
    holds = (Piece(notation.fixed(row.holds_l, 1), _PLAIN), Piece(strength, _UNDER)) if row.code else ""
    cellar = Piece("" if row.cellar_l is None else notation.fixed(row.cellar_l, _LITRE_DIGITS), _PLAIN)
    boxes: tuple[Content, ...] = (Box(19 * mm, _BOX_PT), Box(9 * mm, _BOX_PT), Box(9 * mm, _BOX_PT))
    if row.is_taken:
        taken = notation.with_unit(row.taken_l, _LITRE_DIGITS, "l")
        boxes = ((Piece(taken, _PLAIN), Piece("in the book", _UNDER)), "", "")
    return (
        Piece(str(number), _PLAIN),
        Mark("data-matrix", scanned(row.id, row.code), _MODULE_DOTS) if row.code else "",
        Piece(row.place, BODY),
        (Piece(row.id, IDENTIFIER), Piece(f"{row.ref}  {row.what}".strip(), _UNDER))
        if row.id
        else (Piece(row.ref, _WORD), Piece(row.what, _UNDER)),
        holds,
        _take(row, notation),
        *((cellar,) if with_cellar else ()),
        Piece(notation.fixed(row.take_kg, _KG_DIGITS), _TAKE),
        *boxes,
    )


def _take(row: PullRow, notation: Notation) -> tuple[Piece, ...]:
    """Litres to take, and below them whether that is all, or what of it is in the book already."""
    under = ["all"] if row.is_all else []
    if row.taken_l is not None and not row.is_taken:
        under.append(f"{notation.fixed(row.taken_l, _LITRE_DIGITS)} taken")
    return Piece(notation.fixed(row.take_l, _LITRE_DIGITS), _TAKE), *(Piece(text, _UNDER) for text in under)


def _expected(values: PullList, width_pt: float) -> list[Flowable]:
    notation = values.imprint.notation
    litres = sum((exact(row.take_l) for row in values.rows), Fraction(0))
    contraction = None if values.expected_l is None else litres - exact(values.expected_l)
    pairs = [
        ("Volume of the batch at 20 °C", notation.with_unit(values.expected_l, _LITRE_DIGITS, "l")),
        ("Strength", notation.with_unit(values.expected_strength_vol, 2, "% vol")),
        ("Plain sum of volumes", notation.with_unit(litres, _LITRE_DIGITS, "l")),
        ("Contraction on mixing", notation.with_unit(contraction, _LITRE_DIGITS, "l")),
    ]
    return [KeepTogether(section("What to expect", [facts(pairs, width_pt)], width_pt))]
