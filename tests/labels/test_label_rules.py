"""Rules on labels as data: what is shipped, with its sources, and what a house writes beside it."""

import pytest

from pourbook.book.checked_facts import checked_facts
from pourbook.errors import Malformed, Unknown
from pourbook.gauging.slips import BOTTLE_SIZES_ML
from pourbook.labels.label_rules import STATEMENTS, check_setting, names_of_rules, read_claims, rules_of
from pourbook.lineage.age_rules import AGE_RULES
from pourbook.uncertainty.labelling import RULES

SHIPPED = ("eu", "us", "uk")


@pytest.mark.parametrize("name", SHIPPED)
def test_every_statement_has_a_rule_with_a_source(name):
    found = rules_of(name, {})
    assert tuple(found) == STATEMENTS
    assert all(rule.text and rule.source for rule in found.values())
    assert not any(rule.checked for rule in found.values() if rule.source == "common practice, no source")
    assert {wood for rule in found.values() for wood in rule.wood} <= set(AGE_RULES)


@pytest.mark.parametrize("name", ["eu", "us"])
def test_tolerances_are_those_of_label_strength(name):
    """Regulation (EU) 1169/2011, Annex XII; 27 CFR 19.356(c): ± 0.3 % vol, the latter at 60 °F."""
    rule = rules_of(name, {})["strength"]
    assert (rule.tolerance_vol, rule.at_60f) == (RULES[name].tolerance, RULES[name].at_60f) == (0.3, name == "us")


def test_sizes_are_those_that_bottling_knows():
    """gov.uk, Specified quantities, read on 2026-11-30: nine sizes from 100 ml to 2 l; 27 CFR 5.203(a)."""
    nine = (100, 200, 350, 500, 700, 1000, 1500, 1750, 2000)
    assert rules_of("eu", {})["net-contents"].sizes_ml == rules_of("uk", {})["net-contents"].sizes_ml == nine
    american = rules_of("us", {})["net-contents"].sizes_ml
    assert {*nine, *american} == BOTTLE_SIZES_ML


def test_a_house_writes_rules_of_its_own_on_shipped_ones():
    own = {
        "label.harbour.based_on": "uk", "label.harbour.age.unit": "months", "label.harbour.age.source": "circular 7",
        "label.harbour.net-contents.sizes_ml": "500 700", "label.harbour.strength.at_60f": "yes",
        "label.pier.based_on": "harbour", "label.pier.strength.decimals": "0",
    }  # fmt: skip
    assert names_of_rules(own) == (*SHIPPED, "harbour", "pier")
    harbour, pier, uk = (rules_of(name, own) for name in ("harbour", "pier", "uk"))
    assert (harbour["age"].unit, harbour["age"].source, harbour["age"].checked) == ("months", "circular 7", False)
    assert harbour["age"].wood == uk["age"].wood
    assert harbour["net-contents"].sizes_ml == (500.0, 700.0)
    assert harbour["vintage"].source == uk["vintage"].source
    assert (pier["strength"].decimals, pier["strength"].at_60f, pier["age"].unit) == (0, True, "months")
    assert all(rule.rules == "pier" for rule in pier.values())


def test_rules_that_are_not_there_or_run_in_a_ring_are_refused():
    with pytest.raises(Unknown, match=r"no label rules 'mars'"):
        rules_of("mars", {})
    ring = {"label.one.based_on": "two", "label.two.based_on": "one"}
    with pytest.raises(Malformed, match="based on themselves"):
        rules_of("one", ring)
    with pytest.raises(Unknown, match="no label rules 'gone'"):
        rules_of("one", {"label.one.based_on": "gone"})


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("label.eu.strength.tolerance_vol", "1"),
        ("label.Harbour.based_on", "eu"),
        ("label.harbour.colour.text", "x"),
        ("label.harbour.age.colour", "x"),
        ("label.harbour.age.unit", "weeks"),
        ("label.harbour.strength.tolerance_vol", "-1"),
        ("label.harbour.strength.decimals", "1.5"),
        ("label.harbour.strength.checked", "perhaps"),
        ("label.harbour.net-contents.sizes_ml", "big"),
    ],
)
def test_a_setting_that_is_no_rule_is_refused(name, value):
    with pytest.raises(Malformed):
        check_setting(name, value)


def test_claims_are_parted_by_semicolons():
    assert read_claims("") == {}
    assert read_claims("Single Cask; age 12 ; distilled by Corran Vale") == {
        "single-cask": "", "age": "12", "distilled-by": "Corran Vale"
    }  # fmt: skip
    with pytest.raises(Malformed, match="'smooth' is no statement"):
        read_claims("age 12; smooth")
    with pytest.raises(Malformed, match="'age twelve' on a label is no number"):
        read_claims("age twelve")
    with pytest.raises(Malformed, match="age stands twice: '8' and '12'"):
        read_claims("age 8; single cask; age 12")
    assert checked_facts({"claims": "age 12"}) == {"claims": "age 12"}
    with pytest.raises(Malformed):
        checked_facts({"claims": "smooth"})
