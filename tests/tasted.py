"""Published and simulated glasses for the tests of models.

What is in tests/reference/mixtures was copied from open data:

- yarn.csv: NIST/SEMATECH e-Handbook of Statistical Methods, 5.5.4.2 (Cornell); data read in the documentation of the R
  package mixexp and in Penn State's STAT 503.
- fish_patties.csv: Cornell, Experiments with Mixtures; data read in the R package mixexp (fishp).
- four_component_region.csv: McLean and Anderson (1966); remembered by the compiler, no copy read.
- fruit_drink_*.csv: data set cocktail of the R package SensoMineR 1.27; read.
"""

import csv
from pathlib import Path

import numpy as np

from pourbook.mixtures.glasses import Glasses

FOLDER = Path(__file__).resolve().parent / "reference" / "mixtures"


def rows(name):
    """The rows of a file, each as text by heading."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def glasses(components, blends, response, assessors=()):
    """Glasses as a fit takes them, from parts of any size."""
    blends = np.asarray(blends, dtype=float)
    blends = blends / blends.sum(axis=1, keepdims=True)
    return Glasses(tuple(components), blends, np.asarray(response, dtype=float), tuple(assessors))


def published(name, components, response="y"):
    """Glasses of a published table."""
    table = rows(name)
    blends = [[float(row[component]) for component in components] for row in table]
    return glasses(components, blends, [float(row[response]) for row in table])


YARN = published("yarn", ("x1", "x2", "x3"))
FISH = published("fish_patties", ("x1", "x2", "x3"))
REGION = published("four_component_region", ("x1", "x2", "x3", "x4"))


def fruit_drinks(consumers):
    """Sixteen fruit drinks scored by so many consumers: an assessor tasted each once."""
    blends = [[float(row[name]) for name in FRUITS] for row in rows("fruit_drink_composition")]
    scores = [[float(row[f"c{one}"]) for one in range(1, consumers + 1)] for row in rows("fruit_drink_scores")]
    names = [f"c{one}" for one in range(1, consumers + 1)]
    return glasses(FRUITS, np.repeat(blends, consumers, axis=0), np.ravel(scores), names * len(blends))


FRUITS = ("orange", "banana", "mango", "lemon")
