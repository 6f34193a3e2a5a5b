"""Names: identifiers given out once, labels printed ahead, outside names that may repeat and change."""

import pytest
from house import House, moment

from pourbook import Facts, Item, Recipe, RecipePart, Reserve, Void
from pourbook.actions.happening import Happening
from pourbook.book.numbering import next_id
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


# -- any case and spacing ----------------------------------------------------------------


@pytest.mark.parametrize("typed", ["q204", "Q  204", " q 204 ", "Q204", "Ｑ\u00a0２０４"])
def test_a_ref_is_found_in_any_case_and_spacing(house, typed):
    """As a keyboard, a spreadsheet or another hand writes it (Unicode: UAX #15, form NFKC)."""
    house.open("C1", ref="Q 204")
    assert house.book.find(typed) == house.id("C1")


@pytest.mark.parametrize(
    ("ref", "typed"),
    [("Q 204", "Q 2O4"), ("Q 204", "Q-204"), ("Row 1 12", "Row 11 2"), ("Row 1 12", "Row 112"), ("M 1²", "M 12")],
)
def test_what_is_another_name_finds_nothing(house, ref, typed):
    """A letter O is no zero, digits apart are another number, and so is a raised one."""
    house.open("C1", ref=ref)
    with pytest.raises(Unknown, match="nothing in the book is called"):
        house.book.find(typed)


def test_the_exact_name_goes_first_and_any_other_spelling_is_asked_about(house):
    """Two items whose refs differ in case and spacing alone."""
    house.open("C1", ref="Q 204")
    house.open("C2", ref="q204")
    assert (house.book.find("Q 204"), house.book.find("q204")) == (house.id("C1"), house.id("C2"))
    one, two = (hyphened(house.id(name)) for name in ("C1", "C2"))
    with pytest.raises(Ambiguous, match=f"but for case and spacing: {one} · Q 204, {two} · q204"):
        house.book.find("Q204")
    house.facts("C2", at="2021-01-01", ref="Q 205")
    assert house.book.find("Q204") == house.id("C1")
    assert house.book.verify().faults == ()


def test_an_unknown_name_suggests_the_nearest(house):
    """Keys swapped, left out or beside the right one; a name that is no longer borne is not suggested."""
    for number, ref in enumerate(("Q 240", "Q 20", "Q 214", "Ostrewick hogshead"), 1):
        house.open(f"C{number}", ref=ref)
    house.facts("C3", at="2021-01-01", ref="")

    def remedy(typed):
        with pytest.raises(Unknown) as refused:
            house.book.find(typed)
        return refused.value.remedy

    assert remedy("Q 204") == "did you mean 'Q 240' or 'Q 20'? check the name: pourbook find WORDS looks for it"
    assert remedy("ostrewyck hogsheads").startswith("did you mean 'Ostrewick hogshead'? ")
    assert remedy("warehouse nine") == "check the name: pourbook find WORDS looks for it"


def test_completion_takes_any_case(house):
    """The shell offers what begins so."""
    house.open("C1", ref="Row 3/12")
    assert house.book.beginning_with("row3") == ["Row 3/12"]


def test_a_person_is_not_entered_twice_under_another_spelling(house):
    """Nor a place or an instrument."""
    how = Happening("M. Aldane")
    first = house.book.enter(how, "person", "Isla Farrow")
    again = house.book.enter(how, "person", "isla  farrow")
    assert (again.id, again.recorded) == (first.id, None)


def test_a_recipe_is_found_in_any_case_and_spacing(house):
    """Two that differ in nothing else are asked about, and a slip is answered with the nearest."""
    house.open("C1")
    parts = (RecipePart(house.id("C1"), "1"),)
    house.record(Recipe("Orchard 3", parts))
    assert house.book.recipe_card("orchard3").recipe.name == "Orchard 3"
    with pytest.raises(Unknown) as refused:
        house.book.recipe_card("orchrad 3")
    assert refused.value.remedy.startswith("did you mean 'Orchard 3'? ")
    house.record(Recipe("ORCHARD 3", parts))
    assert house.book.recipe_card("ORCHARD 3").recipe.name == "ORCHARD 3"
    with pytest.raises(Ambiguous, match="'ORCHARD 3', 'Orchard 3'"):
        house.book.recipe_card("orchard3")
