"""What a panel answered, from one table: ranks, scores or right answers; every fault is listed by its row.

>>> source = Source("ranks.csv", b"assessor,product,rank\\nIsla,ash,1\\nIsla,oak,2\\nTom,oak,1\\nTom,ash,2\\n")
>>> ranks_in(source)
(('ash', 'oak'), {'Isla': (1.0, 2.0), 'Tom': (2.0, 1.0)})
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from pourbook.errors import FaultsFound, Malformed
from pourbook.exchange.tables.columns import Cells, Faults
from pourbook.exchange.tables.plain_table import plain_table
from pourbook.exchange.tables.table_sources import Source, column_name
from pourbook.numerals import counted, read_decimal
from pourbook.panels.ranking import ranks_as_typed

__all__ = ["Scores", "ranks_in", "repeated_in", "scores_in"]

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


def repeated_in(source: Source, mark: str = ".") -> dict[str, tuple[int, int]]:
    """Right answers, and all answers, of each assessor.

    Raises:
        FaultsFound: no whole numbers, more right answers than answers, or an assessor twice.
        Malformed: the file cannot be read, or lacks a column.
    """
    faults = Faults()
    found: dict[str, tuple[int, int]] = {}
    for cells in _rows(source, ("assessor", "correct", "answers"), mark, faults):
        assessor = cells.needed("assessor")
        correct, answers = (cells.read(name, _whole) if cells.needed(name) else None for name in ("correct", "answers"))
        if assessor in found:
            cells.fault("assessor", "has a row above", "write the sum of both in one row")
        if correct is not None and answers is not None:
            if not answers:
                cells.fault("answers", "is no number of answers", "leave the row out")
            elif correct > answers:
                cells.fault("correct", f"is more than the {counted(answers, 'answer')}", "check both")
            found[assessor] = correct, answers
    _refuse(faults, source, "answers")
    return found


def _rows(source: Source, needed: tuple[str, ...], mark: str, faults: Faults) -> Iterator[Cells]:
    """The cells of every row; columns besides are passed over."""
    table = plain_table(source, needed, mark)
    headings = {column_name(heading): heading for heading in table.headings}
    if lacking := [name for name in needed if name not in headings]:
        raise Malformed(f"'{source.name}' has no column '{lacking[0]}'", f"its columns must be: {', '.join(needed)}")
    for row, typed in table.rows:
        values = {name: typed[headings[name]] for name in needed if headings[name] in typed}
        yield Cells(source.name, row, values, faults)


def _answers(source: Source, column: str, mark: str, faults: Faults) -> list[_Answer]:
    """Every row that names an assessor and a product."""

    def figure(text: str) -> float:
        return float(read_decimal(text, mark))

    answers = []
    for cells in _rows(source, ("assessor", "product", column), mark, faults):
        assessor, product = cells.needed("assessor"), cells.needed("product")
        value = cells.read(column, figure) if cells.needed(column) else None
        if assessor and product:
            answers.append(_Answer(cells, assessor, product, value))
    return answers


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit() and len(text) <= 6):
        raise Malformed(f"'{text}' is not a whole number", "write digits only")
    return int(text)


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
