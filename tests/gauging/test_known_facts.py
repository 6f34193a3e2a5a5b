"""Facts that others reckon with are read when they are written."""

import pytest
from command import here

from pourbook.book.checked_facts import checked_fact, checked_facts
from pourbook.errors import Malformed, PourbookError


@pytest.mark.parametrize(
    ("name", "text", "kept"),
    [
        ("capacity_l", "225", "225"),
        ("capacity_l", "2 hl", "200"),
        ("capacity_l", "1 gal", "3.785411784"),  # 231 cubic inches (27 CFR 30.11)
        ("tare_kg", "43.1 kg", "43.1"),
        ("size_ml", "0.7 l", "700"),
        ("cost", "0", "0"),
        ("dip_table", "0 12.5; 50 480", "0 12.5; 50 480"),
        ("wood", "abc", "abc"),
        ("capacity_l", "", ""),
    ],
)
def test_a_number_is_kept_in_the_unit_of_its_name(name, text, kept):
    """What is text stays text, and an empty value ends a fact."""
    assert checked_fact(name, text) == kept


@pytest.mark.parametrize(
    ("name", "text"),
    [("capacity_l", "abc"), ("capacity_l", "225 kg"), ("capacity_l", "0"), ("tare_kg", "43 l"), ("cost", "-1"),
     ("cost", "12 GBP"), ("dip_table", "0 12.5"), ("capacity_l", "225,5")],
)  # fmt: skip
def test_what_is_no_such_number_is_refused(name, text):
    with pytest.raises(PourbookError):
        checked_facts({name: text})


def test_the_other_mark_is_refused_by_name():
    with pytest.raises(Malformed, match="decimal mark"):
        checked_fact("cost", "12.5", ",")


def test_no_verb_keeps_garbage(tmp_path):
    """Refused by the verb that writes it; the item goes on being usable."""
    book = tmp_path / "house.pourbook"
    here("create", book, "--house", "Quillmere").done()
    here("cask", "Q 1", "--capacity", "225 l", book=book).done()
    for words in (
        ("set", "Q 1", "capacity_l=abc"), ("cask", "Q 2", "--capacity", "abc"),
        ("vessel", "Vat 1", "--capacity", "abc"),
        ("fill", "Q 1", "200 l", "--strength", "60", "--cost", "abc"), ("set", "Q 1", "tare_kg=abc"),
    ):  # fmt: skip
        ran = here(*words, book=book)
        assert ran.status == 1
        assert "abc" in ran.err
    assert here("show", "Q 1", "--json", book=book).done().json["facts"]["capacity_l"] == "225"
    here("fill", "Q 1", "200 l", "--strength", "60", book=book).done()
