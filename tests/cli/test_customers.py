"""What each customer has of a lot, and in which cases: a case is sent once, and comes back from whoever got it.

An SSCC is of one single case or pallet (GS1 General Specifications, not checked against the standard); the rest is
common practice, no source.
"""

import pytest
from command import VATTED, bottled, here, recorded

WHEN = ("--when", "2024-03-01")


@pytest.fixture
def book(tmp_path):
    """A lot of 120 bottles in 20 cases of six; two customers."""
    return recorded(
        tmp_path / "house.pourbook",
        *VATTED,
        bottled(120, "Lot 1"),
        bottled(12, "Lot 2"),
        ("cases", "Lot 1", "--count", "20", "--bottles", "6"),
        ("cases", "Lot 2", "--count", "2", "--bottles", "6"),
        settings=("--set", "company_prefix=9521234"),
    )


def sscc(number):
    from pourbook.codes.gs1 import sscc_of

    return sscc_of("9521234", number)


def despatch(book, count, customer, *cases, lot="Lot 1"):
    named = [word for case in cases for word in ("--case", case)]
    return here("despatch", lot, str(count), "--customer", customer, *named, *WHEN, book=book)


def comes_back(book, count, customer, *cases, options=()):
    named = [word for case in cases for word in ("--sscc", case)]
    return here("return", "Lot 1", str(count), "--customer", customer, *named, *options, *WHEN, book=book)


def test_a_customer_sends_back_what_it_was_sent(book):
    """Twelve went to one and thirty to another: the first cannot return thirteen, unless somebody confirms."""
    despatch(book, 12, "Harbour Row").done()
    despatch(book, 30, "Corran Vale").done()
    asked = comes_back(book, 13, "harbour  row")
    assert (asked.status, "12 bottles" in asked.err, "Corran Vale 30" in asked.err) == (1, True, True)
    assert "0 bottles" in comes_back(book, 1, "Fennick & Daughters").err
    comes_back(book, 12, "harbour  row").done()
    assert "0 bottles" in comes_back(book, 1, "Harbour Row").err
    comes_back(book, 1, "Fennick & Daughters", options=("--confirm",)).done()
    assert "with customers, not 30" in comes_back(book, 30, "Corran Vale", options=("--confirm",)).err


def test_a_case_is_sent_once(book):
    """Of its lot, with its own bottles; not twice, until it came back."""
    despatch(book, 14, "Harbour Row", sscc(1), f"{sscc(2)}").done()
    assert "already sent, to Harbour Row" in despatch(book, 6, "Corran Vale", sscc(2)).err
    assert "not of" in despatch(book, 6, "Corran Vale", sscc(21)).err
    assert "not of" in despatch(book, 6, "Corran Vale", sscc(99)).err
    assert "12 bottles" in despatch(book, 6, "Corran Vale", sscc(3), sscc(4)).err
    assert "twice" in despatch(book, 12, "Corran Vale", sscc(3), sscc(3)).err
    assert "check digit" in despatch(book, 6, "Corran Vale", sscc(3)[:-1] + "0").err
    assert "not with a customer" in comes_back(book, 6, "Harbour Row", sscc(3)).err
    despatch(book, 6, "Corran Vale", f"00{sscc(3)}").done()
    assert "sent to Corran Vale" in comes_back(book, 6, "Harbour Row", sscc(3)).err
    assert "sent to Harbour Row" in here("scan", sscc(2), book=book).done().out
    comes_back(book, 5, "Harbour Row", sscc(2)).done()
    assert "sent to" not in here("scan", sscc(2), book=book).done().out
    despatch(book, 6, "Corran Vale", sscc(2)).done()


def test_recall_and_dossier_say_who_has_which_case(book, tmp_path):
    """Consecutive numbers as a range, customer by customer; programs read each of them."""
    despatch(book, 108, "Harbour Row", " ".join(map(sscc, range(1, 19)))).done()
    despatch(book, 6, "Corran Vale", sscc(20)).done()
    ran = here("affected", "--item", "Vatting 1", book=book).done()
    assert f"{sscc(1)} … {sscc(18)} (18)" in ran.out
    assert f"case {sscc(1)} … {sscc(20)} (20)" in ran.out
    found = here("affected", "--item", "Vatting 1", "--json", book=book).done().json
    sent = {one["facts"]["customer"]: one["facts"]["units"].split() for one in found["departures"]}
    assert sent == {"Harbour Row": list(map(sscc, range(1, 19))), "Corran Vale": [sscc(20)]}
    printed = here("dossier", "Lot 1", "-o", tmp_path / "dossier.pdf", "--json", book=book).done().json
    assert printed["dossier"]["despatches"][0]["units"] == [f"{sscc(1)} … {sscc(18)} (18)"]
    reason = ("--reason", "yearly exercise")
    here("recall", "--item", "Vatting 1", "--mock", *reason, "-o", tmp_path / "recall.pdf", book=book).done()


def test_one_bottle_is_one_bottle(book):
    """In what a scan says of a case, and a batch of its filling."""
    (number,) = (
        here("cases", "Lot 2", "--count", "1", "--bottles", "1", "--confirm", *WHEN, book=book).done().out.split()
    )
    assert "a case of it: 1 bottle\n" in here("scan", number, book=book).out
    (number,) = here("pallets", "Lot 2", "--cases", "1", "--bottles", "1", *WHEN, book=book).done().out.split()
    assert "a pallet of it: 1 case, 1 bottle\n" in here("scan", number, book=book).out
    lacks = here("bottle", "Vatting 1", "--count", "1", "--size", "200 l", "--confirm", *WHEN, book=book).err
    assert "1 bottle of 200000 ml is 200.0 l" in lacks
