"""The printers of the house, from its settings.

>>> lab = printer_of({"printer.lab.dpi": "203.2", "printer.lab.offset_x_mm": "0.6", "printer.lab.queue": "zb"}, "lab")
>>> lab.calibration.dpi, lab.calibration.offset_mm, lab.goes_to
(203.2, (0.6, 0.0), 'queue zb')
>>> printer_of({}, "lab")
Traceback (most recent call last):
    ...
pourbook.errors.Unknown: the house has no printer 'lab'
"""

from collections.abc import Mapping

from pourbook.book.settings import printer_settings
from pourbook.errors import Unknown
from pourbook.labels.calibration import Calibration, Printer

__all__ = ["printer_of", "printers"]


def printers(settings: Mapping[str, str]) -> list[Printer]:
    """Every printer of the house, by name."""
    return [_made(name, fields) for name, fields in printer_settings(settings).items()]


def printer_of(settings: Mapping[str, str], name: str) -> Printer:
    """The printer of that name.

    Raises:
        Unknown: none has that name; the remedy names those the house has.
    """
    found = {printer.name: printer for printer in printers(settings)}
    if name not in found:
        known = f"printers are: {', '.join(found)}" if found else f"enter it: pourbook printer {name} --dpi 203"
        raise Unknown(f"the house has no printer '{name}'", known)
    return found[name]


def _made(name: str, fields: Mapping[str, str]) -> Printer:
    margins = [float(number) for number in fields["margins_mm"].split(",")]
    left, top, right, foot = margins if len(margins) > 1 else margins * 4
    offset = float(fields["offset_x_mm"]), float(fields["offset_y_mm"])
    calibration = Calibration(float(fields["dpi"]), offset, (left, top, right, foot))
    return Printer(name, calibration, fields["queue"], fields["address"], fields["text"] == "printer")
