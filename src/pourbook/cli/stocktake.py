"""The verb stocktake: scan whatever is there, beside what the book has there."""

from pathlib import Path

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import FORCE, PAPER
from pourbook.one_file import check_target, write_file

__all__ = ["stocktake_verb"]

_FILE = click.Path(path_type=Path)


@click.group("stocktake")
def stocktake_verb() -> None:
    """Take stock by scan: begin at a place or in the whole house, scan, end; nothing is written off by it.

    \b
    Example:
      pourbook stocktake open "May 2027" --place "Warehouse 2"
      pourbook stocktake scan "May 2027"
      pourbook stocktake end "May 2027" --move
    """


@stocktake_verb.command("open")
@click.argument("name")
@click.option("--place", default="", metavar="PLACE", help="Where: the place, or a scan of its tag; default: all.")
@recording
def open_verb(door: Door, name: str, place: str) -> None:
    """Begin a stocktake: whatever holds spirit and lies there by the book is expected.

    \b
    Example:
      pourbook stocktake open "May 2027" --place "Warehouse 2"
      pourbook stocktake open "Year end"
    """
    from pourbook.documents.stocktakes import stocktake_opened_shown

    door.show(stocktake_opened_shown(door.book.open_stocktake(door.how, name, place), door.style))


@stocktake_verb.command("scan")
@click.argument("name")
@click.argument("lines", nargs=-1, metavar="[LINE…]")
@recording
def scan_verb(door: Door, name: str, lines: tuple[str, ...]) -> None:
    """Scan what is there, line by line, or LINEs at once; any number of stations at once, and again after a break.

    A scan of a place's tag, or 'at Row 3/12', says where. Then whatever lies there: it is found, or the
    book has it elsewhere ('here' moves it to this place), or it is empty by the book, scanned already, or
    unknown. 'illegible' (a place or a cask may follow) is a label that cannot be read: what alone is
    missing at that place is taken for it. '?' lists what is still missing at the place, 'undo' takes the
    last scan back, 'done' or the end of input ends this station's work; the stocktake goes on.

    \b
    Example:
      pourbook stocktake scan "May 2027"
      pourbook stocktake scan "May 2027" "at Row 3/12" "Q 104"
    """
    from pourbook.actions.stocktaking import StocktakeRound
    from pourbook.documents.stocktakes import stocktake_line_shown

    door.take_lines(StocktakeRound(door.book, door.how, name).scan, stocktake_line_shown, lines)


@stocktake_verb.command("end")
@click.argument("name")
@click.option("--move", is_flag=True, help="What was seen elsewhere is there in the book from now on.")
@recording
def end_verb(door: Door, name: str, *, move: bool) -> None:
    """End a stocktake: what was found, missing, elsewhere and illegible is recorded.

    What is missing is listed by pourbook due until it is found, moved, poured from or written off.

    \b
    Example:
      pourbook stocktake end "May 2027" --move
    """
    from pourbook.documents.stocktakes import stocktake_ended_shown

    door.show(stocktake_ended_shown(door.book.end_stocktake(door.how, name, move=move), door.style))


@stocktake_verb.command("report")
@click.argument("name")
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="Print it as PDF, with lines to sign.")
@click.option("--csv", "csv_to", type=_FILE, metavar="FILE", help="Write its list as CSV, a row for each item.")
@PAPER
@FORCE
@recording
def report_verb(
    door: Door, name: str, output: Path | None, csv_to: Path | None, paper: str | None, *, force: bool
) -> None:
    """Show a stocktake as it stands, or as it ended; print it, or write its list.

    \b
    Example:
      pourbook stocktake report "May 2027"
      pourbook stocktake report "May 2027" -o stocktake.pdf --csv stocktake.csv
    """
    from pourbook.actions.print_paper import Output
    from pourbook.documents.accounts import csv_bytes
    from pourbook.documents.stocktakes import stocktake_shown, stocktake_table

    if csv_to:
        check_target(csv_to, force=force, never=door.book.files)
    printed = None
    if output:
        card, printed = door.book.print_stocktake(door.how, name, Output((output,), None, paper or "", force))
    else:
        card = door.book.stocktake_card(name)
    if csv_to:
        write_file(csv_to, csv_bytes(*stocktake_table(card, door.style)), force=force, never=door.book.files)
    door.show(stocktake_shown(card, door.style, printed, str(csv_to or "")))


@stocktake_verb.command("list")
@reading
def list_verb(door: Door) -> None:
    """List stocktakes.

    \b
    Example:
      pourbook stocktake list --json
    """
    from pourbook.documents.stocktakes import stocktakes_shown

    door.show(stocktakes_shown(door.book.stocktakes_listed(), door.style))
