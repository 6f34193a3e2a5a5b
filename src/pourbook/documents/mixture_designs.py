"""Regions of blends and designs of trials, as doors show them."""

from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import Shown, table
from pourbook.mixtures.regions import centroid, face_centroids, reached, vertices
from pourbook.mixtures.terms import term_names
from pourbook.numerals import counted
from pourbook.words.figure_words import percent

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pourbook.house_style import HouseStyle
    from pourbook.mixtures.designs import Design, Request
    from pourbook.mixtures.regions import Blend, Region

__all__ = ["design_shown", "vertices_shown"]

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
    return Shown(design_document(region, asked, found), (*table(heads, rows), *_taught(region, asked, found, style)))


def design_document(region: "Region", asked: "Request", found: "Design") -> dict[str, Any]:
    """A design; fractions by component, in the order of its components."""
    names = region.components
    merit = (
        dict(found.merit._asdict())
        if found.merit
        else dict.fromkeys(("d", "d_efficiency", "g_efficiency", "mean_variance"))
    )
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
