"""The verb ahead: how many more batches the casks of the house can give, year by year."""

from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import FORCE, item_argument

if TYPE_CHECKING:
    from pourbook.planning.look_ahead import Order
    from pourbook.planning.planned_fillings import PlannedFilling

__all__ = ["ahead_verb"]


@click.command("ahead")
@item_argument("blend")
@click.option("--final", metavar="VOLUME", help="Volume of each batch, all water included.")
@click.option("--bottles", multiple=True, metavar="NUMBER x SIZE", help="That each batch fills; instead of --final.")
@click.option("--to", "to_strength", metavar="STRENGTH", help="Strength that each is reduced to.")
@click.option("--losses", metavar="PERCENT", help="Losses while bottling, in per cent of what is filled.")
@click.option("--tolerance", metavar="PERCENT", help="How far a part without bounds may drift, in parts of a hundred.")
@click.option("--near-years", type=int, metavar="YEARS", help="Age of a cask beside that it stands in for.")
@click.option("--batches", metavar="N", type=click.IntRange(1, 1000), default=1, help="In each year; default: 1.")
@click.option("--years", metavar="N", type=click.IntRange(1, 30), default=10, help="How many, from now; default: 10.")
@click.option("--on", "day", metavar="DATE", help="When the first year begins; default: now.")
@click.option(
    "--first",
    "order",
    type=click.Choice(("oldest", "leaving")),
    default="oldest",
    show_default=True,
    help="Which casks go first: the oldest, or those that are too old for the blend first.",
)
@click.option(
    "--by", type=click.Choice(("litres", "casks")), help="Count by litres, or choose whole casks; default: by how many."
)
@click.option("--fillings", metavar="TABLE.csv", help="Casks that are to be filled or bought in these years.")
@click.option("--csv", "csv_to", type=click.Path(path_type=Path), metavar="FILE", help="Write the years as CSV.")
@FORCE
@reading
def ahead_verb(
    door: Door, blend: str, final: str | None, bottles: tuple[str, ...], to_strength: str | None,
    losses: str | None, tolerance: str | None, near_years: int | None, batches: int, years: int, day: str | None,
    order: "Order", by: Literal["litres", "casks"] | None, fillings: str | None, csv_to: Path | None, *, force: bool,
) -> None:  # fmt: skip
    """Look ahead: how many more batches the casks can give, year by year, and what runs out first.

    BLEND is a recipe, a trial or an earlier batch. In each year the casks count that will then be of the
    age of a component; the air takes from every cask what its gauges say, or what is usual in the house.
    Batches are made at the beginning of each year, the first now.

    Where there are few casks, whole casks are chosen for each batch; else litres are counted, which is never
    less. TABLE.csv has the columns ref, component, volume_l_20c, strength_20c, in_years, and wood_days where the
    spirit brings some.

    \b
    Example:
      pourbook ahead "Trial 26-B" --final "100 l" --to 46
      pourbook ahead "Vatting 3" --final "100 l" --to 46 --batches 2 --years 5 --first leaving
      pourbook ahead "Trial 26-B" --final "100 l" --to 46 --by litres --csv ahead.csv
    """
    from pourbook.documents.ahead import ahead_shown, ahead_table
    from pourbook.queries.plans.ahead import AheadAsked
    from pourbook.queries.plans.asked import PlanAsked
    from pourbook.queries.plans.parts_wanted import NEAR_YEARS
    from pourbook.queries.plans.typed import bottles_wanted

    style = door.style
    filled = bottles_wanted(style, bottles, losses if bottles else None)
    batch = PlanAsked(
        None if final is None else style.amount(final),
        filled,
        None if losses is None or filled else style.number(losses),
        to_strength=door.strength(to_strength),
        tolerance=None if tolerance is None else style.number(tolerance),
        near_years=NEAR_YEARS if near_years is None else near_years,
        on_us=style.as_of(day),
    )
    if csv_to is not None:
        from pourbook.one_file import check_target

        check_target(csv_to, force=force, never=door.book.files)
    found = door.book.ahead(blend, batch, AheadAsked(years, batches, order, by, _fillings(door, fillings)))
    if csv_to is not None:
        from pourbook.documents.accounts import csv_bytes
        from pourbook.one_file import write_file

        write_file(csv_to, csv_bytes(*ahead_table(found)), force=force, never=door.book.files)
    door.show(ahead_shown(found, style, order, {} if csv_to is None else {"csv": str(csv_to)}))


def _fillings(door: Door, path: str | None) -> "tuple[PlannedFilling, ...]":
    """Casks that are to come, from a table."""
    if path is None:
        return ()
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.exchange.tables.table_sources import column_name
    from pourbook.planning.planned_fillings import FILLING_COLUMNS, fillings_of

    source = one_table(path, "fillings")
    table = plain_table(source, FILLING_COLUMNS, door.style.mark)
    rows = [(at, {column_name(heading): cell for heading, cell in row.items()}) for at, row in table.rows]
    return fillings_of(source.name, [column_name(heading) for heading in table.headings], rows, door.style.number)
