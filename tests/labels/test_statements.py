"""What may stand on a label, judged from plain values; what nobody recorded is never taken for none."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.errors import Malformed
from pourbook.labels.label_rules import STATEMENTS, rules_of
from pourbook.labels.statements import Addition, Aged, Gauged, Lay, Mixed, Origin, Seen, statements
from pourbook.words.statement_words import POINTS, points_words, rule_words, statement_words, value_words

MALT = Origin(3, "C000001H", 0.8, "malt spirit", "Ostrewick", "2012-02-27", Aged(12, 5))
RYE = Origin(5, "C000002F", 0.2, "rye spirit", "Fennick Moor", "2014", Aged(9, 300))
BLEND = Seen("B000001Y", origins=(MALT, RYE), age_rule="uk-oak-700")
ONE = Seen("L000001C", {"lot_mark": "L24-066"}, (MALT,), lay=(Lay("C000001H", "oak", True, 4000, 9),))


def judged(seen, name, claim=None, rules="eu", own=None):
    claims = {} if claim is None else {name: claim}
    found = {one.name: one for one in statements(seen, claims, rules_of(rules, own or {}))}
    assert tuple(found) == STATEMENTS
    return found[name]


def told(statement):
    return statement.stands, statement.value, [(one.name, one.value, one.item, one.entry) for one in statement.against]


# -- age -----------------------------------------------------------------------------------


def test_an_age_is_that_of_the_youngest_in_completed_years():
    """SI 2009/2890, regulation 12(1): in years, of the youngest component (read in a copy)."""
    assert told(judged(BLEND, "age", rules="uk")) == ("allowed", 9, [])
    younger = [("younger", "9", "C000002F", 5)]
    assert told(judged(BLEND, "age", "12", "uk")) == ("not allowed", 9, younger)
    assert told(judged(BLEND, "age", "9", "uk")) == ("allowed", 9, [])
    assert judged(BLEND, "age", "8 years", "uk").stands == "allowed"  # it may be understated


def test_an_age_that_is_unknown_of_one_cannot_be_said_of_the_blend():
    blind = BLEND._replace(origins=(MALT, RYE._replace(wood=None)))
    assert told(judged(blind, "age", "9")) == ("cannot be said", "", [("time in wood unknown", "", "C000002F", 5)])
    assert judged(blind, "age", "13").stands == "not allowed"  # the other is younger, whatever this one is


def test_below_a_year_no_year_is_stated():
    young = BLEND._replace(origins=(RYE._replace(wood=Aged(0, 364)),))
    assert told(judged(young, "age")) == ("not allowed", 0, [("younger", "0", "C000002F", 5)])


def test_months_are_stated_where_a_rule_says_so_and_never_too_many():
    """Thirty-one days are a month of any length; eleven months at most are left over."""
    own = {"label.harbour.based_on": "eu", "label.harbour.age.unit": "months"}
    assert judged(BLEND, "age", rules="harbour", own=own).value == 9 * 12 + 9
    last = BLEND._replace(origins=(RYE._replace(wood=Aged(9, 365)),))
    assert judged(last, "age", rules="harbour", own=own).value == 9 * 12 + 11


def test_where_the_rule_names_wood_the_house_counts_by_it():
    """27 CFR 5.1: oak (read)."""
    assert told(judged(BLEND, "age", rules="us")) == (
        "cannot be said", "", [("no age rule", "us-oak us-charred-new-oak", "", 0)]
    )  # fmt: skip
    assert judged(BLEND._replace(age_rule="us-oak"), "age", rules="us").value == 9


# -- strength and contents -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("gauged", "stands", "against"),
    [
        (Gauged(46.0, 46.1, "within", 0.99, 0.05, 7, 1), "allowed", []),
        (Gauged(46.0, 46.4, "not within", 0.01, 0.05, 7, 1), "not allowed", ["outside the tolerance"]),
        (
            Gauged(46.0, 46.28, "cannot be told", 0.6, 0.05, 7, 1),
            "cannot be said",
            ["too near the end of the tolerance"],
        ),
        (Gauged(46.0, 46.1), "cannot be said", ["no gauge with a known uncertainty"]),
        (Gauged(46.0, 46.3), "cannot be said", ["no gauge with a known uncertainty"]),
        (Gauged(46.0, 46.31), "not allowed", ["outside the tolerance"]),
        (Gauged(46.05, 46.1, "within", 0.99, 0.05, 7, 2), "not allowed", ["too many decimals"]),
        (Gauged(46.0, None), "cannot be said", ["holds nothing"]),
        (None, "cannot be said", ["no strength declared"]),
    ],
)
def test_a_declared_strength_is_within_the_tolerance(gauged, stands, against):
    """Regulation (EU) 1169/2011, Annex XII: ± 0.3 % vol, one decimal (read in German)."""
    found = judged(BLEND._replace(gauged=gauged), "strength")
    assert (found.stands, [one.name for one in found.against]) == (stands, against)


def test_a_pending_strength_leaves_the_label_open():
    seen = BLEND._replace(
        gauged=Gauged(46.0, 46.0, "within", 1.0, 0.01, 7, 1), origins=(MALT, RYE._replace(pending=True))
    )
    assert told(judged(seen, "strength"))[::2] == ("cannot be said", [("strength pending", "", "C000002F", 5)])


@pytest.mark.parametrize(
    ("rules", "size", "stands"),
    [
        ("eu", "700", "allowed"), ("eu", "750", "not allowed"), ("eu", "50", "allowed"), ("eu", "3000", "allowed"),
        ("us", "750", "allowed"), ("us", "50", "allowed"), ("us", "800", "not allowed"), ("us", "4000", "not allowed"),
        ("uk", "720", "not allowed"),
    ],
)  # fmt: skip
def test_contents_are_among_the_sizes_of_the_rule(rules, size, stands):
    """gov.uk, Specified quantities (read): free below 100 ml and above 2 l; 27 CFR 5.203(a): its sizes alone."""
    assert judged(BLEND, "net-contents", size, rules).stands == stands
    by_fact = BLEND._replace(facts={"size_ml": size})
    assert told(judged(by_fact, "net-contents", rules=rules))[:2] == (stands, float(size))


def test_a_claim_that_is_no_number_is_refused():
    with pytest.raises(Malformed, match="'twelve' on a label"):
        judged(BLEND, "age", "twelve")


# -- origin, vintage, kinds --------------------------------------------------------------------


def test_a_vintage_is_one_year_of_distillation():
    """SI 2009/2890, regulation 12(2)(b): all of it was distilled in that year (read in a copy)."""
    assert told(judged(ONE, "vintage", rules="uk")) == ("allowed", 2012, [])
    assert told(judged(BLEND, "vintage", "2012", "uk")) == (
        "not allowed", 2012, [("distilled in", "2014", "C000002F", 5)]
    )  # fmt: skip
    assert judged(BLEND, "vintage").stands == "not allowed"
    blank = ONE._replace(origins=(MALT._replace(distilled=""),))
    assert told(judged(blank, "vintage", "2012")) == (
        "cannot be said", 2012, [("no day of distillation", "", "C000001H", 3)]
    )  # fmt: skip


def test_distillers_and_kinds_are_all_known_or_not_said():
    assert told(judged(BLEND, "distilled-by")) == ("allowed", "Fennick Moor; Ostrewick", [])
    assert told(judged(BLEND, "distilled-by", "ostrewick")) == (
        "not allowed", "Fennick Moor; Ostrewick", [("distiller", "Fennick Moor", "C000002F", 5)]
    )  # fmt: skip
    assert told(judged(BLEND, "kinds")) == ("allowed", "malt spirit; rye spirit", [])
    assert [one.value for one in judged(BLEND, "kinds").rests_on] == ["0.8000 malt spirit", "0.2000 rye spirit"]
    assert judged(BLEND, "kinds", "malt spirit").against[0].item == "C000002F"
    bare = BLEND._replace(origins=(MALT, RYE._replace(spirit="", distiller="")))
    assert judged(bare, "kinds").stands == judged(bare, "distilled-by").stands == "cannot be said"


# -- casks -------------------------------------------------------------------------------------


def test_a_single_cask_is_one_all_the_way():
    assert judged(ONE, "single-cask").stands == "allowed"
    mixed = ONE._replace(mixed=(Mixed("L000001C", ("C000001H", "C000002F")),))
    assert told(judged(mixed, "single-cask"))[2] == [
        ("out of several", "", "C000001H", 0), ("out of several", "", "C000002F", 0)
    ]  # fmt: skip
    assert judged(Seen("B000001Y"), "single-cask").stands == "cannot be said"


def test_a_finish_is_a_second_wood_of_one_kind_for_all_of_it():
    sherry = Lay("C000004B", "hogshead · fortified wine", False, 200, 9)
    assert judged(ONE, "finish").against[0].name == "in its first wood"
    finished = ONE._replace(lay=(sherry, sherry._replace(cask="C000005-9".replace("-", ""), days=180)))
    found = judged(finished, "finish")
    assert (found.stands, found.value, [one.value for one in found.rests_on]) == (
        "allowed", "hogshead · fortified wine", ["200", "180"]
    )  # fmt: skip
    assert judged(finished, "finish", "Fortified Wine").stands == "allowed"
    assert judged(finished, "finish", "rum").stands == "not allowed"
    other = ONE._replace(lay=(sherry, sherry._replace(cask="C0000059", wood="rum barrel")))
    assert judged(other, "finish").against[0].name == "of other wood"
    blank = ONE._replace(lay=(sherry._replace(wood=""),))
    assert told(judged(blank, "finish"))[::2] == ("cannot be said", [("no wood recorded", "", "C000004B", 0)])


def test_water_after_the_cask_ends_cask_strength():
    assert judged(ONE, "cask-strength").stands == "allowed"
    watered = ONE._replace(water=(Addition(12, "B000001Y", "demineralised"),))
    assert told(judged(watered, "cask-strength")) == (
        "not allowed", "", [("water", "demineralised", "B000001Y", 12)]
    )  # fmt: skip


# -- what somebody has to say ------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "fact", "good", "bad"),
    [("no-colouring", "colouring", "none", "caramel"), ("not-chill-filtered", "chill_filtered", "no", "yes")],
)
def test_what_nobody_stated_cannot_be_said(name, fact, good, bad):
    assert told(judged(ONE, name)) == ("cannot be said", "", [("nobody stated", f"{fact}={good}", "L000001C", 0)])
    assert judged(ONE._replace(facts={fact: good}), name).stands == "allowed"
    assert judged(ONE._replace(facts={fact: bad}), name).stands == "not allowed"


def test_an_additive_is_against_no_colouring_whatever_was_stated():
    added = ONE._replace(facts={"colouring": "none"}, additions=(Addition(14, "B000001Y", "caramel E 150a"),))
    assert told(judged(added, "no-colouring"))[2] == [("added", "caramel E 150a", "B000001Y", 14)]


def test_allergens_are_named_or_stated_to_be_none():
    assert judged(ONE, "allergens").stands == "cannot be said"
    none = ONE._replace(facts={"allergens": "none"}, allergens=(("L000001C", "none"),))
    assert told(judged(none, "allergens"))[:2] == ("allowed", "none")
    nuts = ONE._replace(allergens=(("C000001H", "nuts"),), additions=(Addition(14, "B000001Y", "wine", "sulphites"),))
    assert told(judged(nuts, "allergens"))[:2] == ("allowed", "nuts; sulphites")


def test_a_lot_bears_its_mark():
    """Directive 2011/91/EU, Article 3 (read)."""
    assert told(judged(ONE, "lot-mark"))[:2] == ("allowed", "L24-066")
    assert judged(ONE._replace(facts={}), "lot-mark").stands == "not allowed"
    assert judged(BLEND, "lot-mark").stands == "cannot be said"


# -- words -------------------------------------------------------------------------------------


def test_every_point_has_words():
    """Every name that a judgement can give is told in a sentence; there is none that no judgement gives."""
    import inspect
    import re

    from pourbook.labels import statements as module

    assert set(re.findall(r'Point\(\s*"([^"]+)"', inspect.getsource(module))) | {"free size", "among the sizes"} == set(
        POINTS
    )


def test_words_of_statements():
    found = judged(BLEND, "age", "12", "uk")
    assert statement_words(found, ".") == "age 12 (the book: 9 years)"
    assert value_words(judged(BLEND, "net-contents", "187.5"), ",") == "187,5 ml"
    assert points_words(found.against, {"C000002F": "Q 31"}, ",") == ("younger: C-000002-F · Q 31: 9 (entry 5)",)
    six = [judged(BLEND, "age", "12").against[0]._replace(entry=entry) for entry in range(1, 7)]
    assert points_words(six, {}, ".")[0].endswith("; and 2 more")
    assert "UNVERIFIED" in rule_words(judged(BLEND, "age", rules="us").rule)
    assert "UNVERIFIED" not in rule_words(judged(BLEND, "vintage", rules="uk").rule)


# -- whatever is recorded ------------------------------------------------------------------------

AGES = st.one_of(st.none(), st.builds(Aged, st.integers(0, 30), st.integers(0, 365)))
ORIGINS = st.builds(
    Origin, st.integers(1, 99), st.just("C000001H"), st.just(0.5), st.sampled_from(["", "malt", "rye"]),
    st.sampled_from(["", "Ostrewick"]), st.sampled_from(["", "2012-02-27", "2014"]), AGES,
)  # fmt: skip


@given(st.lists(ORIGINS, max_size=5), st.integers(0, 30), st.sampled_from(["2012", "2014"]))
def test_nothing_is_allowed_that_some_part_does_not_bear_out(origins, age, year):
    """An age, a vintage or a distiller is allowed only where every part is known and bears it out; and then it is."""
    seen = Seen("B000001Y", origins=tuple(origins))
    stands = {
        one.name: one.stands
        for one in statements(seen, {"age": str(age), "vintage": year, "distilled-by": "Ostrewick"}, rules_of("eu", {}))
    }
    true = {
        "age": all(one.wood is not None and one.wood.years >= age for one in origins),
        "vintage": all(one.distilled.startswith(year) for one in origins),
        "distilled-by": all(one.distiller for one in origins),
        "kinds": all(one.spirit for one in origins),
    }
    assert {name: stands[name] == "allowed" for name in true} == {
        name: bool(origins) and one for name, one in true.items()
    }
