"""What choosing glasses is worth: designs beside glasses drawn by lot within the same bounds, and what choosing costs.

    PYTHONPATH=src:tests python tests/benchmarks/designs.py

Each line: components, model, glasses; D-efficiency of the chosen ones, of the best and the median of 200 flights drawn
evenly within the bounds; how many glasses by lot tell as much as the chosen ones (median); seconds of the processor.
"""

from fractions import Fraction
from statistics import median
from time import process_time

import numpy as np
from mixture_regions import EIGHT, FOUR, region

from pourbook.mixtures.designs import Request, design, judged
from pourbook.mixtures.regions import simplices, vertices
from pourbook.mixtures.terms import terms

SAMPLE = region(base="0.65..0.95", chestnut="0.03..0.25", heather="0..0.12")
FLIGHTS = 200


def by_lot(area, count, lot):
    """So many blends, drawn evenly within a region, to six digits."""
    corners = np.array(vertices(area), dtype=float)
    parts = corners[np.array(simplices(area))]
    edges = parts[:, 1:] - parts[:, :1]
    volumes = np.sqrt(np.abs(np.linalg.det(edges @ edges.transpose(0, 2, 1))))
    chosen = lot.choice(len(parts), count, p=volumes / volumes.sum())
    blends = np.einsum("gc,gcq->gq", lot.dirichlet(np.ones(parts.shape[1]), count), parts[chosen])
    rounded = [[Fraction(round(part, 6)).limit_denominator(10**6) for part in blend] for blend in blends.tolist()]
    return [(*parts[:-1], 1 - sum(parts[:-1])) for parts in rounded]


def efficiency(area, asked, blends):
    """D-efficiency of glasses on one day; 0 where they cannot tell all terms."""
    merit = judged(area, asked, blends, (1,) * len(blends))
    return merit.d_efficiency if merit else 0.0


def line(area, model):
    """One comparison, with three glasses more than terms."""
    count, lot = len(terms(len(area.components), model)) + 3, np.random.default_rng(1)
    asked, before = Request(count, model), process_time()
    found = design(area, asked)
    seconds = process_time() - before
    drawn = [efficiency(area, asked, by_lot(area, count, lot)) for _ in range(FLIGHTS)]
    as_much = count * found.merit.d_efficiency / median(
        efficiency(area, asked, by_lot(area, 5 * count, lot)) for _ in range(20)
    )  # fmt: skip
    told = f"{len(area.components)} components, {model:13} {count:3} glasses"
    return (
        f"{told}: {found.merit.d_efficiency:.3f}; by lot {max(drawn):.3f}, {median(drawn):.3f};"
        f" as much by {as_much:.0f}; {seconds:.2f} s"
    )


if __name__ == "__main__":
    for area, model in (
        (SAMPLE, "quadratic"), (SAMPLE, "special-cubic"), (FOUR, "linear"), (FOUR, "quadratic"), (EIGHT, "linear"),
    ):  # fmt: skip
        print(line(area, model))
