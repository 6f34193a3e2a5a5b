"""Figures of a closed period declared to an authority: rounded, frozen, and printed if asked for.

>>> from pourbook import Book, Close, Draft
>>> from pourbook.actions.happening import Happening
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 100)
>>> how = Happening("M. Aldane")
>>> _ = how.record(book, Close())
>>> declare(book, how, Period(0, 90), read_rule("half-up 0.1")).answer.declaration.rule
'half-up 0.1'
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.print_paper import Output, Printed, print_account
from pourbook.queries.accounts.account import Period, account_of
from pourbook.queries.accounts.declared import PeriodAccount, Rounding, account_of_period, declared, read_rule

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["DeclaredAccount", "Period", "declare", "print_period", "read_rule"]


class DeclaredAccount(NamedTuple):
    """The answer (an account, and what stands declared of it), the entries recorded, and the paper printed, if any."""

    answer: PeriodAccount
    recorded: "tuple[Recorded, ...]" = ()
    printed: Printed | None = None


def declare(book: "BookCore", how: "Happening", period: Period, rule: Rounding) -> DeclaredAccount:
    """Freeze the figures of the account of a closed period; `how.confirm` records an amended declaration.

    Raises:
        PourbookError: the period is not closed, a strength is pending, or it was declared before.
    """
    with how.transaction(book):
        account = account_of(book, *period)
        recorded = how.record(book, declared(book.store, account, rule, amended=how.confirm))
        return DeclaredAccount(account_of_period(book, period), (recorded,))


def print_period(
    book: "BookCore", how: "Happening", period: Period, output: Output, rule: Rounding | None = None
) -> DeclaredAccount:
    """Print the account of a period, and declare it first where a rounding rule is given: both, or nothing.

    Raises:
        PourbookError: as `declare`; or the file cannot be written.
    """
    with how.transaction(book):
        recorded: tuple[Recorded, ...] = () if rule is None else declare(book, how, period, rule).recorded
        answer = account_of_period(book, period)
        printed = print_account(book, how, answer, output)
    return DeclaredAccount(answer, (*recorded, printed.recorded), printed)
