"""Holds hold: what is recorded late does not pass them unseen, what they hold holds on, and a recall does its work.

Common practice, no source: whoever recalls takes back, destroys under witness and has samples analysed; all else rests.
"""

import pytest
from command import bottled, here, recorded


@pytest.fixture
def book(tmp_path):
    """A cask, a batch of part of it and a lot of the batch; ten bottles of it are with a customer."""
    return recorded(
        tmp_path / "house.pourbook",
        ("cask", "Q 1", "--fill", "220 l", "--strength", "46", "--in-wood", "0"),
        ("cask", "Q 2", "--fill", "100 l", "--strength", "46", "--in-wood", "0"),
        ("batch", "Vatting 1"),
        ("pour", "Vatting 1", "Q 1", "100 l"),
        bottled(100, "Lot 1"),
        ("despatch", "Lot 1", "10", "--customer", "Harbour Row"),
    )


def does(book, *words, when="2024-04-01"):
    return here(*words, "--when", when, book=book)


def recall(book, *words, when="2024-03-01"):
    """Recall the first cask, and all it reached; the number of the recall."""
    words = ("recall", "--item", "Q 1", "--actual", "--hold", "--reason", "report 31", "--json", *words)
    return does(book, *words, when=when).done().json["recall"]


def is_held(book, item):
    return "held" in here("show", item, "--json", book=book).done().json["facts"]


def lines(book, number):
    """The lines of the latest entry but so many."""
    entries = here("journal", "--json", book=book).done().json["entries"]
    return entries[-1 - number]["body"]["lines"]


@pytest.mark.parametrize("held_by", ["hand", "recall"])
def test_what_is_recorded_late_is_asked_about(book, held_by):
    """The cask is on hold since March; a pour of February is recorded only if confirmed, with the reason."""
    if held_by == "hand":
        does(book, "hold", "Q 1", "--reason", "smells of rubber", when="2024-03-01").done()
    else:
        recall(book)
    late = ("draw", "Q 1", "100 ml", "--ref", "S 1")
    ran = does(book, *late, when="2024-02-10")
    assert (ran.status, "on hold now" in ran.err, "2024-03-01" in ran.err) == (1, True, False)
    assert "--reason" in does(book, *late, "--confirm", when="2024-02-10").err
    does(book, *late, "--confirm", "--reason", "found on the sheet", when="2024-02-10").done()
    assert lines(book, 0 if held_by == "hand" else 1)[0]["confirmed"][0]["rule"] == "held-now"
    assert is_held(book, "S 1") == (held_by == "recall")
    assert "on hold" in does(book, *late[:-1], "S 2", "--confirm", "--reason", "x").err


def test_what_passed_on_is_held_by_the_same_recall_and_let_go_with_it(book):
    """A pour of February into a cask that was emptied into another since: what still holds any is held."""
    does(book, "cask", "Q 3", when="2024-02-02").done()
    does(book, "fill", "Q 3", "5 l", "--strength", "46", when="2024-02-03").done()
    does(book, "draw", "Q 3", "1 l", "--ref", "S 3", when="2024-02-20").done()
    number = recall(book)
    told = does(book, "pour", "Q 3", "Q 1", "2 l", "--confirm", "--reason", "late", when="2024-02-10").done()
    assert "same recall" in told.out + told.err
    assert is_held(book, "Q 3")
    assert is_held(book, "S 3")
    assert here("verify", book=book).done()
    released = does(book, "recall", "--release", str(number), "--reason", "clean", "--json").done().json["released"]
    assert len(released) == 5
    assert not is_held(book, "Q 3")


def test_a_recall_that_looks_back_holds_what_was_poured_since(book):
    """Searched until the fifteenth of February; the glass of the twentieth holds of it, too."""
    does(book, "draw", "Q 1", "1 l", "--ref", "S 4", when="2024-02-20").done()
    recall(book, when="2024-02-15")
    assert is_held(book, "S 4")


def test_a_recall_does_its_own_work(book):
    """Returns, a witnessed destruction and samples for analysis are let through and marked; all else rests."""
    number = recall(book)
    does(book, "return", "Lot 1", "4", "--customer", "Harbour Row").done()
    assert lines(book, 0)[0]["recall"] == number
    does(book, "draw", "Q 1", "200 ml", "--ref", "S 5", "--purpose", "analysis").done()
    assert lines(book, 1)[0]["recall"] == number
    assert is_held(book, "S 5")
    does(book, "despatch", "S 5", "100 ml", "--customer", "Ferrow Laboratory", "--purpose", "analysis").done()
    does(book, "loss", "Lot 1", "2 bottles", "--kind", "destruction", "--witness", "officer 7").done()
    assert lines(book, 0)[0]["recall"] == number
    assert here("journal", book=book).done().out.count(f"work of recall {number}") == 4
    for words in (
        ("draw", "Q 1", "200 ml"),
        ("draw", "Q 1", "200 ml", "--purpose", "panel"),
        ("despatch", "Lot 1", "2", "--customer", "Harbour Row"),
        ("despatch", "Lot 1", "2", "--customer", "Harbour Row", "--purpose", "analysis"),
        ("loss", "Lot 1", "2 bottles", "--kind", "destruction"),
        ("loss", "Lot 1", "2 bottles", "--kind", "tasting", "--witness", "officer 7"),
        ("pour", "Q 2", "Q 1", "1 l"),
        ("pour", "Q 1", "Q 2", "1 l"),
    ):
        assert "on hold" in does(book, *words, "--confirm", "--reason", "x").err, words
    assert here("verify", book=book).done()


def test_a_hold_by_hand_lets_nothing_through(book):
    """Beside a recall or alone."""
    recall(book)
    does(book, "hold", "Lot 1", "--reason", "by order of the officer", when="2024-03-02").done()
    assert "on hold" in does(book, "return", "Lot 1", "4", "--customer", "Harbour Row").err
