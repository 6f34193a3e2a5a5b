"""What the report of a recall says: plain frozen values that know no book.

Masses are whole milligrams, volumes litres at 20 °C, shares parts of one. Identifiers are given as they
are read, with hyphens; times are text in the house's zone.

>>> RecallLot(Named("L-000001-C", "Lot 2026-1"), "L26-175", 420, 120, 6, 2, ()).left
304
"""

from dataclasses import dataclass
from typing import NamedTuple

from pourbook.papers.dossier.dossier_rows import Named
from pourbook.papers.page import Imprint

__all__ = ["BalanceLine", "RecallDeparture", "RecallItem", "RecallLot", "RecallReport"]


class RecallItem(NamedTuple):
    """An item that holds suspect liquid.

    Attributes:
        item: which.
        place: where it is.
        alcohol: part of its pure alcohol that is suspect.
        mass: part of its mass.
        volume: part of its volume.
        volume_l: what it holds.
        suspect_mg: suspect liquid in it, by mass.
        hold: "put on hold", "on hold", or empty.
    """

    item: Named
    place: str
    alcohol: float
    mass: float
    volume: float
    volume_l: float
    suspect_mg: int
    hold: str


class RecallLot(NamedTuple):
    """Bottles of an affected lot.

    Attributes:
        lot: which.
        mark: its lot mark.
        filled: bottles filled.
        despatched: to customers.
        returned: came back.
        lost: broken, tasted, sampled.
        units: its cases and pallets, by serial number.
    """

    lot: Named
    mark: str
    filled: int
    despatched: int
    returned: int
    lost: int
    units: tuple[str, ...]

    @property
    def left(self) -> int:
        """Bottles in the house."""
        return self.filled - self.despatched + self.returned - self.lost


class RecallDeparture(NamedTuple):
    """Affected liquid that left the house, or came back.

    Attributes:
        when: it happened.
        entry: number of the entry.
        what: despatch or return.
        item: what it left, or came back to.
        customer: to whom, or from whom.
        document: under which.
        bottles: how many, as text; empty where it was no bottles.
        mass_mg: how much.
        part: of it by mass that is suspect.
    """

    when: str
    entry: int
    what: str
    item: Named
    customer: str
    document: str
    bottles: str
    mass_mg: int
    part: float


class BalanceLine(NamedTuple):
    """A side of the balance.

    Attributes:
        sign: "+" for what came, "−" for what went or stayed.
        words: what it is.
        mass_mg: all of it.
        ethanol_mg: pure ethanol in it.
    """

    sign: str
    words: str
    mass_mg: int
    ethanol_mg: int


@dataclass(frozen=True, slots=True)
class RecallReport:
    """All that the report of a recall says.

    Attributes:
        imprint: where and when it is printed.
        number: of the recall's entry.
        drill: whether it was one.
        reason: why.
        who: recorded it.
        scope: the suspects, in words.
        least_share: below which items were left out; in words.
        begun: when.
        ended: when all was found.
        taken: time taken, in words.
        head_before: hash of the entry before the recall: the book that the figures are of.
        affected: number of items.
        held: number of items put on hold.
        balance: its sides.
        unexplained_mg: what they do not explain.
        unexplained_ethanol_mg: ethanol that they do not explain.
        on_hand: items that hold suspect liquid.
        lots: affected lots that were bottled by count.
        departures: what left and came back.
        others: affected items that hold none of it any more.
    """

    imprint: Imprint
    number: int
    drill: bool
    reason: str
    who: str
    scope: tuple[str, ...]
    least_share: str
    begun: str
    ended: str
    taken: str
    head_before: str
    affected: int
    held: int
    balance: tuple[BalanceLine, ...]
    unexplained_mg: int
    unexplained_ethanol_mg: int
    on_hand: tuple[RecallItem, ...] = ()
    lots: tuple[RecallLot, ...] = ()
    departures: tuple[RecallDeparture, ...] = ()
    others: tuple[Named, ...] = ()
