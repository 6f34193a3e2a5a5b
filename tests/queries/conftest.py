"""An invented vatting, bottled, despatched and corrected: what a dossier has to tell."""

import pytest
from house import House

from pourbook import Facts, Gauge, Move, Pour, Recipe, RecipePart
from pourbook.gauging.recorded_values import UsedInstrument
from pourbook.quantities import read_amount, read_strength


@pytest.fixture
def vatted():
    """Two casks dumped, reduced and bottled as L1; a second lot beside it; holds, notes and corrections."""
    with House(zone="Europe/London", currency="GBP") as house:
        yield _vatted(house)


@pytest.fixture
def vatted_book(tmp_path):
    """The same house as a file: its path."""
    path = tmp_path / "quillmere.pourbook"
    with House(path, zone="Europe/London", currency="GBP") as house:
        _vatted(house)
    return path


def _vatted(house):
    house.record(
        house.opening("C1", ref="Row 3/12", wood="virgin chestnut", capacity_l="225"),
        house.opening("C2", ref="Row 4/02", wood="fortified-wine hogshead", previous="dry fortified wine (sulphites)"),
        house.opening("C3", ref="Row 5/01"),
        house.opening("B1", ref="Vatting 7", name="Ostrewick"),
        at="2012-01-01",
    )
    new = {"wood_days": 0, "distilled": "2012-02-27"}
    house.cask("C1", "200 l", "63.5", at="2012-03-01 09:00", spirit="malt spirit", distiller="Fennick Moor", **new)
    house.cask("C2", "180 l", "62.0", at="2014-10-05 09:00", spirit="rye spirit", **new)
    house.cask("C3", "100 l", "60.0", at="2014-10-05 10:00", spirit="grain spirit", **new)
    house.gauge("C1", "171.2 l", "60.4", temperature_c=11.0, at="2024-02-01 10:00", instruments=["dip rod 2"])
    house.lose("C2", "2.5 l", at="2020-06-01", disposition="leak")
    house.gauge("C3", "90 l", "58", at="2024-02-01 11:00", instruments=["dip rod 2"])
    house.note("C2", "bung replaced", at="2021-01-10")
    house.hold("C1", at="2023-01-10")
    house.unhold("C1", at="2023-02-10")
    wrong = house.pour("C3", "B1", "5 l", verb="vat", at="2024-03-01 08:00")
    house.void(wrong, at="2024-03-01 08:30", reason="wrong cask opened")
    house.dump("C1", "B1", at="2024-03-01 09:00")
    house.pour("C2", "B1", "60 l", verb="vat", at="2024-03-01 10:00")
    watered = house.water("B1", "80 l", at="2024-03-02 09:00", about="demineralised", batch="W 24-03")
    line = Move("water", house.id("B1"), read_amount("82 l"), facts={"about": "demineralised", "batch": "W 24-03"})
    house.replace(watered, Pour("reduce", (line,)), at="2024-03-02 09:00", reason="meter misread")
    house.record(
        Gauge(
            house.id("B1"),
            read_amount("310 l"),
            read_strength("46.2"),
            16.0,
            instruments=(UsedInstrument("vat 1 scale"),),
        ),
        at="2024-03-05 09:00",
        confirmed=True,  # stronger than the water lets expect
    )
    _bottle(house)
    house.book.clock.us = house.clock.us + 86_400_000_000
    return house


def _bottle(house):
    house.record(
        house.opening("L1", ref="Lot 24-1", name="Ostrewick", lot_mark="L24-066", bottles="300", size_ml="700"),
        at="2024-03-06 09:00",
    )
    bottled = (
        house.move("B1", "L1", "210 l", bottles=300),
        house.move("B1", "loss", "1.5 l", disposition="filter"),
    )
    house.record(Pour("bottle", bottled), at="2024-03-06 10:00", who="Isla Farrow")
    house.pour("B1", "L2", "70 l", verb="bottle", at="2024-03-07 10:00")
    third = house.held("L1").mass_mg // 3
    house.pour("L1", "despatch", third, verb="despatch", at="2024-04-02", customer="Harbour Row", document="DN 1",
               bottles=100)  # fmt: skip
    back = house.held("L1").scaled(third // 10)
    house.pour("return", "L1", liquid=back, verb="return", at="2024-05-02", customer="Harbour Row", bottles=10)
    house.record(Facts(house.id("C1"), {"place": "Cooperage"}), at="2024-06-01")


@pytest.fixture
def benched():
    """Two vials drawn, a trial composed of them and water, not yet poured."""
    with House(currency="GBP") as house:
        house.record(
            house.opening("C1", ref="Row 3/12", wood="virgin chestnut", previous="none, new wood"),
            house.opening(
                "C2", ref="Row 4/02", wood="fortified-wine hogshead", previous="dry fortified wine (sulphites)"
            ),
            at="2012-01-01",
        )
        house.cask("C1", "200 l", "63.5", at="2012-03-01", spirit="malt spirit", wood_days=0, cost="10")
        house.cask("C2", "180 l", "62.0", at="2016-02-29", spirit="rye spirit", wood_days=365, cost="20")
        house.record(house.opening("V1", ref="S 1", spirit="malt spirit"), house.opening("V2"), at="2024-01-01")
        house.draw("C1", "V1", "200 ml", at="2024-03-01 09:00")
        house.draw("C2", "V2", "50 ml", at="2024-03-01 09:10")
        _composed(house, "T1", "Ash", ("V1", "6", "base"), ("V2", "3", "accent"), ("water", "1", ""))
        yield house


def _composed(house, trial, recipe, *parts, total="100 ml", at="2024-03-02 09:00", **facts):
    """Write a recipe and open a trial that follows it."""
    made = Recipe(recipe, tuple(RecipePart(house.id(name), amount, role) for name, amount, role in parts))
    return house.record(made, house.opening(trial, follows=recipe, total=total, **facts), at=at)


@pytest.fixture
def composed():
    return _composed
