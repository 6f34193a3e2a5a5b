"""Verbs of labels: templates, label, reserve, print-log.

A run of labels is read back before it leaves: as a file, to a queue, or label by label to a thermal
printer. What was printed is in the journal, and so is how far a run came that was stopped.
"""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import FORCE, item_argument
from pourbook.codes.identifiers import KINDS
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.actions.label_run import LabelRun
    from pourbook.house_style import HouseStyle
    from pourbook.queries.labels.label_selection import Wanted

__all__ = ["label_verb", "print_log_verb", "reserve_verb", "templates_verb"]

_FOLDER = click.option(
    "--folder", type=click.Path(path_type=Path), metavar="FOLDER", help="Folder with the house's own templates."
)


@click.command("templates")
@_FOLDER
@reading
def templates_verb(door: Door, folder: Path | None) -> None:
    """List the label templates: name, what they serve, size, symbols, media.

    A template in FOLDER replaces a shipped one of the same name.

    \b
    Example:
      pourbook templates
      pourbook templates --folder our-templates --json
    """
    from pourbook.documents.labels import templates_shown
    from pourbook.labels.templates import templates

    door.show(templates_shown(templates(folder)))


# -- labels ------------------------------------------------------------------------------


@click.command("label")
@item_argument("items", many=True, required=False)
@click.option("--template", "name", required=True, metavar="NAME", help="Label template: pourbook templates.")
@click.option("--dpi", type=click.Choice(("203", "300", "600")), help="Resolution; default: the printer's own, or 300.")
@click.option("--printer", metavar="NAME", help="Send them to this printer; with -o, write a file laid out for it.")
@click.option("--start", type=int, default=1, metavar="N", help="First free label on the first sheet.")
@click.option("--copies", type=click.IntRange(1, 1000), default=1, metavar="N", help="Copies of each label.")
@click.option("--numbered", type=click.IntRange(1, 1000), metavar="N", help="N cartons: 1 of N to N of N.")
@click.option("--numbers", metavar="NUMBERS", help="With --numbered, print only these: '31-33, 40'.")
@click.option("--count", default="", metavar="TEXT", help="What is in a carton: '6 × 700 mL'.")
@click.option("--kind", type=click.Choice(tuple(KINDS)), help="All of this kind, instead of naming them.")
@click.option("--since", metavar="TIME", help="All filled, drawn or made since then.")
@click.option("--until", metavar="TIME", help="All before that moment; a day counts to its end.")
@click.option("--place", metavar="PLACE", help="All at this place.")
@click.option("--from-item", metavar="ITEM", help="All filled from this item: the vials of a cask.")
@click.option("--of-item", metavar="ITEM", help="All that went into this item: the casks of a batch.")
@click.option("--unprinted", is_flag=True, help="All without a printed label.")
@click.option("--reserved", is_flag=True, help="All numbers set aside and not yet assigned.")
@click.option("--rest-of", type=int, metavar="ENTRY", help="What a stopped run did not print; see pourbook print-log.")
@click.option("--no-readback", is_flag=True, help="Do not read the symbols back; the journal says so.")
@_FOLDER
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE",
    help="PDF to write; default: named after the first label. A .png is a preview.",
)  # fmt: skip
@FORCE
@recording
def label_verb(
    door: Door, items: tuple[str, ...], name: str, dpi: str | None, printer: str | None, start: int, copies: int,
    numbered: int | None, numbers: str | None, count: str, rest_of: int | None, no_readback: bool, folder: Path | None,
    output: Path | None, force: bool, **selection: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Print labels of items, of numbers reserved for them, or of single cases and pallets (SSCC).

    Every symbol is read back from the page as it will be printed, rotated and blurred too; one
    that does not read stops the run. From the second print on, the label of an item shows which
    print it is; --reason records why. Print files at 100 %: a viewer that fits labels to the page
    moves them. A .png is a preview only.

    \b
    Example:
      pourbook label V-000001-R V-000002-P --template vial-roll-30x15 --dpi 203 -o vials.pdf
      pourbook label --kind vial --since 2026-06-01 --unprinted --template sheet-a4-65-38x21 --start 12
      pourbook label --of-item B-000001-Y --kind cask --template cask-head-100x70 --printer store
      pourbook label V-000001-R --template vial-roll-30x15 --reason "torn" -o again.pdf
      pourbook label L-000001-C --template lot-carton-roll-100x60 --count "6 × 700 mL" --copies 70
      pourbook label L-000001-C --template carton-gs1-roll-105x148 --numbered 66
      pourbook label L-000001-C --template carton-gs1-roll-105x148 --numbered 66 --numbers 31 --reason "torn"
      pourbook label 095212340000000013 --template case-sscc-roll-105x148
      pourbook label --rest-of 118 --template vial-roll-30x15 --printer bench
    """
    from pourbook.actions.label_run import LabelOrder
    from pourbook.labels.templates import template
    from pourbook.queries.labels.print_log import read_ranges

    wanted = _wanted(door.style, **selection) if any(selection.values()) else None
    if not (items or wanted or rest_of):
        raise Malformed(
            "no labels were asked for", "name items, or select them: --kind, --since, --from-item, --reserved …"
        )
    order = LabelOrder(
        template(name, folder), items, wanted, rest_of or 0, count, copies, start, printer or "",
        float(dpi) if dpi else None, not no_readback, numbered or 0, read_ranges(numbers) if numbers else (),
    )  # fmt: skip
    inputs = folder.glob("*.toml") if folder else ()
    _release(door, door.book.label_run(order), output, force=force, never=(*door.book.files, *inputs))


def _release(door: Door, run: "LabelRun", output: Path | None, **kept: Any) -> None:  # noqa: ANN401 (of `placing`)
    """Send the run to its printer, or write it to a file; exit status 1 where it stopped."""
    from pourbook.documents.labels import labels_shown
    from pourbook.one_file import check_target, write_file

    if output and output.suffix.lower() == ".png":
        _preview(door, run, output, **kept)
    elif run.printer and run.printer.goes_to and not output:
        printed = run.send(door.book, door.how)
        door.show(labels_shown(printed, door.style))
        if printed.not_sent or printed.in_doubt:
            click.get_current_context().exit(1)
    else:
        target = output or Path(f"labels-{run.labels[0].id}.pdf")
        check_target(target, **kept)
        put = partial(write_file, target, **kept)
        door.show(labels_shown(run.write(door.book, door.how, target.name, put), door.style, str(target)))


def _preview(door: Door, run: "LabelRun", output: Path, **kept: Any) -> None:  # noqa: ANN401 (of `placing`)
    """Write the pages as pictures: look.png, look-2.png and so on."""
    from pourbook.documents.labels import preview_shown
    from pourbook.one_file import check_target, write_file

    files = []
    for number, picture in enumerate(run.pictures(), 1):
        files.append(output if number == 1 else output.with_stem(f"{output.stem}-{number}"))
        check_target(files[-1], **kept)
        if not door.how.dry_run:
            write_file(files[-1], picture, **kept)
    door.show(preview_shown(run, list(map(str, files))))


def _wanted(style: "HouseStyle", since: str | None, until: str | None, **selection: Any) -> "Wanted":  # noqa: ANN401
    from pourbook.queries.labels.label_selection import Wanted

    wanted = Wanted(**{name: value for name, value in selection.items() if value})
    return wanted._replace(
        since_us=style.moment(since) if since else None, until_us=style.end(until) if until else None
    )


# -- numbers set aside -------------------------------------------------------------------


@click.command("reserve")
@click.argument("kind", type=click.Choice(tuple(KINDS)), required=False)
@click.argument("count", type=click.IntRange(1, 10_000), required=False)
@click.option("--list", "lists", is_flag=True, help="Show what became of all numbers set aside.")
@click.option("--numbers", is_flag=True, help="With --list: every number not yet assigned, one per line.")
@recording
def reserve_verb(door: Door, kind: str | None, count: int | None, lists: bool, numbers: bool) -> None:
    """Set COUNT numbers of a KIND aside, so that labels can be printed ahead; or list those set aside.

    Prints the numbers, one per line. Assign each with --id or --vial when you enter what it labels.
    Some numbers are skipped: those whose check character would be *, I, L, O or U are never issued.

    \b
    Example:
      pourbook reserve vial 65 > vials.txt
      pourbook label $(cat vials.txt) --template sheet-a4-65-38x21
      pourbook label --reserved --unprinted --kind vial --template sheet-a4-65-38x21
      pourbook reserve --list
      pourbook reserve --list --numbers
      pourbook reserve --list --json
    """
    from pourbook.documents.labels import reservations_shown, reserved_shown

    if lists == bool(kind) or bool(kind) != bool(count):
        raise Malformed("it is unclear what to reserve", "name a KIND and a COUNT, or give --list")
    if kind and count:
        door.show(reserved_shown(door.book.reserve(door.how, kind, count), door.style))
    else:
        door.show(reservations_shown(door.book.reserved(), door.style, numbers=numbers))


# -- the print log -------------------------------------------------------------------------


@click.command("print-log")
@item_argument("item", required=False)
@click.option("--since", metavar="TIME", help="Printed since then.")
@click.option("--until", metavar="TIME", help="Printed before that moment; a day counts to its end.")
@reading
def print_log_verb(door: Door, item: str | None, since: str | None, until: str | None) -> None:
    """List label runs: when, by whom, what, where to, whether read back, and how far each got.

    \b
    Example:
      pourbook print-log --since 2026-06-01
      pourbook print-log V-000001-R --json
    """
    from pourbook.documents.labels import print_log_shown

    style = door.style
    span = style.moment(since) if since else None, style.end(until) if until else None
    door.show(print_log_shown(door.book.print_log(item or "", *span), style))
