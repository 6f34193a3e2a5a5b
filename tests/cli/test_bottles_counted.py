"""Bottles of a lot are counted however they leave: opened is gone, and each holds what was filled into it.

A fact of the trade (common practice, no source): a lot is a number of bottles, and nobody pours a part of it by the
litre without opening some of them.
"""

import pytest
from command import VATTED, bottled, here, recorded

from pourbook import Book, Item, Move, Pour
from pourbook.actions.happening import Happening
from pourbook.quantities import read_amount

PERIOD = ("--from", "2024-01-01", "--to", "2024-12-31")


@pytest.fixture
def book(tmp_path):
    """A lot of 100 bottles of 700 ml, and a vat with some of the rest."""
    return recorded(tmp_path / "house.pourbook", *VATTED, bottled(100, "Lot 1"))


def does(book, *words, **options):
    return here(*words, "--when", "2024-03-01", book=book, **options)


def shown(book):
    """Bottles left, and litres held, by the book."""
    document = here("show", "Lot 1", "--json", book=book).done().json
    return document["bottles"]["left"], pytest.approx(document["volume_ml_20c"] / 1000, abs=1e-4)


def out(book):
    lines = here("account", *PERIOD, "--json", book=book).done().json["total"]["lines"]
    return {line["heading"]: line["bulk_l"] for line in lines if line["side"] in ("out", "loss")}


@pytest.mark.parametrize(
    "words",
    [
        ("draw", "Lot 1", "2 bottles", "--ref", "S 1"),
        ("pour", "Vatting 1", "Lot 1", "2 bottles"),
        ("loss", "Lot 1", "2 Bottles", "--kind", "tasting"),
        ("despatch", "Lot 1", "2 bottles", "--customer", "Harbour Row"),
        ("despatch", "Lot 1", "2", "--customer", "Harbour Row"),
    ],
)
def test_bottles_are_a_unit_wherever_they_leave(book, words):
    """Two of a hundred are gone, with 1.4 l."""
    does(book, *words).done()
    assert shown(book) == (98, 68.6)


def test_bottles_are_scanned_and_asked_about_when_scanned_twice(book):
    """One line after the other; the same bottles a second time are a question, as with any amount."""
    ran = does(book, "pour", "Vatting 1", typed="Lot 1\n2 bottles\nLot 1\n2 bottles\nagain\ndone\n")
    assert "again" in ran.err + ran.out
    assert shown(book) == (96, 67.2)


@pytest.mark.parametrize(
    ("words", "remedy"),
    [
        (("draw", "Lot 1", "100 ml"), "'1 bottle'"),
        (("pour", "Vatting 1", "Lot 1", "8.4 l"), "'12 bottles'"),
        (("loss", "Lot 1", "1 kg", "--kind", "leak"), "'2 bottles'"),
        (("despatch", "Lot 1", "8.4 l", "--customer", "Harbour Row"), "'12 bottles'"),
    ],
)
def test_an_amount_does_not_say_how_many_were_opened(book, words, remedy):
    """Nobody can confirm it: the number is asked for, and the likely one named."""
    for options in ((), ("--confirm",)):
        ran = does(book, *words, *options)
        assert (ran.status, remedy in ran.err) == (1, True), ran.err
    assert shown(book) == (100, 70.0)


def test_an_amount_that_is_not_the_bottles_of_a_despatch_cannot_replace_them(book):
    """Twelve bottles are 8.4 l; the number is replaced, not the litres, and all is derived from it again."""
    sent = does(book, "despatch", "Lot 1", "12", "--customer", "Harbour Row", "--json").done().json
    number = str(sent["entries"][-1])
    assert "'9 bottles'" in does(book, "replace", number, "--amount", "6 l", "--reason", "misread").err
    here("replace", number, "--amount", "10 bottles", "--reason", "misread", book=book).done()
    assert shown(book) == (90, 63.0)
    assert out(book) == {"despatch": pytest.approx(7.0, abs=1e-3)}


def test_a_corrected_filling_keeps_its_number_of_bottles(book):
    """Poured straight from a cask: the amount is put right, and each bottle holds its part of it."""
    does(book, "cask", "Q 2", "--fill", "100 l", "--strength", "46", "--in-wood", "0").done()
    with Book.open(book) as opened:
        lot = opened.next_id("lot")
        how = Happening("M. Aldane", opened.clock(), confirm=True)
        how.record(opened, Item(lot, {"ref": "Lot 2", "bottles": "10", "size_ml": "700"}))
        filled = Move(opened.find("Q 2"), lot, read_amount("6 l"), facts={"bottles": 10})
        number = how.record(opened, Pour("bottle", (filled,))).numbers[-1]
    here("replace", str(number), "--amount", "7 l", "--reason", "misread", book=book).done()
    document = here("show", "Lot 2", "--json", book=book).done().json
    assert (document["bottles"]["left"], round(document["volume_ml_20c"])) == (10, 7000)
    here("despatch", "Lot 2", "4", "--customer", "Harbour Row", book=book).done()
    assert round(here("show", "Lot 2", "--json", book=book).json["volume_ml_20c"]) == 4200


def test_a_bottle_holds_what_was_filled_whatever_is_left_of_the_lot(book):
    """What evaporated, or what an old entry took by the litre, leaves the contents of the others as they are."""
    does(book, "gauge", "Lot 1", "--amount", "60 l", "--kind", "theft", "--confirm").done()
    does(book, "despatch", "Lot 1", "10", "--customer", "Harbour Row").done()
    assert out(book)["despatch"] == pytest.approx(7.0, abs=1e-3)
    here("return", "Lot 1", "10", "--customer", "Harbour Row", "--when", "2024-03-02", book=book).done()
    account = here("account", *PERIOD, "--json", book=book).done().json["total"]["lines"]
    came_back = [line["bulk_l"] for line in account if line["side"] == "in" and "return" in line["heading"]]
    assert came_back == [pytest.approx(7.0, abs=1e-3)]


def test_a_gauge_does_not_count_bottles(book):
    """What it finds gone is asked about; in bottles it is refused; a strength, or what agrees, is recorded."""
    assert "100 bottles" in does(book, "gauge", "Lot 1", "--amount", "65 l").err
    assert does(book, "gauge", "Lot 1", "--amount", "98 bottles").status == 1
    does(book, "gauge", "Lot 1", "--amount", "70 l").done()
    does(book, "gauge", "Lot 1", "--strength", "46.1").done()


def test_all_of_a_lot_is_all_bottles_left_and_nothing_stays_behind(book):
    """Despatched in any parts, the last bottles take all that is left."""
    for count in ("33", "1", "29"):
        does(book, "despatch", "Lot 1", count, "--customer", "Harbour Row").done()
    does(book, "loss", "Lot 1", "all", "--kind", "destruction", "--witness", "officer 7").done()
    assert shown(book) == (0, 0)
    assert out(book)["despatch"] == pytest.approx(44.1, abs=1e-3)


def test_one_bottle_is_left(book):
    """A number and its noun agree."""
    assert "1 bottle to Harbour Row" in does(book, "despatch", "Lot 1", "1", "--customer", "Harbour Row").done().out
    does(book, "despatch", "Lot 1", "98", "--customer", "Harbour Row").done()
    assert "1 bottle is left, not 2" in does(book, "despatch", "Lot 1", "2", "--customer", "Harbour Row").err


def test_bottles_of_what_was_not_counted(book):
    """Only a lot that was bottled by count."""
    ran = does(book, "draw", "Vatting 1", "2 bottles")
    assert (ran.status, "'2 bottles'" in ran.err) == (1, True)
    for words in (("convert", "--amount", "2 bottles"), ("bottle", "Vatting 1", "--count", "1", "--size", "1 bottle")):
        assert here(*words, book=book).status != 0


def test_a_history_counts_bottles_too(book, tmp_path):
    """A lot of the book: sent, come back, and an amount that does not say how many."""
    header = "source,target,quantity,unit,happened,by,customer\n"
    rows = ("Lot 1,despatch,12,bottles,2024-03-01,M. Aldane,Harbour Row\n"
            "return,Lot 1,2 bottles,,2024-03-02,M. Aldane,Harbour Row\n")  # fmt: skip
    (tmp_path / "items.csv").write_text("ref,kind\nS 9,vial\n", encoding="utf-8")
    (tmp_path / "pours.csv").write_text(header + rows, encoding="utf-8")
    here("import", "history", tmp_path, book=book).done()
    assert shown(book) == (90, 63.0)
    by_the_litre = "Lot 1,S 10,100,ml,2024-03-03,M. Aldane,\n"
    (tmp_path / "items.csv").write_text("ref,kind\nS 10,vial\n", encoding="utf-8")
    (tmp_path / "pours.csv").write_text(header + by_the_litre, encoding="utf-8")
    ran = here("import", "history", tmp_path, book=book)
    assert (ran.status, "'1 bottle'" in ran.err + ran.out) == (1, True)
