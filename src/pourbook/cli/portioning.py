"""Verbs that say how sure a trial is as poured: distinguish, enough, portions."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pourbook.cli.door import Door, item_argument, reading
from pourbook.cli.figures import house_mark, read_amount, read_decimal, shown
from pourbook.cli.output import show_json, show_table
from pourbook.cli.sureness import BASIS, coverage_factor, document_of, factor_option, instrument_named
from pourbook.cli.typed import show_lines
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, OutOfRange

if TYPE_CHECKING:
    from pourbook.uncertainty.instrument_errors import InstrumentErrors
    from pourbook.uncertainty.portions import Distinction, Portion

__all__ = ["distinguish_verb", "enough_verb", "portions_verb"]

_Verb = TypeVar("_Verb", bound=Callable[..., Any])


def _trial_options(verb: _Verb) -> _Verb:
    for option in reversed(
        (
            click.argument("first", metavar="FIRST"),
            click.argument("second", metavar="SECOND"),
            click.option(
                "--by", required=True, metavar="INSTRUMENT", help="What pours it: 'graduated pipette A 10 ml'."
            ),
            click.option("--rest-by", metavar="INSTRUMENT", help="What pours all else; taken as exact without it."),
            click.option("--two-pipettes", is_flag=True, help="Each trial has a pipette of its own, of that kind."),
            click.option("--factor", default="2", metavar="NUMBER", help="Times its standard uncertainty; 2."),
        )
    ):
        verb = option(verb)
    return verb


def _percents(first: str, second: str) -> tuple[float, float]:
    one, two = (float(read_decimal(text.replace("%", ""))) / 100.0 for text in (first, second))
    return one, two


def _pipettes(door: Door, by: str, rest_by: str | None) -> "tuple[InstrumentErrors, InstrumentErrors | None]":
    return instrument_named(door, by, "volume"), None if rest_by is None else instrument_named(door, rest_by, "volume")


@click.command("distinguish")
@_trial_options
@click.option("--total", default="100 ml", metavar="VOLUME", help="Of each trial; 100 ml by default.")
@reading
def distinguish_verb(
    door: Door, first: str, second: str, by: str, rest_by: str | None, two_pipettes: bool, factor: str, total: str,
) -> None:  # fmt: skip
    """Whether two per cents of a component differ by more than the error of what pours it.

    Two pours by one pipette share its error, which all but cancels in their difference.

    \b
    Example:
      pourbook distinguish 7 8 --by "graduated pipette A 10 ml" --total "100 ml"
      pourbook distinguish 7 8 --by "cylinder A 25 ml" --rest-by "cylinder A 100 ml" --two-pipettes --json
    """
    from pourbook.uncertainty.portions import distinguished

    k, (one, two), (pipette, rest) = coverage_factor(factor), _percents(first, second), _pipettes(door, by, rest_by)
    total_ml = float(read_amount(total).volume_ml)
    told = distinguished(one, two, total_ml, pipette, rest, two_pipettes=two_pipettes)
    apart = distinguished(one, two, total_ml, pipette, rest, two_pipettes=True)
    if door.json:
        show_json(_told_document(told, k, total_ml) | {"difference_by_two_pipettes": document_of(apart.difference)})
        return
    lines = _told_lines(told)
    if not two_pipettes:
        lines.append(("two pipettes", f"{(100 * apart.difference).shown(house_mark())} % by two of the kind"))
    show_lines(lines)
    larger = "yes, the difference is larger" if told.sure(k) else "no, the difference is not larger"
    click.echo(f"{larger} than {k:g} times its standard uncertainty")
    click.echo(BASIS, err=True)


def _told_document(told: "Distinction", factor: float, total_ml: float) -> dict[str, Any]:
    return {
        "first": document_of(told.first),
        "second": document_of(told.second),
        "difference": document_of(told.difference),
        "times": told.times if told.difference.standard else None,
        "factor": factor,
        "distinguishable": told.sure(factor),
        "total_ml": total_ml,
    }


def _told_lines(told: "Distinction") -> list[tuple[str, str]]:
    times = f", {shown(told.times, 1)} times its standard uncertainty" if told.difference.standard else ""
    return [
        ("first", f"{(100 * told.first).shown(house_mark())} %"),
        ("second", f"{(100 * told.second).shown(house_mark())} %"),
        ("difference", f"{(100 * told.difference).shown(house_mark())} %{times}"),
    ]


@click.command("enough")
@_trial_options
@reading
def enough_verb(
    door: Door, first: str, second: str, by: str, rest_by: str | None, two_pipettes: bool, factor: str
) -> None:  # fmt: skip
    """How large a trial must be so that two per cents of a component can be told apart.

    \b
    Example:
      pourbook enough 7 8 --by "graduated pipette A 10 ml"
      pourbook enough 1 1.5 --by "cylinder A 25 ml" --rest-by "cylinder A 100 ml" --factor 5 --json
    """
    from pourbook.uncertainty.portions import distinguished, least_total_ml

    k, (one, two), (pipette, rest) = coverage_factor(factor), _percents(first, second), _pipettes(door, by, rest_by)
    least = least_total_ml(one, two, pipette, rest, factor=k, two_pipettes=two_pipettes)
    told = distinguished(one, two, float(least), pipette, rest, two_pipettes=two_pipettes)
    apart = least if two_pipettes else _least_or_none(one, two, pipette, rest, k)
    if door.json:
        show_json(_told_document(told, k, float(least)) | {"least_by_two_pipettes_ml": apart})
        return
    lines = [("least trial", f"{least} ml"), *_told_lines(told)]
    if not two_pipettes:
        lines.append(
            ("two pipettes", "no trial is large enough" if apart is None else f"{apart} ml by two of the kind")
        )
    show_lines(lines)
    click.echo(BASIS, err=True)


def _least_or_none(
    first: float, second: float, pipette: "InstrumentErrors", rest: "InstrumentErrors | None", factor: float
) -> int | None:
    from pourbook.uncertainty.portions import least_total_ml

    try:
        return least_total_ml(first, second, pipette, rest, factor=factor, two_pipettes=True)
    except OutOfRange:
        return None


@click.command("portions")
@item_argument("trial", required=False)
@click.option("--part", "parts", multiple=True, metavar="NAME=PARTS", help="A component of a trial not in the book.")
@click.option("--total", default="100 ml", metavar="VOLUME", help="Volumes to pour, together; 100 ml by default.")
@click.option("--by", multiple=True, required=True, metavar="[NAME=]INSTRUMENT", help="What pours it; or all the rest.")
@factor_option
@reading
def portions_verb(
    door: Door, trial: str | None, parts: tuple[str, ...], total: str, by: tuple[str, ...], factor: str
) -> None:
    """How sure each portion of a planned trial is, with the instruments that pour it.

    \b
    Example:
      pourbook portions --part base=70 --part sherry=23 --part peat=7 --total "100 ml"
          --by "cylinder A 100 ml" --by peat="graduated pipette A 10 ml"
      pourbook portions T-000002-M --by "burette A/0.1 50 ml" --json
    """
    from pourbook.uncertainty.portions import portions

    k = coverage_factor(factor)
    volumes = _volumes(door, trial, parts, total)
    found = portions(volumes, _pourers(door, by, volumes))
    if door.json:
        show_json(
            {
                name: {"volume_ml": document_of(part.volume_ml), "fraction": document_of(part.fraction),
                       "fillings": part.fillings}
                for name, part in found.items()
            }
        )  # fmt: skip
        return
    rows = [_portion_row(name, part, k) for name, part in found.items()]
    show_table(("component", " ml", " %", " of itself (%)", " fillings"), rows)
    click.echo(BASIS, err=True)


def _portion_row(name: str, part: "Portion", factor: float) -> tuple[str, ...]:
    return (
        hyphened(name) if name[0].isupper() and name[1:2].isdigit() else name,
        part.volume_ml.shown(house_mark(), factor=factor),
        (100 * part.fraction).shown(house_mark(), factor=factor),
        shown(100 * part.fraction.relative * factor, 2),
        str(part.fillings),
    )


def _volumes(door: Door, trial: str | None, parts: tuple[str, ...], total: str) -> dict[str, float]:
    """What to pour, from the book's plan of a trial or from the parts typed."""
    if (trial is None) == (not parts):
        raise Malformed("one trial is needed", "name a trial of the book, or give its components with --part")
    if trial is not None:
        from pourbook.queries.trials.trial_plan import plan_of

        return {pour.component: pour.volume_ml for pour in plan_of(door.book.store, door.book.find(trial)).pours}
    from pourbook.bench.trials import fractions

    pairs = [text.rpartition("=") for text in parts]
    if not all(name and equals for name, equals, _ in pairs):
        raise Malformed(f"'{' '.join(parts)}' is not NAME=PARTS", "write it like peat=7")
    total_ml = float(read_amount(total).volume_ml)
    return {
        name: float(part) * total_ml
        for name, part in fractions(((name, part) for name, _, part in pairs), house_mark()).items()
    }


def _pourers(door: Door, by: tuple[str, ...], volumes: dict[str, float]) -> "dict[str, InstrumentErrors]":
    """The instrument of each component: its own, or the one that serves all the rest."""
    found: dict[str, InstrumentErrors] = {}
    for text in sorted(by, key=lambda text: "=" in text):  # the general first, so that a name overrides it
        name, equals, said = text.rpartition("=")
        if not equals:
            found |= dict.fromkeys(volumes, instrument_named(door, said, "volume"))
        elif name in volumes:
            found[name] = instrument_named(door, said, "volume")
        else:
            found[door.book.find(name)] = instrument_named(door, said, "volume")
    return found
