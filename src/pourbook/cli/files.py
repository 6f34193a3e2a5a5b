"""The verb import: files taken in."""

import csv
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.output import show_json
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Fault, FaultsFound, PourbookError, StoreError
from pourbook.numerals import counted
from pourbook.words.figure_words import in_grams

if TYPE_CHECKING:
    from pourbook.exchange.intake.intake import TakenIn

__all__ = ["import_verb"]

_AGAIN = click.option("--again", is_flag=True, help="Take in a file that was imported before.")
_ENCODING = click.option("--encoding", metavar="NAME", help="Of the CSV; UTF-8 by default.")
_FAULTS = click.option("--faults", "faults_to", metavar="FILE.csv", help="Write the faults found to a CSV.")


@click.group("import")
def import_verb() -> None:
    """Take in files: a house's history, casks, gauges, another house's spirit. All of a file, or nothing of it.

    Every fault is listed with file, row, column, value and what to do.

    \b
    Example:
      pourbook import history spreadsheets/
      pourbook import casks casks.xlsx --dry-run
      pourbook import gauges gauges.csv
      pourbook import epcis tanker.jsonld
    """


def _taken(door: Door, take: Callable[[], "TakenIn"], what: str, faults_to: str | None) -> None:
    """Run an import and tell what it did, or every fault."""
    if faults_to:
        _check_writable(Path(faults_to))
    try:
        found = take()
    except PourbookError as refusal:
        whole = Fault(refusal.file, 0, "", "", refusal.message, refusal.remedy)
        faults = refusal.faults if isinstance(refusal, FaultsFound) else (whole,)
        if faults_to:
            _write_faults(faults_to, faults)
        if door.json:
            show_json({"faults": [fault._asdict() for fault in faults]})
        raise
    for note in found.notes:
        click.echo(f"warning: {note}", err=True)
    dry = bool(door.options["dry_run"])
    if door.json:
        gains = [{"id": id_, "mass_mg": mass} for id_, mass in found.gains]
        show_json(
            {"items": found.items, "pours": found.pours, "entries": found.entries, "gains": gains, "dry_run": dry}
        )
        return
    counts = (counted(found.items, "item"), counted(found.pours, "pour"), counted(found.entries, "entry", "entries"))
    click.echo(f"{what}: {', '.join(counts)} of the journal")
    for id_, mass in found.gains[:20]:
        more = in_grams(mass, door.decimal_mark)
        click.echo(f"note: {hyphened(id_)} gave {more} more than the book held", err=True)
    if dry:
        click.echo("dry run: nothing was recorded", err=True)


def _check_writable(path: Path) -> None:
    """Found out before anything is read: faults found for nothing would have to be found again."""
    if path.is_dir() or not os.access(path if path.exists() else path.parent, os.W_OK):
        raise StoreError(f"'{path}' cannot be written: it is no file in a folder that there is", "check the path")


def _write_faults(path: str, faults: tuple[Fault, ...]) -> None:
    from pourbook.exchange.tables.table_files import guarded

    with open(path, "w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(Fault._fields)
        writer.writerows([guarded(str(field)) for field in fault] for fault in faults)


def _common(door: Door) -> dict[str, Any]:
    from pourbook.cli.door import user

    return {"who": door.options["who"] or user(), "dry_run": bool(door.options["dry_run"])}


@import_verb.command("history")
@click.argument("path")
@_AGAIN
@_ENCODING
@_FAULTS
@recording
def history_verb(door: Door, path: str, again: bool, encoding: str | None, faults_to: str | None) -> None:
    """Take in years of items and pours: a folder with items.csv and pours.csv, or a workbook.

    \b
    Example:
      pourbook import history spreadsheets/ --dry-run
      pourbook import history history.xlsx --faults faults.csv
    """
    from pourbook.exchange.intake.history import import_history

    with _Progress() as progress:
        _taken(
            door,
            lambda: import_history(door.book, path, again=again, encoding=encoding, progress=progress, **_common(door)),
            "history",
            faults_to,
        )


@import_verb.command("casks")
@click.argument("path")
@_AGAIN
@_ENCODING
@_FAULTS
@recording
def casks_verb(door: Door, path: str, again: bool, encoding: str | None, faults_to: str | None) -> None:
    """Take in casks, full or empty, from one table.

    \b
    Example:
      pourbook import casks casks.csv
    """
    from pourbook.exchange.intake.cask_table import import_casks

    _taken(
        door, lambda: import_casks(door.book, path, again=again, encoding=encoding, **_common(door)), "casks", faults_to
    )


@import_verb.command("gauges")
@click.argument("path")
@_AGAIN
@_ENCODING
@_FAULTS
@recording
def gauges_verb(door: Door, path: str, again: bool, encoding: str | None, faults_to: str | None) -> None:
    """Take in a round of gauges from one table.

    \b
    Example:
      pourbook import gauges gauges.csv
    """
    from pourbook.exchange.intake.gauge_table import import_gauges

    _taken(
        door,
        lambda: import_gauges(door.book, path, again=again, encoding=encoding, **_common(door)),
        "gauges",
        faults_to,
    )


class _Progress:
    """A bar on standard error, where a person watches and there is something to wait for."""

    def __init__(self) -> None:
        self._bar: Any = None

    def __enter__(self) -> Callable[[int, int], None]:
        return self._told

    def _told(self, done: int, total: int) -> None:
        if not sys.stderr.isatty() or total < 20_000:
            return
        if self._bar is None:
            self._bar = click.progressbar(length=total, file=sys.stderr, label="pours")
            self._bar.__enter__()
        self._bar.update(done - self._bar.pos)

    def __exit__(self, *_: object) -> None:
        if self._bar is not None:
            self._bar.__exit__(None, None, None)


@import_verb.command("epcis")
@click.argument("path")
@click.option("--ref", metavar="TEXT", help="The house's own name for the batch.")
@click.option(
    "--item", metavar="ADDRESS", help="The class that arrived; with several shipments, the event or destination."
)
@click.option("--strength", metavar="STRENGTH", help="Of what the document gives no strength.")
@_AGAIN
@_FAULTS
@recording
def epcis_verb(
    door: Door, path: str, ref: str | None, item: str | None, strength: str | None, again: bool, faults_to: str | None
) -> None:
    """Take in another house's bulk spirit with its ancestry, from an EPCIS 2.0 document (JSON-LD).

    What the document ships becomes a batch; every origin at the other house is an origin here, with
    its part, its dates and its address there. --when says when it arrived.

    \b
    Example:
      pourbook import epcis tanker.jsonld --ref "Tanker 8" --when "2026-05-04 15:00"
      pourbook import epcis tanker.jsonld --item https://corran.example/class/B000007K-112
    """
    from pourbook.exchange.epcis.epcis_import import import_epcis

    more: dict[str, Any] = {"happened_us": door.moment(door.options["when"]), "strength": door.strength(strength)}
    _taken(
        door,
        lambda: import_epcis(door.book, path, ref=ref or "", item=item or "", again=again, **more, **_common(door)),
        "EPCIS",
        faults_to,
    )
