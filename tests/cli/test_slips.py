"""Amounts and strengths that can hardly be are asked back by every verb alike, and flagged where confirmed.

The limits are common practice, no source.
"""

import pytest
from command import here

STARTED = "2014-01-01"


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """A cask of 146 l, one of 199 l, two of which 109 l are expected, a vial of 12 ml, an empty cask."""
    path = tmp_path_factory.mktemp("slips") / "house.pourbook"
    then = ("--when", STARTED)
    here("create", path, "--house", "Quillmere").done()
    for name, litres in (("Q 1", "146"), ("Q 2", "199"), ("Q 3", "60"), ("Q 4", "49")):
        fill = ("--capacity", "200", "--fill", f"{litres} l", "--strength", "61")
        here("cask", name, *fill, *then, book=path).done()
    here("cask", "Q 5", "--capacity", "200", *then, book=path).done()
    here("batch", "Vatting 1", *then, book=path).done()
    here("draw", "Q 1", "12 ml", "--ref", "S 1", *then, book=path).done()
    here("vessel", "Vat 1", "--table", "0 10; 100 1010", *then, book=path).done()
    return path


@pytest.mark.parametrize(
    ("verb", "words", "expected", "likely"),
    [
        ("gauge", ("S 1", "--amount", "12 l"), "12.0 ml", "was it '12 ml'?"),
        ("gauge", ("Q 1", "--amount", "145 gal"), "200.00 l", "was it '145 l'?"),
        ("gauge", ("Q 1", "--amount", "14.5 l"), "145.99 l", "decimal mark"),
        ("gauge", ("Q 1", "--amount", "190 l"), "145.99 l", "a pour missing"),
        ("gauge", ("Q 1", "--strength", "12"), "61.0 % vol", "another item"),
        ("gauge", ("Q 1", "--strength", "61 proof"), "61.0 % vol", "was it '61 % vol'?"),
        ("gauge", ("Q 1", "--hydrometer", "6.1"), "61.0 % vol", "decimal mark"),
        ("gauge", ("Q 2", "--dip", "4.4", "--vessel", "Vat 1"), "199.00 l", "another item"),
        ("fill", ("Q 5", "400 l", "--strength", "61"), "200.00 l", "was it '400 lb'?"),
        ("fill", ("Q 1", "145 gal", "--strength", "61"), "145.99 l", "the cask"),
        ("cask", ("--capacity", "200", "--fill", "190 gal", "--strength", "61"), "200.00 l", "was it '190 l'?"),
        ("dump", ("Vatting 1", "Q 3", "Q 4", "--total", "145 l"), "109.00 l", "a pour missing"),
        ("dump", ("Vatting 1", "Q 3", "Q 4", "--total", "109 l", "--strength", "16"), "61.0 % vol", "another item"),
        ("draw", ("Q 1", "20 ml", "--strength", "16.1"), "61.0 % vol", "another item"),
    ],
)
def test_what_can_hardly_be_is_asked_back_and_flagged_where_confirmed(book, verb, words, expected, likely):
    """The question says what was expected and names the slip; nothing is recorded until it is confirmed."""
    words = (*words, "--when", "2014-02-01")
    head = here("journal-hash", book=book).out
    ran = here(verb, *words, book=book)
    assert ran.status == 1
    assert expected in ran.err
    assert likely in ran.err
    assert here("journal-hash", book=book).out == head
    told = here(verb, *words, "--confirm", "--dry-run", "--json", book=book).done()
    assert told.json["entries"]


def test_what_was_confirmed_says_what_was_asked(book, tmp_path):
    """The record of it keeps the question, for whoever reads it later."""
    copy = tmp_path / "copy.pourbook"
    copy.write_bytes(book.read_bytes())
    here("gauge", "Q 1", "--amount", "190 l", "--when", "2014-02-01", "--confirm", book=copy).done()
    here("fill", "Q 5", "400 l", "--strength", "61", "--when", "2014-02-01", "--confirm", book=copy).done()
    gauge, fill = here("journal", "--json", book=copy).done().json["entries"][-2:]
    (asked,) = gauge["body"]["confirmed"]
    assert (asked["rule"], asked["measured_ul"]) == ("unlikely-amount", 190_000_000)
    assert asked["held_ul"] == pytest.approx(145_990_000, abs=5_000)
    (asked,) = fill["body"]["lines"][0]["confirmed"]
    assert (asked["rule"], asked["capacity_ul"]) == ("over-capacity", 200_000_000)


@pytest.mark.parametrize(
    "words",
    [
        ("gauge", "Q 2", "--amount", "132 l", "--when", "2014-02-01", "--kind", "leak"),
        ("gauge", "Q 2", "--amount", "60 l", "--when", "2024-01-01"),
        ("gauge", "Q 2", "--amount", "0", "--when", "2014-02-01"),
        ("gauge", "S 1", "--amount", "5 ml", "--when", "2014-02-01"),
        ("gauge", "Q 2", "--strength", "55", "--when", "2024-01-01"),
        ("dump", "Vatting 1", "Q 3", "Q 4", "--total", "105 l", "--strength", "60", "--when", "2014-02-01"),
    ],
)
def test_what_happens_in_a_cellar_is_not_asked_about(book, words):
    """A leak that was told, ten years of evaporation, an empty cask, a residue in a vial, a dump."""
    here(*words, "--dry-run", book=book).done()


def test_a_round_of_gauges_is_held_against_what_can_be(book, tmp_path):
    """An import is held to the same rules as a person: what is unlikely is listed, and recorded once confirmed."""
    head = "item,amount,unit,strength,happened,by\n"
    for row, named in (("Q 1,320,l,61", "320.00 l"), ("Q 1,145,l,16.1", "16.1 % vol"), ("Q 1,90,l,48", "90.00 l")):
        table = tmp_path / "gauges.csv"
        table.write_text(f"{head}{row},2014-02-01,M. Aldane\n")
        ran = here("import", "gauges", table, "--dry-run", book=book)
        assert (ran.status, named in ran.err) == (1, True), ran.err
        here("import", "gauges", table, "--dry-run", "--confirm", book=book).done()
