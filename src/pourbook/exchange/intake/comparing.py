"""What a table says in all, held against what the book holds of it then.

>>> from pourbook.quantities import read_amount, read_strength
>>> rows = [Row("", 0, read_amount("200 l"), read_strength("60")), Row("", 0, read_amount("100 l"), None)]
>>> in_the_file(rows)["l"]
(2, Fraction(300, 1), None)
>>> in_the_file(rows[:1])["l"]
(1, Fraction(200, 1), Fraction(120, 1))
"""

from collections.abc import Callable, Iterable
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import pure_alcohol_ml, volume_ml
from pourbook.book.flows import across_the_border
from pourbook.book.items import held
from pourbook.codes.identifiers import key_of
from pourbook.liquid import EMPTY
from pourbook.quantities import UNITS, Amount, Strength

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Comparing", "InAll", "Row", "compared", "in_the_file", "poured"]


class Row(NamedTuple):
    """What one row says lies in an item (its identifier) at `at_us`: amount, strength, `lpa_l` if in a column.

    Only an `Amount` counts: nothing that the program itself put down in milligrams.
    """

    item: str
    at_us: int
    amount: Amount | int | None
    strength: Strength | None
    lpa_l: Decimal | None = None


class InAll(NamedTuple):
    """A table in all, by the unit of its amounts.

    Attributes:
        table: casks, gauges or pours.
        what: of pours, what crossed the house's border: origin, water, despatch, loss …; else empty.
        unit: of the amounts.
        rows: with an amount in it.
        amount: their sum, in the unit.
        lpa_l: litres of pure alcohol by the table's own figures: its column, or litres times strength; None where it
            gives neither for every row.
        held_l: litres at 20 °C that the items of these rows hold in the book at the time of the row; None for pours.
        held_lpa_l: litres of pure alcohol that they hold, or that were poured; None where rows of several units were.
    """

    table: str
    what: str
    unit: str
    rows: int
    amount: Fraction
    lpa_l: Fraction | None
    held_l: float | None
    held_lpa_l: float | None


Comparing = Callable[["BookCore", int], tuple[InAll, ...]]
"""Made when a table was read, called when it is recorded, with the number of the first entry of it."""


def in_the_file(rows: Iterable[Row]) -> dict[str, tuple[int, Fraction, Fraction | None]]:
    """Rows, sum and litres of pure alcohol by unit."""
    found: dict[str, tuple[int, Fraction, Fraction | None]] = {}
    for row in rows:
        if isinstance(row.amount, Amount):
            count, amount, lpa = found.get(row.amount.unit, (0, Fraction(), Fraction()))
            own = _lpa_l(row)
            lpa = None if lpa is None or own is None else lpa + own
            found[row.amount.unit] = count + 1, amount + Fraction(row.amount.value), lpa
    return found


def poured(book: "BookCore", since_entry: int, rows: Iterable[tuple[str, Row]]) -> tuple[InAll, ...]:
    """What rows of pours say of what came in and went out, by its word, beside what the book has of it."""
    by_word: dict[str, list[Row]] = {}
    for word, row in rows:
        by_word.setdefault(word, []).append(row)
    moved = across_the_border(book.store, since_entry)
    found = []
    for word, of_word in by_word.items():
        by_unit = in_the_file(of_word)
        is_whole = len(by_unit) == 1 and all(isinstance(row.amount, Amount) for row in of_word)
        held_lpa_l = pure_alcohol_ml(moved.get(word, EMPTY)) / 1000 if is_whole else None
        for unit, (count, amount, lpa) in by_unit.items():
            found.append(InAll("pours", word, unit, count, amount, lpa, None, held_lpa_l))
    return tuple(found)


def _lpa_l(row: Row) -> Fraction | None:
    """Litres of pure alcohol as a spreadsheet reckons them, whatever the temperature; None where it cannot."""
    if row.lpa_l is not None:
        return Fraction(row.lpa_l)
    amount, strength = row.amount, row.strength
    if not isinstance(amount, Amount) or amount.dimension != "volume" or not strength or strength.scale == "proof60f":
        return None
    return Fraction(amount.value) * UNITS[amount.unit].factor / 1000 * Fraction(strength.value) / 100


def compared(book: "BookCore", table: str, rows: Iterable[Row]) -> tuple[InAll, ...]:
    """What the rows say in all, beside what the book holds in their items at the time of each."""
    rows = list(rows)
    found = []
    for unit, (count, amount, lpa) in in_the_file(rows).items():
        of_unit = [row for row in rows if isinstance(row.amount, Amount) and row.amount.unit == unit]
        liquids = [held(book.store, key_of(row.item), row.at_us).liquid for row in of_unit]
        litres = sum(map(volume_ml, liquids)) / 1000
        found.append(InAll(table, "", unit, count, amount, lpa, litres, sum(map(pure_alcohol_ml, liquids)) / 1000))
    return tuple(found)
