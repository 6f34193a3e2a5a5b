"""Recipes and casks of the tests as values of the planner."""

from pourbook.planning.casks import Cask
from pourbook.planning.recipe import Heel, House, Limits, Part, Recipe, Target


def recipe_of(asked):
    """A recipe from the dict that its file reads as."""
    target = dict(asked["target"])
    heel = asked.get("heel")
    return Recipe(
        components={name: Part(**part) for name, part in asked["components"].items()},
        target=Target(strength_vol=target.pop("strength_20c"), **target),
        limits=Limits(**asked.get("limits", {})),
        house=House(**asked.get("house", {})),
        heel=heel and Heel(heel["volume_l_20c"], heel["strength_20c"], heel["parts"], heel.get("wood_days")),
        losses=asked.get("losses", {}),
        objective=asked.get("objective") or {"casks": 1.0},
        basis=asked["basis"],
    )


def casks_of(table):
    """Casks from the rows of their table."""
    return [
        Cask(
            row["ref"],
            row["component"],
            row["volume_l_20c"],
            row["strength_20c"],
            row.get("wood_days"),
            row.get("cost_per_lpa"),
            row.get("hold", ""),
        )
        for row in table
    ]


def answer_of(plan):
    """What the document of a plan says."""
    return {
        "casks": [{"ref": t.ref, "volume_l_20c": t.volume_l, "whole": t.whole} for t in plan.takes],
        "fractions": plan.fractions,
        **{key: getattr(plan, key) for key in ("strength_before", "water_l", "volume_l", "objective", "bound")},
    }
