"""Verbs that print papers: sheet, dossier."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import FORCE, PAPER, item_argument

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Output
    from pourbook.paperwork.naming import PeopleBy

__all__ = ["dossier_verb", "sheet_verb"]

_FILE = click.Path(path_type=Path)


@click.command("sheet")
@item_argument("item")
@PAPER
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="The PDF; default: named after the item.")
@click.option("--temperature", metavar="TEMPERATURE", help="Temperature of the cellar, for the volumes of a pull list.")
@FORCE
@recording
def sheet_verb(
    door: Door, item: str, paper: str | None, output: Path | None, temperature: str | None, force: bool
) -> None:
    """Print what to pour, in order, with codes to scan and room for what was poured.

    For a trial it is the bench sheet; for a batch opened with its plan (pourbook scale-up --open) the
    pull list: casks in order of place.

    \b
    Example:
      pourbook sheet T-000002-M -o bench.pdf
      pourbook sheet T-000002-M --paper Letter --json
      pourbook sheet B-000002-W --temperature 12
    """
    from pourbook.documents.labels import printed_shown

    celsius = None if temperature is None else door.style.celsius(temperature)
    target = _output((output,) if output else (), paper, force=force)
    printed = door.book.print_sheet(door.how, item, target, celsius)
    door.show(printed_shown(printed, door.style))


@click.command("dossier")
@item_argument("lot")
@PAPER
@click.option(
    "-o", "--output", "outputs", type=_FILE, multiple=True, metavar="FILE",
    help="PDF, HTML or JSON, by its ending; may be repeated. Default: a PDF named after the lot.",
)  # fmt: skip
@click.option("--people", type=click.Choice(("codes", "names")), default="codes", help="How people are named.")
@click.option("--at", metavar="TIME", help="The lot as it stood then (a day counts to its end); default: now.")
@click.option("--as-known-at", "known", type=int, metavar="ENTRY", help="What the book knew after that entry.")
@FORCE
@recording
def dossier_verb(
    door: Door, lot: str, paper: str | None, outputs: tuple[Path, ...], people: "PeopleBy", at: str | None,
    known: int | None, force: bool,
) -> None:  # fmt: skip
    """Print the dossier of a bottle lot: every cask, pour, gauge, loss, person and despatch behind it.

    PDF, HTML and JSON say the same. People stand there by codes that only the house can resolve,
    unless --people names. --json also prints everything the paper says.

    --at leaves out what happened later, --as-known-at what was recorded later, so that an earlier paper
    can be made again. The paper says so on its first page.

    \b
    Example:
      pourbook dossier L-000001-C
      pourbook dossier "Lot 2026-1" -o dossier.pdf -o dossier.html -o dossier.json
      pourbook dossier "Lot 2026-1" -o dossier.pdf --people names --paper Letter --json
      pourbook dossier "Lot 2026-1" --at 2026-06-30 -o june.pdf
      pourbook dossier "Lot 2026-1" --as-known-at 117 -o again.pdf -o again.json
    """
    from pourbook.book.as_it_stood import AsOf
    from pourbook.documents.labels import printed_shown

    as_of = AsOf(door.style.as_of(at), known)
    printed = door.book.print_dossier(door.how, lot, _output(outputs, paper, force=force), people, as_of)
    door.show(printed_shown(printed, door.style))


def _output(paths: tuple[Path, ...], size: str | None, *, force: bool) -> "Output":
    from pourbook.actions.print_paper import Output

    return Output(paths, Path(), size or "", force)
