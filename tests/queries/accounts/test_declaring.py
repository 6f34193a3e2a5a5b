"""Figures as they are declared: rounded by a rule, frozen, and beside the exact ones ever after."""

from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_UP, Decimal
from fractions import Fraction

import pytest
from house import amount_of, moment, strength_of
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Gauge, Pour
from pourbook.book.verifying import repair
from pourbook.errors import Malformed, Refused
from pourbook.queries.accounts.account import account_of
from pourbook.queries.accounts.declared import declaration_of, declared, figures, read_rule

YEAR = moment("2025-01-01"), moment("2026-01-01")
PYTHONS = {"down": ROUND_DOWN, "up": ROUND_UP, "half-up": ROUND_HALF_UP, "half-even": ROUND_HALF_EVEN}


@given(st.sampled_from(tuple(PYTHONS)), st.integers(-(10**9), 10**9), st.integers(0, 4), st.integers(0, 3))
def test_rounding_is_that_of_decimal_arithmetic(way, digits, behind, kept):
    """For every value that decimals can write, the standard library's own rounding is met."""
    value = Decimal(digits).scaleb(-behind)
    step = Decimal(1).scaleb(-kept)
    expected = value.quantize(step, PYTHONS[way])
    assert read_rule(f"{way} {step:f}").rounded(Fraction(value)) == f"{expected or abs(expected):f}"


@given(st.sampled_from(tuple(PYTHONS)), st.fractions(-1000, 1000), st.sampled_from(("1", "0.5", "0.1", "0.01")))
def test_a_declared_figure_is_a_multiple_of_the_step_and_less_than_a_step_away(way, value, step):
    """Whatever the value, a third or a seventh too; down never grows, up never dwindles."""
    rounded = Fraction(read_rule(f"{way} {step}").rounded(value))
    assert (rounded / Fraction(step)).denominator == 1
    assert abs(rounded - value) < Fraction(step)
    if way.startswith("half"):
        assert abs(rounded - value) <= Fraction(step) / 2
    assert way != "down" or abs(rounded) <= abs(value)
    assert way != "up" or abs(rounded) >= abs(value)


@pytest.mark.parametrize("text", ["", "nearest 0.1", "down", "down 0", "down -1", "down 1e3", "half-up 0,1"])
def test_what_is_no_rule_is_refused(text):
    """A rule names a way and a step above nothing."""
    with pytest.raises(Malformed):
        read_rule(text)


# -- in the book -----------------------------------------------------------------------------


@pytest.fixture
def closed(house):
    """A cask of 200 l gauged at the end of 2025, the year closed; in 2026 it is sampled."""
    house.open("C1", "V1")
    house.facts("C1", owner="Corran Vale", at="2024-01-01")
    house.cask("C1", "200 l", "63.5", at="2025-02-01")
    house.gauge("C1", "196.4 l", "63.2", at="2025-12-01")
    house.close_period("2026-01-01")
    house.draw("C1", "V1", "200 ml", at="2026-02-01")
    return house


def year_of(house, by=("owner",)):
    return account_of(house.book, *YEAR, by)


def declare(house, rule="half-up 0.1", by=("owner",), at="2026-01-10", **draft):
    entry = declared(house.book.store, year_of(house, by), read_rule(rule), amended=bool(draft.get("confirmed")))
    return house.record(entry, at=at, **draft)


def last_gauge(house):
    return house.book.store.query("SELECT max(number) FROM entry WHERE kind = 'gauge'")[0][0]


def test_declared_exact_and_difference_stand_side_by_side(closed):
    """Every line of every group, and of the total, with the rule that rounded it."""
    recorded = declare(closed)
    account = year_of(closed)
    declaration = declaration_of(closed.book.store, account)
    assert (declaration.entry, declaration.rule, declaration.amends) == (recorded.numbers[0], "half-up 0.1", 0)
    (owner,) = account.groups
    for group in (owner, account.total):
        found = {figure.line.side: figure for figure in figures(group, declaration)}
        # 196.4 l of 63.2 % vol are 124.1248 l of pure alcohol; 200 l of 63.5 are 127
        assert (found["in"].declared_lpa_l, found["closing"].declared_lpa_l) == ("127.0", "124.1")
        assert (found["in"].declared_bulk_l, found["closing"].declared_bulk_l) == ("200.0", "196.4")
        assert float(found["closing"].difference_lpa_l) == pytest.approx(124.1 - 124.1248, abs=1e-4)
        assert found["loss"].declared_lpa_l == "2.9"
        assert all(abs(figure.difference_lpa_l) <= Fraction(1, 20) for figure in found.values())


def test_a_correction_leaves_what_was_declared_and_shows_in_the_open_period(closed):
    """The dip was misread: 195.4 l. The year stays as declared; 2026 begins with an adjustment of -1 l."""
    declare(closed)
    before = year_of(closed)
    gauge = Gauge(closed.id("C1"), *read_of("195.4 l", "63.2"))
    closed.replace(last_gauge(closed), gauge, at="2025-12-01")
    after = year_of(closed)
    assert after.groups == before.groups
    assert len(after.corrected_since) == 1
    declaration = declaration_of(closed.book.store, after)
    assert [figure.declared_lpa_l for figure in figures(after.groups[0], declaration)] == [
        "0.0", "127.0", "2.9", "124.1",
    ]  # fmt: skip
    following = account_of(closed.book, YEAR[1], moment("2026-12-31"), ("owner",))
    adjustment = next(group for group in following.groups if group.group == ("Corran Vale",)).side("adjustment")
    assert adjustment.volume_ul == pytest.approx(-1_000_000, abs=2)
    assert float(adjustment.lpa_l) == pytest.approx(-0.632, abs=1e-5)
    (correction,) = following.adjusting
    assert (correction.how, correction.reason, correction.who) == ("replaced", "misread", "M. Aldane")


def read_of(amount, strength):
    return amount_of(amount), strength_of(strength)


def test_a_period_that_is_not_closed_cannot_be_declared(house):
    """Its figures could still change; the refusal says how to close it."""
    house.cask("C1", "200 l", "63.5", at="2025-02-01")
    with pytest.raises(Refused, match="not closed") as refusal:
        declare(house)
    assert "close --when 2026-01-01" in refusal.value.remedy
    house.close_period("2025-12-31")
    with pytest.raises(Refused, match="not closed"):
        declare(house)


def test_a_period_that_awaits_a_strength_cannot_be_declared(closed):
    """A closed pour was corrected to one whose strength the laboratory has still to read."""
    filled = closed.book.store.query("SELECT min(number) FROM entry WHERE kind = 'pour'")[0][0]
    amount, strength = read_of("200 l", "63.5")
    move = closed.move("origin", "C1", pending=True)._replace(amount=amount, strength=strength)
    closed.replace(filled, Pour("fill", (move,)), at="2025-02-01")
    with pytest.raises(Refused, match="pending"):
        declare(closed)


def test_what_the_open_period_awaits_is_no_hindrance(closed):
    """A strength pending of the next year says nothing of this one."""
    closed.open("B1", at="2026-01-02")
    closed.fill("B1", "100 l", "68", pending=True, at="2026-03-01")
    declare(closed, at="2026-04-01")


def test_the_same_period_is_declared_once_unless_amended(closed):
    """By the same grouping; an amended declaration counts from then on, and names the one before."""
    first = declare(closed).numbers[0]
    with pytest.raises(Refused, match=f"declared in entry {first}"):
        declare(closed)
    declare(closed, by=())
    amended = declare(closed, "down 0.01", confirmed=True).numbers[0]
    declaration = declaration_of(closed.book.store, year_of(closed))
    assert (declaration.entry, declaration.amends, declaration.rule) == (amended, first, "down 0.01")
    assert declaration_of(closed.book.store, year_of(closed, ())).rule == "half-up 0.1"


def test_a_declaration_stays_and_follows_from_the_journal(closed):
    """It cannot be voided; verification and repair find nothing amiss and change nothing of it."""
    number = declare(closed).numbers[0]
    with pytest.raises(Refused, match="stays"):
        closed.void(number, reason="wrong rule")
    before = closed.dump_tables()
    assert closed.book.verify().faults == ()
    repair(closed.book.store)
    assert closed.dump_tables() == before
