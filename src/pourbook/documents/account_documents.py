"""An account for programs: one document, and one table; the same figures in both.

Litres are as exact as a floating-point number is; masses are whole milligrams, volumes whole
microlitres, and add up to the last digit. Quantities stand above zero on every side but adjustment
and contraction: opening + adjustment + in + gain = out + loss + contraction + closing.

>>> from pourbook import Book
>>> from pourbook.queries.accounts.account import account_of
>>> account = account_of(Book.create(":memory:", house="Quillmere"), 0, 9, ("owner",))
>>> document(account, None)["total"]["lines"][0]["side"], table(account, None)[0][:4]
('opening', ['owner', 'side', 'heading', 'lpa_l'])
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from pourbook.book.as_known_then import Corrected
from pourbook.queries.accounts.account import Account, GroupAccount
from pourbook.queries.accounts.declared import Declaration, Figure, figures
from pourbook.queries.accounts.sample_movements import Sampled
from pourbook.times import written
from pourbook.words.account_words import NOT_THE_RETURN

__all__ = ["document", "sample_table", "table"]


_Table = tuple[list[str], list[list[Any]]]


def document(account: Account, declaration: Declaration | None) -> dict[str, Any]:
    """The account as JSON has it."""
    return {
        "from": written(account.start_us),
        "to": written(account.end_us),
        "by": list(account.by),
        "closed_by": account.closed_by,
        "declared": None if declaration is None else _declaration(declaration),
        "groups": [_group(account.by, one, declaration) for one in account.groups],
        "total": _group((), account.total, declaration),
        "adjusting": [_corrected(one) for one in account.adjusting],
        "corrected_since": [_corrected(one) for one in account.corrected_since],
        "pending": list(account.pending),
        "samples": [_sampled(one) for one in account.samples],
        "note": NOT_THE_RETURN,
    }


def _corrected(one: Corrected) -> dict[str, Any]:
    rest = {name: value for name, value in one._asdict().items() if name != "happened_us"}
    return {**rest, "happened": written(one.happened_us)}


def _declaration(declaration: Declaration) -> dict[str, Any]:
    return {
        "entry": declaration.entry,
        "happened": written(declaration.happened_us),
        "who": declaration.who,
        "rule": declaration.rule,
        "amends": declaration.amends or None,
    }


def _group(by: Sequence[str], account: GroupAccount, declaration: Declaration | None) -> dict[str, Any]:
    return {
        "group": dict(zip(by, account.group, strict=True)),
        "lines": [_figure(figure) for figure in figures(account, declaration)],
    }


def _figure(figure: Figure) -> dict[str, Any]:
    line = figure.line
    return {
        "side": line.side,
        "heading": line.heading,
        "lpa_l": float(line.quantity.lpa_l),
        "bulk_l": float(line.quantity.bulk_l),
        **line.quantity._asdict(),
        "postings": line.postings,
        "declared_lpa_l": figure.declared_lpa_l or None,
        "difference_lpa_l": _float(figure.difference_lpa_l),
        "declared_bulk_l": figure.declared_bulk_l or None,
        "difference_bulk_l": _float(figure.difference_bulk_l),
    }


def _float(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _sampled(one: Sampled) -> dict[str, Any]:
    amounts = {"lpa_l": float(one.moved.lpa_l), "bulk_l": float(one.moved.bulk_l), **one.moved._asdict()}
    rest = {name: value for name, value in one._asdict().items() if name not in ("happened_us", "moved")}
    return {"happened": written(one.happened_us), **rest, **amounts}


def table(account: Account, declaration: Declaration | None) -> _Table:
    """The account as a table: its heads, and a row for each line of each group."""
    rows = [[*one.group, *_figure(figure).values()] for one in account.groups for figure in figures(one, declaration)]
    heads = _figure(figures(account.total, None)[0])
    return [*account.by, *heads], rows


def sample_table(account: Account) -> _Table:
    """The movements of samples as a table: its heads and rows."""
    heads = ["happened", *(name for name in Sampled._fields if name not in ("happened_us", "moved")), "lpa_l", "bulk_l"]
    heads += ["mass_mg", "ethanol_mg", "extract_mg", "volume_ul"]
    return heads, [list(_sampled(one).values()) for one in account.samples]
