"""Bounds of a part: read with it, in parts of the same whole, and never contradicting each other."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pourbook.bench.bounds import Bounds, beside_bounds, bounds_of, check_bounds, nearest_within, read_part, stands
from pourbook.bench.trials import fractions, laid_out
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import Liquid

numbers = st.decimals(Decimal("0.01"), Decimal(999), places=2)


@st.composite
def bounded_parts(draw):
    """Recipes as typed: some parts with a target in its bounds, some with a range alone, some without bounds."""
    typed = []
    for number in range(draw(st.integers(1, 8))):
        low, middle, high = sorted((draw(numbers), draw(numbers), draw(numbers)))
        assume(low < high)
        typed.append(
            (f"V{number:06d}", draw(st.sampled_from((f"{middle} in {low}..{high}", f"{low}..{high}", f"{middle}"))))
        )
    return typed


def kept(typed):
    return [(component, *read_part(text)) for component, text in typed]


@given(bounded_parts())
def test_bounds_of_a_recipe_can_all_be_met_at_once(typed):
    """Lows add to no more than the whole, highs to no less (parts without bounds are free): no bounds contradict."""
    parts = kept(typed)
    for part in parts:
        check_bounds(*part)
    shares, bounds = fractions((component, text) for component, text, _ in parts), bounds_of(parts)
    assert all(bounds[one].low <= shares[one] <= bounds[one].high for one in bounds)
    assert sum(one.low for one in bounds.values()) <= 1
    if len(bounds) == len(parts):
        assert sum(one.high for one in bounds.values()) >= 1


@given(bounded_parts(), st.lists(st.integers(0, 100), min_size=8, max_size=8))
def test_the_nearest_within_is_within_and_keeps_what_is_within(typed, wanted):
    """Together a hundred, each part in its bounds as far as a tenth of a per cent tells; what is within stays."""
    parts = kept(typed)
    some, free = bounds_of(parts), Bounds(Fraction(0), Fraction(1))
    bounds = {component: some.get(component, free) for component, _, _ in parts}
    whole = sum(wanted[: len(parts)])
    shares = {one: part / whole for one, part in zip(bounds, wanted, strict=False)} if whole else {}
    found = nearest_within(shares, bounds)
    assert sum(found.values()) == 100
    for one, part in found.items():
        assert float(bounds[one].low) * 100 - 0.1 <= part <= float(bounds[one].high) * 100 + 0.1
    if shares and all(bounds[one].low <= share <= bounds[one].high for one, share in shares.items()):
        assert {one: float(part) for one, part in found.items()} == pytest.approx(
            {one: share * 100 for one, share in shares.items()}, abs=0.3
        )


@given(bounded_parts(), st.integers(1, 50))
def test_what_is_poured_as_planned_is_within(typed, times):
    """The plan keeps its own bounds; the order of parts and the size of the trial are all one."""
    parts = kept(typed)
    bounds = bounds_of(parts)
    pours = laid_out(
        [part[:2] for part in parts], 100.0, {part[0]: Liquid(10**9, 5 * 10**8) for part in parts}, ".", bounds
    )
    volumes = {pour.component: pour.volume_ml for pour in pours}
    assert {one.stands for one in beside_bounds(bounds, volumes)} <= {"within"}
    larger = {one: ml * times for one, ml in reversed(volumes.items())}
    turned = {one.component: one.fraction for one in beside_bounds(bounds_of(reversed(parts)), larger)}
    assert turned == pytest.approx({one.component: one.fraction for one in beside_bounds(bounds, volumes)})
    for pour in pours:
        assert (pour.bounds_ml is None) is (pour.component not in bounds)
        if pour.bounds_ml:
            assert pour.bounds_ml == pytest.approx([float(bound) * 100 for bound in bounds[pour.component]])


@given(bounded_parts(), st.lists(st.floats(0.01, 500), min_size=8, max_size=8))
def test_a_part_is_where_its_share_is(typed, poured):
    """Whatever was poured: above where the share is larger than the upper bound, below where it is smaller."""
    bounds = bounds_of(kept(typed))
    volumes = dict(zip((component for component, _ in typed), poured, strict=False))
    whole = sum(volumes.values())
    for one in beside_bounds(bounds, volumes):
        share, (low, high) = Fraction(volumes[one.component]) / Fraction(whole), bounds[one.component]
        slack = Fraction(1, 10_000)
        if one.stands == "above":
            assert share > high
        elif one.stands == "below":
            assert share < low
        else:
            assert low - slack <= share <= high + slack


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("7", ("7", "")),
        ("20..30", ("25", "20..30")),
        ("0..5", ("2.5", "0..5")),
        ("4 in 2..5", ("4", "2..5")),
        (" 4  in 2 .. 5 ", ("4", "2 .. 5")),
    ],
)
def test_a_part_as_typed(text, read):
    """A target, a target in bounds, or a range whose middle is the target."""
    assert read_part(text) == read


def test_a_part_in_the_writing_of_the_house():
    """A house that writes commas types commas, and reads them."""
    assert read_part("1,5..2", ",") == ("1,75", "1,5..2")
    assert bounds_of([("V000001R", "2,5", "2..3"), ("water", "7,5", "")], ",") == {
        "V000001R": Bounds(Fraction(1, 5), Fraction(3, 10))
    }


@pytest.mark.parametrize("text", ["5..2", "3..3", "4 in 2", "2..", "..5", "-1..5", "4 in 2..5..7", "1,5..2", "4 in"])
def test_a_range_that_is_none(text):
    """Two numbers, the lower one first, none below nothing."""

    def taken():
        part, bounds = read_part(text)
        fractions([("V000001R", part)])
        check_bounds("V000001R", part, bounds)

    with pytest.raises(Malformed):
        taken()


def test_a_target_out_of_its_own_bounds_is_refused_with_its_figures():
    """The only way bounds can contradict."""
    with pytest.raises(OutOfRange, match=r"part 6 of V-000001-R is outside its bounds 2\.\.5"):
        check_bounds("V000001R", "6", "2..5")


def test_what_shows_within_is_within():
    """30.004 % shows as 30.00: no blender could see why it is out."""
    assert [stands(share, 0.2, 0.3) for share in (0.30004, 0.30006, 0.19996, 0.19994)] == [
        "within", "above", "within", "below",
    ]  # fmt: skip
