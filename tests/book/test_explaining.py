"""Why a share is what it is: worked out again from what the answer prints, and from nothing else."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from random_books import ITEMS, books, built

from pourbook.errors import Refused


def worked_out(reason):
    """The share, from the weights and the numbers of the steps alone; exact where weights are whole numbers."""
    parts = {}
    for number, step in enumerate(reason.steps, start=1):
        terms = sum(Fraction(term.weight) * (parts[term.step] if term.step else 1) for term in step.terms)
        total = sum(Fraction(term.weight) for term in step.terms) + Fraction(step.rest)
        parts[number] = terms / total
    return parts[len(reason.steps)]


@given(operations=books, name=st.sampled_from(ITEMS), by=st.sampled_from(("alcohol", "mass", "volume")))
def test_every_share_of_a_trace_can_be_worked_out_again(operations, name, by):
    """Items and origins; blends back in their own casks among them."""
    house, _ = built(operations)
    with house:
        try:
            trace = house.book.trace_back(house.id(name), by)
        except Refused:
            return
        shares = {other.item.id: other.share for other in trace.items}
        for origin in trace.origins:
            shares[origin.entry] = shares.get(origin.entry, 0.0) + origin.share
        for of, share in shares.items():
            if share > 1e-12:
                reason = house.book.why(house.id(name), of, by)
                assert float(worked_out(reason)) == pytest.approx(share, abs=1e-9)
                assert reason.share == pytest.approx(share, abs=1e-9)


@given(operations=books, name=st.sampled_from(ITEMS), by=st.sampled_from(("alcohol", "mass", "volume")))
def test_every_share_of_a_trace_forward_can_be_worked_out_again(operations, name, by):
    """Of all that was ever poured into an item, emptied and filled again as it may be."""
    house, _ = built(operations)
    with house:
        try:
            trace = house.book.trace_forward(house.id(name), by)
        except Refused:
            return
        for other in trace.items:
            if other.share > 1e-12:
                reason = house.book.why(other.item.id, house.id(name), by, forward=True)
                assert float(worked_out(reason)) == pytest.approx(other.share, abs=1e-9)


def test_amounts_are_those_of_the_entries_named(house):
    """A trial of two vials: 3 parts and 1 part by mass."""
    for cask, vial in (("C1", "V1"), ("C2", "V2")):
        house.cask(cask, "200 l", "60")
        house.draw(cask, vial, 50_000)
    house.pour("V1", "T1", 30_000)
    third = house.pour("V2", "T1", 10_000).numbers[-1]
    reason = house.book.why(house.id("T1"), house.id("C2"), "mass")
    first, second = reason.steps
    assert [(term.source, term.weight, term.step) for term in first.terms] == [(house.id("C2"), 50_000, 0)]
    assert [(term.entry, term.source, term.weight, term.step) for term in second.terms] == [
        (third, house.id("V2"), 10_000, 1)
    ]
    assert (second.rest, second.total, reason.share) == (30_000, 40_000, 0.25)


def test_what_is_not_in_it_has_no_reason(house):
    """Said plainly."""
    house.cask("C1", "200 l", "60")
    house.cask("C2", "200 l", "60")
    house.draw("C1", "V1", "50 ml")
    with pytest.raises(Refused, match=r"nothing of C-.* is in V-"):
        house.book.why(house.id("V1"), house.id("C2"))
    with pytest.raises(Refused, match="nothing of entry 1 is in"):
        house.book.why(house.id("V1"), 1)
