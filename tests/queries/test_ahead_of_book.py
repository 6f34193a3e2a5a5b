"""The look ahead from a book: which casks are of what in which year, what they hold then, and how batches use them up.

Contents are worked out here from the two measurements of each cask, ages from the day of its filling by a calendar.
"""

from datetime import date

import pytest
from house import HOW, House, moment

from pourbook.book.entries import Component, RecipePart
from pourbook.errors import Malformed, OutOfRange
from pourbook.planning.casks import Cask
from pourbook.planning.planned_fillings import PlannedFilling
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.plans.ahead import AheadAsked
from pourbook.queries.plans.asked import PlanAsked

NOW, GAUGED = date(2026, 12, 1), date(2026, 10, 1)
CASKS = {  # filled, litres and % vol then, and as gauged this autumn, spirit, wood
    "C1": (date(2014, 3, 1), 200.0, 63.0, 172.0, 61.0, "malt", "oak"),
    "C2": (date(2016, 3, 1), 200.0, 63.0, 176.0, 61.5, "malt", "oak"),
    "C3": (date(2019, 3, 1), 200.0, 63.5, 184.0, 62.0, "malt", "oak"),
    "C4": (date(2021, 3, 1), 200.0, 63.5, 190.0, 63.0, "malt", "oak"),
    "C5": (date(2015, 3, 1), 60.0, 58.0, 50.0, 57.0, "malt", "chestnut"),
    "C6": (date(2018, 3, 1), 150.0, 60.0, 141.0, 60.0, "rye", "oak"),
}
BATCH = PlanAsked(read_amount("100 l"), to_strength=read_strength("46"))


@pytest.fixture
def house():
    """A base from eight years on, and a rich kind of any age; a batch takes 93 and 7 parts of them."""
    with House(decimal_mark=".") as house:
        for name, (filled, litres, percent, *later, spirit, wood) in CASKS.items():
            house.open(name, wood=wood, ref=f"Row {name[1]}")
            house.cask(name, f"{litres} l", f"{percent}", at=f"{filled}", spirit=spirit, wood_days="0")
            house.gauge(name, f"{later[0]} l", f"{later[1]}", at=f"{GAUGED}")
        kinds = Component("Base", "malt", "oak", min_age=8), Component("Rich", wood="chestnut")
        house.record(*kinds, at="2026-10-02")
        house.book.write_recipe(HOW, "Autumn", (RecipePart("Base", "93"), RecipePart("Rich", "7 in 6.5..7.5")))
        house.clock.us = moment(f"{NOW}")
        yield house


def content(name, day):
    """Litres and % vol of a cask on a day: each day takes the same part, and moves the strength by as much."""
    filled, litres, percent, litres_then, percent_then, *_ = CASKS[name]
    part = (day - filled).days / (GAUGED - filled).days
    return litres * (litres_then / litres) ** part, percent + (percent_then - percent) * part


def on(year):
    return date(NOW.year + year, NOW.month, NOW.day)


def eight_years_old(name, year):
    filled = CASKS[name][0]
    return on(year) >= date(filled.year + 8, filled.month, filled.day)


def looked(house, **asked):
    return house.book.ahead("Autumn", BATCH, AheadAsked(**{"by": "litres", **asked}))


def test_ages_and_contents_are_those_of_each_year(house):
    """Nothing is taken where a batch is too large: so every year shows what is there."""
    large = PlanAsked(read_amount("5000 l"), to_strength=read_strength("46"))
    found = house.book.ahead("Autumn", large, AheadAsked(years=4, by="litres"))
    assert found.days == tuple(on(year) for year in range(4))
    assert (found.casks, found.others, found.own_rates) == (5, 1, 5)
    for year, told in enumerate(found.ahead.years):
        assert (told.made, told.takes) == (0, {})
        base = [name for name in ("C1", "C2", "C3", "C4") if eight_years_old(name, year)]
        assert told.components["Base"].casks == len(base)
        holds = [content(name, on(year)) for name in base]
        assert told.components["Base"].reach_l == pytest.approx(sum(litres for litres, _ in holds), rel=1e-4)
        pure = sum(litres * percent / 100 for litres, percent in holds)
        assert told.components["Base"].reach_lpa == pytest.approx(pure, rel=1e-4)
        assert told.components["Rich"].reach_l == pytest.approx(content("C5", on(year))[0], rel=1e-4)
    assert [year.components["Base"].casks for year in found.ahead.years] == [2, 3, 3, 4]
    assert found.ahead.runs_out[0] == 0


def test_batches_use_the_stock_up_as_a_hand_count_does(house):
    """The oldest first, 93 and 7 parts of the litres as poured, 46 l of pure alcohol in each batch of 100 l."""
    found = looked(house, years=6)
    holds = {name: content(name, NOW)[0] for name in ("C1", "C2", "C3", "C4", "C5")}
    for year, told in enumerate(found.ahead.years):
        if year:
            holds = {n: v * content(n, on(year))[0] / content(n, on(year - 1))[0] for n, v in holds.items()}
        order = [name for name in ("C1", "C2", "C3", "C4") if eight_years_old(name, year) and holds[name] > 1e-9]
        assert told.components["Base"].reach_l == pytest.approx(sum(holds[name] for name in order), rel=1e-4)
        whole = 75.0
        for _ in range(100):  # litres as poured whose pure alcohol is 46 l
            lacks, taken = 0.93 * whole, {"C5": 0.07 * whole}
            for name in order:
                taken[name] = min(lacks, holds[name])
                lacks -= taken[name]
            whole *= 46.0 / sum(litres * content(name, on(year))[1] / 100 for name, litres in taken.items())
        assert told.made == 1
        told_l = {house.name(ref): litres for (ref, _), litres in told.takes.items()}
        assert told_l == pytest.approx({name: litres for name, litres in taken.items() if litres > 1e-3}, rel=1e-4)
        holds = {name: litres - told_l.get(name, 0.0) for name, litres in holds.items()}


def test_a_cask_on_hold_or_of_unknown_age_is_not_counted_on(house):
    """The age of a base must be known; a rich kind may be of any age."""
    house.hold("C2")
    house.open("C7", wood="oak")
    house.cask("C7", "100 l", "60", at="2020-01-01", spirit="malt")
    house.open("C8", wood="chestnut")
    house.cask("C8", "40 l", "60", at="2020-01-01", spirit="malt")
    found = looked(house, years=2)
    assert [house.name(one.cask) for one in found.left_out] == ["C2"]
    first = found.ahead.years[0].components
    assert (first["Base"].casks, first["Rich"].casks) == (1, 2)
    assert (found.unknown_ages, found.own_rates, found.casks) == (1, 3, 4)


def test_without_rates_the_usual_loss_counts(house):
    """C8 was gauged once: it loses the median of the others."""
    house.open("C8", wood="chestnut")
    house.cask("C8", "40 l", "60", at=f"{NOW}", spirit="malt", wood_days="0")
    rates = sorted(1 - content(name, on(1))[0] / content(name, NOW)[0] for name in CASKS)
    usual = (rates[2] + rates[3]) / 2
    large = PlanAsked(read_amount("5000 l"), to_strength=read_strength("46"))
    years = house.book.ahead("Autumn", large, AheadAsked(years=2, by="litres")).ahead.years
    assert years[1].components["Rich"].reach_l == pytest.approx(content("C5", on(1))[0] + 40 * (1 - usual), rel=1e-4)


def test_fillings_to_come_age_into_reach(house):
    """Spirit of seven years that is bought in a year is of the base from the year after."""
    bought = PlannedFilling(Cask("new", "Base", 300.0, 60.0, 7 * 366), 1.0)
    large = PlanAsked(read_amount("5000 l"), to_strength=read_strength("46"))
    asked = AheadAsked(years=4, by="litres", fillings=(bought,))
    years = house.book.ahead("Autumn", large, asked).ahead.years
    assert [year.came_l for year in years] == [0.0, 300.0, 0.0, 0.0]
    assert [year.components["Base"].casks for year in years] == [2, 3, 4, 5]


def test_whole_casks_are_chosen_where_there_are_few(house):
    """They make no more than litres do, and say so."""
    found = looked(house, years=3, by=None)
    assert found.ahead.whole_casks
    litres = looked(house, years=3).ahead
    assert not litres.whole_casks
    assert [year.made for year in found.ahead.years] == [1, 1, 1]
    assert found.ahead.years[0].possible == litres.years[0].possible


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"years": 0}, "0 years"),
        ({"years": 31}, "31 years"),
        ({"batches": 0}, "0 batches"),
        ({"fillings": (PlannedFilling(Cask("new", "Smoke", 300.0, 60.0, 0), 1.0),)}, "'Smoke' is no component"),
    ],
)
def test_what_cannot_be_is_refused(house, asked, said):
    """Each with what to give instead."""
    with pytest.raises((OutOfRange, Malformed), match=said) as refused:
        looked(house, **asked)
    assert refused.value.remedy
