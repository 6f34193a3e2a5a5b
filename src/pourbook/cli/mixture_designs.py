"""Designs of trials: `mixture vertices` and `mixture design`, part of the verb `mixture`."""

from fractions import Fraction
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.mixtures.regions import Blend, Region
    from pourbook.mixtures.terms import Model

__all__ = ["bounds_options", "design_command", "region_typed", "vertices_command"]

bounds_options = options(
    click.argument("bounds", metavar="BOUNDS.csv"),
    click.option("--whole", metavar="NUMBER", help="Of which bounds are parts; default: 1, or 100 if one is above 1."),
    click.option(
        "--limits", metavar="FILE.csv",
        help="Further limits: lower, upper, and a column for each component with what it counts.",
    ),
)  # fmt: skip


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
@click.option("--days", type=click.IntRange(min=1), default=1, metavar="N", help="Over how many days; default: 1.")
@click.option("--tried", metavar="FILE.csv", help="Blends tasted already: a column of parts for each component.")
@click.option("--lattice", type=click.IntRange(min=1), metavar="STEPS", help="A lattice instead, in so many steps.")
@click.option(
    "--centroid", is_flag=True, help="A simplex centroid design instead: each alone, two, three … in equal parts."
)
@reading
def design_command(
    door: Door, bounds: str, whole: str | None, limits: str | None, glasses: int | None, model: "Model", criterion: str,
    repeats: int, days: int, tried: str | None, lattice: int | None, centroid: bool,
) -> None:  # fmt: skip
    """Choose the glasses that teach most about a model of blends, within bounds.

    \b
    Example:
      pourbook mixture design bounds.csv --glasses 12 --model quadratic
      pourbook mixture design bounds.csv --glasses 12 --repeats 3 --days 2 --json
      pourbook mixture design bounds.csv --glasses 5 --tried tasted.csv
      pourbook mixture design bounds.csv --lattice 2
    """
    from pourbook.documents.mixture_designs import design_shown
    from pourbook.mixtures.designs import Request, design, laid_out
    from pourbook.mixtures.lattices import lattice as lattice_of
    from pourbook.mixtures.lattices import simplex_centroids

    if (glasses is not None) + (lattice is not None) + centroid != 1:
        raise Malformed("how many glasses is not said", "give one of --glasses, --lattice and --centroid")
    region = region_typed(door, bounds, whole, limits)
    asked = Request(glasses or 0, model, "I" if criterion == "I" else "D", repeats, days, _tried(door, tried, region))
    if glasses is not None:
        found = design(region, asked)
    else:
        if repeats or days > 1:
            raise Malformed("--repeats and --days are of a choice of glasses", "leave them out, or give --glasses")
        points = simplex_centroids(region) if lattice is None else lattice_of(region, lattice)
        found = laid_out(region, points, asked)
    door.show(design_shown(region, asked, found, door.style))
