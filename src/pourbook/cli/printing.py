"""Verbs that print: templates, label, reserve, sheet, dossier.

A paper is written beside its place and then renamed, so that a file is whole or not there; its
entry in the journal says where the journal stood when it was printed, and its key figures.
"""

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.book.entries import Paper
from pourbook.cli.door import Door, item_argument, reading, recording
from pourbook.cli.label_runs import label_run
from pourbook.cli.output import show_json, show_table
from pourbook.errors import StoreError
from pourbook.identifiers import KINDS, hyphened

if TYPE_CHECKING:
    from collections.abc import Callable

    from pourbook.labels.layout import Template
    from pourbook.papers.page import Imprint

__all__ = [
    "dossier_verb",
    "label_verb",
    "record_and_write",
    "reserve_verb",
    "sheet_verb",
    "target_of",
    "templates_verb",
]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"

_EXTRA = click.option(
    "--extra", type=click.Path(path_type=Path), metavar="FOLDER", help="Folder with the house's own templates."
)
_OUTPUT = click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="The PDF; named after the item by default."
)
_FORCE = click.option("--force", is_flag=True, help="Write over a file that is there.")
_PAPER = click.option("--paper", type=click.Choice(("A4", "Letter")), help="Page size; the house's by default.")


# -- templates ---------------------------------------------------------------------------


@click.command("templates")
@_EXTRA
@reading
def templates_verb(door: Door, extra: Path | None) -> None:
    """List the label templates: name, what they serve, size, symbols, stock.

    A template of the house in FOLDER goes before a shipped one of the same name.

    \b
    Example:
      pourbook templates
      pourbook templates --extra our-templates --json
    """
    from pourbook.labels.templates import templates

    found = [_template_document(one) for one in templates(extra)]
    if door.json:
        show_json(found)
        return
    show_table(
        ("template", " mm", "stock", "symbol", "for"),
        [
            (
                one["name"],
                f"{one['width_mm']:g} × {one['height_mm']:g}",
                _stock_words(one["stock"]),
                one["symbol"],
                ", ".join(one["kind"]),
            )
            for one in found
        ],
    )


def _template_document(template: "Template") -> dict[str, Any]:
    stock = template.stock
    return {
        "name": template.name,
        "title": template.title,
        "kind": list(template.kinds),
        "width_mm": stock.width_mm,
        "height_mm": stock.height_mm,
        "symbol": ", ".join(dict.fromkeys(symbol.kind for symbol in template.symbols)),
        "stock": {"form": "sheet" if hasattr(stock, "page") else "roll", **stock._asdict()},
    }


def _stock_words(stock: dict[str, Any]) -> str:
    if stock["form"] == "roll":
        return "roll"
    return f"{stock['page']} sheet of {stock['columns'] * stock['rows']}"


# -- labels ------------------------------------------------------------------------------


@click.command("label")
@item_argument("items", many=True)
@click.option("--template", "name", required=True, metavar="NAME", help="Label template: pourbook templates.")
@click.option("--dpi", type=click.Choice(("203", "300", "600")), default="300", help="Of the printer; 300 by default.")
@click.option("--start", type=int, default=1, metavar="N", help="First free place of the first sheet.")
@click.option("--copies", type=click.IntRange(1, 1000), default=1, metavar="N", help="Of each label.")
@click.option("--count", default="", metavar="TEXT", help="What is in a carton: '6 × 700 mL'.")
@_EXTRA
@_OUTPUT
@_FORCE
@recording
def label_verb(
    door: Door, items: tuple[str, ...], name: str, dpi: str, start: int, copies: int, count: str,
    extra: Path | None, output: Path | None, force: bool,
) -> None:  # fmt: skip
    """Print labels of items, of numbers reserved for them, or of single cases and pallets (SSCC).

    From the second time on, the label of an item says which print it is. Print at 100 %: a
    viewer that fits labels to the page makes them drift.

    \b
    Example:
      pourbook label V-000001-R V-000002-P --template vial-roll-30x15 --dpi 203 -o vials.pdf
      pourbook label "Row 3/12" --template sheet-a4-8-99x68 --start 3
      pourbook label L-000001-C --template lot-carton-roll-100x60 --count "6 × 700 mL" --copies 70
      pourbook label 095212340000000013 --template case-sscc-roll-105x148
    """
    from pourbook.clerk.outgoing import lacking
    from pourbook.labels import labels_pdf
    from pourbook.labels.templates import template

    asked, chosen = label_run(door, items, count), template(name, extra)
    target = target_of(output, f"labels-{asked.labels[0].id}.pdf", force=force)
    run = [label for label in asked.labels for _ in range(copies)]
    pdf = labels_pdf(run, chosen, float(dpi), start)
    facts: dict[str, str | int] = {"template": name, "dpi": int(dpi), "count": len(run), "file": target.name}
    recorded = record_and_write(door, Paper(asked.paper, asked.ids, facts | asked.facts), target, pdf)
    notes = [why for label in asked.labels for why in lacking(label, chosen)]
    for why in dict.fromkeys(notes):
        click.echo(f"note: {why}", err=True)
    said = f"{len(run)} label{'s' if len(run) > 1 else ''} in {target}"
    told = facts | {"file": str(target), "notes": notes}
    door.tell(recorded, said, ids=[label.code for label in asked.labels], prints=asked.prints, **told)


@click.command("reserve")
@click.argument("kind", type=click.Choice(tuple(KINDS)))
@click.argument("count", type=click.IntRange(1, 10_000))
@recording
def reserve_verb(door: Door, kind: str, count: int) -> None:
    """Set COUNT numbers of a KIND aside, so that labels can be printed ahead.

    Prints the numbers, one a line. Each is bound to what it labels with --id or --vial of the
    verb that takes that into the book.

    \b
    Example:
      pourbook reserve vial 65 > vials.txt
      pourbook label $(cat vials.txt) --template sheet-a4-65-38x21
    """
    from pourbook.book.entries import Reserve
    from pourbook.book.reading import next_id

    with door.book.writing():
        identifiers: list[str] = []
        after = 0
        for _ in range(count):
            identifiers.append(next_id(door.book.store, kind, after))
            after = int(identifiers[-1][1:-1]) + 1
        recorded = door.record(Reserve(tuple(identifiers)))
    door.tell(recorded, *map(hyphened, identifiers), kind=kind, ids=identifiers)


# -- papers ------------------------------------------------------------------------------


@click.command("sheet")
@item_argument("trial")
@_PAPER
@_OUTPUT
@_FORCE
@recording
def sheet_verb(door: Door, trial: str, paper: str | None, output: Path | None, force: bool) -> None:
    """Print the bench sheet of a trial: what to pour, in order, with room for what was poured.

    \b
    Example:
      pourbook sheet T-000002-M -o bench.pdf
      pourbook sheet T-000002-M --paper Letter --json
    """
    from pourbook.clerk.bench import bench_sheet_of
    from pourbook.papers.bench_sheet import bench_sheet, running

    values = _at_one_moment(door, lambda: bench_sheet_of(door.book, trial))
    target = target_of(output, f"bench-sheet-{values.id}.pdf", force=force)
    pdf = bench_sheet(values, paper or door.settings["paper"])
    facts = _stood(values.imprint) | {
        "recipe": values.recipe,
        "parts": len(values.rows),
        "mass_mg": running(values.rows)[-1][1],
        "strength": _figure(values.expected_strength_vol),
        "file": target.name,
    }
    recorded = record_and_write(door, Paper("bench sheet", (values.code,), facts), target, pdf)
    _tell(door, recorded, target, values.code, facts, values.warnings)


@click.command("dossier")
@item_argument("lot")
@_PAPER
@_OUTPUT
@_FORCE
@recording
def dossier_verb(door: Door, lot: str, paper: str | None, output: Path | None, force: bool) -> None:
    """Print the dossier of a bottle lot: every cask, pour, gauge, loss, person and despatch behind it.

    With --json it also prints all that the paper says, as a document.

    \b
    Example:
      pourbook dossier L-000001-C
      pourbook dossier "Lot 2026-1" -o dossier.pdf --paper Letter --json
    """
    from pourbook.clerk.documents import document
    from pourbook.clerk.dossier import dossier_of
    from pourbook.papers.dossier import dossier

    values = _at_one_moment(door, lambda: dossier_of(door.book, lot))
    target = target_of(output, f"dossier-{values.id}.pdf", force=force)
    pdf = dossier(values, paper or door.settings["paper"])
    own = values.balances[-1]
    facts = _stood(values.imprint) | {
        "lot_mark": values.lot_mark,
        "bottles": -1 if values.bottles is None else values.bottles,
        "in_mg": own.in_mg,
        "held_mg": own.held_mg,
        "strength": _figure(values.strength_vol),
        "origins": len(values.origins),
        "youngest": "unknown" if values.youngest is None else "{} y {} d".format(*values.youngest),
        "file": target.name,
    }
    recorded = record_and_write(door, Paper("dossier", (values.code,), facts), target, pdf)
    more = {"dossier": document(values)} if door.json else {}
    _tell(door, recorded, target, values.code, facts, values.warnings, **more)


def _at_one_moment(door: Door, make: "Callable[[], Any]") -> Any:  # noqa: ANN401
    """What is read while nobody else records: all figures of a paper are of one state of the book."""
    with door.book.rehearsing():
        return make()


def _stood(imprint: "Imprint") -> dict[str, str | int]:
    """Where the journal stood when the paper was printed."""
    return {"entries": imprint.entries, "head": imprint.head_hash}


def _figure(value: Any) -> str:  # noqa: ANN401
    from pourbook.numerals import shown

    return "unknown" if value is None else shown(value, 2)


def _tell(
    door: Door,
    recorded: Any,  # noqa: ANN401
    target: Path,
    identifier: str,
    facts: dict[str, str | int],
    warnings: tuple[str, ...],
    **more: Any,  # noqa: ANN401
) -> None:
    for warning in warnings:
        click.echo(f"provisional: {warning}", err=True)
    told: dict[str, Any] = {**facts, "file": str(target), "id": identifier, "warnings": list(warnings), **more}
    told["at_entry"] = told.pop("entries")
    door.tell(recorded, str(target), **told)
    click.echo(CAUTION, err=True)


# -- files -------------------------------------------------------------------------------


def target_of(output: Path | None, name: str, *, force: bool) -> Path:
    """Where the file goes.

    Raises:
        StoreError: something is there, or there is no such folder.
    """
    target = output or Path(name)
    if target.exists() and not force:
        raise StoreError(f"'{target}' exists already", "name another file with -o, or give --force")
    if target.is_dir() or not target.parent.is_dir():
        raise StoreError(f"'{target}' cannot be written: it is no file in a folder that there is", "check the path")
    return target


def record_and_write(door: Door, paper: Paper, target: Path, pdf: bytes) -> Any:  # noqa: ANN401
    """Record the paper and put its file in its place: both, or neither."""
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        if not door.options["dry_run"]:
            beside.write_bytes(pdf)
        with door.book.writing():
            recorded = door.record(paper)
            if not door.options["dry_run"]:
                beside.replace(target)
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
    return recorded
