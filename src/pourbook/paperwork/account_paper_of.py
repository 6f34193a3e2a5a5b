"""The printed account of a period, made from the account and its book.

>>> from pourbook import Book
>>> from pourbook.queries.accounts.account import account_of
>>> from pourbook.times import read_time
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> day, next_day = (read_time(text, book.zone) for text in ("2025-01-01", "2026-01-01"))
>>> account_values(book, account_of(book, day, next_day), None, "M. Aldane").period
'2025-01-01/2025-12-31'
"""

from typing import TYPE_CHECKING

from pourbook.book.items import views
from pourbook.codes.identifiers import key_of
from pourbook.papers.account_paper import AccountPaper
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import person
from pourbook.queries.accounts.account import Account
from pourbook.queries.accounts.declared import Declaration

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["account_values"]


def account_values(
    book: "BookCore", account: Account, declaration: Declaration | None, who: str
) -> AccountPaper:  # fmt: skip
    """What the paper of an account says, with what was declared of it, if anything; `who` prepared it."""
    ends = {end for one in account.samples for end in (one.source, one.target) if end[:1].isupper()}
    known = {view.id: view.facts for view in views(book.store, sorted(map(key_of, ends))).values()}
    preparer = person(book.store, who)
    return AccountPaper(
        imprint_of(book), account, declaration, book.zone, known, f"{preparer.id} {preparer.name}".strip()
    )
