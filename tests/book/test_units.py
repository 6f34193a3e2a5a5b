"""Cases and pallets in the book: numbers given out once, found again, rebuilt, and taken into older books."""

import pytest

from pourbook import Facts, Packed
from pourbook.book.trade_numbers import lots_of, next_ssccs, unit_of, units_of
from pourbook.codes.gs1 import sscc_of
from pourbook.codes.identifiers import write
from pourbook.errors import Malformed, Mistyped, Refused, Unknown

PREFIX = "9521234"


@pytest.fixture
def packed(house):
    """A lot with two cases of six."""
    house.open("C1", "L1", lot_mark="L26-118")
    house.cask("C1", "200 l", "63.5")
    house.pour("C1", "L1", "21 l", bottles=30)
    house.ssccs = next_ssccs(house.book.store, PREFIX, 2)
    house.record(Packed(house.id("L1"), "case", house.ssccs, PREFIX, 6))
    return house


def pack(house, *ssccs, lot=None, unit="case", prefix=PREFIX, bottles=6, cases=0):
    """Record a packing."""
    return house.record(Packed(lot or house.id("L1"), unit, ssccs, prefix, bottles, cases))


def test_a_case_is_found_by_its_number(packed):
    """And all of a lot in the order of their numbers."""
    unit = unit_of(packed.book.store, packed.ssccs[0])
    assert (unit.lot, unit.unit, unit.bottles, unit.cases, unit.gone) == (packed.id("L1"), "case", 6, 0, 0)
    assert [one.sscc for one in units_of(packed.book.store, packed.id("L1"))] == list(packed.ssccs)
    assert unit_of(packed.book.store, sscc_of(PREFIX, 77)) is None


def test_a_number_once_given_out_is_never_given_out_again(packed):
    """Not by its own series, not by hand, not after a void, not under a prefix that begins alike."""
    entry = packed.book.head()[0]
    packed.void(entry)
    assert next_ssccs(packed.book.store, PREFIX, 1) == (sscc_of(PREFIX, 3),)
    assert units_of(packed.book.store, packed.id("L1")) == []
    assert unit_of(packed.book.store, packed.ssccs[0]).gone == entry + 1
    with pytest.raises(Refused, match="has already been issued"):
        pack(packed, packed.ssccs[0])
    with pytest.raises(Refused, match="has already been issued"):
        pack(packed, packed.ssccs[0], prefix=PREFIX + "0")


@pytest.mark.parametrize(
    ("changed", "refusal", "said"),
    [
        ({"prefix": "952"}, Malformed, "not a GS1 company prefix"),
        ({"prefix": "9521235"}, Malformed, "is not of company prefix"),
        ({"bottles": 0}, Malformed, "cannot be packed so"),
        ({"cases": -1}, Malformed, "cannot be packed so"),
        ({"lot": write("lot", 77)}, Unknown, "is not in the book"),
    ],
)
def test_what_cannot_be_packed_is_refused(packed, changed, refusal, said):
    """The lot is in the book, the numbers are of the prefix, and there is something in the cases."""
    before = packed.dump_tables()
    with pytest.raises(refusal, match=said):
        pack(packed, sscc_of(PREFIX, 9), **changed)
    assert packed.dump_tables() == before


def test_numbers_that_cannot_be_are_refused(packed):
    """Mistyped, twice in one packing, none at all, or for what is no lot."""
    with pytest.raises(Mistyped, match="its check digit does not agree"):
        pack(packed, sscc_of(PREFIX, 9)[:-1] + "0")
    for ssccs in ((), (sscc_of(PREFIX, 9),) * 2):
        with pytest.raises(Malformed, match="cannot be packed so"):
            pack(packed, *ssccs)
    with pytest.raises(Malformed, match="cannot be packed so"):
        pack(packed, sscc_of(PREFIX, 9), lot=packed.id("C1"))


def test_every_table_follows_from_the_journal(packed):
    """Units and counters too, also of a packing that was voided; a row that does not follow is found."""
    packed.void(packed.book.head()[0])
    pack(packed, *next_ssccs(packed.book.store, PREFIX, 1), unit="pallet", bottles=30, cases=5)
    before = packed.dump_tables()
    assert packed.book.verify().faults == ()
    from pourbook.book.verifying import repair

    repair(packed.book.store)
    assert packed.dump_tables() == before
    packed.book.store.execute("UPDATE unit SET item = item + 8 WHERE sscc = ?", (int(packed.ssccs[0]),))
    (fault, *_) = packed.book.verify().faults
    assert fault.file == "table unit"


def test_lots_are_found_by_gtin_and_mark(packed):
    """With or without the zero before it, of bottle or case; what was true earlier no longer counts."""
    lot = packed.id("L1")
    packed.facts("L1", gtin="9521234005674", case_gtin="19521234005671")
    store = packed.book.store
    assert lots_of(store, "09521234005674") == lots_of(store, "19521234005671", "26-118") == [lot]
    assert lots_of(store, "", "l26-118") == [lot]
    assert lots_of(store, "09521234005674", "L26-119") == lots_of(store, "", "L26-119") == []
    packed.facts("L1", gtin="")
    assert lots_of(store, "09521234005674") == []


def test_a_gtin_is_checked_when_it_becomes_a_fact(packed):
    """By whatever way it comes into the book."""
    for name in ("gtin", "case_gtin"):
        with pytest.raises(Mistyped, match="its check digit does not agree"):
            packed.record(Facts(packed.id("L1"), {name: "9521234005675"}))
