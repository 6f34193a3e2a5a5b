"""Time in wood, origin by origin, and as a calendar counts it: completed years, then days.

The lineage room says how old the youngest spirit of a blend is; a dossier also says it of every
spirit in it. Of one origin that came by several ways it is the least.

>>> from pourbook.lineage.graph import Inflow, Lineage
>>> lineage = Lineage((10, 20), {10: 1, 20: 2}, {
...     10: (Inflow(0, 1, "origin", 100, 1000, 400, 0),),
...     20: (Inflow(10, 2, "", 350, 100, 40, 0), Inflow(0, 3, "origin", 360, 100, 40, 0)),
... })
>>> times = wood_times(lineage, 20, in_wood={1}, earned_us={1: 0}, at_us=999)
>>> times[1], times[3]
(WoodTime(wood_us=250, until_us=350), None)
"""

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from functools import reduce
from typing import TYPE_CHECKING, NamedTuple

from pourbook.codes.identifiers import kind_of, of_key
from pourbook.lineage.ages import Age
from pourbook.lineage.graph import CARRY, Inflow, Lineage
from pourbook.times import DAY_US, add_years, completed_years, day_shown

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["WoodTime", "age_of", "least", "wood_of", "wood_times", "years_of", "youngest"]


class WoodTime(NamedTuple):
    """How long the spirit of an origin lay in wood.

    Attributes:
        wood_us: the time, in microseconds; the least, where it came by several ways.
        until_us: when it last left the wood; of what never lay in any, when it came in.
    """

    wood_us: int
    until_us: int


_Known = dict[int, WoodTime | None]
"""Line of an origin to its time; of what lies in wood, less the moment it is counted to. None is unknown."""


def wood_times(
    lineage: Lineage,
    start: int,
    *,
    in_wood: Collection[int],
    earned_us: Mapping[int, int | None],
    at_us: int,
) -> _Known:
    """Line of every origin of spirit to its time in wood, as it stands in a state; None is unknown.

    Args:
        lineage: `start` and every state upstream of it.
        start: the state asked about.
        in_wood: the items of the lineage in which wood time runs.
        earned_us: line of an origin to wood time earned before; None or missing is unknown.
        at_us: the moment; it matters where `start` itself lies in wood.
    """
    known: dict[int, _Known] = {}
    for state in lineage.order:
        here: _Known = {}
        is_wood = lineage.item_of[state] in in_wood
        for flow in lineage.inflows[state]:
            for line, time in _entering(flow, lineage, known, in_wood, earned_us, wood=is_wood):
                here[line] = least(time, here[line]) if line in here else time
        known[state] = here
    if lineage.item_of[start] not in in_wood:
        return known[start]
    return {line: _until(time, at_us) for line, time in known[start].items()}


def _entering(
    flow: Inflow,
    lineage: Lineage,
    known: Mapping[int, _Known],
    in_wood: Collection[int],
    earned_us: Mapping[int, int | None],
    *,
    wood: bool,
) -> Iterable[tuple[int, WoodTime | None]]:
    """What a flow brings, as the state it enters keeps it."""
    if flow.how == CARRY:
        return known[flow.source].items()
    arriving = _arriving(flow, lineage, known, in_wood, earned_us)
    return ((line, _counted_from(time, flow.happened_us)) for line, time in arriving) if wood else arriving


def wood_of(trace: "Trace", lineage: Lineage, start: int, at_us: int) -> _Known:
    """`wood_times` of what was traced back, where wood time runs in casks."""
    days = {origin.line: origin.facts.get("wood_days") for origin in trace.origins}
    return wood_times(
        lineage,
        start,
        in_wood={item for item in set(lineage.item_of.values()) if kind_of(of_key(item)) == "cask"},
        earned_us={line: None if earned is None else int(earned) * DAY_US for line, earned in days.items()},
        at_us=at_us,
    )


def youngest(known: Mapping[int, WoodTime | None]) -> WoodTime | None:
    """The time in wood of the youngest spirit; unknown if that of any is, or there is none."""
    return reduce(least, known.values()) if known else None


def _arriving(
    flow: Inflow,
    lineage: Lineage,
    known: Mapping[int, _Known],
    in_wood: Collection[int],
    earned_us: Mapping[int, int | None],
) -> Iterator[tuple[int, WoodTime | None]]:
    """What a flow brings, each origin with its time in wood on arrival."""
    if flow.how in ("water", "additive"):
        return
    if not flow.source:
        earned = earned_us.get(flow.line)
        yield flow.line, None if earned is None else WoodTime(earned, flow.happened_us)
        return
    from_wood = lineage.item_of[flow.source] in in_wood
    for line, time in known[flow.source].items():
        if flow.how == "redistilled":
            yield line, WoodTime(0, flow.happened_us)
        else:
            yield line, _until(time, flow.happened_us) if from_wood else time


def _until(time: WoodTime | None, moment_us: int) -> WoodTime | None:
    return None if time is None else WoodTime(time.wood_us + moment_us, moment_us)


def _counted_from(time: WoodTime | None, moment_us: int) -> WoodTime | None:
    return None if time is None else time._replace(wood_us=time.wood_us - moment_us)


def least(one: WoodTime | None, other: WoodTime | None) -> WoodTime | None:
    """The shorter of two times; unknown if either is."""
    return None if one is None or other is None else min(one, other)


# -- as a calendar counts ----------------------------------------------------------------


def age_of(time: WoodTime | None, zone: "ZoneInfo") -> Age | None:
    """Completed anniversaries, and the days since the last of them, in house time.

    >>> from pourbook.times import house_zone, moment_of
    >>> filled, dumped = moment_of("2016-02-29T09:00:00Z"), moment_of("2026-03-14T09:00:00Z")
    >>> age_of(WoodTime(dumped - filled, dumped), house_zone("UTC"))
    Age(years=10, days=13)
    """
    if time is None:
        return None
    begun, ended = _days(time, zone)
    years = completed_years(begun, ended)
    return Age(years, (ended - add_years(begun, years)).days)


def years_of(time: WoodTime, zone: "ZoneInfo") -> float:
    """The time in years, the last one as the part of it that has passed."""
    begun, ended = _days(time, zone)
    years = completed_years(begun, ended)
    latest, following = add_years(begun, years), add_years(begun, years + 1)
    return years + (ended - latest).days / (following - latest).days


def _days(time: WoodTime, zone: "ZoneInfo") -> tuple[date, date]:
    begun = date.fromisoformat(day_shown(time.until_us - time.wood_us, zone))
    return begun, date.fromisoformat(day_shown(time.until_us, zone))
