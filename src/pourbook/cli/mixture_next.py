"""The next glass: `mixture next`, part of the verb `mixture`."""

from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.mixture_designs import bounds_options, region_typed
from pourbook.cli.options import pair
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.mixtures.next_table import Table

__all__ = ["next_command"]


@click.command("next")
@bounds_options
@click.argument("tasted", metavar="TASTED.csv")
@click.option(
    "--wish",
    "wishes",
    multiple=True,
    required=True,
    metavar="WISH",
    help="'liking more', 'smoke less', 'pear near 3'; with 'weight 2' behind, it counts double.",
)
@click.option(
    "--scale", "scales", multiple=True, metavar="COLUMN=LEAST..MOST", help="Of an attribute; default: the house's."
)
@click.option("--assessor", metavar="COLUMN", default="", help="Who tasted: each may mark high or low.")
@click.option(
    "--glasses", type=click.IntRange(1, 12), default=1, show_default=True, metavar="N", help="How many to pour at once."
)
@click.option("--seed", type=click.IntRange(min=0), default=1, metavar="N", help="Draws other candidates; default: 1.")
@reading
def next_command(
    door: Door, bounds: str, whole: str | None, limits: str | None, tasted: str, wishes: tuple[str, ...],
    scales: tuple[str, ...], assessor: str, glasses: int, seed: int,
) -> None:  # fmt: skip
    """Propose the next glass: the blend within bounds that promises most, or that would teach most.

    TASTED.csv has a row for each note: a column of parts for each component of BOUNDS.csv, and what was found.
    A wish may also be of a figure that BOUNDS.csv gives for each component, such as its cost. Words are on the
    house's scale of intensity, and liking and score on their own; --scale gives another.

    \b
    Example:
      pourbook mixture next bounds.csv flight.csv --wish "liking more" --assessor assessor
      pourbook mixture next bounds.csv flight.csv --wish "pear near 3" --wish "cost less weight 0.5" --glasses 3
      pourbook mixture next bounds.csv flight.csv --wish "aroma more" --scale aroma=0..10 --json
    """
    from pourbook.documents.mixture_next import next_shown
    from pourbook.mixtures.next_flight import next_flight
    from pourbook.mixtures.next_table import read_tables
    from pourbook.mixtures.wishes import read_wish

    wanted = [read_wish(text, door.style.number) for text in wishes]
    region = region_typed(door, bounds, whole, limits)
    attributes = [wish.attribute for wish in wanted]
    ends = {name: _scale(door, name) for name in attributes} | dict(_typed_scale(door, text) for text in scales)
    limits_of, notes = _table(door, bounds, ("component", "lower", "upper")), _table(door, tasted, region.components)
    number, components = door.style.number, region.components
    learned, ends, figures = read_tables(components, limits_of, notes, attributes, ends, assessor, number)
    found = next_flight(region, learned, wanted, ends, glasses, seed, figures)
    door.show(next_shown(components, found, door.style))


def _table(door: Door, path: str, expected: tuple[str, ...]) -> "Table":
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.mixtures.next_table import Table

    source = one_table(path, "table")
    table = plain_table(source, expected, door.style.mark)
    return Table(source.name, table.headings, table.rows)


def _scale(door: Door, attribute: str) -> tuple[float, float]:
    """The house's scale: of liking, of the score, or of a word's intensity."""
    from pourbook.book.settings import DEFAULTS, scale

    name = f"{attribute}_scale" if attribute in ("liking", "score") else "intensity_scale"
    return scale({**DEFAULTS, **door.style.settings}, name)


def _typed_scale(door: Door, text: str) -> tuple[str, tuple[float, float]]:
    name, ends = pair(text, "COLUMN=LEAST..MOST", "aroma=0..10", at_last=True)
    least, dots, most = ends.partition("..")
    low, high = (float(door.style.number(end)) for end in (least, most)) if dots else (0.0, 0.0)
    if low >= high:
        raise Malformed(f"'{ends}' is no scale", "write it like aroma=0..10")
    return name, (low, high)
