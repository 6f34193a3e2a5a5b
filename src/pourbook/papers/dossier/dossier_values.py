"""What a dossier says: the statement about a bottle lot, and the rows that bear it out.

As in `dossier_rows`; rows come in printing order.

>>> imprint = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
>>> Dossier(imprint, "L-000004-D", "L000004D", "Winter Marmalade").head_text
'pourbook:head:1284:9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c9f3c'
"""

from dataclasses import dataclass
from decimal import Decimal

from pourbook.lineage.ages import Age
from pourbook.papers.dossier import dossier_rows as rows
from pourbook.papers.flow.flow_values import Flow
from pourbook.papers.page import Imprint
from pourbook.words.paper_figures import Figure

__all__ = ["Dossier"]


@dataclass(frozen=True, slots=True)
class Dossier:
    """The trace of a bottle lot.

    Beside its imprint: `id` is read, `code` scanned; `ref` is what the house calls it, the lot mark stands on the
    bottle, beside the GTINs of bottle and case. When it was bottled and by whom, how many bottles of `bottle_ml`;
    `labelled_strength_vol` as declared, with its digits, `strength_vol` by the book; `volume_l` and `lpa_l` are of all
    that was bottled. Of the bottles, `lost_bottles` left otherwise than to customers. The youngest and the mean age in
    years, weighted by pure alcohol, are of time in wood; `qualifying` is what of it counts for the youngest by
    `age_rule`, whose text is `age_law`; empty without a rule; shares are parts of `share_basis`. `warnings` say why
    figures are provisional, `cautions` what else a reader must know first, and
    `between_sites` what sites of a group do not agree on of the liquid behind the lot. `owner` and `duty` are the
    lot's today.

    The rows of its sections: origins, upstream items, pours, gauges, instruments, additions, allergens, dry goods,
    `bottling`, ages, balances, losses, remarks, corrections, people, despatches, those by customer; `statements` are
    what the label is to say, `approvals` who approved it or rejected it; `follows` names what batches on the way were
    made after; and the flow picture, if any. `people_by` is "codes" or "names"; `heads` are journal hashes, each as
    NUMBER:HASH. Times are those of `zone`.

    A dossier as of a moment says which: `at` in house time, `at_utc` exactly; one as known after an entry says
    `known_at`.
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
    qualifying: Age | None = None
    age_rule: str = ""
    age_law: str = ""
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
    bottling: tuple[rows.BottlingLine, ...] = ()
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
    zone: str = ""
    gtin: str = ""
    case_gtin: str = ""
    labelled_strength_vol: Decimal | None = None
    owner: str = ""
    duty: str = ""
    lost_bottles: int = 0
    cautions: tuple[str, ...] = ()
    follows: tuple[rows.Followed, ...] = ()
    customers: tuple[rows.Customer, ...] = ()
    statements: tuple[rows.LabelStatement, ...] = ()
    approvals: tuple[rows.ApprovalLine, ...] = ()
    at: str = ""
    at_utc: str = ""
    known_at: int | None = None
    between_sites: tuple[str, ...] = ()

    @property
    def head_text(self) -> str:
        """Where the journal stood, as its symbol says it."""
        return self.imprint.head_text
