"""Plans of houses of 50, 500 and 5,000 casks: how far proved in ten seconds, beside a naive program and a greedy rule.

    PYTHONPATH=src python tests/benchmarks/plans.py [houses of each size]

Houses are invented from a seed: casks of 190 to 500 litres, 5 to 22 years old, that lost two per cent of volume a
year (common practice, no source), of 4 to 6 components. Their recipes ask for every part within a twelfth or half a
part in a hundred, volume, strength before water, age, casks of each, part casks, least fills and a vat, with a heel;
the objective weighs casks, cost and what is left over. The *naive program* has for each cask whether it is opened,
whether it is emptied, and litres, tied by the largest cask (big M), and is solved by scipy's `milp` as it comes. The
*greedy rule* fills each part with whole casks, as many as fit, then with part casks; in three orders (cheapest,
largest, strongest first), of which the best that keeps every demand counts. Seconds are those of the processor; the
limit is of the clock on the wall.
"""

import random
import statistics
import sys
import time
from math import inf

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_matrix, hstack, vstack

from pourbook.planning.blend import Take, blended, broken
from pourbook.planning.casks import Cask
from pourbook.planning.plan import Plan, objective_of, plan
from pourbook.planning.program import candidates, program_of
from pourbook.planning.recipe import Heel, House, Limits, Part, Recipe, Target

SIZES = ((50, 4, 1500.0), (500, 5, 6000.0), (5000, 6, 20000.0))
"""Casks, components, and litres of the batch."""

SECONDS = 10.0
NAMES = ("base", "second", "third", "rich", "fifth", "sixth")
WEIGHTS = (50, 22, 12, 8, 5, 3)
ORDERS = (lambda cask: cask.cost_per_lpa, lambda cask: -cask.volume_l, lambda cask: -cask.strength_vol)


def house(count, kinds, litres, seed):
    """A recipe and its casks."""
    chance, names, weights = random.Random(seed), NAMES[:kinds], WEIGHTS[:kinds]
    casks = []
    for number in range(count):
        years = chance.uniform(5, 22)
        volume = chance.choice((190, 200, 250, 250, 500)) * (1 - 0.02 * years) * chance.uniform(0.9, 1)
        strength = 63.5 - 0.25 * years + chance.uniform(-3, 2)
        casks.append(
            Cask(
                f"Q {number}", chance.choices(names, weights)[0], round(volume, 1), round(strength, 1),
                int(365.25 * years), round(3 + 0.5 * years + chance.uniform(-1, 2), 2),
                "sample" if chance.random() < 0.03 else "",
            )
        )  # fmt: skip
    parts = {name: 100 * weight / sum(weights) for name, weight in zip(names, weights, strict=True)}
    drifts = {name: max(0.5, 0.08 * part) for name, part in parts.items()}
    recipe = Recipe(
        {name: Part(part, part - drifts[name], part + drifts[name]) for name, part in parts.items()},
        Target(litres, 46.0, 0.98 * litres, 1.02 * litres),
        Limits(55.0, 10, None, int(litres / 150) + kinds, kinds, 30.0, 5.0, 1.2 * litres),
        House(85.0, 2),
        Heel(0.05 * litres, 46.0, parts, 4000),
        {"filter": 0.4},
        {"casks": 10.0, "cost": 0.01, "left_l": 0.1},
    )
    return recipe, casks


def naive(recipe, casks):
    """The least objective found in time (infinite: none), and the gap."""
    program = program_of(recipe, casks)
    count, volume = len(program.casks), np.array([cask.volume_l for cask in program.casks])
    largest, size = volume.max(), program.cost.size

    def in_naive_columns(row):  # whole = emptied, part = opened - emptied, share = litres / volume - emptied
        whole, part, share = row[:count], row[count : 2 * count], row[2 * count : 3 * count]
        return np.concatenate((part, whole - part - share, share / volume, row[3 * count :]))

    rows = np.zeros((len(program.rows), size))
    for place, row in enumerate(program.rows):
        rows[place, row.columns] = row.weights
    eye, none = csr_matrix(np.eye(count)), csr_matrix((count, count))
    left, taken = recipe.limits.least_left_l, recipe.limits.least_taken_l
    ties = [
        ((-largest * eye, none, eye), -inf, 0.0),  # litres only of an opened cask
        ((none, -csr_matrix(np.diag(volume)), eye), 0.0, inf),  # all of an emptied one
        ((none, -largest * eye, eye), -inf, volume - left),  # of another not the least that stays
        ((-taken * eye, largest * eye, eye), 0.0, inf),  # and not below the least taken
        ((-eye, eye, none), -inf, 0.0),
    ]
    pad = csr_matrix((count, size - 3 * count))
    matrix = vstack(
        [csr_matrix(np.array([in_naive_columns(row) for row in rows])), *(hstack((*tie, pad)) for tie, _, _ in ties)]
    )
    low = np.concatenate(([row.low for row in program.rows], *(np.broadcast_to(low, count) for _, low, _ in ties)))
    high = np.concatenate(([row.high for row in program.rows], *(np.broadcast_to(high, count) for _, _, high in ties)))
    found = milp(
        in_naive_columns(program.cost),
        integrality=np.concatenate((np.ones(2 * count), np.zeros(count), np.ones(size - 3 * count))),
        bounds=Bounds(0.0, np.concatenate((np.ones(2 * count), volume, np.ones(size - 3 * count)))),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": 1e-6, "time_limit": SECONDS},
    )
    return (inf, 1.0) if found.x is None else (found.fun, max(0.0, 1 - found.mip_dual_bound / found.fun))


def greedy(recipe, casks):
    """The least objective of the orders that keep every demand; infinite where none does."""
    return min(_greedy(recipe, casks, order) for order in ORDERS)


def _greedy(recipe, casks, order):
    stock = sorted(candidates(recipe, casks), key=order)
    strength = statistics.mean(cask.strength_vol for cask in stock)
    stays = 1 - sum(recipe.losses.values()) / 100
    heel = recipe.heel
    alcohol = recipe.target.volume_l / stays * recipe.target.strength_vol - heel.volume_l * heel.strength_vol
    litres, takes = alcohol / strength + heel.volume_l, []
    for name, part in recipe.components.items():
        needed = litres * part.part / 100 - heel.volume_l * heel.parts[name] / 100
        takes += _filled(recipe.limits, [cask for cask in stock if cask.component == name], needed, recipe.house)
    blend = blended(recipe, casks, takes)
    return inf if broken(recipe, casks, takes, blend) else objective_of(recipe, blend)


def _filled(limits, stock, needed, house):
    takes = []
    for cask in stock:
        if cask.volume_l <= needed:
            takes.append(Take(cask.ref, cask.volume_l, whole=True))
            needed -= cask.volume_l
    opened = {take.ref for take in takes}
    shares = max(1, house.casks_of_each - len(takes))
    parts = [
        cask for cask in stock
        if cask.ref not in opened and limits.least_taken_l <= needed / shares <= cask.volume_l - limits.least_left_l
    ][:shares]  # fmt: skip
    return takes + [Take(cask.ref, needed / shares, whole=False) for cask in parts]


def main(houses):
    for count, kinds, litres in SIZES:
        rows = []
        for seed in range(1000):
            recipe, casks = house(count, kinds, litres, seed)
            started = time.process_time()
            ours = plan(recipe, casks, seconds=SECONDS)
            took = time.process_time() - started
            if ours is None:
                continue  # proved that there is none
            rows.append((ours, took, *naive(recipe, casks), greedy(recipe, casks)))
            print(count, seed, ours.bound, *rows[-1][1:], file=sys.stderr, flush=True)
            if len(rows) == houses:
                break
        tell(count, kinds, rows)


def tell(count, kinds, rows):
    """A line of each way."""
    median = statistics.median
    plans = [row[0] for row in rows]
    gaps = [100 * one.gap if isinstance(one, Plan) else 100.0 for one in plans]
    proved = sum(isinstance(one, Plan) and one.proved for one in plans)
    took = [row[1] for row in rows]
    print(f"{count} casks, {kinds} components, {len(rows)} houses in which there is a plan, or may be:")
    print(f"  ours: {proved} proved; gap {median(gaps):.2f} % at the median, {max(gaps):.2f} % at the most;", end="")
    print(f" {median(took):.2f} s at the median, {max(took):.2f} at the most")
    planned = [row for row in rows if isinstance(row[0], Plan)]
    gaps = [100 * row[3] for row in rows]
    times = [row[2] / row[0].objective for row in planned if row[2] < inf] or [inf]
    none = sum(row[2] == inf for row in rows)
    print(f"  naive: {sum(gap <= 1e-4 for gap in gaps)} proved, {none} without a plan;", end="")
    print(f" gap {median(gaps):.2f} % at the median;", end="")
    print(f" {median(times):.4f} times our objective, {max(times):.3f} at the most")
    times = [row[4] / row[0].objective for row in planned if row[4] < inf] or [inf]
    print(f"  greedy: no plan in {sum(row[4] == inf for row in rows)} of {len(rows)};", end="")
    print(f" else {median(times):.3f} times our objective at the median")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10)
