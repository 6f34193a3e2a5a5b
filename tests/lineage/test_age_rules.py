"""Which wood counts toward an age: each rule against the words of its law.

Read: Regulation (EU) 2019/787, Annex I, category 2 (a)(iii), and 27 CFR 5.1, Age (both sentences). Read in its
forerunner (EC) 110/2008: oak casks of less than 1000 l for brandy. SI 2009/2890, reg. 3: not checked against the law.
"""

import pytest
from house import House, new_make

from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed
from pourbook.lineage.age_rules import AGE_RULES, Vessel, why_not
from pourbook.lineage.ages import age_of
from pourbook.papers.dossier.dossier_html import dossier_page
from pourbook.paperwork.dossier_of import dossier_of
from pourbook.times import house_zone

OAK = Vessel("oak hogshead", 250.0)
NEW = Vessel("new charred oak barrel", 200.0)


@pytest.mark.parametrize(
    ("rule", "vessel", "why"),
    [
        ("eu-700", OAK, ""),
        ("eu-700", Vessel("chestnut", 225.0), ""),  # wooden casks, not oak alone
        ("eu-700", Vessel("oak vat", 700.0), ""),  # not over 700 l
        ("eu-700", Vessel("oak vat", 700.5), "holds 700.5 l, more than 700 l"),
        ("eu-700", Vessel("oak"), "no capacity recorded"),
        ("eu-700", Vessel("stainless steel", 500.0), "not of wood"),
        ("eu-700", Vessel("", 500.0), "no wood recorded"),
        ("eu-oak-1000", Vessel("oak", 999.0), ""),
        ("eu-oak-1000", Vessel("oak", 1000.0), "holds 1000 l, not less than 1000 l"),
        ("us-oak", Vessel("Oak, uncharred"), ""),  # oak barrels of any size
        ("us-oak", Vessel("chestnut", 225.0), "not recorded as oak"),
        ("us-charred-new-oak", NEW, ""),
        ("us-charred-new-oak", Vessel("virgin oak, charred"), ""),
        ("us-charred-new-oak", Vessel("charred oak"), "not recorded as new"),
        ("us-charred-new-oak", NEW._replace(previous="rum"), "not recorded as new"),
        ("us-charred-new-oak", Vessel("new oak, toasted"), "not recorded as charred"),
        ("uk-oak-700", Vessel("chestnut", 225.0), "not recorded as oak"),
        ("uk-oak-700", Vessel("oak", 701.0), "holds 701 l, more than 700 l"),
    ],
)
def test_what_counts(rule, vessel, why):
    """What is not recorded does not count."""
    assert why_not(AGE_RULES[rule], vessel, first_use=True) == why


def test_only_the_first_use_of_new_wood_counts():
    """Charred new oak: once emptied, it is new no more. Oak that need not be new counts every time."""
    assert why_not(AGE_RULES["us-charred-new-oak"], NEW, first_use=False) == "not in its first use"
    assert why_not(AGE_RULES["us-oak"], NEW, first_use=False) == ""


def test_every_rule_names_its_law():
    """And how far it was read."""
    for name, rule in AGE_RULES.items():
        assert rule.name == name
        assert "read" in rule.law or "not checked" in rule.law


# -- through a book ----------------------------------------------------------------------


def told(trace):
    """Time in wood and qualifying time, both as (years, days)."""
    utc = house_zone("UTC")
    return age_of(trace.age.youngest, utc), age_of(trace.qualifying.youngest, utc)


def in_two_casks(rule, first, second):
    """A house whose spirit lay four years in one cask and two in another, now in a vat; the vat's trace."""
    house = House(age_rule=rule)
    for name, facts in (("C1", first), ("C2", second)):
        house.open(name, **facts)
    house.fill("C1", liquid=new_make(1000), at="2016-05-01", wood_days=0)
    house.pour("C1", "C2", at="2020-05-01")
    house.dump("C2", "B1", at="2022-05-01")
    return house


@pytest.mark.parametrize(
    ("rule", "second", "counts"),
    [
        ("eu-700", {"wood": "oak", "capacity_l": "500"}, (6, 0)),
        ("eu-700", {"wood": "oak", "capacity_l": "1200"}, (4, 0)),
        ("eu-700", {"wood": "oak"}, (4, 0)),
        ("us-oak", {"wood": "used oak"}, (6, 0)),
        ("us-charred-new-oak", {"wood": "used oak"}, (4, 0)),
    ],
)
def test_time_in_wood_and_qualifying_time(rule, second, counts):
    """Four years in a new charred barrel of 200 l and two elsewhere: six in wood; what counts, by the rule."""
    with in_two_casks(rule, {"wood": "new charred oak", "capacity_l": "200"}, second) as house:
        trace = house.back("B1")
        assert told(trace) == ((6, 0), counts)
        assert [one.id for one in trace.qualifying.not_counted] == ([] if counts == (6, 0) else [house.id("C2")])


def test_a_second_filling_of_new_wood():
    """The barrel is emptied and filled again: four years in wood, none of them in charred new oak."""
    with in_two_casks("us-charred-new-oak", {"wood": "new charred oak"}, {"wood": "new charred oak"}) as house:
        house.fill("C1", liquid=new_make(1000), at="2021-05-01", wood_days=0)
        house.dump("C1", "B2", at="2025-05-01")
        trace = house.back("B2")
        assert told(trace) == ((4, 0), (0, 0))
        assert [tuple(one) for one in trace.qualifying.not_counted] == [(house.id("C1"), "not in its first use")]
        assert told(house.back("B1")) == ((6, 0), (6, 0))


def test_a_first_filling_goes_on_after_a_sample():
    """A draw seals a state; the barrel was not emptied."""
    with House(age_rule="us-charred-new-oak") as house:
        house.open("C1", wood="new charred oak")
        house.fill("C1", liquid=new_make(1000), at="2016-05-01", wood_days=0)
        house.draw("C1", "V1", 10, at="2018-05-01")
        house.fill("C1", liquid=new_make(10), at="2018-05-02", wood_days=1000)
        assert told(house.back("C1", at="2020-05-02"))[1] == (4, 1)


def test_what_was_recorded_of_a_cask_later_counts_for_it():
    """The capacity was written down a year after the fill: it is the same cask."""
    with House(age_rule="eu-700") as house:
        house.open("C1", wood="oak")
        house.fill("C1", liquid=new_make(1000), at="2016-05-01", wood_days=0)
        house.facts("C1", at="2017-05-01", capacity_l="250")
        house.draw("C1", "V1", 10, at="2018-05-01")
        house.fill("C1", liquid=new_make(10), at="2018-05-02", wood_days=1000)
        assert told(house.back("C1", at="2020-05-01")) == ((4, 0), (4, 0))


def test_a_cask_that_ceases_to_count_while_spirit_lies_in_it():
    """Its heads are replaced by steel after two years: those two count, whatever follows; and the other way round."""
    for woods, counts in ((("oak", "steel"), (2, 1)), (("steel", "oak"), (1, 365))):
        with House(age_rule="us-oak") as house:
            house.open("C1", wood=woods[0])
            house.fill("C1", liquid=new_make(1000), at="2016-05-01", wood_days=0)
            house.facts("C1", at="2018-05-01", wood=woods[1])
            house.draw("C1", "V1", 10, at="2018-05-01 12:00")
            house.fill("C1", liquid=new_make(10), at="2018-05-02", wood_days=2000)
            house.dump("C1", "B1", at="2020-05-01")
            assert told(house.back("B1"))[1] == counts


def test_without_a_rule_nothing_is_said_to_count(house):
    """Time in wood alone, on the screen and on the dossier."""
    house.cask("C1", liquid=new_make(1000), at="2016-05-01", wood_days=0)
    house.pour("C1", "L1", at="2020-05-01")
    assert house.back("L1").qualifying is None
    assert "qualifying" not in dossier_page(dossier_of(house.book, house.id("L1"))).lower().replace(
        "qualifying time is what", ""
    )


def test_the_dossier_says_both():
    """Each spirit's time in wood, what counts, by which rule; the law once."""
    casks = {"wood": "oak", "capacity_l": "200"}, {"wood": "oak", "capacity_l": "900"}
    with in_two_casks("eu-700", *casks) as house:
        house.pour("B1", "L1", at="2022-06-01")
        values = dossier_of(house.book, house.id("L1"))
        (line,) = values.ages
        assert (line.wood, line.qualifying, line.rule) == ((6, 0), (4, 0), "eu-700")
        assert (values.youngest, values.qualifying) == ((6, 0), (4, 0))
        page = dossier_page(values)
        assert "Qualifying time of it by eu-700" in page
        assert "2019/787" in page


def test_the_screen_says_both_and_why():
    """Time in wood as ever; beside it what counts, the law, and the casks that do not count."""
    from pourbook.documents.traces import trace_shown
    from pourbook.house_style import HouseStyle

    with in_two_casks("eu-700", {"wood": "oak", "capacity_l": "200"}, {"wood": "oak"}) as house:
        shown = trace_shown(house.back("B1"), HouseStyle())
        said = "\n".join(shown.said)
        assert "time in wood: 6 years 0 days, of the youngest spirit in it" in said
        assert "qualifying time by eu-700: 4 years 0 days" in said
        assert f"not counted: {hyphened(house.id('C2'))}, no capacity recorded" in said
        age = shown.document["age"]
        assert age["youngest"] == {"years": 6, "days": 0}
        assert (age["qualifying"]["rule"], age["qualifying"]["youngest"]) == ("eu-700", {"years": 4, "days": 0})


def test_a_rule_that_is_none_is_refused():
    """With those there are."""
    with pytest.raises(Malformed, match="age_rule cannot be 'oak'"):
        House(age_rule="oak")
