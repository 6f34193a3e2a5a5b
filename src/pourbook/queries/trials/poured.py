"""What was poured into a trial, what the blend is now, what it costs and how old it is.

Reads a trace; nothing is stored.
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.numerals import read_decimal

if TYPE_CHECKING:
    from pourbook.queries.traces.trace_answer import OriginShare, Trace

__all__ = ["Summary", "poured_ml", "summary"]


class Summary(NamedTuple):
    """A trial as the blender asks about it.

    Attributes:
        cost_per_litre: of the blend, from the costs of its origins per LPA, what evaporated not counted; None when
            the cost of any spirit in it is unknown.
        youngest_us: wood time of the youngest spirit; None when unknown.
        pending: entries whose strength is still pending.
        previous: previous contents of the casks in it, for those who must avoid something.
    """

    cost_per_litre: float | None
    youngest_us: int | None
    pending: tuple[int, ...]
    previous: tuple[tuple[str, str], ...]


def summary(trace: "Trace", volume_ml_20c: float) -> Summary:
    """Summarise a trace back of a trial (or batch, or lot) by pure alcohol."""
    spirits = [origin for origin in trace.origins if origin.ethanol_mg > 0]
    return Summary(
        _cost_per_litre(spirits, volume_ml_20c),
        trace.age.youngest_us,
        tuple(origin.entry for origin in trace.origins if origin.pending),
        tuple(
            (other.item.id, other.item.facts["previous"])
            for other in trace.items
            if other.item.kind == "cask" and "previous" in other.item.facts
        ),
    )


def _cost_per_litre(spirits: "list[OriginShare]", volume_ml_20c: float) -> float | None:
    cost = 0.0
    for origin in spirits:
        text = origin.facts.get("cost")
        if text is None:
            return None
        pure_litres = origin.ethanol_mg / density_kg_m3(1.0) / 1000.0
        cost += float(read_decimal(str(text).replace(",", "."))) * pure_litres
    return cost / (volume_ml_20c / 1000.0) if volume_ml_20c and spirits else None


def poured_ml(trace: "Trace") -> dict[str, float]:
    """Volume at 20 °C that each source gave to the item itself, in the order of first pouring."""
    found: dict[str, float] = {}
    for pour in trace.pours:
        if pour.target == trace.item.id:
            found[pour.source] = found.get(pour.source, 0.0) + pour.volume_ml_20c
    return found
