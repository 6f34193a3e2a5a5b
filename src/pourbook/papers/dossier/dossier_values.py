"""What a dossier says: the statement about a bottle lot, and the rows that bear it out.

Identifiers are given as they are read, with hyphens; times and dates are text in the house's
zone. `None` stands for a figure that is not known, which prints as such and never as zero.
Rows come in the order in which they are to be printed.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> Dossier(imprint, "L-000004-D", "L000004D", "Winter Marmalade").head_text
'pourbook:head:1284:9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c'
"""

from dataclasses import dataclass

from pourbook.lineage.ages import Age
from pourbook.papers.dossier.dossier_rows import (
    Addition,
    AgeLine,
    Allergen,
    Balance,
    Correction,
    Despatch,
    DryGood,
    Gauge,
    InstrumentLine,
    Loss,
    Origin,
    Person,
    Pour,
    Remark,
    UpstreamItem,
)
from pourbook.papers.flow.flow_values import Flow
from pourbook.papers.page import Imprint
from pourbook.words.paper_figures import Figure

__all__ = ["Dossier"]


@dataclass(frozen=True, slots=True)
class Dossier:
    """The trace of a bottle lot.

    Attributes:
        imprint: house, printing, journal.
        id: the lot's identifier as it is read.
        code: the same as it is scanned.
        name: the product.
        ref: what the house calls the lot.
        lot_mark: the mark on the bottle; empty when there is none.
        bottles: how many were filled.
        bottle_ml: contents of one.
        strength_vol: % vol at 20 °C.
        bottled: when.
        bottled_by: by whom.
        volume_l: litres at 20 °C.
        lpa_l: litres of pure alcohol.
        youngest: wood age of the youngest spirit in it; None when unknown.
        mean_age_years: mean wood age weighted by pure alcohol; None when unknown.
        share_basis: what shares are parts of.
        warnings: what makes the figures provisional.
        origins: where the spirit came from.
        upstream: every item some of it was once in.
        pours: on the way, in the order they happened.
        gauges: on the way, in the order they happened.
        instruments: what those gauges were read on.
        additions: water and additives.
        allergens: what items and additives are known to bring, and what their wood held before.
        dry_goods: bottles, closures, labels.
        ages: by spirit.
        balances: of every item on the way.
        losses: by disposition.
        remarks: holds and notes.
        corrections: of entries that touch the lot.
        people: who had a part in it.
        people_by: "codes" or "names".
        despatches: where the bottles went.
        flow: the picture; None for none.
        heads: of the journal on the way, each as NUMBER:HASH.
    """

    imprint: Imprint
    id: str
    code: str
    name: str
    ref: str = ""
    lot_mark: str = ""
    bottles: int | None = None
    bottle_ml: Figure | None = None
    strength_vol: Figure | None = None
    bottled: str = ""
    bottled_by: str = ""
    volume_l: Figure | None = None
    lpa_l: Figure | None = None
    youngest: Age | None = None
    mean_age_years: Figure | None = None
    share_basis: str = "pure alcohol"
    warnings: tuple[str, ...] = ()
    origins: tuple[Origin, ...] = ()
    upstream: tuple[UpstreamItem, ...] = ()
    pours: tuple[Pour, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    instruments: tuple[InstrumentLine, ...] = ()
    additions: tuple[Addition, ...] = ()
    allergens: tuple[Allergen, ...] = ()
    dry_goods: tuple[DryGood, ...] = ()
    ages: tuple[AgeLine, ...] = ()
    balances: tuple[Balance, ...] = ()
    losses: tuple[Loss, ...] = ()
    remarks: tuple[Remark, ...] = ()
    corrections: tuple[Correction, ...] = ()
    people: tuple[Person, ...] = ()
    people_by: str = "codes"
    despatches: tuple[Despatch, ...] = ()
    flow: Flow | None = None
    heads: tuple[str, ...] = ()

    @property
    def head_text(self) -> str:
        """Where the journal stood, as its symbol says it."""
        return f"pourbook:head:{self.imprint.entries}:{self.imprint.head_hash}"
