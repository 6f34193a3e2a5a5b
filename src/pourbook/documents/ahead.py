"""A look ahead as a document, as a table for spreadsheets, and in lines: batches by year, and what runs out first."""

from collections.abc import Iterable
from math import isfinite
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import named
from pourbook.documents.shown import CAUTION, Shown, fields, table
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.planning.look_ahead import AheadYear, ComponentYear
    from pourbook.queries.plans.ahead import BatchesAhead

__all__ = ["ahead_notes", "ahead_shown", "ahead_table", "ahead_verdict"]

_ORDERS = {
    "oldest": "the oldest casks of a component go first",
    "leaving": "the casks go first that will be too old for a component first",
}


def ahead_shown(found: "BatchesAhead", style: "HouseStyle", order: str, files: "dict[str, str] | None" = None) -> Shown:
    """How many batches there will be casks for, year by year."""
    return Shown(
        _document(found, order) | ({"files": files} if files else {}),
        tuple(_said(found, style)),
        tuple(ahead_notes(found, style, order)),
        (CAUTION,),
    )


def ahead_table(found: "BatchesAhead") -> tuple[list[str], list[list[Any]]]:
    """A row for each component in each year: heads and rows, figures with a point."""
    heads = [
        "from", "batches", "possible", "component", "enough_for", "casks", "reach_l_20c", "reach_lpa", "in_l", "out_l",
        "air_l", "taken_l", "lacking_l",
    ]  # fmt: skip
    rows: list[list[Any]] = []
    for day, year in zip(found.days, found.ahead.years, strict=True):
        for name, one in year.components.items():
            enough = one.batches if isfinite(one.batches) else ""
            flows = (one.casks, one.reach_l, one.reach_lpa, one.in_l, one.out_l, one.air_l, one.taken_l, one.lacking_l)
            rows.append([day.isoformat(), year.made, year.possible, name, enough, *flows])
    return heads, rows


# -- for programs ----------------------------------------------------------------------


def _document(found: "BatchesAhead", order: str) -> dict[str, Any]:
    ahead, recipe = found.ahead, found.asked.recipe
    out = None
    if ahead.runs_out:
        year, names = ahead.runs_out
        out = {"from": found.days[year].isoformat(), "components": list(names)}
    return {
        "follows": found.asked.aims.follows,
        "volume_l": recipe.target.volume_l,
        "strength_20c": recipe.target.strength_vol,
        "batches_a_year": ahead.batches,
        "order": order,
        "by": "casks" if ahead.whole_casks else "litres",
        "years": [_year(day.isoformat(), year) for day, year in zip(found.days, ahead.years, strict=True)],
        "batches": sum(year.made for year in ahead.years),
        "runs_out": out,
        "short_now_l": dict(ahead.short_now_l),
        "casks": found.casks,
        "other_casks": found.others,
        "left_out": [{"cask": one.cask, "why": [why.said for why in one.why]} for one in found.left_out],
        "own_rates": found.own_rates,
        "usual_loss": found.usual,
        "unknown_ages": found.unknown_ages,
        "ran_out_of_time": found.ran_out_of_time,
    }


def _year(day: str, year: "AheadYear") -> dict[str, Any]:
    return {
        "from": day,
        "made": year.made,
        **fields(year, "year", "made", "components", "takes"),
        "components": {name: _component(one) for name, one in year.components.items()},
        "takes": [
            {"cask": ref, "component": name, "volume_l_20c": litres} for (ref, name), litres in year.takes.items()
        ],
    }


def _component(one: "ComponentYear") -> dict[str, Any]:
    return {**fields(one, "batches"), "enough_for": one.batches if isfinite(one.batches) else None}


# -- for people ------------------------------------------------------------------------


def _said(found: "BatchesAhead", style: "HouseStyle") -> Iterable[str]:
    ahead, target = found.ahead, found.asked.recipe.target
    strength = style.shown(target.strength_vol, 1)
    yield f"batches of {style.shown(target.volume_l, 0)} l at {strength} % vol, as {named(found.asked.aims.follows)}"
    yield ""
    years = list(zip(found.days, ahead.years, strict=True))
    yield from table(
        ("from", " batches", " possible", " came l", " air l", " used l", " left l"),
        [
            (
                day.isoformat(), str(year.made), style.shown(year.possible, 1),
                *(style.shown(litres, 0) for litres in (year.came_l, year.air_l, year.taken_l, year.left_l)),
            )
            for day, year in years
        ],
    )  # fmt: skip
    yield ""
    yield "for how many batches each component is enough at its part:"
    yield from table(
        ("component", *(f" {day.year}" for day in found.days)),
        [
            (name, *(_enough(year.components[name], style) for year in ahead.years))
            for name in found.asked.recipe.components
        ],
    )
    yield ""
    yield from ahead_verdict(found, style)


def _enough(one: "ComponentYear", style: "HouseStyle") -> str:
    return style.shown(one.batches, 1) if isfinite(one.batches) else "–"


def ahead_verdict(found: "BatchesAhead", style: "HouseStyle") -> Iterable[str]:
    """How many can be made, what runs out first, and what would have to be there."""
    ahead = found.ahead
    made = sum(year.made for year in ahead.years)
    wanted = ahead.batches * len(ahead.years)
    if ahead.runs_out is None:
        yield f"all {wanted} batches can be made"
        return
    at, names = ahead.runs_out
    year, day = ahead.years[at], found.days[at]
    yield f"{made} of {counted(wanted, 'batch', 'batches')} can be made"
    for name in names:
        one = year.components[name]
        out = f"; {style.shown(one.out_l, 0)} l have just become too old for it" if one.out_l else ""
        yield f"runs out first, on {day}: {name}, of which {style.shown(one.lacking_l, 1)} l more would do{out}"
    if not names:
        why = "no choice of whole casks is found" if ahead.whole_casks and year.possible >= 1 else "a limit forbids it"
        yield f"fewer from {day} on, though by litres no component lacks: {why}"
    if ahead.short_now_l:
        yield f"for all {wanted}, with their aimed parts, there would have to be beside the stock now:"
        yield from (f"  {style.shown(litres, 0)} l of {name}" for name, litres in ahead.short_now_l.items())


def ahead_notes(found: "BatchesAhead", style: "HouseStyle", order: str) -> Iterable[str]:
    """What the figures rest on."""
    ahead = found.ahead
    if ahead.whole_casks:
        yield "note: whole casks were chosen for each batch, by the objective of the plan; 'possible' counts litres"
    else:
        yield (
            f"note: counted by litres, casks taken in part; {_ORDERS[order]}, those that could be of another one last."
            " Whole casks may give fewer"
        )
    if found.ran_out_of_time:
        yield "note: for some batch the search for whole casks was given up; --by litres counts without it"
    without = found.casks - found.own_rates
    yield (
        f"note: {counted(found.own_rates, 'cask')} lose what their gauges say, {without} the usual"
        f" {style.shown(100 * found.usual, 1)} % a year"
    )
    if any(one.wanted.is_alike for one in found.asked.aims.parts):
        yield "note: casks count that are like those of the blend and near them in age: --near-years says how near"
    if found.unknown_ages:
        unknown = counted(found.unknown_ages, "cask")
        yield f"note: of {unknown} the age is unknown: they go last, and are of no component with an age"
    if found.others:
        yield f"note: {counted(found.others, 'cask')} are of none of these components in any of the years"
    if found.left_out:
        yield f"note: {counted(len(found.left_out), 'cask')} on hold, faulty or not wanted are left out"
    yield "note: the heel of an earlier batch is not counted"
