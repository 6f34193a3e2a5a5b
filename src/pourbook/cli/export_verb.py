"""The verb export: tables, lineages and documents for others, to files or standard output."""

import sys
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING, Any, TextIO

import click

from pourbook.cli.door import Door, reading, show_json
from pourbook.cli.options import AT, FORCE, item_argument, options
from pourbook.cli.signer import signer_in
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.exchange.output.writing import Table

__all__ = ["export_verb"]

_OUTPUT = options(
    click.option("-o", "--output", metavar="FILE", help="File to write; default: standard output."), FORCE
)
_UNTIL = click.option("--at", metavar="TIME", help="Until that moment (a day counts to its end).")
_NAMES = click.option("--names", is_flag=True, help="Names of people, not their codes.")
_FORWARD = click.option("--forward", is_flag=True, help="What they went into, instead of what went into them.")


@click.group("export")
def export_verb() -> None:
    """Write stock, journal, pours or the whole history; a lineage as EPCIS, PROV, GraphML or CSV.

    People stand by codes, the same in every export of this book; with --names, by name. Customers and
    owners stand by name, and words that people typed stay as they are.

    \b
    Example:
      pourbook export stock -o stock.csv
      pourbook export history -o moving/
      pourbook export epcis "Lot 2026-1" -o lot.jsonld
    """


def _write(door: Door, write: Callable[[TextIO], int], what: str, output: str | None, force: bool) -> None:
    """Write to a file, or to standard output."""
    from pourbook.exchange.output.writing import text_file

    if output is None:
        write(sys.stdout)
        return
    with text_file(output, force=force, never=door.book.files) as file:
        count = write(file)
    click.echo(f"{count} {what} in {output}", err=True)


def _write_table(door: Door, table: "Table", *, names: bool = True, **where: Any) -> None:  # noqa: ANN401
    from pourbook.exchange.output.codes import by_codes
    from pourbook.exchange.output.writing import write_csv, write_rows_as_json

    table = table if names else by_codes(door.book, table)

    if (where["output"] or "").lower().endswith(".xlsx"):
        _write_workbook(door, table, **where)
        return
    _write(door, lambda file: (write_rows_as_json if door.json else write_csv)(file, table), "rows", **where)


def _write_workbook(door: Door, table: "Table", output: str, *, force: bool) -> None:
    from pathlib import Path

    from pourbook.exchange.output.writing import write_workbook
    from pourbook.one_file import placing

    with placing(Path(output), force=force, never=door.book.files) as beside:
        count = write_workbook(beside, table)
    click.echo(f"{count} rows in {output}", err=True)


def _write_text(door: Door, text: str, count: int, what: str, **where: Any) -> None:  # noqa: ANN401
    def write(file: TextIO) -> int:
        file.write(text)
        return count

    _write(door, write, what, **where)


@export_verb.command("stock")
@_OUTPUT
@AT
@reading
def stock_verb(door: Door, at: str | None, **where: Any) -> None:  # noqa: ANN401
    """Write every item that holds liquid, as CSV (or JSON).

    \b
    Example:
      pourbook export stock -o stock.csv
    """
    from pourbook.exchange.output.exports import stock_table

    _write_table(door, stock_table(door.book, door.style.as_of(at)), **where)


@export_verb.command("journal")
@_OUTPUT
@_UNTIL
@_NAMES
@reading
def journal_verb(door: Door, at: str | None, *, names: bool, **where: Any) -> None:  # noqa: ANN401
    """Write the journal as a flat table, as CSV (or JSON): a row for each line of a pour, one for any other entry.

    A name in .xlsx makes it a workbook. Whole entries, as the book keeps them: pourbook journal --json

    \b
    Example:
      pourbook export journal -o journal.csv
      pourbook export journal --at 2025-12-31 -o journal.xlsx
    """
    from pourbook.exchange.output.journal_export import journal_table

    _write_table(door, journal_table(door.book, door.style.as_of(at), names=names), **where)


@export_verb.command("pours")
@_OUTPUT
@_UNTIL
@_NAMES
@reading
def pours_verb(door: Door, at: str | None, *, names: bool, **where: Any) -> None:  # noqa: ANN401
    """Write every pour that counts, as CSV (or JSON).

    \b
    Example:
      pourbook export pours --at 2025-12-31 --json -o pours.json
    """
    from pourbook.exchange.output.exports import pours_table

    _write_table(door, pours_table(door.book, door.style.as_of(at)), names=names, **where)


@export_verb.command("tastings")
@click.option(
    "--rows", type=click.Choice(("notes", "words")), default="notes", show_default=True,
    help="A row for each note, or for each word with an intensity.",
)  # fmt: skip
@_OUTPUT
@_UNTIL
@_NAMES
@reading
def tastings_verb(door: Door, rows: Any, at: str | None, *, names: bool, **where: Any) -> None:  # noqa: ANN401
    """Write every tasting note, as CSV (or JSON).

    \b
    Example:
      pourbook export tastings -o tastings.csv
      pourbook export tastings --rows words -o intensities.xlsx
    """
    from pourbook.exchange.output.exports import tastings_table

    _write_table(door, tastings_table(door.book, rows, door.style.as_of(at)), names=names, **where)


@export_verb.command("history")
@click.option("-o", "--output", metavar="FOLDER", required=True, help="Folder for its files.")
@FORCE
@_NAMES
@reading
def history_verb(door: Door, output: str, force: bool, names: bool) -> None:
    """Write the whole history to a folder.

    Another book can import it: what every item holds and where it came from is kept to the
    milligram, notes, tasting notes and words, too, and nothing is asked again; what was typed, holds
    and recipes with their bounds are not kept. People arrive as codes, without what is told of them;
    with --names, as who they are.

    \b
    Example:
      pourbook export history -o moving/
    """
    from pourbook.exchange.output.history_export import export_history

    counts = export_history(door.book, output, force=force, names=names)
    if door.json:
        show_json(counts)
    else:
        told = (counted(counts[f"{one}s"], one) for one in ("item", "pour", "note", "tasting", "word"))
        click.echo(f"{', '.join(told)} in {output}")


@export_verb.command("entries")
@click.option("--after", type=int, default=0, metavar="ENTRY", help="Only those after this entry.")
@click.option("--key", metavar="FILE", help="Private key of the site, to sign with; default: POURBOOK_KEY.")
@_NAMES
@_OUTPUT
@reading
def entries_verb(door: Door, after: int, key: str | None, *, names: bool, **where: Any) -> None:  # noqa: ANN401
    """Write the entries of this site's journal for the book of a group, each as it was chained.

    The group says up to which entry it has them: pourbook group sites

    People stand by codes; with --names the file tells at its end what those stand for. Entries that were
    there before a book of format 2 was upgraded are chained with names, and have them in any case. With a
    key the file ends with a signed head; once a site signed, the group takes nothing of it that is not.

    \b
    Example:
      pourbook export entries -o quay.jsonl
      pourbook export entries --after 1284 --key quay.key -o quay-since-1284.jsonl
    """
    from pourbook.exchange.output.entries_export import write_entries

    if key is not None:
        door.book.signer = partial(signer_in, key)
    _write(door, lambda file: write_entries(door.book, file, after, names=names), "entries", **where)


# -- lineages ---------------------------------------------------------------------------


@export_verb.command("epcis")
@item_argument("items", many=True, required=False)
@_OUTPUT
@_FORWARD
@click.option("--at", metavar="TIME", help="As of that moment (a day counts to its end); without items, until then.")
@click.option("--from", "start", metavar="TIME", help="Without items: what happened since.")
@click.option("--customer", default="", metavar="TEXT", help="Leave out despatches to others.")
@reading
def epcis_verb(
    door: Door, items: tuple[str, ...], output: str | None, force: bool, at: str | None, start: str | None,
    **which: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Write the lineage of items as an EPCIS 2.0 document (JSON-LD); without items, all of the house.

    People and costs stay in the house, and with --customer all other customers. Another house imports it
    with: pourbook import epcis

    \b
    Example:
      pourbook export epcis "Lot 2026-1" -o lot.jsonld
      pourbook export epcis C-000004-B --forward -o cask.jsonld
      pourbook export epcis --from 2026-01-01 --at 2026-03-31 -o quarter.jsonld
    """
    from pourbook.exchange.epcis.epcis_export import epcis_document
    from pourbook.exchange.output.writing import as_json

    at_us, start_us = door.style.as_of(at), None if start is None else door.style.moment(start)
    document = epcis_document(door.book, items, at_us=at_us, start_us=start_us, **which)
    count = len(document["epcisBody"]["eventList"])
    _write_text(door, as_json(document), count, "events", output=output, force=force)


@export_verb.command("prov")
@item_argument("items", many=True)
@_OUTPUT
@_FORWARD
@AT
@_NAMES
@reading
def prov_verb(
    door: Door, items: tuple[str, ...], forward: bool, at: str | None, names: bool, **where: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Write the lineage of items as W3C PROV-JSON: fills, mixings, people.

    \b
    Example:
      pourbook export prov "Lot 2026-1" -o lot.prov.json
    """
    from pourbook.exchange.output.prov import prov_document
    from pourbook.exchange.output.writing import as_json

    document = prov_document(door.book, items, forward=forward, at_us=door.style.as_of(at), names=names)
    _write_text(door, as_json(document), len(document.get("entity", ())), "entities", **where)


@export_verb.command("graphml")
@item_argument("items", many=True)
@_OUTPUT
@_FORWARD
@AT
@_NAMES
@reading
def graphml_verb(
    door: Door, items: tuple[str, ...], forward: bool, at: str | None, names: bool, **where: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Write the lineage of items as GraphML, for programs that draw graphs.

    \b
    Example:
      pourbook export graphml "Lot 2026-1" -o lot.graphml
    """
    from pourbook.exchange.output.graphml import as_xml, graphml_document

    document = graphml_document(door.book, items, forward=forward, at_us=door.style.as_of(at), names=names)
    _write_text(door, as_xml(document), len(document.findall("graph/node")), "nodes", **where)


@export_verb.command("trace")
@item_argument("item")
@click.option("--rows", type=click.Choice(("items", "origins", "pours")), default="items", help="Which table.")
@click.option(
    "--by", type=click.Choice(("alcohol", "mass", "volume")), default="alcohol",
    help="Basis of shares; volume is that of alcohol, water and extract before they contract.",
)  # fmt: skip
@_OUTPUT
@_FORWARD
@AT
@_NAMES
@reading
def trace_verb(
    door: Door, item: str, rows: Any, by: Any, forward: bool, at: str | None, names: bool, **where: Any  # noqa: ANN401
) -> None:  # fmt: skip
    """Write a table of a trace, as CSV (or JSON): its items, its origins or its pours.

    \b
    Example:
      pourbook export trace "Lot 2026-1" --rows origins -o origins.csv
    """
    from pourbook.exchange.output.exports import trace_table

    table = trace_table(door.book, item, rows, by, forward=forward, at_us=door.style.as_of(at))
    _write_table(door, table, names=names, **where)
