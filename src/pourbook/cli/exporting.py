"""The verb export: tables, lineages and documents for others, to files or standard output."""

import os
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, Any, TextIO

import click

from pourbook.cli.door import Door, item_argument, reading
from pourbook.cli.output import show_json
from pourbook.errors import StoreError

if TYPE_CHECKING:
    from pourbook.exchange.output.exports import What

__all__ = ["export_verb"]

_OUTPUT = click.option("-o", "--output", metavar="FILE", help="Where to; standard output by default.")
_AT = click.option("--at", metavar="TIME", help="As of that moment; now by default.")
_FORWARD = click.option("--forward", is_flag=True, help="What they went into, instead of what went into them.")


@click.group("export")
def export_verb() -> None:
    """Write stock, journal, pours or the whole history; a lineage as EPCIS, PROV, GraphML or CSV.

    \b
    Example:
      pourbook export stock -o stock.csv
      pourbook export history -o moving/
      pourbook export epcis "Lot 2026-1" -o lot.jsonld
    """


def _written(output: str | None, write: Callable[[TextIO], int], what: str) -> None:
    """Write a file whole or not at all; or to standard output."""
    if output is None:
        write(sys.stdout)
        return
    if os.path.exists(output):
        raise StoreError(f"'{output}' exists already", "name another file, or remove it first")
    beside = f"{output}.part"
    try:
        with open(beside, "w", encoding="utf-8", newline="") as file:
            count = write(file)
        os.replace(beside, output)
    finally:
        with suppress(FileNotFoundError):
            os.unlink(beside)
    click.echo(f"{count} {what} in {output}", err=True)


def _table(door: Door, what: "What", output: str | None, at: str | None) -> None:
    from pourbook.exchange.output.exports import export_table

    form, at_us = "json" if door.json else "csv", door.moment_or_none(at)
    _written(output, lambda file: export_table(door.book, what, file, form, at_us), "rows")  # type: ignore[arg-type]


@export_verb.command("stock")
@_OUTPUT
@click.option("--at", metavar="TIME", help="Stock at that moment; now by default.")
@reading
def stock_verb(door: Door, output: str | None, at: str | None) -> None:
    """Write all that holds liquid, as CSV (or JSON).

    \b
    Example:
      pourbook export stock -o stock.csv
    """
    _table(door, "stock", output, at)


@export_verb.command("journal")
@_OUTPUT
@click.option("--at", metavar="TIME", help="Until that moment.")
@reading
def journal_verb(door: Door, output: str | None, at: str | None) -> None:
    """Write every entry of the journal, as CSV (or JSON).

    \b
    Example:
      pourbook export journal --json -o journal.json
    """
    _table(door, "journal", output, at)


@export_verb.command("pours")
@_OUTPUT
@click.option("--at", metavar="TIME", help="Until that moment.")
@reading
def pours_verb(door: Door, output: str | None, at: str | None) -> None:
    """Write every pour that counts, as CSV (or JSON).

    \b
    Example:
      pourbook export pours --at 2025-12-31 --json -o pours.json
    """
    _table(door, "pours", output, at)


@export_verb.command("history")
@click.option("-o", "--output", metavar="FOLDER", required=True, help="Where its two files go.")
@reading
def history_verb(door: Door, output: str) -> None:
    """Write the whole history to a folder.

    It can be taken in by another book: what every item holds and where it came from survives to the
    milligram; what was typed, notes and holds do not.

    \b
    Example:
      pourbook export history -o moving/
    """
    from pourbook.exchange.output.history_export import export_history

    items, pours = export_history(door.book, output)
    if door.json:
        show_json({"items": items, "pours": pours})
    else:
        click.echo(f"{items} items and {pours} pours in {output}")


# -- lineages ---------------------------------------------------------------------------


@export_verb.command("epcis")
@item_argument("items", many=True, required=False)
@_OUTPUT
@_FORWARD
@click.option("--at", metavar="TIME", help="As of that moment; without items, until then.")
@click.option("--from", "start", metavar="TIME", help="Without items: what happened since.")
@click.option("--customer", metavar="TEXT", help="Leave out what was despatched to others.")
@reading
def epcis_verb(
    door: Door, items: tuple[str, ...], output: str | None, forward: bool, at: str | None, start: str | None,
    customer: str | None,
) -> None:  # fmt: skip
    """Write the lineage of items as an EPCIS 2.0 document (JSON-LD); without items, all of the house.

    People and costs stay in the house, and with --customer all other customers. Another house takes it in
    with: pourbook import epcis

    \b
    Example:
      pourbook export epcis "Lot 2026-1" -o lot.jsonld
      pourbook export epcis C-000004-B --forward -o cask.jsonld
      pourbook export epcis --from 2026-01-01 --at 2026-03-31 -o quarter.jsonld
    """
    from pourbook.exchange.epcis.epcis_export import export_epcis

    at_us, start_us = door.moment_or_none(at), door.moment_or_none(start)
    told = {"forward": forward, "at_us": at_us, "start_us": start_us, "customer": customer or ""}
    _written(output, lambda file: export_epcis(door.book, file, items, **told), "events")  # type: ignore[arg-type]


@export_verb.command("prov")
@item_argument("items", many=True)
@_OUTPUT
@_FORWARD
@_AT
@reading
def prov_verb(door: Door, items: tuple[str, ...], output: str | None, forward: bool, at: str | None) -> None:
    """Write the lineage of items as W3C PROV-JSON: fills, mixings, people.

    \b
    Example:
      pourbook export prov "Lot 2026-1" -o lot.prov.json
    """
    from pourbook.exchange.output.prov import export_prov

    at_us = door.moment_or_none(at)
    _written(output, lambda file: export_prov(door.book, file, items, forward=forward, at_us=at_us), "entities")


@export_verb.command("graphml")
@item_argument("items", many=True)
@_OUTPUT
@_FORWARD
@_AT
@reading
def graphml_verb(door: Door, items: tuple[str, ...], output: str | None, forward: bool, at: str | None) -> None:
    """Write the lineage of items as GraphML, for programs that draw graphs.

    \b
    Example:
      pourbook export graphml "Lot 2026-1" -o lot.graphml
    """
    from pourbook.exchange.output.graphml import export_graphml

    at_us = door.moment_or_none(at)
    _written(output, lambda file: export_graphml(door.book, file, items, forward=forward, at_us=at_us), "nodes")


@export_verb.command("trace")
@item_argument("item")
@click.option("--rows", type=click.Choice(("items", "origins", "pours")), default="items", help="Which table.")
@click.option("--by", type=click.Choice(("alcohol", "mass", "volume")), default="alcohol", help="Basis of shares.")
@_OUTPUT
@_FORWARD
@_AT
@reading
def trace_verb(
    door: Door, item: str, rows: Any, by: Any, output: str | None, forward: bool, at: str | None  # noqa: ANN401
) -> None:  # fmt: skip
    """Write a table of a trace, as CSV (or JSON): its items, its origins or its pours.

    \b
    Example:
      pourbook export trace "Lot 2026-1" --rows origins -o origins.csv
    """
    from pourbook.exchange.output.exports import export_trace

    ask = door.book.trace_forward if forward else door.book.trace_back
    trace = ask(item, by, door.moment_or_none(at))
    form = "json" if door.json else "csv"
    _written(output, lambda file: export_trace(trace, rows, file, form), "rows")  # type: ignore[arg-type]
