"""Figures as they are declared: each rounded by a named rule, and frozen in the book.

A rule says which way and to what: `half-up 0.1`, `down 0.01`, `up 1`, `half-even 0.01`. Down is towards
nothing and up is away from it, so that a figure below zero is treated as its opposite. Every figure is
rounded by itself, from its exact value; rounded figures need not add up, and the differences say by how
much. Which rule an authority wants, it says itself.

>>> from fractions import Fraction
>>> [read_rule(text).rounded(Fraction(-1245, 1000)) for text in ("down 0.01", "half-up 0.01", "half-even 0.1")]
['-1.24', '-1.25', '-1.2']
"""

from collections.abc import Mapping
from decimal import ROUND_DOWN, ROUND_HALF_EVEN, ROUND_HALF_UP, ROUND_UP, Decimal, InvalidOperation
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.accounts.account import Account, GroupAccount, Line
from pourbook.accounts.headings import Side, by_place
from pourbook.accounts.quantity import NONE
from pourbook.book.entries import Declared, DeclaredLine
from pourbook.book.journal import parsed
from pourbook.errors import Malformed
from pourbook.numerals import EXACT
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["WAYS", "Declaration", "Figure", "Rounding", "declaration_of", "declared", "figures", "read_rule"]

WAYS = {"down": ROUND_DOWN, "up": ROUND_UP, "half-up": ROUND_HALF_UP, "half-even": ROUND_HALF_EVEN}
"""Which way a rule rounds."""

_Key = tuple[tuple[str, ...], Side, str]


class Rounding(NamedTuple):
    """A rule of rounding.

    Attributes:
        way: one of `WAYS`.
        step: what a figure becomes a multiple of: 1, 0.1, 0.01 …
    """

    way: str
    step: Decimal

    @property
    def text(self) -> str:
        """The rule as it is written."""
        return f"{self.way} {self.step}"

    def rounded(self, value: Fraction) -> str:
        """The value as it is declared."""
        # Whole steps by integers: a quotient cut to some digits first could be rounded twice.
        whole, rest = divmod(abs(value.numerator), value.denominator * self._steps)
        _ = whole, rest
        raise NotImplementedError
