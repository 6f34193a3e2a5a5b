"""Fixtures of the book: damage done behind its back."""

import pytest


@pytest.fixture
def damage(book):
    """Runs SQL against the back of the fixture `book`; undone after the test."""
    connection = book.store.connection
    connection.execute("SAVEPOINT intact")
    yield connection.execute
    connection.execute("ROLLBACK TO intact")
    connection.execute("RELEASE intact")
