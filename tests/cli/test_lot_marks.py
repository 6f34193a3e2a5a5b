"""What a lot is known by outside: its mark, its GTIN, the numbers of its cases.

Bottles bear the mark for good (Directive 2011/91/EU, article 4, wants it on each), so no change of it in the book
reaches them; that a GTIN stays with a product is the GS1 GTIN management standard's (not checked against the standard).
"""

import pytest
from command import VATTED, bottled, here, recorded

WHEN = ("--when", "2024-03-01")


@pytest.fixture
def book(tmp_path):
    """A vatting, and a lot of 100 bottles with its mark."""
    lot = bottled(100, "Lot 1", "--lot-mark", "L24-1")
    return recorded(tmp_path / "house.pourbook", *VATTED, lot, settings=("--set", "company_prefix=9521234"))


def does(book, *words):
    return here(*words, *WHEN, book=book)


def found(book, mark):
    """The lot that a mark on a bottle names."""
    return here("show", mark, "--json", book=book).done().json["id"]


def test_a_mark_is_of_one_lot(book):
    """A second lot of the same mark is asked about, bottled or set, however the mark is written."""
    again = ("bottle", "Vatting 1", "--count", "10", "--size", "700 ml", "--ref", "Lot 2")
    for mark in ("L24-1", "l24-1", "24-1"):
        assert "L-000001-C" in does(book, *again, "--lot-mark", mark).err
    does(book, *again, "--lot-mark", "L24-2").done()
    assert "L-000001-C" in does(book, "set", "Lot 2", "lot_mark=L24-1", "--reason", "misprint").err
    does(book, "set", "Lot 2", "lot_mark=L24-1", "--reason", "misprint", "--confirm").done()
    assert "2 items" in here("show", "L24-1", book=book).err


def test_a_changed_mark_finds_the_lot_by_the_old_one(book):
    """With the reason; it stands among the corrections of the dossier, and nobody else takes the old mark unasked."""
    assert "--reason" in does(book, "set", "Lot 1", "lot_mark=L24-7").err
    does(book, "set", "Lot 1", "lot_mark=L24-1").done()  # as it was
    does(book, "set", "Lot 1", "lot_mark=L24-7", "--reason", "printed wrong on 40 bottles").done()
    assert found(book, "L24-1") == found(book, "L24-7") == "L000001C"
    assert here("scan", "(10)L24-1", "--json", book=book).json["id"] == "L000001C"
    again = ("bottle", "Vatting 1", "--count", "10", "--size", "700 ml", "--lot-mark", "L24-1")
    assert "is, or was" in does(book, *again).err
    printed = does(book, "dossier", "Lot 1", "-o", book.parent / "dossier.pdf", "--json").done().json["dossier"]
    (row,) = printed["corrections"]
    assert (row["change"], row["reason"]) == ("lot mark L24-1 → L24-7", "printed wrong on 40 bottles")


def test_a_printed_gtin_is_changed_only_on_asking(book):
    """Nothing was printed with the first one; labels were printed with the second."""
    does(book, "gtin", "Lot 1", "--item", "567").done()
    does(book, "gtin", "Lot 1", "--item", "568").done()
    does(book, "label", "Lot 1", "--template", "lot-carton-roll-100x60", "-o", book.parent / "label.pdf").done()
    asked = does(book, "gtin", "Lot 1", "--item", "569")
    assert (asked.status, "9521234005681" in asked.err) == (1, True)
    does(book, "gtin", "Lot 1", "--item", "568").done()
    does(book, "gtin", "Lot 1", "--item", "569", "--confirm").done()


def test_no_more_cases_than_its_bottles_can_fill(book):
    """A hundred bottles make sixteen cases of six and a seventeenth of four; pallets are counted by themselves."""
    does(book, "cases", "Lot 1", "--count", "16", "--bottles", "6").done()
    assert "108 bottles" in does(book, "cases", "Lot 1", "--count", "2", "--bottles", "6").err
    does(book, "cases", "Lot 1", "--count", "1", "--bottles", "6").done()
    assert does(book, "cases", "Lot 1", "--count", "1", "--bottles", "6").status == 1
    does(book, "cases", "Lot 1", "--count", "1", "--bottles", "6", "--confirm").done()
    does(book, "pallets", "Lot 1", "--cases", "16", "--bottles", "6").done()
