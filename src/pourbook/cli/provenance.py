"""Verbs of the history of casks: provenance, casks."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import AT, FORCE, PAPER, item_argument, list_options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.queries.casks.best import Figure, Told

__all__ = ["casks_verb", "provenance_verb"]

_YEARS = click.IntRange(min=0)


@click.command("provenance")
@item_argument("cask")
@AT
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print it as PDF.")
@PAPER
@FORCE
@recording
def provenance_verb(door: Door, cask: str, at: str | None, output: Path | None, paper: str | None, force: bool) -> None:
    """Show the history of a cask: its wood, what it held before, how it was found, what was done to it, and each fill.

    For each fill in this book: the spirit, its time in the cask, its yearly loss, and what it gave to
    trials, batches, lots and other casks. What it gave through others is listed, too, so the lines do
    not add up.

    \b
    Example:
      pourbook provenance "Q 31"
      pourbook provenance "Q 31" -o cask.pdf
      pourbook provenance C-000001-H --at 2024-12-31 --json
    """
    from pourbook.documents.casks import provenance_shown

    at_us = door.style.as_of(at)
    if output is None:
        door.show(provenance_shown(door.book.provenance(cask, at_us), door.style))
        return
    from pourbook.actions.print_paper import Output

    told = door.book.print_provenance(door.how, cask, Output((output,), None, paper or "", force), at_us)
    door.show(provenance_shown(told[0], door.style, told[1]))


@click.command("casks")
@click.option("--previous", metavar="WORDS", default="", help="Words that name what it held before, here or elsewhere.")
@click.option("--wood", metavar="WORDS", default="", help="Words that describe its wood.")
@click.option("--toast", metavar="WORDS", default="", help="Words that describe its toast.")
@click.option("--char", metavar="WORDS", default="", help="Words that describe its char.")
@click.option("--cooper", metavar="WORDS", default="", help="Words that name who made it.")
@click.option("--spirit", metavar="WORDS", default="", help="Words that name the spirit in it.")
@click.option("--place", metavar="PLACE", help="Only at this place.")
@click.option("--fill", "which", metavar="FILL", help="Its present fill: first, refill, or its number.")
@click.option("--min-age", "least_years", type=_YEARS, metavar="YEARS", help="Completed years in wood, at least.")
@click.option("--max-age", "most_years", type=_YEARS, metavar="YEARS", help="Completed years in wood, at most.")
@click.option("--best", is_flag=True, help="Instead: which casks stand behind the blends liked best.")
@click.option("--told-by", type=click.Choice(("cask", "wood", "cooper", "previous")), help="Casks with --best by it.")
@click.option("--by", "figure", type=click.Choice(("score", "liking")), help="With --best; default: score.")
@AT
@list_options
@reading
def casks_verb(
    door: Door, which: str | None, at: str | None, everything: bool, limit: int | None, *, best: bool,
    told_by: Any, figure: Any, **asked: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """List casks that hold spirit, chosen by their history, with that history and what they hold.

    WORDS are whole words in any case. A cask whose fills before this book were not recorded is counted
    by the fills in this book alone. A cask of unknown age meets neither --min-age nor --max-age.

    With --best, every cask that is in a tasted trial, batch or lot, also an empty one, with the mean of
    their scores, weighted by its share of the spirit; or their woods, coopers or previous contents. A
    blend's score is that of all its casks. Whether one stands out is judged by each taster's own mean, and
    decides the order; fewer than two tasters, or a single blend, are too few notes to say.

    \b
    Example:
      pourbook casks --previous "fortified wine" --fill first
      pourbook casks --wood "European oak" --min-age 8 --place "Warehouse 2, row 7"
      pourbook casks --spirit "rye spirit" --toast heavy --json
      pourbook casks --best --told-by cooper
    """
    from itertools import islice

    if best:
        narrowed = bool(which) or any(map(_is_asked, asked.values()))
        _show_best(door, figure or "score", told_by or "cask", at, narrowed=narrowed)
        return
    if told_by or figure:
        raise Malformed("--told-by and --by are for casks behind the best blends", "give --best, too")
    from pourbook.documents.casks import casks_shown
    from pourbook.queries.casks.choosing import Wanted, casks

    least, most = _fills(which)
    wanted = Wanted(**asked, least_fills=least, most_fills=most)
    most = door.most(limit, everything=everything)
    found = casks(door.book, wanted, door.style.as_of(at))
    door.show_list(casks_shown(islice(found, most), door.style), most, "first")


def _is_asked(value: object) -> bool:
    return value not in ("", None)


def _show_best(door: Door, figure: "Figure", told_by: "Told", at: str | None, *, narrowed: bool) -> None:
    """Casks behind the blends liked best."""
    from pourbook.documents.casks import best_casks_shown
    from pourbook.queries.casks.best import best_casks

    if narrowed:
        raise Malformed("--best is of all casks", "leave the other options out, but for --told-by, --by and --at")
    door.show(best_casks_shown(best_casks(door.book, figure, told_by, door.style.as_of(at)), door.style))


def _fills(which: str | None) -> tuple[int, int | None]:
    """The least and the most fills that are asked for."""
    if which is None:
        return 0, None
    if which == "refill":
        return 2, None
    number = "1" if which == "first" else which
    if not number.isdecimal() or not int(number):
        raise Malformed(f"'{which}' is not a fill", "write first, refill, or a number from 1")
    return int(number), int(number)
