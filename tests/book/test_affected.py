"""All that a suspicion reaches: cases worked by hand, and random books against the drops and against sums."""

import pytest
from house import House, moment, new_make
from hypothesis import given, settings
from hypothesis import strategies as st
from random_books import books, built
from replay import Replay, every_item

from pourbook import Item, Packed, Pour
from pourbook.book.contents import EVER
from pourbook.book.recall_scope import Suspect, says
from pourbook.codes.identifiers import key_of, write
from pourbook.errors import Malformed, Mistyped, PourbookError, Refused, Unknown
from pourbook.queries.recalls.affected import affected
from pourbook.queries.recalls.recall_balance import CAME, WENT
from pourbook.queries.recalls.recalls import finding
from pourbook.queries.recalls.suspects import beginning, last_check_us


def reached(house, *suspects, at=None, least=0.0):
    """Short names of what is affected, with what was found of each."""
    found = affected(house.book.store, suspects, EVER if at is None else moment(at), least)
    return {house.name(one.item.id): one for one in found.items}


def parts(found, of="now", basis="mass"):
    """Short name to share."""
    return {name: getattr(getattr(one, of), basis) for name, one in found.items()}


def cellar():
    """Two casks of half spirit by mass, 1 kg each."""
    house = House()
    for name in ("C1", "C2"):
        house.cask(name, liquid=new_make(1_000_000, 500), at="2020-01-01", distiller=f"still {name}")
    return house


# -- worked by hand ------------------------------------------------------------------------


def test_a_water_lot_in_two_batches():
    """100 g of it in 400 g, then in 500 g of which 200 g had been the first batch: 1/4 and (50 + 100) / 500."""
    with cellar() as house:
        house.pour("C1", "B1", 300_000)
        house.water("B1", 100_000, about="spring 4, lot 26-3")
        house.pour("C2", "B2", 200_000)
        house.pour("B1", "B2", 200_000)
        house.water("B2", 100_000, about="Spring 4, Lot 26-3")
        house.water("B2", 100_000, about="spring 4, lot 26-31")
        found = reached(house, Suspect("water", "lot 26-3"))
        assert parts(found) == pytest.approx({"B1": 100 / 400, "B2": (50 + 100) / 600})
        assert parts(found, basis="alcohol") == {"B1": 0.0, "B2": 0.0}
        assert found["B2"].suspect_mg == 150_000
        assert 0 < found["B1"].now.volume < 1


def test_an_origin_by_its_entry_and_by_each_fact():
    """The number of the entry, words, and NAME=VALUE name the same delivery; a word of another fact does not."""
    with cellar() as house:
        delivery = house.fill(
            "C3", liquid=new_make(1_000_000), at="2021-01-01", distiller="Corran Vale", certificate="CV 118"
        ).numbers[-1]
        house.pour("C3", "B1", 250_000)
        house.pour("C1", "B1", 750_000)
        for name in (str(delivery), "corran vale", "distiller=Corran  Vale", "certificate=118"):
            assert parts(reached(house, Suspect("origin", name))) == pytest.approx({"C3": 1, "B1": 0.25})
        for name in ("spirit=Corran Vale", "Corra", "118 CV", "9999", "1"):
            with pytest.raises(Unknown):
                reached(house, Suspect("origin", name))
        with pytest.raises(Unknown):
            reached(house, Suspect("additive", "Corran Vale"))


def test_a_hydrometer_read_before_and_after_its_check():
    """What was gauged with it before its last check stands; what came of the reading after it does not."""
    with cellar() as house:
        instrument = house.book.next_id("instrument")
        house.record(Item(instrument, {"ref": "H-3", "certificate": "CAL 24"}), at="2019-01-01")
        house.gauge("C1", None, "60", at="2020-02-01", instruments=[("H-3", instrument, "CAL 24")])
        house.pour("C1", "V1", 10_000, at="2020-02-02")
        house.ids["N1"] = instrument
        house.facts("N1", at="2020-03-01", certificate="CAL 26")
        house.pour("C2", "V2", 10_000, at="2020-03-02")
        house.gauge("C2", None, "61", at="2020-03-03", instruments=["a scale", "H-3"])
        house.pour("C2", "B1", 100_000, at="2020-03-04")
        house.pour("C1", "B1", 100_000, at="2020-03-04")
        house.gauge("C1", 0, at="2020-03-05", instruments=["H-31"])
        assert reached(house, Suspect("instrument", instrument)).keys() == {"C1", "V1", "C2", "B1"}
        checked = last_check_us(house.book.store, instrument, EVER)
        assert checked == moment("2020-03-01")
        since = reached(house, Suspect("instrument", instrument, checked))
        assert parts(since) == pytest.approx({"C2": 1, "B1": 0.5})
        before = reached(house, Suspect("instrument", instrument, None, checked))
        assert before.keys() == {"C1", "V1", "B1"}


def test_a_closure_in_one_of_two_lots_of_a_batch():
    """One lot is touched, the batch and the other lot are not; a later slip of the pen hides no closure."""
    with cellar() as house:
        house.pour("C1", "B1", 800_000)
        house.open("L1", closure="stopper K-88", bottles="10")
        house.open("L2", closure="stopper K-881; stopper K-9", bottles="10")
        house.pour("B1", "L1", 300_000, verb="bottle", bottles=10)
        house.pour("B1", "L2", 300_000, verb="bottle", bottles=10)
        house.despatch("L1", 60_000, bottles=2, customer="Harbour Row", document="DN 1")
        house.despatch("L2", 60_000, bottles=2, customer="Fennick")
        house.facts("L1", closure="stopper K-7")
        assert parts(reached(house, Suspect("closure", "k-88"))) == {"L1": 1.0}
        found = affected(house.book.store, (Suspect("closure", "K-9"),))
        assert [(one.what, one.facts["customer"], one.part) for one in found.departures] == [("despatch", "Fennick", 1)]
        with pytest.raises(Unknown, match="no lot has a closure"):
            reached(house, Suspect("closure", "K-8"))
        with pytest.raises(Unknown):
            reached(house, Suspect("bottle_lot", "K-88"))


def test_what_was_sent_came_back_and_is_left():
    """Ten bottles filled, four sent, one back, one tasted: six in the house, and the balance is the same sum."""
    with cellar() as house:
        house.pour("C1", "L1", 700_000, verb="bottle", bottles=10)
        house.despatch("L1", 280_000, bottles=4, customer="Harbour Row", document="DN 1")
        house.fill("L1", liquid=new_make(70_000, 500), source="return", bottles=1, customer="Harbour Row")
        house.lose("L1", 70_000, bottles=1, disposition="tasting")
        house.record(Packed(house.id("L1"), "case", ("095212340000000013",), "9521234", 6))
        found = finding(house.book.store, (Suspect("item", house.id("C1")),))
        (lot,) = (one for one in found.affected.items if one.item.kind == "lot")
        assert (lot.bottles, lot.bottles.left) == ((10, 4, 1, 1), 6)
        assert [unit.sscc for unit in lot.units] == ["095212340000000013"]
        assert [(one.what, one.liquid.mass_mg) for one in found.affected.departures] == [
            ("despatch", 280_000), ("return", 70_000),
        ]  # fmt: skip
        masses = {side: getattr(found.balance, side).mass_mg for side in (*CAME, *WENT)}
        assert masses == {
            "from_outside": 1_000_000, "from_unaffected": 0, "transfer_in": 700_000, "gained": 0, "returned": 70_000,
            "on_hand": 300_000 + 420_000, "internal_transfer": 700_000, "to_unaffected": 0, "despatched": 280_000,
            "lost": 70_000,
        }  # fmt: skip


def test_a_person_by_name_badge_and_window():
    """Pours of one person; of a body that another filled only the pour counts, and what they sent out of it."""
    with cellar() as house:
        badge = house.book.next_id("person")
        house.record(Item(badge, {"ref": "Isla Farrow"}), at="2019-01-01")
        isla = {"who": "isla farrow"}
        house.record(Pour("draw", (house.move("C1", "V1", 10_000),)), at="2021-01-01", **isla)
        house.record(Pour("pour", (house.move("C2", "B1", 300_000),)), at="2021-02-01", who=badge)
        house.pour("C1", "B1", 100_000, at="2021-03-01")
        house.record(
            Pour("despatch", (house.move("C1", "despatch", 5_000, customer="Fennick"),)), at="2021-04-01", **isla
        )
        found = reached(house, Suspect("person", badge))
        assert parts(found) == pytest.approx({"V1": 1, "B1": 0.75})
        february = Suspect("person", badge, moment("2021-02-01"), moment("2021-03-01"))
        assert reached(house, february).keys() == {"B1"}
        everything = finding(house.book.store, (Suspect("person", badge),))
        assert [(one.item, one.part) for one in everything.affected.departures] == [(house.id("C1"), 1.0)]
        assert (everything.balance.despatched.mass_mg, everything.balance.unexplained) == (5_000, (0, 0, 0))
        with pytest.raises(Refused, match="P-0"):
            reached(house, Suspect("person", badge, moment("2022-01-01")))


def test_a_place_touches_what_lay_there_while_it_lay_there():
    """A sample drawn before the cask came to the place is not affected, nor one that was never there."""
    with cellar() as house:
        house.pour("C1", "V1", 10_000, at="2020-06-01")
        house.despatch("C1", 5_000, at="2020-07-01", customer="Fennick")
        house.facts("C1", at="2021-01-01", place="Warehouse 2, row 3")
        house.pour("C1", "V2", 10_000, at="2021-06-01")
        house.facts("C1", at="2022-01-01", place="Warehouse 21")
        house.pour("C1", "V3", 10_000, at="2022-06-01")
        house.pour("C2", "V4", 10_000, at="2022-06-01")
        found = finding(house.book.store, (Suspect("place", "warehouse 2"),))
        assert {house.name(one.item.id) for one in found.affected.items} == {"C1", "V2", "V3"}
        assert (found.balance.to_unaffected.mass_mg, found.balance.unexplained.mass_mg) == (15_000, 0)
        assert (found.affected.departures, found.balance.despatched.mass_mg) == ((), 0)
        later = Suspect("place", "Warehouse 2", moment("2023-01-01"))
        with pytest.raises(Refused, match="no liquid was touched"):
            reached(house, later)


def test_what_an_item_held_in_a_window():
    """A cask filled anew after the window holds none of what is suspect, and says so."""
    with cellar() as house:
        house.pour("C1", "B1", at="2021-01-01")
        house.fill("C1", liquid=new_make(), at="2022-01-01")
        house.pour("C1", "B2", 100_000, at="2023-01-01")
        found = reached(house, Suspect("item", house.id("C1"), None, moment("2021-06-01")))
        assert parts(found) == {"C1": 0.0, "B1": 1.0}
        assert found["C1"].is_suspect
        assert reached(house, Suspect("item", house.id("C1"), moment("2021-06-01"))).keys() == {"C1", "B2"}


def test_a_cask_filled_anew_with_what_is_not_suspect():
    """What went into it after it was emptied is neither affected nor a gain; a gauge of the rest is a loss."""
    with cellar() as house:
        house.pour("C1", "B1", 400_000)
        house.gauge("B1", 390_000)
        house.pour("B1", "L1")
        house.pour("C2", "B1", 300_000)
        house.pour("B1", "B2", 100_000)
        found = finding(house.book.store, (Suspect("item", house.id("C1")),))
        assert {house.name(one.item.id): one.now.mass for one in found.affected.items} == {"C1": 1, "B1": 0, "L1": 1}
        batch = found.balances[house.key("B1")]
        sides = (batch.transfer_in, batch.lost, batch.internal_transfer)
        assert [side.mass_mg for side in sides] == [400_000, 10_000, 390_000]
        assert (batch.gained, batch.unexplained) == ((0, 0, 0), (0, 0, 0))


def test_a_window_alone_is_every_pour_in_it():
    """From a moment, before a moment; an empty one and one in which nothing was poured are refused."""
    with cellar() as house:
        house.pour("C1", "B1", 100_000, at="2021-01-01")
        house.pour("C2", "B1", 300_000, at="2021-01-02")
        window = Suspect("time", "", moment("2021-01-01"), moment("2021-01-02"))
        assert parts(reached(house, window)) == pytest.approx({"B1": 0.25})
        with pytest.raises(Refused, match="any pour in that window"):
            reached(house, Suspect("time", "", moment("2021-01-03")))
        with pytest.raises(Malformed, match="ends before it begins"):
            reached(house, Suspect("time", "", moment("2021-01-02"), moment("2021-01-01")))


def test_several_suspects_are_one_suspicion():
    """Two halves of a batch: all of it, and nothing counted twice; one that touched nothing is still refused."""
    with cellar() as house:
        house.pour("C1", "B1", 100_000)
        house.pour("C2", "B1", 100_000)
        both = tuple(Suspect("item", house.id(name)) for name in ("C1", "C2"))
        assert parts(reached(house, *both))["B1"] == pytest.approx(1)
        house.open("V9")
        with pytest.raises(Refused, match="V-0"):
            reached(house, *both, Suspect("item", house.id("V9")))


def test_what_was_voided_is_not_suspect():
    """An origin whose filling was voided is unknown; so is the entry that no longer counts."""
    with cellar() as house:
        wrong = house.fill("C3", liquid=new_make(), distiller="Corran Vale").numbers[-1]
        house.void(wrong)
        for name in ("Corran Vale", str(wrong)):
            with pytest.raises(Unknown):
                reached(house, Suspect("origin", name))
        with pytest.raises(Refused):
            reached(house, Suspect("item", house.id("C3")))


def test_a_moment_of_the_past():
    """What was poured later is not there yet."""
    with cellar() as house:
        house.pour("C1", "B1", 100_000, at="2021-01-01")
        house.pour("C1", "B2", 100_000, at="2022-01-01")
        assert reached(house, Suspect("item", house.id("C1")), at="2021-06-01").keys() == {"C1", "B1"}


@pytest.mark.parametrize(
    ("text", "words", "is_said"),
    [
        ("lot 3", "lot 3", True),
        ("lot 31", "lot 3", False),
        ("lot 3-1", "lot 3", False),
        ("Quelle Über 4", "über 4", True),
        ("K-88; K-91", "k-91", True),
        ("a.b", "axb", False),
    ],
)
def test_words_are_whole(text, words, is_said):
    """Another lot whose number begins with the same digits is another lot."""
    assert says(text, words) is is_said


# -- random books ---------------------------------------------------------------------------


@settings(max_examples=15)
@given(operations=books, basis=st.sampled_from(("alcohol", "mass")))
def test_items_and_origins_reach_what_their_drops_reach(operations, basis):
    """Shares of what is held now, by the drops followed one pour after the other."""
    house, _ = built(operations)
    with house:
        replay = Replay(house, basis)
        bodies = {item: replay.body(item) for item in every_item(house.book.store)}
        lines = {origin for body in bodies.values() if body.held[0] for origin, _ in body.parcels}
        question = "SELECT line, how FROM flow WHERE source = 0 AND how IN ('origin', 'water')"
        outside = dict(house.book.store.query(question))
        for line in sorted(lines & outside.keys())[:4]:
            expected = {
                item: sum(part for (origin, _), part in body.parcels.items() if origin // 4096 == line // 4096)
                for item, body in bodies.items()
                if body.held[0]
            }
            found = affected(house.book.store, (Suspect(outside[line], str(line // 4096)),))
            now = {one.item.id: getattr(one.now, basis) for one in found.items if one.item.holding.mass_mg}
            assert now == pytest.approx({item: float(expected[item]) for item in now}, abs=1e-9)
            assert all(part == 0 for item, part in expected.items() if item not in now)
        for item in bodies:
            house_reached = replay.reached(item)
            if house_reached:
                found = affected(house.book.store, (Suspect("item", item),))
                ever = {one.item.id: getattr(one.ever, basis) for one in found.items if one.item.id != item}
                assert ever == pytest.approx({other: float(pair[0]) for other, pair in house_reached.items()}, abs=1e-9)


@settings(max_examples=15)
@given(operations=books, which=st.integers(0, 7), least=st.sampled_from((0.0, 0.01, 0.2, 0.7)), slot=st.integers(5, 60))
def test_the_balance_is_exact_to_the_milligram(operations, which, least, slot):
    """Of each item and of all, in mass, ethanol and extract; whatever was gauged, corrected, sent back or cut off."""
    house, _ = built(operations)
    with house:
        items = every_item(house.book.store)
        item = items[which % len(items)]
        until = house.clock.us if slot > 40 else moment("2015-01-01") + slot * 37 * 86_400_000_000
        for suspect in (
            Suspect("item", item),
            Suspect("item", item, moment("2016-01-01")),
            Suspect("time", "", moment("2016-01-01")),
        ):
            try:
                found = finding(house.book.store, (suspect,), until, least)
            except PourbookError:
                continue
            assert {balance.unexplained for balance in found.balances.values()} <= {(0, 0, 0)}
            assert found.balance.transfer_in == found.balance.internal_transfer
            held = [
                one.item.holding.liquid
                for one in found.affected.items
                if one.item.holding.state in found.affected.states
            ]
            assert found.balance.on_hand.mass_mg == sum(liquid.mass_mg for liquid in held)


@settings(max_examples=15)
@given(operations=books, shares=st.lists(st.floats(0, 1), min_size=2, max_size=2).map(sorted))
def test_a_greater_threshold_names_no_more(operations, shares):
    """What is named at a higher threshold is named at a lower one, with the same shares."""
    house, _ = built(operations)
    with house:
        suspect = Suspect("item", house.id("C1"))
        less, more = (affected(house.book.store, (suspect,), threshold=share) for share in shares)
        by_id = {one.item.id: one for one in less.items}
        assert all(by_id[one.item.id] == one for one in more.items)
        assert {key_of(one.item.id) for one in more.items} == set(more.states.values())


@pytest.mark.parametrize("kind", ["instrument", "person", "place"])
def test_a_name_that_nobody_bears_is_no_all_clear(house, kind):
    """A slip of the pen in a recall must not read as "nothing affected"."""
    house.cask("C1", "200 l", "60")
    with pytest.raises(Unknown, match=f"no {kind} is called 'H-9'"):
        beginning(house.book.store, [Suspect(kind, "H-9")], house.clock.us)


def test_a_person_who_poured_elsewhere_is_known_whatever_the_case_of_the_name(house):
    """Nothing in that window, and no word that nobody is called so."""
    house.record(Pour("fill", (house.move("origin", "C1", liquid=new_make(1000)),)), at="2021-01-01", who="P. Hask")
    suspect = Suspect("person", "p. hask", moment("2022-01-01"), moment("2022-02-01"))
    with pytest.raises(Refused, match="no liquid was touched by person"):
        beginning(house.book.store, [suspect], house.clock.us)


def test_a_mistyped_instrument_is_told_as_such(house):
    """By its check character, before anything is looked up."""
    house.cask("C1", "200 l", "60")
    right = write("instrument", 1)
    wrong = right[:-1] + ("4" if right[-1] != "4" else "5")
    with pytest.raises(Mistyped):
        beginning(house.book.store, [Suspect("instrument", wrong)], house.clock.us)
