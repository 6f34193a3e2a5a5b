"""Spirit being reduced in steps, shown: what was planned, beside what was done, and what is next."""

from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.times import written
from pourbook.words.figure_words import in_litres, strength_shown

if TYPE_CHECKING:
    from pourbook.actions.reducing import Reduced
    from pourbook.house_style import HouseStyle
    from pourbook.liquid import Liquid
    from pourbook.queries.trials.reducing import Reducing, StepAhead, StepDone

__all__ = ["reduced_shown", "reducing_document", "reducing_shown", "reducing_words"]


def reduced_shown(answer: "Reduced", style: "HouseStyle") -> Shown:
    """A plan that was kept, or water that went in: how the reduction stands."""
    shown = reducing_shown(answer.reducing, style)
    return recorded_shown(answer.recorded, shown.document, shown.said, style)


def reducing_shown(found: "Reducing", style: "HouseStyle") -> Shown:
    """How a reduction stands."""
    view, mark = found.view, style.mark
    name = hyphened(view.id)
    if view.holding.mass_mg:
        held = f"{in_litres(view.volume_ml_20c, mark)} at {strength_shown(view.strength_20c, mark)} % vol"
        said = [f"{name} is {held}", *reducing_words(found, style)]
    else:
        said = [f"{name} is empty"]
    held_now = {"volume_ml_20c": view.volume_ml_20c, "strength_20c": view.strength_20c}
    return Shown({"id": view.id, **held_now, "reduction": reducing_document(found)}, tuple(said))


def reducing_words(found: "Reducing", style: "HouseStyle") -> tuple[str, ...]:
    """Steps planned beside those done, and the next one."""
    if not found.planned and not found.done:
        return ("no target strength is set: pourbook reduce BATCH --to STRENGTH",)
    return (*_steps(found, style), _next(found, style))


def _steps(found: "Reducing", style: "HouseStyle") -> tuple[str, ...]:
    rows = [(step, [one for one in found.done if found.step_of(one) == step]) for step in found.planned]
    others = [one for one in found.done if found.step_of(one) is None]
    lines: list[tuple[StepAhead | None, StepDone | None]] = [
        (step if not number else None, one) for step, done in rows for number, one in enumerate(done or (None,))
    ]
    lines += [(None, one) for one in others]
    return listed(
        lines,
        ("step to % vol", lambda line: strength_shown(line[0].to_percent, style.mark) if line[0] else ""),
        (" kg planned", lambda line: _kg(line[0].water, style) if line[0] else ""),
        (" kg added", lambda line: _kg(line[1].water, style) if line[1] else ""),
        (" % vol before", lambda line: strength_shown(line[1].before_percent, style.mark) if line[1] else ""),
        (" expected", lambda line: strength_shown(line[1].expected_percent, style.mark) if line[1] else ""),
        (" after", lambda line: strength_shown(line[1].after_percent, style.mark) if line[1] else ""),
        ("", lambda line: ("by the book" if line[1].gauged_us is None else "gauged") if line[1] else ""),
        ("when", lambda line: style.time_shown(line[1].happened_us) if line[1] else ""),
        ("water", lambda line: str(line[1].facts.get("about", "")) if line[1] else ""),
    )


def _next(found: "Reducing", style: "HouseStyle") -> str:
    if back := found.spirit_back:
        strengths = found.view.strength_20c, found.target_percent, strength_20c(found.first)
        now, target, first = (strength_shown(one, style.mark) for one in strengths)
        return (
            f"OVERSHOT: it is {now} % vol, below {target} % vol; {in_litres(volume_ml(back), style.mark)} of spirit of"
            f" {first} % vol, as it was before the first water, would bring it back"
            f" (of another strength: pourbook vatting --to {target} …)"
        )
    if not found.ahead:
        return "nothing more to add"
    step, until = found.ahead[0], found.rests_until_us
    rest = f", not before {style.time_shown(until)}" if until is not None and found.rest_days else ""
    unsure = "; gauge it first" if found.done and found.done[-1].gauged_us is None else ""
    litres = in_litres(volume_ml(step.water), style.mark)
    strength = strength_shown(step.to_percent, style.mark)
    return f"next: {_kg(step.water, style)} kg ({litres}) of water to {strength} % vol{rest}{unsure}"


def _kg(water: "Liquid", style: "HouseStyle") -> str:
    return style.shown(water.mass_mg / 1e6, 2)


def reducing_document(found: "Reducing") -> dict[str, Any]:
    """Steps planned, done and ahead."""

    def ahead(step: "StepAhead") -> dict[str, Any]:
        return {"to_percent": step.to_percent, "water_mg": step.water.mass_mg}

    return {
        "planned": list(map(ahead, found.planned)),
        "done": [
            {
                "entry": one.entry,
                "happened": written(one.happened_us),
                "water_mg": one.water.mass_mg,
                "before_percent": one.before_percent,
                "expected_percent": one.expected_percent,
                "after_percent": one.after_percent,
                "gauged": None if one.gauged_us is None else written(one.gauged_us),
                "about": one.facts.get("about"),
            }
            for one in found.done
        ],
        "ahead": list(map(ahead, found.ahead)),
        "spirit_back_mg": found.spirit_back.mass_mg if found.spirit_back else None,
        "rests_until": None if found.rests_until_us is None else written(found.rests_until_us),
    }
