"""A plan is the best there is: every choice tried, a second formulation, and each limit and figure worked out anew."""

import pytest
from hypothesis import given
from plan_oracle import broken, enumerated, faults, programmed, relaxed
from planned import answer_of, casks_of, recipe_of
from random_plans import houses

from pourbook.planning.plan import Plan, plan

A_HAIR = 0.01
"""Of what the contract allows: a plan may use the room that its solver needs, and no more."""


def planned(recipe, casks):
    found = plan(recipe_of(recipe), casks_of(casks))
    assert found is None or isinstance(found, Plan)
    return found


@given(houses(least=3))
def test_a_plan_of_a_few_casks_is_the_best_of_all(house):
    """Where every choice that is tried fails there is no plan; else none of them is better."""
    recipe, casks = house
    found, best = planned(recipe, casks), enumerated(recipe, casks)
    if found is None:
        assert best is None
        return
    assert faults(recipe, casks, answer_of(found)) == []
    assert found.proved
    if best is None:  # then by a hair only
        best = enumerated(relaxed(recipe, A_HAIR), casks)
    assert found.objective == pytest.approx(best.objective, rel=1e-6, abs=1e-6)


@given(houses(least=12, most=30))
def test_a_plan_of_more_casks_is_that_of_a_second_formulation(house):
    """What is left in each cask as the unknown, by another solver's interface, gives the same least objective."""
    recipe, casks = house
    found, (best, bound) = planned(recipe, casks), programmed(recipe, casks)
    if found is None:
        assert best is None
        return
    assert faults(recipe, casks, answer_of(found)) == []
    if best is None:
        best, bound = programmed(relaxed(recipe, A_HAIR), casks)
    assert found.objective >= bound - 1e-6 * max(1.0, bound)
    assert found.bound <= best.objective * (1 + 1e-6) + 1e-6


@given(houses(least=2, most=5))
def test_the_oracles_agree(house):
    """Neither of them is taken on trust: they find the same, and their plans break nothing."""
    recipe, casks = house
    best, (second, _) = enumerated(recipe, casks), programmed(recipe, casks)
    assert (best is None) == (second is None)
    if best is not None:
        assert second.objective == pytest.approx(best.objective, rel=1e-6, abs=1e-6)
        volumes = {cask["ref"]: cask["volume_l_20c"] for cask in casks}
        for one in (best, second):
            takes = [
                {"ref": ref, "volume_l_20c": litres, "whole": abs(litres - volumes[ref]) < 1e-6}
                for ref, litres in one.taken.items()
            ]
            assert broken(recipe, casks, takes) == []
