"""Accounts of random books: whatever was poured, gauged and corrected, they balance, chain and agree."""

from itertools import pairwise

import pytest
from house import moment
from hypothesis import given
from hypothesis import strategies as st
from random_books import ITEMS, START_US, STEP_US, Chance, books, built, corrections, liquid_operations, moments

from pourbook import Close, Facts
from pourbook.book.as_known_then import as_known
from pourbook.book.rebuilding import rebuild, standing
from pourbook.book.store import Store
from pourbook.errors import PeriodClosed
from pourbook.queries.accounts.account import Period, account_of
from pourbook.queries.accounts.entries_behind import Wanted, entries_behind
from pourbook.queries.accounts.quantity import NONE, quantity

GROUPINGS = ((), ("kind",), ("owner",), ("warehouse", "duty"), ("owner", "kind"))
END_US = START_US + 90 * STEP_US

owners = st.tuples(
    st.sampled_from(ITEMS),
    st.sampled_from(("owner", "duty", "place")),
    st.sampled_from(("A", "B", "A, row 2", "")),
    st.integers(0, 60),
)
"""What became true of an item, and when."""


def told(house, changes):
    """Facts recorded of items: owners, duty status, places."""
    for item, name, value, slot in changes:
        happened = START_US + slot * STEP_US + 7
        house.book.record(*house.drafts(Facts(house.id(item), {name: value}), at=happened))


def sides(account):
    """Side and heading of all lines together, with their sums."""
    return {(line.side, line.heading): line.quantity for line in account.total.lines}


@given(books, st.lists(owners, max_size=8), st.lists(st.integers(0, 60), min_size=1, max_size=3, unique=True))
def test_accounts_of_adjacent_periods_chain_and_every_grouping_adds_up_to_the_same(operations, changes, cuts):
    """What one period leaves, the next one finds, in every group; and all groups together are the house."""
    house, _ = built(operations)
    told(house, changes)
    cuts_us = [START_US - STEP_US, *(START_US + cut * STEP_US for cut in sorted(cuts)), END_US]
    for start, end in pairwise(cuts_us):
        whole = account_of(house.book, start, end)
        for by in GROUPINGS:
            account = account_of(house.book, start, end, by)
            assert sides(account) == sides(whole), by
            for name in ("opening", "closing"):
                assert sum((group.side(name) for group in account.groups), NONE) == whole.total.side(name)
            if end != END_US:
                following = account_of(house.book, end, END_US, by)
                closing = {group.group: group.side("closing") for group in account.groups}
                opening = {group.group: group.side("opening") for group in following.groups}
                assert {group: held for group, held in opening.items() if any(held)} == {
                    group: held for group, held in closing.items() if any(held)
                }


@given(books)
def test_the_closing_is_what_the_items_hold(operations):
    """The account of all time ends with what each item shows, volume by volume."""
    house, _ = built(operations)
    held = [house.held(item) for item in ITEMS]
    account = account_of(house.book, START_US - STEP_US, END_US)
    assert account.total.side("closing") == sum((quantity(liquid) for liquid in held if liquid.mass_mg), NONE)
    assert account.total.side("opening") == NONE


def rebuilt_at(house, number):
    """An independent book beside it, made from the journal as far as one entry."""
    store = Store.create(":memory:")
    rows = house.book.store.query("SELECT number, kind, happened, bytes, hash FROM entry WHERE number <= ?", (number,))
    with store.transaction():
        store.execute_many(
            "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,0,?,?)",
            [(row[0], row[1], row[2], row[0], *row[3:]) for row in rows],
        )
        for entry, (gone, place) in standing(store).items():
            store.execute("UPDATE entry SET gone = ?, place = ? WHERE number = ?", (gone, place, entry))
        rebuild(store)
    return store


LEDGER = "SELECT item, happened, place, line, mass, ethanol, extract FROM ledger WHERE happened < ?"
FACTS = "SELECT item, name, happened, place, value FROM fact WHERE happened < ? AND name <> 'held'"
FLOWS = "SELECT line, carry, how, mass, ethanol, extract, out_mass FROM flow WHERE happened < ?"
later_operations = st.lists(st.tuples(corrections | liquid_operations, moments), min_size=4, max_size=16)


@given(books, st.lists(owners, max_size=4), later_operations)
def test_a_closed_period_is_known_as_it_was_when_it_was_closed(operations, changes, later):
    """Corrections taken back give, row for row, the book that the journal up to the closing gives."""
    house, _ = built(operations)
    told(house, changes)
    chance = Chance(house, opened=True)
    closing_us = chance.latest + 1
    house.record(Close(), at=closing_us)
    number, _ = house.book.head()
    before = {by: account_of(house.book, START_US - STEP_US, closing_us, by) for by in GROUPINGS}
    for operation, slot in later:
        chance.record(operation, slot)
    as_it_was, now = rebuilt_at(house, number), house.dump_tables()
    with as_known(house.book, number, closing_us):
        for question in (LEDGER, FACTS, FLOWS):
            known = house.book.store.query(question, (closing_us,))
            assert sorted(known, key=str) == sorted(as_it_was.query(question, (closing_us,)), key=str), question
    assert house.dump_tables() == now, "nothing of it is kept"
    for by, account in before.items():
        again = account_of(house.book, START_US - STEP_US, closing_us, by)
        assert again.groups == account.groups, "a closed account stays as it was"
        following = account_of(house.book, closing_us, END_US, by)
        opened = {group.group: group.side("opening") for group in following.groups}
        closed = {group.group: group.side("closing") for group in account.groups}
        assert {group: held for group, held in opened.items() if any(held)} == {
            group: held for group, held in closed.items() if any(held)
        }


def add_up(listed):
    """What listed rows add up to under each group, side and heading; nothing under those that come to nothing."""
    return {key: total.quantity for key, total in listed.sums.items() if any(total.quantity)}


def figures(account):
    """Every figure of every group but the contraction, which no entry makes; nothing under those of nothing."""
    return {
        (group.group, line.side, line.heading): line.quantity
        for group in account.groups
        for line in group.lines
        if line.side != "contraction" and any(line.quantity)
    }


@given(books, st.lists(owners, max_size=6), later_operations)
def test_the_entries_behind_every_figure_add_up_to_it(operations, changes, later):
    """Mass, ethanol, extract and volume to the last unit, by every grouping, open, closed and corrected since."""
    house, _ = built(operations)
    told(house, changes)
    chance = Chance(house, opened=True)
    closing_us = chance.latest + 1
    house.record(Close(), at=closing_us)
    for operation, slot in later:
        chance.record(operation, slot)
    for start, end in ((START_US - STEP_US, closing_us), (closing_us, END_US), (START_US - STEP_US, END_US)):
        for by in GROUPINGS:
            period = Period(start, end, by)
            found = entries_behind(house.book, period, Wanted())
            wanted = figures(account_of(house.book, *period))
            assert add_up(found) == wanted, by
            for group, side, heading in wanted:
                one = entries_behind(house.book, period, Wanted(side, heading, " · ".join(group)))
                assert add_up(one) == {(group, side, heading): wanted[group, side, heading]}
                break  # one of them; each asks for the whole account again


def test_an_owner_corrected_after_the_closing_moves_by_an_adjustment(house):
    """What a closed period said belonged to one owner belongs, in the open one, to the other."""
    house.open("C1", owner="Harbour Row")
    house.cask("C1", "200 l", "60", at="2024-02-01")
    noted = house.facts("C1", owner="Corran Vale", at="2024-03-01")
    house.close_period("2024-04-01")
    house.void(noted, at="2024-05-01")
    period = [moment(at) for at in ("2024-01-01", "2024-04-01", "2024-06-01")]
    closed, opened = (account_of(house.book, *pair, ("owner",)) for pair in (period[:2], period[1:]))
    held = quantity(house.held("C1"))
    assert {group.group: group.side("closing") for group in closed.groups} == {
        ("Corran Vale",): held,
        ("Harbour Row",): NONE,
    }
    assert {group.group: group.side("adjustment") for group in opened.groups} == {
        ("Corran Vale",): NONE - held,
        ("Harbour Row",): held,
    }
    assert [(one.entry, one.how) for one in opened.adjusting] == [(noted.numbers[0], "voided")]
    assert opened.adjusting == closed.corrected_since


def test_a_refused_recording_is_no_correction(house):
    """Nothing that the closed period refused shows anywhere."""
    house.open("C1")
    house.cask("C1", "200 l", "60", at="2024-02-01")
    house.close_period("2024-04-01")
    with pytest.raises(PeriodClosed):
        house.lose("C1", "1 l", at="2024-03-01")
    account = account_of(house.book, moment("2024-01-01"), moment("2024-04-01"))
    assert account.corrected_since == ()
    assert account.closed_by is not None
