"""The file and the disk: what can go wrong with them is one clear sentence, and nothing is changed."""

import shutil
import sqlite3
import subprocess
import sys
import textwrap
import threading
from pathlib import Path
from unittest import mock

import pytest
from house import House, in_folder, new_make

from pourbook import Book, Note
from pourbook.book.backup import backup
from pourbook.book.moving import restore
from pourbook.errors import Damaged, NewerBook, NotThere, PourbookError, StoreError


@pytest.fixture
def kept(tmp_path):
    """A book in a file, closed: C1 with 1000 mg."""
    with in_folder(tmp_path) as house:
        house.cask("C1", liquid=new_make(1000), at="2020-01-01")
    return tmp_path / "quillmere.pourbook", house.ids


def one_sentence(refusal):
    """A message a person can read: what, and what to do; no words of the engine's."""
    error = refusal.value
    assert error.message
    assert error.remedy
    assert "\n" not in error.message
    assert "sqlite" not in error.message.lower()
    assert "report this" not in error.remedy
    return True


# -- opening -----------------------------------------------------------------------------------


def test_a_book_opens_as_it_was_closed(kept):
    """Holdings, head, settings."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        assert house.held("C1") == new_make(1000)
        assert house.book.settings["house"] == "Quillmere"
        assert house.book.verify().faults == ()


def test_a_book_that_is_not_there(tmp_path):
    """Nor a folder."""
    for path in (tmp_path / "none.pourbook", tmp_path):
        with pytest.raises(StoreError, match="no book found") as refusal:
            Book.open(path)
        assert one_sentence(refusal)


@pytest.mark.parametrize("content", [b"", b"item,amount\nC1,200\n" * 100, b"PK\x03\x04" + bytes(5000), bytes(4096)])
def test_a_file_that_is_no_book(tmp_path, content):
    """Empty, a CSV file, a spreadsheet, noughts: refused and left as it is."""
    path = tmp_path / "not.pourbook"
    path.write_bytes(content)
    with pytest.raises(Damaged, match="not a pourbook") as refusal:
        Book.open(path)
    assert one_sentence(refusal)
    assert path.read_bytes() == content


def test_another_programs_database_is_no_book(tmp_path):
    """A SQLite file, but not one of ours: left as it is."""
    path = tmp_path / "other.db"
    with sqlite3.connect(path) as other:
        other.execute("CREATE TABLE x (y)")
    other.close()
    before = path.read_bytes()
    with pytest.raises(Damaged, match="is not a pourbook"):
        Book.open(path)
    assert path.read_bytes() == before


def test_a_book_of_a_later_version(kept):
    """Refused before anything in it is touched."""
    path, _ = kept
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 9900")
    connection.close()
    with pytest.raises(NewerBook, match=r"later version .*format 99") as refusal:
        Book.open(path)
    assert one_sentence(refusal)


@pytest.mark.in_a_file("the path is said")
def test_a_back_up_of_a_later_version_is_told_by_its_own_path(kept, tmp_path):
    """A back-up is read from a copy: nobody finds the copy's path again."""
    path, _ = kept
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 9900")
    connection.close()
    with pytest.raises(NewerBook) as refusal:
        restore(str(path), str(tmp_path / "restored.pourbook"))
    assert f"'{path}'" in refusal.value.message
    assert not (tmp_path / "restored.pourbook").exists()


def test_a_book_that_is_upgraded_while_an_older_program_has_it_open(kept):
    """That program writes nothing more into it, not even shares it keeps, and goes on reading."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        before = house.dump_tables()
        with sqlite3.connect(path) as later:
            later.execute("PRAGMA user_version = 400")
        later.close()
        for write in (lambda: house.note("C1", "x"), lambda: house.record(Note(ids["C1"], "x"), dry_run=True)):
            with pytest.raises(NewerBook, match=r"later version .*format 4") as refusal:
                write()
            assert one_sentence(refusal)
        house.book.store.note("INSERT INTO setting VALUES ('zone', ?)", [("Mars",)])
        house.book.store.note("UPDATE setting SET value = ?", [("Mars",)])
        assert house.dump_tables() == before
        assert house.held("C1") == new_make(1000)


def test_a_book_of_the_first_format_is_refused_with_what_to_do(kept):
    """It is not brought up to date and not touched."""
    path, _ = kept
    with sqlite3.connect(path) as connection:
        connection.execute("PRAGMA user_version = 3")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(StoreError, match="book of format 1") as refusal:
        Book.open(path)
    assert "export its history" in refusal.value.remedy
    assert path.read_bytes() == before


def with_older_tables(path):
    """The tables as the revision before made them."""
    with sqlite3.connect(path) as earlier:
        earlier.execute("DROP INDEX fact_lookup")
        earlier.execute("ALTER TABLE fact DROP COLUMN lookup")
        earlier.execute("CREATE INDEX fact_ref ON fact (value) WHERE name = 'ref'")
        earlier.execute("PRAGMA user_version = 200")
    earlier.close()


def test_tables_of_an_earlier_revision_are_made_anew_when_the_book_is_opened(kept):
    """The journal stays as it is; everything is found and verified as before."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        before, head = house.dump_tables(), house.book.head()
    with_older_tables(path)
    with House.reopened(path, ids) as house:
        assert house.book.head() == head
        assert house.dump_tables() == before
        assert house.book.verify().faults == ()
        house.note("C1", "x")


def test_older_tables_of_a_damaged_journal_stay_as_they_are(kept):
    """What cannot be rebuilt is not touched; the refusal says where the journal ends to agree."""
    path, _ = kept
    with_older_tables(path)
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE entry SET bytes = replace(bytes, 'Quillmere', 'Quellmire') WHERE number = 1")
    connection.close()
    with pytest.raises(Damaged, match="entry 1") as refusal:
        Book.open(path)
    assert one_sentence(refusal)
    with sqlite3.connect(path) as connection:
        assert connection.execute("PRAGMA user_version").fetchone() == (200,)
    connection.close()


@pytest.mark.in_a_file("bytes of the file are damaged")
def test_a_damaged_name_that_is_no_text_is_told_as_damage(kept):
    """The engine's own message has the name in it, and cannot be read either."""
    path, _ = kept
    content = path.read_bytes()
    name = b"CREATE INDEX entry_gone"
    assert content.count(name) == 1
    path.write_bytes(content.replace(name, b"CREATE INDEX\xc5entry_gone"))
    with pytest.raises(Damaged) as refusal, Book.open(path) as book:
        book.verify()
    assert one_sentence(refusal)


def test_a_book_is_not_made_where_something_is(kept):
    """Whatever it is."""
    path, _ = kept
    before = path.read_bytes()
    with pytest.raises(StoreError, match="already exists"):
        Book.create(path, house="Quillmere")
    assert path.read_bytes() == before


def test_a_book_that_is_refused_leaves_nothing_behind(tmp_path):
    """No name, no person, no such zone: the folder is as empty as before."""
    for wrong in ({"house": " "}, {"house": "Quillmere", "who": " "}, {"house": "Quillmere", "zone": "Q/M"}):
        with pytest.raises(PourbookError):
            Book.create(tmp_path / "new.pourbook", **wrong)
        assert list(tmp_path.iterdir()) == []


def test_a_book_needs_a_folder(tmp_path):
    """It makes none of its own."""
    with pytest.raises(StoreError, match="does not exist"):
        Book.create(tmp_path / "a" / "b.pourbook", house="Quillmere")


def is_found_out(path, ids, intact):
    """Whether opening, reading or verifying says in a sentence what is wrong; or nothing was lost."""
    try:
        with House.reopened(path, ids) as house:
            faults = house.book.verify().faults
            assert faults or house.dump_tables() == intact
            return bool(faults)
    except StoreError as error:
        return bool(error.message and error.remedy)


@pytest.mark.in_a_file("the file is cut off")
def test_a_truncated_file_is_found_out(kept, tmp_path):
    """Cut after so many per cent; where but the empty end of the last page is missing, nothing is lost."""
    path, ids = kept
    whole = path.read_bytes()
    with House.reopened(path, ids) as house:
        intact = house.dump_tables()
    broken = tmp_path / "broken.pourbook"
    found = []
    for part in (1, 10, 30, 60, 80, 90, 99):
        broken.write_bytes(whole[: len(whole) * part // 100])
        found.append(is_found_out(broken, ids, intact))
    assert all(found[:5])


@pytest.mark.in_a_file("pages of the file are damaged")
def test_a_page_of_noise_is_found_out(kept, tmp_path):
    """Any page of the file overwritten, the first and the free ones included."""
    path, ids = kept
    whole = path.read_bytes()
    with House.reopened(path, ids) as house:
        intact = house.dump_tables()
    for page in range(len(whole) // 4096):
        broken = tmp_path / f"broken{page}.pourbook"
        broken.write_bytes(whole[: page * 4096] + b"\xa5" * 4096 + whole[(page + 1) * 4096 :])
        assert is_found_out(broken, ids, intact), page


# -- writing -------------------------------------------------------------------------------------


@pytest.mark.in_a_file("a PRAGMA forbids writing")
def test_a_book_that_cannot_be_written(kept):
    """Read-only, whatever the reason: nothing recorded, reading goes on."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        house.book.store.execute("PRAGMA query_only = 1")
        before = house.dump_tables()
        with pytest.raises(StoreError, match="cannot be written") as refusal:
            house.note("C1", "x")
        assert one_sentence(refusal)
        assert house.dump_tables() == before
        assert house.held("C1") == new_make(1000)


@pytest.mark.in_a_file("a PRAGMA limits its pages; on a server: campaigns/test_server_failures.py")
def test_a_full_disk(kept):
    """In the middle of a large recording: all of it is undone, and smaller ones go on later."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        (pages,) = house.book.store.query("PRAGMA page_count")[0]
        house.book.store.query(f"PRAGMA max_page_count = {pages + 3}")
        before = house.dump_tables()
        notes = [Note(ids["C1"], "x" * 500) for _ in range(2000)]
        with pytest.raises(StoreError, match="is full: nothing was recorded") as refusal:
            house.record(*notes)
        assert one_sentence(refusal)
        assert house.dump_tables() == before
        house.book.store.query("PRAGMA max_page_count = 1000000")
        house.record(*notes)
        assert house.book.verify().faults == ()


@pytest.mark.in_a_file("words of SQLite for a full disk")
@pytest.mark.parametrize("error", ["database or disk is full", "disk I/O error"])
def test_what_a_disk_refuses_is_said_to_be_lost_only_where_something_was_recorded(kept, error):
    """A full or failing disk while reading: nothing was being recorded, so nothing of it is said."""
    path, _ = kept
    with House.reopened(*kept) as house, mock.patch.object(house.book.store, "connection", mock.Mock()) as connection:
        connection.execute.side_effect = sqlite3.OperationalError(error)
        with pytest.raises(StoreError) as read:
            house.book.store.query("SELECT 1")
        with pytest.raises(StoreError) as recorded:
            house.book.store.execute("DELETE FROM item")
    assert "nothing was recorded" not in read.value.message
    assert "nothing was recorded" in recorded.value.message
    assert str(path) in read.value.message


@pytest.mark.in_a_file("SQLite waits for a lock of the file")
def test_a_writer_who_does_not_finish(kept):
    """After waiting in vain: one sentence, nothing recorded; reading is never kept waiting."""
    path, ids = kept
    with House.reopened(path, ids) as one, House.reopened(path, ids) as other:
        other.book.store.execute("PRAGMA busy_timeout = 50")
        with one.book.writing():
            one.note("C1", "first")
            with pytest.raises(StoreError, match="another program is writing") as refusal:
                other.note("C1", "second")
            assert one_sentence(refusal)
            assert other.held("C1") == new_make(1000)
        other.note("C1", "second")
        assert other.book.head()[0] == one.book.head()[0]


def _draw_and_fail(house):
    house.draw("C1", "V1", 100)
    raise ZeroDivisionError


def test_an_error_in_the_middle_undoes_everything(kept):
    """Whatever it is: also one that is not ours."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        before = house.dump_tables()
        with pytest.raises(ZeroDivisionError), house.book.writing():
            _draw_and_fail(house)
        assert house.dump_tables() == before


def test_two_stations_write_at_once(kept):
    """Threads with a connection each, 20 draws each: 40 draws, every number once, one chain."""
    path, ids = kept
    problems = []

    def station(vial):
        try:
            with House.reopened(path, ids) as house:
                for _ in range(20):
                    house.draw("C1", vial, 10, at="2021-01-01")
        except BaseException as error:  # noqa: BLE001 (told below)
            problems.append(error)

    with House.reopened(path, ids) as house:
        house.open("V1", "V2", at="2020-01-01")
        ids.update(house.ids)
    threads = [threading.Thread(target=station, args=(vial,)) for vial in ("V1", "V2")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert problems == []
    with House.reopened(path, ids) as house:
        assert house.held("C1").mass_mg == 1000 - 400
        assert house.held("V1").mass_mg == house.held("V2").mass_mg == 200
        assert house.book.verify().faults == ()


def test_two_stations_never_take_the_same_number(kept):
    """Processes, each opening 15 vials with numbers taken inside the transaction."""
    path, _ = kept
    code = textwrap.dedent("""
        import sys
        from pourbook import Book, Draft, Item
        with Book.open(sys.argv[1]) as book:
            for _ in range(15):
                with book.writing():
                    book.record(Draft(Item(book.next_id("vial"), {}), 0, "station"))
    """)
    stations = [subprocess.Popen([sys.executable, "-c", code, str(path)]) for _ in range(2)]
    assert [station.wait(60) for station in stations] == [0, 0]
    with Book.open(path) as book:
        assert book.store.query("SELECT count(*) FROM item WHERE kind = 'vial'") == [(30,)]
        assert book.verify().faults == ()


def test_two_stations_cannot_both_take_the_last(kept):
    """Each sees 1000 mg and pours all of it: one succeeds, the other is told."""
    path, ids = kept
    with House.reopened(path, ids) as one:
        one.open("B1", "B2", at="2020-01-01")
        with House.reopened(path, one.ids) as other:
            assert one.held("C1") == other.held("C1")
            one.dump("C1", "B1")
            with pytest.raises(NotThere, match="empty"):
                other.dump("C1", "B2")


# -- copies ---------------------------------------------------------------------------------------------


def test_a_backup_is_the_same_book(kept, tmp_path):
    """Same head, no faults; not over something else; none of a broken book."""
    path, ids = kept
    copy = tmp_path / "copy.pourbook"
    with House.reopened(path, ids) as house:
        assert backup(house.book.store, str(copy)) == house.book.head()[0]
        with House.reopened(copy, ids) as other:
            assert other.book.head() == house.book.head()
            assert other.book.verify().faults == ()
        with pytest.raises(StoreError, match="already exists"):
            backup(house.book.store, str(copy))
        house.book.store.execute("UPDATE entry SET bytes = '{}' WHERE number = 2")
        with pytest.raises(Damaged, match="does not pass"):
            backup(house.book.store, str(tmp_path / "third.pourbook"))
    assert sorted(entry.name for entry in tmp_path.iterdir() if "third" in entry.name) == []


def test_a_copy_of_the_closed_file_is_a_book(kept, tmp_path):
    """Nothing of it lies elsewhere once it is closed."""
    path, ids = kept
    assert [entry.name for entry in Path(path).parent.iterdir()] == ["quillmere.pourbook"]
    shutil.copy(path, tmp_path / "moved.pourbook")
    with House.reopened(tmp_path / "moved.pourbook", ids) as house:
        assert house.book.verify().faults == ()


def test_every_store_error_is_a_pourbook_error():
    """So that a door shows it like any other refusal."""
    assert issubclass(StoreError, PourbookError)
    assert issubclass(Damaged, StoreError)
    assert issubclass(NewerBook, StoreError)
