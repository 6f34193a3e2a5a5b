"""What was tried near a blend: in order of the distance, whatever vial or vat it came by."""

import pytest
from house import House

from pourbook.errors import Malformed, Refused
from pourbook.queries.traces.made_of import By
from pourbook.queries.trials.near import Wanted, near


@pytest.fixture
def bench():
    """Trials of three casks, two in ash and one in chestnut; one reduced; a batch as the first."""
    with House() as house:
        for cask, vial, wood in (("C1", "V1", "ash"), ("C2", "V2", "ash"), ("C3", "V3", "chestnut")):
            house.cask(cask, "200 l", "60")
            house.facts(cask, wood=wood)
            house.draw(cask, vial, "500 ml")
        trials = {
            "T1": {"V1": 90, "V3": 10}, "T2": {"V1": 80, "V3": 20}, "T3": {"V2": 90, "V3": 10},
            "T4": {"V1": 45, "V3": 5, "water": 50},
        }  # fmt: skip
        for trial, parts in trials.items():
            for source, ml in parts.items():
                house.pour(source, trial, f"{ml} ml")
        house.pour("C1", "B1", "90 l")
        house.pour("C3", "B1", "10 l")
        house.open("T9")
        yield house


def distances(house, *question, **more):
    """Short names and per cent apart, the nearest first."""
    return [(house.name(one.id), round(one.distance * 100, 1)) for one in near(house.book, *question, **more).glasses]


def test_the_nearest_first_by_cask_and_by_wood(bench):
    """Half of the sum of differences, by hand; what was never poured is not among them, nor what was asked about."""
    first = bench.id("T1")
    assert distances(bench, first) == [("B1", 0.0), ("T2", 10.0), ("T4", 50.0), ("T3", 90.0)]
    assert distances(bench, first, Wanted(By("wood"))) == [("B1", 0.0), ("T3", 0.0), ("T2", 10.0), ("T4", 50.0)]
    assert distances(bench, first, Wanted(By(without_water=True), most=2)) == [("B1", 0.0), ("T4", 0.0)]
    assert distances(bench, first, Wanted(kinds=("batch",))) == [("B1", 0.0)]


def test_near_what_somebody_has_in_mind(bench):
    """Parts of any items need not add up to a hundred; differences say what was other in what was tried."""
    found = near(bench.book, parts=[(bench.id("V1"), "8"), (bench.id("C3"), "1"), ("water", "1")])
    assert found.composition == pytest.approx({bench.id("C1"): 0.8, bench.id("C3"): 0.1, "water": 0.1}, abs=1e-5)
    nearest = found.glasses[0]
    assert bench.name(nearest.id) in ("T1", "T2", "B1")
    assert nearest.distance == pytest.approx(0.1, abs=1e-4)
    assert {bench.name(one.component): round(one.change, 3) for one in nearest.differences} in (
        {"C1": 0.1, "water": -0.1, "C3": 0.0}, {"C3": 0.1, "water": -0.1, "C1": 0.0},
    )  # fmt: skip


def test_questions_that_have_no_answer(bench):
    """Neither or both; what holds nothing; water alone, compared without water."""
    with pytest.raises(Malformed, match="near what"):
        near(bench.book)
    with pytest.raises(Refused, match="follows no recipe"):
        near(bench.book, bench.id("T9"))
    bench.open("B9")
    with pytest.raises(Refused, match="nothing was ever poured"):
        near(bench.book, bench.id("B9"))
    bench.water("B9", "1 l")
    with pytest.raises(Refused, match="all water"):
        near(bench.book, bench.id("B9"), Wanted(By(without_water=True)))
