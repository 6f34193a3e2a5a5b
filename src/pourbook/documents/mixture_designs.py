"""Regions of blends and designs of trials, as doors show them."""

from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from pourbook.bench.flights import changes, most_first, pouring_order
from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, recorded_shown, table
from pourbook.mixtures.designs import Design, Merit
from pourbook.mixtures.regions import centroid, face_centroids, reached, vertices
from pourbook.mixtures.terms import term_names
from pourbook.numerals import counted
from pourbook.uncertainty.propagation import COVERAGE_FACTOR
from pourbook.words.figure_words import named, percent

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pourbook.actions.composing_flight import FlightComposed
    from pourbook.house_style import HouseStyle
    from pourbook.mixtures.designs import Request
    from pourbook.mixtures.regions import Blend, Region
    from pourbook.queries.trials.flight_plan import FlightAsked, FlightPlan, FlightVial

__all__ = ["design_shown", "flight_composed_shown", "flight_shown", "vertices_shown"]

_MEANS = {"D": "the coefficients are to be sure", "I": "predictions are to be sure, on average within the bounds"}


def vertices_shown(region: "Region", style: "HouseStyle", *, centroids: bool = False) -> Shown:
    """The corners of a region, with what each component reaches, and centroids if they are asked for."""
    names, corners, ends = region.components, vertices(region), reached(region)
    document = {"components": list(names), "vertices": _by_name(names, corners)}
    document["reached"] = {
        name: {"low": float(low), "high": float(high)} for name, (low, high) in zip(names, ends, strict=True)
    }
    rows = [("vertex", *_in_percent(blend, style)) for blend in corners]
    if centroids:
        edges, middle = set(face_centroids(region, [1])), centroid(corners)
        faces = {*face_centroids(region, range(2, len(names)))}
        found = {"edge": sorted(edges - {middle}), "face": sorted(faces - edges - {middle}), "overall": [middle]}
        document["centroids"] = {of: _by_name(names, blends) for of, blends in found.items()}
        rows += [(f"centroid, {of}", *_in_percent(blend, style)) for of, blends in found.items() for blend in blends]
    tighter = [
        f"{name} reaches {' to '.join(percent(float(end), style.mark) for end in (low, high))} %, not all of its bounds"
        for name, (low, high), bounds in zip(names, ends, region.bounds, strict=True)
        if (low, high) != bounds
    ]
    said = (
        *table(("", *(f" {name} %" for name in names)), rows),
        counted(len(corners), "vertex", "vertices"),
        *tighter,
    )
    return Shown(document, said)


def design_shown(region: "Region", asked: "Request", found: "Design", style: "HouseStyle") -> Shown:
    """Glasses to pour, and what they teach."""
    rows = [
        (str(number), *_in_percent(blend, style), str(day) if max(found.blocks) > 1 else "")
        for number, (blend, day) in enumerate(zip(found.glasses, found.blocks, strict=True), 1)
    ]
    heads = (" glass", *(f" {name} %" for name in region.components), " day")
    return Shown(_design_document(region, asked, found), (*table(heads, rows), *_taught(region, asked, found, style)))


def _design_document(region: "Region", asked: "Request", found: "Design") -> dict[str, Any]:
    """A design; fractions by component, in the order of its components."""
    names = region.components
    merit = found.merit._asdict() if found.merit else dict.fromkeys(Merit._fields)
    return {
        "components": list(names),
        "model": asked.model,
        "terms": list(term_names(names, asked.model)),
        "criterion": asked.criterion,
        "glasses": _by_name(names, found.glasses),
        "days": list(found.blocks),
        "tried": _by_name(names, asked.tried),
        **merit,
    }


def _taught(region: "Region", asked: "Request", found: "Design", style: "HouseStyle") -> list[str]:
    """What the glasses teach, and what they cannot."""
    p = len(term_names(region.components, asked.model))
    blends = (*found.glasses, *asked.tried)
    told = f"{counted(len(blends), 'glass', 'glasses')}{' with those tried' if asked.tried else ''}"
    if found.merit is None:
        return [f"{told} cannot tell the {p} terms of a {asked.model} model"]
    levels, days = len(set(blends)), len(set(found.blocks)) - 1
    left = levels - p - days
    said = [
        f"{told} for the {p} terms of a {asked.model} model; {_MEANS[asked.criterion]}",
        f"D-efficiency {style.shown(100 * found.merit.d_efficiency, 1)} %, beside the best design of any size",
        f"a prediction is as sure as the mean of {style.shown(1 / found.merit.mean_variance, 1)} tastings, on average",
    ]
    if left <= 0:
        said.append("no blend is left to show where the model is wrong: give more glasses")
    if len(blends) == levels:
        said.append("no blend stands twice, so how much tastings of one blend differ is not learnt: --repeats N")
    return said


def _by_name(names: "Sequence[str]", blends: "Iterable[Blend]") -> list[dict[str, float]]:
    return [dict(zip(names, map(float, blend), strict=True)) for blend in blends]


def _in_percent(blend: "Blend", style: "HouseStyle") -> tuple[str, ...]:
    return tuple(percent(float(part), style.mark) for part in blend)


# -- to be poured ------------------------------------------------------------------------


def flight_shown(asked: "FlightAsked", plan: "FlightPlan", style: "HouseStyle", trials: "Sequence[str]" = ()) -> Shown:
    """A design as glasses to pour from what the book holds, and the trials that they became, if they did."""
    glasses, names = plan.flight.glasses, plan.flight.components
    columns = [("trial", [hyphened(trial) for trial in trials])] if trials else []
    columns += [
        (f" {name} ml", [style.shown(glass.volumes_ml[names.index(name)], 2) for glass in glasses])
        for name in most_first(plan.flight)
    ]
    columns += [(" moved %", [percent(float(glass.moved), style.mark) for glass in glasses])]
    columns += [(" day", [str(glass.day) for glass in glasses])] if glasses[-1].day > 1 else []
    rows = zip(map(str, range(1, len(glasses) + 1)), *(cells for _, cells in columns), strict=True)
    vial_heads = ("from", "", "", " needs ml", " leaves ml", " smallest ml", " ±", " honest from ml")
    poured = Design(tuple(glass.parts for glass in glasses), asked.design.blocks, plan.merit)
    said = (
        *table((" glass", *(head for head, _ in columns)), rows),
        *table(vial_heads, [_vial_row(vial, plan, style) for vial in plan.vials]),
        *_poured_so(plan, style),
        *_taught(asked.region, asked.request, poured, style),
    )
    document = _design_document(asked.region, asked.request, asked.design) | {"flight": _flight_document(plan, trials)}
    return Shown(document, said, warnings=tuple(_not_honest(plan, style)))


def flight_composed_shown(asked: "FlightAsked", composed: "FlightComposed", style: "HouseStyle") -> Shown:
    """A design whose glasses became trials."""
    trials = [trial.id for trial in composed.trials]
    shown = flight_shown(asked, composed.plan, style, trials)
    recorded = recorded_shown(composed.recorded, shown.document, shown.said, style)
    sheets = f"print what to pour: pourbook sheet {hyphened(trials[0])} -o bench.pdf, and so on"
    return recorded._replace(notes=(*recorded.notes, sheets)).warned(*shown.warnings)


def _vial_row(vial: "FlightVial", plan: "FlightPlan", style: "HouseStyle") -> tuple[str, ...]:
    left = "" if vial.left_ml is None else style.shown(vial.left_ml, 1)
    row = (vial.component, named(vial.item), plan.called.get(vial.item, ""), style.shown(vial.needed_ml, 1), left)
    if vial.smallest is None:
        return (*row, "", "", "")
    least = "–" if vial.least_ml is None else style.shown(vial.least_ml, 2)
    return (*row, style.shown(vial.smallest.value, 2), style.shown(COVERAGE_FACTOR * vial.smallest.standard, 2), least)


def _poured_so(plan: "FlightPlan", style: "HouseStyle") -> list[str]:
    """How to pour, and what rounding does."""
    in_order, by_glass = changes(plan.flight)
    moved = max(glass.moved for glass in plan.flight.glasses)
    mark = style.shown(plan.flight.mark_ml, 2)
    return [
        f"pour column by column: the pipette changes {counted(in_order, 'time')}, glass by glass {by_glass}",
        f"rounding to {mark} ml moves no part by more than {percent(float(moved), style.mark)} %"
        if moved
        else f"no part is moved by rounding to {mark} ml",
    ]


def _not_honest(plan: "FlightPlan", style: "HouseStyle") -> "Iterable[str]":
    """Portions too small for their instrument, and glasses that rounding moves out of their bounds."""
    for number, glass in enumerate(plan.flight.glasses, 1):
        if not glass.is_whole:
            yield f"warning: rounded, glass {number} lacks a component; take a larger total, or read to a finer mark"
        elif not glass.within:
            yield f"warning: rounded, glass {number} leaves its bounds; take a larger total, or read to a finer mark"
    for vial in plan.vials:
        if vial.is_honest or vial.smallest is None:
            continue
        told = f"{style.shown(vial.smallest.value, 2)} ml of {vial.component} is not honest by {vial.instrument}"
        if vial.least_ml is None:
            yield f"warning: {told}; take another instrument"
            continue
        total = style.shown(float(plan.flight.total_ml) * vial.least_ml / vial.smallest.value, 0)
        least = style.shown(vial.least_ml, 2)
        yield f"warning: {told}, but from {least} ml on; take a total of {total} ml, or a finer instrument"


def _flight_document(plan: "FlightPlan", trials: "Sequence[str]") -> dict[str, Any]:
    flight = plan.flight
    in_order, by_glass = changes(flight)
    return {
        "total_ml": float(flight.total_ml),
        "mark_ml": float(flight.mark_ml),
        "glasses": [
            {
                "glass": number,
                "trial": trial,
                "day": glass.day,
                "volumes_ml": dict(zip(flight.components, map(float, glass.volumes_ml), strict=True)),
                "parts": dict(zip(flight.components, map(float, glass.parts), strict=True)),
                "moved": float(glass.moved),
                "within_bounds": glass.within,
            }
            for number, (glass, trial) in enumerate(zip_longest(flight.glasses, trials), 1)
        ],
        "vials": [
            {
                "component": vial.component,
                "item": vial.item,
                "needed_ml": vial.needed_ml,
                "left_ml": vial.left_ml,
                "smallest_ml": vial.smallest.value if vial.smallest else None,
                "expanded_uncertainty_ml": COVERAGE_FACTOR * vial.smallest.standard if vial.smallest else None,
                "honest_from_ml": vial.least_ml,
            }
            for vial in plan.vials
        ],
        "order": [
            {
                "day": pouring.day,
                "component": pouring.component,
                "pours": [
                    {"glass": number, "volume_ml": float(ml)}
                    for number, ml in zip(pouring.glasses, pouring.volumes_ml, strict=True)
                ],
            }
            for pouring in pouring_order(flight)
        ],
        "changes": in_order,
        "changes_glass_by_glass": by_glass,
        "d_efficiency": plan.merit.d_efficiency if plan.merit else None,
    }
