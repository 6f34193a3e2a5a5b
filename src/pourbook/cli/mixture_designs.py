"""Designs of trials: `mixture vertices` and `mixture design`, part of the verb `mixture`."""

from fractions import Fraction
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import options, pair
from pourbook.errors import Malformed
from pourbook.numerals import with_mark

if TYPE_CHECKING:
    from pourbook.mixtures.designs import Design, Request
    from pourbook.mixtures.regions import Blend, Region
    from pourbook.mixtures.terms import Model
    from pourbook.queries.trials.flight_plan import FlightAsked
    from pourbook.uncertainty.instrument_errors import InstrumentErrors

__all__ = ["bounds_options", "design_command", "region_options", "region_typed", "vertices_command"]

region_options = options(
    click.option("--whole", metavar="NUMBER", help="Of which bounds are parts; default: 1, or 100 if one is above 1."),
    click.option(
        "--limits", metavar="FILE.csv",
        help="Further limits: lower, upper, and a column for each component with what it counts.",
    ),
)  # fmt: skip
bounds_options = options(click.argument("bounds", metavar="BOUNDS.csv"), region_options)


def region_typed(door: Door, bounds: str, whole: str | None, limits: str | None) -> "Region":
    """The region of the files named."""
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.mixtures.region_table import BOUNDS_COLUMNS, limits_of, region_of

    number, mark = door.style.number, door.style.mark
    source = one_table(bounds, "bounds")
    table = plain_table(source, BOUNDS_COLUMNS, mark)
    of = None if whole is None else Fraction(number(whole))
    if of is not None and of <= 0:
        raise Malformed(f"a whole of {whole}", "give one above zero, such as 100")
    region = region_of(source.name, table.headings, table.rows, number, of)
    if limits is None:
        return region
    source = one_table(limits, "limits")
    table = plain_table(source, region.components, mark)
    return region._replace(limits=limits_of(source.name, table.headings, table.rows, number, region.components))


def _tried(door: Door, path: str | None, region: "Region") -> "tuple[Blend, ...]":
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.mixtures.region_table import blends_of

    if path is None:
        return ()
    source = one_table(path, "tried")
    table = plain_table(source, region.components, door.style.mark)
    return blends_of(source.name, table.headings, table.rows, door.style.number, region.components)


@click.command("vertices")
@bounds_options
@click.option("--centroids", is_flag=True, help="With the centroids of edges, of faces and of the whole.")
@reading
def vertices_command(door: Door, bounds: str, whole: str | None, limits: str | None, centroids: bool) -> None:
    """Show the corners of what bounds allow, and what each component really reaches.

    BOUNDS.csv has the columns component, lower, upper: fractions, or per cent. Vertices are the blends
    with as many bounds at work at once as can be; every blend within lies between them.

    \b
    Example:
      pourbook mixture vertices bounds.csv
      pourbook mixture vertices bounds.csv --centroids --json
      pourbook mixture vertices bounds.csv --limits limits.csv
    """
    from pourbook.documents.mixture_designs import vertices_shown

    door.show(vertices_shown(region_typed(door, bounds, whole, limits), door.style, centroids=centroids))


@click.command("design")
@bounds_options
@click.option("--glasses", type=click.IntRange(min=1), metavar="N", help="How many to pour, repeats and all.")
@click.option(
    "--model",
    type=click.Choice(("linear", "quadratic", "special-cubic")),
    default="quadratic",
    show_default=True,
    help="What the glasses are to tell: components alone, every two, every three.",
)
@click.option(
    "--criterion",
    type=click.Choice(("D", "I")),
    default="D",
    show_default=True,
    help="What is to be sure: the coefficients (D), or the predictions (I).",
)
@click.option("--repeats", type=click.IntRange(min=0), default=0, metavar="N", help="How many are a blend again.")
@click.option(
    "--days",
    type=click.IntRange(min=1),
    default=1,
    metavar="N",
    help="On how many days, or from how many sets of vials.",
)
@click.option("--tried", metavar="FILE.csv", help="Blends tasted already: a column of parts for each component.")
@click.option("--lattice", type=click.IntRange(min=1), metavar="STEPS", help="A lattice instead, in so many steps.")
@click.option(
    "--centroid", is_flag=True, help="A simplex centroid design instead: each alone, two, three … in equal parts."
)
@click.option("--total", metavar="VOLUME", help="Of each glass: what to pour of which vial, from the book.")
@click.option("--mark", metavar="VOLUME", help="What volumes are read to; default: 0.1 ml.")
@click.option(
    "--use", "uses", multiple=True, metavar="COMPONENT=ITEM", help="The vial for a component that is not called so."
)
@click.option(
    "--instrument",
    "instruments",
    multiple=True,
    metavar="[COMPONENT=]INSTRUMENT",
    help="What pours it; or all the rest.",
)
@click.option("--record", is_flag=True, help="Compose a trial for each glass.")
@click.option("--name", metavar="TEXT", default="", help="Of the trials, before the number of the glass.")
@recording
def design_command(
    door: Door, bounds: str, whole: str | None, limits: str | None, glasses: int | None, model: "Model", criterion: str,
    repeats: int, days: int, tried: str | None, lattice: int | None, centroid: bool, total: str | None,
    mark: str | None, uses: tuple[str, ...], instruments: tuple[str, ...], record: bool, name: str,
) -> None:  # fmt: skip
    """Choose the glasses that teach most about a model of blends, within bounds; with --total, what to pour.

    Components are then items of the book (a vial by its ref or number, water), components of the house,
    or whatever --use says. Volumes are rounded to --mark; what every vial must hold, what rounding does
    and in which order to pour is said, and with --instrument which portions are too small for it (± more than
    a tenth of them). --record makes every glass a trial.

    \b
    Example:
      pourbook mixture design bounds.csv --glasses 12 --model quadratic
      pourbook mixture design bounds.csv --glasses 12 --repeats 3 --days 2 --json
      pourbook mixture design bounds.csv --glasses 5 --tried tasted.csv
      pourbook mixture design bounds.csv --lattice 2
      pourbook mixture design bounds.csv --glasses 8 --total "40 ml" --use heather=V-000003-N
          --instrument "graduated pipette A 25 ml" --instrument heather="graduated pipette A 5 ml"
      pourbook mixture design bounds.csv --glasses 8 --total "40 ml" --record --name "Ostrewick, spring"
    """
    from pourbook.documents.mixture_designs import design_shown, flight_composed_shown, flight_shown
    from pourbook.mixtures.designs import Request

    if record and total is None:
        raise Malformed("how large a trial is to be is not said", "give --total, such as '40 ml'")
    region = region_typed(door, bounds, whole, limits)
    asked = Request(glasses or 0, model, "I" if criterion == "I" else "D", repeats, days, _tried(door, tried, region))
    found = _design(region, asked, lattice, centroid=centroid)
    if total is None:
        door.show(design_shown(region, asked, found, door.style))
        return
    poured = _flight_asked(
        door, region, asked, found, (total, mark or with_mark("0.1 ml", door.style.mark)), uses, instruments
    )
    if record:
        from pourbook.actions.composing_flight import compose_flight

        composed = compose_flight(door.book, door.how, poured, name)
        door.show(flight_composed_shown(poured, composed, door.style))
        return
    from pourbook.queries.trials.flight_plan import flight_plan

    door.show(flight_shown(poured, flight_plan(door.book, poured), door.style))


def _design(region: "Region", asked: "Request", lattice: int | None, *, centroid: bool) -> "Design":
    from pourbook.mixtures.designs import design, laid_out
    from pourbook.mixtures.lattices import lattice as lattice_of
    from pourbook.mixtures.lattices import simplex_centroids

    if (asked.glasses > 0) + (lattice is not None) + centroid != 1:
        raise Malformed("how many glasses is not said", "give one of --glasses, --lattice and --centroid")
    if asked.glasses:
        return design(region, asked)
    if asked.repeats or asked.blocks > 1:
        raise Malformed("--repeats and --days are of a choice of glasses", "leave them out, or give --glasses")
    return laid_out(region, simplex_centroids(region) if lattice is None else lattice_of(region, lattice), asked)


def _flight_asked(
    door: Door, region: "Region", asked: "Request", found: "Design", volumes: tuple[str, str], uses: tuple[str, ...],
    instruments: tuple[str, ...],
) -> "FlightAsked":  # fmt: skip
    """What is to be poured, and by what."""
    from pourbook.queries.gauges.named_instruments import errors_of
    from pourbook.queries.trials.flight_plan import FlightAsked

    taken = dict(pair(text, "COMPONENT=ITEM", "heather=V-000003-N") for text in uses)
    by: dict[str, InstrumentErrors] = {}
    for text in sorted(instruments, key=lambda text: "=" in text):  # the general first, so that a name overrides it
        component, _, said = text.rpartition("=")
        errors = errors_of(door.book, door.style, said, "volume")
        by |= {component: errors} if component else dict.fromkeys(region.components, errors)
    for name in (*taken, *by):
        if name not in region.components:
            raise Malformed(f"'{name}' is no component of the design", f"they are: {', '.join(region.components)}")
    total, mark = map(door.style.amount, volumes)
    return FlightAsked(region, asked, found, total, mark, by, taken)
