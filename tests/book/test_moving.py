"""A book moved to another place: the same entries, hashes and tables; nothing else is overwritten; killed, it goes on.

Common practice of copying (all of it or not yet, and checked at the end), no source.
"""

import json
import os
import sqlite3
from itertools import count

import pytest
from command import here
from crashes import die, in_a_child
from moved import move, noted, rows
from stations import takes_long

from pourbook import Book, Draft, Note
from pourbook.book import moving, sqlite_store
from pourbook.errors import Damaged, StoreError


@pytest.fixture
def by_three(monkeypatch):
    """Entries travel three at a time."""
    monkeypatch.setattr(moving, "_PORTION", 3)


def test_what_arrives_is_the_same_book(kept, tmp_path):
    """Entry by entry and row by row; the one that was moved is not touched."""
    path, ids = kept
    before, target = path.read_bytes(), tmp_path / "to.pourbook"
    moved = move(path, target)
    with Book.open(target) as book:
        assert (moved.entries, moved.head) == book.head()
    assert rows(target, ids) == rows(path, ids)
    assert path.read_bytes() == before
    assert sorted(one.name for one in tmp_path.iterdir()) == ["from.pourbook", "to.pourbook"]


def test_back_again_is_the_same_book(kept, tmp_path):
    """There and back."""
    path, ids = kept
    move(path, tmp_path / "there")
    move(tmp_path / "there", tmp_path / "back")
    assert rows(tmp_path / "back", ids) == rows(path, ids)


def test_moved_again_only_what_follows_travels(kept, tmp_path, by_three):
    """A copy that is all there is verified and left; one from which the book went on gets the rest."""
    path, ids = kept
    target = tmp_path / "to"
    first = move(path, target)
    told = []
    assert move(path, target, lambda *far: told.append(far)) == first
    assert "moving" not in {what for what, *_ in told}
    noted(path, "one more")
    told.clear()
    assert move(path, target, lambda *far: told.append(far)).entries == first.entries + 1
    assert [far for far in told if far[0] == "moving"] == [("moving", first.entries + 1, first.entries + 1)]
    assert rows(target, ids) == rows(path, ids)


@takes_long
@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork")
def test_killed_at_any_statement_it_goes_on(kept, tmp_path, by_three, monkeypatch):
    """Whatever connection the statement is for. Until all is there nobody can work with what is there."""
    path, ids = kept
    whole, statements = rows(path, ids), []
    connect = sqlite_store.connect

    def traced(note):
        def connected(name):
            connection = connect(name)
            connection.set_trace_callback(note)
            return connection

        monkeypatch.setattr(sqlite_store, "connect", connected)

    traced(statements.append)
    move(path, tmp_path / "counted")
    assert len(statements) > 500
    stages = set()
    for number in range(1, len(statements), 67):
        monkeypatch.setattr(sqlite_store, "connect", connect)
        target, left = tmp_path / f"to{number}", count(number, -1)
        traced(lambda _, left=left: die() if next(left) == 0 else None)
        assert not in_a_child(lambda target=target: move(path, target))
        monkeypatch.setattr(sqlite_store, "connect", connect)
        stages.add(stage(target))
        if stage(target) == "half":
            with pytest.raises(StoreError, match="not all of the book has been moved"):
                Book.open(target)
        move(path, target)
        assert rows(target, ids) == whole, f"killed before statement {number}: {statements[number - 1]}"
    assert stages >= {"nothing", "half"}


def stage(path):
    """How far a move has come: nothing, half of it, or all."""
    if not path.exists():
        return "nothing"
    with sqlite3.connect(path) as connection:
        return "half" if connection.execute("PRAGMA user_version").fetchone() == (1,) else "all"


def test_an_interrupted_move_goes_on_where_it_was(kept, tmp_path, by_three):
    """Entries that arrived do not travel again; what stopped it is told as it is."""
    path, ids = kept
    target = tmp_path / "to"

    def stop(what, done, _):
        if (what, done) == ("moving", 9):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        move(path, target, stop)
    told = []
    move(path, target, lambda *far: told.append(far))
    assert min(done for what, done, _ in told if what == "moving") == 12
    assert rows(target, ids) == rows(path, ids)


def test_what_is_recorded_meanwhile_comes_along(kept, tmp_path):
    """A note taken while the entries travel, and another while all of it is verified."""
    path, ids = kept
    left = ["moving", "pours"]

    def record(what, *_):
        if left and what == left[0]:
            noted(path, left.pop(0))

    moved = move(path, tmp_path / "to", record)
    assert left == []
    with Book.open(path) as book:
        assert book.head() == (moved.entries, moved.head)
    assert rows(tmp_path / "to", ids) == rows(path, ids)


def test_people_who_never_pause_are_asked_to(kept, tmp_path):
    """Who records at every step is told; what arrived stays, marked, and the next move needs only the rest."""
    path, ids = kept
    with pytest.raises(StoreError, match="faster than it is moved") as refusal:
        move(path, tmp_path / "to", lambda what, *_: noted(path, "again") if what == "pours" else None)
    assert "let nobody record" in refusal.value.remedy
    assert stage(tmp_path / "to") == "half"
    move(path, tmp_path / "to")
    assert rows(tmp_path / "to", ids) == rows(path, ids)


def test_nothing_else_is_overwritten(kept, tmp_path):
    """Another book, one that went on by itself, one that is ahead, the book itself by any name, any other file."""
    path, ids = kept
    other, on, ahead, table = (tmp_path / name for name in ("other", "on", "ahead", "table.csv"))
    Book.create(other, house="Elsewhere").close()
    move(path, on)
    noted(path, "here")
    noted(on, "there")
    move(path, ahead)
    noted(ahead, "later")
    table.write_text("item,amount\n")
    (tmp_path / "link").symlink_to(path)
    kept_bytes = {one: one.read_bytes() for one in (path, other, on, ahead, table)}
    for target, why in (
        (other, "is another one, or went on by itself"),
        (on, "is another one, or went on by itself"),
        (ahead, "went on where this one ends"),
        (path, "is the book itself"),
        (tmp_path / "link", "is the book itself"),
        (table, "not a pourbook"),
        (tmp_path, "no book found|it is a folder"),
        (tmp_path / "nowhere" / "to", "its folder does not exist"),
    ):
        with pytest.raises(StoreError, match=why):
            move(path, target)
    assert {one: one.read_bytes() for one in kept_bytes} == kept_bytes
    assert rows(path, ids)


def test_a_half_moved_book_takes_no_other(kept, tmp_path, by_three):
    """Nor can anything be recorded in it, also by whom had it open as a whole book."""
    path, _ = kept
    target = tmp_path / "to"
    with pytest.raises(KeyboardInterrupt):
        move(path, target, _interrupt)
    Book.create(tmp_path / "other", house="Elsewhere").close()
    with pytest.raises(StoreError, match="is another one"):
        move(tmp_path / "other", target)
    move(path, target)
    noted(path, "more")
    with Book.open(target) as opened:
        with pytest.raises(KeyboardInterrupt):
            move(path, target, _interrupt)
        with pytest.raises(StoreError, match="not all of the book"):
            opened.record(Draft(Note("C000001H", "x"), 0, "M. Aldane"))


def _interrupt(what, *_):
    if what == "moving":
        raise KeyboardInterrupt


@pytest.mark.parametrize(
    "damage",
    [
        "UPDATE entry SET bytes = replace(bytes, 'a', 'b') WHERE number = 9",
        "DELETE FROM entry WHERE number = 9",
        "UPDATE entry SET hash = (SELECT hash FROM entry WHERE number = 8) WHERE number = 9",
    ],
)
def test_a_damaged_journal_stays_where_it_is(kept, tmp_path, damage):
    """Nothing is made of it elsewhere."""
    path, _ = kept
    with sqlite3.connect(path) as connection:
        connection.execute(damage)
    with pytest.raises(Damaged, match="entry 9"):
        move(path, tmp_path / "to")
    assert not (tmp_path / "to").exists()


def test_tables_that_do_not_agree_are_made_anew_on_the_way(kept, tmp_path):
    """What travels is the journal: a table that somebody changed is as it should be where it arrives."""
    path, ids = kept
    whole = rows(path, ids)
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE ledger SET mass = mass + 1")
        connection.execute("UPDATE entry SET gone = 0")
    move(path, tmp_path / "to")
    assert rows(tmp_path / "to", ids) == whole


@pytest.mark.parametrize("damage", ["UPDATE ledger SET mass = mass + 1", "UPDATE entry SET bytes = bytes || ' '"])
def test_what_did_not_arrive_whole_is_not_said_to_be_there(kept, tmp_path, damage, monkeypatch):
    """A fault of the disk between writing and verifying."""
    path, _ = kept
    verify = moving.verify

    def damaged(store, *rest):
        store.execute(damage)
        return verify(store, *rest)

    monkeypatch.setattr(moving, "verify", damaged)
    with pytest.raises(Damaged, match="does not agree with itself"):
        move(path, tmp_path / "to")
    assert stage(tmp_path / "to") == "half"


@pytest.mark.in_a_file("the path is said")
def test_the_command_says_where_the_book_is_now(kept, tmp_path):
    """As scripts read it, and as people do."""
    path, _ = kept
    target = tmp_path / "to"
    said = json.loads(here("move", path, target, "--json").done().out)
    with Book.open(path) as book:
        entries, head = book.head()
    assert said == {"from": str(path), "to": str(target), "entries": entries, "head": head, "same": True}
    again = here("move", path, target).done()
    assert "moved and verified" in again.out
    assert f"record in {target} from now on" in again.err
