"""What a trace answers, as values.

>>> from pourbook.liquid import Liquid
>>> pour = TracedPour(8192, "C000001H", "V000001R", Liquid(181_000, 97_000), Liquid(181_000, 97_000),
...     0, "M. Aldane", "draw", "200 ml", 1.0, {})
>>> pour.entry, f"{pour.volume_ml_20c:.1f} ml"
(2, '199.8 ml')
"""

from functools import reduce
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.book.contents import LINES
from pourbook.book.items import ItemView
from pourbook.lineage.ages import WoodAge, WoodTime, least
from pourbook.lineage.bases import Basis
from pourbook.liquid import Liquid
from pourbook.numerals import read_decimal

if TYPE_CHECKING:
    from pandas import DataFrame

    from pourbook.queries.traces.qualifying_time import Qualifying

__all__ = ["ItemShare", "OriginShare", "Trace", "TracedPour", "youngest_in"]


class OriginShare(NamedTuple):
    """A pour from outside, and its part in the item traced.

    Attributes:
        line: number of the line.
        how: origin, water, additive or unexplained.
        share: its part in the item, 0 to 1.
        ethanol_mg: pure ethanol of it in the item; mass_mg: mass of it in the item.
        happened_us: when it came in.
        into: identifier of the item it went into first.
        facts: what was recorded of it: spirit, distiller, distilled, wood_days …
        pending: its strength is an assumption until the laboratory has read it.
    """

    line: int
    how: str
    share: float
    ethanol_mg: float
    mass_mg: float
    happened_us: int
    into: str
    facts: dict[str, Any]
    pending: bool = False

    @property
    def entry(self) -> int:
        """Number of the entry."""
        return self.line // LINES

    @property
    def pure_alcohol_ml(self) -> float:
        """Volume at 20 °C of the pure alcohol of it in the item."""
        return self.ethanol_mg / density_kg_m3(1.0)


class ItemShare(NamedTuple):
    """Another item of the lineage as it is at the moment asked about, with its share: see `Trace.direction`.

    share_now is that of what it holds now: forward only, None when it is empty.
    """

    item: ItemView
    share: float
    share_now: float | None


class TracedPour(NamedTuple):
    """A pour on the way, by its line; source and target are identifiers, or the word for outside.

    Attributes:
        liquid: as it left the source.
        received: as it arrived.
        happened_us: when.
        who: by whom.
        verb: the trade's word for it.
        typed: amount and strength as typed.
        part: the part of the item that came this way (back), or of the pour that came from the item (forward).
        facts: what else was recorded of it.
        pending: the strength typed is an assumption until the laboratory has read it.
    """

    line: int
    source: str
    target: str
    liquid: Liquid
    received: Liquid
    happened_us: int
    who: str
    verb: str
    typed: str
    part: float
    facts: dict[str, Any]
    pending: bool = False

    @property
    def entry(self) -> int:
        """Number of the entry."""
        return self.line // LINES

    @property
    def volume_ml_20c(self) -> float:
        """Volume at 20 °C, as it left the source."""
        return volume_ml(self.liquid)

    @property
    def strength_20c(self) -> float | None:
        """Strength, % vol at 20 °C."""
        return strength_20c(self.liquid)


class Trace(NamedTuple):
    """An answer.

    Attributes:
        item: the item traced, as it is at the moment asked about.
        direction: "back": `share` is the part of this item that was once in the other. "forward":
            the part, of all that was ever poured into the other, that had been in this item.
        by: the basis of shares.
        held: the liquid that the answer is about.
        origins: back only, in order of time; their shares add to one.
        items: every other item of the lineage.
        pours: in order of time.
        age: time in wood of the item (of the traced liquid), in microseconds.
        qualifying: how much of it counts; None where the house has no rule, and forward.
    """

    item: ItemView
    direction: Literal["back", "forward"]
    by: Basis
    held: Liquid
    origins: tuple[OriginShare, ...]
    items: tuple[ItemShare, ...]
    pours: tuple[TracedPour, ...]
    age: WoodAge
    qualifying: "Qualifying | None" = None

    @property
    def held_strength(self) -> float | None:
        """Strength of what was traced, % vol at 20 °C; also where the item is empty by now."""
        return strength_20c(self.held)

    @property
    def cost_per_litre(self) -> float | None:
        """Of what was traced back, from the costs of its origins per LPA, evaporation not counted; None if unknown."""
        cost, spirits = 0.0, [origin for origin in self.origins if origin.ethanol_mg > 0]
        for origin in spirits:
            text = origin.facts.get("cost")
            if text is None:
                return None
            cost += float(read_decimal(str(text).replace(",", "."))) * origin.pure_alcohol_ml / 1000.0
        litres = volume_ml(self.held) / 1000.0
        return cost / litres if litres and spirits else None

    @property
    def pending(self) -> tuple[int, ...]:
        """Entries of its origins whose strength is still pending."""
        return tuple(origin.entry for origin in self.origins if origin.pending)

    @property
    def previous(self) -> tuple[tuple[str, str], ...]:
        """Previous contents of the casks in it, for those who must avoid something."""
        views = (other.item for other in self.items)
        return tuple((one.id, one.facts["previous"]) for one in views if one.kind == "cask" and "previous" in one.facts)

    @property
    def poured_ml(self) -> dict[str, float]:
        """Volume at 20 °C that each source gave to the item itself, in the order of first pouring."""
        found: dict[str, float] = {}
        for pour in self.pours:
            if pour.target == self.item.id:
                found[pour.source] = found.get(pour.source, 0.0) + pour.volume_ml_20c
        return found

    def frame(self, rows: Literal["items", "origins", "pours"] = "items") -> "DataFrame":
        """Items, origins or pours as a pandas DataFrame, one row each."""
        import pandas as pd  # heavy, and only for those who ask

        if rows == "items":
            records = [
                {"id": other.item.id, "ref": other.item.ref, "kind": other.item.kind, "share": other.share,
                 "share_now": other.share_now, "on_hand_mg": other.item.holding.mass_mg}
                for other in self.items
            ]  # fmt: skip
        elif rows == "origins":
            records = [origin._asdict() for origin in self.origins]
        else:
            records = [
                {"entry": pour.entry, "source": pour.source, "target": pour.target, **pour.liquid._asdict(),
                 "volume_ml_20c": pour.volume_ml_20c, "strength_20c": pour.strength_20c,
                 "happened_us": pour.happened_us, "who": pour.who, "verb": pour.verb, "part": pour.part}
                for pour in self.pours
            ]  # fmt: skip
        return pd.DataFrame.from_records(records)


def youngest_in(*traces: Trace) -> WoodTime | None:
    """The time in wood of the youngest spirit of several; None where any is unknown, or none holds spirit."""
    times = [trace.age.youngest for trace in traces if trace.held.ethanol_mg]
    return reduce(least, times) if times else None
