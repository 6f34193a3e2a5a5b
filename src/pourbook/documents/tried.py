"""What was tried, as doors show it: blends side by side, the family of a trial, what is near a blend."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.items import blend_document, blend_words, bounds_document, out_of_bounds
from pourbook.documents.shown import Shown, listed, table
from pourbook.queries.items.called import at_sight
from pourbook.queries.trials.opinions import set_apart
from pourbook.words.figure_words import age_words, named, percent, strength_shown, strength_words
from pourbook.words.tried_words import (
    MOST_CHANGES,
    UNSAID,
    best_words,
    changes_words,
    made_words,
    mean_words,
    part_words,
    signed,
)

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from pourbook.bench.trials import Difference
    from pourbook.house_style import HouseStyle
    from pourbook.queries.traces.made_of import Composition, Grouping
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.trials.comparison import Comparison
    from pourbook.queries.trials.family import Family, Member
    from pourbook.queries.trials.near import Near
    from pourbook.queries.trials.opinions import Best, Opinion

__all__ = ["compared_shown", "compared_table", "family_shown", "near_shown"]


def compared_shown(found: "Comparison", style: "HouseStyle", csv: str = "") -> Shown:
    """Blends side by side; of two, with the change. `csv` is the file that the same was written to."""
    mark, pair = style.mark, found.differences if len(found.blends) == 2 else ()
    change = {one.component: one.change for one in pair}
    components, rows = [], []
    for part in found.parts:
        fractions = [one.get(part, 0.0) for one in found.compositions]
        ends = {"first": fractions[0], "second": fractions[1], "change": change[part]} if pair else {}
        components.append({**_part_document(part, found.by.group_by), "fractions": fractions, **ends})
        shares = (percent(fraction, mark) for fraction in fractions)
        rows.append((*_part_cells(part, found), *shares, *([signed(change[part], mark)] if pair else ())))
    ids = [blend.item.id for blend in found.blends]
    said, warnings = [], list[str]()
    for blend, opinion, bounds in zip(found.blends, found.opinions, found.bounds, strict=True):
        view = blend.item
        strength = f"{strength_words(view.strength_20c, mark, blend.pending)}, " if view.holding.mass_mg else ""
        figures = f"{strength}{blend_words(blend, style)}{_opinion_words(opinion, style)}"
        said.append(f"{at_sight(view.id, found.called[view.id])}: {figures}")
        warnings += out_of_bounds(bounds, mark, found.called, f"{hyphened(view.id)}: ")
    heads = (found.by.group_by, "", *(f" {hyphened(one)} %" for one in ids), *([" change"] if pair else ()))
    document = {
        "items": ids,
        **found.by._asdict(),
        **({"first": ids[0], "second": ids[1]} if pair else {}),
        "components": components,
        "summaries": [
            _summary(blend, style) | _opinion_document(opinion) | {"bounds": bounds_document(bounds)}
            for blend, opinion, bounds in zip(found.blends, found.opinions, found.bounds, strict=True)
        ],
        "best": _best_document(found.best, found.by_id, found.by.group_by),
        **({"csv": csv} if csv else {}),
    }
    notes = (f"written to {csv}",) if csv else ()
    best = best_words(found.best, found.by_id, found.called, mark)
    return Shown(document, (*table(heads, rows), "", *said, *_apart(best)), notes, tuple(warnings))


def _apart(lines: "Iterable[str]") -> tuple[str, ...]:
    """Lines parted from those above them."""
    said = tuple(lines)
    return ("", *said) if said else ()


def _summary(blend: "Trace", style: "HouseStyle") -> dict[str, Any]:
    return {
        "id": blend.item.id,
        "strength_20c": blend.held_strength,
        **blend_document(blend, style),
        "pending": list(blend.pending),
        "previous": [{"id": cask, "previous": previous} for cask, previous in blend.previous],
    }


def compared_table(found: "Comparison", style: "HouseStyle") -> "tuple[Sequence[str], Sequence[Sequence[Any]]]":
    """The same for a spreadsheet, a row for each blend; a column for each part holds its fraction."""
    heads = ("id", "ref", "name", "strength_20c", "cost_per_litre", "currency", "youngest_days")
    thought = [f"{of}{what}" for of in ("score", "liking") for what in ("", "_error", "_tasters")]
    parts = [part or UNSAID for part in found.parts]
    rows = []
    for blend, opinion, composition in zip(found.blends, found.opinions, found.compositions, strict=True):
        view, summary = blend.item, _summary(blend, style)
        known = (view.id, view.ref, view.facts.get("name", ""), *(summary[name] for name in heads[3:]))
        means = (figure for mean in (opinion.score, opinion.liking) for figure in (mean[:3] if mean else (None,) * 3))
        rows.append((*known, *means, *(composition.get(part, 0.0) for part in found.parts)))
    return (*heads, *thought, *parts), rows


def family_shown(found: "Family", style: "HouseStyle", paper: str = "") -> Shown:
    """A family as a tree: a line for each, what was revised from it below and further in. `paper` is its sheet."""
    said = listed(
        found.members,
        ("trial", lambda one: _in_tree(one, found)),
        (" % vol", lambda one: strength_shown(one.blend.held_strength, style.mark) if one.blend else ""),
        (f" {style.settings['currency']}/l", lambda one: _cost(one.blend, style)),
        ("youngest", lambda one: (one.blend and age_words(style.zone, one.blend)) or ""),
        (" score", lambda one: mean_words(one.opinion.score, style.mark)),
        (" liking", lambda one: mean_words(one.opinion.liking, style.mark)),
    )
    under = [
        (changes_words(one.changes, found.called, style.mark), one.opinion.words, made_words(one, found.called))
        for one in found.members
    ]
    said = _with_lines(said, under, [2 * one.depth for one in found.members])
    document: dict[str, Any] = {
        "id": found.asked,
        "revised_from": list(found.revised_from),
        "revisions": list(found.revisions),
        **found.by._asdict(),
        "family": [_member_document(one, found, style) for one in found.members],
        "best": _best_document(found.best, found.compositions, found.by.group_by),
    }
    best = best_words(found.best, found.compositions, found.called, style.mark)
    document |= {"paper": paper} if paper else {}
    return Shown(document, (*said, *_apart(best)), (f"written to {paper}",) if paper else ())


def _with_lines(
    rows: "Sequence[str]", under: "Sequence[tuple[str, ...]]", indents: "Sequence[int]"
) -> tuple[str, ...]:  # fmt: skip
    """Rows of a table below their head, each with what is said of it on lines of its own."""
    said = [rows[0]]
    for row, lines, indent in zip(rows[1:], under, indents, strict=True):
        said += [row, *(f"{' ' * indent}    {line}" for line in lines if line)]
    return tuple(said)


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
        "composition": _composition_document(one.composition, found.by.group_by),
        "changes": _changes_document(one.changes, found.by.group_by, "before", "after"),
        "strength_20c": blend.held_strength if blend else None,
        **(blend_document(blend, style) if blend else unknown),
        **_opinion_document(one.opinion),
        "batches": list(one.batches),
    }


def near_shown(found: "Near", style: "HouseStyle") -> Shown:
    """What was tried near a blend, the nearest first: how far, and where it differs."""
    wanted = found.wanted
    said = listed(
        found.glasses,
        (" apart", lambda one: f"{percent(one.distance, style.mark)} %"),
        ("tried", lambda one: at_sight(one.id, found.called[one.id])),
        (" % vol", lambda one: strength_shown(one.blend.held_strength, style.mark)),
        (" score", lambda one: mean_words(one.opinion.score, style.mark)),
        (" liking", lambda one: mean_words(one.opinion.liking, style.mark)),
    )
    apart = [one.differences[:MOST_CHANGES] for one in found.glasses]
    under = [
        (changes_words(parts, found.called, style.mark), one.opinion.words)
        for parts, one in zip(apart, found.glasses, strict=True)
    ]
    said = _with_lines(said, under, [len(" apart  ")] * len(under))
    of = at_sight(found.asked, found.called[found.asked]) if found.asked else "what is wanted"
    parts = found.composition.items()
    made_of = ", ".join(f"{percent(part, style.mark)} % {part_words(name, found.called)}" for name, part in parts)
    note = "apart is the part that would have to be replaced: half the sum of all differences, by volume as poured"
    document = {
        "id": found.asked or None,
        **wanted.by._asdict(),
        "composition": _composition_document(found.composition, wanted.by.group_by),
        "near": [
            {
                "id": one.id,
                "distance": one.distance,
                "differences": _changes_document(one.differences, wanted.by.group_by, "wanted", "tried"),
                "strength_20c": one.blend.held_strength,
                **blend_document(one.blend, style),
                **_opinion_document(one.opinion),
            }
            for one in found.glasses
        ],
    }
    if not found.glasses:
        return Shown(document, (f"{of}: {made_of}", "nothing else was tried"))
    return Shown(document, (f"{of}: {made_of}", "", *said), (f"note: {note}",))


# -- opinions ----------------------------------------------------------------------------


def _opinion_document(opinion: "Opinion") -> dict[str, Any]:
    means = {"score": opinion.score, "liking": opinion.liking}
    return {**{name: mean and mean._asdict() for name, mean in means.items()}, "note": opinion.words or None}


def _opinion_words(opinion: "Opinion", style: "HouseStyle") -> str:
    means = (("score", opinion.score), ("liking", opinion.liking))
    said = [f"{name} {mean_words(mean, style.mark)}" for name, mean in means if mean]
    return "".join(f", {one}" for one in said) + (f": {opinion.words}" if opinion.words else "")


def _best_document(
    best: "Best | None", made_of: "Mapping[str, Composition]", group_by: "Grouping"
) -> dict[str, Any] | None:
    if best is None:
        return None
    others = [
        {**other._asdict(), "stands": other.stands, "differences": _changes_document(apart, group_by, "other", "best")}
        for other, apart in zip(best.others, set_apart(best, made_of), strict=True)
    ]
    return {"id": best.name, "by": best.by, **best.mean._asdict(), "others": others}


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
    if found.by.group_by == "cask":
        return named(part), found.called.get(part, "")
    return part or UNSAID, ""


def _cost(blend: "Trace | None", style: "HouseStyle") -> str:
    cost = blend.cost_per_litre if blend else None
    return "" if cost is None else style.shown(cost, 2)
