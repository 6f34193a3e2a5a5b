"""What a panel answered, from one table: assessor, product, and a rank or a score; every fault is listed by its row.

>>> source = Source("ranks.csv", b"assessor,product,rank\\nIsla,ash,1\\nIsla,oak,2\\nTom,oak,1\\nTom,ash,2\\n")
>>> ranks_in(source)
(('ash', 'oak'), {'Isla': (1.0, 2.0), 'Tom': (2.0, 1.0)})
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.errors import FaultsFound, Malformed
from pourbook.exchange.tables.columns import Cells, Faults
from pourbook.exchange.tables.plain_table import plain_table
from pourbook.exchange.tables.table_sources import Source, column_name
from pourbook.numerals import counted, read_decimal
from pourbook.panels.ranking import ranks_as_typed

__all__ = ["Scores", "ranks_in", "scores_in"]

Scores = Mapping[tuple[str, str], tuple[float, ...]]
"""By assessor and product; several where a product was hidden again."""


class _Answer(NamedTuple):
    """One row: its cells, to tell a fault of it; who, of what, and the figure, None where that has a fault."""

    cells: Cells
    assessor: str
    product: str
    value: float | None


def ranks_in(source: Source, mark: str = ".") -> tuple[tuple[str, ...], dict[str, tuple[float, ...]]]:
    """Products as they first appear, and the ranks of each assessor in that order, ties as means of ranks.

    Raises:
        FaultsFound: an assessor ranked a product twice or not at all, or what stands there is no ranking.
        Malformed: the file cannot be read, or lacks a column.
    """
    faults = Faults()
    answers = _answers(source, "rank", mark, faults)
    products = _products(answers)
    found: dict[str, tuple[float, ...]] = {}
    for assessor, own in _by_assessor(answers).items():
        _check_whole(own, products)
        typed: dict[str, float | None] = {}
        for one in own:
            if one.product in typed:
                one.cells.fault("product", f"is ranked twice by '{assessor}'", "keep one of the rows")
            typed[one.product] = one.value
        values = [value for product in products if (value := typed.get(product)) is not None]
        if len(own) == len(values) == len(products):
            ranks = ranks_as_typed(values)
            if ranks is None:
                _no_ranking(own)
            else:
                found[assessor] = ranks
    _refuse(faults, source, "ranks")
    return products, found


def scores_in(source: Source, mark: str = ".") -> Scores:
    """The scores of each assessor for each product.

    Raises:
        FaultsFound: an assessor has no score of a product that others have.
        Malformed: the file cannot be read, or lacks a column.
    """
    faults = Faults()
    answers = _answers(source, "score", mark, faults)
    for own in _by_assessor(answers).values():
        _check_whole(own, _products(answers))
    _refuse(faults, source, "scores")
    found: dict[tuple[str, str], tuple[float, ...]] = {}
    for one in answers:
        assert one.value is not None
        found[one.assessor, one.product] = (*found.get((one.assessor, one.product), ()), one.value)
    return found


def _answers(source: Source, column: str, mark: str, faults: Faults) -> list[_Answer]:
    """Every row that names an assessor and a product; columns besides are passed over."""
    needed = ("assessor", "product", column)
    table = plain_table(source, needed, mark)
    headings = {column_name(heading): heading for heading in table.headings}
    if lacking := [name for name in needed if name not in headings]:
        raise Malformed(f"'{source.name}' has no column '{lacking[0]}'", f"its columns must be: {', '.join(needed)}")

    def figure(text: str) -> float:
        return float(read_decimal(text, mark))

    answers = []
    for row, typed in table.rows:
        values = {name: typed[headings[name]] for name in needed if headings[name] in typed}
        cells = Cells(source.name, row, values, faults)
        assessor, product = cells.needed("assessor"), cells.needed("product")
        value = cells.read(column, figure) if cells.needed(column) else None
        if assessor and product:
            answers.append(_Answer(cells, assessor, product, value))
    return answers


def _products(answers: list[_Answer]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one.product for one in answers))


def _by_assessor(answers: list[_Answer]) -> dict[str, list[_Answer]]:
    found: dict[str, list[_Answer]] = {}
    for one in answers:
        found.setdefault(one.assessor, []).append(one)
    return found


def _check_whole(own: list[_Answer], products: tuple[str, ...]) -> None:
    there = {one.product for one in own}
    for product in products:
        if product not in there:
            own[0].cells.fault("assessor", f"has no row for '{product}'", "add it, or leave this assessor out")


def _no_ranking(own: list[_Answer]) -> None:
    beyond = [one for one in own if one.value is not None and not 1 <= one.value <= len(own)]
    for one in beyond:
        one.cells.fault("rank", f"is no rank of {counted(len(own), 'product')}", f"write 1 to {len(own)}")
    if not beyond:
        written = ", ".join(f"{one.value:g}" for one in own)
        remedy = "give each product its rank; two in one place share it: 1, 2.5, 2.5, 4"
        own[0].cells.fault("assessor", f"has the ranks {written}, which are no ranking", remedy)


def _refuse(faults: Faults, source: Source, what: str) -> None:
    try:
        faults.check(what)
    except FaultsFound as found:
        told = f"{counted(len(faults), 'fault')} found in the {what} of '{source.name}': nothing was computed"
        raise FaultsFound(told, found.faults, "correct the faults listed") from None
