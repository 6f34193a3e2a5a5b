"""A small book in which every table has rows: what damage is done to."""

from house import HOW, House, moment, new_make

from pourbook import Pour, Recipe, RecipePart, Reserve
from pourbook.actions.ballots import take_ballot
from pourbook.actions.tasting_session import close_session, open_session, pour_session
from pourbook.book.entries import Blending, Component, Imported, Packed, Paper, Stage, Taste
from pourbook.book.trade_numbers import next_ssccs
from pourbook.codes.identifiers import write
from pourbook.quantities import read_amount
from pourbook.queries.tastings.session_plan import Wish


def blind_session(house, how):
    """A session of two glasses, one of them with its ballot, poured and revealed."""
    wish = Wish((house.id("C1"), house.id("B1")), ("Isla Farrow",), read_amount("10 ml"))
    open_session(house.book, how, "Autumn", wish, draw=lambda _count: 0)
    pour_session(house.book, how, "Autumn")
    take_ballot(house.book, how, "Autumn", "102", Taste(text="sweet", score="70"))
    close_session(house.book, how._replace(confirm=True), "Autumn")


def eventful_book(path=":memory:"):
    """A small book in which every table has rows."""
    house = House(path)
    house.cask("C1", "200 l", "63.5", at="2020-01-01", spirit="malt")
    house.cask("C2", liquid=new_make(1_000_000), at="2020-01-02")
    house.draw("C1", "V1", "100 ml", at="2020-02-01")
    first = house.pour("C1", "B1", 1_000_000, at="2020-03-01")
    house.dump("C2", "B1", 990_000, at="2020-03-01 10:00")
    house.gauge("B1", None, "58", at="2020-03-02")
    house.pour("B1", "C2", 500_000, received=499_000, at="2020-03-03")
    house.hold("V1", at="2020-04-01")
    house.facts("C1", ref="Row 3/12", at="2020-04-02")
    void = house.draw("C1", "V2", 5000, at="2020-04-03")
    house.void(void, at="2020-04-04")
    house.replace(first, Pour("pour", (house.move("C1", "B1", 1_100_000),)), at="2020-03-01")
    house.record(Reserve((write("vial", 20), write("vial", 21))), at="2020-05-01")
    house.record(Recipe("Autumn", (RecipePart(house.id("C1"), "7"),)), at="2020-05-02")
    house.record(Component("Ash base", wood="ash"), at="2020-05-02")
    house.record(Paper("dossier", (house.id("B1"),), {"head": "ab"}), at="2020-05-03")
    house.record(Imported({"casks.csv": "00"}, 1, 2), at="2020-05-04")
    house.open("L1")
    house.record(Packed(house.id("L1"), "case", next_ssccs(house.book.store, "9521234", 2), "9521234", 6))
    pear = {"nose": Stage("a little shy", {"pear": "4"})}
    house.record(Taste(house.id("C1"), "Isla Farrow", stages=pear, score="82"), at="2020-05-04 10:00")
    table = Recipe("Winter", (RecipePart(house.id("C1"), "1"), RecipePart("water", "1")))
    guests = Blending("Winter", ("Isla Farrow", "Tomas Reeve"), "40 ml", "5 ml", 9_000)
    house.record(table, guests, at="2020-05-04 11:00")
    blind_session(house, HOW._replace(when_us=moment("2020-05-04 12:00")))
    house.close_period("2020-05-05")
    house.fill("B1", "1 l", "60", pending=True, at="2020-06-01")
    assert house.book.verify().faults == ()
    return house
