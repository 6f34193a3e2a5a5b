"""A book of format 2 is brought up to date behind a checked copy: whole or not at all, whatever happens meanwhile."""

import json
import os
import shutil
import sqlite3
import subprocess
import sys

import pytest
from command import here
from crashes import die, in_a_child
from golden_books import files, found_in, unpacked
from house import Clock

from pourbook.book import sqlite_store
from pourbook.book.coded_names import coded_since
from pourbook.book.store import VERSION
from pourbook.errors import PourbookError, StoreError
from pourbook.whole_book import Book

THEN = json.loads(files(2)[1].read_text(encoding="utf-8"))


@pytest.fixture
def old(tmp_path):
    """The golden book of format 2."""
    return unpacked(2, tmp_path)


def version_of(path):
    connection = sqlite3.connect(path)
    try:
        return connection.execute("PRAGMA user_version").fetchone()[0]
    finally:
        connection.close()


def upgraded(path):
    """Opened, held against what it was, and verified; the copy that was told."""
    with Book.open(path, clock=Clock("2030-01-01")) as book:
        found = found_in(book)
        assert (found["head"], found["items"], found["settings"]) == (THEN["head"], THEN["items"], THEN["settings"])
        assert book.verify().faults == ()
        return book.copy_before_upgrade


def test_the_copy_is_the_book_as_it_was(old):
    """Of format 2, sound, of the same head, and only one; the book's own hashes stay, later ones are of references."""
    copy = upgraded(old)
    assert copy == f"{os.path.realpath(old)}.format-2"
    assert (version_of(copy), version_of(old)) == (208, VERSION)
    assert upgraded(old) == "", "it is up to date"
    with Book.open(old) as book:
        assert coded_since(book.store) == THEN["entries"] + 1
    shutil.copy(copy, f"{old}.again")
    upgraded(f"{old}.again")


def test_the_command_tells_where_the_copy_is(old):
    """On standard error, once; the answer is as ever."""
    ran = here("journal-hash", "--json", book=old).done()
    assert ran.json == {"entries": THEN["entries"], "journal_hash": THEN["head"]}
    assert ".format-2'" in ran.err
    assert here("journal-hash", book=old).done().err == ""


def test_a_copy_of_another_journal_is_never_overwritten(old):
    """A stranger of that name stays; the copy takes the next one."""
    stranger = old.with_name(f"{old.name}.format-2")
    stranger.write_text("somebody's")
    assert upgraded(old) == f"{os.path.realpath(old)}.format-2-2"
    assert stranger.read_text() == "somebody's"


def _opening(path, number):
    """Open in a child that is killed just before that statement of any of its connections."""
    left = number
    connect = sqlite_store.connect

    def counted(_statement):
        nonlocal left
        left -= 1
        if left == 0:
            die()

    def connected(name):
        connection = connect(name)
        if str(path) in name:
            connection.set_trace_callback(counted)
        return connection

    sqlite_store.connect = connected
    try:
        Book.open(path).close()
    finally:
        sqlite_store.connect = connect


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a system that can fork")
def test_killed_before_any_statement_it_is_upgraded_when_opened_again(old, tmp_path):
    """Either the old book or the new one is there; a copy that was finished serves again."""
    statements = []
    for number in (1, 6, 12, 25, 50, 80, 120, 170, 230, 300, 380, 450, 520, 600):
        victim = tmp_path / f"victim{number}" / "book.pourbook"
        victim.parent.mkdir()
        shutil.copy(old, victim)
        was_killed = not in_a_child(lambda victim=victim, number=number: _opening(victim, number))
        assert version_of(victim) in (208, VERSION)
        copies = {path.name for path in victim.parent.glob("book.pourbook.format-2*")}
        upgraded(victim)
        assert copies <= {path.name for path in victim.parent.glob("*.format-2*")} == {"book.pourbook.format-2"}
        statements.append(was_killed)
    assert statements.count(True) > 8, "the upgrade is shorter than thought"


def test_a_folder_that_cannot_be_written_is_told(old, bound):
    """One sentence; nothing is changed."""
    before = old.read_bytes()
    old.parent.chmod(0o555)
    try:
        command = [sys.executable, "-m", "pourbook", "--book", str(old), "journal-hash"]
        ran = subprocess.run(command, capture_output=True, text=True, check=False, **bound)
    finally:
        old.parent.chmod(0o755)
    assert ran.returncode == 1
    assert "cannot be written" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert old.read_bytes() == before


def test_a_full_disk_is_told(old, monkeypatch):
    """The copy is not there, not even in part; the book is as it was."""
    copy_into = sqlite_store.SqliteStore.copy_into

    def full(self, path, told):
        copy_into(self, path, told)
        raise StoreError("the disk is full", "make room first")

    monkeypatch.setattr(sqlite_store.SqliteStore, "copy_into", full)
    with pytest.raises(StoreError, match="before a book of format 2 is upgraded it is copied, and the disk is full"):
        Book.open(old)
    assert version_of(old) == 208
    assert list(old.parent.glob("*.format-2*")) == []


def test_a_damaged_book_of_format_2_stays_as_it_is(old):
    """Neither copied nor upgraded; the refusal says where it is damaged."""
    connection = sqlite3.connect(old)
    connection.execute("UPDATE entry SET bytes = replace(bytes, 'Quillmere', 'Quellmire') WHERE number = 1")
    connection.commit()
    connection.close()
    with pytest.raises(PourbookError):
        Book.open(old)
    assert version_of(old) == 208
    assert list(old.parent.glob("*.format-2*")) == []


def test_a_back_up_of_format_2_vouches_for_the_upgraded_book(old, tmp_path):
    """The histories are the same."""
    copy = tmp_path / "kept.pourbook"
    shutil.copy(old, copy)
    upgraded(old)
    told = here("verify", "--against", copy, "--json", book=old).done().json["against"]
    assert (told["agrees"], told["agreed"]) == (True, THEN["entries"])
    assert version_of(copy) == 208, "evidence stays as it is"
