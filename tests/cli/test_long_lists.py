"""Long lists and long works: the same document item by item, a page on a terminal, all elsewhere; what narrows them.

The expected documents and lines are those of plain `json.dumps` and of counting; common practice, no source.
"""

import json
import os
import pty
import subprocess
import sys
from itertools import count
from unittest import mock

import pytest
from command import _environment, here, recorded
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Book, Draft, Note
from pourbook.actions.safekeeping import backup
from pourbook.book import sqlite_store
from pourbook.cli import door
from pourbook.documents import shown
from pourbook.documents.shown import Listing, listed
from pourbook.texts import indented

VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text() | st.integers(), inner),
)


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    """Two casks, one of them emptied into the other, samples, notes by two people at two stations."""
    fill = ("--fill", "200 l", "--strength", "62", "--in-wood", "0")
    path = recorded(
        tmp_path_factory.mktemp("lists") / "quillmere.pourbook",
        ("cask", "Q 1", *fill, "--place", "Row 1"),
        ("cask", "Q 2", *fill, "--place", "Row 2"),
        ("draw", "Q 1", "100 ml"),
        ("draw", "Q 2", "100 ml"),
        ("note", "Q 1", "bung weeps", "--who", "Isla Farrow", "--where", "Cellar"),
    )
    here("move", "Q 1", "--to", "Row 2", "--when", "2024-03-01", "--who", "isla farrow", book=path).done()
    here("loss", "Q 2", "all", "--kind", "spill", "--when", "2024-04-01", "--confirm", book=path).done()
    return path


def entries(path, *words):
    """Numbers of the entries of a journal that is asked for so."""
    return [entry["number"] for entry in here("journal", "--json", *words, book=path).done().json["entries"]]


def ids(path, *words):
    return [item["id"] for item in here("stock", "--json", *words, book=path).done().json["items"]]


@given(VALUES)
def test_a_document_is_written_as_json_writes_it(value):
    assert indented(value) == json.dumps(value, ensure_ascii=False, indent=2)


@pytest.mark.parametrize("words", [("journal",), ("stock",), ("trial", "--list"), ("stock", "--kind", "lot")])
def test_a_list_is_one_document(book, words):
    out = here(*words, "--json", book=book).done().out
    assert out == json.dumps(json.loads(out), ensure_ascii=False, indent=2) + "\n"


def test_a_list_is_made_as_it_is_shown():
    """Its first lines stand before its last item is made."""
    made = []
    listing = Listing("items", (made.append(one) or one for one in count()), lambda one: {}, (("n", str),))
    assert next(listing.lines())[:2] == ("n", "0")
    assert len(made) == shown._PORTION


def test_portions_of_a_list_are_as_one_table():
    columns = ((" n", str), ("square", lambda one: one * one))
    with mock.patch.object(shown, "_PORTION", 7):
        lines = [line for lines in Listing("items", range(30), dict, columns).lines() for line in lines]
    assert [line.split() for line in lines] == [line.split() for line in listed(range(30), *columns)]
    # a width never shrinks: the units of every number stand under each other from the first long one on
    assert [line.index(str(one)) for one, line in enumerate(lines[8:], 7)] == [1, 1, 1] + [0] * 20


def terminal(path, *words):
    """What a person sees who gives the command at a terminal."""
    ours, theirs = pty.openpty()
    ran = subprocess.Popen(
        [sys.executable, "-m", "pourbook", *words], stdout=theirs, stderr=theirs, stdin=theirs,
        env=_environment(path, {"PYTHONPATH": os.pathsep.join(sys.path)}),
    )  # fmt: skip
    os.close(theirs)
    seen = b""
    try:
        while part := os.read(ours, 65536):
            seen += part
    except OSError:  # how a terminal ends
        pass
    os.close(ours)
    assert ran.wait() == 0
    return seen.decode().splitlines()


@pytest.fixture(scope="module")
def long_book(tmp_path_factory):
    """A house with more casks than a page has lines."""
    folder = tmp_path_factory.mktemp("long")
    path = recorded(folder / "quillmere.pourbook")
    rows = "".join(f"Q {number},oak,2024-01-01,malt,200,l,62\n" for number in range(1, door.PAGE + 21))
    (folder / "casks.csv").write_text("ref,wood,filled,spirit,quantity,unit,strength\n" + rows, "utf-8")
    here("import", "casks", folder / "casks.csv", "--confirm", book=path).done()
    return path


def test_a_terminal_shows_a_page(long_book):
    """The latest entries of the journal, the first items of the stock, and what shows the rest."""
    last = entries(long_book)[-1]
    heads, *lines, note = terminal(long_book, "journal")
    assert [int(line.split()[0]) for line in lines] == list(range(last - door.PAGE + 1, last + 1))
    assert heads.split()[0] == "entry"
    assert "--all" in note
    heads, *lines, note = terminal(long_book, "stock")
    assert [line.split()[3] for line in lines] == [str(number) for number in range(1, door.PAGE + 1)]
    assert "--all" in note


def test_a_terminal_shows_all_or_so_many_on_asking(long_book):
    assert len(terminal(long_book, "stock", "--all")) == door.PAGE + 21
    assert len(terminal(long_book, "journal", "--limit", "3")) == 1 + 3 + 1


def test_what_is_no_terminal_gets_all(long_book):
    assert len(here("stock", book=long_book).done().out.splitlines()) == door.PAGE + 21
    assert entries(long_book) == list(range(1, entries(long_book)[-1] + 1))


def test_so_many_of_the_last_entries(book):
    assert entries(book, "--limit", "2") == entries(book)[-2:]
    assert entries(book, "--kind", "note", "--limit", "5") == entries(book, "--kind", "note")


def test_a_journal_is_narrowed(book):
    """By kind, person, station, time and item, whatever the case; each is checked against the whole journal."""
    whole = here("journal", "--json", "--names", book=book).done().json["entries"]
    numbers = lambda of: [entry["number"] for entry in whole if of(entry)]  # noqa: E731
    pours, notes = (numbers(lambda entry, kind=kind: entry["kind"] == kind) for kind in ("pour", "note"))
    by_isla = numbers(lambda entry: entry["who"].lower() == "isla farrow")
    late = numbers(lambda entry: "2024-03-01" <= entry["happened"] <= "2024-12-31")
    assert list(map(len, (pours, notes, by_isla, late))) == [5, 1, 2, 2]
    assert entries(book, "--kind", "pour") == pours
    assert entries(book, "--kind", "NOTE") == notes
    assert entries(book, "--who", "ISLA FARROW") == by_isla
    assert entries(book, "--where", "cellar") == notes
    assert entries(book, "--since", "2024-03-01", "--at", "2024-12-31") == late
    of_cask = entries(book, "--item", "Q 1")
    of_both = [number for number in pours if number in of_cask]
    assert entries(book, "--item", "Q 1", "--kind", "pour", "--limit", "1") == of_both[-1:]


def test_a_kind_that_no_entry_has_is_refused(book):
    ran = here("journal", "--kind", "gauges", book=book)
    assert ran.status == 1
    assert "gauge," in ran.err


def test_stock_by_place_follows_moves(book):
    """What lies in a place now, and what lay there on a day."""
    assert ids(book, "--place", "Row 1") == []
    assert ids(book, "--place", "Row 2") == ["C000001H"]
    assert ids(book, "--place", "Row 1", "--at", "2024-02-15") == ["C000001H"]
    assert ids(book, "--place", "Row 2", "--at", "2024-02-15") == ["C000002F"]


def test_stock_is_what_is_not_empty(book):
    """By kind and number; a cask that was emptied is there up to the day before."""
    assert ids(book) == ["C000001H", "V000001R", "V000002P"]
    assert ids(book, "--at", "2024-03-31", "--kind", "cask") == ["C000001H", "C000002F"]
    here("void", entries(book, "--kind", "pour")[-1], "--reason", "misread", book=book).done()
    assert ids(book, "--kind", "cask") == ["C000001H", "C000002F"]


def test_a_backup_says_how_far_it_is(book, tmp_path):
    """Of both works, all at the end; to a program, nothing."""
    told = []
    with Book.open(book) as opened:
        copy = backup(opened, str(tmp_path / "copy.pourbook"), lambda *far: told.append(far))
    assert copy.entries == entries(book)[-1]
    for work in ("copying", "checking"):
        *_, (_, done, whole) = [far for far in told if far[0] == work]
        assert done == whole > 0
    assert here("backup", tmp_path / "other.pourbook", book=book).done().err == ""


def test_what_is_recorded_while_a_book_is_copied_is_not_in_the_copy(book, tmp_path, monkeypatch):
    """The copy is one state of the book, though it is taken page by page."""
    monkeypatch.setattr(sqlite_store, "_PAGES", 1)
    before = entries(book)
    with Book.open(book) as opened, Book.open(book) as other:
        copied = iter(range(1000))

        def record(*_):
            if next(copied) % 10 == 3:
                other.record(Draft(Note("C000001H", "meanwhile"), other.clock(), "M. Aldane"))

        assert backup(opened, str(tmp_path / "copy.pourbook"), record).entries == before[-1]
    assert len(entries(book)) > len(before)
    with Book.open(tmp_path / "copy.pourbook") as copy:
        assert copy.verify().faults == ()
