"""How sure a plan is, as a document and in lines: chances of limits, whose error matters, and what to gauge first."""

from collections.abc import Iterable
from math import isfinite
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, is_identifier
from pourbook.documents.shown import CAUTION, Shown, table
from pourbook.documents.uncertainty import BASIS, chance_words, uncertainty_document
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.planning.sure_enough import LimitChance
    from pourbook.queries.plans.sure import BatchSure

__all__ = [
    "how_sure_advice", "how_sure_document", "how_sure_lines", "how_sure_notes", "how_sure_rows", "how_sure_shown",
]  # fmt: skip

_OF_VAT = {
    "limits.least_strength_before": ("strength before water", "% vol"),
    "target.strength_20c": ("strength after water", "% vol"),
    "target.volume_l": ("volume after losses", "l"),
    "limits.vat_l": ("reduced batch in the vat", "l"),
    "limits.least_left_l": ("stays in", "l"),
}
_MOST_NAMED = 2


def how_sure_shown(found: "BatchSure", style: "HouseStyle") -> Shown:
    """How sure the plan of a batch is."""
    return Shown(how_sure_document(found), how_sure_lines(found, style), how_sure_notes(found, style), (BASIS, CAUTION))


# -- for programs ----------------------------------------------------------------------


def how_sure_document(found: "BatchSure") -> dict[str, Any]:
    """The chances of a plan."""
    sure = found.sure
    return {
        "together": sure.together,
        "sure_enough": sure.level,
        "limits": [_limit(one) for one in sure.limits],
        "gauge_first": [{"cask": one.ref, "together": one.together} for one in sure.regauge],
        "casks": [
            {
                "cask": ref,
                "volume_l_20c": uncertainty_document(one.held.volume_l),
                "strength_20c": uncertainty_document(one.held.strength_vol),
                "years_since_measured": one.years,
                "assumed": list(one.assumed),
                "own_rate": one.has_rate,
            }
            for ref, one in found.known.items()
        ],
        "taken_as_exact": list(sure.exact),
    }


def _limit(one: "LimitChance") -> dict[str, Any]:
    def end(value: float) -> float | None:
        return value if isfinite(value) else None

    tightened = None if one.tightened is None else {"low": end(one.tightened[0]), "high": end(one.tightened[1])}
    return {
        "demand": one.demand,
        "cask": one.ref or None,
        "value": one.figure.value,
        "standard_uncertainty": one.figure.standard,
        "low": end(one.low),
        "high": end(one.high),
        "chance": one.chance,
        "tightened": tightened,
        "matters": [{"error": name, "part_of_variance": part} for name, part in one.matters],
    }


# -- for people ------------------------------------------------------------------------


def how_sure_lines(found: "BatchSure", style: "HouseStyle") -> tuple[str, ...]:
    """The chance of each limit and of all together, what to ask for to be sure, and what to gauge first."""
    heads = ("limit", " planned", " least", " most", " chance", "whose error matters")
    return (*table(heads, how_sure_rows(found, style)), "", *how_sure_advice(found, style))


def how_sure_rows(found: "BatchSure", style: "HouseStyle") -> list[tuple[str, ...]]:
    """Each limit: its name, as planned, least, most, the chance of it, and whose error matters."""
    return [(*_row(one, style), chance_words(one.chance, style), _matters(one, style)) for one in found.sure.limits]


def how_sure_advice(found: "BatchSure", style: "HouseStyle") -> tuple[str, ...]:
    """The chance of all together, what to plan for to be sure, and what to gauge first."""
    together = f"all together: {chance_words(found.sure.together, style)}"
    return (together, *_edges(found, style), *_gauges(found, style))


def _name(one: "LimitChance") -> tuple[str, str]:
    if one.demand in _OF_VAT:
        name, unit = _OF_VAT[one.demand]
        return (f"{name} {hyphened(one.ref)}" if one.ref else name), unit
    return one.demand.partition(".")[2], "%"


def _row(one: "LimitChance", style: "HouseStyle") -> tuple[str, str, str, str]:
    name, unit = _name(one)
    low, high = (style.shown(end, 2) if isfinite(end) else "" for end in (one.low, one.high))
    figure = one.figure
    return f"{name}, {unit}", figure.shown(style.mark) if figure.standard else style.shown(figure.value, 2), low, high


def _matters(one: "LimitChance", style: "HouseStyle") -> str:
    return "; ".join(f"{style.shown(100 * part, 0)} % {_error(name)}" for name, part in one.matters[:_MOST_NAMED])


def _error(name: str) -> str:
    """The name of an error, or the cask whose own it is."""
    return " ".join(hyphened(word) if is_identifier(word) else word for word in name.split(" "))


def _edges(found: "BatchSure", style: "HouseStyle") -> Iterable[str]:
    """Which limits are not kept surely enough, and between which ends a plan would be."""
    level = f"{style.shown(100 * found.sure.level, 0)} %"
    for one in found.sure.limits:
        if one.chance >= found.sure.level:
            continue
        name, unit = _name(one)
        if one.tightened is None:
            yield f"{name}: its errors are wider than its limits; no plan keeps them in {level} of all cases"
            continue
        low, high = one.tightened
        spread = one.figure.standard
        near = min(one.figure.value - one.low, one.high - one.figure.value) < spread / 2.0
        at_edge = "it lies at the very edge; " if near else ""
        ends = [f"at least {style.shown(low, 2)}"] if isfinite(low) else []
        ends += [f"at most {style.shown(high, 2)}"] if isfinite(high) else []
        yield f"{name}: {at_edge}to keep it in {level} of all cases, plan for {' and '.join(ends)} {unit}"


def _gauges(found: "BatchSure", style: "HouseStyle") -> Iterable[str]:
    for place, one in enumerate(found.sure.regauge[:_MOST_NAMED]):
        years = found.known[one.ref].years
        since = "" if years is None else f", measured {style.shown(years, 1)} years ago"
        then = chance_words(one.together, style)
        yield f"{'gauge first' if not place else 'then'}: {hyphened(one.ref)}{since}; all together {then} with it alone"


def how_sure_notes(found: "BatchSure", style: "HouseStyle") -> tuple[str, ...]:
    """What the chances rest on."""
    assumed = [ref for ref, one in found.known.items() if one.assumed]
    notes = [
        "note: a chance is that of the plan as it stands: water as computed, without a gauge of the vat before it",
    ]
    if assumed:
        notes.append(
            f"note: of {counted(len(assumed), 'cask')} the last gauge has no ±; it is taken as good to"
            f" {style.shown(0.5, 1)} % of volume and {style.shown(0.15, 2)} % vol (one standard deviation)"
        )
    without = sum(not one.has_rate and bool(one.years) for one in found.known.values())
    if without:
        notes.append(
            f"note: of {counted(without, 'cask')} no rate of evaporation is known: the air took from nothing to twice"
            " the usual"
        )
    if found.sure.exact:
        notes.append(f"note: taken as exact: {', '.join(found.sure.exact)}")
    return tuple(notes)
