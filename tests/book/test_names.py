"""Names: identifiers given out once, labels printed ahead, outside names that may repeat and change."""

import pytest
from house import House, moment

from pourbook import Facts, Item, Reserve, Void
from pourbook.book.names import next_id
from pourbook.codes.identifiers import hyphened, is_issued, of_key, write
from pourbook.errors import Ambiguous, Malformed, Mistyped, Refused, Unknown


def numbers(house, kind, count):
    """The next numbers of a kind, each taken by opening an item."""
    found = []
    for _ in range(count):
        identifier = house.book.next_id(kind)
        house.record(Item(identifier, {}))
        found.append(identifier)
    return found


def test_numbers_go_up_and_leave_out_what_reads_badly(house):
    """Those whose check character would be *, I, L, O or U are never given out."""
    given = numbers(house, "cask", 60)
    assert given == [write("cask", number) for number in range(1, 200) if is_issued("cask", number)][:60]
    assert not {identifier[-1] for identifier in given} & set("*ILOU")


def test_every_kind_counts_for_itself(house):
    """The first vial is number 1, however many casks there are."""
    numbers(house, "cask", 3)
    assert house.book.next_id("vial") == write("vial", 1)


def test_a_number_is_never_used_again(house):
    """Not even after its opening was voided."""
    first, second = numbers(house, "cask", 2)
    opening = house.book.store.query("SELECT max(number) FROM entry")[0][0]
    house.record(Void(opening), reason="wrong label")
    assert house.book.next_id("cask") not in (first, second)
    with pytest.raises(Refused, match="already in the book"):
        house.record(Item(second, {}))
    with pytest.raises(Refused, match="already in the book"):
        house.record(Item(first, {}))
    assert house.book.verify().faults == ()


def test_an_item_may_come_with_a_number_of_its_own(house):
    """From a label printed elsewhere: the count goes on after it; numbers below it stay free."""
    far = write("cask", 123)
    house.record(Item(far, {}))
    assert house.book.next_id("cask") == next_id(house.book.store, "cask", 124)
    near = write("cask", 2)
    house.record(Item(near, {}))
    assert house.book.find(near) == near


def test_labels_printed_ahead_are_bound_by_the_first_scan(house):
    """Reserved, not yet in use; then opened, once; the next number lies behind the roll."""
    roll = tuple(write("vial", number) for number in range(1, 20) if is_issued("vial", number))
    house.record(Reserve(roll))
    assert house.book.next_id("vial") not in roll
    with pytest.raises(Unknown, match="printed ahead and not yet in use"):
        house.book.find(roll[3])
    house.record(Item(roll[3], {}))
    assert house.book.find(roll[3]) == roll[3]
    left = {of_key(key) for (key,) in house.book.store.query("SELECT key FROM reserved")}
    assert left == set(roll) - {roll[3]}
    with pytest.raises(Refused, match="already in the book"):
        house.record(Item(roll[3], {}))
    assert house.book.verify().faults == ()


def test_no_label_is_printed_twice(house):
    """Neither one reserved, nor one in use, nor one that was voided, nor twice on one roll."""
    used, voided = numbers(house, "cask", 2)
    house.record(Void(house.book.head()[0]), reason="wrong label")
    reserved = house.book.next_id("cask")
    house.record(Reserve((reserved,)))
    fresh = house.book.next_id("cask")
    for roll in ((used,), (voided,), (reserved,), (fresh, fresh), (fresh, used)):
        with pytest.raises(Refused, match="already been issued"):
            house.record(Reserve(roll))
    assert house.book.verify().faults == ()


def test_reading_forgives_hyphens_and_case_not_a_wrong_character(house):
    """A mistyped identifier is caught before any lookup."""
    (cask,) = numbers(house, "cask", 1)
    for typed in (cask, hyphened(cask), cask.lower(), f" {hyphened(cask).lower()} "):
        assert house.book.find(typed) == cask
    with pytest.raises(Mistyped, match="mistyped"):
        house.book.find(cask[:-1] + ("A" if cask[-1] != "A" else "B"))
    with pytest.raises(Unknown, match="not in the book"):
        house.book.find(write("cask", 999))


def test_an_outside_name_finds_its_item(house):
    """Exactly as written, and as it is now."""
    house.open("C1", ref="Row 3/12")
    assert house.book.find(" Row 3/12 ") == house.id("C1")
    with pytest.raises(Unknown, match="nothing in the book is called"):
        house.book.find("row 3/13")


def test_an_outside_name_may_repeat_and_then_the_tool_asks(house):
    """It names the items that bear it."""
    house.open("C1", ref="Parcel 7")
    house.open("B1", ref="Parcel 7")
    with pytest.raises(Ambiguous, match=f"{hyphened(house.id('C1'))}, {hyphened(house.id('B1'))}"):
        house.book.find("Parcel 7")


def test_an_outside_name_is_a_function_of_time(house):
    """Renamed: the old name finds nothing any more, but the item of that day still bore it."""
    house.open("C1", ref="old name")
    house.facts("C1", at="2020-01-01", ref="new name")
    assert house.book.find("new name") == house.id("C1")
    with pytest.raises(Unknown):
        house.book.find("old name")
    assert house.book.show(house.id("C1"), moment("2019-01-01")).ref == "old name"
    house.facts("C1", at="2021-01-01", ref="")
    assert house.book.show(house.id("C1")).ref == ""
    with pytest.raises(Unknown):
        house.book.find("new name")


def test_an_outside_name_passes_to_another_item(house):
    """The place in the warehouse is taken by the next cask: one name, one item now."""
    house.open("C1", ref="A-1")
    house.facts("C1", at="2020-01-01", ref="")
    house.open("C2", ref="A-1")
    assert house.book.find("A-1") == house.id("C2")


@pytest.mark.parametrize("ref", ["C000123Y", "c-000123-y", "C-000123-A", "V 000001 H", "L123456789012A"])
def test_an_outside_name_of_the_form_of_an_identifier_is_refused(house, ref):
    """Right or mistyped: it could be taken for one of ours."""
    house.open("C1")
    for entry in (Item(house.book.next_id("cask"), {"ref": ref}), Facts(house.id("C1"), {"ref": ref})):
        with pytest.raises(Malformed, match="form of an identifier"):
            house.record(entry)


def test_facts_are_text(house):
    """Numbers belong into the text, with their unit."""
    house.open("C1")
    with pytest.raises(TypeError, match="not text"):
        house.record(Facts(house.id("C1"), {"capacity_l": 200}))


def test_numbers_taken_within_a_transaction_are_safe(house):
    """Two items opened in one `writing`, each with the next number."""
    with house.book.writing():
        one = house.book.next_id("cask")
        house.record(Item(one, {}))
        two = house.book.next_id("cask")
        house.record(Item(two, {}))
    assert one != two
    assert {house.book.find(one), house.book.find(two)} == {one, two}


def test_many_items_in_one_recording():
    """Openings are gathered; the last one is found, the count is right."""
    with House() as house:
        ids = [write("vial", number) for number in range(1, 300) if is_issued("vial", number)]
        house.record(*(Item(identifier, {"ref": f"vial {identifier}"}) for identifier in ids))
        assert house.book.find(f"vial {ids[-1]}") == ids[-1]
        assert house.book.next_id("vial") == next_id(house.book.store, "vial", 300)
        assert house.book.verify().faults == ()


def test_the_lot_mark_on_a_bottle_is_a_name(house):
    """What a complaint quotes; two lots of one mark are told apart by their identifiers."""
    house.cask("C1", "200 l", "60")
    house.pour("C1", "L1", "70 l", verb="bottle")
    house.facts("L1", lot_mark="L26-175")
    assert house.book.find("L26-175") == house.id("L1")
    house.pour("C1", "L2", "70 l", verb="bottle")
    house.record(Facts(house.id("L2"), {"lot_mark": "L26-175"}), confirmed=True)
    with pytest.raises(Ambiguous, match="names 2 items"):
        house.book.find("L26-175")
