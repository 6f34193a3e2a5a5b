"""The file beside a book: private, of its own book alone, shared by processes and threads, no part of the journal."""

import os
import re
import shutil
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing

import pytest
from command import apart
from house import Clock, House

from pourbook import Book
from pourbook.actions.accounts import sign_in
from pourbook.actions.happening import Happening
from pourbook.errors import Damaged, NewerBook, Refused, StoreError

pytestmark = pytest.mark.in_a_file("the file beside it; on a server: test_beside_server.py")

HOW = Happening("M. Aldane")
PIN = "482913"


@pytest.fixture
def path(tmp_path):
    """A house with a manager."""
    with Book.create(tmp_path / "q.pourbook", house="Quillmere", clock=Clock()) as book:
        book.make_account(HOW, "Isla Farrow", "manager", PIN)
    return tmp_path / "q.pourbook"


def beside(path):
    return path.with_name(f"{path.name}-station")


def test_nothing_is_made_until_something_is_kept(tmp_path):
    """Asking is not keeping."""
    with Book.create(tmp_path / "q.pourbook", house="Quillmere") as book:
        assert book.accounts() == ()
        assert book.signed_in("nobody") is None
        assert book.beside.in_hand("P000002G", "pour") is None
        assert sorted(one.name for one in tmp_path.iterdir() if "station" in one.name) == []


def test_its_owner_alone_may_read_it(path):
    """The companions that SQLite puts beside it, too."""
    with Book.open(path) as book:
        sign_in(book, "Isla Farrow", PIN)
        files = [one for one in path.parent.iterdir() if "-station" in one.name]
        assert len(files) == 3
        assert {one.stat().st_mode & 0o777 for one in files} == {0o600}
        assert {str(one) for one in files} <= set(book.files)


def test_a_copy_of_the_book_has_no_accounts(path, tmp_path):
    """Neither a back-up nor the book's own file; verification and repair leave them alone."""
    before = beside(path).read_bytes()
    with Book.open(path) as book:
        book.backup(str(tmp_path / "copy.pourbook"))
        assert book.verify().faults == ()
        book.repair()
    assert beside(path).read_bytes() == before
    for file in (path, tmp_path / "copy.pourbook"):
        assert b"argon2" not in file.read_bytes()
    with Book.open(tmp_path / "copy.pourbook") as copy:
        assert copy.accounts() == ()


def test_accounts_of_another_book_open_nothing(path, tmp_path):
    """A book that was removed, and a new one of its name: a person of the one is not a person of the other."""
    path.unlink()
    with (
        Book.create(path, house="Quillmere", clock=Clock("2025-01-01")) as book,
        pytest.raises(Damaged, match="accounts of another book"),
    ):
        book.accounts()


def test_a_restored_book_has_its_accounts_again(path, tmp_path):
    """It begins with the same entry."""
    shutil.copy(path, tmp_path / "copy")
    path.unlink()
    shutil.copy(tmp_path / "copy", path)
    with Book.open(path) as book:
        assert sign_in(book, "Isla Farrow", PIN)


@pytest.mark.parametrize(
    ("content", "kind", "said"),
    [
        (b"not a database at all, but long enough to be looked at as one" * 20, Damaged, "the book itself is not"),
        (None, Damaged, "not what pourbook keeps beside a book"),
    ],
)
def test_what_is_no_such_file_is_refused(path, content, kind, said):
    """Damaged, or another database of that name; the book itself goes on."""
    beside(path).unlink()
    if content is None:
        with closing(sqlite3.connect(beside(path))) as other:
            other.execute("CREATE TABLE cake (slices INTEGER)")
    else:
        beside(path).write_bytes(content)
    with Book.open(path) as book:
        with pytest.raises(kind, match=said):
            book.accounts()
        assert book.show("Isla Farrow").kind == "person"


def test_a_later_versions_file_is_refused(path):
    """Rather than read wrongly."""
    with closing(sqlite3.connect(beside(path))) as later:
        later.execute("PRAGMA user_version = 99")
    with Book.open(path) as book, pytest.raises(NewerBook):
        book.accounts()


def test_where_nothing_can_be_written_no_account_is_made(tmp_path, bound):
    """Refused in words, and nothing is noted in the journal."""
    with Book.create(tmp_path / "q.pourbook", house="Quillmere"):
        pass
    (tmp_path / "q.pourbook").chmod(0o444)
    tmp_path.chmod(0o555)
    try:
        words = ("person", "Isla", "--role", "manager", "--pin-stdin")
        ran = apart(*words, book=tmp_path / "q.pourbook", typed=f"{PIN}\n", **bound)
        asked = apart("people", book=tmp_path / "q.pourbook", **bound)
        assert (ran.status, ran.out) == (1, "")
        assert re.match("refused: .* cannot be written", ran.err), ran.err
        assert asked.done().out == "nobody has an account\n"
    finally:
        tmp_path.chmod(0o755)


def test_accounts_in_a_folder_that_cannot_be_written_are_read(path, bound):
    """As an auditor reads a copy that somebody else keeps; nothing is written."""
    for file in (path, beside(path)):
        file.chmod(0o444)
    path.parent.chmod(0o555)
    try:
        assert [one["role"] for one in apart("people", "--json", book=path, **bound).done().json["people"]] == [
            "manager"
        ]
        assert apart("person", "Isla Farrow", "--end-account", book=path, **bound).status == 1
    finally:
        path.parent.chmod(0o755)


def test_a_file_that_cannot_be_made_undoes_the_note(tmp_path, monkeypatch):
    """The account and its note stand together, or neither."""
    with Book.create(tmp_path / "q.pourbook", house="Quillmere") as book:
        beside(tmp_path / "q.pourbook").mkdir()
        with pytest.raises(StoreError):
            book.make_account(HOW, "Isla Farrow", "manager", PIN)
        assert book.head_number() == 1


def test_a_book_in_memory_has_its_accounts_there():
    """And no file."""
    with House() as house:
        house.book.make_account(HOW, "Isla Farrow", "manager", PIN)
        assert house.book.files == ()
        assert sign_in(house.book, "Isla Farrow", PIN).name == "Isla Farrow"


def test_work_in_hand_outlives_the_process(path):
    """By person and task; whatever JSON can hold."""
    value = {"parts": [["V000001R", 12_500]], "said": "Ærø"}
    with Book.open(path, clock=Clock("2026-01-01")) as book:
        book.beside.keep_in_hand("P000002G", "pour T000001J", {"parts": []})
        book.clock.us += 1
        book.beside.keep_in_hand("P000002G", "draw", [])
        book.clock.us += 1
        book.beside.keep_in_hand("P000002G", "pour T000001J", value)
    with Book.open(path) as book:
        assert book.beside.in_hand("P000002G", "pour T000001J") == value
        assert book.beside.in_hand("P000003E", "pour T000001J") is None
        assert [task for task, _ in book.beside.tasks_in_hand("P000002G")] == ["pour T000001J", "draw"]
        book.beside.drop_in_hand("P000002G", "pour T000001J")
        assert [task for task, _ in book.beside.tasks_in_hand("P000002G")] == ["draw"]


def test_an_invitation_holds_until_it_is_ended(path):
    """For one code of one session; the token is kept nowhere."""
    with Book.open(path) as book:
        first, second, other = (book.beside.invite(*of) for of in (("May", "318"), ("May", "542"), ("June", "318")))
        assert book.beside.invited(first) == ("May", "318")
        assert book.beside.invited("x") is None
        book.beside.end_invitations("May", "542")
        assert [book.beside.invited(one) for one in (first, second)] == [("May", "318"), None]
        book.beside.end_invitations("May")
        assert [book.beside.invited(one) for one in (first, other)] == [None, ("June", "318")]
    kept = beside(path).read_bytes()
    assert not [token for token in (first, second, other) if token.encode() in kept]


def test_all_processes_have_one_secret(path, tmp_path):
    """32 bytes; the same after a restart, another for another book."""
    with Book.open(path) as one, Book.open(path) as other:
        secret = one.beside.secret
        assert len(secret) == 32
        assert other.beside.secret == secret
    with Book.open(path) as again, Book.create(tmp_path / "other.pourbook", house="Other") as another:
        assert again.beside.secret == secret
        assert another.beside.secret != secret


_AT_ONCE = """
import sys
from pourbook import Book
with Book.open(sys.argv[1]) as book:
    for turn in range(20):
        book.beside.keep_in_hand(sys.argv[2], f"task {turn}", [turn])
        book.beside.keep_failure("name", "isla")
    print(book.beside.secret.hex())
"""


def test_several_processes_make_it_and_write_it_at_once(tmp_path):
    """None is refused, and nothing is lost."""
    with Book.create(tmp_path / "q.pourbook", house="Quillmere"):
        pass
    begun = [
        subprocess.Popen(
            [sys.executable, "-c", _AT_ONCE, tmp_path / "q.pourbook", f"P{one}"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=os.environ,
        )
        for one in range(4)
    ]  # fmt: skip
    said = [process.communicate() for process in begun]
    assert [err for _, err in said if err] == []
    assert len({out for out, _ in said}) == 1
    with Book.open(tmp_path / "q.pourbook") as book:
        assert [len(book.beside.tasks_in_hand(f"P{one}")) for one in range(4)] == [20] * 4
        assert len(book.beside.failures("name", "isla")) == 80


def test_many_threads_at_once_get_no_more_attempts(path):
    """Eight at once after four that failed: an attempt counts before it is looked at."""
    with Book.open(path) as book:
        for _ in range(4):
            with pytest.raises(Refused, match="do not belong"):
                sign_in(book, "Isla Farrow", "000001")
    said, ready = [], threading.Barrier(8)

    def attempt():
        with Book.open(path) as book:
            ready.wait()
            try:
                sign_in(book, "Isla Farrow", "000001")
            except Refused as refusal:
                said.append("do not belong" in str(refusal))

    threads = [threading.Thread(target=attempt) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(said) == [False] * 7 + [True]
