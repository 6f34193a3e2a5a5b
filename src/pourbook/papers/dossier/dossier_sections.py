"""The sections of a dossier, in order, for whatever it is set on; before them, what the lot is.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> [heading for heading, blocks in sections(Dossier(imprint, "L-000004-D", "L000004D", "Ash")) if blocks]
['17  Journal', '18  How these figures are computed']
"""

from collections.abc import Callable

from pourbook import typefaces
from pourbook.papers.blocks import Block, Facts, Lines, Part, Picture, Place, Symbol, tabled
from pourbook.papers.cells import BODY_STRONG, QUIET, SMALL_IDENTIFIER, Piece, Type
from pourbook.papers.dossier import liquid_sections, record_sections
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.flow.flow_layout import HIGHEST_PT, laid_out
from pourbook.papers.flow.flow_table import COLUMNS, described, flow_rows, flow_texts
from pourbook.papers.listing import listed
from pourbook.papers.page import Imprint, text_width_pt
from pourbook.papers.tables import Column
from pourbook.words.figure_words import age_text
from pourbook.words.paper_figures import UNKNOWN

__all__ = ["SECTIONS", "Imprint", "sections", "statement"]

_Section = Callable[[Dossier], list[Block]]

_SYMBOL = (
    "The symbol carries both. Give its text to pourbook verify --against to check that a book still holds the history "
    "behind this paper; given this dossier as JSON or HTML, it also narrows down where they differ."
)
_YOUNGEST = Type(typefaces.SEMIBOLD, 12, 15)


def statement(values: Dossier) -> list[Block]:
    """What the lot is, and what makes that provisional."""
    warnings = tuple(f"Provisional: {warning}" for warning in values.warnings)
    told: list[Block] = [Facts(tuple(_lot_facts(values))), Facts(tuple(_ages(values)), across=2)]
    return [*told, Lines(warnings, BODY_STRONG)] if warnings else told


def _lot_facts(values: Dossier) -> list[tuple[str, Place]]:
    notation = values.imprint.notation
    return [
        ("Lot mark on the bottle", values.lot_mark or "none recorded"),
        ("Ref", values.ref or "none"),
        ("Bottled", values.bottled or UNKNOWN),
        ("Bottled by", values.bottled_by or UNKNOWN),
        ("Bottles", Piece(_bottles(values), BODY_STRONG)),
        ("Strength at 20 °C", Piece(notation.with_unit(values.strength_vol, 2, "% vol"), BODY_STRONG)),
        ("Volume at 20 °C", notation.with_unit(values.volume_l, 3, "L")),
        ("Pure alcohol", notation.with_unit(values.lpa_l, 3, "LPA")),
    ]


def _bottles(values: Dossier) -> str:
    if values.bottles is None:
        return UNKNOWN
    fixed = values.imprint.notation.fixed
    of = "" if values.bottle_ml is None else f" of {fixed(values.bottle_ml, 0)} mL"
    return fixed(values.bottles, 0) + of


def _ages(values: Dossier) -> list[tuple[str, Place]]:
    mean = values.imprint.notation.with_unit(values.mean_age_years, 1, "years")
    counting: list[tuple[str, Place]] = [
        (f"Qualifying time of it by {values.age_rule}", Piece(age_text(values.qualifying), _YOUNGEST)),
        ("Rule", values.age_law),
    ]
    return [
        ("Time in wood of the youngest spirit", Piece(age_text(values.youngest), _YOUNGEST)),
        *(counting if values.age_rule else ()),
        ("Mean time in wood, weighted by pure alcohol; not an age statement", Piece(mean, QUIET)),
    ]


def _flow(values: Dossier) -> list[Block]:
    """The picture, and its figures as a table."""
    if values.flow is None:
        return []
    notation = values.imprint.notation
    layout = laid_out(values.flow, text_width_pt("A4"), HIGHEST_PT, notation)
    rows = [flow_texts(row, notation) for row in flow_rows(layout)]
    return [Picture(layout, described(layout, notation)), *tabled(COLUMNS, rows)]


def _journal(values: Dossier) -> list[Block]:
    """Where the journal stood: number of entries, full hash, both as a symbol; and intermediate hashes."""
    beside: tuple[tuple[str, Place], ...] = (
        ("Entries in the journal", str(values.imprint.entries)),
        ("Journal hash", Piece(values.imprint.head_hash, SMALL_IDENTIFIER)),
        ("As a symbol", _SYMBOL),
    )
    column = Column("entry and journal hash", 120, stretch=1)
    heads = listed(values.heads, [(column, lambda head: Piece(head, SMALL_IDENTIFIER))])
    return [Symbol(values.head_text, beside), *([Part("Intermediate hashes", tuple(heads))] if heads else [])]


_COMPUTED = (
    "Every movement of liquid is recorded in whole milligrams of mass, ethanol and extract, so what an item holds "
    "is a sum of whole numbers, and a balance is exact.\n"
    "The share of an origin is the part of this lot, by {basis}, that came from it, followed back through "
    "every pour in order; the shares of all origins add to one.\n"
    "Volumes, strengths and litres of pure alcohol follow from those masses at 20 °C by the alcohol tables "
    "of OIML R 22. Time in wood is all time in casks, of the youngest spirit, however small its part; qualifying time "
    "is what of it counts by a rule of law that the house has chosen. Figures are rounded half up, "
    "only in print."
)


SECTIONS: tuple[tuple[str, _Section], ...] = (
    ("Origins", liquid_sections.origins),
    ("Flow of pure alcohol", _flow),
    ("Upstream items", liquid_sections.upstream),
    ("Pours", liquid_sections.pours),
    ("Gauges", liquid_sections.gauges),
    ("Instruments", liquid_sections.instruments),
    ("Water and additives", liquid_sections.additions),
    ("Allergens and previous contents", record_sections.allergens),
    ("Dry goods", record_sections.dry_goods),
    ("Ages", liquid_sections.ages),
    ("Mass balance", liquid_sections.balances),
    ("Losses", liquid_sections.losses),
    ("Holds and notes", record_sections.remarks),
    ("Corrections", record_sections.corrections),
    ("People", record_sections.people),
    ("Despatches", record_sections.despatches),
    ("Journal", _journal),
    (
        "How these figures are computed",
        lambda values: [Lines(tuple(_COMPUTED.format(basis=values.share_basis).splitlines()))],
    ),
)
"""Title and maker of each section. All are numbered and named in every dossier, so that what is
absent is seen to be absent."""


def sections(values: Dossier) -> list[tuple[str, list[Block]]]:
    """Every section with its numbered heading; no blocks where there is nothing to say."""
    return [(f"{number}  {title}", make(values)) for number, (title, make) in enumerate(SECTIONS, start=1)]
