"""How sure a plan is, by the command on the sample house: beside a plan, and of a batch that is being poured."""

import shutil

import pytest
from command import Desk, here


@pytest.fixture(scope="module")
def sample_house(tmp_path_factory):
    """The sample house."""
    folder = tmp_path_factory.mktemp("sure") / "quillmere"
    here("demo", folder).done()
    return Desk(folder / "quillmere.pourbook", here)


@pytest.fixture
def desk(sample_house, tmp_path):
    """A copy of it that may be written in."""
    return Desk(shutil.copy(sample_house.book, tmp_path / "quillmere.pourbook"), here)


PLAN = "plan 'Trial 26-B' --final '300 l' --to 46 --on 2026-12-01 --gauged-within 500 --aim cost"
"""The cheapest batch is as small as will do: it lies at an edge."""


def test_a_plan_says_how_sure_it_is_where_that_is_asked(sample_house):
    """A plan that lies at an edge says so, and what to ask for; without the option nothing of it is said."""
    assert "how_sure" not in sample_house.asks(PLAN)
    answer = sample_house.asks(f"{PLAN} --how-sure")
    sure = answer["how_sure"]
    assert {one["cask"] for one in sure["casks"]} == {one["id"] for one in answer["casks"]}
    edges = [one for one in sure["limits"] if one["chance"] == pytest.approx(0.5, abs=0.01)]
    assert edges
    said = sample_house(f"{PLAN} --how-sure").done().out
    assert "it lies at the very edge; to keep it in 95 % of all cases, plan for at least" in said
    assert "all together: " in said


def test_a_plan_within_the_ends_that_were_told_is_surer(sample_house):
    """The volume lay at its lower end; asked for within what was told, it lies well inside, by whatever casks."""
    first = sample_house.asks(f"{PLAN} --how-sure")["how_sure"]["limits"]
    volume = next(one for one in first if one["demand"] == "target.volume_l")
    assert volume["chance"] < 0.6
    within = 100 * (300 - volume["tightened"]["low"]) / 300
    anew = sample_house.asks(f"{PLAN} --within {within:.4f} --how-sure")["how_sure"]["limits"]
    found = next(one for one in anew if one["demand"] == "target.volume_l")
    assert found["value"] >= volume["tightened"]["low"] - 0.001
    assert found["value"] - volume["low"] > found["standard_uncertainty"]


def test_of_an_open_batch_what_is_left_to_pour_counts(desk):
    """Casks that were poured are in the vat and no longer unsure; when none is left there is nothing to be sure of."""
    answer = desk.asks(f"{PLAN} --record --ref 'Vatting 9'")
    casks = [one["id"] for one in answer["plan"]["casks"]]
    before = desk.asks("uncertainty plan 'Vatting 9'")
    assert [one["cask"] for one in before["casks"]] == casks
    for at, one in enumerate(answer["plan"]["casks"]):
        amount = "all" if one["whole"] else f"{one['volume_l_20c']:.1f} l"
        if at == len(casks) - 1:
            last = desk.asks("uncertainty plan 'Vatting 9' --sure 90 --meter 'limit 0.2 %'")
            assert [one["cask"] for one in last["casks"]] == casks[-1:]
            assert last["taken_as_exact"] == ["what is in the vat"]
            assert last["sure_enough"] == pytest.approx(0.9)
        desk.does(f"pour 'Vatting 9' {one['id']} '{amount}' --confirm")
    ran = desk("uncertainty plan 'Vatting 9'")
    assert ran.status == 1
    assert "nothing is left of the plan" in ran.err


def test_a_batch_without_such_a_plan_is_refused(desk):
    """One that was opened by naming casks keeps no limits."""
    ran = desk("uncertainty plan 'Vatting 3'")
    assert ran.status == 1
    assert "does not say what its plan was asked" in ran.err
