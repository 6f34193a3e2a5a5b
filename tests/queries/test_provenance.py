"""The history of a cask: figures by hand, notes that are voided, casks filled with casks, and what is not known."""

import pytest
from house import moment

from pourbook import Note
from pourbook.errors import Malformed, Refused
from pourbook.liquid import Liquid
from pourbook.queries.casks.provenance import provenance
from pourbook.times import DAY_US


def history(house, name="C1", at=None):
    """The history of a cask by its short name."""
    return provenance(house.book, house.id(name), at)


@pytest.fixture
def filled_twice(house):
    """Filled with 1000 mg (40 % alcohol by mass), wholly dumped; filled again, half of it dumped with another cask."""
    house.open("C1", at="2010-01-01", previous="red wine, 2001-2006; fortified wine", toast="medium")
    house.fill("C1", liquid=Liquid(1000, 400), at="2010-02-01", spirit="malt spirit", wood_days=0)
    house.pour("C1", "B1", at="2013-02-01")
    house.pour("B1", "L1", 500, at="2013-03-01")
    house.fill("C1", liquid=Liquid(1000, 600), at="2013-04-01", spirit="rye spirit", wood_days=10)
    house.pour("C1", "V1", 100, at="2014-04-01")
    house.cask("C2", liquid=Liquid(400, 100), at="2014-04-02")
    house.pour("C1", "B2", 400, at="2014-04-03")
    house.pour("C2", "B2", at="2014-04-03")
    house.pour("V1", "T1", 40, at="2014-05-01")
    return house


def test_each_fill_has_what_went_in_and_what_it_gave_by_hand(filled_twice):
    """Shares, masses and pure alcohol of what each fill gave are those of sums on paper."""
    first, second = history(filled_twice).fills
    assert (first.number, first.spirits, first.filled, first.last) == (
        1,
        ("malt spirit",),
        (1000, 400, 0),
        (1000, 400, 0),
    )
    gave = {filled_twice.name(one.item.id): (one.liquid[:2], one.share, one.is_direct) for one in first.gave}
    assert gave == {"B1": ((1000, 400), 1.0, True), "L1": ((500, 200), 1.0, False)}
    gave = {filled_twice.name(one.item.id): (one.liquid[:2], round(one.share, 6), one.is_direct) for one in second.gave}
    # of 240 + 100 mg of alcohol in the batch, 240 are the cask's
    assert gave == {"T1": ((40, 24), 1.0, False), "B2": ((400, 240), round(240 / 340, 6), True)}
    assert (second.samples[0], second.ended_us, second.last) == (1, None, (500, 300, 0))


def test_the_time_in_wood_of_a_fill_is_that_of_its_spirit(filled_twice):
    """A fill that is over has the time until it was emptied, with what the spirit brought."""
    first, second = history(filled_twice).fills
    days = [None if one.age.youngest_us is None else one.age.youngest_us / DAY_US for one in (first, second)]
    assert days[0] == 1096  # 2010-02-01 to 2013-02-01, with 2012-02-29
    assert first.ended_us - first.begun_us == 1096 * DAY_US
    until_us = filled_twice.clock.us
    assert days[1] == pytest.approx((until_us - second.begun_us) / DAY_US + 10)


def test_a_fill_that_another_cask_gave_names_its_spirit_and_is_given_on(house):
    """What was racked from cask to cask is a fill of the second and stands under the first."""
    house.open("C1", "C2")
    house.fill("C1", liquid=Liquid(1000, 400), at="2010-02-01", spirit="malt spirit", wood_days=0)
    house.facts("C1", spirit="malt spirit", at="2010-02-01")
    house.pour("C1", "C2", at="2012-02-01")
    (fill,) = history(house, "C2").fills
    assert (fill.spirits, fill.poured[0].source) == (("malt spirit",), house.id("C1"))
    (gave,) = history(house).fills[0].gave
    assert (gave.item.id, gave.share, gave.is_direct) == (house.id("C2"), 1.0, True)


def test_losses_are_what_gauges_found_gone_and_what_was_recorded(house):
    """A gauge of less and a recorded loss count; a draw does not."""
    house.open("C1")
    house.fill("C1", "200 l", "60", at="2010-02-01")
    begun = house.held("C1").ethanol_mg
    house.lose("C1", "2 l", at="2011-02-01", disposition="leak")
    house.draw("C1", "V1", "500 ml", at="2011-03-01")
    drawn = house.held("V1").ethanol_mg
    house.gauge("C1", "190 l", "59", at="2012-02-01")
    (fill,) = history(house).fills
    assert fill.lost_ethanol_mg == begun - drawn - house.held("C1").ethanol_mg
    assert fill.loss.loss_volume().expected > 0


def test_events_stand_in_order_of_time_and_void_takes_them_away(house):
    """A note counts at the time it tells of, as it was typed, until it is voided; a plain note is no event."""
    house.open("C1")
    house.note("C1", "bung replaced")
    found = "dry,  sulphured; Nase rein – „Dörrobst“"
    house.record(Note(house.id("C1"), "rehooped", "repair"), at="2012-05-01")
    house.record(Note(house.id("C1"), found, "arrival"), at="2010-05-01")
    assert [(one.subject, one.text) for one in history(house).events] == [("arrival", found), ("repair", "rehooped")]
    house.void(history(house).events[1].entry)
    assert [one.subject for one in history(house).events] == ["arrival"]
    assert house.book.verify().faults == ()


def test_a_fact_of_the_wood_that_changes_is_told_with_its_time(filled_twice):
    """Toast and char hold from a time on; what a cask was entered with is no change."""
    filled_twice.facts("C1", at="2013-03-15", toast="heavy", char="55 s")
    changes = [(one.name, one.before, one.value) for one in history(filled_twice).changes]
    assert sorted(changes) == [("char", "", "55 s"), ("toast", "medium", "heavy")]
    assert history(filled_twice, at=moment("2013-01-01")).changes == ()


def test_a_moment_leaves_out_what_came_later(filled_twice):
    """As of a day within the first fill there is one, still open."""
    (fill,) = history(filled_twice, at=moment("2012-02-01")).fills
    assert (fill.ended_us, fill.gave) == (None, ())


def test_fills_before_this_book_are_counted(house):
    """A refill cask that came here filled twice before has its third fill now."""
    house.open("C1", earlier_fills="2")
    house.fill("C1", liquid=Liquid(1000, 400))
    assert [fill.number for fill in history(house).fills] == [3]


def test_liquid_that_a_gauge_found_is_a_fill_without_a_pour(house):
    """Nobody recorded what was poured: the fill says so."""
    house.open("C1")
    house.gauge("C1", "100 l", "60", at="2012-01-01")
    (fill,) = history(house).fills
    assert (fill.poured, fill.age.youngest) == ((), None)


def test_a_cask_with_nothing_known_has_an_empty_history(house):
    """Nothing is made up."""
    house.open("C1")
    found = history(house)
    assert (found.previous, found.events, found.changes, found.fills) == ((), (), (), ())


def test_only_a_cask_has_a_history(house):
    """A batch is no cask; a subject that is none is refused."""
    house.open("B1")
    with pytest.raises(Refused, match="is a batch, not a cask"):
        history(house, "B1")
    with pytest.raises(Malformed, match="'smell' is not a subject"):
        house.record(Note(house.id("B1"), "sweet", "smell"))
