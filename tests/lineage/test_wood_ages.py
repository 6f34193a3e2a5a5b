"""Wood ages worked by hand, the arithmetic in each docstring.

That an age statement rests on the youngest spirit however little of it there is: Regulation (EU)
2019/787, Article 13(6), not checked against the standard. Its Article 19 names 13(6) as the rule on stating an age
(read), the Commission calls it the youngest component rule (answer E-002805/2024, read), and its forerunner,
Regulation (EC) 110/2008, Article 12(3), says so (read, in German). The rest is arithmetic.
"""

from datetime import date

import pytest
from house import moment, new_make

from pourbook import Liquid
from pourbook.errors import Malformed, OutOfRange
from pourbook.lineage.ages import WoodAge, age_of, wood_ages
from pourbook.lineage.graph import Inflow, Lineage
from pourbook.times import DAY_US, add_years, completed_years, house_zone

EMPTY_AGE = WoodAge(None, None)


def days(age):
    """Youngest and mean in days."""
    return age.youngest_us / DAY_US, age.mean_us / DAY_US


def between(start, end):
    """Days from one date to another."""
    return (moment(end) - moment(start)) / DAY_US


def test_spirit_ages_while_it_lies_in_a_cask(house):
    """New make filled 1 January 2014, looked at on 1 January 2024: 3652 days."""
    house.cask("C1", liquid=new_make(1000), at="2014-01-01", wood_days=0)
    assert days(house.back("C1", at="2024-01-01").age) == (3652, 3652)


def test_wood_time_earned_before_counts(house):
    """100 days in somebody else's wood, and 31 here."""
    house.cask("C1", liquid=new_make(1000), at="2014-01-01", wood_days=100)
    assert days(house.back("C1", at="2014-02-01").age) == (131, 131)


def test_a_blend_is_as_old_as_its_youngest_spirit(house):
    """999 mg of ethanol of 10 days and 1 mg of 4 days: youngest 4; mean (9990 + 4) / 1000."""
    house.cask("C1", liquid=Liquid(2000, 999, 0), at="2018-01-01", wood_days=0)
    house.cask("C2", liquid=Liquid(2, 1, 0), at="2018-01-07", wood_days=0)
    house.dump("C1", "B1", at="2018-01-11")
    house.dump("C2", "B1", at="2018-01-11 00:00:00.000001")
    youngest, mean = days(house.back("B1", at="2018-02-01").age)
    assert youngest == pytest.approx(4, abs=1e-6)
    assert mean == pytest.approx(9.994, abs=1e-6)


def test_the_mean_is_weighted_by_pure_alcohol_not_by_mass(house):
    """1000 mg at 600 of 30 days, 1000 mg at 200 of 10 days: (600 x 30 + 200 x 10) / 800 = 25; by mass 20."""
    house.cask("C1", liquid=Liquid(1000, 600, 0), at="2018-01-01", wood_days=0)
    house.cask("C2", liquid=Liquid(1000, 200, 0), at="2018-01-21", wood_days=0)
    house.dump("C1", "B1", at="2018-01-31")
    house.dump("C2", "B1", at="2018-01-31 00:00:00.000001")
    youngest, mean = days(house.back("B1").age)
    assert youngest == pytest.approx(10, abs=1e-6)
    assert mean == pytest.approx(25, abs=1e-6)


def test_time_in_a_batch_or_a_vial_is_not_time_in_wood(house):
    """10 days in C1, a year in the tank, 5 days in C2, a month in a vial: 15 days."""
    house.cask("C1", liquid=new_make(1000), at="2018-01-01", wood_days=0)
    house.dump("C1", "B1", at="2018-01-11")
    house.pour("B1", "C2", at="2019-01-11")
    house.draw("C2", "V1", 100, at="2019-01-16")
    assert days(house.back("V1", at="2019-02-16").age) == (15, 15)
    assert days(house.back("C2", at="2019-02-16").age) == (10 + 36, 10 + 36)
    assert days(house.back("B1", at="2018-06-01").age) == (10, 10)


def test_a_cask_topped_up_is_as_old_as_the_topping(house):
    """Half of 100 days, half of 20, on day 100: youngest 20, mean 60; 10 days on 30 and 70."""
    house.cask("C1", liquid=new_make(1000), at="2018-01-01", wood_days=0)
    house.fill("C1", liquid=new_make(1000), at="2018-03-22", wood_days=0)
    assert days(house.back("C1", at="2018-04-11").age) == (20, 60)
    assert days(house.back("C1", at="2018-04-21").age) == (30, 70)


def test_unknown_age_is_infectious_and_never_nought(house):
    """1 mg of a spirit whose age nobody knows makes the age of all of it unknown."""
    house.cask("C1", liquid=new_make(1_000_000), at="2010-01-01", wood_days=0)
    house.cask("C2", liquid=Liquid(2, 1, 0), at="2010-01-02")
    house.dump("C1", "B1", at="2018-01-01")
    assert house.back("B1").age != EMPTY_AGE
    house.dump("C2", "B1", at="2018-01-02")
    assert house.back("B1").age == EMPTY_AGE
    house.pour("B1", "L1", 1000, at="2018-01-03")
    assert house.back("L1").age == EMPTY_AGE


def test_water_and_additives_have_no_age_and_take_none_away(house):
    """Reduced and coloured: still 31 days."""
    house.cask("C1", liquid=new_make(1000), at="2018-01-01", wood_days=0)
    house.dump("C1", "B1", at="2018-02-01")
    house.water("B1", 500, at="2018-02-02")
    house.fill("B1", 5, source="additive", at="2018-02-03")
    assert days(house.back("B1").age) == (31, 31)


def test_water_alone_has_no_age(house):
    """A cask with rinsing water holds no spirit of any age."""
    house.open("C1")
    house.water("C1", 500, at="2018-02-02")
    assert house.back("C1").age == EMPTY_AGE


def test_redistilling_ends_wood_age_and_keeps_ancestry(house):
    """A year in wood, redistilled into a tank, 10 days in C2: 10 days, and still of C1."""
    house.cask("C1", liquid=new_make(1000), at="2017-01-01", wood_days=0, spirit="a")
    house.pour("C1", "B1", at="2018-01-01", redistilled=True)
    house.pour("B1", "C2", at="2018-02-01")
    trace = house.back("C2", at="2018-02-11")
    assert days(trace.age) == (10, 10)
    assert house.origins(trace) == {"a": 1}
    assert house.shares(trace) == {"C1": 1, "B1": 1}


def test_a_gauge_leaves_ages_as_they_are(house):
    """Evaporation, a corrected strength, a gain: 100 days after as before."""
    house.cask("C1", liquid=new_make(1_000_000), at="2018-01-01", wood_days=0)
    for amount, strength in ((900_000, None), (None, "50"), (950_000, "49.5")):
        house.gauge("C1", amount, strength, at="2018-03-01")
    assert days(house.back("C1", at="2018-04-11").age) == (100, 100)


def test_the_age_of_an_emptied_cask_is_that_when_it_was_emptied(house):
    """Emptied after 31 days; asked a year later it is still 31."""
    house.cask("C1", liquid=new_make(1000), at="2018-01-01", wood_days=0)
    house.dump("C1", "B1", at="2018-02-01")
    assert days(house.back("C1", at="2019-02-01").age) == (31, 31)


def test_a_blend_in_its_own_cask_again(house):
    """C1, C2 31 days, vatted, 28 days in the tank, back in C1 for 10: 41 days."""
    house.cask("C1", liquid=new_make(1000), at="2018-01-01", wood_days=0)
    house.cask("C2", liquid=new_make(1000), at="2018-01-01", wood_days=0)
    house.dump("C1", "B1", at="2018-02-01")
    house.dump("C2", "B1", at="2018-02-01 00:00:00.000001")
    house.pour("B1", "C1", 1500, at="2018-03-01")
    youngest, mean = days(house.back("C1", at="2018-03-11").age)
    assert (youngest, mean) == (41, pytest.approx(41, abs=1e-6))


def test_a_state_without_spirit_has_no_age():
    """Only water came in: neither nought nor unknown spirit, but none at all."""
    lineage = Lineage((1,), {1: 7}, {1: (Inflow(0, 1, "water", 0, 100, 0, 0),)})
    assert wood_ages(lineage, 1, in_wood={1}, earned_us={}, at_us=5) == EMPTY_AGE


@pytest.mark.parametrize(
    ("start", "end", "years"),
    [
        (date(2012, 6, 1), date(2022, 5, 31), 9),
        (date(2012, 6, 1), date(2022, 6, 1), 10),
        (date(2016, 2, 29), date(2019, 2, 28), 2),
        (date(2016, 2, 29), date(2019, 3, 1), 3),
        (date(2016, 2, 29), date(2020, 2, 28), 3),
        (date(2016, 2, 29), date(2020, 2, 29), 4),
        (date(2015, 3, 1), date(2016, 2, 29), 0),
        (date(2020, 1, 1), date(2020, 1, 1), 0),
    ],
)
def test_years_are_completed_anniversaries(start, end, years):
    """Never days divided by 365.25: the anniversary itself completes the year; 29 February's is 1 March."""
    assert completed_years(start, end) == years
    assert add_years(start, years) <= end < add_years(start, years + 1)


def test_twelve_years_lack_a_day(house):
    """Filled 10 May 2012, dumped 9 May 2024: 4382 days, which is 12.0 x 365.25 less one."""
    house.cask("C1", liquid=new_make(1000), at="2012-05-10", wood_days=0)
    house.dump("C1", "B1", at="2024-05-09")
    youngest, _ = days(house.back("B1").age)
    assert youngest == between("2012-05-10", "2024-05-09") == 4382
    assert completed_years(date(2012, 5, 10), date(2024, 5, 9)) == 11


# -- several stays -----------------------------------------------------------------------


def told(trace, zone="UTC"):
    """Years and days of the youngest spirit, as papers have it."""
    return age_of(trace.age.youngest, house_zone(zone))


@pytest.mark.parametrize(
    ("first", "second", "age"),
    [
        (("2010-05-10", "2016-05-10"), ("2018-03-01", "2024-03-01"), (12, 0)),  # 4384 days; 12 years are 4383
        (("2013-03-01", "2015-03-01"), ("2017-03-01", "2019-03-01"), (4, 0)),  # 1460 days; 4 years are 1461
        (("2013-03-01", "2015-03-01"), ("2016-03-01", "2020-02-29"), (5, 365)),  # a day short of the fourth
        (("2015-03-01", "2018-02-28"), ("2019-01-01", "2019-01-02"), (2, 365)),  # 364 and 1: no year of 366 days
        (("2015-03-01", "2018-02-28"), ("2019-01-01", "2019-01-03"), (3, 0)),  # 364 and 2
    ],
)
def test_years_of_several_stays_are_added_as_each_was_completed(house, first, second, age):
    """Cask A, steel, cask B: completed years of each, and days left over; 366 of them are a year, wherever they lay.

    An age may be understated, never overstated: 27 CFR 5.40(a)(1) as it stood until 2022 (read). How stays are added:
    common practice, no source.
    """
    house.cask("C1", liquid=new_make(1000), at=first[0], wood_days=0)
    house.dump("C1", "B1", at=first[1])
    house.pour("B1", "C2", at=second[0])
    house.dump("C2", "B2", at=second[1])
    assert told(house.back("B2")) == age


def test_a_stay_that_goes_on_the_same_day_is_one(house):
    """Out of one cask at nine, into another at five: 10 May 2010 to 10 May 2022 are twelve years."""
    house.cask("C1", liquid=new_make(1000), at="2010-05-10 12:00", wood_days=0)
    house.dump("C1", "B1", at="2016-07-20 09:00")
    house.pour("B1", "C2", at="2016-07-20 17:00")
    house.dump("C2", "B2", at="2022-05-10 08:00")
    assert told(house.back("B2")) == (12, 0)


def test_a_day_counts_as_the_house_counts_it_in_summer_and_winter(house):
    """Filled on 1 July, 100 days brought, begun on 23 March: a year old on 23 March, in summer time or not."""
    house.cask("C1", liquid=new_make(1000), at="2023-06-30T23:00:00Z", wood_days=100)  # 1 July, 00:00 BST
    house.dump("C1", "B1", at="2024-03-23T00:00:00Z")
    assert told(house.back("B1"), "Europe/London") == (1, 0)
    house.cask("C2", liquid=new_make(1000), at="2023-06-30T23:00:00Z", wood_days=100)
    house.dump("C2", "B2", at="2024-03-22T00:00:00Z")
    assert told(house.back("B2"), "Europe/London") == (0, 365)


@pytest.mark.parametrize(
    ("told_as", "filled", "days"),
    [
        ("12 y 3 m", "2024-06-01", 4475),  # from 1 March 2012
        ("12 years 3 months", "2024-06-01", 4475),
        ("3y", "2024-02-29", 1095),  # 2021 has no 29 February: from 1 March
        ("1 m", "2024-03-31", 30),  # from 1 March
        ("2 y 10 d", "2024-06-01", 741),
        ("400", "2024-06-01", 400),
        ("400 d", "2024-06-01", 400),
        ("0", "2024-06-01", 0),
    ],
)
def test_a_certificate_in_years_and_months(house, told_as, filled, days):
    """Counted back from the day the spirit comes; a day that does not exist is the next, so never too old.

    By hand: 1 June 2024 less 12 years 3 months is 1 March 2012, 4475 days before.
    """
    house.cask("C1", liquid=new_make(1000), at=filled, in_wood=told_as)
    assert days_of_origin(house) == days
    house.dump("C1", "B1", at=filled)
    assert house.back("B1").age.youngest_us == days * DAY_US


def days_of_origin(house):
    """What the book kept of C1's only origin."""
    (origin,) = house.back("C1").origins
    return origin.facts["wood_days"]


def test_no_spirit_lay_in_wood_for_centuries(house):
    """A year typed as a time; common practice, no source."""
    with pytest.raises(OutOfRange, match="more than two hundred years"):
        house.cask("C1", liquid=new_make(1000), at="2024-06-01", in_wood="201 y")


def test_a_certificate_goes_on_in_our_wood(house):
    """12 y 3 m on 1 June 2024 and nine months here: 13 years on 1 March 2025, a day less the day before."""
    house.cask("C1", liquid=new_make(1000), at="2024-06-01", in_wood="12 y 3 m")
    assert told(house.back("C1", at="2025-02-28")) == (12, 364)
    assert told(house.back("C1", at="2025-03-01")) == (13, 0)


@pytest.mark.parametrize("text", ["", "twelve", "12 y 3", "-3", "3.5", "y", "12 y 3 w"])
def test_what_is_no_time_in_wood_is_refused(house, text):
    """With how to write it; a number without a unit behind years could be months or days."""
    with pytest.raises(Malformed, match="is not a time in wood"):
        house.cask("C1", liquid=new_make(1000), at="2024-06-01", in_wood=text)
