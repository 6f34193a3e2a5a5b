"""Books of every format that left the house open for ever, with the head and the contents they were written with."""

import json

import pytest
from golden_books import FORMAT, files, formats, found_in, unpacked
from house import Clock

from pourbook.book.kinds import KIND_OF_NAME
from pourbook.whole_book import Book


def test_todays_format_has_its_golden_book():
    """Written by `tests/golden_books.py` on the day the format is made, and never again."""
    assert FORMAT in formats()
    assert formats()[0] == 2


@pytest.mark.parametrize("number", formats())
def test_a_golden_book_opens_as_it_was_written(tmp_path, number):
    """Head, contents, facts, settings, rows: whatever version opens it."""
    with Book.open(unpacked(number, tmp_path), clock=Clock("2030-01-01")) as book:
        then, found = json.loads(files(number)[1].read_text(encoding="utf-8")), found_in(book)
        found["rows"] = {table: rows for table, rows in found["rows"].items() if table in then["rows"]}
        assert json.loads(json.dumps(found)) == then
        assert book.verify().faults == ()


def test_the_golden_book_of_today_has_every_kind_of_entry():
    """So that none can change unseen."""
    assert set(json.loads(files(FORMAT)[1].read_text(encoding="utf-8"))["kinds"]) == set(KIND_OF_NAME)
