"""What leaves the house, and to whom: the verbs write what the account reads."""

import pytest
from command import VATTED, bottled, here, recorded

PERIOD = ("--from", "2024-01-01", "--to", "2024-12-31")


@pytest.fixture
def book(tmp_path):
    """A vatting, a lot of 100 bottles of it and a sample."""
    sample = ("--ref", "S 1", "--recipient", "M. Aldane", "--purpose", "panel", "--document", "S 24-1")
    path = tmp_path / "house.pourbook"
    return recorded(path, *VATTED, bottled(100, "Lot 1"), ("draw", "Vatting 1", "500 ml", *sample))


def does(book, *words):
    return here(*words, "--when", "2024-03-01", book=book)


def account(book):
    return here("account", *PERIOD, "--json", book=book).done().json


def lines(book, side):
    return {line["heading"]: line["bulk_l"] for line in account(book)["total"]["lines"] if line["side"] == side}


def test_a_sample_names_who_got_it_what_for_and_its_note(book):
    """As it was drawn."""
    (drawn,) = account(book)["samples"]
    assert [drawn[name] for name in ("what", "recipient", "purpose", "document")] == [
        "drawn", "M. Aldane", "panel", "S 24-1",
    ]  # fmt: skip


def test_a_sample_is_sent_to_a_laboratory(book):
    """By its amount, not by bottles; what is left in the glass is told."""
    words = ("--recipient", "Ferrow Laboratory", "--purpose", "analysis", "--document", "S 24-2")
    assert "400.0 ml" in does(book, "despatch", "S 1", "100 ml", *words).done().out
    sent = account(book)["samples"][-1]
    assert [sent[name] for name in ("what", "recipient", "purpose", "document")] == [
        "sent", "Ferrow Laboratory", "analysis", "S 24-2",
    ]  # fmt: skip
    assert lines(book, "out") == {"despatch": pytest.approx(0.1, abs=1e-6)}


def test_bottles_and_bulk_leave_the_country(book):
    """600 are not there, 60 are: the account has them as export, and what stays in the country as despatch."""
    assert does(book, "despatch", "Lot 1", "600", "--customer", "Corran Vale", "--export").status == 1
    ran = does(book, "despatch", "Lot 1", "60", "--customer", "Corran Vale", "--export", "--document", "E 1", "--json")
    assert ran.done().json["left"] == 40
    does(book, "despatch", "Vatting 1", "10 l", "--customer", "Corran Vale", "--export").done()
    does(book, "despatch", "Lot 1", "10", "--customer", "Harbour Row").done()
    assert lines(book, "out") == {"despatch": pytest.approx(7, abs=1e-3), "export": pytest.approx(52, abs=1e-3)}


def test_a_destruction_needs_who_saw_it(book):
    """Refused without a witness or a document, recorded all the same if confirmed; the account tells them apart."""
    destroy = ("loss", "Vatting 1", "5 l", "--kind", "destruction")
    assert "--witness" in does(book, *destroy).err
    does(book, *destroy, "--witness", "officer 7", "--document", "D 1").done()
    does(book, *destroy, "--document", "D 2").done()
    does(book, *destroy, "--confirm").done()
    assert lines(book, "loss") == {
        "destruction with witness": pytest.approx(10, abs=1e-3),
        "destruction without witness": pytest.approx(5, abs=1e-3),
    }
    assert [one["witness"] for one in account(book)["samples"]][1:] == ["officer 7", "", ""]


def test_what_no_verb_may_take_for_a_count(book):
    """Half a bottle, none, and a litre of a lot; a number alone is no amount of bulk."""
    for count in ("0.5", "1 l", "-1", "1.5 bottles"):
        assert does(book, "despatch", "Lot 1", count, "--customer", "Harbour Row").status == 1
    assert does(book, "despatch", "Lot 1", "0", "--customer", "Harbour Row").status == 1
