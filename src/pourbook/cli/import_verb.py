"""The verb import."""

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording, show_json
from pourbook.cli.options import FORCE, options, pairs
from pourbook.cli.progress import bars
from pourbook.errors import Fault, FaultsFound, PourbookError

if TYPE_CHECKING:
    from pourbook.actions.importing import TakenIn

__all__ = ["import_verb"]

_AGAIN = click.option("--again", is_flag=True, help="Import a file that was imported before.")
_ENCODING = click.option("--encoding", metavar="NAME", help="Encoding of the CSV; default: UTF-8.")
_FAULTS = click.option("--faults", "faults_to", metavar="FILE.csv", help="Write the faults found to a CSV.")
_FAULTS_TO = options(_FAULTS, FORCE)
_of_tables = options(
    click.option("--map", multiple=True, metavar="HEADING=COLUMN", help="What one of your headings means."),
    click.option("--dates", multiple=True, metavar="HEADING=READING", help="How to read the dates of a column."),
    click.option("--leave-out", multiple=True, metavar="HEADING", help="A column to leave out."),
    click.option("--write-map", metavar="FILE.csv", help="Write a map of headings and dates, to fill in."),
    click.option("--read-map", metavar="FILE.csv", help="Read the map you filled in."),
    _AGAIN, _ENCODING, _FAULTS_TO,
)  # fmt: skip


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
    door: Door, what: str, path: str, take: Callable[[], "TakenIn"], *,
    faults_to: str | None, force: bool, map_to: str | None = None, map_read: str | None = None,
) -> None:  # fmt: skip
    """Run an import and show what it did, or every fault."""
    from pourbook.documents.imports import faults_table, map_table, taken_in_shown
    from pourbook.exchange.output.writing import Table, text_file, write_csv
    from pourbook.one_file import check_target

    tables = (Path(path, f"{table}.csv") for table in ("items", "pours", "notes", "tastings", "words"))
    never: tuple[Path | str, ...] = (*door.book.files, path, *tables, *filter(None, [map_read]))
    for target in filter(None, (faults_to, map_to)):  # found out before anything is read
        check_target(Path(target), force=force, never=never)

    def write(target: str, table: Table) -> None:
        with text_file(target, force=force, never=never) as file:
            write_csv(file, table)

    try:
        done = take()
    except PourbookError as refusal:
        whole = Fault(refusal.file, 0, "", "", refusal.message, refusal.remedy)
        faults = refusal.faults if isinstance(refusal, FaultsFound) else (whole,)
        to_say = map_table(refusal)
        if faults_to:
            write(faults_to, faults_table(faults))
        if map_to and to_say.rows:
            write(map_to, to_say)
            door.tell(
                [f"what is still to be answered is in {map_to}: fill it in, then import with --read-map {map_to}"]
            )
        if door.json:
            show_json({"faults": [fault._asdict() for fault in faults], "to_say": to_say.rows})
        raise
    door.show(taken_in_shown(done, what, door.style, dry_run=door.how.dry_run))


@import_verb.command("history")
@click.argument("path")
@_of_tables
@recording
def history_verb(door: Door, path: str, **asked: Any) -> None:  # noqa: ANN401
    """Import years of items and pours: a folder with items.csv and pours.csv, or a workbook.

    A third table, notes, may be there: ref, text, happened, by, reason, and as subject arrival,
    inspection, treatment or repair. So may be tastings (ref, happened, by, assessor, nose, first, middle,
    finish, text, score …) and words (pourbook import words).

    Say once what your own headings mean; the book remembers: see pourbook import casks --help.

    \b
    Example:
      pourbook import history spreadsheets/ --dry-run
      pourbook import history history.xlsx --faults faults.csv
      pourbook import history history.xlsx --map "pours.Date=happened" --dates "Date=day-first"
    """
    from pourbook.actions.importing import import_history

    with bars() as progress:
        _take_table(door, "history", path, import_history, asked, progress=partial(progress, "pours"))


@import_verb.command("casks")
@click.argument("path")
@_of_tables
@recording
def casks_verb(door: Door, path: str, **asked: Any) -> None:  # noqa: ANN401
    """Import casks, full or empty, from one table of your own.

    The row of headings is found by itself. Say once what your headings mean, whether days or months come
    first, and what to leave out; the book remembers. --write-map writes down every question that is open;
    fill in the answers and import with --read-map. Nothing is left out unless you say so.

    \b
    Example:
      pourbook import casks casks.csv
      pourbook import casks casks.xlsx --write-map map.csv
      pourbook import casks casks.xlsx --read-map map.csv
      pourbook import casks casks.csv --map "Fass Nr.=ref" --map "Litres=quantity l" --leave-out Remarks
      pourbook import casks casks.csv --dates "Filled=day-first short-years first-of-month"
    """
    from pourbook.actions.importing import import_casks

    _take_table(door, "casks", path, import_casks, asked)


@import_verb.command("gauges")
@click.argument("path")
@_of_tables
@recording
def gauges_verb(door: Door, path: str, **asked: Any) -> None:  # noqa: ANN401
    """Import a round of gauges from one table; for its headings see pourbook import casks --help.

    \b
    Example:
      pourbook import gauges gauges.csv
      pourbook import gauges round.csv --map "Cask=item" --map "Litres=amount l" --dates "Date=day-first"
    """
    from pourbook.actions.importing import import_gauges

    _take_table(door, "gauges", path, import_gauges, asked)


@import_verb.command("words")
@click.argument("path")
@_of_tables
@recording
def words_verb(door: Door, path: str, **asked: Any) -> None:  # noqa: ANN401
    """Import words for tasting notes from one table; for its headings see pourbook import casks --help.

    Columns: word, definition, reference, group, also (other spellings, parted by semicolons), fault and
    gone (yes). A word that the list has already gets what the table says of it.

    \b
    Example:
      pourbook import words words.csv
    """
    from pourbook.actions.importing import import_words

    _take_table(door, "words", path, import_words, asked)


def _take_table(
    door: Door, what: str, path: str, take: Callable[..., "TakenIn"], asked: dict[str, Any], **more: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Import tables with what was said of their headings."""
    from pourbook.actions.importing import Answers

    read_map = asked["read_map"]
    answers = Answers(
        pairs(asked["map"]), pairs(asked["dates"]), asked["leave_out"], Path(read_map) if read_map else None
    )
    taking = lambda: take(  # noqa: E731
        door.book, door.how, path, again=asked["again"], encoding=asked["encoding"], answers=answers, **more
    )
    _show(
        door, what, path, taking, faults_to=asked["faults_to"], force=asked["force"], map_to=asked["write_map"],
        map_read=read_map,
    )  # fmt: skip


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
