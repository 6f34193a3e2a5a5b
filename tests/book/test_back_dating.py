"""Recording in the past: what changes after it, what is shielded, and how little is computed again."""

import pytest
from house import moment, new_make

from pourbook import Draft, Gauge, Pour
from pourbook.book.items import ledger
from pourbook.errors import InTheWay, NotThere

KG = 1_000_000


def day(number):
    """That day of 2020."""
    return moment("2020-01-01") + number * 86_400_000_000


@pytest.fixture
def busy(house):
    """C1 drawn every day for 100 days; another cask, C2, drawn as often, which has nothing to do with it."""
    house.cask("C1", liquid=new_make(100 * KG), at=day(-10))
    house.cask("C2", liquid=new_make(100 * KG), at=day(-10))
    for number in range(100):
        house.draw("C1", "V1", 1000, at=day(number))
        house.draw("C2", "V2", 1000, at=day(number))
    return house


def test_appending_computes_nothing_again(busy):
    """However long the book is."""
    assert busy.draw("C1", "V1", 1000, at=day(200)).recomputed == 0


def test_a_back_dated_pour_computes_its_own_items_again_and_no_other(busy):
    """On day 49.5, 50 draws of C1 follow, into V1; the 50 of C2 are left alone."""
    recorded = busy.draw("C1", "V9", 1000, at=day(49) + 1)
    assert recorded.recomputed == 50
    assert busy.held("C1").mass_mg == 100 * KG - 101_000
    assert busy.book.verify().faults == ()


def test_a_gauge_of_the_amount_shields_what_follows_it(busy):
    """C1 was weighed on day 60: of the 50 lines that follow day 50, ten draws and the gauge are computed again."""
    busy.gauge("C1", 90 * KG, at=day(60) - 1)
    before = busy.dump_tables()
    recorded = busy.lose("C1", 1000, at=day(49) + 1)
    assert recorded.recomputed == 11
    assert recorded.changed == ()
    assert busy.held("C1").mass_mg == 90 * KG - 40_000
    late = [row for row in busy.dump_tables()["ledger"] if row[1] >= day(60)]
    assert late == [row for row in before["ledger"] if row[1] >= day(60)]
    assert busy.book.verify().faults == ()


def test_a_gauge_of_amount_and_strength_shields_composition_too(house):
    """A stronger fill found later, before the gauge: after the gauge all is as read."""
    house.cask("C1", liquid=new_make(KG), at=day(0))
    house.gauge("C1", 2 * KG, "40", at=day(10))
    house.draw("C1", "V1", 1000, at=day(20))
    before = house.held("C1"), house.held("V1")
    recorded = house.fill("C1", liquid=new_make(KG, 600), at=day(5))
    assert recorded.recomputed == 1
    assert (house.held("C1"), house.held("V1")) == before


def test_a_gauge_of_amount_shields_amounts_not_strengths(house):
    """The same with the amount alone: its mass stands, but stronger spirit stays stronger."""
    house.cask("C1", liquid=new_make(KG, 400), at=day(0))
    house.gauge("C1", KG, at=day(10))
    house.draw("C1", "V1", 1000, at=day(20))
    house.fill("C1", liquid=new_make(KG, 600), at=day(5))
    assert house.held("C1").mass_mg == KG - 1000
    assert house.held("V1").ethanol_mg == 500


def test_ancestry_goes_through_a_shield(house):
    """A gauge fixes amounts, never ancestry: a fill found later is in the draw after the gauge."""
    house.cask("C1", liquid=new_make(KG), at=day(0), spirit="a")
    house.gauge("C1", KG, at=day(10))
    house.draw("C1", "V1", 1000, at=day(20))
    house.fill("C1", liquid=new_make(KG), at=day(5), spirit="b")
    assert house.origins(house.back("V1")) == pytest.approx({"a": 0.5, "b": 0.5})


def test_a_change_runs_on_into_other_items(house):
    """A draw forgotten before the dump: batch and lot grow by it, and say so beforehand."""
    house.cask("C1", liquid=new_make(KG), at=day(0))
    house.dump("C1", "B1", at=day(10))
    house.water("B1", 500_000, at=day(11))
    house.pour("B1", "L1", at=day(12))
    entry = Pour("draw", (house.move("C1", "V1", 100_000),))
    preview = house.record(entry, at=day(5), dry_run=True)
    told = {house.name(change.id): change.after.mass_mg - change.before.mass_mg for change in preview.changed}
    assert told == {"V1": 100_000, "L1": -100_000}
    assert house.held("L1").mass_mg == 1_500_000
    assert house.record(entry, at=day(5)) == preview._replace(is_dry_run=False)
    assert house.held("L1") == new_make(900_000) + house.held("L1")._replace(
        mass_mg=500_000, ethanol_mg=0, extract_mg=0
    )


def test_the_ledger_shows_the_day_it_happened(house):
    """Not the day it was recorded."""
    house.cask("C1", liquid=new_make(1000), at=day(0))
    house.draw("C1", "V1", 300, at=day(20))
    house.draw("C1", "V1", 200, at=day(10))
    rows = ledger(house.book.store, house.key("C1"))
    assert [(row.happened_us, row.holding.mass_mg) for row in rows] == [
        (day(0), 1000), (day(10), 800), (day(20), 500),
    ]  # fmt: skip


def test_a_back_dated_pour_that_was_not_there_is_refused(house):
    """Nor is one that leaves a later pour without liquid, which is named."""
    house.cask("C1", liquid=new_make(1000), at=day(10))
    late = house.draw("C1", "V1", 900, at=day(20)).numbers[-1]
    with pytest.raises(NotThere):
        house.draw("C1", "V2", 100, at=day(5))
    with pytest.raises(InTheWay, match=f"entry {late}") as refusal:
        house.gauge("C1", 0, at=day(15))
    assert refusal.value.entries == (late,)
    assert house.held("C1").mass_mg == 100


def test_a_gauge_at_the_time_clears_the_way(house):
    """As the refusal advises: what happened can be recorded after all."""
    house.cask("C1", liquid=new_make(10_000), at=day(10))
    house.draw("C1", "V1", 9_000, at=day(20))
    with pytest.raises(InTheWay):
        house.draw("C1", "V2", 5_000, at=day(15))
    house.gauge("C1", 9_000, at=day(20) - 1)
    house.draw("C1", "V2", 5_000, at=day(15))
    assert house.held("V2").mass_mg == 5_000
    assert house.book.verify().faults == ()


def test_an_earlier_fill_moves_the_states_and_nothing_else(house):
    """A fill found before the first one: amounts add, the draws keep what they took."""
    house.cask("C1", liquid=new_make(1000), at=day(10), spirit="late")
    house.draw("C1", "V1", 100, at=day(20))
    house.fill("C1", liquid=new_make(1000), at=day(5), spirit="early")
    assert house.held("C1") == new_make(1900)
    assert house.origins(house.back("V1")) == pytest.approx({"early": 0.5, "late": 0.5})
    assert house.book.verify().faults == ()


def test_a_back_dated_gauge_that_agrees_with_the_book_opens_a_state_all_the_same(house):
    """Amounts stay, and yet what follows is computed again: the states differ."""
    house.cask("C1", liquid=new_make(KG), at=day(0), spirit="a")
    house.draw("C1", "V1", 1000, at=day(20))
    house.draw("C1", "V1", 1000, at=day(30))
    assert house.gauge("C1", KG, at=day(10)).recomputed == 2
    assert house.held("C1").mass_mg == KG - 2000
    assert house.book.verify().faults == ()


def test_a_back_dated_gauge_can_turn_a_tolerated_excess_into_none(house):
    """1.004 kg taken of 1 kg book: gauged up by 4 g; a gauge found later says 1.002 kg: by 2 g."""
    house.cask("C1", liquid=new_make(KG), at=day(0))
    house.pour("C1", "B1", 1_004_000, at=day(20))
    house.gauge("C1", 1_002_000, at=day(10))
    assert house.held("B1").mass_mg == 1_004_000
    assert house.book.verify().faults == ()
    with pytest.raises(InTheWay):
        house.gauge("C1", 990_000, at=day(15))


def test_work_does_not_grow_with_the_book(house):
    """Ten times as many strangers, the same number of lines computed again."""
    house.cask("C1", liquid=new_make(KG), at=day(-1))
    house.draw("C1", "V1", 100, at=day(50))
    house.dump("C1", "B1", at=day(60))
    counts = []
    for number in (10, 100):
        house.cask("C2", liquid=new_make(KG), at=day(-1) - number)
        for step in range(number):
            house.draw("C2", "V2", 10, at=day(1) + step)
        counts.append(house.draw("C1", "V3", 10, at=day(0) + number).recomputed)
    assert counts == [2, 2]


def test_a_clock_that_is_behind_an_entry(house):
    """A gauge by a station whose clock is four minutes ahead, then a draw and a question at the time it is here."""
    house.cask("C1", liquid=new_make(KG), at=day(0), spirit="a")
    house.open("V1")
    here = house.clock.us
    house.book.record(Draft(Gauge(house.id("C1"), 990_000, None), here + 240_000_000, "M. Aldane"))
    assert house.origins(house.back("C1")) == {"a": 1.0}
    assert house.draw("C1", "V1", 1000, at=here).recomputed == 1
    assert [row.holding.mass_mg for row in ledger(house.book.store, house.key("C1"))] == [KG, KG - 1000, 990_000]
    assert house.clock.us == here
    assert house.origins(house.back("V1")) == house.origins(house.back("C1")) == {"a": 1.0}
    assert house.book.verify().faults == ()
