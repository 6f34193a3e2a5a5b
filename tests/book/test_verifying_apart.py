"""Half of a verification in another process: it finds what one process finds, and does without where there is none.

What must be found is what `verify` finds by itself; common practice, no source.
"""

import pickle
import sqlite3

import pytest
from eventful import eventful_book
from house import House, new_make

from pourbook import Book, Draft, Note
from pourbook.book import verifying_apart
from pourbook.book.verifying import verify

pytestmark = pytest.mark.in_a_file("copied by SQLite's own statement; on a server: test_care_on_a_server.py")

DAMAGE = {
    "none": "SELECT 1",
    "an entry": "UPDATE entry SET bytes = replace(bytes, 'a', 'b') WHERE number = 9",
    "an entry that is missing": "DELETE FROM entry WHERE number = 9",
    "a fact": "UPDATE fact SET value = 'elsewhere' WHERE name = 'ref'",
    "the ledger": "UPDATE ledger SET mass = mass + 1 WHERE line = (SELECT max(line) FROM ledger)",
    "what is on hand": "DELETE FROM on_hand",
    "what no longer counts": "UPDATE entry SET gone = 0",
    "ledger and facts": "DELETE FROM ledger; DELETE FROM fact",
    "an index": "DROP INDEX flow_source",
    "a table": "DROP TABLE flow",
    "the end": "DELETE FROM entry WHERE number = (SELECT max(number) FROM entry)",
}


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    """The eventful book in a file."""
    path = tmp_path_factory.mktemp("apart") / "whole.pourbook"
    with eventful_book() as house:
        house.book.store.execute("VACUUM INTO ?", (str(path),))
    return path


@pytest.fixture
def begun(monkeypatch):
    """Processes that were begun, however short the journal is."""
    processes, begin = [], verifying_apart._begun

    def noted(*arguments):
        processes.append(begin(*arguments))
        return processes[-1]

    monkeypatch.setattr(verifying_apart, "_WORTH_IT", 0)
    monkeypatch.setattr(verifying_apart, "_begun", noted)
    return processes


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE)
def test_two_processes_find_what_one_finds(file, tmp_path, begun, damage):
    """Entries, hash and every fault, in the same order."""
    path = tmp_path / "damaged.pourbook"
    path.write_bytes(file.read_bytes())
    with sqlite3.connect(path) as connection:
        connection.executescript(damage)
    connection.close()
    with Book.open(path) as book:
        alone = verify(book.store)
        assert book.verify() == alone
        assert bool(alone.faults) == (damage != DAMAGE["none"])
    assert [process.returncode for process in begun] == [0]


def test_a_process_that_fails_is_done_without(file, begun, monkeypatch):
    """Killed, or without the program: the same is found in this one."""
    for command in ("raise SystemExit(3)", "import os; os.kill(os.getpid(), 9)"):
        monkeypatch.setattr(verifying_apart, "_COMMAND", command)
        with Book.open(file) as book:
            assert book.verify() == verify(book.store)
    assert [process.returncode for process in begun] == [3, -9]
    monkeypatch.setattr(verifying_apart.sys, "executable", "/nowhere/python")
    with Book.open(file) as book:
        assert book.verify() == verify(book.store)
    assert begun[2] is None


def test_what_is_not_yet_in_the_file_is_checked_here(file, begun):
    """Inside a recording, and in a dry run's copy, no other process would see the same."""

    def recorded_and_checked(book, recording):
        with recording():
            book.record(Draft(Note("C000001H", "not kept"), book.clock(), "M. Aldane"))
            assert book.verify() == verify(book.store)
            raise ZeroDivisionError

    with Book.open(file) as book:
        for recording in (book.writing, book.undone):
            with pytest.raises(ZeroDivisionError):
                recorded_and_checked(book, recording)
    assert begun == []


def test_a_short_journal_and_one_in_memory_are_checked_here(house, file, monkeypatch):
    """Another process would begin too late, or find no file."""
    house.cask("C1", liquid=new_make(1000))
    assert verifying_apart._begun(house.book.store, ()) is None
    monkeypatch.setattr(verifying_apart, "_WORTH_IT", 0)
    assert verifying_apart._begun(house.book.store, ()) is None


def test_the_answer_is_of_one_state_of_the_book(tmp_path, begun, monkeypatch):
    """Another station records while the process runs: what it answers is a book that is whole."""
    with House(tmp_path / "q.pourbook") as house:
        house.cask("C1", liquid=new_make(1000))
        check = verifying_apart.verify_liquid

        def checked_while_another_writes(store, tables, progress):
            other = House.reopened(tmp_path / "q.pourbook", house.ids)
            other.record(Note(other.id("C1"), "meanwhile"))
            other.book.close()
            return check(store, tables, progress)

        monkeypatch.setattr(verifying_apart, "verify_liquid", checked_while_another_writes)
        assert house.book.verify().faults == ()


def test_the_answer_is_a_pickle_of_values(file, monkeypatch, capfdbinary):
    """What the other process writes reads back as what was found."""
    monkeypatch.setattr(verifying_apart.sys, "argv", ["-c", str(file), "item", "fact"])
    verifying_apart.answer()
    verifying_apart.sys.stdout.flush()
    found = pickle.loads(capfdbinary.readouterr().out)
    with Book.open(file) as book:
        assert found == verifying_apart.verify_journal(book.store, ("item", "fact"))


def test_it_tells_how_far_it_is(file):
    """Hashes first, then pours; what is done grows, and is never more than there is."""
    heard = []
    with Book.open(file) as book:
        assert book.verify(lambda *told: heard.append(told)).faults == ()
        entries = book.head_number()
    assert [what for what, *_ in heard] == sorted((what for what, *_ in heard), key=("hashes", "pours").index)
    assert {what for what, *_ in heard} == {"hashes", "pours"}
    assert all(done <= whole == entries for _, done, whole in heard)
