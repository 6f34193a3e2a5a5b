"""The rows of a dossier: plain frozen values, in words and figures, that know no book.

Identifiers have hyphens; times and dates are text in the house's zone. `entry` is the number of an
entry and `who` its recorder. A name that ends in a unit is a figure in that unit, volumes at 20 °C;
`None` is unknown and prints so, never as zero. Unrecorded text is empty. Shares are parts of the lot, 0 to 1.

>>> Balance(Named("B-000007-5", "Autumn vatting"), 9, 5, 1, 3, 4, 2, 1, 1).difference_mg
0
"""

from fractions import Fraction
from typing import NamedTuple

from pourbook.lineage.ages import Age
from pourbook.papers.endpoints import Named
from pourbook.words.paper_figures import Figure, exact

__all__ = [
    "Addition", "AgeLine", "Allergen", "ApprovalLine", "Balance", "BottlingLine", "Correction", "Customer", "Despatch",
    "DryGood", "Followed", "Gauge", "InstrumentLine", "LabelStatement", "Loss", "Origin", "Person", "Pour", "Remark",
    "UpstreamItem",
]  # fmt: skip


class Followed(NamedTuple):
    """The `blend` (a trial, a batch or a recipe) that a `batch` on the way was made after."""

    blend: Named
    batch: Named


class Customer(NamedTuple):
    """A customer of the lot, where it is delivered (address), and whom to call (contact).

    Bottles sent, returned and outstanding; the documents; `units` are cases and pallets still there (SSCC, as ranges).
    """

    customer: str
    address: str
    sent: int
    returned: int
    outstanding: int
    documents: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    contact: str = ""


class Origin(NamedTuple):
    """Spirit of a distiller from outside, into which item and when, mass and LPA taken in; shares add to one.

    `lpa_in_lot_l` of it is in the lot. Where it came with a document of another house, that house stands after the
    `supplier`; `document` and `carrier` are those of the delivery.
    """

    spirit: str
    distiller: str
    into: Named
    when: str
    mass_mg: int | None
    lpa_l: Figure | None
    share: Figure
    supplier: str = ""
    document: str = ""
    carrier: str = ""
    lpa_in_lot_l: Figure | None = None


class UpstreamItem(NamedTuple):
    """An item that some of the lot was once in, by kind: ref, wood, share of the lot, litres and LPA on hand now."""

    kind: str
    item: Named
    ref: str
    wood: str
    share: Figure
    on_hand_l: Figure | None
    on_hand_lpa_l: Figure | None


class Pour(NamedTuple):
    """A pour from source to target: entry, when, who; volume, strength (None while pending), LPA and mass.

    `recorded` is the day on which it was recorded, where that is another one.
    """

    entry: int
    when: str
    source: Named
    target: Named
    volume_l: Figure | None
    strength_vol: Figure | None
    lpa_l: Figure | None
    mass_mg: int | None
    who: str
    recorded: str = ""


class Gauge(NamedTuple):
    """A gauge of an item: entry, when, who, instrument; the reading as typed, and volume, strength, mass from it."""

    entry: int
    when: str
    item: Named
    reading: str
    volume_l: Figure | None
    strength_vol: Figure | None
    mass_mg: int | None
    who: str
    instrument: str


class Addition(NamedTuple):
    """Water or an additive: the entry, when, what, the supplier's batch, into what, its mass, and who."""

    entry: int
    when: str
    what: str
    batch: str
    into: Named
    mass_mg: int | None
    who: str


class InstrumentLine(NamedTuple):
    """The instrument gauges were read on and its kind, with the certificate and the due day that held at the reading.

    `overdue` of its gauges were read after that day. Without a record in the house it has only a name.
    """

    instrument: Named
    kind: str
    certificate: str
    due: str
    gauges: int
    overdue: int


class Allergen(NamedTuple):
    """Allergens that an item or an additive is known to bring, and the previous contents of its wood."""

    item: Named
    previous: str
    allergens: str


class DryGood(NamedTuple):
    """Bottles, closures, labels or cartons of the lot, by kind, in the words recorded: what, whose, which batch."""

    kind: str
    text: str


class BottlingLine(NamedTuple):
    """What is to be said of the bottling run of the lot: what it is about, and the words."""

    about: str
    text: str


class AgeLine(NamedTuple):
    """The age of one spirit in the lot: when distilled, the item it lay in, its time in wood, its share.

    `qualifying` is what of that time counts by a `rule`; None is unknown, and the rule is empty where there is none.
    """

    spirit: str
    item: Named
    distilled: str
    wood: Age | None
    qualifying: Age | None
    rule: str
    share: Figure


class Balance(NamedTuple):
    """Mass and LPA that went in an item, went out, were lost, and are held; a gain at a gauge is a negative loss."""

    item: Named
    in_mg: int
    out_mg: int
    lost_mg: int
    held_mg: int
    in_lpa_l: Figure
    out_lpa_l: Figure
    lost_lpa_l: Figure
    held_lpa_l: Figure

    @property
    def difference_mg(self) -> int:
        """In less out, lost and held."""
        return self.in_mg - self.out_mg - self.lost_mg - self.held_mg

    @property
    def difference_lpa_l(self) -> Fraction:
        """In less out, lost and held."""
        gone = (self.out_lpa_l, self.lost_lpa_l, self.held_lpa_l)
        return exact(self.in_lpa_l) - sum(map(exact, gone), Fraction(0))


class Loss(NamedTuple):
    """Mass and LPA lost on the way by one disposition (evaporation, leak, sample …), in how many entries."""

    disposition: str
    entries: int
    mass_mg: int
    lpa_l: Figure


class Remark(NamedTuple):
    """A hold, release or note by its kind: the entry, when, on which item, who, and the reason or text."""

    entry: int
    when: str
    kind: str
    item: Named
    text: str
    who: str


class LabelStatement(NamedTuple):
    """What the label is to say: the statement, how it stands (allowed, not allowed …), because of what, the rule."""

    statement: str
    stands: str
    because: str
    rule: str


class ApprovalLine(NamedTuple):
    """An approval or rejection, as `said`, of an item: the entry, when, who, and a text on how it stands."""

    entry: int
    when: str
    said: str
    item: Named
    text: str
    who: str


class Correction(NamedTuple):
    """An entry that corrects another one: the change ('voided' or 'replaced'), the item, the reason, when, and who."""

    entry: int
    when: str
    corrects: int
    change: str
    item: Named
    reason: str
    who: str


class Person(NamedTuple):
    """Someone who had a part in the lot: by identifier or code, by name, or both."""

    id: str
    name: str
    part: str


class Despatch(NamedTuple):
    """Bottles sent to a customer under a document: the entry, when, and who sent them; below zero for a return.

    `units` are serial numbers (SSCC) of the cases and pallets among them, consecutive ones as a range; `carrier` took
    them to that `address`; `contact` is whom to call there.
    """

    entry: int
    when: str
    customer: str
    document: str
    bottles: int
    who: str
    units: tuple[str, ...] = ()
    carrier: str = ""
    address: str = ""
    contact: str = ""
