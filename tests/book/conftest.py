"""Fixtures of the book: damage done behind its back, and a book with something in every table."""

import pytest
from eventful import eventful_book

from pourbook.book.addresses import is_address


@pytest.fixture
def damage(book):
    """Runs SQL against the back of the fixture `book`; undone after the test."""
    if is_address(book.store.path):
        pytest.skip("in a file: through SQLite's connection; on a server: test_care_on_a_server.py")
    connection = book.store.connection
    connection.execute("SAVEPOINT intact")
    yield connection.execute
    connection.execute("ROLLBACK TO intact")
    connection.execute("RELEASE intact")


@pytest.fixture
def kept(tmp_path):
    """The path of a book in which every table has rows, and what its items are called."""
    path = tmp_path / "from.pourbook"
    with eventful_book(path) as house:
        return path, house.ids
