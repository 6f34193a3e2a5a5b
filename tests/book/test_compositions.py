"""Compositions kept for speed: never other than what the pours say, whatever is corrected afterwards."""

import sqlite3
import time

import pytest
from house import House
from hypothesis import given
from hypothesis import strategies as st
from random_books import ITEMS, START_US, STEP_US, Chance, books, moments

from pourbook import Pour
from pourbook.book import compositions
from pourbook.book.verifying import repair
from pourbook.codes.identifiers import of_key
from pourbook.errors import Refused
from pourbook.liquid import Liquid


@given(
    operations=books,
    asked=st.lists(st.tuples(st.sampled_from(ITEMS), st.sampled_from(("alcohol", "mass")), moments), min_size=1),
)
def test_shares_are_those_of_the_trace_whatever_happens_between(operations, asked):
    """Asked after every entry, corrections of the past among them."""
    with House() as house:
        chance = Chance(house)
        for operation, slot in operations:
            chance.record(operation, slot)
            name, by, at = asked[len(chance.used) % len(asked)]
            check(house, name, by, None if at is None else START_US + at * STEP_US)
        assert house.book.verify().faults == ()


def check(house, name, by, at_us):
    """The shares are those of the pours, and a trace that reads kept rows says the same to the last digit."""
    identifier = house.id(name)
    kept_rows = house.book.store.query("SELECT * FROM composition")
    house.book.store.execute("DELETE FROM composition")
    try:
        trace = house.book.trace_back(identifier, by, at_us)
    except Refused:
        with pytest.raises(Refused):
            house.book.shares(identifier, by, at_us)
        return
    house.book.store.execute_many(compositions._ROW, kept_rows)
    shares = house.book.shares(identifier, by, at_us)
    assert house.book.shares(identifier, by, at_us) == shares
    assert house.book.trace_back(identifier, by, at_us) == trace
    assert {of_key(key): share for key, share in shares.items.items() if share > 1e-12} == pytest.approx(
        {part.item.id: part.share for part in trace.items if part.share > 1e-12}, abs=1e-9
    )
    assert shares.origins == pytest.approx({origin.line: origin.share for origin in trace.origins}, abs=1e-9)
    unexplained = {origin.line: origin.share for origin in trace.origins if origin.how == "unexplained"}
    assert shares.lines == pytest.approx(unexplained | {pour.line: pour.part for pour in trace.pours}, abs=1e-9)
    assert sum(shares.origins.values()) == pytest.approx(1, abs=1e-12)


BATCHES = 90
"""Of a chain of heels: each batch takes what the one before left, and two casks."""


@pytest.fixture
def chain():
    """A house with such a chain, every batch bottled but for its heel."""
    with House() as house:
        for number in range(1, BATCHES + 1):
            for cask in (f"C{number}a", f"C{number}b"):
                house.cask(cask, liquid=Liquid(200_000, 110_000))
                house.dump(cask, f"B{number}")
            if number > 1:
                house.pour(f"B{number - 1}", f"B{number}", verb="heel")
            house.pour(f"B{number}", f"L{number}", 390_000, verb="bottle")
        yield house


def kept(house):
    """States with a kept row."""
    return {key // 3 for (key,) in house.book.store.query("SELECT key FROM composition")}


def test_a_second_question_reads_no_lineage(chain, monkeypatch):
    """The first one reads the whole chain; then one row stands for all that lies behind the lot."""
    read = []
    monkeypatch.setattr(
        compositions, "upstream", lambda *asked, real=compositions.upstream: read.append(asked) or real(*asked)
    )
    first, again = chain.book.shares(chain.id("L90")), chain.book.shares(chain.id("L90"))
    assert first == again
    assert len(read) == 1


def test_a_trace_keeps_what_is_long_and_reads_it(chain):
    """The second lot of the chain is worked out sooner than written; the last one is kept, and read again."""
    before = chain.back("L2"), chain.back("L90")
    assert len(kept(chain)) == 1
    assert (chain.back("L2"), chain.back("L90")) == before


def test_no_more_than_so_many_rows_are_kept(chain, monkeypatch):
    """Asked for every lot, from the oldest on, a long chain does not keep its whole past once a batch."""
    monkeypatch.setattr(compositions, "_MOST_ROWS", 20)
    for number in range(1, BATCHES + 1):
        chain.book.shares(chain.id(f"L{number}"))
        assert len(kept(chain)) <= 20
    assert kept(chain)


def test_a_correction_drops_the_rows_downstream_and_no_others(chain):
    """A cask of the thirtieth batch was misread: what was made before it stands."""
    for number in (10, 20, 40, 90):
        chain.book.shares(chain.id(f"L{number}"))
    before = kept(chain)
    (fill,) = chain.back("C30a").pours
    better = Pour("fill", (chain.move("origin", "C30a", liquid=Liquid(201_000, 111_000)),))
    chain.replace(fill.entry, better, at=fill.happened_us)
    gone = before - kept(chain)
    assert gone
    assert before - gone
    for number in (10, 20, 40, 90):
        check(chain, f"L{number}", "alcohol", None)


def test_a_row_that_was_tampered_with_is_found_and_repaired(chain):
    """Verification works every kept row out again."""
    before = chain.back("L90")
    chain.book.shares(chain.id("L90"))
    chain.book.store.execute("UPDATE composition SET lines = items, origins = 1")
    faults = chain.book.verify().faults
    assert {fault.file for fault in faults} == {"table composition"}
    repair(chain.book.store)
    assert chain.book.verify().faults == ()
    assert chain.back("L90") == before


@pytest.mark.in_a_file("a lock of the file; on a server: test_postgres.py")
def test_when_another_program_is_writing_nothing_is_kept_and_nobody_waits(tmp_path):
    """The answer does not depend on it."""
    with House(tmp_path / "a.pourbook") as house:
        for cask in ("C1", "C2", "C3", "C4"):
            house.cask(cask, liquid=Liquid(200_000, 110_000))
            house.dump(cask, "B1")
        house.pour("B1", "L1", verb="bottle")
        other = sqlite3.connect(tmp_path / "a.pourbook", isolation_level=None)
        other.execute("BEGIN IMMEDIATE")
        begin = time.monotonic()
        answer = house.book.shares(house.id("L1"))
        assert time.monotonic() - begin < 5  # it would wait for ten seconds to write
        assert kept(house) == set()
        other.execute("ROLLBACK")
        other.close()
        assert house.book.shares(house.id("L1")) == answer
        assert len(kept(house)) == 1
