"""The rows of a dossier: plain frozen values, in words and figures, that know no book.

Identifiers are given as they are read, with hyphens. Times and dates are text in the house's
zone. `None` stands for a figure that is not known, which prints as such and never as zero.
Rows come in the order in which they are to be printed.

>>> Balance(Named("B-000007-5", "Autumn vatting"), 9, 5, 1, 3, 4, 2, 1, 1).difference_mg
0
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from pourbook.lineage.ages import Age
from pourbook.words.paper_figures import Figure, exact

__all__ = [
    "Addition",
    "AgeLine",
    "Allergen",
    "Balance",
    "Correction",
    "Despatch",
    "DryGood",
    "Gauge",
    "InstrumentLine",
    "Loss",
    "Named",
    "Origin",
    "Person",
    "Pour",
    "Remark",
    "UpstreamItem",
]


class Named(NamedTuple):
    """Something with an identifier, or without one (water, a loss).

    Attributes:
        id: its identifier; may be empty.
        name: its ref or name; may be empty.
    """

    id: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Origin:
    """Spirit that came from outside.

    Attributes:
        spirit: what it is.
        distiller: who made it.
        into: the item it went into.
        when: when it did.
        mass_mg: mass taken in; None when unknown.
        lpa_l: litres of pure alcohol taken in.
        share: its part of the lot, 0 to 1; the shares of all origins add to one.
    """

    spirit: str
    distiller: str
    into: Named
    when: str
    mass_mg: int | None
    lpa_l: Figure | None
    share: Figure


@dataclass(frozen=True, slots=True)
class UpstreamItem:
    """An item that some of the lot was once in.

    Attributes:
        kind: 'cask', 'vial', 'trial', 'batch' or 'lot'; rows of one kind are printed together.
        item: identifier and name.
        ref: what the house calls it.
        wood: kind and history of the wood; empty when it has none.
        share: the part of the lot that was in it, 0 to 1.
        on_hand_l: litres at 20 °C it holds now.
        on_hand_lpa_l: litres of pure alcohol it holds now.
    """

    kind: str
    item: Named
    ref: str
    wood: str
    share: Figure
    on_hand_l: Figure | None
    on_hand_lpa_l: Figure | None


@dataclass(frozen=True, slots=True)
class Pour:
    """Liquid moved from a source to a target.

    Attributes:
        entry: number of the entry.
        when: when it happened.
        source: from where.
        target: to where.
        volume_ml: at 20 °C.
        strength_vol: % vol at 20 °C; None when it is pending.
        lpa_l: litres of pure alcohol.
        mass_mg: mass.
        who: who poured.
    """

    entry: int
    when: str
    source: Named
    target: Named
    volume_ml: Figure | None
    strength_vol: Figure | None
    lpa_l: Figure | None
    mass_mg: int | None
    who: str


@dataclass(frozen=True, slots=True)
class Gauge:
    """A measurement of an item.

    Attributes:
        entry: number of the entry.
        when: when it was read.
        item: what was measured.
        reading: as it was typed.
        volume_l: as derived, litres at 20 °C.
        strength_vol: as derived, % vol at 20 °C.
        mass_mg: as derived.
        who: who read it.
        instrument: what it was read on.
    """

    entry: int
    when: str
    item: Named
    reading: str
    volume_l: Figure | None
    strength_vol: Figure | None
    mass_mg: int | None
    who: str
    instrument: str


@dataclass(frozen=True, slots=True)
class Addition:
    """Water or an additive.

    Attributes:
        entry: number of the entry.
        when: when it was added.
        what: what was added.
        batch: its supplier's batch; may be empty.
        into: the item it went into.
        mass_mg: mass.
        who: who added it.
    """

    entry: int
    when: str
    what: str
    batch: str
    into: Named
    mass_mg: int | None
    who: str


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """What gauges were read on.

    Attributes:
        instrument: identifier and name; only a name where the house keeps no record of it.
        kind: hydrometer, balance and so on; empty when not recorded.
        certificate: of its last check before the reading.
        due: day of the check due then.
        gauges: how many gauges on the way were read on it.
        overdue: how many of them were read after that day.
    """

    instrument: Named
    kind: str
    certificate: str
    due: str
    gauges: int
    overdue: int


@dataclass(frozen=True, slots=True)
class Allergen:
    """What an item or an additive is known to bring.

    Attributes:
        item: the item; without identifier for what came from outside.
        previous: what the wood held before; empty when not recorded.
        allergens: as recorded; empty when none were.
    """

    item: Named
    previous: str
    allergens: str


@dataclass(frozen=True, slots=True)
class DryGood:
    """Bottles, closures, labels and the like.

    Attributes:
        entry: number of the entry.
        when: when they were used.
        what: what they are.
        supplier: who supplied them.
        batch: the supplier's batch.
        count: how many.
    """

    entry: int
    when: str
    what: str
    supplier: str
    batch: str
    count: int | None


@dataclass(frozen=True, slots=True)
class AgeLine:
    """The age of one spirit in the lot.

    Attributes:
        spirit: which spirit.
        item: the cask it lay in.
        distilled: when it was distilled; empty when unknown.
        wood: time in wood.
        qualifying: time that counts under the rule; None when unknown or without rule.
        rule: the named rule; may be empty.
        share: its part of the lot, 0 to 1.
    """

    spirit: str
    item: Named
    distilled: str
    wood: Age | None
    qualifying: Age | None
    rule: str
    share: Figure


@dataclass(frozen=True, slots=True)
class Balance:
    """What went into an item and what became of it.

    Attributes:
        item: which item.
        in_mg: mass poured in.
        out_mg: mass poured out.
        lost_mg: mass lost; gains at gauges count as negative losses.
        held_mg: mass held now.
        in_lpa_l: litres of pure alcohol poured in.
        out_lpa_l: poured out.
        lost_lpa_l: lost.
        held_lpa_l: held now.
    """

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
        """In less out, lost and held, in mg."""
        return self.in_mg - self.out_mg - self.lost_mg - self.held_mg

    @property
    def difference_lpa_l(self) -> Fraction:
        """In less out, lost and held, in litres of pure alcohol."""
        gone = (self.out_lpa_l, self.lost_lpa_l, self.held_lpa_l)
        return exact(self.in_lpa_l) - sum(map(exact, gone), Fraction(0))


@dataclass(frozen=True, slots=True)
class Loss:
    """What was lost on the way, by disposition.

    Attributes:
        disposition: evaporation, soakage, leak, line, sample and so on.
        entries: how many entries.
        mass_mg: mass.
        lpa_l: litres of pure alcohol.
    """

    disposition: str
    entries: int
    mass_mg: int
    lpa_l: Figure


@dataclass(frozen=True, slots=True)
class Remark:
    """A hold, its lifting, or a note.

    Attributes:
        entry: number of the entry.
        when: when.
        kind: 'hold', 'release' or 'note'.
        item: on what.
        text: why, or what was noted.
        who: who said so.
    """

    entry: int
    when: str
    kind: str
    item: Named
    text: str
    who: str


@dataclass(frozen=True, slots=True)
class Correction:
    """An entry that voided or replaced an earlier one.

    Attributes:
        entry: number of the correcting entry.
        when: when it was recorded.
        corrects: number of the corrected entry.
        change: 'voided' or 'replaced'.
        item: the item it touched.
        reason: why.
        who: who corrected it.
    """

    entry: int
    when: str
    corrects: int
    change: str
    item: Named
    reason: str
    who: str


@dataclass(frozen=True, slots=True)
class Person:
    """Someone who had a part in the lot.

    Attributes:
        id: identifier.
        name: name.
        part: what they did.
    """

    id: str
    name: str
    part: str


@dataclass(frozen=True, slots=True)
class Despatch:
    """Bottles that left the house, or came back.

    Attributes:
        entry: number of the entry.
        when: when.
        customer: to whom.
        document: under which document.
        bottles: how many; negative for a return.
        who: who sent them.
    """

    entry: int
    when: str
    customer: str
    document: str
    bottles: int
    who: str
