"""Tables brought from one book to another as they are, each in one go: from a server into a file, or back."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import closing

from pourbook.book.store import Row, Store

__all__ = ["bring", "copied_into"]

_EVERY = 10_000


def bring(source: Store, target: Store, tables: Iterable[str], told: Callable[[int], None] = lambda _: None) -> None:
    """Put the rows of these tables in the place of those there, in a transaction; `told` hears of so many more."""
    for table in tables:
        columns = target.columns(table)
        rows = source.stream(f"SELECT {', '.join(columns)} FROM {table}")
        target.execute(f"DELETE FROM {table}")
        target.insert_many(table, columns, _counted(rows, told))


def copied_into(store: Store, path: str, told: Callable[[int, int], None]) -> None:
    """Copy one state of the book into a new file; `told` is told how many rows are left, and of how many."""
    with closing(Store.create(path)) as copy, store.snapshot(), copy.transaction():
        tables = [name for kind, name in copy.to_define() if kind == "table"]
        whole = left = sum(store.query(f"SELECT count(*) FROM {table}")[0][0] for table in tables)

        def less(rows: int) -> None:
            nonlocal left
            left -= rows
            told(left, whole)

        bring(store, copy, tables, less)


def _counted(rows: Iterable[Row], told: Callable[[int], None]) -> Iterator[Row]:
    done = 0
    for done, row in enumerate(rows, 1):
        yield row
        if done % _EVERY == 0:
            told(_EVERY)
    told(done % _EVERY)
