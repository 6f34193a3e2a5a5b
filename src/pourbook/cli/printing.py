"""Verbs that print papers: sheet, dossier; and how a file is written together with its entry.

A paper is written beside its place and then renamed, so that a file is whole or not there; its
entry in the journal says where the journal stood when it was printed, and its key figures.
"""

import contextlib
import os
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.book.entries import Paper
from pourbook.cli.door import Door, item_argument, recording
from pourbook.errors import Malformed, StoreError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from pourbook.papers.dossier.dossier_values import Dossier
    from pourbook.papers.page import Imprint
    from pourbook.paperwork.naming import PeopleBy

__all__ = ["FORCE", "dossier_verb", "record_and_write", "sheet_verb", "target_of", "write_whole"]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"

_OUTPUT = click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="The PDF; named after the item by default."
)
FORCE = click.option("--force", is_flag=True, help="Write over a file that is there.")
_PAPER = click.option("--paper", type=click.Choice(("A4", "Letter")), help="Page size; the house's by default.")


# -- papers ------------------------------------------------------------------------------


@click.command("sheet")
@item_argument("trial")
@_PAPER
@_OUTPUT
@FORCE
@recording
def sheet_verb(door: Door, trial: str, paper: str | None, output: Path | None, force: bool) -> None:
    """Print the bench sheet of a trial: what to pour, in order, with room for what was poured.

    \b
    Example:
      pourbook sheet T-000002-M -o bench.pdf
      pourbook sheet T-000002-M --paper Letter --json
    """
    from pourbook.papers.bench_sheet import bench_sheet, running
    from pourbook.paperwork.bench_sheet_of import bench_sheet_of

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
    for remark in values.remarks:
        click.echo(f"note: {remark}", err=True)
    _tell(door, recorded, target, values.code, facts, values.warnings, remarks=list(values.remarks))


@click.command("dossier")
@item_argument("lot")
@_PAPER
@click.option(
    "-o", "--output", "outputs", type=click.Path(path_type=Path), multiple=True, metavar="FILE",
    help="PDF, HTML or JSON, by its ending; may be repeated. A PDF named after the lot by default.",
)  # fmt: skip
@click.option("--people", type=click.Choice(("codes", "names")), default="codes", help="How persons stand in it.")
@FORCE
@recording
def dossier_verb(
    door: Door, lot: str, paper: str | None, outputs: tuple[Path, ...], people: "PeopleBy", force: bool
) -> None:
    """Make the dossier of a bottle lot: every cask, pour, gauge, loss, person and despatch behind it.

    PDF, HTML and JSON say the same. People stand in it by a code that only the house can resolve, unless
    --people names. With --json it also prints all that the paper says, as a document.

    \b
    Example:
      pourbook dossier L-000001-C
      pourbook dossier "Lot 2026-1" -o dossier.pdf -o dossier.html -o dossier.json
      pourbook dossier "Lot 2026-1" -o dossier.pdf --people names --paper Letter --json
    """
    from pourbook.documents.dossier_document import document
    from pourbook.paperwork.dossier_of import dossier_of

    values = _at_one_moment(door, lambda: dossier_of(door.book, lot, people))
    targets = [target_of(one, "", force=force) for one in outputs] or [
        target_of(None, f"dossier-{values.id}.pdf", force=force)
    ]
    size = paper or door.settings["paper"]
    (target, data), *more = [(target, _dossier_bytes(values, target, size)) for target in targets]
    own = values.balances[-1]
    facts = _stood(values.imprint) | {
        "lot_mark": values.lot_mark,
        "bottles": -1 if values.bottles is None else values.bottles,
        "in_mg": own.in_mg,
        "held_mg": own.held_mg,
        "strength": _figure(values.strength_vol),
        "origins": len(values.origins),
        "youngest": "unknown" if values.youngest is None else "{} y {} d".format(*values.youngest),
        "file": ", ".join(one.name for one in targets),
    }
    recorded = record_and_write(door, Paper("dossier", (values.code,), facts), target, data, more)
    said = {"dossier": document(values)} if door.json else {}
    _tell(door, recorded, ", ".join(map(str, targets)), values.code, facts, values.warnings, **said)


def _dossier_bytes(values: "Dossier", target: Path, paper: str) -> bytes:
    """The dossier in the form that the file's name asks for.

    Raises:
        Malformed: a name that ends in none of them.
    """
    match target.suffix.lower():
        case ".pdf":
            from pourbook.papers.dossier.dossier_paper import dossier

            return dossier(values, paper)
        case ".html":
            from pourbook.papers.dossier.dossier_html import dossier_page

            return dossier_page(values).encode()
        case ".json":
            import json

            from pourbook.documents.dossier_document import document

            return (json.dumps(document(values), ensure_ascii=False, indent=2) + "\n").encode()
    raise Malformed(f"'{target.name}' names no form of a dossier", "end it in .pdf, .html or .json")


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
    target: Path | str,
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


def record_and_write(
    door: Door, paper: Paper, target: Path, pdf: bytes, more: "Sequence[tuple[Path, bytes]]" = ()
) -> Any:  # noqa: ANN401
    """Record the paper and put its file, or files, in place: all of it, or nothing."""
    files = {path.with_name(f".{path.name}.{os.getpid()}.part"): (path, data) for path, data in ((target, pdf), *more)}
    try:
        if not door.options["dry_run"]:
            for beside, (_, data) in files.items():
                beside.write_bytes(data)
        with door.book.writing():
            recorded = door.record(paper)
            if not door.options["dry_run"]:
                for beside, (path, _) in files.items():
                    beside.replace(path)
    finally:
        for beside in files:
            with contextlib.suppress(OSError):
                beside.unlink()
    return recorded


def write_whole(target: Path, data: bytes) -> None:
    """Put a file in its place whole, or not at all."""
    beside = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        beside.write_bytes(data)
        beside.replace(target)
    finally:
        with contextlib.suppress(OSError):
            beside.unlink()
