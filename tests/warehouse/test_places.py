"""Places as houses write them: row, tier and position, and the order of a walk. Common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed
from pourbook.warehouse.places import STORAGE_FACTS, Step, Storage, address, in_walking_order, lies_in, steps

ANY = Storage(steps("Lager"), "stow", ("house", "row", "tier", "position"))


@pytest.mark.parametrize(
    ("place", "row", "tier", "position"),
    [
        ("Warehouse 2, row 4, tier 3, position 7", "warehouse 2, row 4", 3, 7),
        ("Row 3/12", "row 3", 1, 12),
        ("row-3 / 12", "row 3", 1, 12),
        ("3/12", "3", 1, 12),
        ("12", "12", 1, None),
        ("Warehouse 2, row 7", "warehouse 2, row 7", 1, None),
        ("Cage B", "cage b", 1, None),
        ("Lager 2, Reihe 4, Lage 3, Platz 7", "lager 2, reihe 4", 3, 7),
        ("Lager 2 4/3/7", "lager 2, 4", 3, 7),
        ("", "", 1, None),
    ],
)
def test_a_place_is_read_as_it_is_typed(place, row, tier, position):
    """No house is made to write in another way; where its words are its own, a location says what they are."""
    found = address(place, (ANY,))
    assert (found.row, found.tier, found.position) == (steps(row), tier, position)


def test_the_nearest_location_counts():
    """A row of its own kind in a warehouse of another; a name without a number is for all of its kind."""
    house = Storage(steps("Warehouse 2"), "racked"), Storage(steps("Warehouse 2, row"), "stow")
    house += (Storage(steps("Warehouse 2, row 9"), "pallets"),)
    kinds = {place: at.storage and at.storage.kind for place in PLACES if (at := address(place, house))}
    assert kinds == dict(zip(PLACES, ("racked", "stow", "pallets", None), strict=True))


PLACES = "Warehouse 2, bay 1/4", "Warehouse 2, row 8/4", "Warehouse 2, row 9/4", "Warehouse 20, row 9/4"


def test_numbers_that_are_named_come_after_the_name_of_the_location():
    """Whether that has a number of its own or not."""
    for name, place in (("Row", "Row 3, 2, 7"), ("Shed 1", "Shed 1 3/2/7")):
        found = address(place, [Storage(steps(name), "stow", ("row", "tier", "position"))])
        assert (found.row[-1].number, found.tier, found.position) == (3, 2, 7)


def test_a_walk_goes_by_the_value_of_numbers_and_along_a_row_tier_by_tier():
    """Row 9 comes before row 10; whoever stands at position 7 sees all its tiers; what has no place comes last."""
    asked = ["", "Row 10/1", "Row 9, tier 2, position 7", "Row 9, tier 1, position 8", "Row 9, tier 1, position 7"]
    assert in_walking_order(asked, str) == [asked[4], asked[2], asked[3], asked[1], asked[0]]


def test_a_serpentine_walk_turns_at_every_row_that_it_visits():
    """Rows without anything to fetch are passed by, so the third row is walked backwards where the second is."""
    asked = ["Row 5/1", "Row 5/2", "Row 1/2", "Row 1/1", "Row 9/1", "Row 9/2"]
    walked = in_walking_order(asked, str, serpentine=True)
    assert walked == ["Row 1/1", "Row 1/2", "Row 5/2", "Row 5/1", "Row 9/1", "Row 9/2"]


@given(st.lists(st.text("Row 123/,-tier", max_size=12)), st.booleans())
def test_a_walk_loses_nothing_and_any_text_is_a_place(texts, serpentine):
    """The order is of the same places, whatever was typed."""
    walked = in_walking_order(texts, str, str, serpentine=serpentine)
    assert sorted(walked) == sorted(texts)


@given(st.text("Row 123/,", max_size=12))
def test_a_place_lies_in_itself(text):
    """And in the first part of itself, but no place lies in a longer one."""
    place = steps(text)
    assert lies_in(place, place)
    assert all(lies_in(place, place[:end]) for end in range(len(place)))
    assert not lies_in(place, (*place, Step("", 1)))


@pytest.mark.parametrize(("name", "text"), [("storage", "heap"), ("open_end", "left"), ("levels", "row//position")])
def test_facts_of_a_location_are_checked(name, text):
    """A word that no list knows would only show long after."""
    with pytest.raises(Malformed):
        STORAGE_FACTS[name](text)
