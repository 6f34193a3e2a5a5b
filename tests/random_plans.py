"""Random houses for the planner: a few casks, and a recipe around what some of them would make.

Limits stand on that, a little beside it, or so that it just fails; so about half of the recipes have a plan.
"""

from hypothesis import strategies as st
from plan_oracle import days_of_years, in_the_choice, recomputed

NAMES = ("base", "rich", "smoke")
VOLUMES = (0.6, 1.0, 12.5, 40.0, 90.0, 120.0, 120.0, 185.5, 230.0)
STRENGTHS = (38.5, 44.0, 52.0, 57.3, 57.3, 61.8, 66.0)
AGES = (None, 1460, days_of_years(5), 2500, 4384)
OBJECTIVES = ({}, {"cost": 1}, {"left_l": 1}, {"casks": 10, "cost": 0.01, "left_l": 0.1}, {"casks": 1, "left_l": 1})


@st.composite
def stocks(draw, least=1, most=6):
    """Casks as rows of the table: equal ones, tiny ones, on hold, of unknown age, of a component nobody asked for."""
    casks = draw(
        st.lists(
            st.fixed_dictionaries(
                {
                    "component": st.sampled_from((*NAMES, *NAMES, *NAMES, "stray")),
                    "volume_l_20c": st.sampled_from(VOLUMES),
                    "strength_20c": st.sampled_from(STRENGTHS),
                    "wood_days": st.sampled_from(AGES),
                    "cost_per_lpa": st.sampled_from((8.0, 12.5, 12.5, 30.0)),
                    "hold": st.sampled_from(("",) * 9 + ("musty",)),
                }
            ),
            min_size=least,
            max_size=most,
        )
    )
    return [{"ref": f"Q{number}", **cask} for number, cask in enumerate(casks, 1)]


def _given(**values):
    return {key: value for key, value in values.items() if value is not None}


@st.composite
def heels(draw, names):
    """What lies in the vat, of one or two of the components."""
    share = draw(st.sampled_from((0, 7, 50, 100))) if len(names) > 1 else 100
    return _given(
        volume_l_20c=draw(st.sampled_from((2.0, 30.0, 150.0))),
        strength_20c=draw(st.sampled_from((43.0, 46.0, 60.0))),
        wood_days=draw(st.sampled_from((None, 1826, 5000, 5000))),
        parts={names[0]: share, **({names[1]: 100 - share} if len(names) > 1 else {})},
    )


@st.composite
def recipes(draw, casks):
    """A recipe that these casks may or may not be able to follow."""
    names = NAMES[: draw(st.integers(1, 3))]
    recipe = {
        "basis": draw(st.sampled_from(("volume", "alcohol"))),
        "components": {name: {} for name in names},
        "target": {"strength_20c": draw(st.sampled_from((40.0, 46.0, 46.0, 57.3)))},
        "limits": {},
        "house": {},
        "losses": draw(st.sampled_from(({}, {}, {"filter": 0.4, "line": 1.1}))),
        "objective": draw(st.sampled_from(OBJECTIVES)),
    }
    if draw(st.integers(1, 4)) == 1:
        recipe["heel"] = draw(heels(names))
    takes = _some_takes(draw, in_the_choice(recipe, casks))
    made = recomputed(recipe, casks, takes) if takes else _NOTHING
    _ask_for(draw, recipe, made)
    _limit_casks(draw, recipe, casks, takes)
    return recipe


_NOTHING = {"fractions": {}, "strength_before": 50.0, "reduced_l": 100.0, "volume_l": 100.0}


def _some_takes(draw, stock):
    chosen = draw(st.lists(st.sampled_from(stock), min_size=1, unique_by=lambda cask: cask["ref"])) if stock else []
    shares = [draw(st.sampled_from((1.0, 1.0, 0.5, 0.3))) for _ in chosen]
    return [
        {"ref": cask["ref"], "volume_l_20c": share * cask["volume_l_20c"], "whole": share == 1.0}
        for cask, share in zip(chosen, shares, strict=True)
    ]


def _maybe(draw, table, key, *values, one_in=2):
    """Puts one of the values under the key now and then."""
    if draw(st.integers(1, one_in)) == 1:
        table[key] = max(draw(st.sampled_from(values)), 0)


def _ask_for(draw, recipe, made):
    """Limits on volumes, strength and parts, met by what was made exactly, loosely or not quite."""
    target, limits = recipe["target"], recipe["limits"]
    target["volume_l"], strength = made["volume_l"], made["strength_before"]
    _maybe(draw, target, "volume_low_l", *(made["volume_l"] * share for share in (1, 1, 0.98, 0.8, 1.02)))
    _maybe(draw, target, "volume_high_l", *(made["volume_l"] * share for share in (1, 1, 1.02, 1.3, 0.98)))
    _maybe(draw, limits, "vat_l", made["reduced_l"], 1.05 * made["reduced_l"], 0.95 * made["reduced_l"], one_in=4)
    _maybe(draw, limits, "least_strength_before", strength, strength - 2, strength + 0.5, one_in=3)
    names = list(recipe["components"])
    parts = [100 * made["fractions"].get(name, 1 / len(names)) for name in names]
    for name, part in zip(names, [*parts[:-1], 100 - sum(parts[:-1])], strict=True):
        component = recipe["components"][name]
        component["part"] = max(part, 0.0)
        _maybe(draw, component, "low", *(component["part"] - width for width in (0, 0, 1, 5, 20)))
        _maybe(draw, component, "high", *(min(component["part"] + width, 100.0) for width in (0, 0, 1, 5, 20)))
    _maybe(draw, recipe["house"], "no_component_above", max(parts), max(parts) + 1, 85.0, max(parts) - 1, one_in=4)


def _limit_casks(draw, recipe, casks, takes):
    """Limits on the casks opened, around those that were."""
    limits, by_ref = recipe["limits"], {cask["ref"]: cask for cask in casks}
    opened = [by_ref[take["ref"]] for take in takes]
    parts = [take["volume_l_20c"] for take in takes if not take["whole"]]
    left = [by_ref[take["ref"]]["volume_l_20c"] - take["volume_l_20c"] for take in takes if not take["whole"]]
    _maybe(draw, limits, "most_casks", len(takes), len(takes) + 1, max(len(takes) - 1, 1), one_in=3)
    _maybe(draw, limits, "most_part_casks", len(parts), len(parts) + 1, len(parts) - 1)
    _maybe(draw, limits, "least_left_l", min(left, default=20.0), 5.0, 30.0, 60.0, one_in=3)
    _maybe(draw, limits, "least_taken_l", min(parts, default=20.0), 0.2, 5.0, 30.0, one_in=3)
    youngest = min((cask["wood_days"] or 0 for cask in opened), default=0)
    age = draw(st.sampled_from(("least_age_years", "least_age_days")))
    _maybe(draw, limits, age, *((youngest // 365, 5) if age == "least_age_years" else (youngest, 2501)), one_in=4)
    alike = [[cask["component"] for cask in opened].count(name) for name in recipe["components"]]
    _maybe(draw, recipe["house"], "casks_of_each", 1, 2, min((n for n in alike if n), default=1) + 1, one_in=4)


@st.composite
def houses(draw, least=1, most=6):
    """Casks, and a recipe for them."""
    casks = draw(stocks(least, most))
    return draw(recipes(casks)), casks
