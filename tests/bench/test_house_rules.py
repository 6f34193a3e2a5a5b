"""The house's rules of blending: a contradiction is found exactly where no blend keeps them, and breaks are told."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.bench.house_rules import BlendPart, broken, contradiction, rules_of

ROLES = ("base", "rich", "top")
per_cent = st.integers(0, 100)
ranges = st.tuples(per_cent, per_cent).filter(lambda ends: ends[0] < ends[1])


@st.composite
def house(draw):
    """Rules of a house with one component that has a role and bounds."""
    roles = draw(st.dictionaries(st.sampled_from(ROLES), ranges, max_size=3))
    most, least = draw(st.integers(1, 100)), draw(st.integers(1, 9))
    kind = "Accent", draw(st.sampled_from(("", *ROLES))), draw(ranges)
    return most, least, roles, kind


def rules(most, least, roles, kind):
    name, role, (low, high) = kind
    told = {one: f"{ends[0]}..{ends[1]}" for one, ends in roles.items()}
    return rules_of(str(most), str(least), told, [(name, role, f"{low}..{high}")])


def in_small_parts(role, fraction, most):
    """So much of a role, in parts of which none is more than a tenth of the most that one may be."""
    pieces = int(10 * fraction / most) + 10
    return (
        [BlendPart(f"{role} {number}", role, float(fraction / pieces)) for number in range(pieces)] if fraction else []
    )


@given(house())
def test_rules_without_a_contradiction_can_be_kept(asked):
    """A blend is made: the least of the component and of every role in small parts, the rest without a role."""
    most, _, roles, (name, role, (low, _)) = asked
    found = rules(*asked)
    if contradiction(found):
        return
    part = Fraction(low or 0, 100)
    needed = {one: Fraction(ends[0], 100) for one, ends in roles.items()}
    if role in needed:
        needed[role] = max(needed[role] - part, Fraction(0))
    blend = [BlendPart(name, role, float(part))] if part else []
    for one, fraction in needed.items():
        blend += in_small_parts(one, fraction, Fraction(most, 100))
    blend += in_small_parts("", 1 - part - sum(needed.values()), Fraction(most, 100))
    assert broken(found, blend) == ()


@given(house(), st.lists(st.tuples(st.sampled_from(("", *ROLES)), st.integers(0, 10)), max_size=12), st.integers(1, 10))
def test_contradicting_rules_are_broken_by_every_blend_with_the_component(asked, others, own):
    """Whatever else is in it."""
    found = rules(*asked)
    name, role, _ = asked[3]
    blend = [BlendPart(name, role, own), *(BlendPart(str(at), of, ml) for at, (of, ml) in enumerate(others))]
    if contradiction(found):
        assert broken(found, blend)


@given(house(), st.lists(st.tuples(st.sampled_from(("", *ROLES)), st.integers(1, 50)), min_size=1, max_size=6))
def test_what_is_said_to_mend_a_rule_mends_it(asked, parts):
    """More of the others, where it is too much; more of itself, where a role is too little."""
    found = rules(*asked)
    blend = [BlendPart(f"part {at}", of, ml) for at, (of, ml) in enumerate(parts)]
    for one in broken(found, blend):
        if one.rule == "least_components" or one.more_ml == float("inf"):
            continue
        of = "none of them" if one.is_above else one.of if one.rule == "role" else ""
        mended = broken(found, [*blend, BlendPart("more", of, one.more_ml * 1.000001)])
        assert (one.rule, one.of) not in {(left.rule, left.of) for left in mended}


def test_components_of_a_role_count_together_and_water_has_no_part():
    """Two rich ones of 9 % are 18 % rich; the role is found in any case, and from the component where none is said."""
    found = rules_of("100", "1", {"Rich": "0..15"}, [("Chestnut", "rich", "")])
    blend = BlendPart("Chestnut", "", 9.0), BlendPart("V000002P", "RICH", 9.0), BlendPart("V000001R", "base", 82.0)
    (one,) = broken(found, blend)
    assert (one.rule, one.of, one.found) == ("role", "Rich", pytest.approx(0.18))
    assert one.more_ml == pytest.approx(20)


def test_while_it_is_poured_only_what_cannot_be_mended_by_the_plan_is_told():
    """A first glass is all of the blend so far, and no break."""
    found = rules_of("85", "3", {"base": "50..100"}, ())
    first = [BlendPart("V000001R", "rich", 60.0)]
    assert broken(found, first, planned_ml=100.0) == ()
    assert [one.rule for one in broken(found, first)] == ["least_components", "most_of_one", "role"]
    (over,) = broken(found, [BlendPart("V000001R", "rich", 90.0)], planned_ml=100.0)
    assert (over.rule, over.found) == ("most_of_one", 0.9)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("85", "1", {}, [("Ash", "", "90..95")]), "90 % of Ash is more than the 85 % that one component may be"),
        (
            ("100", "1", {"rich": "0..15"}, [("Ash", "Rich", "20..30")]),
            "20 % of Ash is more than the 15 % of role 'rich'",
        ),
        (
            ("100", "1", {"a": "60..70", "b": "50..60"}, ()),
            "60 % of role 'a' and 50 % of role 'b' are more than the whole",
        ),
        (("100", "1", {"a": "60..70"}, [("Ash", "b", "50..60")]), "50 % of Ash and 60 % of role 'a' are more than"),
    ],
)
def test_a_contradiction_names_the_rules(asked, words):
    assert words in contradiction(rules_of(*asked))
