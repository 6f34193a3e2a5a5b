"""The verb plan: which casks make a batch of a recipe, and how much of each."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from pourbook.cli.beside_plan import beside_plan
from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument, status_options
from pourbook.cli.plan_from_book import book_options, plan_from_book
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.planning.casks import Cask
    from pourbook.planning.recipe import Recipe
    from pourbook.planning.solving import Progress

__all__ = ["plan_verb"]

_MOST_BYTES = 1_000_000
"""Of a recipe's file."""


@click.command("plan")
@item_argument("what")
@click.option("--casks", "table", metavar="CASKS.csv", help="Casks to choose from: WHAT is a file, RECIPE.toml.")
@click.option("--seconds", metavar="NUMBER", default="60", show_default=True, help="When to stop with the best so far.")
@click.option("--others", is_flag=True, help="Show the next two best plans beside it, more than one cask apart.")
@click.option("--instead-of", "missing", metavar="CASK", help="List casks like one of the plan that is missing.")
@book_options
@status_options
@recording
def plan_verb(door: Door, what: str, table: str | None, seconds: str, **asked: Any) -> None:  # noqa: ANN401
    """Choose the casks of a batch, and how much of each, so that every demand is kept.

    WHAT is a recipe of the book, a trial, or an earlier batch, which is planned again; the casks are those that lie
    there and qualify, each with what it should hold on the day. Parts keep to the bounds of the recipe, or to the
    tolerance kept for the trial; others may drift by a tenth, by half a part in a hundred at least and two at most.
    Items of a recipe stand for casks like those behind them: of the same spirit, wood and previous contents, and of
    an age near theirs. The rules of the house always bind. With --record the batch is opened, to be poured cask by
    cask: pourbook pour BATCH; nothing is poured by it.

    With --casks no book is needed: RECIPE.toml says target, components, limits, house rules, heel, losses and
    objective; CASKS.csv has the columns ref, component, volume_l_20c, strength_20c, and wood_days, cost_per_lpa,
    place, hold where they count. Casks on hold, of no component of the recipe, or too young for it are left out.

    The plan is proved to be the best, or says how far it may be from it. Where no plan keeps every demand, the exit
    status is 1, and the answer names the fewest demands that are in conflict, with the least change of each that
    would do; that may take as long again.

    \b
    Example:
      pourbook plan "Ostrewick no. 2" --final "200 l" --to 46
      pourbook plan T-000003-K --bottles "400 x 700 ml" --losses 4 --to 46 --least-left "30 l" --aim cost --left-out
      pourbook plan B-000001-Y --record --ref "Vatting 8"
      pourbook plan sample_data/plan.toml --casks sample_data/plan_casks.csv
      pourbook plan sample_data/plan.toml --casks sample_data/plan_casks.csv --others --left-out --instead-of "Q 618"
      pourbook plan recipe.toml --casks casks.csv --seconds 10 --json
    """
    from pourbook.documents.beside_plan import with_left_out
    from pourbook.documents.plans import out_of_time_shown, plan_shown
    from pourbook.documents.why_not import why_not_shown
    from pourbook.planning.left_out import left_out
    from pourbook.planning.plan import OutOfTime, plan
    from pourbook.planning.why_not import why_not

    limit = float(door.style.number(seconds))
    if limit <= 0:
        raise Malformed(f"--seconds {seconds} leaves no time", "give seconds above zero, such as 60")
    if table is None:
        plan_from_book(door, what, limit, _progress(), asked)
        return
    _only_of_a_book()
    recipe, casks = _recipe(what), _casks(door, table)
    found = plan(recipe, casks, seconds=limit, progress=_progress())
    if found is None:
        door.show(why_not_shown(why_not(recipe, casks, seconds=limit), door.style))
        raise click.exceptions.Exit(1)
    if isinstance(found, OutOfTime):
        door.show(out_of_time_shown(found, door.style))
        raise click.exceptions.Exit(1)
    shown = beside_plan(door, plan_shown(recipe, casks, found, door.style), recipe, casks, found, limit, asked)
    door.show(with_left_out(shown, left_out(recipe, casks, found.takes)) if asked["left_out"] else shown)


def _recipe(path: str) -> "Recipe":
    from pourbook.input_files import toml_tables, whole
    from pourbook.planning.recipe_table import recipe_of

    file = Path(path)
    _, document = toml_tables(whole(file, _MOST_BYTES), file.name)
    return recipe_of(document, file.name)


def _only_of_a_book() -> None:
    """What is asked of a plan from a book is refused beside a table of casks: a limit typed must not pass for none."""
    context = click.get_current_context()
    of_files = {"what", "table", "seconds", "json", "others", "missing", "left_out"}
    typed = [
        option.opts[0]
        for option in context.command.params
        if option.name not in of_files
        and context.get_parameter_source(option.name or "") is ParameterSource.COMMANDLINE
    ]
    if typed:
        raise Malformed(f"{typed[0]} is asked of casks in a book", "leave --casks out, or say it in RECIPE.toml")


def _casks(door: Door, path: str) -> "tuple[Cask, ...]":
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.exchange.tables.table_sources import column_name
    from pourbook.planning.cask_table import CASK_COLUMNS, casks_of

    source = one_table(path, "casks")
    table = plain_table(source, CASK_COLUMNS, door.style.mark, may_be_empty=True)
    headings = [column_name(heading) for heading in table.headings]
    if "hold" not in headings:
        door.tell((f"note: '{source.name}' has no column hold: no cask counts as on hold",))
    rows = [(at, {column_name(heading): cell for heading, cell in row.items()}) for at, row in table.rows]
    return casks_of(source.name, headings, rows, door.style.number)


def _progress() -> "Progress | None":
    """Tells on standard error how far the search is, where a person watches."""
    if not sys.stderr.isatty():
        return None

    def told(seconds: float, best: float | None, bound: float) -> None:
        found = "no plan yet" if best is None else f"best so far {best:g}"
        click.echo(f"\r{seconds:.0f} s: {found}, none below {bound:g}   ", nl=False, err=True)

    return told
