"""Tasting at the command: a note is typed in one line, read back at once, and what was drunk is booked."""

import shlex
import shutil

import pytest
from command import Desk, here, recorded

from pourbook.book.tasting_notes import notes
from pourbook.whole_book import Book


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A cask, a vial of it, three words of the list; faults put an item on hold."""
    path = tmp_path_factory.mktemp("tasting") / "house.pourbook"
    return recorded(
        path,
        ("cask", "Q 1", "--fill", "200 l", "--strength", "63.5", "--in-wood", "0"),
        ("draw", "Q 1", "100 ml", "--ref", "S 1"),
        ("word", "pear", "--also", "bosc", "--group", "fruit"),
        ("word", "oak"),
        ("word", "sulphur", "--fault"),
        settings=("--set", "hold_off_notes=yes"),
    )


@pytest.fixture
def desk(house, tmp_path):
    """A copy of the house to record in."""
    return Desk(shutil.copy(house, tmp_path / "copy.pourbook"), here)


def volume_ml(desk, item):
    return desk.asks(f"show {shlex.quote(item)}")["volume_ml_20c"]


def test_a_note_is_read_back_as_it_was_taken(desk):
    """In the words of the list, with free words as typed."""
    said = desk.does("taste s1 'clean' --nose 'Pears 4, OAK 2; a little shy' --finish 'oak 3; short' --seconds 25")
    assert said.out.splitlines() == [
        "V-000001-R · S 1 · Q 1, tasted by M. Aldane", "  nose: pear 4, oak 2; a little shy", "  finish: oak 3; short",
        "  stayed 25 s", "  clean",
    ]  # fmt: skip


def test_what_was_drunk_is_lost_in_tasting(desk):
    """By the amount given, in the same recording; without one, or where it was poured before, nothing is booked."""
    before = volume_ml(desk, "S 1")
    desk.does("taste 'S 1' sweet")
    desk.does("taste 'S 1' sweet --amount '20 ml' --poured")
    assert volume_ml(desk, "S 1") == before
    answer = desk.asks("taste 'S 1' sweet --amount '20 ml'")
    assert len(answer["entries"]) == 2
    assert answer["note"]["amount_ml"] == 20
    assert volume_ml(desk, "S 1") == pytest.approx(before - 20, abs=1e-3)
    (loss,) = desk.asks("journal --kind pour --limit 1")["entries"]
    assert loss["body"]["lines"][0]["facts"]["disposition"] == "tasting"


def test_more_than_there_is_is_asked_about_and_nothing_is_recorded(desk):
    """Neither the note nor the pour."""
    before = desk.asks("journal-hash")
    ran = desk("taste 'S 1' sweet --amount '200 ml'")
    assert (ran.status, "holds" in ran.err) == (1, True)
    assert desk.asks("journal-hash") == before


def test_a_dry_run_of_a_faulty_glass_keeps_nothing(desk):
    """The answer says what would be."""
    before = desk.asks("journal-hash")
    answer = desk.asks("taste 'S 1' --nose 'sulphur 2' --amount '10 ml' --dry-run")
    assert (answer["held"], answer["dry_run"], answer["note"]["off_notes"]) == (True, True, ["sulphur"])
    assert desk.asks("journal-hash") == before


def test_a_fault_puts_the_item_on_hold_where_the_house_wishes(desk):
    """In the same recording, for that note; a hold that stands is not made twice, and zero is no fault."""
    desk.does("taste 'S 1' --nose 'sulphur 0, pear 2'")
    assert desk("draw 'S 1' '1 ml'").status == 0
    answer = desk("taste 'S 1' --nose 'sulphur 2' --amount '10 ml'").done()
    assert "warning: V-000001-R · S 1 · Q 1 is on hold now: sulphur" in answer.err
    assert "is on hold" in desk("draw 'S 1' '1 ml'").err
    assert "for its off-note: tasting note" in desk("journal --limit 1 --kind hold").out
    again = desk.asks("taste 'S 1' worse --off sulphur")
    assert (again["held"], again["note"]["off_notes"]) == (False, ["sulphur"])
    desk.does("settings --set hold_off_notes=no")
    assert desk.asks("taste 'Q 1' --off sulphur")["held"] is False


def test_a_word_that_is_near_is_suggested_and_not_taken(desk):
    """With an intensity it is asked about; in free words anything may stand."""
    ran = desk("taste 'S 1' --nose 'paer 3'")
    assert "not on the house's list: 'paer'" in ran.err
    assert "was it 'pear'?" in ran.err
    desk.does("taste 'S 1' --nose 'paer, peat'")
    assert desk.asks("taste 'S 1' --nose 'paer 3' --confirm")["note"]["stages"]["nose"]["words"] == {"paer": 3}


def test_one_word_has_one_intensity_at_a_stage(desk):
    """However it is spelled."""
    assert "stands there already" in desk("taste 'S 1' --nose 'pear 4, bosc 3'").err


def test_who_tasted_need_not_be_who_records(desk):
    """Both stand in the note."""
    answer = desk.asks("taste 'S 1' sweet --by 'Isla Farrow' --blind")
    assert (answer["note"]["assessor"], answer["note"]["who"], answer["note"]["blind"]) == (
        "Isla Farrow", "M. Aldane", True,
    )  # fmt: skip


def test_a_word_keeps_what_is_not_changed(desk):
    """And comes back when it is written again."""
    desk.does("word Pears --definition 'ripe pears, freshly cut' --retire")
    word = desk.asks("word pear --no-fault")
    assert (word["word"], word["group"], word["also"], word["gone"]) == ("pear", "fruit", ["bosc"], False)
    assert word["definition"] == "ripe pears, freshly cut"


def test_a_note_can_be_voided(desk):
    """It is gone; what was drunk stays gone until its pour is voided."""
    answer = desk.asks("taste 'S 1' sweet --amount '10 ml'")
    note, pour = answer["entries"]
    desk.does(f"void {note} --reason 'another glass'")
    with Book.open(desk.book) as book:
        assert list(notes(book.store)) == []
    assert desk("verify").status == 0
    desk.does(f"void {pour} --reason 'another glass'")
