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
        ("word", "oak", "--group", "wood"),
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
    said = desk.does("taste 'S 1' --nose 'sulphur 2' --amount '10 ml' --dry-run").err
    assert "would go on hold: sulphur" in said
    assert "after the tasting" not in said
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


# -- where notes are seen ----------------------------------------------------------------------


@pytest.fixture(scope="module")
def poured(house, tmp_path_factory):
    """Two fillings of a cask, its vial in a trial, a batch that follows the trial and a lot of it, all tasted."""
    desk = Desk(shutil.copy(house, tmp_path_factory.mktemp("poured") / "house.pourbook"), here)
    for line in """
        settings --set hold_off_notes=no
        set 'Q 1' wood='virgin chestnut' --when 2024-02-02
        cask 'Q 2' --fill '200 l' --strength 60 --in-wood 0 --when 2023-01-01
        taste 'Q 2' 'grassy' --nose 'oak 1' --when 2024-02-03
        loss 'Q 2' all --kind spill --when 2024-02-04
        fill 'Q 2' '180 l' --strength 62 --in-wood 0 --when 2024-02-05
        taste 'Q 1' --nose 'pear 4, oak 0' --finish 'long' --score 84 --when 2024-02-06 --by 'Isla Farrow'
        taste 'S 1' --nose 'pear 3' --finish 'short' --score 75 --when 2024-02-07
        trial --part 'S 1=1' --total '20 ml' --ref 'Trial 1' --when 2024-02-08
        pour 'Trial 1' 'S 1' '20 ml' --when 2024-02-08
        taste 'Trial 1' --finish 'pear 2' --middle 'short' --score 70 --when 2024-02-09 --by 'Isla Farrow'
        scale-up 'Trial 1' --total '150 l' --record --ref 'Vatting 1' --when 2024-02-10
        bottle 'Vatting 1' --count 100 --size '700 ml' --ref 'Lot 1' --when 2024-02-11
        fill 'Q 1' '30 l' --strength 60 --in-wood 0 --when 2024-02-20
        taste 'Q 2' 'closed' --when 2024-02-21
    """.strip().splitlines():
        desk.does(line)
    return desk


def notes_found(desk, words):
    """What was tasted, in the order it was, with how it stands to what is asked about."""
    refs = {one["id"]: one["ref"] for one in desk.asks("stock")["items"]}
    return [f"{refs[one['item']]} {one['how']}".strip() for one in desk.asks(f"tastings {words}")["tastings"]]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("", ["Q 2", "Q 1", "S 1", "Trial 1", "Q 2"]),
        ("'short finish'", ["S 1"]),
        ("short", ["S 1", "Trial 1"]),
        ("'short pear'", ["S 1", "Trial 1"]),
        ("bosc", ["Q 1", "S 1", "Trial 1"]),
        ("PEARS --stage nose", ["Q 1", "S 1"]),
        ("oak", ["Q 2"]),
        ("--word 'oak = 0'", ["Q 1"]),
        ("--word 'bosc >= 3'", ["Q 1", "S 1"]),
        ("--word 'pear<=2'", ["Trial 1"]),
        ("--word pear --stage finish", ["Trial 1"]),
        ("--by 'isla  farrow'", ["Q 1", "Trial 1"]),
        ("--kind cask", ["Q 2", "Q 1", "Q 2"]),
        ("--score 75..", ["Q 1", "S 1"]),
        ("--score ..75", ["S 1", "Trial 1"]),
        ("--score 70", ["Trial 1"]),
        ("--item 'Q 2'", ["Q 2", "Q 2"]),
        ("--since 2024-02-07 --at 2024-02-09", ["S 1", "Trial 1"]),
        ("--limit 2", ["Trial 1", "Q 2"]),
        ("--wood chestnut", ["Q 1", "S 1", "Trial 1"]),
        ("--wood chestnut --kind cask", ["Q 1"]),
        ("--filled 2023", ["Q 2"]),
        ("--filled 2024-02-05..2024-02-05", ["Q 2"]),
        ("closed --filled 2023", []),
        ("--filled 2023..2024 --limit 1", ["Q 2"]),
        ("plum", []),
        ("--about 'Q 1'", ["Q 1", "S 1 from it", "Trial 1 from it"]),
        ("--about 'S 1'", ["Q 1 in it", "S 1", "Trial 1 from it"]),
        ("--about 'Trial 1'", ["Q 1 in it", "S 1 in it", "Trial 1"]),
        ("--about 'Vatting 1'", ["Q 1 in it", "S 1 followed", "Trial 1 followed"]),
        ("--about 'Lot 1'", ["Q 1 in it", "S 1 followed", "Trial 1 followed"]),
        ("short --about 'Lot 1'", ["S 1 followed", "Trial 1 followed"]),
        ("--about 'Q 2'", ["Q 2", "Q 2"]),
    ],
)
def test_notes_are_found_by_what_they_say_and_whose_liquid_it_was(poured, words, found):
    """By words, figures, persons, days; and up to the cask and down to the lot, one filling at a time."""
    assert notes_found(poured, words) == found


def test_notes_show_where_the_item_shows(poured):
    """Each says what was tasted: the item itself, or through what it is seen."""
    lot = poured.does("show 'Lot 1'").out
    assert (
        "S 1 · Q 1 · virgin chestnut (of the trial it follows), M. Aldane: nose: pear 3. finish: short. score 75" in lot
    )
    cask = poured.does("show 'Q 1'").out
    assert "  tasted 2024-02-06 00:00 UTC, Isla Farrow: nose: pear 4, oak 0. finish: long. score 84" in cask
    assert "(a glass of it)" in cask
    assert "(a glass of it)" in poured.does("provenance 'Q 1'").out
    assert "tasted" not in poured.does("show 'Q 1' --at 2024-02-05").out
    assert "middle: short. finish: pear 2. score 70" in poured.does("trial --list").out


def test_an_item_tasted_often_shows_the_latest_notes(desk):
    """And where to read the others."""
    for number in range(8):
        desk.does(f"taste 'Q 1' 'glass {number}.'")
    said = desk.does("show 'Q 1'").out
    assert "glass 7." in said
    assert "glass 1." not in said
    assert "2 earlier tasting notes: pourbook tastings --about " in said


@pytest.mark.parametrize(
    ("words", "why"),
    [
        ("--word 'pear >='", "is not a word with its intensity"),
        ("--word '>= 3'", "is not a word with its intensity"),
        ("--word 'pear >= much'", "does not begin with a number"),
        ("--score high..", "does not begin with a number"),
        ("--filled soon", "soon"),
        ("--item 'Q 99'", "nothing in the book is called 'Q 99'"),
    ],
)
def test_a_question_that_cannot_be_read_is_refused(poured, words, why):
    """With what was typed."""
    ran = poured(f"tastings {words}")
    assert (ran.status, why in ran.err) == (1, True), ran.err


def test_a_range_that_runs_backwards_is_refused(desk):
    """Nothing would be found by it, and that would be taken for an answer."""
    desk.does("taste 'S 1' sweet --score 70")
    assert "'80..60' runs from the higher to the lower" in desk("tastings --score 80..60").err
    assert "'2020..2018' runs from the later to the earlier" in desk("tastings --filled 2020..2018").err
    assert len(desk.asks("tastings --score 70..70")["tastings"]) == 1


def test_a_word_that_was_never_on_the_list_is_not_retired(desk):
    """A slip in the word would be taken for done."""
    assert "'sulpur' is not on the house's list" in desk("word sulpur --retire").err
    assert "used no longer" in desk.does("word sulphur --retire").out
