"""How long a look ahead of ten years takes by litres, of a book with 50, 500 and 5,000 casks.

    python tests/benchmarks/looking_ahead.py

Casks of four components, one of them older casks of another's kind, filled over twenty years and gauged once. Prints
how many of the batches that are wanted can be made, and the seconds of the processor.
"""

import random
import tempfile
from pathlib import Path
from time import process_time

from pourbook import Book, Draft, Gauge, Item, Move, Pour
from pourbook.actions.happening import Happening
from pourbook.book.entries import Component, RecipePart
from pourbook.book.numbering import next_id
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.plans.ahead import AheadAsked
from pourbook.queries.plans.asked import PlanAsked
from pourbook.times import DAY_US, house_zone, read_time

UTC = house_zone("UTC")
NOW, GAUGED, OPENED = (read_time(day, UTC) for day in ("2026-12-01", "2026-06-01", "2000-01-01"))
KINDS = (
    Component("Base", "malt", "oak", min_age=5),
    Component("Old", "malt", "oak", min_age=15),
    Component("Rich", wood="chestnut", min_age=8),
    Component("Rye", "rye", "ash", min_age=4),
)
PARTS = (
    RecipePart("Base", "60 in 55..65"), RecipePart("Old", "20 in 18..22"),
    RecipePart("Rich", "8 in 7..9"), RecipePart("Rye", "12 in 10..14"),
)  # fmt: skip


def book_of(path, count):
    """A book with so many casks."""
    chance, house = random.Random(1), Happening("M. Aldane")
    book = Book.create(path, house="Quillmere", clock=lambda: NOW)
    casks, entries = [], []
    for _ in range(count):
        number = int(casks[-1][1:-1]) + 1 if casks else 1
        casks.append(next_id(book.store, "cask", after=number))
        entries.append((OPENED, Item(casks[-1], {"wood": chance.choice(("oak", "oak", "chestnut", "ash"))})))
        filled_us = GAUGED - round(chance.uniform(1, 22) * 365) * DAY_US
        litres, years = chance.uniform(150, 220), (GAUGED - filled_us) / DAY_US / 365
        facts = {"spirit": chance.choice(("malt", "malt", "rye")), "wood_days": "0"}
        fill = Move("origin", casks[-1], read_amount(f"{litres:.1f} l"), read_strength("63.5"), facts=facts)
        entries.append((filled_us, Pour("fill", (fill,))))
        left, strength = f"{litres * 0.98**years:.1f} l", f"{63.5 - 0.2 * years:.1f}"
        entries.append((GAUGED, Gauge(casks[-1], read_amount(left), read_strength(strength))))
    entries += [(OPENED, kind) for kind in KINDS]
    entries.sort(key=lambda pair: pair[0])
    for at in range(0, len(entries), 1000):
        book.record(*(Draft(entry, moment, "M. Aldane") for moment, entry in entries[at : at + 1000]))
    book.write_recipe(house, "Autumn", PARTS)
    return book


def main():
    print(" casks  wanted  found  seconds")
    with tempfile.TemporaryDirectory() as folder:
        for count in (50, 500, 5000):
            with book_of(Path(folder) / f"{count}.pourbook", count) as book:
                batch = PlanAsked(read_amount(f"{count} l"), to_strength=read_strength("46"))
                began = process_time()
                found = book.ahead("Autumn", batch, AheadAsked(batches=8, by="litres"))
                took = process_time() - began
                made = sum(year.made for year in found.ahead.years)
                print(f"{count:6}  {80:6}  {made:5}  {took:7.2f}")


if __name__ == "__main__":
    main()
