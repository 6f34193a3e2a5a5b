"""The last gauge of an item that still speaks of what it holds, and its uncertainty.

A pour out of an item leaves its strength; a pour into it makes another liquid, of which the gauge
before it says nothing. A lot is what its batch was when it was bottled.

>>> from pourbook.gauging.recorded_values import GaugeUncertainty
>>> LastGauge(12, 0, GaugeUncertainty({"strength_20c": ("46.20", "0.06")})).strength.shown()
'46.20 ± 0.12 (k = 2)'
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.bottles import drawn_from
from pourbook.book.items import ledger
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import key_of, kind_of

if TYPE_CHECKING:
    from pourbook.book.store import Store
    from pourbook.gauging.recorded_values import GaugeUncertainty
    from pourbook.uncertainty.propagation import Uncertain

__all__ = ["LastGauge", "last_gauge", "strength_was_read"]


class LastGauge(NamedTuple):
    """The entry of a gauge of a strength, when it happened, and the uncertainty of its figures; None if unknown."""

    entry: int
    happened_us: int
    uncertainty: "GaugeUncertainty | None"

    @property
    def strength(self) -> "Uncertain | None":
        """The strength with its standard uncertainty; None where that was not known."""
        from pourbook.uncertainty.propagation import Uncertain

        figures = self.uncertainty.figures if self.uncertainty else {}
        if "strength_20c" not in figures:
            return None
        value, standard = map(float, figures["strength_20c"])
        return Uncertain(value, {"gauge": standard})


def last_gauge(store: "Store", identifier: str, at_us: int | None = None) -> LastGauge | None:
    """The last gauge of the strength of what an item holds, or held at a moment; of a lot, that of its batch."""
    if kind_of(identifier) == "lot":
        origin = drawn_from(store, identifier)
        return None if origin is None else last_gauge(store, *origin)
    for row in reversed(ledger(store, key_of(identifier))):
        if at_us is not None and row.happened_us > at_us:
            continue
        logged = entry_of(store, row.entry)
        body = logged.entry["body"]
        if logged.kind == "gauge" and strength_was_read(body):
            return LastGauge(row.entry, row.happened_us, _recorded(body))
        if any(line["to"] == identifier for line in body.get("lines", ())):
            return None
    return None


def strength_was_read(body: Mapping[str, Any]) -> bool:
    """Whether a gauge read the strength, and did not take the book's.

    >>> strength_was_read({"fraction": 560_000_000, "book_fraction": 560_000_000})
    False
    """
    return "fraction" in body and ("density" in body or "book_fraction" not in body)


def _recorded(body: Mapping[str, Any]) -> "GaugeUncertainty | None":
    from pourbook.gauging.recorded_values import GaugeUncertainty  # most items were never gauged

    figures = {name: (one["value"], one["standard"]) for name, one in body.get("uncertainty", {}).items()}
    return GaugeUncertainty(figures, tuple(body.get("taken_as_exact", ()))) if figures else None
