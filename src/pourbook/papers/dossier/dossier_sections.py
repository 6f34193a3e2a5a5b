"""The sections of a dossier, in order, for whatever it is set on.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14", 1284, "9f3c" * 16)
>>> [heading for heading, blocks in sections(Dossier(imprint, "L-000004-D", "L000004D", "Ash")) if blocks]
['17  Journal', '18  How these figures are computed']
"""

from collections.abc import Callable

from pourbook.papers.blocks import Block, Picture, tabled
from pourbook.papers.dossier import liquid_sections as dossier_liquid
from pourbook.papers.dossier import record_sections as dossier_record
from pourbook.papers.dossier.dossier_statement import computed, journal, statement
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.papers.flow.flow_layout import HIGHEST_PT, laid_out
from pourbook.papers.flow.flow_table import COLUMNS, described, flow_rows, flow_texts
from pourbook.papers.page import Imprint, text_width_pt

__all__ = ["SECTIONS", "Imprint", "sections", "statement"]

_Section = Callable[[Dossier], list[Block]]


def _flow(values: Dossier) -> list[Block]:
    """The picture, and its figures as a table."""
    if values.flow is None:
        return []
    notation = values.imprint.notation
    layout = laid_out(values.flow, text_width_pt("A4"), HIGHEST_PT, notation)
    rows = [flow_texts(row, notation) for row in flow_rows(layout)]
    return [Picture(layout, described(layout, notation)), *tabled(COLUMNS, rows)]


SECTIONS: tuple[tuple[str, _Section], ...] = (
    ("Origins", dossier_liquid.origins),
    ("Flow of pure alcohol", _flow),
    ("Items on the way", dossier_liquid.upstream),
    ("Pours", dossier_liquid.pours),
    ("Gauges", dossier_liquid.gauges),
    ("Instruments", dossier_liquid.instruments),
    ("Water and additives", dossier_liquid.additions),
    ("Allergens and previous contents", dossier_record.allergens),
    ("Dry goods", dossier_record.dry_goods),
    ("Ages", dossier_liquid.ages),
    ("Mass balance", dossier_liquid.balances),
    ("Losses", dossier_liquid.losses),
    ("Holds and notes", dossier_record.remarks),
    ("Corrections", dossier_record.corrections),
    ("People", dossier_record.people),
    ("Despatches", dossier_record.despatches),
    ("Journal", journal),
    ("How these figures are computed", computed),
)
"""Title and maker of each section. All are numbered and named in every dossier, so that what is
absent is seen to be absent."""


def sections(values: Dossier) -> list[tuple[str, list[Block]]]:
    """Every section with its numbered heading; no blocks where there is nothing to say."""
    return [(f"{number}  {title}", make(values)) for number, (title, make) in enumerate(SECTIONS, start=1)]
