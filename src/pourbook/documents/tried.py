"""What was tried, as doors show it: blends side by side, the family of a trial, what is near a blend."""

from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import strength_20c
from pourbook.codes.identifiers import hyphened
from pourbook.documents.items import blend_document, blend_words, bounds_document, out_of_bounds
from pourbook.documents.shown import Shown, listed, table
from pourbook.queries.items.called import at_sight
from pourbook.queries.trials.family import LEAST_CHANGE
from pourbook.words.figure_words import age_words, named, percent, strength_shown, strength_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pourbook.bench.trials import Difference
    from pourbook.house_style import HouseStyle
    from pourbook.queries.traces.made_of import Composition, Grouping
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.trials.comparison import Comparison
    from pourbook.queries.trials.family import Family, Member
    from pourbook.queries.trials.near import Near

__all__ = ["compared_shown", "compared_table", "family_shown", "near_shown"]

_MOST_CHANGES = 3
_UNSAID = "not recorded"
"""Stands for the wood or spirit of a cask that has none in the book."""


def compared_shown(found: "Comparison", style: "HouseStyle", csv: str = "") -> Shown:
    """Blends side by side; of two, with the change. `csv` is the file that the same was written to."""
    mark, pair = style.mark, found.differences if len(found.blends) == 2 else ()
    change = {one.component: one.change for one in pair}
    components, rows = [], []
    for part in found.parts:
        fractions = [one.get(part, 0.0) for one in found.compositions]
        ends = {"first": fractions[0], "second": fractions[1], "change": change[part]} if pair else {}
        components.append({**_part_document(part, found.group_by), "fractions": fractions, **ends})
        shares = (percent(fraction, mark) for fraction in fractions)
        rows.append((*_part_cells(part, found), *shares, *([_signed(change[part], style)] if pair else ())))
    ids = [blend.item.id for blend in found.blends]
    said, warnings = [], list[str]()
    for blend, bounds in zip(found.blends, found.bounds, strict=True):
        view = blend.item
        strength = f"{strength_words(view.strength_20c, mark, blend.pending)}, " if view.holding.mass_mg else ""
        said.append(f"{at_sight(view.id, found.called[view.id])}: {strength}{blend_words(blend, style)}")
        warnings += out_of_bounds(bounds, mark, found.called, f"{hyphened(view.id)}: ")
    heads = (_HEADS[found.group_by], "", *(f" {hyphened(one)} %" for one in ids), *([" change"] if pair else ()))
    document = {
        "items": ids,
        "group_by": found.group_by,
        **({"first": ids[0], "second": ids[1]} if pair else {}),
        "components": components,
        "summaries": [
            _summary(blend, style) | {"bounds": bounds_document(bounds)}
            for blend, bounds in zip(found.blends, found.bounds, strict=True)
        ],
        **({"csv": csv} if csv else {}),
    }
    notes = (f"written to {csv}",) if csv else ()
    return Shown(document, (*table(heads, rows), "", *said), notes, tuple(warnings))


_HEADS: "dict[Grouping, str]" = {"cask": "cask", "wood": "wood", "spirit": "spirit", "kind": "spirit, wood, before"}


def _summary(blend: "Trace", style: "HouseStyle") -> dict[str, Any]:
    return {
        "id": blend.item.id,
        "strength_20c": strength_20c(blend.held),
        **blend_document(blend, style),
        "pending": list(blend.pending),
        "previous": [{"id": cask, "previous": previous} for cask, previous in blend.previous],
    }


def compared_table(found: "Comparison", style: "HouseStyle") -> "tuple[Sequence[str], Sequence[Sequence[Any]]]":
    """The same for a spreadsheet, a row for each blend; a column for each part holds its fraction."""
    heads = ("id", "ref", "name", "strength_20c", "cost_per_litre", "currency", "youngest_days")
    parts = [part or _UNSAID for part in found.parts]
    rows = []
    for blend, composition in zip(found.blends, found.compositions, strict=True):
        view, summary = blend.item, _summary(blend, style)
        known = (view.id, view.ref, view.facts.get("name", ""), *(summary[name] for name in heads[3:]))
        rows.append((*known, *(composition.get(part, 0.0) for part in found.parts)))
    return (*heads, *parts), rows


def family_shown(found: "Family", style: "HouseStyle") -> Shown:
    """A family as a tree: a line for each, what was revised from it below and further in."""
    said = listed(
        found.members,
        ("trial", lambda one: _in_tree(one, found)),
        (" % vol", lambda one: strength_shown(strength_20c(one.blend.held), style.mark) if one.blend else ""),
        (f" {style.settings['currency']}/l", lambda one: _cost(one.blend, style)),
        ("youngest", lambda one: (one.blend and age_words(style.zone, one.blend)) or ""),
        ("changed", lambda one: _changes(one.changes, found, style)),
        ("note", lambda one: one.words),
    )
    document = {
        "id": found.asked,
        "revised_from": list(found.revised_from),
        "revisions": list(found.revisions),
        "group_by": found.group_by,
        "family": [_member_document(one, found, style) for one in found.members],
    }
    return Shown(document, said)


def _in_tree(one: "Member", found: "Family") -> str:
    called = at_sight(one.name, found.called[one.name]) if one.trial else f"recipe {one.name}"
    planned = " (not poured)" if one.trial and one.is_planned else ""
    return f"{'  ' * one.depth}{called}{planned}{' <- this one' if one.name == found.asked else ''}"


def _member_document(one: "Member", found: "Family", style: "HouseStyle") -> dict[str, Any]:
    blend, unknown = one.blend, {"cost_per_litre": None, "currency": style.settings["currency"], "youngest_days": None}
    return {
        "id": one.name if one.trial else None,
        "recipe": None if one.trial else one.name,
        "parent": one.parent or None,
        "depth": one.depth,
        "planned": one.is_planned,
        "composition": _composition_document(one.composition, found.group_by),
        "changes": _changes_document(one.changes, found.group_by, "before", "after"),
        "strength_20c": strength_20c(blend.held) if blend else None,
        **(blend_document(blend, style) if blend else unknown),
        "note": one.words or None,
    }


def near_shown(found: "Near", style: "HouseStyle") -> Shown:
    """What was tried near a blend, the nearest first: how far, and where it differs."""
    wanted = found.wanted
    said = listed(
        found.glasses,
        (" apart", lambda one: f"{percent(one.distance, style.mark)} %"),
        ("tried", lambda one: at_sight(one.id, found.called[one.id])),
        (" % vol", lambda one: strength_shown(strength_20c(one.blend.held), style.mark)),
        ("differs by", lambda one: _changes(one.differences[:_MOST_CHANGES], found, style)),
    )
    of = at_sight(found.asked, found.called[found.asked]) if found.asked else "what is wanted"
    parts = found.composition.items()
    made_of = ", ".join(f"{percent(part, style.mark)} % {_part_words(name, found)}" for name, part in parts)
    apart = "apart is the part that would have to be replaced: half the sum of all differences, by volume as poured"
    document = {
        "id": found.asked or None,
        "group_by": wanted.group_by,
        "without_water": wanted.without_water,
        "composition": _composition_document(found.composition, wanted.group_by),
        "near": [
            {
                "id": one.id,
                "distance": one.distance,
                "differences": _changes_document(one.differences, wanted.group_by, "wanted", "tried"),
                "strength_20c": strength_20c(one.blend.held),
                **blend_document(one.blend, style),
            }
            for one in found.glasses
        ],
    }
    if not found.glasses:
        return Shown(document, (f"{of}: {made_of}", "nothing else was tried"))
    return Shown(document, (f"{of}: {made_of}", "", *said), (f"note: {apart}",))


# -- parts -------------------------------------------------------------------------------


def _part_document(part: str, group_by: "Grouping") -> dict[str, str]:
    return {"id" if group_by == "cask" else "name": part}


def _composition_document(composition: "Composition", group_by: "Grouping") -> list[dict[str, Any]]:
    return [{**_part_document(part, group_by), "fraction": fraction} for part, fraction in composition.items()]


def _changes_document(
    parts: "Iterable[Difference]", group_by: "Grouping", before: str, after: str
) -> list[dict[str, Any]]:  # fmt: skip
    return [
        {**_part_document(one.component, group_by), before: one.first, after: one.second, "change": one.change}
        for one in parts
    ]


def _part_cells(part: str, found: "Comparison") -> tuple[str, str]:
    """A part of a table: its identifier and what it is called, or its name alone."""
    if found.group_by == "cask":
        return named(part), found.called.get(part, "")
    return part or _UNSAID, ""


def _part_words(part: str, found: "Comparison | Family | Near") -> str:
    """A part in a sentence: what it is called, or else its identifier."""
    return found.called.get(part) or (named(part) if part else _UNSAID)


def _changes(parts: "Iterable[Difference]", found: "Family | Near", style: "HouseStyle") -> str:
    """What is more and what is less, in parts of a hundred."""
    seen = (one for one in parts if abs(one.change) >= LEAST_CHANGE)
    return ", ".join(f"{_signed(one.change, style)} {_part_words(one.component, found)}" for one in seen)


def _signed(change: float, style: "HouseStyle") -> str:
    """A change in per cent, without a sign where it is shown as nothing."""
    written = style.shown(abs(change) * 100, 2)
    return written if not written.strip("0.,") else f"{'-' if change < 0 else '+'}{written}"


def _cost(blend: "Trace | None", style: "HouseStyle") -> str:
    cost = blend.cost_per_litre if blend else None
    return "" if cost is None else style.shown(cost, 2)
