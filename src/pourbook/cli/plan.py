"""The verb plan: which casks make a batch of a recipe, and how much of each."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading
from pourbook.errors import Malformed, Refused

if TYPE_CHECKING:
    from pourbook.planning.casks import Cask
    from pourbook.planning.recipe import Recipe
    from pourbook.planning.solving import Progress

__all__ = ["plan_verb"]

_MOST_BYTES = 1_000_000
"""Of a recipe's file."""


@click.command("plan")
@click.argument("recipe", metavar="RECIPE.toml")
@click.option("--casks", "table", metavar="CASKS.csv", help="Casks to choose from.")
@click.option("--seconds", metavar="NUMBER", default="60", show_default=True, help="When to stop with the best so far.")
@reading
def plan_verb(door: Door, recipe: str, table: str | None, seconds: str) -> None:
    """Choose the casks of a batch, and how much of each, so that every demand of a recipe is kept.

    RECIPE.toml says target, components, limits, house rules, heel, losses and objective; CASKS.csv has the columns
    ref, component, volume_l_20c, strength_20c, and wood_days, cost_per_lpa, place, hold where they count. Casks on
    hold, of no component of the recipe, or too young for it are left out.

    The plan is proved to be the best, or says how far it may be from it. Where no plan keeps every demand, the exit
    status is 1, and the answer names the demands that are in conflict.

    \b
    Example:
      pourbook plan sample_data/plan.toml --casks sample_data/plan_casks.csv
      pourbook plan recipe.toml --casks casks.csv --seconds 10 --json
    """
    from pourbook.documents.plans import out_of_time_shown, plan_shown
    from pourbook.planning.plan import OutOfTime, plan

    limit = float(door.style.number(seconds))
    if limit <= 0:
        raise Malformed(f"--seconds {seconds} leaves no time", "give seconds above zero, such as 60")
    asked, casks = _recipe(recipe), _casks(door, table)
    found = plan(asked, casks, seconds=limit, progress=_progress())
    if found is None:
        _tell_why_not()
    elif isinstance(found, OutOfTime):
        door.show(out_of_time_shown(found, door.style))
        raise click.exceptions.Exit(1)
    else:
        door.show(plan_shown(asked, casks, found, door.style))


def _recipe(path: str) -> "Recipe":
    from pourbook.input_files import toml_tables, whole
    from pourbook.planning.recipe_table import recipe_of

    file = Path(path)
    _, document = toml_tables(whole(file, _MOST_BYTES), file.name)
    return recipe_of(document, file.name)


def _casks(door: Door, path: str | None) -> "tuple[Cask, ...]":
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.exchange.tables.table_sources import column_name
    from pourbook.planning.cask_table import CASK_COLUMNS, casks_of

    if path is None:
        raise Malformed("no casks to choose from were named", "give --casks CASKS.csv")
    source = one_table(path, "casks")
    table = plain_table(source, CASK_COLUMNS, door.style.mark)
    headings = [column_name(heading) for heading in table.headings]
    if "hold" not in headings:
        door.tell((f"note: '{source.name}' has no column hold: no cask counts as on hold",))
    rows = [(at, {column_name(heading): cell for heading, cell in row.items()}) for at, row in table.rows]
    return casks_of(source.name, headings, rows, door.style.number)


def _tell_why_not() -> None:
    """No plan keeps every demand."""
    raise Refused("no choice of these casks keeps every demand of the recipe", "relax a limit, or add casks")


def _progress() -> "Progress | None":
    """Tells on standard error how far the search is, where a person watches."""
    if not sys.stderr.isatty():
        return None

    def told(seconds: float, best: float | None, bound: float) -> None:
        found = "no plan yet" if best is None else f"best so far {best:g}"
        click.echo(f"\r{seconds:.0f} s: {found}, none below {bound:g}   ", nl=False, err=True)

    return told
