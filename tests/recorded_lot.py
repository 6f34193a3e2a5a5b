"""A lot of which everything is recorded that a dossier can tell, from so many casks: invented, like all of Quillmere.

with recorded_lot(12) as house:
    dossier_of(house.book, house.id("L1"))
"""

from house import House

from pourbook import Gauge, Move, Pour
from pourbook.actions.happening import Happening
from pourbook.actions.trade_numbers import Gtins
from pourbook.gauging.recorded_values import UsedInstrument
from pourbook.quantities import read_amount, read_strength

SETTINGS = {
    "zone": "Europe/London",
    "address": "Mill Lane 4, Quillmere",
    "licence": "DSP-XX-00000",
    "company_prefix": "9521234",
    "age_rule": "uk-oak-700",
}
WOODS = (
    ("first-fill oak barrel", ""),
    ("refill oak hogshead", ""),
    ("fortified-wine hogshead", "dry fortified wine (sulphites)"),
)
SPIRITS = (("malt spirit", "Fennick Moor"), ("rye spirit", "Corran Vale"))
ADDRESS = "4 Harbour Row, Sallowmere"
CONTACT = "Ida Penn, 01632 960 144"


def recorded_lot(casks, path=":memory:"):
    """The house: casks C1 to Cn filled, gauged, vatted as B1 after trial T1, reduced, bottled as L1, sent, returned."""
    house = packed_lot(casks, path)
    sent(house)
    house.book.clock.us = house.clock.us + 86_400_000_000
    return house


def packed_lot(casks, path=":memory:"):
    """The same house in March 2024, when all of the lot was still in it."""
    house = House(path, **SETTINGS)
    _instruments(house)
    _casks(house, casks)
    _trial(house)
    _vatted(house, casks)
    _bottled(house)
    _packed(house)
    return house


def _how(house, at, who="Maud Aldane", **more):
    from house import moment

    house.clock.us = max(house.clock.us, moment(at))
    return Happening(who, moment(at), **more)


def _instruments(house):
    from pourbook import Item

    known = {
        "instrument": "hydrometer", "ref": "H-3", "certificate": "CAL 23-118", "due": "2025-01-01", "resolution": "0.1",
    }  # fmt: skip
    house.ids["N1"] = house.book.next_id("instrument")
    house.record(Item(house.ids["N1"], known), at="2011-12-01")


def _casks(house, casks):
    for number in range(1, casks + 1):
        wood, previous = WOODS[number % 3]
        (spirit, distiller), name = SPIRITS[number % 2], f"C{number}"
        facts = {"ref": f"Row {number // 12 + 1}/{number % 12 + 1:02d}", "wood": wood, "capacity_l": "250"}
        facts |= {"previous": previous} if previous else {}
        facts |= {"allergens": "sulphites"} if "sulphites" in previous else {}
        house.record(house.opening(name, **facts), at="2012-01-01")
        house.fill(
            name, f"{200 + number % 17} l", f"{62 + number % 3}.5", at=f"2012-03-{number % 28 + 1:02d} 09:00",
            spirit=spirit, distiller=distiller, distilled="2012-02-27", wood_days=0, supplier="Tarn Bulk Spirit",
            document=f"MD 12-{number:03d}", carrier="Ferrow Haulage, tank 7",
        )  # fmt: skip
    for number in range(1, casks + 1):
        house.gauge(
            f"C{number}", f"{172 + number % 15}.5 l", f"{59 + number % 3}.4", temperature_c=11.0,
            at="2024-02-01 10:00", instruments=[("H-3", house.ids["N1"])],
        )  # fmt: skip


def _trial(house):
    from pourbook import Recipe, RecipePart

    house.record(house.opening("V1", ref="S 24-01"), at="2024-02-02 09:00")
    house.draw("C1", "V1", "250 ml", at="2024-02-02 09:30")
    made = Recipe("Ostrewick 24", (RecipePart(house.id("V1"), "1", "base"),))
    opened = house.opening("T1", ref="Trial 24-A", name="Ostrewick", follows="Ostrewick 24", total="100 ml")
    house.record(made, opened, at="2024-02-03 09:00")
    house.pour("V1", "T1", "100 ml", at="2024-02-03 10:00")


def _vatted(house, casks):
    batch = house.opening("B1", ref="Vatting 7", name="Ostrewick", follows=house.id("T1"), owner="Quillmere")
    house.record(batch, at="2024-02-28")
    house.facts("B1", at="2024-02-28 09:00", duty="suspended")
    house.hold("C1", at="2024-02-10")
    house.unhold("C1", at="2024-02-12")
    if casks > 1:
        wrong = house.pour("C2", "B1", "5 l", verb="vat", at="2024-03-01 08:00")
        house.void(wrong, at="2024-03-01 08:30", reason="poured before the sample was released")
    for number in range(1, casks + 1):
        house.pour(f"C{number}", "B1", f"{100 + number % 7} l", verb="vat", at=f"2024-03-01 {9 + number // 10:02d}:30")
    amount = f"{34 * casks} l"
    watered = house.water("B1", f"{30 * casks} l", at="2024-03-02 09:00", about="demineralised", batch="W 24-03")
    line = Move("water", house.id("B1"), read_amount(amount), facts={"about": "demineralised", "batch": "W 24-03"})
    house.replace(watered, Pour("reduce", (line,)), at="2024-03-02 09:00", reason="meter misread")
    held = house.book.show(house.id("B1"))
    house.record(
        Gauge(
            house.id("B1"), read_amount(f"{held.volume_ml_20c / 1000 - 0.4 * casks:.1f} l"),
            read_strength(f"{held.strength_20c:.1f}"), instruments=(UsedInstrument("H-3", house.ids["N1"]),),
        ),
        at="2024-03-05 09:00", confirmed=True,
    )  # fmt: skip
    house.note("B1", "rested four days, clear", at="2024-03-06 08:00")


def _bottled(house):
    from pourbook.actions.vats import Bottling

    facts = {
        "ref": "Lot 24-1", "lot_mark": "L24-066", "closure": "cork, Holm Corks, HC 88", "bottle_lot": "flint 700, TG 4",
        "label": "Ostrewick v3", "carton": "six, plain",
    }  # fmt: skip
    count = int(house.book.show(house.id("B1")).volume_ml_20c / 700) // 12 * 12 - 12
    bottling = Bottling(count, read_amount("700 ml"), facts, (("filter", read_amount("1.5 l")),))
    made = house.book.bottle(_how(house, "2024-03-06 10:00", "Isla Farrow", confirm=True), house.id("B1"), bottling)
    house.ids["L1"] = made.lot


def _packed(house):
    book, lot = house.book, house.id("L1")
    book.set_gtin(_how(house, "2024-03-07 09:00"), lot, Gtins(reference="567", case_indicator="1"))
    house.cases = book.number_cases(_how(house, "2024-03-07 10:00"), lot, 10, 6).ssccs


def sent(house):
    """April to June: bottles to two customers, some back, one tasted."""
    from pourbook.actions.leaving import Leaving
    from pourbook.quantities import in_bottles

    book, lot, cases = house.book, house.id("L1"), house.cases
    first = {
        "document": "DN 2214",
        "address": ADDRESS,
        "carrier": "Ferrow Haulage",
        "contact": CONTACT,
        "units": " ".join(cases[:8]),
    }
    book.despatch(_how(house, "2024-04-02 11:00"), lot, Leaving(in_bottles(48)), "Harbour Row Wines", first)
    back = {"document": "CN 31", "units": cases[7]}
    book.take_back(_how(house, "2024-05-02 11:00"), lot, 6, "Harbour Row Wines", back)
    other = {"document": "DN 2230", "units": " ".join(cases[8:]), "disposition": "export"}
    book.despatch(_how(house, "2024-06-02 11:00"), lot, Leaving(in_bottles(12)), "Ashgrove Merchants", other)
    book.lose(_how(house, "2024-06-09 15:00", confirm=True), lot, Leaving(in_bottles(1)), "tasting")
