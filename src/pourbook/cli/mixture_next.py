"""The next glass: `mixture next`, part of the verb `mixture`."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.mixture_designs import region_options, region_typed
from pourbook.cli.options import pair
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.mixtures.next_table import ChosenFrom, Table
    from pourbook.mixtures.regions import Region

__all__ = ["next_command"]


@click.command("next")
@click.argument("bounds", metavar="[BOUNDS.csv", required=False)
@click.argument("tasted", metavar="TASTED.csv]", required=False)
@click.option(
    "--after", metavar="TRIAL", help="Instead of tables: the recipe of a trial, and the book's tasting notes."
)
@click.option(
    "--wish",
    "wishes",
    multiple=True,
    required=True,
    metavar="WISH",
    help="'liking more', 'smoke less', 'pear near 3'; with 'weight 2' behind, it counts double.",
)
@region_options
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
    door: Door, bounds: str | None, tasted: str | None, after: str | None, wishes: tuple[str, ...], glasses: int,
    seed: int, **typed: Any,  # noqa: ANN401 (the options of tables)
) -> None:  # fmt: skip
    """Propose the next glass: the blend within bounds that promises most, or that would teach most.

    With --after, components and bounds are those of a trial's recipe and of the house's rules, and what is known
    are the tasting notes on blends of the same casks. A wish may also be of cost, age or stock of the casks.

    Without a book, TASTED.csv has a row for each note: a column of parts for each component of BOUNDS.csv, and
    what was found; a wish may also be of a figure that BOUNDS.csv gives for each component. Words are on the
    house's scale of intensity, and liking and score on their own; --scale gives another.

    \b
    Example:
      pourbook mixture next --after T-000003-K --wish "liking more" --wish "cost less weight 0.5"
      pourbook mixture next bounds.csv flight.csv --wish "liking more" --assessor assessor
      pourbook mixture next bounds.csv flight.csv --wish "pear near 3" --wish "cost less weight 0.5" --glasses 3
      pourbook mixture next bounds.csv flight.csv --wish "aroma more" --scale aroma=0..10 --json
    """
    from pourbook.documents.mixture_next import next_shown, next_trial_shown
    from pourbook.mixtures.wishes import read_wishes

    wanted = read_wishes(wishes, door.style.number)
    if after is not None:
        if bounds or any(typed.values()):
            raise Malformed("--after takes all from the book", "leave out tables and their options")
        from pourbook.queries.trials.next_trial import next_trial

        door.show(next_trial_shown(next_trial(door.book, after, wanted, glasses, seed), door.style))
        return
    if bounds is None or tasted is None:
        raise Malformed("one source is needed", "name BOUNDS.csv and TASTED.csv, or a trial with --after")
    region, asked = _of_tables(door, bounds, tasted, [wish.attribute for wish in wanted], **typed)
    from pourbook.mixtures.next_flight import next_flight

    found = next_flight(region, asked.tasted, wanted, asked.scales, glasses, seed, asked.figures)
    door.show(next_shown(region.components, found, door.style))


def _of_tables(
    door: Door, bounds: str, tasted: str, attributes: list[str], whole: str | None, limits: str | None,
    scales: tuple[str, ...], assessor: str,
) -> "tuple[Region, ChosenFrom]":  # fmt: skip
    """What the tables say."""
    from pourbook.mixtures.next_table import read_tables

    region = region_typed(door, bounds, whole, limits)
    typed = dict(_typed_scale(door, text) for text in scales)
    if unknown := [name for name in typed if name not in attributes]:
        raise Malformed(f"--scale {unknown[0]}: that is not wished for", f"wishes are of: {', '.join(attributes)}")
    ends = {name: _scale(door, name) for name in attributes} | typed
    limits_of, notes = _table(door, bounds, ("component", "lower", "upper")), _table(door, tasted, region.components)
    return region, read_tables(region.components, limits_of, notes, attributes, ends, assessor, door.style.number)


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
