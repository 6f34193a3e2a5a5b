"""US figures as a calculator shows them: computed, and beside them the official tables a house has loaded."""

from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.typed import US_BASIS
from pourbook.errors import FaultsFound
from pourbook.numerals import shown

if TYPE_CHECKING:
    from pourbook.alcoholometry.official_tables import OfficialTables

__all__ = ["Compared", "basis", "compared", "load_tables", "official_lines", "tables_option", "taken"]

tables_option = click.option(
    "--tables", metavar="FILE", help="Official US table values to use: table, proof, temperature_f, value."
)
"""The option of every verb whose figures have official tables."""

Compared = dict[str, dict[str, float | None]]
"""For each figure: formula, official, difference (official less formula)."""


def load_tables(path: str | None) -> "OfficialTables | None":
    """The official values of a CSV file or a workbook's sheet `tables`; None where none was named.

    Raises:
        FaultsFound: every fault found, of form or of value.
        Malformed: the file cannot be read at all.
    """
    if path is None:
        return None
    # only where a file is named: start-up stays light
    from pourbook.alcoholometry.official_tables import COLUMNS, official_tables
    from pourbook.exchange.tables.columns import Faults
    from pourbook.exchange.tables.table_files import Columns, one_table, read_table

    faults = Faults()
    source = one_table(path, "tables")
    needed = tuple(name for name in COLUMNS if name != "temperature_f")
    rows = list(read_table(source, Columns(needed, ("temperature_f",)), faults).rows)
    try:
        faults.check("official tables")
    except FaultsFound as found:
        raise FaultsFound(f"the tables in '{source.name}' cannot be read: nothing was computed", found.faults) from None
    return official_tables(source.name, rows)


def compared(formula: float, official: Decimal | None) -> dict[str, float | None]:
    """A figure by formula beside the official one, which may be lacking."""
    if official is None:
        return {"formula": formula, "official": None, "difference": None}
    return {"formula": formula, "official": float(official), "difference": float(official) - formula}


def taken(document: dict[str, Any], official: dict[str, Decimal | None]) -> Compared:
    """Put official figures in the place of computed ones, where there are any; answer both."""
    found: Compared = {}
    for name, value in official.items():
        found[name] = compared(document[name], value)
        if value is not None:
            document[name] = float(value)
    return found


def basis(tables: "OfficialTables | None", official: Compared) -> str:
    """What US figures rest on."""
    if tables is None:
        return US_BASIS
    if all(figure["official"] is not None for figure in official.values()):
        return f"official tables as loaded from {tables.file}"
    if any(figure["official"] is not None for figure in official.values()):
        return f"official tables as loaded from {tables.file} where they have the value; else {US_BASIS}"
    return f"{tables.file} lacks the values needed here; {US_BASIS}"


def official_lines(official: Compared, digits: int = 2) -> list[tuple[str, str]]:
    """Official value, formula and difference of each figure, for people."""
    return [
        (f"  {name.removesuffix('_60f').replace('_', ' ')}", _sentence(figure, digits))
        for name, figure in official.items()
    ]


def _sentence(figure: dict[str, float | None], digits: int) -> str:
    formula, value, difference = figure["formula"], figure["official"], figure["difference"]
    assert formula is not None
    if value is None or difference is None:
        return f"formula {shown(formula, digits)}; the file lacks the official value"
    more = ("" if difference < 0 else "+") + shown(difference, digits)
    return f"official {shown(value, digits)}, formula {shown(formula, digits)}, difference {more}"
