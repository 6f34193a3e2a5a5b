"""The pull list of a batch: what to take from which cask, in the order of a walk, with room for what was taken.

Sums are computed here, from the same figures as the rows above them. An unknown strength prints as pending.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> holds = Expected(196.2, 177.7, 61.4, "evaporation")
>>> cask = PullRow("C-000001-H", "C000001H", "Q 1", "refill hogshead", "Row 3", holds, 75, 69_000_000, 68.9)
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

__all__ = ["Expected", "PullList", "PullRow", "pull_list"]

_LITRE_DIGITS = _KG_DIGITS = 2
_MODULE_DOTS = 12
_TAKE = Type(typefaces.SEMIBOLD, 9.2, 12)
_PLAIN = Type(typefaces.TEXT, 9.2, 12)
_UNDER = Type(typefaces.TEXT, 7.6, 9.2)
_WORD = IDENTIFIER._replace(face=typefaces.SEMIBOLD)
_BOX_PT = 8 * mm


@dataclass(frozen=True, slots=True)
class Expected:
    """What a source should hold today.

    It has `litres` at the temperature of the list, `kg` as a scale in air shows, of a strength `strength_vol` (None
    where that is pending); `by` is what that is expected by: its "evaporation", the "usual loss" or the "book".
    """

    litres: Figure
    kg: Figure
    strength_vol: Figure | None
    by: str


@dataclass(frozen=True, slots=True)
class PullRow:
    """One source to take from: its `id` is read and its `code` scanned (empty for water); ref, what it is, its place.

    `expected` is what it should hold, None for water; `take_l` is at 20 °C, `take_mg` in vacuum, `take_kg` what a scale
    in air shows, `cellar_l` the volume at the temperature of the list. `is_all` says that nothing stays behind;
    `taken_l` is what was taken already (None: nothing), and `is_taken` whether that is as planned; `shifts` names what
    must be moved to reach it.
    """

    id: str
    code: str
    ref: str
    what: str
    place: str
    expected: Expected | None
    take_l: Figure
    take_mg: int
    take_kg: Figure
    cellar_l: Figure | None = None
    is_all: bool = False
    taken_l: Figure | None = None
    is_taken: bool = False
    shifts: str = ""


@dataclass(frozen=True, slots=True)
class PullList:
    """What a pull list says. Facts left empty are left out; figures left None show as unknown.

    The batch's `id` is read and its `code` scanned; `ref` is what the house calls it. Beside imprint, name and date it
    has what it follows, what it fills, its target strength, and who it was prepared by. Rows stand in the order of a
    walk: heel, casks, water. `temperature_c` is that of the cellar, where it is known; `expected_l` and
    `expected_strength_vol` are of the whole. `plan` says which plan it is, where it is not the first. `warnings` say
    why figures are provisional, `remarks` what else to know.
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
    plan: str = ""
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
    scan = (
        f"Scan each cask before anything flows: pourbook pour {values.id}; a cask that is not on this list is stopped."
    )
    write = "Write what was found in the cask and what was taken: litres with their temperature, kg, or 'all'."
    water = "Water comes last, when all else is in, mixed and gauged; its amount follows from what was really taken."
    rounded = "Litres to take are rounded up; kg are as a scale in air shows them."
    return [f"{scan} {write} {rounded}", *([water] if values.target_strength else [])]


def _stated(values: PullList) -> list[tuple[str, Content]]:
    """The facts at the head, without those that are not given."""
    notation, casks = values.imprint.notation, sum(kind_of(row.code) == "cask" for row in values.rows if row.code)
    texts = (
        ("Ref", values.ref),
        ("Plan", values.plan),
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
    celsius = 20 if values.temperature_c is None else values.temperature_c
    at_c = f"at {values.imprint.notation.fixed(celsius, 1 if values.temperature_c is not None else 0)} °C"
    return (
        Column("", 5),
        Column("scan", 9.8),
        Column("place", 22, stretch=1),
        Column("cask, ref, what it is", 30, stretch=1.6),
        Column(f"expected,\nl {at_c}", 25, "right"),
        Column(f"take, l {at_c}\nor kg on scale", 23, "right"),
        Column("found\nl or kg", 18, is_middle=True),
        Column("% vol", 13, is_middle=True),
        Column("°C", 10, is_middle=True),
        Column("taken\nl or kg", 18, is_middle=True),
        Column("by", 10, is_middle=True),
    )


def _pulls(values: PullList, width_pt: float) -> Flowable:
    notation, is_cellar = values.imprint.notation, values.temperature_c is not None
    rows = [_pull(number, row, notation, is_cellar=is_cellar) for number, row in enumerate(values.rows, start=1)]
    litres = sum((exact(row.take_l) for row in values.rows), Fraction(0))
    kg = sum((exact(row.take_kg) for row in values.rows), Fraction(0))
    # Volumes at another temperature do not add up to one that is measured.
    at_20 = [f"{notation.fixed(litres, _LITRE_DIGITS)} l", f"{notation.fixed(kg, _KG_DIGITS)} kg"]
    whole = (*(Piece(text, BODY_STRONG) for text in at_20), *([Piece("at 20 °C", _UNDER)] if is_cellar else []))
    sums = ("", "", "", "Sum as poured", "", whole)
    return paper_table(_columns(values), rows, width_pt, (*sums, *[""] * len(_BOXES_MM)), padding_pt=1.3)


_BOXES_MM = (15, 11, 8, 15, 8)


def _pull(number: int, row: PullRow, notation: Notation, *, is_cellar: bool) -> tuple[Content, ...]:
    boxes: tuple[Content, ...] = tuple(Box(width * mm, _BOX_PT) for width in _BOXES_MM)
    if row.is_taken:
        taken = notation.with_unit(row.taken_l, _LITRE_DIGITS, "l")
        boxes = ("", "", "", (Piece(taken, _PLAIN), Piece("in the book", _UNDER)), "")
    elif row.expected is None:  # water comes from outside, and nothing is found of it
        boxes = ("", "", *boxes[2:])
    shifts = [Piece(row.shifts, _UNDER)] if row.shifts else []
    return (
        Piece(str(number), _PLAIN),
        Mark("data-matrix", scanned(row.id, row.code), _MODULE_DOTS) if row.code else "",
        (Piece(row.place, BODY), *shifts),
        (Piece(row.id, IDENTIFIER), Piece(f"{row.ref}  {row.what}".strip(), _UNDER))
        if row.id
        else (Piece(row.ref, _WORD), Piece(row.what, _UNDER)),
        _holds(row.expected, notation) if row.expected else "",
        _take(row, notation, is_cellar=is_cellar),
        *boxes,
    )


def _holds(expected: Expected, notation: Notation) -> tuple[Piece, ...]:
    strength = "pending" if expected.strength_vol is None else notation.with_unit(expected.strength_vol, 2, "% vol")
    return (
        Piece(notation.with_unit(expected.litres, 1, "l"), _PLAIN),
        Piece(f"{notation.with_unit(expected.kg, 1, 'kg')}, {strength}", _UNDER),
        Piece(f"by {expected.by if expected.by == 'evaporation' else f'the {expected.by}'}", _UNDER),
    )


def _take(row: PullRow, notation: Notation, *, is_cellar: bool) -> tuple[Piece, ...]:
    """Litres and kg to take, and below them whether that is all, or what of it is in the book already."""
    at_20 = notation.with_unit(row.take_l, _LITRE_DIGITS, "l")
    litres = notation.with_unit(row.cellar_l, _LITRE_DIGITS, "l") if is_cellar else at_20
    kg = notation.with_unit(row.take_kg, _KG_DIGITS, "kg")
    under = [f"{at_20} at 20 °C"] if is_cellar else []
    under += ["all of it"] if row.is_all else []
    if row.taken_l is not None and not row.is_taken:
        under.append(f"{notation.fixed(row.taken_l, _LITRE_DIGITS)} taken")
    return Piece(litres, _TAKE), Piece(kg, _TAKE), *(Piece(text, _UNDER) for text in under)


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
