"""Recalls as entries: what they hold and let go, and that tables follow from the journal alone."""

import pytest
from house import House, new_make
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook import Recall, Release
from pourbook.book.recall_scope import Suspect
from pourbook.book.verifying import repair
from pourbook.codes.identifiers import write
from pourbook.errors import Held, Malformed, OutOfRange, PourbookError, Refused, Unknown
from pourbook.queries.recalls.recalls import ended, finding, read_threshold, recall_numbered, recalls

NAMES = ("C1", "C2", "V1", "B1")


def cellar():
    """Two casks, a sample of the first, and a batch of both."""
    house = House()
    house.cask("C1", liquid=new_make(), at="2020-01-01")
    house.cask("C2", liquid=new_make(), at="2020-01-01")
    house.pour("C1", "V1", 10_000)
    house.pour("C1", "B1", 100_000)
    house.pour("C2", "B1", 100_000)
    return house


def recall(house, *names, held=None, **changed):
    """Record a recall of items, with what it finds; the number of its entry."""
    scope = tuple(Suspect("item", house.id(name)) for name in names)
    found = finding(house.book.store, scope)
    items = tuple(one.item.id for one in found.affected.items)
    held = tuple(one.item.id for one in found.affected.on_hand) if held is None else held
    entry = Recall(scope, True, "", 0, 1, house.book.head()[1], found.figures, items, held)
    return house.record(entry._replace(**changed), reason="exercise").numbers[-1]


def release(house, number):
    """Release a recall; short names of what was let go."""
    freed = ended(house.book.store, number)[0]
    house.record(Release(number, freed), reason="clean")
    return {house.name(identifier) for identifier in freed}


def held(house):
    """Short names of what is on hold."""
    return {name for name in NAMES if "held" in house.book.show(house.id(name)).facts}


def test_a_recall_holds_and_its_release_lets_go():
    """Nothing is poured from what is held; afterwards everything is as it was, and the book agrees with itself."""
    with cellar() as house:
        number = recall(house, "C1")
        assert held(house) == {"C1", "V1", "B1"}
        with pytest.raises(Held):
            house.pour("B1", "B2", 1_000)
        house.pour("C2", "V2", 1_000)
        assert house.book.verify().faults == ()
        assert release(house, number) == {"C1", "V1", "B1"}
        assert held(house) == set()
        house.pour("B1", "B2", 1_000)
        tables = house.dump_tables()
        repair(house.book.store)
        assert house.dump_tables() == tables
        assert house.book.verify().faults == ()


def test_what_something_else_holds_stays_held():
    """A hold by hand, before the recall or since, and another recall that is not released."""
    with cellar() as house:
        house.hold("V1")
        first, second = recall(house, "C1"), recall(house, "C2")
        house.hold("C1")
        assert release(house, first) == set()
        assert held(house) == {"C1", "C2", "V1", "B1"}
        assert release(house, second) == {"C2", "B1"}
        assert held(house) == {"C1", "V1"}
        assert [one.released for one in recalls(house.book.store)] == [second + 2, second + 3]


def test_what_was_let_go_by_hand_is_not_let_go_again():
    """An item cleared by itself while the recall stands, and one held by hand and let go before it."""
    with cellar() as house:
        house.hold("B1")
        house.unhold("B1")
        number = recall(house, "C1")
        house.unhold("V1")
        assert release(house, number) == {"C1", "B1"}


def test_a_hold_by_hand_that_was_voided_holds_nothing():
    """It was a mistake, so the recall lets go what it held."""
    with cellar() as house:
        number = recall(house, "C1")
        house.void(house.hold("C1"))
        assert release(house, number) == {"C1", "V1", "B1"}
        assert held(house) == set()


def test_figures_now_are_compared_with_those_found():
    """What was poured since shows; the entry keeps what it said."""
    with cellar() as house:
        number = recall(house, "C1", held=())
        house.despatch("B1", 50_000, customer="Fennick")
        logged, released, _ = recall_numbered(house.book.store, number)
        now = finding(house.book.store, (Suspect("item", house.id("C1")),)).figures
        then = logged.entry["body"]["figures"]
        differs = {name: now[name] - then[name] for name in then if now[name] != then[name]}
        assert differs == {
            "despatches": 1, "customers": 1, "despatched_mg": 50_000, "despatched_ethanol_mg": 20_000,
            "on_hand_mg": -50_000, "on_hand_ethanol_mg": -20_000, "suspect_on_hand_mg": -25_000,
        }  # fmt: skip
        assert (released, logged.entry["body"]["scope"]) == (0, [{"kind": "item", "name": house.id("C1")}])


def test_what_cannot_be_recalled_or_released():
    """Nothing, what is not in the book, an end before the beginning; twice, without a hold, another entry."""
    with cellar() as house:
        for change in ({"scope": ()}, {"items": ()}, {"begun_us": 2}, {"held": (house.id("C2"),)}):
            with pytest.raises(Malformed):
                recall(house, "C1", **{"held": (), **change})
        with pytest.raises(Unknown):
            recall(house, "C1", held=(), items=(write("cask", 99),))
        number, idle = recall(house, "C1"), recall(house, "C2", held=())
        release(house, number)
        with pytest.raises(Refused, match="was released by entry"):
            house.record(Release(number, ()), reason="clean")
        with pytest.raises(Refused, match="nothing on hold"):
            house.record(Release(idle, ()), reason="clean")
        with pytest.raises(Unknown, match="not a recall"):
            house.record(Release(1, ()), reason="clean")
        with pytest.raises(Refused, match="stays"):
            house.void(number)
        house.water("B1", 1_000, about="spring 4")
        with pytest.raises(Refused, match=r"threshold of 0\.9"):
            finding(house.book.store, (Suspect("water", "spring 4"),), threshold=0.9)


@pytest.mark.parametrize(("text", "refusal"), [("1.5", OutOfRange), ("-0.1", OutOfRange), ("much", Malformed)])
def test_a_threshold_is_a_part_of_one(text, refusal):
    """0.001 is a tenth of a per cent; more than all is none."""
    assert read_threshold("0,001", ",") == 0.001
    with pytest.raises(refusal):
        read_threshold(text)


_steps = st.lists(st.tuples(st.sampled_from(("hold", "unhold", "recall", "release")), st.integers(0, 3)), max_size=14)


@settings(max_examples=15)
@given(steps=_steps)
def test_holds_are_those_that_something_holds(steps):
    """Against a plain list of holders: an item is free just when nobody holds it, in any order of events.

    A release by hand ends every hold of the item, those of recalls too.
    """
    with cellar() as house:
        by_hand, recalls, open_recalls = set(), {}, []
        for step, which in steps:
            name = NAMES[which]
            if step == "hold":
                house.hold(name)
                by_hand.add(name)
            elif step == "unhold":
                house.unhold(name)
                by_hand.discard(name)
                for holders in recalls.values():
                    holders.discard(name)
            elif step == "recall":
                number = recall(house, name)
                body = recall_numbered(house.book.store, number)[0].entry["body"]
                recalls[number] = {house.name(item) for item in body["held"]}
                open_recalls.append(number)
            elif open_recalls:
                number = open_recalls.pop(which % len(open_recalls))
                release(house, number)
                del recalls[number]
            assert held(house) == by_hand.union(*recalls.values())
        assert house.book.verify().faults == ()


def test_a_recall_that_is_refused_changes_nothing():
    """As every refusal."""
    with cellar() as house:
        before = house.dump_tables()
        with pytest.raises(PourbookError):
            recall(house, "C1", begun_us=5)
        assert house.dump_tables() == before
