"""The printers of the house, from its settings.

>>> lab = printer_of({"printer.lab.dpi": "203.2", "printer.lab.offset_x_mm": "0.6", "printer.lab.queue": "zb"}, "lab")
>>> lab.calibration.dpi, lab.calibration.offset_mm, lab.goes_to
(203.2, (0.6, 0.0), 'queue zb')
>>> printer_of({}, "lab")
Traceback (most recent call last):
    ...
pourbook.errors.Unknown: there is no printer 'lab'
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.book.printer_settings import printer_settings
from pourbook.errors import Unknown
from pourbook.labels.calibration import Calibration

__all__ = ["Printer", "printer_of", "printers"]


class Printer(NamedTuple):
    """A printer.

    Attributes:
        name: what the house calls it.
        calibration: how it puts a page on paper.
        queue: of the operating system; empty for none.
        address: of its raw port; empty for none.
        own_text: whether it sets plain lines in its own typeface.
    """

    name: str
    calibration: Calibration
    queue: str
    address: str
    own_text: bool

    @property
    def goes_to(self) -> str:
        """Where it is reached; empty where files are made for it and nothing is sent."""
        if self.address:
            return f"port {self.address}"
        return f"queue {self.queue}" if self.queue else ""


def printers(settings: Mapping[str, str]) -> list[Printer]:
    """Every printer of the house, by name."""
    return [_made(name, fields) for name, fields in printer_settings(settings).items()]


def printer_of(settings: Mapping[str, str], name: str) -> Printer:
    """The printer of that name.

    Raises:
        Unknown: there is none; the remedy names those that there are.
    """
    found = {printer.name: printer for printer in printers(settings)}
    if name not in found:
        known = f"there are: {', '.join(found)}" if found else f"enter it: pourbook printer {name} --dpi 203"
        raise Unknown(f"there is no printer '{name}'", known)
    return found[name]


def _made(name: str, fields: Mapping[str, str]) -> Printer:
    margins = [float(number) for number in fields["margins_mm"].split(",")]
    left, top, right, foot = margins if len(margins) > 1 else margins * 4
    offset = float(fields["offset_x_mm"]), float(fields["offset_y_mm"])
    calibration = Calibration(float(fields["dpi"]), offset, (left, top, right, foot))
    return Printer(name, calibration, fields["queue"], fields["address"], fields["text"] == "printer")
