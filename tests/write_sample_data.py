"""Write the files of the invented Quillmere distillery into sample_data/, from a fixed seed.

Everything in them is made up: house, people, woods in their order, figures. What is common practice
(no source): casks of 190 to 500 litres, new make of 63 to 68 % vol, a loss of about two per cent of
volume a year, strength falling a little in a damp warehouse.

    python tests/write_sample_data.py [FOLDER]
"""

import csv
import random
import sys
from datetime import date
from pathlib import Path

SEED = 1887
PEOPLE = ("Maud Aldane", "Pankracy Wiżbor", "Isla Farrow")

# ref, wood, capacity in litres, spirit, filled, strength, previous contents
CASKS = [
    ("Q 101", "first-fill oak barrel", 200, "malt spirit", "2014-03-12", 63.5, ""),
    ("Q 102", "first-fill oak barrel", 200, "malt spirit", "2014-03-12", 63.5, ""),
    ("Q 103", "first-fill oak barrel", 200, "malt spirit", "2015-02-24", 63.4, ""),
    ("Q 104", "refill oak hogshead", 250, "malt spirit", "2015-02-24", 63.4, ""),
    ("Q 105", "refill oak hogshead", 250, "malt spirit", "2016-04-05", 63.6, ""),
    ("Q 106", "refill oak hogshead", 250, "malt spirit", "2016-04-05", 63.6, ""),
    ("Q 107", "virgin oak barrel", 200, "rye spirit", "2016-10-18", 62.5, ""),
    ("Q 108", "virgin oak barrel", 200, "rye spirit", "2016-10-18", 62.5, ""),
    ("Q 109", "virgin oak barrel", 200, "rye spirit", "2017-09-05", 62.4, ""),
    ("Q 110", "refill oak hogshead", 250, "malt spirit", "2017-03-21", 63.5, ""),
    ("Q 111", "refill oak hogshead", 250, "malt spirit", "2018-03-13", 63.5, ""),
    ("Q 112", "refill oak hogshead", 250, "malt spirit", "2018-03-13", 63.5, ""),
]
FINISHING = [
    ("Q 201", "quince-brandy barrel", 350, "quince brandy, emptied 2019-05"),
    ("Q 202", "fortified-wine hogshead", 250, "sweet fortified wine, sulphured 2019-02 (sulphites)"),
    ("Q 203", "rum barrel", 195, "pot-still rum"),
    ("Q 204", "virgin mulberry cask", 225, ""),
    ("Q 205", "quince-brandy barrel", 350, "quince brandy, emptied 2020-11"),
    ("Q 206", "fortified-wine hogshead", 250, "dry fortified wine, sulphured 2020-08 (sulphites)"),
]
# from, to, when: spirit moved whole into a cask of another wood
FINISHES = [
    ("Q 101", "Q 201", "2019-06-04"),
    ("Q 103", "Q 202", "2019-06-04"),
    ("Q 107", "Q 203", "2020-09-15"),
    ("Q 110", "Q 204", "2021-03-30"),
    ("Q 104", "Q 205", "2021-03-30"),
    ("Q 108", "Q 206", "2021-10-12"),
]


class Files:
    """The rows, and what each cask roughly holds, so that the figures hang together."""

    def __init__(self) -> None:
        self.random = random.Random(SEED)
        self.items: list[list[str]] = []
        self.pours: list[list[str]] = []
        self.gauges: list[list[str]] = []
        self.since: dict[str, date] = {}
        self.litres: dict[str, float] = {}
        self.strength: dict[str, float] = {}

    def who(self) -> str:
        return self.random.choice(PEOPLE)

    def item(self, ref: str, kind: str, made: str, name: str = "", wood: str = "", capacity: int = 0,
             spirit: str = "", place: str = "", note: str = "", previous: str = "") -> None:  # fmt: skip
        fills = "1" if wood.startswith("refill") else ""
        self.items.append([ref, kind, made, name, wood, str(capacity or ""), spirit, place, note, previous, fills])

    def pour(self, source: str, target: str, quantity: str, unit: str, happened: str, strength: str = "",
             temperature: str = "", reason: str = "", disposition: str = "", cost: str = "") -> None:  # fmt: skip
        self.pours.append(
            [source, target, quantity, unit, strength, temperature, happened, self.who(), reason, disposition, cost]
        )

    def gauge(self, ref: str, happened: str) -> None:
        """A regauge: dip at cellar temperature, strength by density meter."""
        litres, strength = self.litres[ref], self.strength[ref]
        self.gauges.append(
            [ref, f"{litres:.1f}", "l", f"{strength:.1f}", f"{self.random.uniform(9, 15):.1f}",
             f"{happened}T10:{self.random.randrange(60):02d}", self.who(), "dip rod 2, density meter 1"]
        )  # fmt: skip

    def age(self, ref: str, day: str) -> None:
        """What the angels took since it was filled or last aged, and what that did to the strength."""
        years = (date.fromisoformat(day) - self.since[ref]).days / 365.25
        self.since[ref] = date.fromisoformat(day)
        self.litres[ref] *= 1 - 0.019 * years * self.random.uniform(0.85, 1.15)
        self.strength[ref] -= 0.28 * years * self.random.uniform(0.8, 1.2)


def history(files: Files) -> None:
    """Twelve years: fillings, finishes, samples, two vattings with a heel, two lots."""
    for number, (ref, wood, capacity, spirit, filled, strength, previous) in enumerate(CASKS):
        files.item(ref, "cask", filled, "", wood, capacity, spirit, f"Warehouse 1, row {number % 4 + 1}", "", previous)
        litres = capacity * files.random.uniform(0.975, 0.99)
        temperature = files.random.uniform(11, 17)
        files.pour("origin", ref, f"{litres:.1f}", "l", f"{filled}T09:{5 + number:02d}", f"{strength}",
                   f"{temperature:.1f}", "new make", cost="6.40" if spirit == "malt spirit" else "7.10")  # fmt: skip
        files.litres[ref], files.strength[ref] = litres, strength
        files.since[ref] = date.fromisoformat(filled)
    for number, (ref, wood, capacity, previous) in enumerate(FINISHING):
        files.item(ref, "cask", "", "", wood, capacity, "", f"Warehouse 2, row {number % 3 + 1}", "", previous)
    for source, target, day in FINISHES:
        files.age(source, day)
        files.gauge(source, day)
        files.pour(source, target, "all", "", f"{day}T14:00", reason="racked for finishing")
        files.litres[target] = files.litres.pop(source)
        files.strength[target] = files.strength.pop(source)
        files.since[target] = files.since.pop(source)
    first_vatting(files)
    second_vatting(files)
    for ref in sorted(files.litres):
        files.age(ref, "2025-11-18")
        files.gauge(ref, "2025-11-18")


def first_vatting(files: Files) -> None:
    """2022: two casks and water, a lot of 440 bottles, and a heel that stays in the vat."""
    for number, ref in enumerate(("Q 102", "Q 201", "Q 202"), start=1):
        files.item(f"S 22-{number:02d}", "vial", "2022-01-17", note=f"drawn from {ref} for trial 22-A")
        files.pour(ref, f"S 22-{number:02d}", "200", "ml", f"2022-01-17T11:{number:02d}")
    files.item("Trial 22-A", "trial", "2022-01-18", "Ostrewick, first idea")
    for vial, amount in (("S 22-01", "57"), ("S 22-02", "31"), ("S 22-03", "12")):
        files.pour(vial, "Trial 22-A", amount, "ml", "2022-01-18T15:00")
    files.pour("Trial 22-A", "loss", "all", "", "2022-01-19T16:00", reason="panel of six", disposition="tasting")
    files.item("Vatting 1", "batch", "2022-03-08", "Ostrewick 2022", place="Vat 1")
    for ref, litres in (("Q 102", 114.0), ("Q 201", 62.0), ("Q 202", 24.0)):
        files.pour(ref, "Vatting 1", f"{litres}", "l", "2022-03-08T09:30", temperature="12")
        files.litres[ref] -= litres + 0.2
    files.pour("water", "Vatting 1", "52", "kg", "2022-03-09T09:00", reason="reduction")
    files.item("Lot 2022-1", "lot", "2022-04-05", "Ostrewick 2022", note="440 bottles of 0.5 l")
    files.pour("Vatting 1", "Lot 2022-1", "220", "l", "2022-04-05T10:00")
    files.pour("Vatting 1", "loss", "2.5", "l", "2022-04-05T15:30", reason="filter and line", disposition="line")


def second_vatting(files: Files) -> None:
    """2024: the heel of the first, three casks, water; a lot of 450 bottles; a heel remains."""
    files.item("Vatting 2", "batch", "2024-02-20", "Ostrewick 2024", place="Vat 1")
    files.pour("Vatting 1", "Vatting 2", "all", "", "2024-02-20T08:30", reason="heel")
    for ref, litres in (("Q 102", 34.0), ("Q 105", 108.0), ("Q 203", 14.0), ("Q 201", 38.0)):
        files.pour(ref, "Vatting 2", f"{litres}", "l", "2024-02-20T09:15", temperature="11")
        files.litres[ref] -= litres
    files.pour("water", "Vatting 2", "51", "kg", "2024-02-21T09:00", reason="reduction")
    files.item("Lot 2024-1", "lot", "2024-03-19", "Ostrewick 2024", note="450 bottles of 0.5 l")
    files.pour("Vatting 2", "Lot 2024-1", "225", "l", "2024-03-19T10:00")
    files.pour("Vatting 2", "loss", "2.1", "l", "2024-03-19T15:10", reason="filter and line", disposition="line")


def bought(files: Files) -> list[list[str]]:
    """Casks bought from elsewhere, one of them of unknown age."""
    _ = files
    return [
        ["Q 301", "rum barrel", "195", "2026-02-11", "rye spirit", "181.5", "l", "59.8", "9.5", "Warehouse 2, row 4",
         "pot-still rum", "2190", "2019-12-02", "Quillmere", "bought with certificate 26-014"],
        ["Q 302", "oak hogshead", "250", "2026-02-11", "malt spirit", "214.0", "l", "57.2", "9.5", "Warehouse 2, row 4",
         "unknown", "", "", "Quillmere", "bought without papers: age unknown"],
        ["Q 303", "virgin mulberry cask", "225", "2026-02-12", "", "", "", "", "", "Cooperage", "", "", "", "Quillmere",
         "new, empty"],
    ]  # fmt: skip


# number of casks, first number, wood, capacity in litres, spirit, years filled, previous contents
STOCK = [
    (12, 401, "refill oak hogshead", 250, "malt spirit", (2012, 2014, 2016), ""),
    (5, 421, "quince-brandy barrel", 300, "malt spirit", (2013, 2015), "quince brandy"),
    (3, 431, "virgin mulberry cask", 225, "malt spirit", (2014, 2015), ""),
    (2, 441, "virgin oak barrel", 200, "rye spirit", (2017,), ""),
]


def stock() -> tuple[list[list[str]], list[list[str]]]:
    """Casks of the third warehouse, racked two high, as they were filled, and their regauges since."""
    drawn, casks, gauges = random.Random(SEED + 1), [], []
    for count, first, wood, capacity, spirit, years, previous in STOCK:
        for number in range(count):
            ref, place = f"Q {first + number}", f"Warehouse 3, row {len(casks) // 8 + 1}"
            place += f", tier {len(casks) % 2 + 1}, position {len(casks) % 8 // 2 + 1}"
            filled = date(years[number % len(years)], 3, 4 + number)
            litres, strength = capacity * drawn.uniform(0.97, 0.99), drawn.uniform(63.2, 63.8)
            cost = f"{drawn.uniform(5.8, 7.2):.2f}"
            casks.append([ref, wood, str(capacity), filled.isoformat(), spirit, f"{litres:.1f}", "l", f"{strength:.1f}",
                          "12", place, previous, "Quillmere", cost])  # fmt: skip
            loss, falls = drawn.uniform(0.016, 0.022), drawn.uniform(0.2, 0.34)
            for day in ("2021-10-14", "2026-08-27"):
                passed = (date.fromisoformat(day) - filled).days / 365.25
                gauges.append([ref, f"{litres * (1 - loss) ** passed:.1f}", "l", f"{strength - falls * passed:.1f}",
                               "12", f"{day}T10:{10 + number:02d}", drawn.choice(PEOPLE)])  # fmt: skip
    return casks, gauges


BOUNDS = [["base", "65", "95"], ["chestnut", "3", "25"], ["heather", "0", "12"]]
VIALS = [["S 26-01", "60", "85"], ["S 26-02", "10", "35"], ["S 26-03", "3", "15"]]
"""Bounds of blends in parts of a hundred: of kinds of spirit, and of vials."""

# Corners of these bounds, points between, and two repeats.
FLIGHT = [
    (95, 5, 0), (75, 25, 0), (85, 3, 12), (65, 25, 10), (65, 23, 12), (93, 3, 4), (85, 15, 0), (75, 13, 12),
    (70, 24, 6), (80, 14, 6), (80, 14, 6), (85, 15, 0),
]  # fmt: skip


def flight() -> list[list[str]]:
    """Twelve glasses by four assessors, who differ in level and err by half a point: invented, with a known truth."""
    drawn, rows = random.Random(SEED), []
    levels = {"Isla Farrow": 0.4, "Maud Aldane": -0.3, "Pankracy Wiżbor": 0.1, "Tomas Reeve": -0.2}
    for assessor, level in levels.items():
        for at, (base, chestnut, heather) in enumerate(FLIGHT):
            pear = 3.2 - 0.09 * chestnut + 0.02 * heather
            smoke = 0.3 + 0.30 * heather - 0.004 * heather * chestnut
            liking = 4.2 + 0.10 * chestnut + 0.55 * heather - 0.022 * heather * chestnut - 0.022 * heather**2
            figures = [
                min(max(round(2 * (true + level + drawn.gauss(0, 0.5))) / 2, low), high)
                for true, low, high in ((pear, 0, 5), (smoke, 0, 5), (liking, 1, 9))
            ]
            parts = map(str, (base, chestnut, heather))
            rows.append([f"glass {chr(65 + at)}", *parts, assessor, *map(str, figures)])
    return rows


def planned_casks() -> list[list[str]]:
    """Casks of four components for a plan without a book, from a seed of their own; two on hold, a few too young."""
    chance, rows = random.Random(SEED + 1), []
    kinds = (
        ("ash base", 22, 250, 60.0),
        ("chestnut", 10, 200, 62.0),
        ("rye", 6, 190, 61.0),
        ("heather rich", 8, 225, 58.0),
    )
    for name, count, capacity, strength in kinds:
        for _ in range(count):
            number = len(rows) + 1
            days = chance.randint(2700, 6200)
            volume = capacity * (1 - 0.02 * days / 365.25) * chance.uniform(0.96, 1.0)
            rows.append([
                f"Q {600 + number}", name, f"{volume:.1f}", f"{strength + chance.uniform(-3, 2):.1f}", str(days),
                f"{chance.uniform(4, 12):.2f}", f"Dunnage 2/row {1 + number // 8}/tier {1 + number % 3}",
                {9: "sample away for analysis", 31: "bung leaks"}.get(number, ""),
            ])  # fmt: skip
    return rows


def write(path: Path, heads: str, rows: list[list[str]]) -> None:
    """One CSV file."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(heads.split())
        writer.writerows(rows)


def main(folder: Path) -> None:
    """All files."""
    files = Files()
    history(files)
    write(
        folder / "history" / "items.csv",
        "ref kind made name wood capacity_l spirit place note previous earlier_fills",
        files.items,
    )
    write(
        folder / "history" / "pours.csv",
        "source target quantity unit strength temperature_c happened by reason disposition cost",
        files.pours,
    )
    write(folder / "gauges.csv", "item amount unit strength temperature_c happened by instrument", files.gauges)
    write(folder / "bounds.csv", "component lower upper", BOUNDS)
    write(folder / "vials.csv", "component lower upper", VIALS)
    write(folder / "flight.csv", "glass base chestnut heather assessor pear smoke liking", flight())
    casks, gauges = stock()
    write(
        folder / "stock.csv",
        "ref wood capacity_l filled spirit quantity unit strength temperature_c place previous owner cost",
        casks,
    )
    write(folder / "stock_gauges.csv", "item amount unit strength temperature_c happened by", gauges)
    write(
        folder / "plan_casks.csv",
        "ref component volume_l_20c strength_20c wood_days cost_per_lpa place hold",
        planned_casks(),
    )
    write(
        folder / "casks.csv",
        "ref wood capacity_l filled spirit quantity unit strength temperature_c place previous in_wood distilled"
        " owner note",
        bought(files),
    )


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[1] / "sample_data")
