"""Verbs that print papers: sheet, dossier."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, item_argument, recording
from pourbook.exchange.one_file import check_target, write_file

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Output
    from pourbook.book.entries import Paper
    from pourbook.book.recorded import Recorded
    from pourbook.paperwork.naming import PeopleBy

__all__ = ["FORCE", "dossier_verb", "record_and_write", "sheet_verb", "target_of", "write_whole"]

FORCE = click.option("--force", is_flag=True, help="Replace a file that exists.")
_PAPER = click.option("--paper", type=click.Choice(("A4", "Letter")), help="Page size; default: the house's.")
_FILE = click.Path(path_type=Path)


@click.command("sheet")
@item_argument("trial")
@_PAPER
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="The PDF; default: named after the trial.")
@FORCE
@recording
def sheet_verb(door: Door, trial: str, paper: str | None, output: Path | None, force: bool) -> None:
    """Print the bench sheet of a trial: what to pour, in order, with room for what was poured.

    \b
    Example:
      pourbook sheet T-000002-M -o bench.pdf
      pourbook sheet T-000002-M --paper Letter --json
    """
    from pourbook.documents.paper_shown import printed_shown

    printed = door.book.print_sheet(door.how, trial, _output((output,) if output else (), paper, force=force))
    door.show(printed_shown(printed, door.style))


@click.command("dossier")
@item_argument("lot")
@_PAPER
@click.option(
    "-o", "--output", "outputs", type=_FILE, multiple=True, metavar="FILE",
    help="PDF, HTML or JSON, by its ending; may be repeated. Default: a PDF named after the lot.",
)  # fmt: skip
@click.option("--people", type=click.Choice(("codes", "names")), default="codes", help="How persons are named in it.")
@FORCE
@recording
def dossier_verb(
    door: Door, lot: str, paper: str | None, outputs: tuple[Path, ...], people: "PeopleBy", force: bool
) -> None:
    """Print the dossier of a bottle lot: every cask, pour, gauge, loss, person and despatch behind it.

    PDF, HTML and JSON say the same. People are named by a code that only the house can resolve, unless
    --people names. --json also prints everything the paper says, as a document.

    \b
    Example:
      pourbook dossier L-000001-C
      pourbook dossier "Lot 2026-1" -o dossier.pdf -o dossier.html -o dossier.json
      pourbook dossier "Lot 2026-1" -o dossier.pdf --people names --paper Letter --json
    """
    from pourbook.documents.paper_shown import printed_shown

    printed = door.book.print_dossier(door.how, lot, _output(outputs, paper, force=force), people)
    door.show(printed_shown(printed, door.style))


def _output(paths: tuple[Path, ...], size: str | None, *, force: bool) -> "Output":
    from pourbook.actions.print_paper import Output

    return Output(paths, Path(), size or "", force)


# -- for verbs that print without an action of their own ---------------------------------------


def target_of(output: Path | None, name: str, *, force: bool) -> Path:
    """Where a file goes, checked before any work is done."""
    target = output or Path(name)
    check_target(target, force=force)
    return target


def write_whole(target: Path, data: bytes) -> None:
    """Put a file in its place whole, or not at all."""
    write_file(target, data, force=True)


def record_and_write(door: Door, paper: "Paper", target: Path, pdf: bytes) -> "Recorded":
    """Record a paper and put its file in place: both, or neither."""
    with door.how.transaction(door.book):
        recorded = door.how.record(door.book, paper)
        if not recorded.is_dry_run:
            write_file(target, pdf, force=True, never=door.book.store.files)
    return recorded
