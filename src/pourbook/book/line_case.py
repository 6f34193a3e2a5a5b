"""A line of a pour that is about to be applied: what its rules judge."""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pourbook.book.book_so_far import Known
from pourbook.book.bottles import Unwritten
from pourbook.book.contents import Holding
from pourbook.book.entries import Draft, Move
from pourbook.book.refold import Ends
from pourbook.liquid import Liquid
from pourbook.quantities import Amount

__all__ = ["LineCase", "as_asked", "taken"]


class LineCase(NamedTuple):
    """A line of a pour that is about to be applied.

    Attributes:
        known: the book so far.
        draft: the pour, with when, by whom and why.
        move: the line as asked for.
        line: the line as the journal will keep it.
        source: what the source holds; nothing where it lies outside.
        target: what the target holds; nothing where it lies outside.
        ends: keys of source and target.
        unwritten: what this recording has of bottles so far.
    """

    known: Known
    draft: Draft
    move: Move
    line: Mapping[str, Any]
    source: Holding
    target: Holding
    ends: Ends
    unwritten: Unwritten


def taken(case: LineCase) -> Liquid:
    """The liquid of a line."""
    line, source = case.line, case.source.liquid
    if "ethanol" in line:
        return Liquid(line["mass"], line["ethanol"], line.get("extract", 0))
    return source.scaled(line["mass"]) if "mass" in line and source.mass_mg else source


def as_asked(amount: Amount | int | None) -> str:
    """An amount as it was typed, for a sentence."""
    return amount.typed if isinstance(amount, Amount) else "all" if amount is None else f"{amount / 1e6:g} kg"
