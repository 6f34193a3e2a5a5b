"""What blends are made of, all of them in one pass: as one by one, and by hand where parts are grouped."""

from typing import get_args

import pytest
from house import House
from hypothesis import given
from random_books import ITEMS, books, built

from pourbook.book.entries import Component
from pourbook.errors import Refused
from pourbook.queries.traces.behind import BLENDS, behind, parts_of
from pourbook.queries.traces.made_of import By, Grouping, blended, made_of


@pytest.fixture
def bench():
    """Malt in ash, rye in chestnut that held heather wine, and a vatting of both back in ash."""
    with House() as house:
        house.cask("C1", "200 l", "60", spirit="malt spirit")
        house.cask("C2", "200 l", "60", spirit="rye spirit")
        house.facts("C1", wood="ash")
        house.facts("C2", wood="chestnut", previous="heather wine")
        house.pour("C1", "C3", "75 l")
        house.pour("C2", "C3", "25 l")
        house.facts("C3", wood="ash")
        for cask, vial in (("C1", "V1"), ("C2", "V2"), ("C3", "V3")):
            house.draw(cask, vial, "200 ml")
        house.pour("V1", "T1", "50 ml")
        house.pour("V3", "T1", "40 ml")
        house.water("T1", "10 ml")
        yield house


def parts(house, item, group_by="cask"):
    """Fractions by the short names of casks."""
    found = made_of(house.book, [house.id(item)], By(group_by))[house.id(item)]
    return {house.name(name): fraction for name, fraction in found.items()}


BY_HAND = {
    "cask": {"C1": 0.5, "C3": 0.4, "water": 0.1},
    "wood": {"ash": 0.9, "water": 0.1},
    "spirit": {"malt spirit": 0.8, "rye spirit": 0.1, "water": 0.1},
    "component": {"": 0.9, "water": 0.1},
    "kind": {"malt spirit · ash": 0.8, "rye spirit · ash": 0.1, "water": 0.1},
}
"""The third cask is three parts of malt and one of rye."""


@pytest.mark.parametrize("group_by", get_args(Grouping))
def test_by_hand_by_every_grouping(bench, group_by):
    """Largest first; the fractions are of what left each cask."""
    found = parts(bench, "T1", group_by)
    assert found == pytest.approx(BY_HAND[group_by], abs=2e-5)
    assert list(found.values()) == sorted(found.values(), reverse=True)


def test_previous_contents_are_of_the_kind(bench):
    """What is wanted of a cask is its spirit, its wood and what it held."""
    assert parts(bench, "V2", "kind") == {"rye spirit · chestnut · heather wine": 1.0}


def test_a_cask_is_its_own_and_an_outside_sample_itself(bench):
    """By cask each is one part; its spirit and wood are as recorded, or nobody's."""
    assert parts(bench, "C3") == {"C3": 1.0}
    bench.pour("origin", "V4", "100 ml", "60", spirit="grain spirit")
    assert parts(bench, "V4") == {"V4": 1.0}
    assert parts(bench, "V4", "spirit") == {"grain spirit": 1.0}
    assert parts(bench, "V4", "wood") == {"": 1.0}


def test_what_is_not_poured_yet_is_as_it_would_be(bench):
    """Volumes of items and water; a trial in it is looked through."""
    bench.open("V9")
    volumes = {bench.id("T1"): 50.0, bench.id("V2"): 25.0, "water": 20.0, bench.id("V9"): 5.0}
    found = {bench.name(name): part for name, part in blended(bench.book, volumes).items()}
    assert found == pytest.approx({"C1": 0.25, "C3": 0.2, "water": 0.25, "C2": 0.25, "V9": 0.05}, abs=2e-5)


def test_as_of_a_moment_what_was_poured_later_is_not_in_it(bench):
    """Also where nothing was poured out in between, so that it is one state."""
    then = bench.clock.us
    bench.pour("V2", "T1", "100 ml")
    book, store, trial = bench.book, bench.book.store, bench.id("T1")
    casks = {bench.id("C1"), bench.id("C3"), "water"}
    assert made_of(book, [trial], at_us=then)[trial].keys() == casks
    assert {one.source for one in parts_of(store, trial, BLENDS, then)} == casks
    assert {one.source for one in behind(store, trial, BLENDS, then)} == casks
    assert bench.id("C2") in made_of(book, [trial])[trial]


def test_by_components_of_the_house(bench):
    """By spirit, wood, what the cask held when it was poured from, and age; the closest kind, or none."""
    kinds = (
        Component("base", "malt"), Component("ash base", "malt", "ash"), Component("accent", "", "chestnut", "heather"),
        Component("old", "rye", "ash", min_age=3), Component("older", "rye", "ash", min_age=300),
    )  # fmt: skip
    bench.record(*kinds)
    assert parts(bench, "T1", "component") == pytest.approx({"ash base": 0.8, "": 0.1, "water": 0.1}, abs=2e-5)
    assert parts(bench, "V2", "component") == {"accent": 1.0}
    bench.draw("C3", "V5", "100 ml", at="2029-01-01")
    assert parts(bench, "V5", "component") == pytest.approx({"ash base": 0.75, "": 0.25}, abs=2e-5), "age unknown"
    bench.fill("C4", "100 l", "60", spirit="rye spirit", wood_days=0, at="2024-06-01")
    bench.facts("C4", wood="ash")
    for vial, at, kind in (("V6", "2027-05-30", ""), ("V7", "2027-06-02", "old")):
        bench.draw("C4", vial, "100 ml", at=at)
        assert parts(bench, vial, "component") == {kind: 1.0}
    assert parts(bench, "C4", "component") == {"old": 1.0}
    assert blended(bench.book, {"accent": 3.0, bench.id("V2"): 1.0}, By("component")) == {"accent": 1.0}
    assert blended(bench.book, {"accent": 3.0, "water": 1.0}) == {"accent": 0.75, "water": 0.25}


@given(books)
def test_all_at_once_is_as_one_by_one(operations):
    """Of random books with all that confuses a lineage; every grouping is whole, and empty items are left out."""
    house, _ = built(operations)
    with house:
        store, ids = house.book.store, [house.id(name) for name in ITEMS]
        for group_by in get_args(Grouping):
            for composition in made_of(house.book, ids, By(group_by)).values():
                assert sum(composition.values()) == pytest.approx(1)
        found = made_of(house.book, ids)
        assert all(composition == {item: 1.0} for item, composition in found.items() if item[0] == "C")
        for item in (one for one in ids if one[0] != "C"):
            try:
                one_by_one = behind(store, item, BLENDS)
            except Refused:
                assert item not in found
                continue
            whole = sum(one.share * one.ml_per_mg for one in one_by_one)
            volumes = {one.source: one.share * one.ml_per_mg / whole for one in one_by_one}
            assert found[item] == pytest.approx(volumes, abs=1e-9)


@given(books)
def test_where_every_cask_has_its_own_wood_grouping_by_wood_is_by_cask(operations):
    """The same fractions under other names."""
    house, _ = built(operations)
    with house:
        for name in ITEMS:
            house.facts(name, wood=f"wood of {house.id(name)}")
        ids = [house.id(name) for name in ITEMS]
        by_cask, by_wood = (made_of(house.book, ids, By(by)) for by in ("cask", "wood"))
        for item, composition in by_cask.items():
            named = {f"wood of {one}" if one[0].isupper() else one: part for one, part in composition.items()}
            assert by_wood[item] == pytest.approx(named, abs=1e-12)
