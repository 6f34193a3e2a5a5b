"""What is shifted to reach casks, against a plain simulation that takes casks out one by one. Common practice."""

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook.warehouse.in_the_way import in_the_way
from pourbook.warehouse.places import Address, Step, Storage, address, steps

ROW = (Step("row", 1),)


def at(tier, position, storage):
    return Address(ROW, tier, position, storage)


def can_go(name, there, end, is_stow):
    """Whether a cask comes out by one end with nothing moved but itself."""
    mine = there[name]
    for other, one in there.items():
        nearer = one.position < mine.position if end == "first" else one.position > mine.position
        above = one.position == mine.position and one.tier > mine.tier
        if other != name and (above or (nearer and (one.tier >= mine.tier or not is_stow))):
            return False
    return True


def least_shifts(there, wanted, storage):
    """By trying every set of casks: the smallest that, taken out with those wanted, comes out one after the other."""
    ends = ("first", "last") if storage.open_end == "both" else (storage.open_end,)

    def come_out(chosen):
        left, to_go = dict(there), set(chosen)
        while to_go:
            free = (one for one in sorted(to_go) if any(can_go(one, left, end, storage.kind == "stow") for end in ends))
            gone = next(free, None)
            if gone is None:
                return False
            del left[gone]
            to_go.discard(gone)
        return True

    others = sorted(set(there) - set(wanted))
    ways = [
        sum(flags)
        for flags in product((False, True), repeat=len(others))
        if come_out({*wanted, *(one for one, flag in zip(others, flags, strict=True) if flag)})
    ]
    return min(ways)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 3), st.integers(1, 4)), min_size=1, max_size=8, unique=True),
    st.sampled_from(["stow", "pallets", "racked"]),
    st.sampled_from(["first", "last", "both"]),
    st.data(),
)
def test_no_fewer_shifts_would_do(cells, kind, open_end, data):
    """The count is the least of all ways, for any casks in any row, and what is named does make the way free."""
    storage = Storage(steps("Row"), kind, (), open_end)
    there = {f"{tier}/{position}": at(tier, position, storage) for tier, position in cells}
    wanted = data.draw(st.lists(st.sampled_from(sorted(there)), min_size=1, unique=True))
    found = in_the_way(there, wanted)
    assert not found.unknown
    assert not found.shifted & set(wanted)
    least = 0 if kind == "racked" else least_shifts(there, wanted, storage)
    assert len(found.shifted) == least


def test_casks_on_one_pallet_are_not_in_each_others_way():
    """Four casks stand on the pallet wanted; four on that in front of it must go."""
    storage = Storage(steps("Lane"), "pallets")
    there = {f"{place}{cask}": address(f"Lane 2/{place}", (storage,)) for place in (1, 2) for cask in "abcd"}
    assert in_the_way(there, ["2a"]).shifted == {"1a", "1b", "1c", "1d"}


@pytest.mark.parametrize("place", ["", "Row 1", "Shed 4/2"])
def test_what_is_not_known_is_said(place):
    """No place, no position in a stow, or a location of which nobody said how casks lie there."""
    there = {"a": address(place, (Storage(steps("Row"), "stow"),)), "b": address("Row 1/1", ())}
    assert in_the_way(there, ["a"]) == (frozenset(), frozenset("a"))


def test_other_rows_are_not_in_the_way():
    """Only casks of the same row block each other."""
    storage = (Storage(steps("Row"), "stow"),)
    there = {place: address(place, storage) for place in ("Row 1/1", "Row 1/2", "Row 2/1", "Row 11/1")}
    assert in_the_way(there, ["Row 1/2"]).shifted == {"Row 1/1"}
