"""What a plan of casks comes to: which to take, whole or in part, what they make, and what is proved of it."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import CAUTION, Shown, aligned, fields, table
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.planning.casks import Cask
    from pourbook.planning.plan import OutOfTime, Plan
    from pourbook.planning.recipe import Recipe

__all__ = ["out_of_time_shown", "plan_document", "plan_shown", "proof_words"]


def plan_document(plan: "Plan") -> dict[str, Any]:
    """A plan for programs."""
    return {
        "casks": [{"ref": take.ref, "volume_l_20c": take.volume_l, "whole": take.whole} for take in plan.takes],
        **fields(plan, "takes", "seconds"),
        "gap": plan.gap,
        "proved": plan.proved,
        "seconds": plan.seconds,
    }


def plan_shown(recipe: "Recipe", casks: "Iterable[Cask]", plan: "Plan", style: "HouseStyle") -> Shown:
    """A plan as a table of casks, the fractions beside their bounds, and the figures of the batch."""
    by_ref = {cask.ref: cask for cask in casks}
    said = (
        *table(
            ("take", "cask", "component", " l at 20 °C", " % vol", " l left", "place"),
            [
                (
                    "whole" if take.whole else "part",
                    take.ref,
                    by_ref[take.ref].component,
                    style.shown(take.volume_l, 1),
                    style.shown(by_ref[take.ref].strength_vol, 2),
                    "" if take.whole else style.shown(by_ref[take.ref].volume_l - take.volume_l, 1),
                    by_ref[take.ref].place,
                )
                for take in plan.takes
            ],
        ),
        "",
        *_fractions(recipe, plan, style),
        "",
        *aligned(_figures(recipe, plan, style)),
    )
    return Shown(plan_document(plan), said, (CAUTION,))


def out_of_time_shown(found: "OutOfTime", style: "HouseStyle") -> Shown:
    """That no plan was found in time, which does not mean that there is none."""
    said = (
        f"no plan was found in {style.shown(found.seconds, 1)} s, and there may be one: give more --seconds",
        f"no plan has an objective below {style.shown(found.bound, 4)}",
    )
    return Shown({"bound": found.bound, "seconds": found.seconds}, said)


def _fractions(recipe: "Recipe", plan: "Plan", style: "HouseStyle") -> tuple[str, ...]:
    def bound(percent: float | None) -> str:
        return "" if percent is None else style.shown(percent, 2)

    basis = "alcohol" if recipe.basis == "alcohol" else "volume"
    return table(
        ("component", f" % by {basis}", " aimed at", " least", " most"),
        [
            (
                name,
                style.shown(100.0 * plan.fractions[name], 2),
                style.shown(part.part, 2),
                bound(part.low),
                bound(part.high),
            )
            for name, part in recipe.components.items()
        ],
    )


def _figures(recipe: "Recipe", plan: "Plan", style: "HouseStyle") -> list[tuple[str, str]]:
    shown, target = style.shown, recipe.target
    parts = sum(not take.whole for take in plan.takes)
    heel = recipe.heel
    lines = [
        ("casks", f"{counted(len(plan.takes), 'cask')} opened, {parts} of them not emptied"),
        ("heel", f"{shown(heel.volume_l, 1)} l of {shown(heel.strength_vol, 2)} % vol, all of it" if heel else ""),
        ("before water", f"{shown(plan.strength_before, 2)} % vol"),
        ("water", f"{shown(plan.water_l, 1)} l at 20 °C"),
        ("batch", f"{shown(plan.volume_l, 1)} l of {shown(target.strength_vol, 2)} % vol, after losses"),
        ("objective", proof_words(plan, style)),
    ]
    return [line for line in lines if line[1]]


def proof_words(plan: "Plan", style: "HouseStyle") -> str:
    """What is proved, in words."""
    objective, seconds = style.shown(plan.objective, 4), style.shown(plan.seconds, 1)
    if plan.proved:
        return f"{objective}; proved in {seconds} s: no plan has less"
    gap, bound = style.shown(100.0 * plan.gap, 2), style.shown(plan.bound, 4)
    return f"{objective}; the best found in {seconds} s, at most {gap} % above the least: no plan is below {bound}"
