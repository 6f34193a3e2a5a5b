"""A cask's ledger read as fillings: what counts as a measurement, what a draw is, what ends a filling."""

import pytest
from command import here
from house import House, moment

from pourbook import Facts
from pourbook.book.fillings import fillings, outlook
from pourbook.gauging.evaporation import evaporation
from pourbook.liquid import Liquid


def of(house, name="C1"):
    """The fillings of a cask."""
    return fillings(house.book.store, [house.key(name)])[house.key(name)]


def litres(filling):
    return [None if one.volume_ml is None else round(one.volume_ml / 1000, 2) for one in filling.readings]


def strengths(filling):
    return [None if one.strength_vol is None else round(one.strength_vol, 2) for one in filling.readings]


@pytest.fixture
def filled(house):
    """A cask filled with new make in 2015."""
    house.open("C1", "C2", "B1", "V1", "V2", at="2015-01-01")
    house.cask("C1", "200 l", "63.5", at="2015-03-01")
    return house


def test_a_cask_in_the_book_loses_what_it_was_made_to_lose(filled):
    """Gauges typed to a tenth of a litre, of a cask that loses 2 % a year and 0.3 % vol, and is sampled."""
    kept = 1.0
    for year in range(2016, 2025):
        for vial in ("V1", "V2"):
            filled.draw("C1", vial, "100 ml", at=f"{year - 1}-09-01")
        before = filled.held("C1", f"{year - 1}-08-31").mass_mg
        kept *= filled.held("C1", f"{year - 1}-09-02").mass_mg / before
        age = year - 2015
        filled.gauge("C1", f"{200 * 0.98**age * kept:.1f} l", f"{63.5 - 0.3 * age:.1f}", at=f"{year}-03-01")
    (filling,) = of(filled)
    assert len(filling.readings) == 10
    assert len(filling.draws) == 18
    assert filling.is_open
    found = evaporation(filling.readings)
    assert found.loss_volume().expected == pytest.approx(0.02, abs=2e-4)
    assert found.strength_change().expected == pytest.approx(-0.3, abs=0.01)
    # 0.98 of the volume at a strength 0.3 lower each year: by the middle of the nine years a loss of
    # 1 - 0.98 x (1 - 0.3/62.1) = 2.47 %
    assert found.loss_alcohol().expected == pytest.approx(0.0247, abs=2e-4)
    seen = outlook(filling, moment("2025-03-01"))
    assert seen.outside == ()
    assert seen.ahead.volume_ml.expected == pytest.approx(200_000 * 0.98**10 * kept, rel=1e-3)
    assert seen.ahead.strength_vol.expected == pytest.approx(60.5, abs=0.05)


def test_amount_alone_and_strength_alone_count_for_what_they_say(filled):
    """A dip says nothing of the strength; a laboratory's strength says nothing of the volume."""
    filled.gauge("C1", "196 l", at="2016-03-01")
    filled.gauge("C1", strength="62.9", at="2017-03-01")
    (filling,) = of(filled)
    assert litres(filling) == [200.0, 196.0, None]
    assert strengths(filling) == [63.5, None, 62.9]


def test_a_gauge_of_warm_or_unmixed_spirit_is_no_reading(filled):
    """It is not to be relied on."""
    filled.gauge("C1", "150 l", "63", at="2016-03-01", provisional="unmixed")
    filled.gauge("C1", "196 l", "63", at="2016-04-01")
    (filling,) = of(filled)
    assert litres(filling) == [200.0, 196.0]


def test_a_measured_dump_is_the_last_reading(filled):
    """What came out when a cask was emptied says what it held, and ends the filling."""
    filled.dump("C1", "B1", "180 l", at="2020-03-01")
    (filling,) = of(filled)
    assert litres(filling) == [200.0, 180.0]
    assert not filling.is_open


def test_a_top_up_and_a_large_pour_end_a_filling(filled):
    """What is in the cask then is the book's guess until it is gauged."""
    filled.gauge("C1", "196 l", "63.2", at="2016-03-01")
    filled.fill("C1", "3 l", "63", at="2017-03-01")
    filled.gauge("C1", "196 l", "63", at="2018-03-01")
    filled.pour("C1", "B1", "60 l", at="2019-03-01")
    assert [litres(filling) for filling in of(filled)] == [[200.0, 196.0], [196.0]]
    assert [filling.is_open for filling in of(filled)] == [False, False]
    filled.gauge("C1", "130 l", "62.8", at="2019-03-02")
    assert [litres(filling) for filling in of(filled)] == [[200.0, 196.0], [196.0], [130.0]]
    assert of(filled)[-1].is_open


def test_a_cask_gauged_empty_begins_anew(filled):
    """Nothing in it is the end of a filling, not a reading of none."""
    filled.gauge("C1", "0 l", at="2016-03-01")
    filled.fill("C1", "190 l", "60", at="2016-04-01")
    assert [litres(filling) for filling in of(filled)] == [[200.0], [190.0]]


def test_losses_to_the_air_pass_and_leaks_are_taken_out(filled):
    """Evaporation posted without a gauge is part of what is sought; a small leak is not."""
    filled.lose("C1", "2 l", at="2016-01-01", disposition="evaporation")
    filled.lose("C1", "2 l", at="2016-02-01", disposition="leak")
    filled.gauge("C1", "194 l", "63.2", at="2016-03-01")
    (filling,) = of(filled)
    assert [round(one.kept, 4) for one in filling.readings] == [1.0, round(196 / 198, 4)]


@pytest.mark.parametrize(("gauged", "read"), [("2020-02-20", [195.0]), ("2019-09-01", [])])
def test_a_racked_cask_begins_with_what_was_gauged_shortly_before(filled, gauged, read):
    """All of one cask goes into another: measured if it was gauged within the month, else not."""
    filled.gauge("C1", "195 l", "62.5", at=gauged)
    filled.pour("C1", "C2", at="2020-03-01")
    assert [litres(filling) for filling in of(filled, "C2")] == ([read] if read else [])


def test_a_cask_filled_in_two_pours_of_a_day_is_filled_once(house):
    """The second pour is no top-up."""
    house.open("C1", at="2015-01-01")
    house.fill("C1", "100 l", "63.5", at="2015-03-01")
    house.fill("C1", "99 l", "63.5", at="2015-03-01T09:00")
    assert [litres(filling) for filling in of(house)] == [[199.0]]


def test_a_pending_strength_measures_nothing(house):
    """A filling whose strength the laboratory has not read is no reading."""
    house.open("C1", at="2015-01-01")
    house.fill("C1", "100 l", "63.5", pending=True, at="2015-03-01")
    assert of(house) == []


def test_a_cask_of_nothing_but_milligrams(house):
    """The least that can be is no reason to divide by nothing."""
    house.open("C1", "V1", at="2015-01-01")
    house.cask("C1", liquid=Liquid(2, 1, 0), at="2015-03-01")
    house.pour("C1", "V1", 1, at="2016-03-01")
    house.pour("C1", "V1", 1, at="2017-03-01")
    (filling,) = of(house)
    assert outlook(filling, 0).found is None


# -- the verb ------------------------------------------------------------------------------


@pytest.fixture
def book(tmp_path):
    """Three casks: one that behaves, one that leaks, one that was never gauged; and a vial."""
    path = tmp_path / "quillmere.pourbook"
    with House(path) as house:
        for name, last in (("C1", "188.2 l"), ("C2", "171.0 l")):
            house.open(name, ref=f"Row {name[1]}")
            house.cask(name, "200 l", "63.5", at="2015-03-01")
            for year, amount, strength in ((2016, "196.0 l", "63.2"), (2017, "192.1 l", "62.9"), (2018, last, "62.6")):
                house.gauge(name, amount, strength, at=f"{year}-03-01")
        house.open("C3", "V1")
        house.record(Facts(house.id("C3"), {"wood": "old oak"}))
    return path


def test_the_verb_says_what_a_cask_loses(book):
    """Loss, drift and the content to expect, in words and as a document."""
    said = here("evaporation", "Row 1", "--on", "2020-03-01", book=book).done().out
    assert "loses 2.00 ± 0.43 % of its volume and 2.47 ± 0.47 % of its pure alcohol a year" in said
    assert "strength falls by 0.30 ± 0.13 % vol a year (± at 95 %)" in said
    assert "the last gauge agrees with earlier gauges" in said
    (cask,) = here("evaporation", "Row 1", "--on", "2020-03-01", "--json", book=book).done().json["casks"]
    assert cask["yearly_loss_volume"] == pytest.approx(0.02, abs=2e-4)
    assert cask["expected"]["volume_ml"]["expected"] == pytest.approx(200_000 * 0.98**5, rel=1e-3)
    assert cask["warning"] == ""
    assert [one["entry"] for one in cask["readings"]] == sorted(one["entry"] for one in cask["readings"])


def test_the_verb_warns_of_a_leak(book):
    """The words of the trade, for one cask and in the list of all."""
    one, every = (here("evaporation", *which, book=book).done().out for which in (["Row 2"], []))
    for said in (one, every):
        assert "171.0 l, where at least" in said
        assert "a leak, theft, or a misreading" in said
    assert every.count("warning") == 1


def test_the_verb_refuses_what_is_no_cask(book):
    """And says so of a cask that was never gauged."""
    assert here("evaporation", "V-000001-R", book=book).status == 1
    assert "never gauged" in here("evaporation", "C-000003-D", book=book).done().out


def test_recording_a_gauge_far_outside_expectation_warns_at_once(book):
    """It is recorded all the same, and the document says so too; an ordinary one is recorded without a word."""
    low = ("gauge", "Row 1", "--amount", "170 l", "--strength", "62.2", "--when", "2019-03-01")
    ran = here(*low, "--kind", "leak", "--confirm", book=book).done()
    assert "warning: 170.0 l, where at least" in ran.err
    assert "a leak, theft, or a misreading" in ran.err
    assert "holds 170" in ran.out
    ordinary = ("gauge", "Row 2", "--amount", "168 l", "--strength", "62.3", "--when", "2019-03-01", "--json")
    assert here(*ordinary, book=book).done().json["warning"] == ""


def test_a_gauge_recorded_late_is_not_judged_by_later_ones(book):
    """What happened before the last reading is no last reading."""
    late = ("gauge", "Row 1", "--amount", "150 l", "--strength", "63", "--when", "2016-09-01", "--json")
    assert here(*late, "--kind", "leak", "--confirm", book=book).done().json["warning"] == ""


def test_two_gauges_of_one_day_are_recorded_and_give_no_rate(book):
    """A cask gauged twice within minutes, its strength misread: an answer without nonsense, and none is lost."""
    here("cask", "Row 9", "--fill", "200 l", "--strength", "60", "--when", "2019-03-01T09:00", book=book).done()
    when = ("--when", "2019-03-01T09:03")
    sure = ("--kind", "unexplained", "--confirm", "--json")
    here("gauge", "Row 9", "--amount", "199 l", "--strength", "52", *when, *sure, book=book).done()
    said = here("evaporation", "Row 9", "--on", "2029-01-01", book=book).done().out
    assert "no yearly loss yet" in said
    assert "60 days apart or more" in said
    (cask,) = here("evaporation", "Row 9", "--json", book=book).done().json["casks"]
    assert (cask["yearly_loss_volume"], cask["bounds"], cask["expected"]) == (None, None, None)
