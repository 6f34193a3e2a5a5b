"""How many glasses it takes to find a blend that is nearly as liked as any: proposals, one at a time, and by chance.

    python tests/benchmarks/next_glass.py 200

Each bench has three to five components within bounds, one of them rich and held to some 15 parts in a hundred, and a
truth that nobody knows: components that change each other, and often a place beyond which a component spoils the glass.
Four assessors taste every glass blind. They differ in how high and how wide they mark, and err by a standard deviation
of 0.9 on a scale of nine; they mark whole numbers. A glass is poured to the nearest 0.1 ml of 20 ml.

- one at a time: from the middle, one component more or less by a step; kept if liked better; smaller steps in the end.
- by chance: glasses at random within the bounds.
- next glass: four glasses to begin with (the middle, then what teaches most), then what `propose` says.

Each way names the glass that it thinks best after each glass; found is a bench whose named glass is, in truth, within
0.5 of the best blend there is, and stays so. The same truths and the same assessors for all three.
"""

import sys
from statistics import median
from typing import NamedTuple

import numpy as np

from pourbook.mixtures.next_glass import expected, propose
from pourbook.mixtures.surface import Notes, surface
from pourbook.mixtures.wishes import Wish

SCALE = (1.0, 9.0)
GLASSES = 24
NEAR = 0.5
ASSESSORS = 4
WISHES = (Wish("liking", "more"),)


class Bench(NamedTuple):
    """Bounds, a truth, and the assessors' ways."""

    low: np.ndarray
    high: np.ndarray
    slope: np.ndarray
    pairs: np.ndarray
    spoiling: tuple[int, float, float]
    offset: np.ndarray
    gain: np.ndarray

    def within(self, rng, count):
        """Blends at random within the bounds, in parts of 0.1 ml of 20 ml."""
        found = []
        while len(found) < count:
            drawn = self.low + rng.random((4000, len(self.low))) * (self.high - self.low)
            drawn = drawn / drawn.sum(axis=1, keepdims=True)
            fits = ((drawn >= self.low - 1e-9) & (drawn <= self.high + 1e-9)).all(axis=1)
            found.extend(drawn[fits])
        return np.array(found[:count])

    def true(self, blends):
        """Liking in truth, on the scale."""
        w = (blends - self.low) / (self.high - self.low) - 0.5
        value = 5.0 + w @ self.slope + np.einsum("ni,ij,nj->n", w, self.pairs, w)
        which, beyond, by = self.spoiling
        value = value - by / (1.0 + np.exp(-(w[:, which] - beyond) / 0.06))
        return np.clip(value, *SCALE)

    def tasted(self, blend, rng):
        """What each assessor notes of a glass as it was really poured."""
        poured = np.maximum(np.round(blend * 200) + rng.normal(0, 0.5, len(blend)), 0.0)
        true = self.true((poured / poured.sum())[None, :])[0]
        noted = 5.0 + self.gain * (true - 5.0) + self.offset + rng.normal(0, 0.9, ASSESSORS)
        return np.clip(np.round(noted), *SCALE)


def bench(rng):
    """A bench at random."""
    count = int(rng.integers(3, 6))
    low, high = np.zeros(count), np.full(count, 0.85)
    low[0], high[-1] = rng.uniform(0.2, 0.45), rng.uniform(0.08, 0.18)
    high[1:-1] = rng.uniform(0.3, 0.6, count - 2)
    pairs = rng.normal(0, 2.2, (count, count))
    spoiling = (int(rng.integers(count)), rng.uniform(0.0, 0.4), rng.choice([0.0, 1.5, 3.0]))
    return Bench(
        low, high, rng.normal(0, 1.6, count), (pairs + pairs.T) / 2 - 1.2 * np.eye(count), spoiling,
        rng.normal(0, 0.6, ASSESSORS), rng.uniform(0.7, 1.2, ASSESSORS),
    )  # fmt: skip


def by_chance(house, rng):
    """Random glasses; the named one has the best mean."""
    blends = house.within(rng, GLASSES)
    means = np.array([house.tasted(blend, rng).mean() for blend in blends])
    return [blends[int(means[:count].argmax())] for count in range(1, GLASSES + 1)]


def one_at_a_time(house, rng):
    """From the middle, one component at a time, kept if liked better."""
    now = house.within(rng, 400).mean(axis=0)
    liked, named, step, which, sign, failed = house.tasted(now, rng).mean(), [now], 0.3, 0, 1, 0
    while len(named) < GLASSES and step > 0.02:
        blend = _moved(house, now, which, sign * step)
        if blend is None or (mark := house.tasted(blend, rng).mean()) <= liked:
            if blend is not None:
                named.append(now)
            failed += 1
            which, sign = (which, -1) if sign > 0 else ((which + 1) % len(now), 1)
            if failed >= 2 * len(now):
                step, failed = step / 2, 0
            continue
        now, liked, failed = blend, mark, 0
        named.append(now)
    return named + [now] * (GLASSES - len(named))


def _moved(house, blend, which, by):
    """One component moved by a part of its range, the others in proportion; None where bounds forbid it."""
    wanted = min(max(blend[which] + by * (house.high - house.low)[which], house.low[which]), house.high[which])
    if abs(wanted - blend[which]) < 0.005:
        return None
    moved = blend * (1 - wanted) / (1 - blend[which])
    moved[which] = wanted
    moved = np.clip(moved, house.low, house.high)
    moved[which] = wanted
    others = np.arange(len(moved)) != which
    room = (house.high - moved) if moved.sum() < 1 else (moved - house.low)
    short = 1 - moved.sum()
    if abs(short) > 1e-9:
        if room[others].sum() < abs(short):
            return None
        moved[others] += short * room[others] / room[others].sum()
    return moved


def by_proposal(house, rng):
    """What `propose` says, from the middle on."""
    candidates = house.within(rng, 250)
    region = candidates.min(axis=0), candidates.max(axis=0)
    blends, notes, named = [house.within(rng, 400).mean(axis=0)], [], []
    for _ in range(GLASSES):
        notes.append(house.tasted(blends[-1], rng))
        rows = np.repeat(np.array(blends), ASSESSORS, axis=0)
        known = Notes(rows, np.concatenate(notes), np.tile(np.arange(ASSESSORS), len(blends)))
        learned = {"liking": surface(known, SCALE, region)}
        tried = np.array(blends)
        named.append(tried[int(expected(learned, WISHES, {"liking": SCALE}, tried).mean.argmax())])
        near = _near(house, named[-1], rng)
        blends.append(propose(learned, WISHES, {"liking": SCALE}, tried, np.vstack([candidates, near])).blend)
    return named


def _near(house, blend, rng):
    """Blends around one."""
    moved = blend + rng.normal(0, 0.06, (150, len(blend))) * (house.high - house.low)
    moved = moved / moved.sum(axis=1, keepdims=True)
    return moved[((moved >= house.low - 1e-9) & (moved <= house.high + 1e-9)).all(axis=1)]


def found_after(house, named, best):
    """After how many glasses the named glass is near the best and stays so; None if never."""
    near = house.true(np.array(named)) >= best - NEAR
    if not near[-1]:
        return None
    wrong = np.flatnonzero(~near)
    return int(wrong[-1]) + 2 if len(wrong) else 1


def main(benches):
    """Run the benches and print the distribution."""
    ways = {"next glass": by_proposal, "one at a time": one_at_a_time, "by chance": by_chance}
    took = {name: [] for name in ways}
    regret = {name: [] for name in ways}
    middle = []
    for number in range(benches):
        house = bench(np.random.default_rng(number))
        best = house.true(house.within(np.random.default_rng(1), 20000)).max()
        middle.append(best - house.true(house.within(np.random.default_rng(2), 400).mean(axis=0)[None, :])[0])
        for place, (name, way) in enumerate(ways.items()):
            named = way(house, np.random.default_rng((number, place)))
            took[name].append(found_after(house, named, best))
            regret[name].append(best - house.true(np.array(named[-1:]))[0])
    for name, counts in took.items():
        found = sorted(count for count in counts if count)
        some = [found[int(len(counts) * q)] if len(counts) * q < len(found) else None for q in (0.25, 0.5, 0.75)]
        short = [sum(1 for count in counts if count and count <= n) for n in (6, 8, 12, 16, 24)]
        missed = sorted(regret[name])
        print(f"{name}: found on {len(found)} of {benches}; quartiles {some}; by 6, 8, 12, 16, 24 glasses {short}")
        print(
            f"    after {GLASSES} short of the best by {median(missed):.2f}, by {missed[benches * 9 // 10]:.2f} at 90 %"
        )
    for name in list(ways)[1:]:
        pairs = zip(took[name], took["next glass"], strict=True)
        lost = [place for place, (other, ours) in enumerate(pairs) if (other or 99) < (ours or 99)]
        short = median(middle[place] for place in lost) if lost else 0.0
        print(f"{name} needed fewer glasses than the next glass on {len(lost)} of {benches} benches; there the middle,")
        print(f"    where all begin, was short of the best by {short:.2f} (all benches: {median(middle):.2f})")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
