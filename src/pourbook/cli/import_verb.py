"""The verb import."""

import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import FORCE, Door, options, recording, show_json
from pourbook.errors import Fault, FaultsFound, PourbookError

if TYPE_CHECKING:
    from pourbook.actions.importing import TakenIn

__all__ = ["import_verb"]

_AGAIN = click.option("--again", is_flag=True, help="Import a file that was imported before.")
_ENCODING = click.option("--encoding", metavar="NAME", help="Encoding of the CSV; default: UTF-8.")
_FAULTS = click.option("--faults", "faults_to", metavar="FILE.csv", help="Write the faults found to a CSV.")
_FAULTS_TO = options(_FAULTS, FORCE)
_of_tables = options(_AGAIN, _ENCODING, _FAULTS_TO)
_WATCHED = 20_000
"""Rows that take long enough for a person to want to see how far it is."""


@click.group("import")
def import_verb() -> None:
    """Import a house's history, casks, gauges or another house's spirit: the whole file, or nothing.

    Every fault is listed with file, row, column, value and what to do.

    \b
    Example:
      pourbook import history spreadsheets/
      pourbook import casks casks.xlsx --dry-run
      pourbook import gauges gauges.csv
      pourbook import epcis tanker.jsonld
    """


def _show(
    door: Door, what: str, path: str, take: Callable[[], "TakenIn"], *, faults_to: str | None, force: bool
) -> None:
    """Run an import and show what it did, or every fault."""
    from pourbook.documents.journal import faults_table, taken_in_shown
    from pourbook.exchange.output.writing import text_file, write_csv
    from pourbook.one_file import check_target

    tables = (Path(path, f"{table}.csv") for table in ("items", "pours"))
    never: tuple[Path | str, ...] = (*door.book.files, path, *tables)
    if faults_to:  # found out before anything is read: faults found for nothing would have to be found again
        check_target(Path(faults_to), force=force, never=never)
    try:
        done = take()
    except PourbookError as refusal:
        whole = Fault(refusal.file, 0, "", "", refusal.message, refusal.remedy)
        faults = refusal.faults if isinstance(refusal, FaultsFound) else (whole,)
        if faults_to:
            with text_file(faults_to, force=force, never=never) as file:
                write_csv(file, faults_table(faults))
        if door.json:
            show_json({"faults": [fault._asdict() for fault in faults]})
        raise
    door.show(taken_in_shown(done, what, door.style, dry_run=door.how.dry_run))


@import_verb.command("history")
@click.argument("path")
@_of_tables
@recording
def history_verb(
    door: Door, path: str, faults_to: str | None, force: bool, **asked: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Import years of items and pours: a folder with items.csv and pours.csv, or a workbook.

    \b
    Example:
      pourbook import history spreadsheets/ --dry-run
      pourbook import history history.xlsx --faults faults.csv
    """
    from pourbook.actions.importing import import_history

    with _progress() as told:
        take = lambda: import_history(door.book, door.how, path, progress=told, **asked)  # noqa: E731
        _show(door, "history", path, take, faults_to=faults_to, force=force)


@import_verb.command("casks")
@click.argument("path")
@_of_tables
@recording
def casks_verb(
    door: Door, path: str, faults_to: str | None, force: bool, **asked: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Import casks, full or empty, from one table.

    \b
    Example:
      pourbook import casks casks.csv
    """
    from pourbook.actions.importing import import_casks

    take = lambda: import_casks(door.book, door.how, path, **asked)  # noqa: E731
    _show(door, "casks", path, take, faults_to=faults_to, force=force)


@import_verb.command("gauges")
@click.argument("path")
@_of_tables
@recording
def gauges_verb(
    door: Door, path: str, faults_to: str | None, force: bool, **asked: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Import a round of gauges from one table.

    \b
    Example:
      pourbook import gauges gauges.csv
    """
    from pourbook.actions.importing import import_gauges

    take = lambda: import_gauges(door.book, door.how, path, **asked)  # noqa: E731
    _show(door, "gauges", path, take, faults_to=faults_to, force=force)


@import_verb.command("epcis")
@click.argument("path")
@click.option("--ref", default="", metavar="TEXT", help="The house's own name for the batch.")
@click.option(
    "--item",
    default="",
    metavar="ADDRESS",
    help="Class that arrived; among several shipments, the event or destination.",
)
@click.option("--strength", metavar="STRENGTH", help="Of liquid whose strength the document does not give.")
@_AGAIN
@_FAULTS_TO
@recording
def epcis_verb(
    door: Door, path: str, strength: str | None, faults_to: str | None, force: bool, **asked: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Import another house's bulk spirit with its ancestry, from an EPCIS 2.0 document (JSON-LD).

    What the document ships becomes a batch; every origin at the other house is an origin here, with
    its part, its dates and its address there. --when says when it arrived.

    \b
    Example:
      pourbook import epcis tanker.jsonld --ref "Tanker 8" --when "2026-05-04 15:00"
      pourbook import epcis tanker.jsonld --item https://corran.example/class/B000007K-112
    """
    from pourbook.actions.importing import import_epcis
    from pourbook.exchange.epcis.epcis_import import Asked

    wanted = Asked(strength=door.strength(strength), **asked)
    take = lambda: import_epcis(door.book, door.how, path, wanted)  # noqa: E731
    _show(door, "EPCIS", path, take, faults_to=faults_to, force=force)


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None]]:
    """A bar on standard error, where a person watches and there is something to wait for."""
    bar: Any = None
    with ExitStack() as stack:

        def told(done: int, total: int) -> None:
            nonlocal bar
            if sys.stderr.isatty() and total >= _WATCHED:
                bar = bar or stack.enter_context(click.progressbar(length=total, file=sys.stderr, label="pours"))
                bar.update(done - bar.pos)

        yield told
