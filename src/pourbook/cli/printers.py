"""The verb of printers: what the house knows of each, and the page of rulers by which it is measured.

Where labels may be sent is a setting of the house, kept in the journal like any other: a run of
labels names a printer, never a machine.
"""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.output import show_json, show_table
from pourbook.cli.printing import FORCE, target_of, write_whole
from pourbook.errors import Malformed, StoreError

if TYPE_CHECKING:
    from pourbook.paperwork.house_printers import Printer

__all__ = ["printer_verb"]

_FOUR = 4
_MOST_OFFSET_MM = 20.0


@click.command("printer")
@click.argument("name", required=False)
@click.option("--dpi", metavar="NUMBER", help="Dots to the inch; the true pitch of a thermal head: 203.2.")
@click.option("--offset-x", metavar="MM", help="Move everything so far to the right; a minus, to the left.")
@click.option("--offset-y", metavar="MM", help="Move everything so far down; a minus, up.")
@click.option("--margins", metavar="MM", help="What it cannot print on: one number, or left,top,right,foot.")
@click.option("--queue", metavar="QUEUE", help="Print queue of the operating system; takes the place of an address.")
@click.option("--address", metavar="HOST[:PORT]", help="Thermal printer on the network; port 9100 by default.")
@click.option("--text", type=click.Choice(("picture", "printer")), help="Whose typeface plain lines are set in.")
@click.option("--forget", is_flag=True, help="The house has it no more.")
@click.option("--test", is_flag=True, help="Print the page of rulers: to the printer, or with -o to a file.")
@click.option("--template", metavar="NAME", help="For the test page: the roll or sheet that is in the printer.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="For the test page: a PDF, or a .png."
)
@FORCE
@recording
def printer_verb(
    door: Door, name: str | None, test: bool, template: str | None, output: Path | None, force: bool,
    forget: bool, **typed: str | None,
) -> None:  # fmt: skip
    """Enter a printer, change it, or print its test page; without NAME, list the printers.

    Print the test page, measure it with a rule, and give what is missing as offsets. Labels that
    would fall outside its margins are refused before anything is printed. Addresses and queues
    stand here and nowhere else.

    \b
    Example:
      pourbook printer
      pourbook printer bench --dpi 203.2 --address 192.0.2.7
      pourbook printer office --dpi 600 --queue lab_laser --margins 4.2
      pourbook printer bench --test --template vial-roll-30x15
      pourbook printer office --offset-x 0.6 --offset-y -0.4
    """
    if name is None:
        _list(door)
        return
    if forget or any(typed.values()):
        _change(door, name, typed, forget=forget)
        if not test:
            return
    if test:
        _test(door, name, template, output, force=force)
    else:
        _show(door, name)


# -- what is known ---------------------------------------------------------------------------


def _list(door: Door) -> None:
    from pourbook.paperwork.house_printers import printers

    found = printers(door.settings)
    if door.json:
        show_json([_document(printer) for printer in found])
        return
    show_table(
        ("printer", " dpi", " right mm", " down mm", " margins mm", "text", "goes to"),
        [
            (
                printer.name,
                f"{printer.calibration.dpi:g}",
                *(f"{offset:g}" for offset in printer.calibration.offset_mm),
                _margins(printer),
                "printer" if printer.own_text else "picture",
                printer.goes_to or "files only",
            )
            for printer in found
        ],
    )


def _margins(printer: "Printer") -> str:
    margins = [f"{margin:g}" for margin in printer.calibration.margins_mm]
    return margins[0] if len(set(margins)) == 1 else ",".join(margins)


def _document(printer: "Printer") -> dict[str, Any]:
    dpi, offset_mm, margins_mm = printer.calibration
    return {
        "name": printer.name,
        "dpi": dpi,
        "offset_x_mm": offset_mm[0],
        "offset_y_mm": offset_mm[1],
        "margins_mm": list(margins_mm),
        "queue": printer.queue,
        "address": printer.address,
        "text": "printer" if printer.own_text else "picture",
    }


def _show(door: Door, name: str) -> None:
    from pourbook.paperwork.house_printers import printer_of

    printer = printer_of(door.settings, name)
    if door.json:
        show_json(_document(printer))
        return
    click.echo(_words(printer))


def _words(printer: "Printer") -> str:
    x, y = printer.calibration.offset_mm
    offset = f"{x:+g} mm right, {y:+g} mm down"
    goes_to = printer.goes_to or "files only"
    return f"{printer.name}: {printer.calibration.dpi:g} dpi, {offset}, margins {_margins(printer)} mm, {goes_to}"


# -- changes ----------------------------------------------------------------------------------


def _change(door: Door, name: str, typed: dict[str, str | None], *, forget: bool) -> None:
    from pourbook.book.entries import House
    from pourbook.book.printer_settings import PRINTER_FIELDS
    from pourbook.paperwork.house_printers import printer_of

    if forget:
        printer_of(door.settings, name)
        changed = dict.fromkeys(PRINTER_FIELDS, "")
        said = f"{name}: forgotten"
    else:
        changed = _fields(door, typed)
        if f"printer.{name}.dpi" not in door.settings:
            changed = {"dpi": "300"} | changed
        said = ""
    settings = {f"printer.{name}.{field}": value for field, value in changed.items()}
    recorded = door.record(House(settings))
    if not forget:
        said = _words(printer_of(door.book.settings, name))
    door.tell(recorded, said, printer=name, settings=settings)


def _fields(door: Door, typed: dict[str, str | None]) -> dict[str, str]:
    """What was typed, as settings keep it; a queue takes the place of an address, and the other way round."""
    if typed["queue"] and typed["address"]:
        raise Malformed("a queue and an address", "give the one by which the printer is reached")
    given = {field: text for field, text in typed.items() if text is not None}
    numbers = {"dpi": "dpi", "offset_x": "offset_x_mm", "offset_y": "offset_y_mm"}
    changed = {to: _number(door, given[field]) for field, to in numbers.items() if field in given}
    if "margins" in given:
        changed["margins_mm"] = _four(door, given["margins"])
    changed |= {field: given[field] for field in ("queue", "address", "text") if field in given}
    if "queue" in given or "address" in given:
        changed = {"queue": "", "address": ""} | changed
    _check(changed)
    return changed


def _number(door: Door, text: str) -> str:
    from pourbook.numerals import read_decimal

    return f"{read_decimal(text, door.decimal_mark).normalize():f}"


def _four(door: Door, text: str) -> str:
    """One number, or four; between them commas, or spaces or semicolons where a comma is the decimal mark."""
    apart = text.replace(";", " ") if door.decimal_mark == "," else text.replace(",", " ").replace(";", " ")
    numbers = [_number(door, number) for number in apart.split()]
    if len(numbers) not in (1, _FOUR):
        raise Malformed(f"'{text}' are not the margins of a page", "give one number, or left,top,right,foot")
    return ",".join(numbers)


def _check(changed: dict[str, str]) -> None:
    """What no printer is set to, though its form is right.

    Raises:
        Malformed: a fineness or an offset beyond sense.
    """
    from pourbook.labels.label_sheets import DPI

    if "dpi" in changed and not DPI[0] <= float(changed["dpi"]) <= DPI[1]:
        raise Malformed(f"no label printer has {changed['dpi']} dpi", f"give {DPI[0]} to {DPI[1]}")
    for field in ("offset_x_mm", "offset_y_mm"):
        if abs(float(changed.get(field, 0))) > _MOST_OFFSET_MM:
            raise Malformed(f"an offset of {changed[field]} mm is no slip of a printer", "load its paper anew")


# -- the test page ------------------------------------------------------------------------------


def _test(door: Door, name: str, template: str | None, output: Path | None, *, force: bool) -> None:
    from pourbook.labels.label_printers import media_of
    from pourbook.labels.rulers import rulers_pdf
    from pourbook.labels.stock import PAGES_MM
    from pourbook.labels.templates import template as template_of
    from pourbook.paperwork.house_printers import printer_of

    printer = printer_of(door.book.settings, name)
    stock = template_of(template).stock if template else None
    paper = door.settings["paper"]
    pdf = rulers_pdf(name, stock.page_mm if stock else PAGES_MM[paper], printer.calibration, stock)
    if output is None and printer.goes_to:
        _send(door, printer, pdf, media_of(stock) if stock else paper)
        return
    target = target_of(output, f"test-{name}.pdf", force=force)
    data = _picture(pdf, printer) if target.suffix.lower() == ".png" else pdf
    if not door.options["dry_run"]:
        write_whole(target, data)
    if door.json:
        show_json({"printer": name, "file": str(target)})
    else:
        click.echo(f"test page in {target}: print it at 100 %, then measure")


def _picture(pdf: bytes, printer: "Printer") -> bytes:
    from pourbook.labels.raster import pictures, png

    dpi = printer.calibration.dpi
    return png(next(pictures(pdf, dpi)), dpi)


def _send(door: Door, printer: "Printer", pdf: bytes, media: str) -> None:
    from pourbook.labels.label_printers import send_to_port, send_to_queue
    from pourbook.labels.raster import pictures
    from pourbook.labels.thermal import zpl

    if door.options["dry_run"]:
        click.echo(f"the test page would go to {printer.name} ({printer.goes_to})")
        return
    if printer.address:
        sent = send_to_port((zpl(page) for page in pictures(pdf, printer.calibration.dpi)), printer.address)
    else:
        sent = send_to_queue(pdf, 1, printer.queue, f"Test page of {printer.name}", media)
    if not sent.whole:
        raise StoreError(f"the test page was not printed: {sent.why}", "see to the printer, then print again")
    if door.json:
        show_json({"printer": printer.name, "sent": True})
    else:
        click.echo(f"test page sent to {printer.name} ({printer.goes_to})")
