"""Families of trials and recipes: every member once, below what it came from, with what changed in it."""

import pytest
from house import House
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Recipe, RecipePart
from pourbook.book.entries import Component
from pourbook.errors import Malformed, Unknown
from pourbook.queries.traces.made_of import By
from pourbook.queries.trials.family import family


@pytest.fixture
def bench():
    """Three casks, a vial of each; a second vial of the first."""
    with House() as house:
        for cask, vial in (("C1", "V1"), ("C2", "V2"), ("C3", "V3")):
            house.cask(cask, "200 l", "60")
            house.draw(cask, vial, "500 ml")
        house.draw("C1", "V4", "500 ml")
        yield house


def poured(house, trial, parent="", **parts):
    """A trial that was revised from another and poured, in ml of each vial."""
    house.open(trial, **({"revised_from": house.id(parent)} if parent else {}))
    for vial, ml in parts.items():
        house.pour(vial, trial, f"{ml} ml")


def tree(house, found):
    """Short names with their depth, in the order they are shown."""
    return [(house.name(one.name), one.depth) for one in found.members]


def changes(house, member):
    """Changes in per cent, by the short names of casks."""
    return {house.name(one.component): round(one.change * 100, 2) for one in member.changes}


def test_from_the_first_down_all_branches(bench):
    """Whichever is asked for, the family is the same; each is set against the one it came from."""
    poured(bench, "T1", V1=80, V2=20)
    poured(bench, "T2", "T1", V1=70, V2=20, V3=10)
    poured(bench, "T3", "T1", V4=80, V2=20)
    poured(bench, "T4", "T2", V1=60, V2=20, V3=20)
    poured(bench, "T5", V1=50)
    for asked in ("T1", "T2", "T3", "T4"):
        found = family(bench.book, bench.id(asked))
        assert tree(bench, found) == [("T1", 0), ("T2", 1), ("T4", 2), ("T3", 1)]
        assert found.asked == bench.id(asked)
    first, second, fourth, third = found.members
    assert changes(bench, first) == {}
    assert changes(bench, second) == {"C1": -10, "C3": 10}
    assert changes(bench, fourth) == {"C1": -10, "C3": 10}
    assert changes(bench, third) == {}, "another vial of the same cask is no change"
    assert tree(bench, family(bench.book, bench.id("T5"))) == [("T5", 0)]


def test_what_was_made_by_a_trial_stands_with_it(bench):
    """The batches that follow it, each once."""
    poured(bench, "T1", V1=80, V2=20)
    poured(bench, "T2", "T1", V1=70, V2=30)
    bench.open("B1", "B2", follows=bench.id("T2"), ref="Vatting 1")
    bench.open("B3")
    first, second = family(bench.book, bench.id("T1")).members
    assert (first.batches, second.batches) == ((), (bench.id("B1"), bench.id("B2")))


def test_what_is_not_poured_is_as_planned(bench):
    """Marked as planned, against the parent as poured; a plan that can no longer be laid out says nothing."""
    poured(bench, "T1", V1=80, V2=20)
    bench.record(Recipe("Ash", (RecipePart(bench.id("V1"), "60"), RecipePart(bench.id("V2"), "40"))))
    bench.open("T2", revised_from=bench.id("T1"), follows="Ash", total="100 ml", at="2024-03-01")
    bench.open("T3", revised_from=bench.id("T2"), follows="Elm", total="100 ml", at="2024-03-02")
    first, second, third = family(bench.book, bench.id("T2")).members
    assert (first.is_planned, second.is_planned, third.is_planned) == (False, True, True)
    assert changes(bench, second) == {"C1": -20, "C2": 20}
    assert (second.blend, third.composition, third.changes) == (None, {}, ())


def test_recipes_that_were_revised_stand_above_their_trials(bench):
    """A trial of the first recipe and two of the second; a trial revised from one of these stands under it."""
    for name, parent, parts in (("Ash", "", ("60", "40")), ("Elm", "Ash", ("70", "30")), ("Fir", "", ("1", "1"))):
        both = tuple(RecipePart(bench.id(vial), part) for vial, part in zip(("V1", "V2"), parts, strict=True))
        bench.record(Recipe(name, both, parent))
    for trial, recipe in (("T1", "Ash"), ("T2", "Elm"), ("T3", "Elm"), ("T5", "Fir")):
        bench.open(trial, follows=recipe, total="100 ml", at="2024-03-01")
    poured(bench, "T4", "T3", V1=75, V2=25)
    expected = [("Ash", 0), ("T1", 1), ("Elm", 1), ("T2", 2), ("T3", 2), ("T4", 3)]
    for asked in ("Ash", "elm", bench.id("T1"), bench.id("T4")):
        found = family(bench.book, asked)
        assert tree(bench, found) == expected
    assert found.revised_from == (bench.id("T3"),)
    by_name = {one.name: one for one in found.members}
    assert changes(bench, by_name["Elm"]) == {"C1": 10, "C2": -10}
    assert changes(bench, by_name[bench.id("T2")]) == {}
    assert changes(bench, by_name[bench.id("T4")]) == {"C1": 5, "C2": -5}
    assert tree(bench, family(bench.book, bench.id("T5"))) == [("T5", 0)], "a recipe that stands alone is no family"
    assert tree(bench, family(bench.book, "Fir")) == [("Fir", 0), ("T5", 1)]


def test_a_recipe_on_components_is_compared_by_components(bench):
    """Its parts are kinds: by cask a trial of it has nothing in common with it, which nobody needs to be told."""
    bench.facts("C1", wood="ash")
    kinds = RecipePart("accent", "20"), RecipePart(bench.id("V2"), "80")
    bench.record(Component("accent", wood="ash"), Recipe("Ash", kinds))
    bench.open("T1", follows="Ash", total="100 ml")
    for vial, ml in (("V1", 25), ("V2", 75)):
        bench.pour(vial, "T1", f"{ml} ml")
    by_cask, by_component = family(bench.book, "Ash").members, family(bench.book, "Ash", By("component")).members
    assert [one.changes for one in by_cask] == [(), ()]
    assert by_cask[0].composition == pytest.approx({bench.id("C2"): 0.8, "accent": 0.2})
    assert changes(bench, by_component[1]) == {"accent": 5, "": -5}


def test_what_has_no_family_is_refused(bench):
    """A cask, and a name that nothing has."""
    with pytest.raises(Malformed, match="is no trial"):
        family(bench.book, bench.id("C1"))
    with pytest.raises(Unknown):
        family(bench.book, "Elm")


@given(st.lists(st.integers(0, 30), min_size=1, max_size=12))
def test_every_trial_stands_once_below_its_parent(parents):
    """Whatever was revised from whatever, itself and round about too: nothing hangs, nothing stands twice."""
    with House() as house:
        names = [f"T{number}" for number in range(len(parents))]
        house.open(*names)
        for name, parent in zip(names, parents, strict=True):
            if parent < len(names):
                house.facts(name, revised_from=house.id(names[parent]))
        seen = set()
        for asked in names:
            found = family(house.book, house.id(asked))
            place = {one.name: index for index, one in enumerate(found.members)}
            assert len(place) == len(found.members)
            assert house.id(asked) in place
            for one in found.members:
                if one.parent:
                    assert place[one.parent] < place[one.name]
                    assert one.depth == found.members[place[one.parent]].depth + 1
                    assert one.trial.facts["revised_from"] == one.parent
            assert found.members[0].depth == 0
            assert set(found.revised_from) <= place.keys()
            seen.update(place)
        assert seen == {house.id(name) for name in names}
