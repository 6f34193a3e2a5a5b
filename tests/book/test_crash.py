"""Killed while writing: all of a recording or nothing of it, and a clean book on opening again."""

import os
import shutil

import pytest
from crashes import everything_at_once, kill_after, kill_at_statement
from house import House, in_folder, new_make
from stations import takes_long

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork")


@pytest.fixture
def kept(tmp_path):
    """C1 drawn for some days into V1, then dumped into B1; closed."""
    with in_folder(tmp_path) as house:
        house.cask("C1", liquid=new_make(100_000), at="2020-01-01")
        for day in range(1, 9):
            house.draw("C1", "V1", 1000, at=f"2020-02-0{day}")
        house.pour("C1", "B1", 5000, at="2020-03-01")
    return tmp_path / "quillmere.pourbook", house.ids


def tables(path, ids):
    """All rows, of a book that verifies."""
    with House.reopened(path, ids) as house:
        assert house.book.verify().faults == ()
        return house.dump_tables()


@takes_long
@pytest.mark.in_a_file("through SQLite's connection; on a server: test_server_failures.py")
def test_killed_before_any_statement_of_a_recording(kept, tmp_path):
    """The book is as it was, or as it should become; at the end it is the latter."""
    path, ids = kept
    before = tables(path, ids)
    whole = tmp_path / "whole.pourbook"
    shutil.copy(path, whole)
    with House.reopened(whole, ids) as house:
        statements = []
        house.book.store.connection.set_trace_callback(statements.append)
        everything_at_once(house)
    after = tables(whole, ids)
    assert len(statements) > 30
    outcomes = []
    for number in range(1, len(statements) + 2, 4):
        victim = tmp_path / f"victim{number}" / "quillmere.pourbook"
        victim.parent.mkdir()
        shutil.copy(path, victim)
        kill_at_statement(number, victim, ids, everything_at_once)
        outcomes.append(tables(victim, ids))
        assert outcomes[-1] in (before, after), f"killed before statement {number}: {statements[number - 1]}"
    assert outcomes[0] == before
    victim = tmp_path / "last" / "quillmere.pourbook"
    victim.parent.mkdir()
    shutil.copy(path, victim)
    kill_at_statement(len(statements) + 1, victim, ids, everything_at_once)
    assert tables(victim, ids) == after


@pytest.mark.parametrize("seconds", [0.05, 0.11, 0.23])
def test_killed_at_any_moment_nothing_acknowledged_is_lost(kept, seconds):
    """What the child said it had recorded is there; at most one more, and that one whole."""
    path, ids = kept
    held = 100_000 - 8 * 1000 - 5000

    def draw(house, _):
        house.draw("C1", "V1", 3, at="2021-01-01")

    done = kill_after(seconds, path, ids, draw)
    with House.reopened(path, ids) as house:
        assert house.book.verify().faults == ()
        drawn = (held - house.held("C1").mass_mg) // 3
        assert drawn in (done, done + 1)
        assert house.held("V1").mass_mg == 8000 + 3 * drawn
        house.draw("C1", "V1", 3, at="2021-01-02")
