"""A new plan for a batch that is being poured, shown: what is still to be taken, and what the batch will be."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.plans import proof_words
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.planning.plan import OutOfTime, Plan
from pourbook.queries.items.called import at_sight
from pourbook.words.figure_words import percent, strength_shown

if TYPE_CHECKING:
    from pourbook.actions.vats import ScaledUp
    from pourbook.house_style import HouseStyle
    from pourbook.queries.plans.again import PlannedAgain

__all__ = ["new_plan_document", "new_plan_words", "replanned_shown"]


def replanned_shown(answer: "PlannedAgain", style: "HouseStyle", kept: "ScaledUp | None" = None) -> Shown:
    """A new plan; once it is kept, what was recorded and what to do next."""
    name = hyphened(answer.batch)
    said = tuple(new_plan_words(answer, style))
    document = {"id": answer.batch, **new_plan_document(answer)}
    if kept is None:
        keep = (f"to keep it: pourbook replan {name} --record",) if answer.planned.taken else ()
        return Shown(document, said, notes=keep)
    shown = recorded_shown(kept.recorded, document, said, style)
    return shown._replace(notes=(*shown.notes, f"print it: pourbook sheet {name}; pour on: pourbook pour {name}"))


def new_plan_words(answer: "PlannedAgain", style: "HouseStyle") -> Iterator[str]:
    """The new plan in lines, or why there is none."""
    found = answer.planned.found
    if not isinstance(found, Plan):
        time = "in this time, " if isinstance(found, OutOfTime) else ""
        yield f"no new plan: {time}no choice of the casks still closed keeps all that was asked of the first plan"
        return
    which = "the casks of the plan before" if answer.of_the_first else "all casks that qualify"
    yield f"new plan, from {which}; what was poured stays"
    yield from listed(
        answer.planned.taken,
        ("cask", lambda one: at_sight(one.candidate.cask.ref, one.candidate.called)),
        ("place", lambda one: one.candidate.cask.place),
        (" take l at 20 °C", lambda one: style.shown(one.volume_l, 2)),
        (" left l", lambda one: "all of it" if one.whole else style.shown(one.left_l, 2)),
        ("for", lambda one: one.candidate.cask.component),
    )
    if answer.left:
        yield f"leave closed: {', '.join(map(hyphened, answer.left))}"
    parts = ", ".join(f"{name} {percent(part, style.mark)} %" for name, part in found.fractions.items())
    strength = strength_shown(answer.planned.recipe.recipe.target.strength_vol, style.mark)
    litres, water = style.shown(found.volume_l, 1), style.shown(found.water_l, 1)
    yield f"it will be {litres} l at {strength} % vol after losses, with {water} l of water in all; parts: {parts}"
    yield f"objective {proof_words(found, style)}"


def new_plan_document(answer: "PlannedAgain") -> dict[str, Any]:
    """The new plan for programs; without one, `volume_l` and what follows it are null."""
    found = answer.planned.found
    plan = found if isinstance(found, Plan) else None
    return {
        "poured": [
            {"source": one.source, "component": one.component, "volume_l_20c": one.volume_ml / 1000}
            for one in answer.poured
        ],
        "casks": [
            {
                "id": one.candidate.cask.ref, "component": one.candidate.cask.component,
                "place": one.candidate.cask.place, "volume_l_20c": one.volume_l, "whole": one.whole,
                "left_l_20c": one.left_l,
            }
            for one in answer.planned.taken
        ],
        "of_the_plan_before": answer.of_the_first,
        "left_closed": list(answer.left),
        "fractions": dict(plan.fractions) if plan else {},
        **{name: getattr(plan, name) if plan else None for name in ("volume_l", "water_l", "objective", "bound")},
    }  # fmt: skip
