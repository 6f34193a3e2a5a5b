"""Nothing is edited: voids and replacements, what they may and may not do, and what they show."""

import pytest
from house import moment, new_make

from pourbook import Facts, Gauge, Item, Liquid, Note, Pour, Recipe, RecipePart, Void
from pourbook.actions.correcting import Correction, replace
from pourbook.actions.happening import Happening
from pourbook.actions.leaving import Leaving, despatch, take_back
from pourbook.book.journal import entry_of
from pourbook.book.search import Wanted, wanted
from pourbook.codes.identifiers import key_of
from pourbook.errors import InTheWay, Malformed, Refused, Unknown
from pourbook.liquid import EMPTY
from pourbook.quantities import in_bottles, read_strength

KG = 1_000_000
CORRECTED = Happening("M. Aldane", reason="laboratory report 2041")


@pytest.fixture
def drawn(house):
    """C1 with a kilogram, two draws into V1 and V2, V1 poured into T1."""
    house.cask("C1", liquid=new_make(KG), at="2020-01-01", spirit="a")
    house.draw("C1", "V1", 1000, at="2020-01-02")
    house.draw("C1", "V2", 2000, at="2020-01-03")
    house.pour("V1", "T1", 500, at="2020-01-04")
    return house


def number_of(house, source, target):
    """The entry that poured from one item into another."""
    for row in house.book.store.query("SELECT number FROM entry WHERE kind = 'pour' AND gone = 0"):
        (line,) = entry_of(house.book.store, row[0]).entry["body"]["lines"]
        if (house.name(line["from"]), house.name(line["to"])) == (source, target):
            return row[0]
    raise LookupError


def assert_refused(house, problem, words, act):
    """Refused for that reason, and nothing was changed."""
    before = house.dump_tables()
    with pytest.raises(problem, match=words):
        act()
    assert house.dump_tables() == before


def test_a_void_undoes_an_entry_and_keeps_it(drawn):
    """As if it had never been, in every table; in the journal it stands, with what took its place."""
    number = number_of(drawn, "C1", "V2")
    drawn.void(number)
    assert (drawn.held("V2"), drawn.held("C1")) == (EMPTY, new_make(KG).split(1000)[1])
    assert entry_of(drawn.book.store, number).gone == drawn.book.head()[0]
    assert entry_of(drawn.book.store, number).entry["body"]["lines"][0]["mass"] == 2000
    assert drawn.book.verify().faults == ()


def test_a_void_that_would_overdraw_is_refused_and_names_the_pours_in_the_way(drawn):
    """V1 was poured on: its draw stays until that pour is voided."""
    later = number_of(drawn, "V1", "T1")
    draw = number_of(drawn, "C1", "V1")
    assert_refused(drawn, InTheWay, f"entry {later}: V-.* is empty", lambda: drawn.void(draw))
    drawn.void(later)
    drawn.void(draw)
    assert drawn.held("V1") == drawn.held("T1") == EMPTY


def test_both_can_be_voided_at_once(drawn):
    """One recording, in either order: what counts is the book afterwards."""
    later, draw = number_of(drawn, "V1", "T1"), number_of(drawn, "C1", "V1")
    drawn.record(Void(draw), Void(later), reason="the wrong cask")
    assert drawn.held("V1") == drawn.held("T1") == EMPTY
    assert drawn.book.verify().faults == ()


def test_an_entry_is_voided_once(drawn):
    """A second void is refused and says which entry took its place."""
    number = number_of(drawn, "C1", "V2")
    void = drawn.void(number).numbers[-1]
    assert_refused(drawn, Refused, f"entry {void} took its place", lambda: drawn.void(number))


def test_a_void_stays(drawn):
    """What it took away is recorded anew."""
    void = drawn.void(number_of(drawn, "C1", "V2"))
    assert_refused(drawn, Refused, "is a void entry and stays", lambda: drawn.void(void))


def test_a_correction_needs_a_reason_and_an_entry(drawn):
    """Of an entry that is there."""
    number = number_of(drawn, "C1", "V2")
    assert_refused(drawn, Malformed, "needs a reason", lambda: drawn.void(number, reason=" "))
    assert_refused(drawn, Unknown, "no entry 999", lambda: drawn.void(999))


def test_a_replacement_keeps_the_place_of_what_it_replaces(drawn):
    """Two draws at one moment: the first, replaced, still comes first."""
    first = drawn.pour("C1", "B1", 1000, at="2020-02-01")
    drawn.dump("C1", "B2", at="2020-02-01")
    drawn.replace(first, Pour("pour", (drawn.move("C1", "B1", 4000),)), at="2020-02-01")
    assert drawn.held("B1").mass_mg == 4000
    assert drawn.held("B2").mass_mg == KG - 3000 - 4000
    assert drawn.book.verify().faults == ()


def test_a_replacement_can_be_replaced_and_voided(drawn):
    """It keeps the first one's place; the replaced ones cannot be touched again."""
    first = drawn.pour("C1", "B1", 1000, at="2020-02-01")
    drawn.dump("C1", "B2", at="2020-02-01")
    second = drawn.replace(first, Pour("pour", (drawn.move("C1", "B1", 4000),)), at="2020-02-01")
    third = drawn.replace(second, Pour("pour", (drawn.move("C1", "B1", 5000),)), at="2020-02-01")
    assert drawn.held("B1").mass_mg == 5000
    assert_refused(drawn, Refused, "no longer counts", lambda: drawn.void(first))
    assert_refused(drawn, Refused, "no longer counts", lambda: drawn.void(second))
    drawn.void(third)
    assert drawn.held("B1") == EMPTY
    assert drawn.held("B2").mass_mg == KG - 3000
    assert drawn.book.verify().faults == ()


def test_a_replacement_may_move_in_time_and_to_other_items(drawn):
    """The draw of 3 January was of C2, on 5 January."""
    drawn.cask("C2", liquid=new_make(KG), at="2020-01-01", spirit="b")
    number = number_of(drawn, "C1", "V2")
    drawn.replace(number, Pour("draw", (drawn.move("C2", "V2", 2000),)), at="2020-01-05")
    assert drawn.held("C1").mass_mg == KG - 1000
    assert drawn.origins(drawn.back("V2")) == {"b": 1}
    assert drawn.held("V2", at="2020-01-04") == EMPTY
    assert drawn.book.verify().faults == ()


def test_a_replacement_may_have_fewer_or_more_lines(drawn):
    """A vatting of two casks that was one of three."""
    for name in ("C2", "C3"):
        drawn.cask(name, liquid=new_make(KG), at="2020-01-01", spirit=name)
    first = drawn.record(Pour("vat", (drawn.move("C1", "B1", 1000), drawn.move("C2", "B1", 1000))), at="2020-03-01")
    three = Pour("vat", tuple(drawn.move(name, "B1", 1000) for name in ("C1", "C2", "C3")))
    second = drawn.replace(first, three, at="2020-03-01")
    assert drawn.held("B1") == new_make(3000)
    drawn.replace(second, Pour("vat", (drawn.move("C3", "B1", 1000),)), at="2020-03-01")
    assert drawn.origins(drawn.back("B1")) == {"C3": 1}
    assert drawn.book.verify().faults == ()


def test_only_its_own_kind_stands_in_for_an_entry(drawn):
    """A pour for a pour, a gauge for a gauge."""
    number = number_of(drawn, "C1", "V2")
    gauge = Gauge(drawn.id("V2"), 1000, None)
    assert_refused(
        drawn, Refused, "is a pour; a gauge cannot replace it", lambda: drawn.replace(number, gauge, at="2020-01-03")
    )
    assert_refused(
        drawn, Refused, "a note cannot", lambda: drawn.replace(number, Note(drawn.id("V2"), "x"), at="2020-01-03")
    )


def test_an_entry_is_corrected_once_in_a_recording(drawn):
    """Two replacements of one entry at once would both stand."""
    number = number_of(drawn, "C1", "V2")
    made = [Pour("draw", (drawn.move("C1", "V2", mass),)) for mass in (2100, 2200)]
    assert_refused(
        drawn, Refused, "corrected twice",
        lambda: drawn.record(*made, at="2020-01-03", reason="misread", replaces=number),
    )  # fmt: skip


def test_a_gauge_is_replaced_and_voided_like_a_pour(drawn):
    """The reading was 990 g, not 900; then it was none at all."""
    gauge = drawn.gauge("C1", 900_000, at="2020-01-05")
    drawn.draw("C1", "V3", 1000, at="2020-01-06")
    right = drawn.replace(gauge, Gauge(drawn.id("C1"), 990_000, None), at="2020-01-05")
    assert drawn.held("C1").mass_mg == 989_000
    drawn.void(right)
    assert drawn.held("C1").mass_mg == KG - 4000
    assert drawn.book.verify().faults == ()


def test_a_preview_shows_what_changes_first(drawn):
    """Items with before and after; nothing is kept."""
    before = drawn.dump_tables()
    preview = drawn.record(Void(number_of(drawn, "C1", "V2")), reason="never drawn", dry_run=True)
    changed = {drawn.name(change.id): (change.before.mass_mg, change.after.mass_mg) for change in preview.changed}
    assert changed == {"C1": (997_000, 999_000), "V2": (2000, 0)}
    assert drawn.dump_tables() == before


def test_pours_that_leaned_on_a_corrected_strength_are_listed(house):
    """Drawn by volume at a book strength that was wrong: named, those by mass are not."""
    fill = house.cask("C1", "200 l", "63.5", at="2020-01-01")
    by_volume = house.draw("C1", "V1", "100 ml", at="2020-01-02").numbers[-1]
    house.draw("C1", "V2", "100 g", at="2020-01-03")
    measured = house.gauge("C1", "190 l", at="2020-01-04").numbers[-1]
    onward = house.pour("V1", "T1", "10 ml", at="2020-01-05").numbers[-1]
    right = Pour("fill", (house.move("origin", "C1", "200 l", "61.2"),))
    recorded = house.replace(fill, right, at="2020-01-01")
    assert recorded.leaning == (by_volume, measured, onward)
    assert house.book.verify().faults == ()


def test_an_amount_corrected_leaves_nobody_leaning(house):
    """The strength did not change."""
    fill = house.cask("C1", "200 l", "63.5", at="2020-01-01")
    house.draw("C1", "V1", "100 ml", at="2020-01-02")
    right = Pour("fill", (house.move("origin", "C1", "190 l", "63.5"),))
    assert house.replace(fill, right, at="2020-01-01").leaning == ()


def test_a_strength_read_alone_leans_on_the_one_before(house):
    """Its volume was held at a book strength that was wrong: it is listed too."""
    fill = house.cask("C1", "200 l", "63.5", at="2020-01-01")
    read = house.gauge("C1", None, "62.9", at="2020-01-02").numbers[-1]
    right = Pour("fill", (house.move("origin", "C1", "200 l", "61.2"),))
    assert house.replace(fill, right, at="2020-01-01").leaning == (read,)


def numbers_concerning(house, name):
    """Numbers of the entries that concern an item, and those of them that no longer count."""
    found = list(wanted(house.book.store, Wanted(item=house.key(name))))
    return [logged.number for logged in found], [logged.number for logged in found if logged.gone]


def test_what_was_corrected_stays_visible(drawn):
    """Voided: the entry and its void, for both its items. Replaced: both, also for an item left out."""
    drawn.cask("C2", liquid=new_make(KG), at="2020-01-01")
    draw, later = number_of(drawn, "C1", "V2"), number_of(drawn, "V1", "T1")
    void = drawn.void(later).numbers[-1]
    right = drawn.replace(draw, Pour("draw", (drawn.move("C2", "V2", 2000),)), at="2020-01-03").numbers[-1]
    gauge = drawn.gauge("C1", 900_000).numbers[-1]
    gone_gauge = drawn.void(gauge).numbers[-1]
    note = drawn.note("T1", "cloudy").numbers[-1]
    gone_note = drawn.void(note).numbers[-1]
    numbers, gone = numbers_concerning(drawn, "C1")
    assert {draw, right, gauge, gone_gauge} <= set(numbers)
    assert gone == [draw, gauge]
    assert numbers_concerning(drawn, "T1")[1] == [later, note]
    assert {void, gone_note} <= set(numbers_concerning(drawn, "T1")[0])
    assert numbers_concerning(drawn, "C2")[1] == []
    assert drawn.book.verify().faults == ()


def test_an_opening_can_be_voided_once_all_else_of_the_item_is(house):
    """Voided entries hold it no longer."""
    opening = house.open("C1").numbers[-1]
    fill = house.fill("C1", liquid=new_make(1000))
    note = house.note("C1", "x")
    for recorded in (fill, note):
        assert_refused(house, InTheWay, "has been used", lambda: house.void(opening))
        house.void(recorded)
    house.void(opening)
    with pytest.raises(Unknown):
        house.book.find(house.id("C1"))
    assert house.book.verify().faults == ()


def test_extract_determined_alone_leans_on_the_strength_of_the_book(house):
    """The strength kept beside it was the book's; where that was wrong, the reading is listed."""
    fill = house.cask("C1", "200 l", "63.5", at="2020-01-01")
    read = house.record(Gauge(house.id("C1"), None, None, extract_per_mass=0.002), at="2020-01-02").numbers[-1]
    right = Pour("fill", (house.move("origin", "C1", "200 l", "61.2"),))
    assert house.replace(fill, right, at="2020-01-01").leaning == (read,)


# -- entries that move no liquid -------------------------------------------------------------------


def test_facts_and_notes_are_replaced_in_their_place(house):
    """The wood of 2020, corrected later, does not overrule that of 2022."""
    house.cask("C1", liquid=new_make(1000), at="2019-01-01")
    wrong = house.facts("C1", wood="oak", at="2020-01-01")
    house.facts("C1", wood="chestnut", at="2022-01-01")
    house.replace(wrong, Facts(house.id("C1"), {"wood": "acacia"}), at="2020-01-01")
    show = house.book.show
    assert show(house.id("C1")).facts["wood"] == "chestnut"
    assert show(house.id("C1"), moment("2021-01-01")).facts["wood"] == "acacia"
    note = house.note("C1", "bung replaced")
    house.void(note)
    assert house.book.verify().faults == ()


def test_the_opening_of_an_item_in_use_stays(drawn):
    """What was recorded of it would hang in the air."""
    opening = drawn.book.store.query("SELECT entry FROM item WHERE key = ?", (drawn.key("C1"),))[0][0]
    assert_refused(drawn, InTheWay, "has been used", lambda: drawn.void(opening))


def test_an_opening_is_replaced_with_better_facts_and_the_same_item(drawn):
    """Its contents stay; another identifier is another item."""
    opening = drawn.book.store.query("SELECT entry FROM item WHERE key = ?", (drawn.key("C1"),))[0][0]
    again = drawn.replace(opening, Item(drawn.id("C1"), {"wood": "acacia"}), at="2000-01-01")
    drawn.draw("C1", "V3", 1000, at="2020-02-01")
    assert drawn.held("C1").mass_mg == KG - 4000
    assert drawn.book.show(drawn.id("C1")).facts == {"wood": "acacia"}
    other = drawn.book.next_id("cask")
    assert_refused(drawn, Refused, "opened C-", lambda: drawn.replace(again, Item(other, {}), at="2000-01-01"))
    drawn.replace(again, Item(drawn.id("C1"), {"wood": "oak"}), at="2000-01-01")
    assert drawn.book.verify().faults == ()


def test_an_opening_replaced_together_with_a_pour_knows_what_the_item_holds(drawn):
    """The item is no new one, although it is opened again in the same recording."""
    opening = drawn.book.store.query("SELECT entry FROM item WHERE key = ?", (drawn.key("C1"),))[0][0]
    drafts = drawn.drafts(Item(drawn.id("C1"), {}), at="2000-01-01", reason="plain", replaces=opening)
    drafts += drawn.drafts(Pour("draw", (drawn.move("C1", "V3", 1000),)), at="2020-02-01")
    drawn.book.record(*drafts)
    assert drawn.held("C1").mass_mg == KG - 4000
    assert drawn.book.verify().faults == ()


def test_recipes_are_revised_not_voided(house):
    """The latest of a name counts."""
    recorded = house.record(Recipe("Autumn", (RecipePart("water", "1"),)))
    assert_refused(house, Refused, "stays", lambda: house.void(recorded))


def test_a_void_of_one_gauge_shows_the_loss_again(house):
    """Composition as before the gauge: exactly, extract included."""
    house.cask("C1", liquid=Liquid(100_003, 40_001, 77), at="2020-01-01")
    gauge = house.gauge("C1", 90_000, "41.5", at="2020-01-02")
    house.void(gauge)
    assert house.held("C1") == Liquid(100_003, 40_001, 77)
    states = house.book.store.query("SELECT id FROM state WHERE item = ?", (key_of(house.id("C1")),))
    assert len(states) == 1


# -- bottles that came back ----------------------------------------------------------------------


@pytest.fixture
def returned(house):
    """A batch of 46 % vol gauged before it was bottled; bottles sent, and twenty of them sent back."""

    def sent(count):
        house.open("B1", "L1", at="2024-01-01")
        house.fill("B1", "200 l", "46", at="2024-04-01")
        read = house.gauge("B1", None, "46.2", at="2024-04-02").numbers[-1]
        house.pour("B1", "L1", "70 l", verb="bottle", bottles=100, at="2024-04-03")
        house.clock.us = moment("2024-05-01")
        how = Happening("M. Aldane", moment("2024-04-04"), reason="ordered")
        despatch(house.book, how, house.id("L1"), Leaving(in_bottles(count)), "Harbour Row")
        back = how._replace(when_us=moment("2024-04-05"))
        return read, take_back(house.book, back, house.id("L1"), 20, "Harbour Row").recorded.numbers[-1]

    return sent


def test_a_corrected_strength_reaches_bottles_that_came_back(house, returned):
    """They are of the lot's own liquid, whatever that turns out to have been."""
    read, back = returned(60)
    done = replace(house.book, CORRECTED, read, Correction(strength=read_strength("45")))
    assert house.book.show(house.id("L1")).strength_20c == pytest.approx(45.0, abs=1e-5)
    assert back not in done.recorded.leaning
    assert house.book.verify().faults == ()


def test_of_a_lot_that_was_all_sent_the_return_is_named_and_derived_again(house, returned):
    """Nothing of the lot was left to follow: the note names the return, and does with --rederive what it advises."""
    read, back = returned(100)
    done = replace(house.book, CORRECTED, read, Correction(strength=read_strength("45")))
    assert back in done.recorded.leaning
    replace(house.book, CORRECTED, back, Correction(rederive=True))
    assert house.book.show(house.id("L1")).strength_20c == pytest.approx(45.0, abs=1e-5)
    assert house.book.verify().faults == ()
