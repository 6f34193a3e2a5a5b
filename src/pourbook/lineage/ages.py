"""Wood age: how long the spirit of an item has lain in casks.

Wood age runs while spirit lies in a cask. The age of a blend is that of its youngest spirit,
however small its part; the mean weighted by pure alcohol stands beside it, never instead.
An origin brings wood time already earned, which may be unknown: unknown is infectious and is
never shown as 0. Water and additives have no age. Redistilling ends wood age.

Inside a cask an age is kept as age minus the clock, which does not change while the spirit lies
there; so a pass over the states costs nothing per day.

>>> from pourbook.lineage.graph import Inflow, Lineage
>>> lineage = Lineage((10, 20), {10: 1, 20: 2}, {
...     10: (Inflow(0, 1, "origin", 100, 1000, 400, 0),),
...     20: (Inflow(10, 2, "", 350, 100, 40, 0),),
... })
>>> wood_ages(lineage, 20, in_wood={1}, earned_us={1: 0}, at_us=999)
WoodAge(youngest_us=250, mean_us=250.0)
"""

from collections.abc import Collection, Mapping
from typing import NamedTuple

from pourbook.lineage.graph import CARRY, Inflow, Lineage

__all__ = ["Age", "WoodAge", "wood_ages"]


class Age(NamedTuple):
    """A time in wood as a calendar counts it: completed years and the days since the last anniversary."""

    years: int
    days: int


class WoodAge(NamedTuple):
    """Time in wood of what a state holds, in microseconds; None is unknown, or no spirit at all.

    Attributes:
        youngest_us: of the youngest spirit in it.
        mean_us: the mean, weighted by pure alcohol.
    """

    youngest_us: int | None
    mean_us: float | None


class _Clock(NamedTuple):
    """Ages less the moment they are counted to: in a cask, age = this + now; elsewhere, age = this."""

    youngest: int
    mean: float


_NO_SPIRIT = _Clock(-1, -1.0)


def wood_ages(
    lineage: Lineage,
    start: int,
    *,
    in_wood: Collection[int],
    earned_us: Mapping[int, int | None],
    at_us: int,
) -> WoodAge:
    """The wood age of the state `start`, as it stands at a moment.

    Args:
        lineage: `start` and every state upstream of it.
        start: the state asked about.
        in_wood: the items of the lineage in which wood age runs.
        earned_us: line of an origin to wood time earned before; None or missing is unknown.
        at_us: the moment; it matters where `start` itself lies in wood.
    """
    clocks: dict[int, _Clock | None] = {}
    for state in lineage.order:
        wood = lineage.item_of[state] in in_wood
        clocks[state] = _blend(
            [(flow, _arrival(flow, clocks, lineage, in_wood, earned_us, wood=wood)) for flow in lineage.inflows[state]]
        )
        if state == start:
            break
    clock = clocks[start]
    if clock is None or clock is _NO_SPIRIT:
        return WoodAge(None, None)
    now = at_us if lineage.item_of[start] in in_wood else 0
    return WoodAge(clock.youngest + now, clock.mean + now)


def _arrival(
    flow: Inflow,
    clocks: Mapping[int, _Clock | None],
    lineage: Lineage,
    in_wood: Collection[int],
    earned_us: Mapping[int, int | None],
    *,
    wood: bool,
) -> _Clock | None:
    """The clock of an inflow as the state it enters keeps it; None when its age is unknown."""
    if flow.how == CARRY:
        return clocks[flow.source]
    if flow.how in ("water", "additive"):
        return _NO_SPIRIT
    if flow.source and flow.how != "redistilled":
        before = clocks[flow.source]
        if before is None or before is _NO_SPIRIT:
            return before
        gained = flow.happened_us if lineage.item_of[flow.source] in in_wood else 0
        youngest, mean = before.youngest + gained, before.mean + gained
    else:
        earned = 0 if flow.source else earned_us.get(flow.line)
        if earned is None:
            return None
        youngest, mean = earned, float(earned)
    since = flow.happened_us if wood else 0
    return _Clock(youngest - since, mean - since)


def _blend(arrivals: list[tuple[Inflow, _Clock | None]]) -> _Clock | None:
    """The youngest, and the mean by ethanol, of what entered a state."""
    with_spirit: list[tuple[Inflow, _Clock]] = []
    for flow, clock in arrivals:
        if clock is None:
            return None
        if clock is not _NO_SPIRIT:
            with_spirit.append((flow, clock))
    if not with_spirit:
        return _NO_SPIRIT
    youngest = min(clock.youngest for _, clock in with_spirit)
    weights = [flow.ethanol_mg for flow, _ in with_spirit]
    if not any(weights):
        weights = [flow.mass_mg for flow, _ in with_spirit]
    # Differences from the youngest keep the digits: clocks are as large as the time since 1970.
    excess = sum(weight * (clock.mean - youngest) for weight, (_, clock) in zip(weights, with_spirit, strict=True))
    return _Clock(youngest, youngest + excess / sum(weights))
