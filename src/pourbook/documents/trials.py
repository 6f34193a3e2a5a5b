"""Recipes and trials, as doors show them: written, composed, listed."""

from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.mixing import contraction_ml, mix
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened, plain
from pourbook.documents.items import blend_document
from pourbook.documents.shown import Listing, Shown, listed, recorded_shown, stop_words, table
from pourbook.documents.tastings import note_document
from pourbook.numerals import counted
from pourbook.words.figure_words import (
    age_words,
    hidden_document,
    hidden_words,
    in_litres,
    named,
    percent,
    strength_shown,
    strength_words,
)
from pourbook.words.tasting_words import found_words
from pourbook.words.tried_words import mean_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from fractions import Fraction

    from pourbook.actions.composing import Composed, RecipeWritten
    from pourbook.book.entries import RecipePart
    from pourbook.house_style import HouseStyle
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.trials.trial_list import TrialLine
    from pourbook.queries.trials.trial_plan import RecipeCard

__all__ = ["composed_shown", "recipe_shown", "recipe_written_shown", "recipes_shown", "trials_shown"]


def recipe_written_shown(answer: "RecipeWritten", style: "HouseStyle") -> Shown:
    """A recipe that was written."""
    name, parts, _, by = answer.recipe
    said = (f"recipe {name}: {counted(len(parts), 'component')}{' by pure alcohol' if by else ''}",)
    return recorded_shown(answer.recorded, {"recipe": name}, said, style)


def recipe_shown(card: "RecipeCard", style: "HouseStyle") -> Shown:
    """A recipe in parts and per cent, by volume and by pure alcohol where both are known."""
    recipe = card.recipe

    def shares(of: str) -> dict[str, float | None]:
        return {"volume": _share(card.volumes, of), "pure_alcohol": _share(card.alcohol, of)}

    parts = [
        {**{name: value for name, value in part._asdict().items() if value}, "shares": shares(part.component)}
        for part in recipe.parts
    ]
    document = {"entry": card.entry, "name": plain(recipe.name), "parts": parts}
    document |= {"revised_from": recipe.revised_from} if recipe.revised_from else {}
    document |= {"by": recipe.by} if recipe.by else {}
    rows = [
        (
            named(part.component),
            card.called.get(part.component, ""),
            part.stands_for,
            part.parts,
            *("" if one is None else percent(one, style.mark) for one in shares(part.component).values()),
            part.role,
            part.bounds,
            _kept(part, recipe.parts),
        )
        for part in recipe.parts
    ]
    heads = ("component", "", "for", " parts", " % by volume", " % of alcohol", "role", "bounds", "kept")
    return Shown(document, table(heads, rows))


def _kept(part: "RecipePart", parts: "Sequence[RecipePart]") -> str:
    """What of a part is kept while others change."""
    beside = [one for one in parts if part.ratio and one.ratio == part.ratio and one != part]
    said = ["fixed"] if part.fixed else []
    return ", ".join((*said, *(f"{part.parts}:{one.parts} to {named(one.component)}" for one in beside)))


def _share(of: "Mapping[str, Fraction]", component: str) -> float | None:
    return float(of[component]) if component in of else None


def recipes_shown(cards: "Sequence[RecipeCard]", style: "HouseStyle") -> Shown:
    """Every recipe, a line each."""

    def parts(card: "RecipeCard") -> str:
        shares = ((percent(float(share), style.mark), one) for one, share in card.fractions.items())
        return ", ".join(f"{per_cent} {card.called.get(one) or named(one)}" for per_cent, one in shares)

    said = listed(
        cards,
        ("recipe", lambda card: card.recipe.name),
        ("revised from", lambda card: card.recipe.revised_from),
        ("%", lambda card: f"{parts(card)}{', of pure alcohol' if card.recipe.by else ''}"),
    )
    return Shown({"recipes": [recipe_shown(card, style).document for card in cards]}, said)


def trials_shown(lines: "Iterable[TrialLine]", style: "HouseStyle") -> Listing:
    """Every trial, a line each, with strength, age, cost and the latest notes."""

    def document(line: "TrialLine") -> dict[str, Any]:
        return {
            "id": line.view.id,
            "ref": line.view.ref or None,
            "name": line.view.facts.get("name"),
            "follows": plain(line.view.facts.get("follows", "")) or None,
            "strength_20c": strength_20c(line.blend.held) if line.blend else None,
            **(blend_document(line.blend, style) if line.blend else {}),
            "note": line.note or None,
            "tasted": line.tasted and note_document(line.tasted),
            "score": line.opinion.score and line.opinion.score._asdict(),
            "liking": line.opinion.liking and line.opinion.liking._asdict(),
        }

    columns = (
        ("trial", lambda line: hyphened(line.view.id)),
        ("ref", lambda line: line.view.ref),
        ("name", lambda line: line.view.facts.get("name", "")),
        (" % vol", lambda line: strength_shown(strength_20c(line.blend.held), style.mark) if line.blend else ""),
        (f" {style.settings['currency']}/l", lambda line: _cost(line.blend, style)),
        ("youngest", lambda line: (line.blend and age_words(style.zone, line.blend)) or ""),
        (" score", lambda line: mean_words(line.opinion.score, style.mark)),
        ("note", lambda line: line.note),
        ("tasted", lambda line: found_words(line.tasted, style.mark) if line.tasted else ""),
    )
    return Listing("trials", lines, document, columns)


def _cost(blend: "Trace | None", style: "HouseStyle") -> str:
    cost = blend.cost_per_litre if blend else None
    return "" if cost is None else style.shown(cost, 2)


def composed_shown(answer: "Composed", style: "HouseStyle") -> Shown:
    """A trial that was composed: what to pour, and what it will be."""
    mark, parts = style.mark, [pour.liquid for pour in answer.plan]
    whole, contraction = mix(parts), contraction_ml(parts)
    will_be = {
        "strength_20c": strength_20c(whole),
        "volume_ml_20c": volume_ml(whole),
        "contraction_ml": contraction,
        "mass_mg": whole.mass_mg,
        **hidden_document(whole),
    }
    plan, rows, running_ml, running_g = [], [], 0.0, 0.0
    for component, fraction, pour_ml, liquid, left_ml, bounds_ml in answer.plan:
        figures = {"volume_ml_20c": pour_ml, "mass_mg": liquid.mass_mg, "left_ml": left_ml, "bounds_ml": bounds_ml}
        plan.append({"component": component, "fraction": float(fraction), **figures})
        running_ml, running_g = running_ml + pour_ml, running_g + liquid.mass_mg / 1000
        volumes = (style.shown(value, 2) for value in (pour_ml, running_ml, running_g))
        called = answer.called.get(component, "")
        stop = stop_words(bounds_ml, style)
        rows.append((named(component), called, percent(float(fraction), mark), *volumes, stop))
    will = f"will be {in_litres(volume_ml(whole), mark)} at {strength_words(strength_20c(whole), mark, answer.pending)}"
    said = (
        hyphened(answer.id),
        *table(("pour", "", " %", " ml", " cumulative ml", " cumulative g", "stop within ml"), rows),
        f"{will} (contraction {style.shown(contraction, 2)} ml){hidden_words(will_be, mark)}",
    )
    document = {"id": answer.id, "plan": plan, "mix": will_be}
    shown = recorded_shown(answer.recorded, document, said, style)
    if answer.recorded.is_dry_run:
        return shown
    return shown._replace(notes=(*shown.notes, f"print it: pourbook sheet {hyphened(answer.id)} -o bench.pdf"))
