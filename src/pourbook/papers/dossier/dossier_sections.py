"""The sections of a dossier, in order, for whatever it is set on.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> [heading for heading, blocks in sections(Dossier(imprint, "L-000004-D", "L000004D", "Ash")) if blocks]
['19  How these figures are computed', '21  Journal']
"""

from collections.abc import Callable

from pourbook.papers.blocks import Block, Lines, Part, Place, Symbol, tabled
from pourbook.papers.cells import SMALL_IDENTIFIER, Piece
from pourbook.papers.dossier import liquid_sections, record_sections
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.flow.flow_layout import HIGHEST_PT, Layout, laid_out
from pourbook.papers.flow.flow_marks import flow_drawn
from pourbook.papers.flow.flow_table import COLUMNS, flow_rows_shown
from pourbook.papers.listing import listed
from pourbook.papers.page import Imprint, text_width_pt
from pourbook.papers.signed_head import signature_facts
from pourbook.papers.tables import Column

__all__ = ["SECTIONS", "Imprint", "sections"]

_Section = Callable[[Dossier], list[Block]]

_SYMBOL = (
    "The symbol carries both. Give its text to pourbook verify --against to check that a book still holds the history "
    "behind this paper; given this dossier as JSON or HTML, it also narrows down where they differ."
)
_SIGNED_SYMBOL = (
    "The symbol carries all of it. Give its text to pourbook verify --against, and the public key of whoever signed to "
    "--public, to check that a book still holds the history behind this paper, and was not written and hashed anew; "
    "given this dossier as JSON or HTML, it also narrows down where they differ."
)


def _flow(values: Dossier) -> list[Block]:
    """The picture; its figures are an annex."""
    layout = _layout(values)
    return [] if layout is None else [flow_drawn(layout, values.imprint.notation)]


def _flow_figures(values: Dossier) -> list[Block]:
    """The figures of the picture, and what stands behind places that are several."""
    layout = _layout(values)
    if layout is None:
        return []
    notation = values.imprint.notation
    figures = tabled(COLUMNS, flow_rows_shown(layout, notation))
    several = listed(
        [item for item in layout.flow.items if item.names],
        (
            (Column("place in the picture", 50), lambda item: item.name),
            (Column("stands for", 110, stretch=1), lambda item: "; ".join(item.names)),
        ),
    )
    return [*figures, *([Part("Places that stand for several", tuple(several))] if several else [])]


def _layout(values: Dossier) -> Layout | None:
    if values.flow is None:
        return None
    return laid_out(values.flow, text_width_pt("A4"), HIGHEST_PT, values.imprint.notation)


def _journal(values: Dossier) -> list[Block]:
    """Where the journal stood: number of entries, full hash, both as a symbol; and intermediate hashes."""
    (number, head), of_group = values.imprint.stood, bool(values.imprint.sites)
    beside: tuple[tuple[str, Place], ...] = (
        ("Entries of all sites of the group" if of_group else "Last entry of the journal", number),
        ("Head of the group" if of_group else "Journal hash", Piece(head, SMALL_IDENTIFIER)),
        *signature_facts(values.imprint),
        ("As a symbol", _SIGNED_SYMBOL if values.imprint.signed else _SYMBOL),
    )
    column = Column("entry and journal hash", 120, stretch=1)
    heads = listed(values.heads, [(column, lambda one: Piece(_of_site(one, values), SMALL_IDENTIFIER))])
    return [Symbol(values.head_text, beside), *([Part("Intermediate hashes", tuple(heads))] if heads else [])]


def _of_site(head: str, values: Dossier) -> str:
    """A hash as it is listed: of a group, with the site that the entry is of, by the last digits of its number."""
    code = int(head.partition(":")[0]) % 1000
    return f"{head}  {values.imprint.sites[code - 1]}" if 0 < code <= len(values.imprint.sites) else head


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
    ("Flow of pure alcohol", _flow),
    ("Origins", liquid_sections.origins),
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
    ("Statements of the label", record_sections.statements),
    ("Approvals", record_sections.approvals),
    (
        "How these figures are computed",
        lambda values: [Lines(tuple(_COMPUTED.format(basis=values.share_basis).splitlines()))],
    ),
    ("Annex: figures of the flow of pure alcohol", _flow_figures),
    ("Journal", _journal),
)
"""Title and maker of each section. All are numbered and named in every dossier, so that what is
absent is seen to be absent."""


def sections(values: Dossier) -> list[tuple[str, list[Block]]]:
    """Every section with its numbered heading; no blocks where there is nothing to say."""
    return [(f"{number}  {title}", make(values)) for number, (title, make) in enumerate(SECTIONS, start=1)]
