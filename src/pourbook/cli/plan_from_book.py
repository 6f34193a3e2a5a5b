"""The verb plan with a book: what is asked of the batch, which casks may be chosen, and the batch that is opened."""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.batch import bottles_wanted, heel_wanted
from pourbook.cli.beside_plan import beside_book_plan
from pourbook.cli.door import Door
from pourbook.cli.options import options
from pourbook.errors import Malformed, OutOfRange

if TYPE_CHECKING:
    from pourbook.planning.recipe import Limits
    from pourbook.planning.solving import Progress
    from pourbook.quantities import Amount
    from pourbook.queries.plans.asked import PlanAsked
    from pourbook.queries.plans.candidates import Choice
    from pourbook.queries.plans.limits_table import LimitsTable

__all__ = ["book_options", "plan_from_book"]

_AIMS = {"casks": "casks", "cost": "cost", "left": "left_l", "shifts": "shifts", "distance": "distance"}
"""What a plan is to have the least of, as it is typed, and as the planner calls it."""

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

    facts = told({name: asked.pop(name) for name in ("ref", "name")})
    beside = {name: asked.pop(name) for name in ("others", "missing")}
    left_out, record_it, how_sure = (asked.pop(name) for name in ("left_out", "record_it", "how_sure"))
    wanted, book = _asked(door, asked), door.book
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


def _asked(door: Door, asked: Mapping[str, Any]) -> "PlanAsked":
    from pourbook.queries.plans.asked import PlanAsked

    style, plain = door.style, PlanAsked()
    read = _tables(asked["limits_file"])
    final, losses = asked["final"], asked["losses"]
    bottles = bottles_wanted(style, asked["bottles"], losses if asked["bottles"] else None)
    return PlanAsked(
        None if final is None else style.amount(final),
        bottles,
        None if losses is None or bottles else _losses(door, losses),
        door.strength(asked["to_strength"]),
        plain.within if asked["within"] is None else _within(style.number(asked["within"])),
        None if asked["tolerance"] is None else style.number(asked["tolerance"]),
        plain.near_years if asked["near_years"] is None else asked["near_years"],
        _limits(door, asked, read.limits),
        read.house if asked["casks_of_each"] is None else read.house._replace(casks_of_each=asked["casks_of_each"]),
        _objective(door, asked["aims"]) or read.objective or plain.objective,
        read.attributes,
        None if asked["heel"] is None else heel_wanted(door, asked["heel"]),
        _choice(door, asked),
        style.as_of(asked["on_day"]),
    )


def _tables(path: str | None) -> "LimitsTable":
    from pathlib import Path

    from pourbook.input_files import toml_tables, whole
    from pourbook.queries.plans.limits_table import LimitsTable, limits_of

    if path is None:
        return LimitsTable()
    file = Path(path)
    _, document = toml_tables(whole(file, _MOST_BYTES), file.name)
    return limits_of(document, file.name)


def _within(percent: Decimal) -> Decimal:
    if not 0 <= percent < 100:
        raise OutOfRange(f"a volume cannot be within {percent} % of what is aimed at", "give 0 to less than 100")
    return percent


def _losses(door: Door, text: str) -> "Decimal | Amount":
    from pourbook.numerals import number_and_rest

    number, unit = number_and_rest(text, door.style.mark)
    return number if unit in ("", "%") else door.style.amount(text)


def _limits(door: Door, asked: Mapping[str, Any], read: "Limits") -> "Limits":
    """Those of the file, each replaced by what was typed beside it."""
    from pourbook.alcoholometry.spirit_body import target_percent

    def litres(name: str) -> float | None:
        return None if asked[name] is None else float(door.style.amount(asked[name]).volume_ml) / 1000.0

    strength = door.strength(asked["least_strength"])
    typed = {
        "least_strength_before": None if strength is None else target_percent(strength),
        "least_age_years": asked["least_age"],
        "most_casks": asked["most_casks"],
        "most_part_casks": asked["most_part_casks"],
        "least_left_l": litres("least_left"),
        "least_taken_l": litres("least_taken"),
        "vat_l": litres("vat"),
    }
    given = {name: value for name, value in typed.items() if value is not None}
    if "least_age_years" in given:
        read = read._replace(least_age_days=None)
    return read._replace(**given)


def _objective(door: Door, aims: tuple[str, ...]) -> dict[str, float]:
    found: dict[str, float] = {}
    for text in aims:
        name, equals, weight = text.partition("=")
        if name not in _AIMS:
            raise Malformed(f"'{text}' is nothing to have the least of", f"write one of: {', '.join(_AIMS)}")
        found[_AIMS[name]] = float(door.style.number(weight)) if equals else 1.0
    if any(weight < 0 for weight in found.values()):
        raise OutOfRange("a weight below zero asks for the most", "give weights of 0 or more")
    return found


def _choice(door: Door, asked: Mapping[str, Any]) -> "Choice":
    from pourbook.queries.plans.candidates import Choice

    least, most = (0.0, None) if asked["age"] is None else door.style.between(asked["age"])
    plain = Choice()
    return Choice(
        asked["only"], asked["without"], asked["spirit"], asked["wood"], asked["previous"], asked["place"],
        int(max(0.0, least)), None if most is None or most > 1000 else int(most), 0,
        plain.gauged_within_days if asked["gauged_within"] is None else asked["gauged_within"],
        frozenset(asked["despite"]),
    )  # fmt: skip
