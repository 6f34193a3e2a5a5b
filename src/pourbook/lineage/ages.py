"""Wood age: how long the spirit of an item has lain in casks.

Wood age runs while spirit lies in a cask. The age of a blend is that of its youngest spirit,
however small its part; the mean weighted by pure alcohol stands beside it, never instead.
An origin brings wood time already earned, which may be unknown: then the blend's is unknown, never 0.
Water and additives have no age. Redistilling ends wood age.

Inside a cask a time is kept less the moment it is counted to, which stays the same while the spirit lies there.
Beside it stand the stays themselves, since a calendar counts each by its own anniversaries.

>>> from pourbook.lineage.graph import Inflow, Lineage
>>> lineage = Lineage((10, 20), {10: 1, 20: 2}, {
...     10: (Inflow(0, 1, "origin", 100, 1000, 400, 0),),
...     20: (Inflow(10, 2, "", 350, 100, 40, 0), Inflow(0, 3, "origin", 360, 100, 40, 0)),
... })
>>> age = wood_ages(lineage, 20, in_wood={10}, earned_us={1: 0, 3: 50}, at_us=999)
>>> age.youngest_us, age.youngest.stays, age.mean_us
(50, (Stay(begun_us=310, until_us=360, brought=True),), 150.0)
>>> times = wood_times(lineage, 20, in_wood={10}, earned_us={1: 0}, at_us=999)
>>> times[1].stays, times[3]
((Stay(begun_us=100, until_us=350, brought=False),), None)
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import date, timedelta
from typing import TYPE_CHECKING, NamedTuple

from pourbook.lineage.graph import CARRY, Inflow, Lineage
from pourbook.times import DAY_US, add_years, completed_years, day_shown

if TYPE_CHECKING:
    from datetime import tzinfo

__all__ = [
    "Age",
    "Stay",
    "WoodAge",
    "WoodTime",
    "age_of",
    "brought",
    "least",
    "longer",
    "wood_ages",
    "wood_times",
    "years_before",
]


class Age(NamedTuple):
    """A time in wood as a calendar counts it: completed years, and the days left over."""

    years: int
    days: int


class Stay(NamedTuple):
    """One stay in wood, without a break.

    Attributes:
        begun_us: when it came into the wood.
        until_us: when it left it.
        brought: whether an origin brought it, told in whole days; then they are counted, not the moments.
    """

    begun_us: int
    until_us: int
    brought: bool = False


class WoodTime(NamedTuple):
    """How long spirit lay in wood.

    Attributes:
        wood_us: the time, in microseconds; the least, where it came by several ways.
        until_us: when it last left the wood; when it came in, if it never lay in any.
        stays: what it is made of, in order of time.
    """

    wood_us: int
    until_us: int
    stays: tuple[Stay, ...] = ()


class WoodAge(NamedTuple):
    """Time in wood of the youngest spirit in a state, and the mean by pure alcohol; None is unknown, or no spirit."""

    youngest: WoodTime | None
    mean_us: float | None

    @property
    def youngest_us(self) -> int | None:
        """Time in wood of the youngest spirit, in microseconds."""
        return None if self.youngest is None else self.youngest.wood_us


_Times = Mapping[int, WoodTime | None]
"""Line of an origin (or 0 for all of them) to the time of its spirit; None is unknown."""


class _Spirit(NamedTuple):
    """The spirit in a state; in a cask, times are less the moment they are counted to. Empty without spirit."""

    times: _Times
    mean_us: float


_NO_SPIRIT = _Spirit({}, 0.0)


def wood_ages(
    lineage: Lineage, start: int, *, in_wood: Collection[int], earned_us: Mapping[int, int | None], at_us: int
) -> WoodAge:
    """The wood age of the state `start`, as it stands at a moment.

    `lineage` holds `start` and every state upstream of it, `in_wood` the states in which wood age runs, `earned_us`
    the wood time that the line of an origin brought; None or missing is unknown.
    """
    found = _Pass(lineage, in_wood, earned_us, by_origin=False).spirit(start, at_us)
    youngest = found.times.get(0)
    return WoodAge(None, None) if youngest is None else WoodAge(youngest, found.mean_us)


def wood_times(
    lineage: Lineage, start: int, *, in_wood: Collection[int], earned_us: Mapping[int, int | None], at_us: int
) -> _Times:
    """Line of every origin of spirit to its time in wood; None is unknown. Arguments as `wood_ages`."""
    return _Pass(lineage, in_wood, earned_us, by_origin=True).spirit(start, at_us).times


def least(one: WoodTime | None, other: WoodTime | None) -> WoodTime | None:
    """The shorter of two times; unknown if either is."""
    return None if one is None or other is None else min(one, other)


class _Pass:
    """One ascending pass over a lineage."""

    def __init__(
        self, lineage: Lineage, in_wood: Collection[int], earned_us: Mapping[int, int | None], *, by_origin: bool
    ) -> None:
        self._lineage = lineage
        self._in_wood = in_wood
        self._earned_us = earned_us
        self._by_origin = by_origin
        self._spirits: dict[int, _Spirit] = {}

    def spirit(self, start: int, at_us: int) -> _Spirit:
        """The spirit in a state, at a moment."""
        for state in self._lineage.order:
            wood = state in self._in_wood
            inflows = self._lineage.inflows[state]
            self._spirits[state] = _blend([(flow, self._entering(flow, wood=wood)) for flow in inflows])
            if state == start:
                break
        found = self._spirits[start]
        return _left(found, at_us) if start in self._in_wood else found

    def _entering(self, flow: Inflow, *, wood: bool) -> _Spirit:
        """What an inflow brings, as its state keeps it."""
        if flow.how == CARRY:
            before, was_in_wood = self._spirits[flow.source], flow.source in self._in_wood
            if wood == was_in_wood:
                return before
            return _entered(before, flow.happened_us) if wood else _left(before, flow.happened_us)
        arriving = self._arriving(flow)
        return _entered(arriving, flow.happened_us) if wood else arriving

    def _arriving(self, flow: Inflow) -> _Spirit:
        """What an inflow brings, with its times on arrival."""
        if flow.how in ("water", "additive"):
            return _NO_SPIRIT
        if not flow.source:
            earned = self._earned_us.get(flow.line)
            time = None if earned is None else brought(earned, flow.happened_us)
            return _Spirit({flow.line if self._by_origin else 0: time}, float(earned or 0))
        before = self._spirits[flow.source]
        if flow.how == "redistilled":
            return _Spirit(dict.fromkeys(before.times, WoodTime(0, flow.happened_us)), 0.0)
        from_wood = flow.source in self._in_wood
        return _left(before, flow.happened_us) if from_wood else before


def brought(earned_us: int, at_us: int) -> WoodTime:
    """What an origin brought when it came."""
    return WoodTime(earned_us, at_us, (Stay(at_us - earned_us, at_us, brought=True),) if earned_us else ())


def longer(time: WoodTime, begun_us: int, until_us: int) -> WoodTime:
    """A time with a stay more, which goes on with the last one if that ended when it begins."""
    if begun_us == until_us:
        return time
    stays, last = time.stays, time.stays[-1] if time.stays else None
    if last is not None and last.until_us == begun_us and not last.brought:
        stays, begun = stays[:-1], last.begun_us
    else:
        begun = begun_us
    return WoodTime(time.wood_us + until_us - begun_us, until_us, (*stays, Stay(begun, until_us)))


def _entered(spirit: _Spirit, at_us: int) -> _Spirit:
    """Spirit that comes into wood: from here on its times are less the moment they are counted to."""
    times = {
        line: time and WoodTime(time.wood_us - at_us, time.until_us, (*time.stays, Stay(at_us, at_us)))
        for line, time in spirit.times.items()
    }
    return _Spirit(times, spirit.mean_us - at_us)


def _left(spirit: _Spirit, at_us: int) -> _Spirit:
    """Spirit that leaves wood, or is looked at in it: its last stay ends."""
    times = {
        line: time and WoodTime(time.wood_us + at_us, at_us, (*time.stays[:-1], Stay(time.stays[-1].begun_us, at_us)))
        for line, time in spirit.times.items()
    }
    return _Spirit(times, spirit.mean_us + at_us)


def _blend(arrivals: list[tuple[Inflow, _Spirit]]) -> _Spirit:
    """What entered a state, as one: the least of each time, and the mean by ethanol."""
    arrivals = [(flow, spirit) for flow, spirit in arrivals if spirit.times]
    if len(arrivals) < 2:
        return arrivals[0][1] if arrivals else _NO_SPIRIT
    times: dict[int, WoodTime | None] = {}
    for _, spirit in arrivals:
        for line, time in spirit.times.items():
            times[line] = least(time, times[line]) if line in times else time
    weights = [flow.ethanol_mg for flow, _ in arrivals]
    if not any(weights):
        weights = [flow.mass_mg for flow, _ in arrivals]
    # Differences from the first keep the digits: clocks are as large as the time since 1970.
    first = arrivals[0][1].mean_us
    excess = sum(weight * (spirit.mean_us - first) for weight, (_, spirit) in zip(weights, arrivals, strict=True))
    return _Spirit(times, first + excess / (sum(weights) or 1))


# -- as a calendar counts ----------------------------------------------------------------


_DAYS_OF_ANY_YEAR = 366
"""Days left over from several stays make a year where they would in any year. An age may be stated too low, never too
high: 27 CFR 5.40(a)(1), as it stood until 2022 (read; now 5.74, which was not)."""


def age_of(time: WoodTime | None, zone: "tzinfo") -> Age | None:
    """Completed anniversaries and the days left over, in house time, added up over all stays.

    A stay that begins on the day on which the one before ended goes on with it. That years of several stays are
    added, and how, is common practice: no law that was read says it.

    >>> from pourbook.times import house_zone, moment_of
    >>> filled, dumped = moment_of("2016-02-29T09:00:00Z"), moment_of("2026-03-14T09:00:00Z")
    >>> age_of(WoodTime(dumped - filled, dumped, (Stay(filled, dumped),)), house_zone("UTC"))
    Age(years=10, days=13)
    """
    if time is None:
        return None
    years = days = 0
    for begun, ended in _unbroken(time.stays, zone):
        whole = completed_years(begun, ended)
        years, days = years + whole, days + (ended - add_years(begun, whole)).days
    return Age(years + days // _DAYS_OF_ANY_YEAR, days % _DAYS_OF_ANY_YEAR)


def _unbroken(stays: Sequence[Stay], zone: "tzinfo") -> list[tuple[date, date]]:
    """First and last day of each stay; those without a day between them as one."""
    found: list[tuple[date, date]] = []
    for stay in stays:
        ended = _day(stay.until_us, zone)
        begun = _day(stay.begun_us, zone)
        if stay.brought:
            begun = ended - timedelta(days=(stay.until_us - stay.begun_us) // DAY_US)
        if found and found[-1][1] == begun:
            begun = found.pop()[0]
        found.append((begun, ended))
    return found


def years_before(until_us: int, time_us: float, zone: "tzinfo") -> float:
    """A time that ended at a moment in years, the last one in proportion to the days passed."""
    begun, ended = _day(until_us - round(time_us), zone), _day(until_us, zone)
    years = completed_years(begun, ended)
    latest, following = add_years(begun, years), add_years(begun, years + 1)
    return years + (ended - latest).days / (following - latest).days


def _day(moment_us: int, zone: "tzinfo") -> date:
    return date.fromisoformat(day_shown(moment_us, zone))
