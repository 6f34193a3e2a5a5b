"""Verbs of labels: templates, label, reserve, reserved, prints.

A run of labels is proof-read before it leaves: as a file, to a queue, or label by label to a
thermal printer. What was printed is in the journal, and so is how far a run came that was stopped.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, item_argument, reading, recording
from pourbook.cli.label_runs import chosen_items, end_or_none, label_run, printable
from pourbook.cli.output import show_json, show_table
from pourbook.cli.print_jobs import PrintJob
from pourbook.cli.printing import FORCE, target_of
from pourbook.codes.identifiers import KINDS, hyphened
from pourbook.errors import Malformed
from pourbook.words.figure_words import several

if TYPE_CHECKING:
    from pourbook.labels.calibration import Calibration
    from pourbook.labels.label_layout import Template
    from pourbook.paperwork.house_printers import Printer
    from pourbook.paperwork.print_log import PrintRun, Roll

__all__ = ["label_verb", "prints_verb", "reserve_verb", "reserved_verb", "templates_verb"]

_EXTRA = click.option(
    "--extra", type=click.Path(path_type=Path), metavar="FOLDER", help="Folder with the house's own templates."
)
_OUTPUT = click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE",
    help="The PDF, named after the first label by default; or a .png to look at.",
)  # fmt: skip
_SAME_DPI = 0.01


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
@item_argument("items", many=True, required=False)
@click.option("--template", "name", required=True, metavar="NAME", help="Label template: pourbook templates.")
@click.option("--dpi", type=click.Choice(("203", "300", "600")), help="Of the printer; its own, or 300, by default.")
@click.option("--printer", metavar="NAME", help="Send them there; with -o, a file as that printer needs it.")
@click.option("--start", type=int, default=1, metavar="N", help="First free place of the first sheet.")
@click.option("--copies", type=click.IntRange(1, 1000), default=1, metavar="N", help="Of each label.")
@click.option("--count", default="", metavar="TEXT", help="What is in a carton: '6 × 700 mL'.")
@click.option("--kind", type=click.Choice(tuple(KINDS)), help="All of this kind, instead of naming them.")
@click.option("--since", metavar="TIME", help="All filled, drawn or made since then.")
@click.option("--until", metavar="TIME", help="All before that moment; a day counts whole.")
@click.option("--place", metavar="PLACE", help="All that stand at this place.")
@click.option("--from-item", metavar="ITEM", help="All filled from this item: the vials of a cask.")
@click.option("--of-item", metavar="ITEM", help="All that went into this item: the casks of a batch.")
@click.option("--unprinted", is_flag=True, help="All of which no label was printed yet.")
@click.option("--reserved", is_flag=True, help="All numbers set aside and on nothing yet.")
@click.option("--no-proof", is_flag=True, help="Do not read the symbols back; the journal keeps that.")
@_EXTRA
@_OUTPUT
@FORCE
@recording
def label_verb(
    door: Door, items: tuple[str, ...], name: str, dpi: str | None, printer: str | None, start: int, copies: int,
    count: str, no_proof: bool, extra: Path | None, output: Path | None, force: bool, **asked: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Print labels of items, of numbers reserved for them, or of single cases and pallets (SSCC).

    Every symbol is read back from the page as it will be printed, turned and blurred too; one that
    does not read stops the run. From the second time on, the label of an item says which print it
    is; --reason keeps why. Print files at 100 %: a viewer that fits labels to the page makes them
    drift. A .png is to look at, and no print.

    \b
    Example:
      pourbook label V-000001-R V-000002-P --template vial-roll-30x15 --dpi 203 -o vials.pdf
      pourbook label --kind vial --since 2026-06-01 --unprinted --template sheet-a4-65-38x21 --start 12
      pourbook label --of-item B-000001-Y --kind cask --template cask-head-100x70 --printer store
      pourbook label V-000001-R --template vial-roll-30x15 --reason "torn" -o again.pdf
      pourbook label L-000001-C --template lot-carton-roll-100x60 --count "6 × 700 mL" --copies 70
      pourbook label 095212340000000013 --template case-sscc-roll-105x148
    """
    from pourbook.labels.runs import run_pdf
    from pourbook.labels.templates import template

    chosen = template(name, extra)
    run = label_run(door, chosen_items(door, items, chosen.kinds, asked), count)
    to, calibration = _printer(door, printer, dpi)
    labels = [label for label in run.labels for _ in range(copies)]
    pdf = run_pdf(labels, chosen, calibration, start, proof_read=not no_proof)
    job = PrintJob(door, run, copies, chosen, calibration, pdf, "none" if no_proof else "read back", start)
    if output and output.suffix.lower() == ".png":
        job.preview(output, force=force)
    elif to and to.goes_to and not output:
        job.send(to)
    else:
        job.write(target_of(output, f"labels-{run.labels[0].id}.pdf", force=force), printer)


def _printer(door: Door, name: str | None, dpi: str | None) -> "tuple[Printer | None, Calibration]":
    """The printer that was named, and how a page is put on paper.

    Raises:
        Malformed: another fineness than the printer's was asked for.
    """
    from pourbook.labels.calibration import Calibration
    from pourbook.paperwork.house_printers import printer_of

    if name is None:
        return None, Calibration(float(dpi or 300))
    printer = printer_of(door.settings, name)
    own = printer.calibration.dpi
    if dpi and abs(float(dpi) / own - 1) > _SAME_DPI:
        raise Malformed(f"printer '{name}' has {own:g} dpi, not {dpi}", "leave --dpi out, or name another printer")
    return printer, printer.calibration


# -- numbers set aside -------------------------------------------------------------------


@click.command("reserve")
@click.argument("kind", type=click.Choice(tuple(KINDS)))
@click.argument("count", type=click.IntRange(1, 10_000))
@recording
def reserve_verb(door: Door, kind: str, count: int) -> None:
    """Set COUNT numbers of a KIND aside, so that labels can be printed ahead.

    Prints the numbers, one a line. Each is bound to what it labels with --id or --vial of the
    verb that takes that into the book; pourbook reserved says what became of them.

    \b
    Example:
      pourbook reserve vial 65 > vials.txt
      pourbook label $(cat vials.txt) --template sheet-a4-65-38x21
      pourbook label --reserved --unprinted --kind vial --template sheet-a4-65-38x21
    """
    from pourbook.book.entries import Reserve
    from pourbook.book.items import next_id

    with door.book.writing():
        identifiers: list[str] = []
        after = 0
        for _ in range(count):
            identifiers.append(next_id(door.book.store, kind, after))
            after = int(identifiers[-1][1:-1]) + 1
        recorded = door.record(Reserve(tuple(identifiers)))
    door.tell(recorded, *map(hyphened, identifiers), kind=kind, ids=identifiers)


@click.command("reserved")
@click.option("--numbers", is_flag=True, help="Every number that is on nothing yet, one a line.")
@reading
def reserved_verb(door: Door, numbers: bool) -> None:
    """Say what became of numbers set aside: printed, bound, lying printed in a drawer, unused.

    \b
    Example:
      pourbook reserved
      pourbook reserved --numbers
      pourbook reserved --json
    """
    from pourbook.paperwork.print_log import rolls

    found = list(rolls(door.book.store))
    if door.json:
        show_json({"rolls": [_roll_document(roll) for roll in found]})
        return
    if numbers:
        for identifier in (one for roll in found for one in roll.ids if one not in roll.bound):
            click.echo(hyphened(identifier))
        return
    show_table(
        (" entry", "when", "who", "first", "last", " numbers", " printed", " bound", " printed, not bound", " unused"),
        [
            (
                str(roll.entry),
                door.time_shown(roll.happened_us),
                roll.who,
                hyphened(roll.ids[0]),
                hyphened(roll.ids[-1]),
                *(str(len(part)) for part in (roll.ids, roll.printed, roll.bound, roll.lying, roll.unused)),
            )
            for roll in found
        ],
    )


def _roll_document(roll: "Roll") -> dict[str, Any]:
    from pourbook.times import written

    return {
        "entry": roll.entry,
        "happened": written(roll.happened_us),
        "who": roll.who,
        "reserved": list(roll.ids),
        "printed": sorted(roll.printed),
        "bound": sorted(roll.bound),
        "printed_not_bound": list(roll.lying),
        "unused": list(roll.unused),
    }


# -- the print log -------------------------------------------------------------------------


@click.command("prints")
@item_argument("item", required=False)
@click.option("--since", metavar="TIME", help="Printed since then.")
@click.option("--until", metavar="TIME", help="Printed before that moment; a day counts whole.")
@reading
def prints_verb(door: Door, item: str | None, since: str | None, until: str | None) -> None:
    """List the runs of labels: when, by whom, what, where to, whether proof-read, how far they came.

    \b
    Example:
      pourbook prints --since 2026-06-01
      pourbook prints V-000001-R --json
    """
    from pourbook.paperwork.print_log import label_runs

    identifier = printable(door, item) if item else ""
    span = door.moment_or_none(since), end_or_none(door, until)
    found = list(label_runs(door.book.store, identifier, *span))
    if door.json:
        show_json({"runs": [_run_document(run) for run in found]})
        return
    show_table(
        (" entry", "when", "who", " labels", "of", "template", " dpi", "to", "proof", "why"),
        [
            (
                str(run.entry),
                door.time_shown(run.happened_us),
                run.who,
                _how_many(run),
                several(run.ids),
                str(run.facts.get("template", "")),
                str(run.facts.get("dpi", "")),
                str(run.facts.get("printer") or run.facts.get("file", "")),
                str(run.facts.get("proof", "not known")),
                "; ".join(filter(None, (run.reason, str(run.facts.get("stopped", ""))))),
            )
            for run in found
        ],
    )


def _how_many(run: "PrintRun") -> str:
    return f"{run.facts.get('count', '')}" + (f" of {run.facts['of']}" if "of" in run.facts else "")


def _run_document(run: "PrintRun") -> dict[str, Any]:
    from pourbook.times import written

    about = {"entry": run.entry, "happened": written(run.happened_us), "who": run.who, "reason": run.reason}
    return {**about, "ids": list(run.ids), **run.facts}
