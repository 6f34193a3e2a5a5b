"""The printed account of a period, made out from the account and the book it comes from.

>>> from pourbook import Book
>>> from pourbook.queries.accounts.account import account_of
>>> from pourbook.times import read_time
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> day, next_day = (read_time(text, book.zone) for text in ("2025-01-01", "2026-01-01"))
>>> values = account_values(book, account_of(book, day, next_day), None)
>>> values.period, values.code, values.status
('2025-01-01/2025-12-31', '20250101/20251231', 'open: its figures may still change')
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourbook.book.items import views
from pourbook.codes.identifiers import key_of
from pourbook.papers import account_values as paper
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import named_endpoint
from pourbook.queries.accounts.account import Account, GroupAccount
from pourbook.queries.accounts.as_known_then import Corrected
from pourbook.queries.accounts.declared import Declaration, Figure, figures
from pourbook.queries.accounts.sample_movements import Sampled
from pourbook.times import minute
from pourbook.words.account_words import NOT_THE_RETURN, declared_text, period_text, status_of

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from pourbook.book.core import BookCore

__all__ = ["account_values"]

_BY = {"duty": "duty status"}


def account_values(book: "BookCore", account: Account, declaration: Declaration | None) -> paper.Account:
    """What the paper of an account says.

    Args:
        book: whose account it is.
        account: of the period.
        declaration: what was declared of it; None for nothing.
    """
    zone = book.zone
    period = period_text(account.start_us, account.end_us, zone)
    known = _facts(book, account)
    return paper.Account(
        imprint_of(book),
        period,
        period.replace("-", ""),
        minute(account.start_us, zone),
        minute(account.end_us, zone),
        ", ".join(_BY.get(name, name) for name in account.by),
        status_of(account),
        "" if declaration is None else declared_text(declaration, zone),
        NOT_THE_RETURN,
        _warnings(account),
        tuple(_group(one, declaration) for one in account.groups),
        _group(account.total, declaration),
        tuple(_correction(one, zone) for one in account.adjusting),
        tuple(_correction(one, zone) for one in account.corrected_since),
        tuple(_sample(one, known, zone) for one in account.samples),
    )


def _warnings(account: Account) -> tuple[str, ...]:
    if not account.pending:
        return ()
    return (f"the laboratory has still to read the strengths of entries {', '.join(map(str, account.pending))}.",)


def _group(account: GroupAccount, declaration: Declaration | None) -> paper.AccountGroup:
    lines = tuple(_line(figure) for figure in figures(account, declaration) if figure.is_seen)
    return paper.AccountGroup(" · ".join(account.group), lines)


def _line(figure: Figure) -> paper.AccountLine:
    side, heading, moved, postings = figure.line
    declared = figure.declared_lpa_l, figure.declared_bulk_l
    return paper.AccountLine(side, heading, postings, moved.lpa_l, moved.bulk_l, *declared)


def _correction(one: Corrected, zone: "ZoneInfo") -> paper.AccountCorrection:
    return paper.AccountCorrection(
        one.entry, minute(one.happened_us, zone), f"{one.kind}, {one.how}", one.by, one.reason, one.who
    )


def _facts(book: "BookCore", account: Account) -> dict[str, Mapping[str, str]]:
    """What is true of the items of the samples."""
    ends = {end for one in account.samples for end in (one.source, one.target) if end[:1].isupper()}
    return {view.id: view.facts for view in views(book.store, sorted(map(key_of, ends))).values()}


def _sample(one: Sampled, known: Mapping[str, Mapping[str, str]], zone: "ZoneInfo") -> paper.AccountSample:
    return paper.AccountSample(
        minute(one.happened_us, zone),
        one.entry,
        one.what,
        named_endpoint(one.source, known),
        named_endpoint(one.target, known),
        one.moved.lpa_l,
        one.moved.bulk_l,
        one.recipient,
        one.purpose,
        one.document,
        one.witness,
        one.who,
    )
