"""The verb of a cask's history: on the screen, as JSON and on paper."""

from pathlib import Path

import click

from pourbook.cli.door import FORCE, Door, item_argument, recording
from pourbook.cli.printing import PAPER

__all__ = ["provenance_verb"]


@click.command("provenance")
@item_argument("cask")
@click.option("--at", metavar="TIME", help="As of that moment (a day counts to its end); default: now.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print it as PDF.")
@PAPER
@FORCE
@recording
def provenance_verb(door: Door, cask: str, at: str | None, output: Path | None, paper: str | None, force: bool) -> None:
    """Show the history of a cask: its wood, what it held before, how it was found, what was done to it, and each fill.

    Of each fill in this book: the spirit, its time in the cask, what a year took, and what it gave to
    trials, batches, lots and other casks. What it gave through others stands there, too, so the lines
    do not add up.

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
