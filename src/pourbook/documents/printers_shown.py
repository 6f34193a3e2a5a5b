"""Printers of the house, and their test pages."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown, table

if TYPE_CHECKING:
    from pourbook.actions.enter_printer import PrinterEntered, RulersPage
    from pourbook.house_style import HouseStyle
    from pourbook.labels.calibration import Printer

__all__ = ["entered_shown", "printer_shown", "printers_shown", "rulers_shown"]


def printers_shown(printers: "Sequence[Printer]") -> Shown:
    """The printers of the house."""
    heads = ("printer", " dpi", " right mm", " down mm", " margins mm", "text", "goes to")
    rows = [
        (
            printer.name,
            f"{printer.calibration.dpi:g}",
            *(f"{offset:g}" for offset in printer.calibration.offset_mm),
            _margins(printer),
            "printer" if printer.own_text else "picture",
            printer.goes_to or "files only",
        )
        for printer in printers
    ]
    return Shown({"printers": list(map(_document, printers))}, table(heads, rows))


def printer_shown(printer: "Printer") -> Shown:
    """One printer."""
    return Shown(_document(printer), (_line(printer),))


def _line(printer: "Printer") -> str:
    x, y = printer.calibration.offset_mm
    offset = f"{x:+g} mm right, {y:+g} mm down"
    goes_to = printer.goes_to or "files only"
    return f"{printer.name}: {printer.calibration.dpi:g} dpi, {offset}, margins {_margins(printer)} mm, {goes_to}"


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


def entered_shown(entered: "PrinterEntered", style: "HouseStyle") -> Shown:
    """A printer that was entered, changed or forgotten."""
    said = _line(entered.printer) if entered.printer else f"{entered.name}: forgotten"
    facts = {"printer": entered.name, "settings": dict(entered.settings)}
    return recorded_shown(entered.recorded, facts, (said,), style)


def rulers_shown(page: "RulersPage", file: str = "", *, dry_run: bool = False) -> Shown:
    """A test page that was written to a file, or sent."""
    name = page.printer.name
    if file:
        said = f"test page in {file}: print it at 100 %, then measure"
        return Shown({"printer": name, "file": file}, (said,))
    said = "would go" if dry_run else "sent"
    return Shown({"printer": name, "sent": not dry_run}, (f"test page {said} to {name} ({page.printer.goes_to})",))
