"""Parts that are fixed or kept in ratio: while others change, and where a cask of a batch holds too little."""

from fractions import Fraction

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from pourbook.bench.kept_parts import KeptPart, changed, made_up
from pourbook.errors import NotThere, OutOfRange

EVERY = ("a", "b", "c", "d", "e")
numbers = st.decimals("0.01", 999, places=2).map(Fraction)
blends = st.dictionaries(
    st.sampled_from(EVERY), st.builds(KeptPart, numbers, st.booleans(), st.integers(0, 2)), min_size=2
)
NEAR = Fraction(1, 100_000)


def whole(parts):
    return sum(parts.values(), Fraction(0))


@given(blends, st.sampled_from(EVERY), numbers, st.randoms(use_true_random=False))
def test_fixed_parts_stay_and_ratios_are_kept(parts, name, by, chance):
    """Of what is fixed, exactly; of a ratio, to the six decimals that parts are kept in. Their order does not count."""
    try:
        after = changed(parts, {name: by})
    except OutOfRange:
        assume(False)
    before = {one: part.part for one, part in parts.items()}
    assert after[name] == before.get(name, 0) + by
    moves = {one for one, part in parts.items() if name in parts and part.ratio and part.ratio == parts[name].ratio}
    if any(part.fixed for part in parts.values()):
        assert whole(after) == whole(before)
        stays = {part.ratio for part in parts.values() if part.fixed and part.ratio}
        for one, part in parts.items():
            if (part.fixed or part.ratio in stays) and one not in (name, *moves):
                assert after[one] == before[one]
    for one, part in parts.items():
        for other, beside in parts.items():
            if part.ratio and part.ratio == beside.ratio:
                apart = after[one] / before[one] - after[other] / before[other]
                assert abs(apart) < NEAR * (1 / before[other] + 1 / before[one])
    mixed = list(parts.items())
    chance.shuffle(mixed)
    again = changed(dict(mixed), {name: by})
    assert all(abs(again[one] - after[one]) < NEAR for one in after)


@given(blends, numbers, st.sampled_from(EVERY))
def test_where_nothing_is_kept_only_the_named_part_changes(parts, by, name):
    """As it was before anything could be kept."""
    free = {one: KeptPart(part.part) for one, part in parts.items()}
    before = {one: part.part for one, part in parts.items()}
    assert changed(free, {name: by}) == {**before, name: before.get(name, 0) + by}


@given(blends, st.dictionaries(st.sampled_from(EVERY), st.floats(1.0, 2000.0), min_size=5), st.floats(10.0, 3000.0))
def test_what_is_free_makes_up_for_a_cask_that_falls_short(parts, held, total_ml):
    """All of the batch, nothing beyond what a cask holds, fixed parts as they were, ratios kept; else it is refused."""
    before = {name: part.part for name, part in parts.items()}
    shares = {name: float(part / whole(before)) for name, part in before.items()}
    stays = {part.ratio for part in parts.values() if part.fixed and part.ratio}
    fixed = {name for name, part in parts.items() if part.fixed or part.ratio in stays}
    enough = all(shares[name] * total_ml <= held[name] for name in parts)
    try:
        found = made_up(parts, held, total_ml)
    except NotThere:
        assert not enough
        return
    assert sum(found.values()) == pytest.approx(1)
    assert all(part * total_ml <= held[name] * (1 + 1e-9) for name, part in found.items())
    assert all(found[name] == pytest.approx(shares[name]) for name in fixed)
    assert not enough or found == pytest.approx(shares)
    for one, part in parts.items():
        for other, beside in parts.items():
            if part.ratio and part.ratio == beside.ratio:
                assert found[one] / found[other] == pytest.approx(shares[one] / shares[other])


def test_a_fixed_part_that_falls_short_says_how_large_the_batch_may_be():
    """10 parts in a hundred of what a cask of 5 l holds are a batch of 50 l."""
    parts = {"V000001R": KeptPart(Fraction(90)), "V000002P": KeptPart(Fraction(10), fixed=True)}
    with pytest.raises(NotThere) as refusal:
        made_up(parts, {"V000001R": 900_000.0, "V000002P": 5_000.0}, 100_000.0)
    assert "V-000002-P is fixed and holds too little" in refusal.value.message
    assert "50.00 l at the most" in refusal.value.remedy


def test_a_ratio_cannot_be_changed_by_two_changes():
    """Two changes that keep it are one."""
    parts = {"a": KeptPart(Fraction(40), ratio=1), "b": KeptPart(Fraction(20), ratio=1), "c": KeptPart(Fraction(40))}
    assert changed(parts, {"a": Fraction(2), "b": Fraction(1)}) == {"a": 42, "b": 21, "c": 40}
    with pytest.raises(OutOfRange, match="kept in a ratio"):
        changed(parts, {"a": Fraction(2), "b": Fraction(2)})


def test_nothing_can_make_up_for_a_change_where_all_else_is_fixed():
    """And a change that adds to nothing needs nobody to make up for it."""
    parts = {"a": KeptPart(Fraction(40), fixed=True), "b": KeptPart(Fraction(60))}
    with pytest.raises(OutOfRange, match="nothing is left"):
        changed(parts, {"b": Fraction(5)})
    assert changed(parts, {"b": Fraction(-5), "c": Fraction(5)}) == {"a": 40, "b": 55, "c": 5}
