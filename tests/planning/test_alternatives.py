"""Other plans, casks like one that is missing, and why the rest is left out."""

import pytest
from hypothesis import assume, given
from plan_oracle import enumerated, faults, in_the_choice
from planned import answer_of, casks_of, recipe_of
from random_plans import houses

from pourbook.planning.alternatives import like_casks, other_plans
from pourbook.planning.left_out import left_out
from pourbook.planning.plan import Plan, plan


def _found(house):
    recipe, casks = house
    found = plan(recipe_of(recipe), casks_of(casks))
    assume(isinstance(found, Plan))
    return found


@given(houses(least=3, most=5))
def test_other_plans_are_the_next_best_of_all(house):
    """Checked with every choice of casks tried that differs enough from the plans before."""
    recipe, casks = house
    best = _found(house)
    others = other_plans(recipe_of(recipe), casks_of(casks), best)
    before = [best]
    for other in (*others, *([None] if len(others) < 2 else [])):
        unlike = [{take.ref for take in one.takes} for one in before]
        least = enumerated(recipe, casks, unlike=unlike)
        assert (other is None) == (least is None)
        if other is not None:
            assert faults(recipe, casks, answer_of(other)) == []
            assert other.objective == pytest.approx(least.objective, rel=1e-6, abs=1e-6)
            before.append(other)


@given(houses(least=3, most=6))
def test_a_cask_stands_in_where_a_plan_opens_it_beside_the_others(house):
    """Of its component, not in the plan, the likest first."""
    recipe, casks = house
    found = _found(house)
    by_ref = {cask["ref"]: cask for cask in casks}
    for take in found.takes:
        others = {one.ref for one in found.takes} - {take.ref}
        likes = like_casks(recipe_of(recipe), casks_of(casks), found, take.ref)
        assert [one.apart for one in likes] == sorted(one.apart for one in likes)
        for one in likes:
            assert one.cask.component == by_ref[take.ref]["component"]
            few = [by_ref[ref] for ref in (*others, one.cask.ref)]
            opened = enumerated(recipe, few, opened=(one.cask.ref,), any_will_do=True)
            assert one.stands == (opened is not None)


@given(houses(least=3, most=6))
def test_every_cask_is_opened_or_left_out_for_a_reason(house):
    """None twice; what is not needed could have been chosen."""
    recipe, casks = house
    found = plan(recipe_of(recipe), casks_of(casks))
    takes = found.takes if found else ()
    out = left_out(recipe_of(recipe), casks_of(casks), takes)
    assert sorted([take.ref for take in takes] + [one.cask.ref for one in out]) == sorted(c["ref"] for c in casks)
    choice = {cask["ref"] for cask in in_the_choice(recipe, casks)}
    assert {one.cask.ref for one in out if one.reason == "not needed"} == choice - {take.ref for take in takes}
