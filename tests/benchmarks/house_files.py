"""A made-up house as items.csv and pours.csv, of any length: what imports are measured with.

    python tests/benchmarks/house_files.py FOLDER POURS [SEED]

Casks are filled, sampled, racked and dumped; vials meet in trials; batches are vatted from casks and
water and bottled into lots. Most stand alone; some belong to a line that hands its heel on until
its vat is cleaned, and one line has kept its heel from the first day; now and then a blend goes
back into casks. So most lots have a short lineage and some have a very long one. Every amount is
there when it is poured. The whole history is drawn from the seed and written row by row.
"""

import csv
import random
import sys
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

__all__ = ["ITEMS", "POURS", "write_house"]

ITEMS = ("ref", "kind", "made", "name", "wood", "capacity_l", "spirit", "place", "note")
POURS = ("source", "target", "quantity", "unit", "strength", "temperature_c", "happened", "by", "reason")

_PEOPLE = ("M. Aldane", "T. Verrow", "Isolde Quarn", "P. Hask")
_WOODS = ("virgin chestnut", "old oak", "cherry", "ash")
_START = datetime(1990, 1, 1, 8)  # noqa: DTZ001 (house time)
_YEARS = 30
_ALONE, _ENDLESS = 0, 4
"""A batch that belongs to no line; the line whose vat is never emptied."""

_MARGIN = 0.93
"""Of what was poured in, so much is counted on: mixing contracts, and books round."""


class _Pour(NamedTuple):
    source: str
    target: str
    quantity: str
    unit: str
    strength: str = ""
    temperature_c: str = ""
    reason: str = ""


class _House:
    """Casks that lie full, and the heels of the lines."""

    def __init__(self, seed: int, items: "csv.Writer") -> None:  # type: ignore[name-defined]
        self.draw = random.Random(seed)
        self.items = items
        self.made: dict[str, int] = {}
        self.litres: dict[str, float] = {}
        self.empty: list[str] = []
        self.heels: dict[int, str] = {}

    def item(self, kind: str, **facts: str) -> str:
        number = self.made[kind] = self.made.get(kind, 0) + 1
        ref = f"{kind} {number}"
        row = {"ref": ref, "kind": kind, **facts}
        self.items.writerow([row.get(column, "") for column in ITEMS])
        return ref

    def fill(self) -> Iterator[_Pour]:
        cask = self.item(
            "cask",
            wood=self.draw.choice(_WOODS),
            capacity_l="250",
            spirit="single pot",
            place=f"row {self.draw.randrange(40)}",
        )
        litres = self.draw.randrange(1800, 2400) / 10
        strength = self.draw.randrange(5800, 6600) / 100
        self.litres[cask] = litres
        yield _Pour("origin", cask, f"{litres}", "l", f"{strength}", self.draw.choice(("", "18", "21.5")))

    def bench(self) -> Iterator[_Pour]:
        """Three samples, a trial of them, the rest to the drain."""
        casks = self.draw.sample(list(self.litres), 3)
        vials = []
        for cask in casks:
            vial = self.item("vial")
            self.litres[cask] -= 0.1
            yield _Pour(cask, vial, "100", "ml")
            vials.append(vial)
        trial = self.item("trial", name="a try")
        for vial in vials:
            yield _Pour(vial, trial, f"{self.draw.randrange(50, 300) / 10}", "ml")
        yield _Pour("water", trial, f"{self.draw.randrange(10, 200) / 10}", "g")
        yield _Pour(trial, "loss", "all", "", reason="tasted")

    def angels(self) -> Iterator[_Pour]:
        cask = self.draw.choice(list(self.litres))
        self.litres[cask] *= 0.98
        yield _Pour(cask, "loss", f"{self.litres[cask] * 0.015:.2f}", "kg", reason="evaporation")

    def rack(self) -> Iterator[_Pour]:
        """All of a cask into an empty one."""
        cask = self.draw.choice(list(self.litres))
        target = self.empty.pop() if self.empty else self.item("cask", wood="cherry", capacity_l="250")
        self.litres[target] = self.litres.pop(cask)
        self.empty.append(cask)
        yield _Pour(cask, target, "all", "")

    def vat(self) -> Iterator[_Pour]:
        """Casks, and the heel of a line, into a batch; water, a lot; some go back into casks."""
        batch = self.item("batch", name="house blend")
        line = self.draw.choices((_ALONE, _ENDLESS, 1, 2, 3), (12, 2, 2, 2, 2))[0]
        if line in self.heels:
            cleaned = line != _ENDLESS and self.draw.random() < 0.1
            yield _Pour(
                self.heels.pop(line), "loss" if cleaned else batch, "all", "", reason="cleaned" if cleaned else ""
            )
        litres = 0.0
        for cask in self.draw.sample(list(self.litres), self.draw.randrange(3, 8)):
            litres += self.litres.pop(cask)
            self.empty.append(cask)
            yield _Pour(cask, batch, "all", "")
        water = self.draw.randrange(100, 200)
        yield _Pour("water", batch, f"{water}", "kg")
        yield _Pour("additive", batch, f"{self.draw.randrange(100, 900)}", "g", reason="colour")
        litres = (litres + water) * _MARGIN
        if self.draw.random() < 0.1:
            litres -= 150
            cask = self.empty.pop()
            self.litres[cask] = 150.0
            yield _Pour(batch, cask, "150", "l")
        lot = self.item("lot", name="first edition")
        if line == _ALONE:
            yield _Pour(batch, lot, "all", "")
        else:
            yield _Pour(batch, lot, f"{litres - self.draw.randrange(40, 90):.1f}", "l", "", "19")
            self.heels[line] = batch

    def pours(self) -> Iterator[_Pour]:
        while True:
            full = len(self.litres)
            if full < 40 or self.draw.random() < 0.02:
                yield from self.fill()
            else:
                yield from self.draw.choices((self.bench, self.angels, self.rack, self.vat), (5, 6, 1, 1))[0]()


def write_house(folder: Path, pours: int, seed: int = 1) -> None:
    """Write items.csv and pours.csv of a house with so many pours."""
    step = timedelta(days=365 * _YEARS) / pours
    with (
        (folder / "items.csv").open("w", encoding="utf-8", newline="") as items_file,
        (folder / "pours.csv").open("w", encoding="utf-8", newline="") as pours_file,
    ):
        items, rows = csv.writer(items_file), csv.writer(pours_file)
        items.writerow(ITEMS)
        rows.writerow(POURS)
        house = _House(seed, items)
        story = house.pours()
        for number in range(pours):
            pour = next(story)
            happened = (_START + number * step).isoformat(sep=" ", timespec="seconds")
            rows.writerow((*pour[:6], happened, house.draw.choice(_PEOPLE), pour.reason))


if __name__ == "__main__":
    Path(sys.argv[1]).mkdir(parents=True, exist_ok=True)
    write_house(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]) if len(sys.argv) > 3 else 1)
