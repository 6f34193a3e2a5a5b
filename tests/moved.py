"""A book moved, and what is then compared."""

from house import House

from pourbook import Book, Draft, Note


def move(source, target, told=lambda *_: None):
    """Move a book from one path or address to another."""
    with Book.open(source) as book:
        return book.move_book(str(target), told)


def rows(path, ids):
    """Every row of a book that verifies; entries with bytes and hashes."""
    with House.reopened(path, ids) as house:
        assert house.book.verify().faults == ()
        return house.dump_tables(), house.book.store.query("SELECT * FROM entry ORDER BY number")


def noted(path, text):
    """Record a note in the book at that path."""
    with Book.open(path) as book:
        book.record(Draft(Note("C000001H", text), 1_700_000_000_000_000, "M. Aldane"))
