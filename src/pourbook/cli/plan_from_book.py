"""The verb plan with a book: what is asked of the batch, which casks may be chosen, and the batch that is opened."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.beside_plan import beside_book_plan
from pourbook.cli.door import Door
from pourbook.cli.options import heel_typed, options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.planning.solving import Progress
    from pourbook.queries.plans.limits_table import LimitsTable

__all__ = ["book_options", "plan_from_book"]

_AIMS = ("casks", "cost", "left", "shifts", "distance")
"""What a plan is to have the least of; `queries.plans.typed` reads them, which is not loaded for every verb."""

_MOST_BYTES = 1_000_000
"""Of a file of limits."""

_COUNT = click.IntRange(min=0)

_DESPITE = ("fault", "pending", "old-gauge")

book_options = options(
    click.option("--final", metavar="VOLUME", help="Of the finished batch, all water included."),
    click.option("--bottles", multiple=True, metavar="NUMBER x SIZE", help="To fill; instead of --final."),
    click.option("--losses", metavar="PER CENT|VOLUME", help="Losses while bottling, of what is filled."),
    click.option("--to", "to_strength", metavar="STRENGTH", help="To which it is reduced; default: that of WHAT."),
    click.option("--within", metavar="PERCENT", help="By how much the volume may miss; default: 2."),
    click.option("--tolerance", metavar="PARTS", help="In a hundred, of parts without bounds; default: a tenth of it."),
    click.option("--heel", metavar="BATCH=AMOUNT", help="Liquid left in the vat that goes into this batch."),
    click.option("--aim", "aims", multiple=True, metavar="WHAT[=WEIGHT]", help=f"Least of: {', '.join(_AIMS)}."),
    click.option("--limits", "limits_file", metavar="FILE.toml", help="Limits, house, objective, attributes: tables."),
    click.option("--most-casks", type=_COUNT, metavar="NUMBER", help="Casks opened, at most."),
    click.option("--most-part-casks", type=_COUNT, metavar="NUMBER", help="Casks opened and not emptied, at most."),
    click.option("--casks-of-each", type=_COUNT, metavar="NUMBER", help="Casks of each component, at least."),
    click.option("--least-left", metavar="VOLUME", help="Stays in a cask that is not emptied."),
    click.option("--least-taken", metavar="VOLUME", help="Taken from a cask that is not emptied."),
    click.option("--vat", metavar="VOLUME", help="What the vat holds."),
    click.option("--least-age", type=_COUNT, metavar="YEARS", help="Of the youngest spirit."),
    click.option("--least-strength", metavar="STRENGTH", help="Before water."),
    click.option("--only", multiple=True, metavar="CASK", help="Choose from these alone. May be repeated."),
    click.option("--not", "without", multiple=True, metavar="CASK", help="Do not choose it. May be repeated."),
    click.option("--spirit", default="", metavar="WORDS", help="Only casks of this spirit."),
    click.option("--wood", default="", metavar="WORDS", help="Only casks of this wood."),
    click.option("--previous", default="", metavar="WORDS", help="Only casks that held this before."),
    click.option("--place", default="", metavar="PLACE", help="Only casks there: 'Warehouse 2'."),
    click.option("--age", metavar="YEARS", help="Only casks of so many years: 8..14."),
    click.option("--near-years", type=_COUNT, metavar="YEARS", help="Age of a cask beside that it stands in for."),
    click.option("--gauged-within", type=_COUNT, metavar="DAYS", help="How old a gauge may be; default: 1096."),
    click.option("--despite", multiple=True, type=click.Choice(_DESPITE), help="Overlook it in a cask."),
    click.option("--on", "on_day", metavar="DAY", help="Of the pull (a day counts to its end); default: now."),
    click.option("--how-sure", is_flag=True, help="Say how sure it is that limits hold, though gauges err."),
    click.option("--left-out", is_flag=True, help="List the casks that do not qualify, and why."),
    click.option("--record", "record_it", is_flag=True, help="Open the batch with the plan; nothing is poured by it."),
    click.option("--ref", metavar="TEXT", help="The house's own name for the batch."),
    click.option("--name", metavar="TEXT", help="What it is called."),
)  # fmt: skip
"""What is asked of a plan from a book; above `status_options`."""


def plan_from_book(door: Door, what: str, seconds: float, progress: "Progress | None", asked: dict[str, Any]) -> None:
    """Plan a batch after a recipe, a trial or a batch, and open it where that is asked."""
    from pourbook.actions.movement import told
    from pourbook.documents.book_plans import book_plan_shown, plan_opened_shown
    from pourbook.planning.plan import Plan
    from pourbook.planning.why_not import why_not
    from pourbook.queries.plans.typed import asked_typed

    facts = told({name: asked.pop(name) for name in ("ref", "name")})
    beside = {name: asked.pop(name) for name in ("others", "missing")}
    left_out, record_it, how_sure = (asked.pop(name) for name in ("left_out", "record_it", "how_sure"))
    book, heel = door.book, asked.pop("heel")
    asked["heel"] = None if heel is None else heel_typed(heel)
    wanted = asked_typed(door.style, asked, _tables(asked.pop("limits_file")))
    if record_it and (beside["others"] or beside["missing"] is not None):
        raise Malformed("other plans are compared before the batch is opened", "ask without --record")
    if facts and not record_it:
        raise Malformed("a name is that of a batch that is opened", "add --record")
    if record_it:
        answer = book.plan_and_open(door.how, what, wanted, facts, door.status, seconds=seconds, progress=progress)
        planned = answer.planned
    else:
        planned = book.plan(what, wanted, seconds=seconds, progress=progress)
    sure = book.how_sure_of_plan(planned) if how_sure and isinstance(planned.found, Plan) else None
    if planned.found is None:
        casks = [one.cask for one in planned.candidates.found]
        why = why_not(planned.recipe.recipe, casks, seconds=seconds)
        door.show(book_plan_shown(planned, None, door.style, left_out=left_out, why=why))
    elif record_it:
        door.show(plan_opened_shown(answer, book.repeats(planned), door.style, sure, left_out=left_out))
    else:
        shown = book_plan_shown(planned, book.repeats(planned), door.style, sure, left_out=left_out)
        if isinstance(planned.found, Plan):
            shown = beside_book_plan(door, shown, planned, planned.found, seconds, beside)
        door.show(shown)
    if not isinstance(planned.found, Plan):
        raise click.exceptions.Exit(1)


def _tables(path: str | None) -> "LimitsTable":
    from pathlib import Path

    from pourbook.input_files import toml_tables, whole
    from pourbook.queries.plans.limits_table import LimitsTable, limits_of

    if path is None:
        return LimitsTable()
    file = Path(path)
    _, document = toml_tables(whole(file, _MOST_BYTES), file.name)
    return limits_of(document, file.name)
