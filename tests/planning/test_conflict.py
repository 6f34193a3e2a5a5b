"""A conflict is one: together its demands cannot be met, without any one they can, and no fewer are in conflict."""

from itertools import combinations

from hypothesis import assume, given
from plan_oracle import can_be_met, demands
from planned import casks_of, recipe_of
from random_plans import houses

from pourbook.planning.conflict import conflict
from pourbook.planning.plan import plan


@given(houses(least=2, most=5))
def test_a_conflict_is_a_smallest_one(house):
    """Checked with every choice of casks tried, and every set of fewer demands."""
    recipe, casks = house
    assume(plan(recipe_of(recipe), casks_of(casks)) is None)
    found = conflict(recipe_of(recipe), casks_of(casks))
    assert found.smallest
    assert not can_be_met(recipe, casks, found.demands)
    fewer = combinations(demands(recipe), len(found.demands) - 1) if found.demands else ()
    assert all(can_be_met(recipe, casks, kept) for kept in fewer)
