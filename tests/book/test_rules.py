"""The rules of the book, each by its name: who, when, what from, what into, and when not."""

import json
from typing import get_args

import pytest
from house import MINUTE_US, WHO, moment, new_make

from pourbook import Close, Draft, Gauge, Hold, Item, Move, Note, Pour, Void
from pourbook.book.entries import Entry
from pourbook.book.entries import House as Settings
from pourbook.book.journal import entry_of
from pourbook.book.kinds import KIND_OF_NAME
from pourbook.codes.identifiers import write
from pourbook.errors import (
    Held,
    InTheWay,
    Malformed,
    Mistyped,
    OutOfRange,
    PeriodClosed,
    Refused,
    ToConfirm,
    Unknown,
)
from pourbook.liquid import EMPTY


@pytest.fixture
def stocked(house):
    """C1 and C2 with a kilogram each, B1 empty; the clock on 1 January 2024."""
    house.cask("C1", liquid=new_make(1_000_000), at="2018-01-01")
    house.cask("C2", liquid=new_make(1_000_000), at="2018-01-02")
    house.open("B1")
    return house


def assert_refused(house, problem, words, *entries, **draft):
    """Refused for that reason, and nothing was changed."""
    before = house.dump_tables()
    with pytest.raises(problem, match=words):
        house.record(*entries, **draft)
    assert house.dump_tables() == before


# -- who, when, what -----------------------------------------------------------------------------


def test_somebody_must_have_done_it(stocked):
    """An entry names a person."""
    assert_refused(stocked, Malformed, "does not name who did it", Note(stocked.id("C1"), "x"), who="  ")


def test_nothing_happens_in_the_future(stocked):
    """Beyond the five minutes by which the clocks of two stations may differ."""
    now = stocked.clock.us
    note = Note(stocked.id("C1"), "x")
    stocked.book.record(Draft(note, now + 5 * MINUTE_US, WHO))
    with pytest.raises(OutOfRange, match="future"):
        stocked.book.record(Draft(note, now + 5 * MINUTE_US + 1, WHO))


def test_source_and_target_differ(stocked):
    """Also behind two names."""
    move = Move(stocked.id("C1"), stocked.id("C1"), 100)
    assert_refused(stocked, Refused, "poured into itself", Pour("pour", (move,)))


def test_outside_to_outside_is_no_pour(stocked):
    """Water does not go straight to a customer."""
    assert_refused(stocked, Refused, "cannot go straight", Pour("pour", (Move("water", "despatch", 100),)))


def test_a_pour_has_lines(stocked):
    """None is no pour; more than 4096 are several."""
    assert_refused(stocked, Malformed, "without a line", Pour("pour", ()))
    move = Move(stocked.id("C1"), stocked.id("B1"), 1)
    assert_refused(stocked, Refused, "at most 4096", Pour("pour", (move,) * 4097))
    stocked.record(Pour("pour", (move,) * 4096))
    assert stocked.held("B1").mass_mg == 4096
    assert stocked.book.verify().faults == ()


def test_a_mistyped_identifier_is_caught_before_any_lookup(stocked):
    """C-000001-H with another check character, or with two digits swapped."""
    for wrong in ("C000001J", "C000010H"):
        move = Move(wrong, stocked.id("B1"), 1)
        assert_refused(stocked, Mistyped, "mistyped", Pour("pour", (move,)))
        assert_refused(stocked, Mistyped, "mistyped", Note(wrong, "x"))
    assert_refused(stocked, Malformed, "not an identifier", Note("c-000001-h", "x"))


def test_an_item_not_in_the_book_is_unknown(stocked):
    """A right identifier that nobody entered."""
    stranger = write("cask", 77)
    assert_refused(stocked, Unknown, "not in the book", Pour("pour", (Move(stranger, stocked.id("B1"), 1),)))
    assert_refused(stocked, Unknown, "not in the book", Gauge(stranger, 1, None))


def test_places_and_people_hold_no_liquid(stocked):
    """A vat is a place; the batch lies in it."""
    place = stocked.book.next_id("place")
    stocked.record(Item(place, {"ref": "vat 3"}))
    assert_refused(stocked, Refused, "holds no liquid", Pour("pour", (Move(stocked.id("C1"), place, 1),)))
    assert_refused(stocked, Refused, "holds no liquid", Gauge(place, 1, None))


def test_one_refused_entry_refuses_the_whole_recording(stocked):
    """All of them or none, whichever is wrong."""
    good = Pour("pour", (Move(stocked.id("C1"), stocked.id("B1"), 1000),))
    bad = Pour("pour", (Move(stocked.id("C2"), stocked.id("B1"), 9_000_000),))
    for entries in ((good, bad), (bad, good), (Note(stocked.id("C1"), "x"), good, bad)):
        assert_refused(stocked, ToConfirm, "kg by the book, less than", *entries)


def test_a_refusal_inside_a_longer_transaction_takes_back_its_own_part_only(stocked):
    """What was recorded before it in the same transaction stays, what it had begun goes."""
    with stocked.book.writing():
        stocked.note("C1", "before")
        with pytest.raises(ToConfirm):
            stocked.record(
                Note(stocked.id("C1"), "lost"), Pour("pour", (Move(stocked.id("C2"), stocked.id("B1"), 9_000_000),))
            )
        stocked.note("C1", "after")
    texts = [row[0] for row in stocked.book.store.query("SELECT bytes FROM entry WHERE kind = 'note'")]
    assert [json.loads(text)["body"]["text"] for text in texts] == ["before", "after"]
    assert stocked.book.verify().faults == ()


def test_a_rehearsal_inside_a_longer_transaction_is_undone_alone(stocked):
    """The transaction around it goes on."""
    with stocked.book.writing():
        stocked.note("C1", "kept")
        stocked.record(Note(stocked.id("C1"), "rehearsed"), dry_run=True)
    assert stocked.book.store.query("SELECT count(*) FROM entry WHERE kind = 'note'") == [(1,)]
    assert stocked.book.verify().faults == ()


# -- holds -------------------------------------------------------------------------------------------


def test_nothing_is_poured_from_or_into_an_item_on_hold(stocked):
    """From the moment it is held to the moment it is let go; before, while the hold stands, only with a reason."""
    stocked.hold("C1", at="2020-01-01")
    out = Pour("draw", (Move(stocked.id("C1"), stocked.id("B1"), 10),))
    into = Pour("fill", (Move(stocked.id("C2"), stocked.id("C1"), 10),))
    for entry in (out, into):
        assert_refused(stocked, Held, "on hold", entry, at="2020-06-01")
        assert_refused(stocked, Held, "on hold", entry, at="2020-01-01")
        assert_refused(stocked, ToConfirm, "on hold now", entry, at="2019-12-31")
        stocked.record(entry, at="2019-12-31", confirmed=True, reason="found on the sheet")
    stocked.unhold("C1", at="2020-07-01")
    for entry in (out, into):
        stocked.record(entry, at="2019-12-31")
        assert_refused(stocked, Held, "on hold", entry, at="2020-06-30")
        stocked.record(entry, at="2020-07-01")


def test_a_hold_recorded_by_mistake_is_voided(stocked):
    """And no longer stands in the way."""
    held = stocked.hold("C1", at="2020-01-01")
    stocked.void(held, at="2020-01-02")
    stocked.draw("C1", "V1", 10, at="2020-01-03")
    assert stocked.held("V1").mass_mg == 10


# -- closed periods --------------------------------------------------------------------------------------


def test_nothing_new_happens_in_a_closed_period(stocked):
    """Up to the moment of closing; on it and after it all goes on."""
    stocked.close_period("2023-01-01")
    out = Pour("draw", (Move(stocked.id("C1"), stocked.id("B1"), 10),))
    assert_refused(stocked, PeriodClosed, "closed at 2023-01-01", out, at="2022-12-31")
    assert_refused(stocked, PeriodClosed, "closed", Note(stocked.id("C1"), "x"), at="2022-12-31")
    assert_refused(stocked, PeriodClosed, "closed", Close(), at="2022-06-01")
    stocked.record(out, at="2023-01-01")


def test_what_happened_before_the_closing_can_be_corrected(stocked):
    """By a void or a replacement in the place of what it corrects, with the reason."""
    first = stocked.draw("C1", "V1", 100, at="2022-05-01")
    second = stocked.draw("C1", "V1", 100, at="2022-05-02")
    third = stocked.draw("C1", "V1", 100, at="2023-05-02")
    stocked.close_period("2023-01-01")
    stocked.void(first, at="2023-02-01")
    move = Move(stocked.id("C1"), stocked.id("V1"), 70)
    stocked.replace(second, Pour("draw", (move,)), at="2022-05-02")
    assert stocked.held("V1").mass_mg == 170
    with pytest.raises(PeriodClosed):
        stocked.replace(third, Pour("draw", (move,)), at="2022-05-02")


def test_a_closing_stays(stocked):
    """It can be neither voided nor moved."""
    closed = stocked.close_period("2023-01-01")
    assert_refused(stocked, Refused, "stays", Void(closed.numbers[-1]), reason="too early")


def test_a_closing_recorded_together_with_pours_comes_after_them(stocked):
    """So that no entry of a closed period has a higher number than the closing, unless it corrects one."""
    pour = Draft(Pour("draw", (Move(stocked.id("C1"), stocked.id("B1"), 10),)), moment("2022-12-31"), WHO)
    close = Draft(Close(), moment("2023-01-01"), WHO)
    recorded = stocked.book.record(close, pour)
    kinds = [entry_of(stocked.book.store, number).kind for number in recorded.numbers]
    assert kinds == ["pour", "close"]


def test_a_period_is_not_closed_while_a_strength_is_pending(stocked):
    """Provisional pours block it; replaced with what the laboratory read, they no longer do."""
    pending = stocked.fill("C1", "1 l", "60", pending=True, at="2022-05-01")
    assert_refused(stocked, Refused, "pending", Close(), at="2023-01-01")
    right = Pour("fill", (stocked.move("origin", "C1", "1 l", "61"),))
    stocked.replace(pending, right, at="2022-05-01", reason="laboratory report 12")
    stocked.close_period("2023-01-01")


# -- order of application -----------------------------------------------------------------------------------


def test_entries_of_one_moment_apply_in_the_order_of_recording(stocked):
    """Emptied, then filled, at the same time: the other way round it would overdraw nothing, but mix."""
    at = "2020-01-01"
    stocked.dump("C1", "B1", at=at)
    stocked.pour("C2", "C1", at=at)
    assert stocked.held("C1") == new_make(1_000_000)
    assert stocked.shares(stocked.back("B1")) == {"C1": 1}


def test_one_recording_of_one_moment_keeps_the_order_of_its_drafts(stocked):
    """Date-only rows of one file, for example."""
    out = Pour("dump", (Move(stocked.id("C1"), stocked.id("B1"), None),))
    into = Pour("fill", (Move(stocked.id("C2"), stocked.id("C1"), None),))
    stocked.record(out, into, at="2020-01-01")
    assert stocked.shares(stocked.back("B1")) == {"C1": 1}
    assert stocked.held("C1") == new_make(1_000_000)


def test_a_recording_is_put_in_order_of_time(stocked):
    """Numbers follow what happened, not the order in which it was told."""
    early = Draft(Pour("dump", (Move(stocked.id("C1"), stocked.id("B1"), None),)), moment("2020-01-01"), WHO)
    late = Draft(Pour("bottle", (stocked.move("B1", "L1"),)), moment("2020-01-02"), WHO)
    stocked.book.record(late, early)
    assert stocked.held("L1") == new_make(1_000_000)
    assert stocked.held("B1") == EMPTY


def test_a_replacement_among_new_entries_of_the_same_moment_keeps_its_place(stocked):
    """The dump replaced stands before the fill of that moment, although both are recorded together."""
    at = "2020-01-01"
    wrong = stocked.pour("C1", "B1", 100, at=at)
    refill = Draft(Pour("fill", (Move(stocked.id("C2"), stocked.id("C1"), None),)), moment(at), WHO)
    right = Draft(
        Pour("dump", (Move(stocked.id("C1"), stocked.id("B1"), None),)),
        moment(at), WHO, reason="all of it", replaces=wrong.numbers[-1],
    )  # fmt: skip
    stocked.book.record(refill, right)
    assert stocked.held("B1") == new_make(1_000_000)
    assert stocked.shares(stocked.back("B1")) == {"C1": 1}
    assert stocked.book.verify().faults == ()


def test_a_strength_typed_with_a_pour_is_a_gauge_just_before_it(stocked):
    """Two entries: the gauge of the source, then the pour."""
    recorded = stocked.pour("C1", "B1", "100 ml", "45")
    kinds = [entry_of(stocked.book.store, number).kind for number in recorded.numbers]
    assert kinds == ["gauge", "pour"]
    assert stocked.book.show(stocked.id("B1")).strength_20c == pytest.approx(45, abs=1e-3)
    assert stocked.book.show(stocked.id("C1")).strength_20c == pytest.approx(45, abs=1e-3)


def test_a_strength_cannot_slip_in_with_a_replacement(stocked):
    """It is a gauge of the source, which would come too late: the gauge itself is to be replaced."""
    recorded = stocked.pour("C1", "B1", "100 ml", "45", at="2020-01-01")
    anew = Pour("pour", (stocked.move("C1", "B1", "100 ml", "46"),))
    assert_refused(
        stocked, Refused, "is a gauge, not", anew, at="2020-01-01", replaces=recorded.numbers[-1], reason="misread"
    )


def test_what_an_item_held_at_a_moment_includes_that_moment(stocked):
    """At 2020-01-01 sharp, the pour of 2020-01-01 has been poured."""
    stocked.pour("C1", "B1", 400_000, at="2020-01-01")
    assert stocked.held("C1", at="2019-12-31").mass_mg == 1_000_000
    assert stocked.held("C1", at="2020-01-01").mass_mg == 600_000
    assert stocked.held("C1", at="2017-01-01") == EMPTY


# -- settings -------------------------------------------------------------------------------------------------


def test_settings_are_entries_and_the_latest_counts(stocked):
    """What they were stands in the journal."""
    stocked.record(Settings({"zone": "Europe/London"}))
    assert stocked.book.settings["zone"] == "Europe/London"
    assert stocked.book.settings["house"] == "Quillmere"
    with pytest.raises(Malformed, match="unknown setting"):
        stocked.record(Settings({"zoom": "3"}))
    assert stocked.book.verify().faults == ()


def test_every_kind_of_entry_stands_in_the_table():
    """What a draft may hold and what the book knows what to do with are the same kinds."""
    assert {kind.entry for kind in KIND_OF_NAME.values()} == set(get_args(Entry))


def test_a_hold_has_its_reason(stocked):
    """Whatever door it comes through, a hold and its end say why."""
    for held in (True, False):
        with pytest.raises(Malformed, match="a hold and its release need a reason"):
            stocked.record(Hold(stocked.id("C1"), held))


def test_house_settings_cannot_be_voided(stocked):
    """They are changed by saying what is true now."""
    assert_refused(stocked, Refused, "stays", Void(1), reason="no")


def test_an_obstacle_names_the_entries_in_the_way(stocked):
    """Voiding the only fill of C1 is refused because of the two later draws."""
    first = stocked.draw("C1", "V1", 100, at="2020-01-01").numbers[-1]
    second = stocked.draw("C1", "V1", 100, at="2020-01-02").numbers[-1]
    fill = stocked.book.store.query("SELECT number FROM entry WHERE kind = 'pour' ORDER BY number")[0][0]
    with pytest.raises(InTheWay, match=f"entry {first}: .*entry {second}: ") as refusal:
        stocked.void(fill)
    assert refusal.value.entries == (first, second)
