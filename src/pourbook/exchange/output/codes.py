"""Tables that leave the house with people by codes: the references that stand for their names in the chain."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from pourbook.book.coded_names import Names
from pourbook.exchange.output.writing import Row, Table

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["by_codes", "code_of", "named"]

_PEOPLE = ("assessor", "by", "contact", "guest", "login", "who", "witness")
"""Columns, and facts in a column, that name people."""


def code_of(book: "BookCore", *, names: bool = False) -> Callable[[str], str]:
    """Gives what is written for a person's name: its code, or with `names` the name itself."""
    return named if names else Names(book.store).reference


def named(name: str) -> str:
    """The name itself."""
    return name


def by_codes(book: "BookCore", table: Table) -> Table:
    """The same table with codes in the columns that name people."""
    return table._replace(rows=_coded(table, code_of(book)))


def _coded(table: Table, code: Callable[[str], str]) -> Iterator[Row]:
    columns = [column for column in _PEOPLE if column in table.columns]
    for row in table.rows:
        told = row | {column: code(row[column]) for column in columns if row.get(column)}
        if isinstance(facts := row.get("facts"), dict):
            told["facts"] = facts | {name: code(facts[name]) for name in _PEOPLE if facts.get(name)}
        yield told
