"""Declared figures: each rounded by a named rule, and frozen in the book.

A rule says which way and to what: `half-up 0.1`, `down 0.01`, `up 1`, `half-even 0.01`. Down is towards
nothing and up away from it, so that a figure below zero is treated as its opposite. Every figure is
rounded by itself, from its exact value; rounded figures need not add up, and the differences say by how
much. Each authority states which rule it wants.

>>> [read_rule(text).rounded(Fraction(-1245, 1000)) for text in ("down 0.01", "half-up 0.01", "half-even 0.1")]
['-1.24', '-1.25', '-1.2']
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Declared, DeclaredLine
from pourbook.book.journal import logged_of
from pourbook.book.search import in_force
from pourbook.errors import Malformed, Refused
from pourbook.numerals import EXACT, read_decimal
from pourbook.queries.accounts.account import Account, GroupAccount, Line, Period, account_of
from pourbook.queries.accounts.headings import Side, by_place
from pourbook.queries.accounts.quantity import NONE
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.site_differences import Difference
    from pourbook.book.store import Store

__all__ = [
    "WAYS", "Declaration", "Figure", "PeriodAccount", "Rounding", "account_of_period", "declaration_of", "declared",
    "figures", "read_rule",
]  # fmt: skip

_HALF = Fraction(1, 2)
_SEEN_L = Fraction(1, 2000)

WAYS: dict[str, Callable[[int, Fraction], bool]] = {
    "down": lambda _whole, _rest: False,
    "up": lambda _whole, rest: rest > 0,
    "half-up": lambda _whole, rest: rest >= _HALF,
    "half-even": lambda whole, rest: rest > _HALF or (rest == _HALF and whole % 2 == 1),
}
"""Whether a number of whole steps and the rest of one are rounded up by a step."""

_Key = tuple[tuple[str, ...], Side, str]


class Rounding(NamedTuple):
    """A rounding rule: a way of `WAYS`, and the step that a figure becomes a multiple of: 1, 0.1, 0.01."""

    way: str
    step: Decimal

    @property
    def text(self) -> str:
        """The rule as it is written."""
        return f"{self.way} {self.step:f}"

    def rounded(self, value: Fraction) -> str:
        """The value as it is declared, in digits."""
        steps = abs(value) / Fraction(self.step)
        whole = steps.numerator // steps.denominator
        whole += WAYS[self.way](whole, steps - whole)
        sign = "-" if value < 0 and whole else ""
        return f"{sign}{EXACT.multiply(Decimal(whole), self.step):f}"


def read_rule(text: str, decimal_mark: str = ".") -> Rounding:
    """The rounding rule that was written.

    Raises:
        Malformed: an unknown way, or the step is not above zero.
    """
    way, _, step = text.strip().lower().partition(" ")
    remedy = f"write a way ({', '.join(WAYS)}) and a step: 'half-up 0.1'"
    if way not in WAYS:
        raise Malformed(f"'{text}' is not a rounding rule", remedy)
    size = read_decimal(step, decimal_mark) if step.strip() else Decimal(0)
    if size <= 0:
        raise Malformed(f"'{text}' has no step to round to", remedy)
    return Rounding(way, size)


# -- declaring ---------------------------------------------------------------------------


class Declaration(NamedTuple):
    """What was declared of a period by a grouping: in which entry, when it happened, by whom, by which rounding rule.

    The lines are LPA and bulk litres as declared, by group, side and heading; it amends an earlier entry, or 0.
    """

    entry: int
    happened_us: int
    who: str
    rule: str
    lines: Mapping[_Key, tuple[str, str]]
    amends: int


def declared(store: "Store", account: Account, rule: Rounding, *, amended: bool = False) -> Declared:
    """The entry that freezes the figures of an account, its total included; the book checks the rest.

    `amended` says that the earlier declaration was amended, and this one counts from now on.

    Raises:
        Refused: the same period was declared by the same grouping before.
    """
    before = declaration_of(store, account)
    if before is not None and not amended:
        raise Refused(
            f"this period was declared in entry {before.entry} and stays so",
            "corrections show in the account of the open period; --confirm records an amended declaration",
        )
    every = account.groups if not account.by else (*account.groups, account.total)
    lines = tuple(
        DeclaredLine(
            one.group, line.side, line.heading, rule.rounded(line.quantity.lpa_l), rule.rounded(line.quantity.bulk_l)
        )
        for one in every
        for line in one.lines
    )
    return Declared(account.start_us, account.end_us, account.by, rule.text, lines)


def declaration_of(store: "Store", account: Account) -> Declaration | None:
    """The latest declaration of the same period by the same grouping."""
    wanted = written(account.start_us), written(account.end_us), list(account.by)
    found: Declaration | None = None
    for one in in_force(store, "declared"):
        body = one.entry["body"]
        if (body["start"], body["end"], body["by"]) == wanted:
            lines = {
                (tuple(line["group"]), line["side"], line["heading"]): (line["lpa_l"], line["bulk_l"])
                for line in body["lines"]
            }
            amends = found.entry if found else 0
            found = Declaration(one.number, one.happened_us, one.entry["who"], body["rule"], lines, amends)
    return found


class PeriodAccount(NamedTuple):
    """The account of a period, and what was declared of it (None for nothing)."""

    account: Account
    declaration: Declaration | None


def account_of_period(book: "BookCore", period: Period) -> PeriodAccount:
    """The account of a period beside what was declared of it; errors as `account_of`."""
    account = account_of(book, *period)
    if book.is_group:
        account = account._replace(differences=_open_by(book, account.end_us))
    return PeriodAccount(account, declaration_of(book.store, account))


def _open_by(book: "BookCore", end_us: int) -> "tuple[Difference, ...]":
    """What sites do not agree on of liquid, as far as all that it rests on happened by then."""
    from pourbook.queries.groups.differences import differences  # a house has none

    found = [one for one in differences(book) if one.entries and one.what != "shared"]
    numbers = {number for one in found for number in one.entries}
    happened = {logged.number: logged.happened_us for logged in logged_of(book.store, numbers)}
    return tuple(one for one in found if min(happened.get(number, 0) for number in one.entries) < end_us)


class Figure(NamedTuple):
    """A line of an account, and declared_lpa_l and declared_bulk_l as declared of it; empty where nothing was."""

    line: Line
    declared_lpa_l: str = ""
    declared_bulk_l: str = ""

    @property
    def is_seen(self) -> bool:
        """Whether a person would miss it: it opens or closes the account, or is half a millilitre or more."""
        figures = (self.line.quantity.lpa_l, self.line.quantity.bulk_l)
        declared = (Fraction(text or 0) for text in (self.declared_lpa_l, self.declared_bulk_l))
        return self.line.side in ("opening", "closing") or any(abs(one) >= _SEEN_L for one in (*figures, *declared))

    @property
    def difference_lpa_l(self) -> Fraction | None:
        """Declared less exact; None where nothing was declared."""
        return Fraction(self.declared_lpa_l) - self.line.quantity.lpa_l if self.declared_lpa_l else None

    @property
    def difference_bulk_l(self) -> Fraction | None:
        """Declared less exact; None where nothing was declared."""
        return Fraction(self.declared_bulk_l) - self.line.quantity.bulk_l if self.declared_bulk_l else None


def figures(account: GroupAccount, declaration: Declaration | None) -> list[Figure]:
    """The lines of a group in their order, each with what was declared of it."""
    if declaration is None:
        return [Figure(line) for line in account.lines]
    lines = {(line.side, line.heading): line for line in account.lines}
    for group, side, heading in declaration.lines:
        if group == account.group:
            lines.setdefault((side, heading), Line(side, heading, NONE, 0))
    return [
        Figure(lines[key], *declaration.lines.get((account.group, *key), ("0", "0")))
        for key in sorted(lines, key=by_place)
    ]
