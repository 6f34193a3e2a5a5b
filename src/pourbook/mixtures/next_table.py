"""What the next glass is chosen from, read from tables: notes of each attribute, its scale, figures of components.

>>> from decimal import Decimal
>>> bounds = Table("bounds.csv", ("component", "cost"), [(2, {"component": "ash", "cost": "20"}),
...     (3, {"component": "heather", "cost": "55"})])
>>> tasted = Table("flight.csv", ("ash", "heather", "pear"), [(2, {"ash": "9", "heather": "1", "pear": "2"})])
>>> found = read_tables(("ash", "heather"), bounds, tasted, ("pear", "cost"), {"pear": (0.0, 5.0)}, "", Decimal)
>>> found.figures["cost"], found.scales["cost"], found.tasted["pear"].response.tolist()
([20.0, 55.0], (20.0, 55.0), [2.0])
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from pourbook.errors import Malformed
from pourbook.mixtures.glasses import Asked, Glasses, glasses_of

__all__ = ["ChosenFrom", "Table", "read_tables"]


class Table(NamedTuple):
    """A table: the name of its `file`, its `headings`, and `rows`: each its number and text by heading."""

    file: str
    headings: Sequence[str]
    rows: Sequence[tuple[int, Mapping[str, str]]]


class ChosenFrom(NamedTuple):
    """What a proposal is chosen from, each by attribute.

    Attributes:
        tasted: the glasses in which it was noted.
        scales: its least and its greatest value.
        figures: what each component counts of it, where it is known and not tasted.
    """

    tasted: dict[str, Glasses]
    scales: dict[str, tuple[float, float]]
    figures: dict[str, list[float]]


def read_tables(
    components: tuple[str, ...], bounds: Table, tasted: Table, attributes: Iterable[str],
    scales: Mapping[str, tuple[float, float]], assessor: str, number: Callable[[str], object],
) -> ChosenFrom:  # fmt: skip
    """Attributes that a column of `tasted` has, or one of `bounds` with a figure for each component.

    A figure's scale runs from the least of the components to the greatest.

    Raises:
        Malformed: neither table has an attribute, or its figures are all the same.
        FaultsFound: every cell that cannot be.
    """
    found = ChosenFrom({}, dict(scales), {})
    for attribute in dict.fromkeys(attributes):
        if attribute in tasted.headings:
            asked = Asked(attribute, assessor, components)
            found.tasted[attribute] = glasses_of(tasted.file, tasted.headings, tasted.rows, asked, number)
        elif attribute in bounds.headings:
            figures = [_figure(bounds, at, row, attribute, number) for at, row in bounds.rows]
            if min(figures) == max(figures):
                raise Malformed(f"{attribute} is the same for all components", "leave the wish out")
            found.figures[attribute] = figures
            found.scales[attribute] = (min(figures), max(figures))
        else:
            names = ", ".join(name for name in tasted.headings if name not in (*components, assessor))
            raise Malformed(f"'{tasted.file}' has no column '{attribute}'", f"wish for one of these: {names}")
    return found


def _figure(
    table: Table, at: int, row: Mapping[str, str], column: str, number: Callable[[str], object]
) -> float:  # fmt: skip
    text = row.get(column, "")
    if not text:
        raise Malformed(f"'{table.file}' row {at} has no {column}", "write a number for each component")
    return float(str(number(text)))
