"""What a plan should be, worked out a second and a third time: from the text of the contract, not from `planning/`.

A recipe is the dict that its TOML file reads as, a cask a dict with the columns of the table; None stands for a blank.
`enumerated` tries every choice of casks closed, emptied or drawn from; `programmed` is a mixed-integer program in what
is left in each cask rather than what is taken; `faults` recomputes an answer from its casks alone. Of the package only
the functions of OIML R 22 are used.
"""

from itertools import combinations, product
from math import ceil
from typing import NamedTuple

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction_from_strength, strength_from_mass_fraction

LITRES, PERCENT_VOL, OF_A_FRACTION = 0.001, 0.001, 1e-6
"""How closely limits hold, by the contract."""
_ROUNDING = 1e-7
"""What adding up in doubles may lose of a row, whose unit is about a litre."""
_FINER = 1000.0
"""How much larger rows are written than they are, since a solver keeps them to a millionth as they stand."""
OF_ANY_STRENGTH = "of any strength before reduction"
"""The mark of a recipe whose demand for enough strength was dropped."""


class Row(NamedTuple):
    """A limit that is linear in the litres taken: `weights · taken + constant >= 0`; its demand, None for a fact."""

    demand: str | None
    weights: np.ndarray
    constant: float


class Best(NamedTuple):
    """The least objective, and litres taken by ref; casks not opened are left out."""

    objective: float
    taken: dict


def days_of_years(years):
    """The most days that so many anniversaries take."""
    return ceil(365 * years + years / 4)


def kg_per_l(strength):
    return density_kg_m3(mass_fraction_from_strength(strength)) / 1000


def _limit(recipe, table, key, default=None):
    return recipe.get(table, {}).get(key, default)


def least_days(recipe):
    """The age asked for in days, or None."""
    asked = [_limit(recipe, "limits", "least_age_days")]
    years = _limit(recipe, "limits", "least_age_years")
    asked.append(None if years is None else days_of_years(years))
    return max((days for days in asked if days is not None), default=None)


def in_the_choice(recipe, casks):
    """Casks that may be opened: no hold, a component of the recipe, old enough where an age is asked."""
    days = least_days(recipe)
    return [
        cask
        for cask in casks
        if not cask.get("hold")
        and cask["component"] in recipe["components"]
        and (days is None or (cask.get("wood_days") is not None and cask["wood_days"] >= days))
    ]


def heel_is_too_young(recipe):
    heel, days = recipe.get("heel"), least_days(recipe)
    return bool(heel and days is not None and (heel.get("wood_days") is None or heel["wood_days"] < days))


def kept_of_the_batch(recipe):
    """What losses leave of the reduced batch, 0 to 1."""
    return 1 - sum(recipe.get("losses", {}).values()) / 100


def rows(recipe, casks):
    """Every limit that is linear in the litres taken from these casks."""
    heel = recipe.get("heel") or {"volume_l_20c": 0.0, "strength_20c": 50.0, "parts": {}}
    strengths = np.array([cask["strength_20c"] for cask in casks], float)
    ones = np.ones(len(casks))
    target = recipe["target"]
    per_percent = 1 / target["strength_20c"]
    reduced = Row(None, per_percent * strengths, per_percent * heel["volume_l_20c"] * heel["strength_20c"])
    kept = kept_of_the_batch(recipe)
    found = [Row(None, ones, -1.0)]
    if (low := target.get("volume_low_l")) is not None:
        found.append(Row("target.volume_low_l", kept * reduced.weights, kept * reduced.constant - low))
    if (high := target.get("volume_high_l")) is not None:
        found.append(Row("target.volume_high_l", -kept * reduced.weights, high - kept * reduced.constant))
    if (vat := _limit(recipe, "limits", "vat_l")) is not None:
        found.append(Row("limits.vat_l", -reduced.weights, vat - reduced.constant))
    asked = {
        "target.strength_20c": None if recipe.get(OF_ANY_STRENGTH) else target["strength_20c"],
        "limits.least_strength_before": _limit(recipe, "limits", "least_strength_before"),
    }
    found += [_no_weaker(name, asked[name], casks, heel) for name in asked if asked[name] is not None]
    return [*found, *_of_parts(recipe, casks, heel)]


def _no_weaker(demand, strength, casks, heel):
    """Ethanol beyond what the mass would need at that strength."""
    least = mass_fraction_from_strength(strength)

    def excess(of):
        return kg_per_l(of) * (mass_fraction_from_strength(of) - least)

    weights = np.array([excess(cask["strength_20c"]) for cask in casks], float)
    return Row(demand, weights, heel["volume_l_20c"] * excess(heel["strength_20c"]))


def _of_parts(recipe, casks, heel):
    by_alcohol = recipe["basis"] == "alcohol"
    amounts = np.array([cask["strength_20c"] / 100 if by_alcohol else 1.0 for cask in casks], float)
    of_heel = heel["volume_l_20c"] * (heel["strength_20c"] / 100 if by_alcohol else 1.0)
    cap = _limit(recipe, "house", "no_component_above")
    for name, part in recipe["components"].items():
        here = np.array([cask["component"] == name for cask in casks], float)
        share_of_heel = heel["parts"].get(name, 0) / 100
        bounds = (
            (f"components.{name}.low", part.get("low"), 1),
            (f"components.{name}.high", part.get("high"), -1),
            ("house.no_component_above", cap, -1),
        )
        for demand, bound, sign in bounds:
            if bound is not None:
                beyond = amounts * (here - bound / 100)
                yield Row(demand, sign * beyond, sign * of_heel * (share_of_heel - bound / 100))


def _least_left(recipe):
    return _limit(recipe, "limits", "least_left_l", 0.0)


def _least_taken(recipe):
    return _limit(recipe, "limits", "least_taken_l", 1.0)


def _weight(recipe, measure):
    objective = recipe.get("objective") or {"casks": 1}
    return objective.get(measure, 0)


def _costs(recipe, casks):
    """Cost of a litre of each, as weighted."""
    weight = _weight(recipe, "cost")
    return weight * np.array([cask["strength_20c"] / 100 * (cask.get("cost_per_lpa") or 0) for cask in casks], float)


def relaxed(recipe, by):
    """The recipe with every limit of amounts wider by that many times what the contract allows."""
    wider = copy_of(recipe)

    def shift(table, key, step):
        if table.get(key) is not None:
            table[key] = max(table[key] + by * step, 0.0)

    shift(wider["target"], "volume_low_l", -LITRES)
    shift(wider["target"], "volume_high_l", LITRES)
    limits = wider.get("limits", {})
    shift(limits, "least_strength_before", -PERCENT_VOL)
    shift(limits, "vat_l", LITRES)
    for key in ("least_left_l", "least_taken_l"):
        shift(limits, key, -LITRES)
    shift(wider.get("house", {}), "no_component_above", 100 * OF_A_FRACTION)
    for part in wider["components"].values():
        shift(part, "low", -100 * OF_A_FRACTION)
        shift(part, "high", 100 * OF_A_FRACTION)
    return wider


# -- every choice, one after the other -------------------------------------------------------


def enumerated(recipe, casks, closed=(), opened=(), unlike=(), any_will_do=False):
    """The best plan of all, or None: each cask closed, emptied or drawn from, and a linear program for the amounts.

    `closed`: refs that stay so. `opened`: refs that must not. `unlike`: sets of refs; from each, three casks or
    more must be opened or left closed otherwise. `any_will_do`: the first plan found is enough.
    """
    if heel_is_too_young(recipe):
        return None
    stock = [cask for cask in in_the_choice(recipe, casks) if cask["ref"] not in closed]
    most = _limit(recipe, "limits", "most_casks", len(stock))
    best = None
    for count in range(1, min(most, len(stock)) + 1):
        if best is not None and count * _weight(recipe, "casks") >= best.objective - 1e-12:
            return best
        for chosen in combinations(stock, count):
            refs = {cask["ref"] for cask in chosen}
            if not refs >= set(opened) or any(len(refs ^ set(others)) < 3 for others in unlike):
                continue
            found = _best_amounts(recipe, chosen) if _enough_of_each(recipe, chosen) else None
            if found is not None and (best is None or found.objective < best.objective):
                best = found
            if best is not None and any_will_do:
                return best
    return best


def _enough_of_each(recipe, opened):
    least = _limit(recipe, "house", "casks_of_each", 1)
    components = [cask["component"] for cask in opened]
    return all(components.count(name) >= least for name in components)


def _best_amounts(recipe, opened):
    limits = rows(recipe, opened)
    if any(np.maximum(row.weights, 0) @ _volumes(opened) + row.constant < -_ROUNDING for row in limits):
        return None
    most_parts = _limit(recipe, "limits", "most_part_casks", len(opened))
    best = None
    for emptied in product((True, False), repeat=len(opened)):
        if emptied.count(False) <= most_parts:
            found = _amounts(recipe, opened, emptied, limits)
            if found is not None and (best is None or found.objective < best.objective):
                best = found
    return best


def _volumes(casks):
    return np.array([cask["volume_l_20c"] for cask in casks], float)


def _amounts(recipe, opened, emptied, limits):
    """The cheapest amounts where it is settled which casks are emptied, or None."""
    volumes = _volumes(opened)
    lows = np.where(emptied, volumes, _least_taken(recipe))
    highs = np.where(emptied, volumes, volumes - _least_left(recipe))
    if (lows > highs).any():
        return None
    costs = _costs(recipe, opened) - np.where(emptied, 0.0, _weight(recipe, "left_l"))
    fixed = len(opened) * _weight(recipe, "casks") + _weight(recipe, "left_l") * volumes[~np.array(emptied)].sum()
    if all(emptied):
        taken = volumes if all(row.weights @ volumes + row.constant >= -_ROUNDING for row in limits) else None
    else:
        weights, constants = np.array([row.weights for row in limits]), np.array([row.constant for row in limits])
        solved = linprog(costs, -weights, constants + _ROUNDING, bounds=list(zip(lows, highs, strict=True)))
        taken = solved.x if solved.status == 0 else None
    if taken is None:
        return None
    return Best(float(costs @ taken + fixed), {cask["ref"]: float(v) for cask, v in zip(opened, taken, strict=True)})


# -- a second formulation --------------------------------------------------------------------


def programmed(recipe, casks, seconds=60.0):
    """The best plan by a program whose unknowns are what stays in each cask: `(Best or None, bound)`.

    For each cask `opened` and `emptied` (0 or 1) and `left`; litres taken are `volume × opened - left`.
    """
    stock = in_the_choice(recipe, casks)
    if heel_is_too_young(recipe) or not stock:
        return None, float("inf")
    volumes, count = _volumes(stock), len(stock)
    least_left, least_taken = _least_left(recipe), _least_taken(recipe)
    none, each = np.zeros((count, count)), np.eye(count)
    most_left = np.maximum(volumes - least_taken, 0.0)
    cannot_be_part = most_left < least_left
    constraints = [
        LinearConstraint(np.hstack([each, -each, none]), 0, np.where(cannot_be_part, 0, 1)),
        LinearConstraint(np.hstack([-np.diag(most_left), np.diag(most_left), each]), -np.inf, 0),
        LinearConstraint(
            np.hstack([-least_left * each, least_left * each, each]), np.where(cannot_be_part, -np.inf, 0), np.inf
        ),
    ]
    for row in rows(recipe, stock):
        weights = np.concatenate([row.weights * volumes, np.zeros(count), -row.weights])
        constraints.append(LinearConstraint(_FINER * weights, _FINER * (-row.constant - _ROUNDING), np.inf))
    constraints += list(_counted(recipe, stock))
    costs = _costs(recipe, stock)
    objective = np.concatenate(
        [_weight(recipe, "casks") + costs * volumes, np.zeros(count), _weight(recipe, "left_l") - costs]
    )
    solved = milp(
        objective,
        integrality=np.repeat([1, 1, 0], count),
        bounds=Bounds(np.zeros(3 * count), np.concatenate([np.ones(2 * count), volumes])),
        constraints=constraints,
        options={"mip_rel_gap": 1e-9, "time_limit": seconds},
    )
    if solved.x is None:
        return None, float("inf") if solved.status == 2 else 0.0
    opened, left = np.round(solved.x[:count]), solved.x[2 * count :]
    taken = {cask["ref"]: float(volumes[i] - left[i]) for i, cask in enumerate(stock) if opened[i]}
    return Best(float(solved.fun), taken), solved.mip_dual_bound


def _counted(recipe, stock):
    count = len(stock)
    ones, zeros = np.ones(count), np.zeros(count)
    if (most := _limit(recipe, "limits", "most_casks")) is not None:
        yield LinearConstraint(np.concatenate([ones, zeros, zeros]), 0, most)
    if (most := _limit(recipe, "limits", "most_part_casks")) is not None:
        yield LinearConstraint(np.concatenate([ones, -ones, zeros]), 0, most)
    least = _limit(recipe, "house", "casks_of_each", 1)
    for index, cask in enumerate(stock):
        alike = np.array([other["component"] == cask["component"] for other in stock], float)
        alike[index] -= least
        yield LinearConstraint(np.concatenate([alike, zeros, zeros]), 0, np.inf)


# -- an answer recomputed --------------------------------------------------------------------


def recomputed(recipe, casks, takes):
    """Every figure of an answer from its `casks` alone, as the answer names them."""
    by_ref = {cask["ref"]: cask for cask in casks}
    poured = [(by_ref[take["ref"]], take["volume_l_20c"]) for take in takes]
    bodies = [(cask["strength_20c"], litres, {cask["component"]: 100.0}) for cask, litres in poured]
    if heel := recipe.get("heel"):
        bodies.append((heel["strength_20c"], heel["volume_l_20c"], heel["parts"]))
    mass = sum(litres * kg_per_l(strength) for strength, litres, _ in bodies)
    ethanol = sum(litres * kg_per_l(strength) * mass_fraction_from_strength(strength) for strength, litres, _ in bodies)
    target = recipe["target"]["strength_20c"]
    pure_l = sum(litres * strength / 100 for strength, litres, _ in bodies)

    def counted(strength, litres):
        return litres * strength if recipe["basis"] == "alcohol" else litres

    whole = sum(counted(strength, litres) for strength, litres, _ in bodies)
    left = sum(by_ref[take["ref"]]["volume_l_20c"] - take["volume_l_20c"] for take in takes if not take["whole"])
    cost = sum(litres * cask["strength_20c"] / 100 * (cask.get("cost_per_lpa") or 0) for cask, litres in poured)
    return {
        "fractions": {
            name: sum(counted(s, v) * parts.get(name, 0) / 100 for s, v, parts in bodies) / whole
            for name in recipe["components"]
        },
        "strength_before": strength_from_mass_fraction(ethanol / mass),
        "water_l": (ethanol / mass_fraction_from_strength(target) - mass) / (density_kg_m3(0.0) / 1000),
        "reduced_l": pure_l / target * 100,
        "volume_l": pure_l / target * 100 * kept_of_the_batch(recipe),
        "objective": sum(
            _weight(recipe, measure) * figure
            for measure, figure in (("casks", len(takes)), ("cost", cost), ("left_l", left))
        ),
    }


def faults(recipe, casks, answer):
    """What an answer says wrongly, or what limit its casks break: sentences, none where all is well."""
    return [*wrong_figures(recipe, casks, answer), *broken(recipe, casks, answer["casks"])]


def wrong_figures(recipe, casks, answer):
    again = recomputed(recipe, casks, answer["casks"])
    allowed = {"strength_before": PERCENT_VOL, "water_l": 0.01, "volume_l": 0.01}
    allowed["objective"] = 1e-6 * abs(again["objective"]) + 1e-9
    said = [
        f"{key}: {answer[key]}, recomputed {again[key]}"
        for key, close in allowed.items()
        if abs(answer[key] - again[key]) > close
    ]
    said += [
        f"fraction of {name}: {answer['fractions'].get(name)}, recomputed {fraction}"
        for name, fraction in again["fractions"].items()
        if abs(answer["fractions"].get(name, 0.0) - fraction) > OF_A_FRACTION
    ]
    if answer["bound"] > answer["objective"] + 1e-6 * abs(answer["objective"]) + 1e-9:
        said.append(f"bound {answer['bound']} above the objective {answer['objective']}")
    return said


def broken(recipe, casks, takes):
    """Limits that these takes break, as sentences."""
    return [f"{name}: {what}" for name, what in _broken(recipe, casks, takes)]


def _broken(recipe, casks, takes):
    choice = {cask["ref"]: cask for cask in in_the_choice(recipe, casks)}
    if heel_is_too_young(recipe):
        yield "age", "of the heel"
    refs = [take["ref"] for take in takes]
    if len(set(refs)) < len(refs) or set(refs) - set(choice):
        yield "refs", f"{sorted(refs)} twice or out of the choice"
        return
    yield from _broken_casks(recipe, [(choice[take["ref"]], take) for take in takes])
    yield from _broken_sums(recipe, recomputed(recipe, casks, takes), sum(take["volume_l_20c"] for take in takes))


def _broken_casks(recipe, opened):
    least_left, least_taken = _least_left(recipe), _least_taken(recipe)
    for cask, take in opened:
        litres, volume = take["volume_l_20c"], cask["volume_l_20c"]
        if take["whole"]:
            fits = abs(litres - volume) <= LITRES
        else:
            fits = least_taken - LITRES <= litres <= volume - least_left + LITRES
        if not fits:
            yield cask["ref"], f"{litres} of {volume}, whole {take['whole']}"
    for key, count in (("most_casks", len(opened)), ("most_part_casks", sum(not take["whole"] for _, take in opened))):
        if count > _limit(recipe, "limits", key, count):
            yield key, count
    if not _enough_of_each(recipe, [cask for cask, _ in opened]):
        yield "casks_of_each", [cask["component"] for cask, _ in opened]


def _broken_sums(recipe, figures, taken_l):
    target, limits = recipe["target"], recipe.get("limits", {})
    cap = _limit(recipe, "house", "no_component_above")
    between = [
        ("taken from casks", taken_l, 1.0, None, LITRES),
        ("volume", figures["volume_l"], target.get("volume_low_l"), target.get("volume_high_l"), LITRES),
        ("vat", figures["reduced_l"], None, limits.get("vat_l"), LITRES),
        ("strength before", figures["strength_before"], limits.get("least_strength_before"), None, PERCENT_VOL),
        ("strength before water", figures["strength_before"], target["strength_20c"], None, PERCENT_VOL),
    ]
    for name, part in recipe["components"].items():
        ends = [None if end is None else end / 100 for end in (part.get("low"), part.get("high"), cap)]
        between.append((f"part of {name}", figures["fractions"][name], ends[0], ends[1], OF_A_FRACTION))
        between.append((f"cap on {name}", figures["fractions"][name], None, ends[2], OF_A_FRACTION))
    for name, figure, low, high, close in between:
        if (low is not None and figure < low - 1.0001 * close) or (high is not None and figure > high + 1.0001 * close):
            yield name, f"{figure} not within {low} to {high}"


# -- demands ---------------------------------------------------------------------------------


def demands(recipe):
    """Dotted keys of all that the recipe asks and may be dropped."""
    asked = [f"target.{key}" for key in ("volume_low_l", "volume_high_l", "strength_20c") if key in recipe["target"]]
    for name, part in recipe["components"].items():
        asked += [f"components.{name}.{end}" for end in ("low", "high") if end in part]
    return [*asked, *(f"{table}.{key}" for table in ("limits", "house") for key in recipe.get(table, {}))]


def can_be_met(recipe, casks, kept):
    """Whether the demands named can be met together where all others are dropped."""
    less = dropping(recipe, set(demands(recipe)) - set(kept))
    return enumerated(less, casks, any_will_do=True) is not None


def dropping(recipe, dropped):
    """The recipe without some demands; without `target.strength_20c` the volumes stay those of that strength."""
    less = copy_of(recipe)
    for demand in dropped:
        *tables, key = demand.split(".")
        table = less
        for name in tables:
            table = table[name]
        if demand == "target.strength_20c":
            less[OF_ANY_STRENGTH] = True
        elif demand == "limits.least_taken_l":
            table[key] = min(1.0, table[key])
        else:
            del table[key]
    return less


def copy_of(recipe):
    """The same, to be changed."""
    return {
        table: {key: dict(value) if isinstance(value, dict) else value for key, value in keys.items()}
        if isinstance(keys, dict)
        else keys
        for table, keys in recipe.items()
    }
