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
from pourbook.papers.dossier import dossier_rows as rows
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
        ref: what the house calls the lot; its lot mark is on the bottle.
        bottles: how many were filled; `bottle_ml` is in one, at `strength_vol`.
        bottled: when, and by whom.
        volume_l: of all that was bottled; `lpa_l` is the pure alcohol in it.
        youngest: wood age of the youngest spirit in it.
        mean_age_years: mean wood age weighted by pure alcohol.
        share_basis: what shares are parts of.
        warnings: what makes the figures provisional.
        origins: and the rows of the other sections: upstream items, pours, gauges, instruments, additions, allergens,
            dry goods, ages, balances, losses, remarks, corrections, people, despatches.
        people_by: "codes" or "names".
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
    origins: tuple[rows.Origin, ...] = ()
    upstream: tuple[rows.UpstreamItem, ...] = ()
    pours: tuple[rows.Pour, ...] = ()
    gauges: tuple[rows.Gauge, ...] = ()
    instruments: tuple[rows.InstrumentLine, ...] = ()
    additions: tuple[rows.Addition, ...] = ()
    allergens: tuple[rows.Allergen, ...] = ()
    dry_goods: tuple[rows.DryGood, ...] = ()
    ages: tuple[rows.AgeLine, ...] = ()
    balances: tuple[rows.Balance, ...] = ()
    losses: tuple[rows.Loss, ...] = ()
    remarks: tuple[rows.Remark, ...] = ()
    corrections: tuple[rows.Correction, ...] = ()
    people: tuple[rows.Person, ...] = ()
    people_by: str = "codes"
    despatches: tuple[rows.Despatch, ...] = ()
    flow: Flow | None = None
    heads: tuple[str, ...] = ()

    @property
    def head_text(self) -> str:
        """Where the journal stood, as its symbol says it."""
        return f"pourbook:head:{self.imprint.entries}:{self.imprint.head_hash}"
