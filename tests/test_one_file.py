"""Files that leave the house: whole or not at all, and never over what must stay."""

import pytest

from pourbook import Book
from pourbook.errors import StoreError
from pourbook.one_file import check_target, placing, write_file, write_files


def test_a_file_that_is_there_stays_unless_forced(tmp_path):
    """What was there is there still; with force it is replaced."""
    path = tmp_path / "account.pdf"
    write_file(path, b"first")
    with pytest.raises(StoreError, match="already exists"):
        write_file(path, b"second")
    assert path.read_bytes() == b"first"
    write_file(path, b"second", force=True)
    assert path.read_bytes() == b"second"


@pytest.mark.parametrize("ending", ["", "-wal", "-shm"])
def test_the_open_book_is_never_written_over(tmp_path, ending):
    """Nor what lies beside it, under any spelling of its path, forced or not."""
    with Book.create(tmp_path / "house.pourbook", house="Quillmere") as book:
        path = tmp_path / ".." / tmp_path.name / f"house.pourbook{ending}"
        with pytest.raises(StoreError, match="the book itself or an input"):
            write_file(path, b"%PDF", force=True, never=book.store.files)
        assert book.verify().faults == ()


def test_a_book_in_memory_has_no_files():
    """Nothing to guard."""
    assert Book.create(":memory:", house="Quillmere").store.files == ()


def test_a_folder_is_asked_for_first(tmp_path):
    """Both are refused before any work is done."""
    with pytest.raises(StoreError, match="its folder does not exist"):
        check_target(tmp_path / "no such" / "account.pdf")
    with pytest.raises(StoreError, match="it is a folder"):
        check_target(tmp_path, force=True)


def test_nothing_is_left_when_writing_fails(tmp_path):
    """Neither file nor what was begun of it."""

    def fails():
        with placing(tmp_path / "stock.csv") as beside:
            beside.write_text("begun")
            raise ValueError("half-way")

    with pytest.raises(ValueError, match="half-way"):
        fails()
    assert list(tmp_path.iterdir()) == []


def test_a_file_written_meanwhile_stays(tmp_path):
    """By another program, after the first look."""
    path = tmp_path / "stock.csv"

    def overtaken():
        with placing(path) as beside:
            beside.write_text("ours")
            path.write_text("theirs")

    with pytest.raises(StoreError, match="already exists"):
        overtaken()
    assert [(one.name, one.read_text()) for one in tmp_path.iterdir()] == [("stock.csv", "theirs")]


def test_several_files_are_there_together(tmp_path):
    """Where one cannot be written, none is."""
    files = {tmp_path / "a.pdf": b"a", tmp_path / "b.pdf": b"b"}
    (tmp_path / "b.pdf").write_bytes(b"old")
    with pytest.raises(StoreError):
        write_files(files)
    assert [one.name for one in tmp_path.iterdir()] == ["b.pdf"]
    write_files(files, force=True)
    assert sorted(one.read_bytes() for one in tmp_path.iterdir()) == [b"a", b"b"]


def test_a_disk_that_refuses_is_told_in_one_sentence(tmp_path):
    """A name too long for the disk."""
    with pytest.raises(StoreError, match="cannot be written"):
        write_file(tmp_path / f"{'x' * 250}.pdf", b"%PDF")
