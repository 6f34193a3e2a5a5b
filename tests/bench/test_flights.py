"""Flights: volumes in whole marks, what vials must hold, the order of pouring."""

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from mixture_regions import WHOLE, blend, region, regions

from pourbook.bench.flights import changes, flight, largest_total_ml, needed_ml, pouring_order
from pourbook.errors import OutOfRange
from pourbook.mixtures.lattices import simplex_centroids
from pourbook.mixtures.regions import is_within

TENTH = Fraction(1, 10)


def poured(area, *blends, total="40", mark="0.1", days=None):
    """A flight of blends."""
    return flight(area, blends, days or (1,) * len(blends), Fraction(total), Fraction(mark))


def test_thirds_of_forty():
    """13.333 ml each: two are rounded down, and one takes what is left (by hand)."""
    (glass,) = poured(WHOLE, (Fraction(1, 3),) * 3).glasses
    assert sorted(glass.volumes_ml) == [Fraction("13.3"), Fraction("13.3"), Fraction("13.4")]
    assert glass.moved == Fraction(1, 600)


def test_a_part_at_its_bound_is_not_rounded_over_it():
    """Of 20 ml in halves, 6.667 is nearer to 6.5 and 7; the bound at a third forbids 7."""
    area = region(ash="0..1", heather="0..1")._replace(
        bounds=((Fraction(0), Fraction(1)), (Fraction(0), Fraction(1, 3)))
    )
    (glass,) = poured(area, (Fraction(2, 3), Fraction(1, 3)), total="20", mark="0.5").glasses
    assert glass.volumes_ml == (Fraction("13.5"), Fraction("6.5"))
    assert glass.within


def test_a_glass_that_no_rounding_keeps_within_its_bounds_is_marked():
    """Between 0.62 and 0.64 of 10 ml there is no half millilitre."""
    (glass,) = poured(region(ash="0.62..0.64", birch="0..1"), blend("0.63", "0.37"), total="10", mark="0.5").glasses
    assert glass.volumes_ml == (Fraction("6.5"), Fraction("3.5"))
    assert not glass.within


def test_a_total_between_two_marks_is_refused():
    """With the nearest that is none."""
    with pytest.raises(OutOfRange, match=r"10 ml is no whole number of marks of 0\.3 ml") as refused:
        poured(WHOLE, (Fraction(1, 3),) * 3, total="10", mark="0.3")
    assert refused.value.remedy == "take 9.9 ml"


@settings(deadline=None)
@given(regions(5), st.integers(10, 400), st.sampled_from(["0.05", "0.1", "0.5"]))
def test_volumes_are_whole_marks_that_add_to_the_total(found, marks, mark):
    """Exactly; no part moves by more than a mark; and where any glass of neighbouring marks is within, this one is."""
    area, wanted = found
    mark = Fraction(mark)
    (glass,) = flight(area, [wanted], (1,), marks * mark, mark).glasses
    assert sum(glass.volumes_ml) == marks * mark
    assert all((volume / mark).denominator == 1 and volume >= 0 for volume in glass.volumes_ml)
    assert glass.moved < Fraction(1, marks)
    assert glass.within == is_within(area, glass.parts)
    if not glass.within and len(wanted) <= 3:
        for steps in product((0, 1), repeat=len(wanted)):
            counts = [int(part * marks) + step for part, step in zip(wanted, steps, strict=True)]
            assert sum(counts) != marks or not is_within(area, tuple(Fraction(count, marks) for count in counts))


def test_what_vials_must_hold():
    """Of seven glasses of a centroid design of three: 7/3 of a glass of each (by symmetry)."""
    found = poured(WHOLE, *simplex_centroids(WHOLE), total="30", mark="1")
    assert needed_ml(found) == {"ash": 70, "chestnut": 70, "heather": 70}


@given(st.lists(st.floats(0, 80), min_size=3, max_size=3))
def test_the_largest_total_works_and_one_mark_more_does_not(left):
    """Whatever is left in the vials."""
    asked = poured(WHOLE, *simplex_centroids(WHOLE))
    left_ml = dict(zip(WHOLE.components, left, strict=True))

    def suffices(total):
        needs = needed_ml(poured(WHOLE, *simplex_centroids(WHOLE), total=total))
        return all(needs[name] <= there for name, there in left_ml.items())

    largest = largest_total_ml(WHOLE, asked, left_ml)
    assert not largest or suffices(largest)
    larger = (largest + step * TENTH for step in range(1, 30))
    assert not any(suffices(total) for total in larger if Fraction(1, 2) <= total <= 40)


def test_one_component_after_the_other():
    """Day by day, what most is needed of first; every volume is poured once."""
    area = region(ash="0..1", chestnut="0..1", heather="0..1")
    blends = blend("0.7", "0.2", "0.1"), blend("0.5", "0.5", "0"), blend("0.6", "0.3", "0.1")
    found = poured(area, *blends, days=(1, 1, 2))
    order = pouring_order(found)
    assert [(one.day, one.component, one.glasses) for one in order] == [
        (1, "ash", (1, 2)), (1, "chestnut", (1, 2)), (1, "heather", (1,)),
        (2, "ash", (3,)), (2, "chestnut", (3,)), (2, "heather", (3,)),
    ]  # fmt: skip
    assert sum(sum(one.volumes_ml) for one in order) == 3 * 40
    assert changes(found) == (5, 7)


@settings(deadline=None)
@given(st.lists(st.sampled_from(simplex_centroids(WHOLE)), min_size=1, max_size=9))
def test_no_order_changes_the_pipette_less(blends):
    """Every component that is poured needs it once, so as many changes as there are others to come."""
    found = poured(WHOLE, *blends)
    in_order, by_glass = changes(found)
    assert in_order == sum(any(parts) for parts in zip(*blends, strict=True)) - 1 <= by_glass
