"""Casks chosen by their history: words of what they held, the number of the fill, the age of what is in them."""

import pytest
from house import moment

from pourbook.queries.casks.choosing import Wanted, casks


@pytest.fixture
def cellar(house):
    """A first fill after fortified wine, a refill after rye, one with an unknown age, and an empty one."""
    house.open("C1", previous="red wine, 2001-2006; Fortified wine", wood="European oak", toast="heavy", place="Row 1")
    house.fill("C1", "200 l", "60", at="2010-03-01", spirit="malt spirit", wood_days=0)
    house.open("C2", wood="mulberry", cooper="Brindle Cooperage", place="Row 2")
    house.fill("C2", "200 l", "60", at="2010-03-01", spirit="rye spirit", wood_days=0)
    house.dump("C2", "B1", at="2012-03-01")
    house.fill("C2", "150 l", "60", at="2013-03-01", spirit="malt spirit, peated", wood_days=365)
    house.open("C3", wood="oak", earlier_fills="1")
    house.fill("C3", "100 l", "60", at="2014-03-01", pending=True)
    house.open("C4", previous="Fortified wine")
    return house


def chosen(cellar, at=None, **wanted):
    """Short names of the casks that answer."""
    return [cellar.name(one.view.id) for one in casks(cellar.book, Wanted(**wanted), moment(at))]


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ({}, ["C1", "C2", "C3"]),
        ({"previous": "fortified wine"}, ["C1"]),
        ({"previous": "RYE spirit"}, ["C2"]),
        ({"previous": "mars"}, []),
        ({"wood": "oak"}, ["C1", "C3"]),
        ({"toast": "heavy"}, ["C1"]),
        ({"cooper": "brindle"}, ["C2"]),
        ({"spirit": "malt spirit"}, ["C1", "C2"]),
        ({"spirit": "rye"}, []),
        ({"place": "Row 2"}, ["C2"]),
        ({"least_fills": 1, "most_fills": 1}, ["C1"]),
        ({"least_fills": 2}, ["C2", "C3"]),
        ({"wood": "oak", "previous": "fortified wine", "most_fills": 1}, ["C1"]),
    ],
)
def test_casks_answer_by_words_of_their_history(cellar, wanted, found):
    """Whole words in any case; what it held before is that of earlier fills here, too; an empty cask is not listed."""
    assert chosen(cellar, **wanted) == found


def test_casks_answer_by_completed_years_in_wood(cellar):
    """On 2020-02-29 the first has nine years, the second six and the 365 days it brought; unknown never answers."""
    assert chosen(cellar, "2020-02-29", least_years=8) == ["C1"]
    assert chosen(cellar, "2020-03-01", least_years=10) == ["C1"]
    assert chosen(cellar, "2020-02-29", least_years=10) == []
    assert chosen(cellar, "2020-02-29", most_years=7) == ["C2"]


def test_casks_as_of_a_day_are_those_of_that_day(cellar):
    """In 2011 the second cask held its first fill."""
    found = {cellar.name(one.view.id): one for one in casks(cellar.book, Wanted(), moment("2011-01-01"))}
    assert [(name, one.fill, one.spirit) for name, one in found.items()] == [
        ("C1", 1, "malt spirit"),
        ("C2", 1, "rye spirit"),
    ]


def test_each_cask_is_told_with_its_fills_and_what_is_pending(cellar):
    """The number of the fill counts those before this book."""
    found = {cellar.name(one.view.id): one for one in casks(cellar.book, Wanted())}
    assert (found["C3"].fill, found["C3"].youngest, len(found["C3"].pending)) == (2, None, 1)
    assert found["C1"].held_before == ("red wine, 2001-2006", "Fortified wine")
    assert found["C2"].held_before == ("rye spirit",)
