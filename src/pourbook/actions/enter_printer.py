"""Printers of the house: entered, changed, removed, and tried with a page of rulers.

>>> from pourbook import Book
>>> from pourbook.actions.happening import Happening
>>> book = Book.create(":memory:", house="Quillmere")
>>> enter_printer(book, Happening("M. Aldane"), "bench", PrinterChanges(dpi=Decimal("203.2"))).printer.calibration.dpi
203.2
>>> rulers_page(book, "bench").pdf[:8]
b'%PDF-1.6'
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import House
from pourbook.book.settings import PRINTER_FIELDS
from pourbook.errors import Malformed, StoreError
from pourbook.labels.calibration import DPI, Printer
from pourbook.paperwork.house_printers import printer_of

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.house_style import HouseStyle
    from pourbook.labels.label_layout import Template

__all__ = [
    "PrinterChanges", "PrinterEntered", "RulersPage", "changes_typed", "enter_printer", "forget_printer", "rulers_page",
]  # fmt: skip

_MOST_OFFSET_MM = 20
_MARGINS = (1, 4)


class PrinterChanges(NamedTuple):
    """What is to change of a printer; None leaves it as it is.

    Attributes:
        dpi: dots per inch.
        offset_x_mm: everything moves this far to the right.
        offset_y_mm: everything moves this far down.
        margins_mm: unprintable margins: one number, or left, top, right, foot.
        queue: print queue of the operating system; replaces an address.
        address: host, or host:port; replaces a queue.
        text: "picture", or "printer" for the printer's own typeface.
    """

    dpi: Decimal | None = None
    offset_x_mm: Decimal | None = None
    offset_y_mm: Decimal | None = None
    margins_mm: tuple[Decimal, ...] | None = None
    queue: str | None = None
    address: str | None = None
    text: str | None = None


class PrinterEntered(NamedTuple):
    """A printer by its name, as it is now (None once forgotten), the settings that changed, what was recorded."""

    name: str
    printer: Printer | None
    settings: Mapping[str, str]
    recorded: "Recorded"


def changes_typed(style: "HouseStyle", typed: Mapping[str, str | None]) -> PrinterChanges | None:
    """What was typed (dpi, offset_x, offset_y, margins, queue, address, text), None for nothing.

    Margins have commas between, or blanks where a comma is the decimal mark.

    Raises:
        Malformed: a figure is none.
    """
    if not any(typed.values()):
        return None
    dpi, offset_x, offset_y = (
        style.number(text) if (text := typed.get(name)) else None for name in ("dpi", "offset_x", "offset_y")
    )
    margins = (typed.get("margins") or "").replace(";", " ")
    parts = margins.split() if style.mark == "," else margins.replace(",", " ").split()
    margins_mm = tuple(map(style.number, parts)) if typed.get("margins") else None
    ways = (typed.get(name) or None for name in ("queue", "address", "text"))
    return PrinterChanges(dpi, offset_x, offset_y, margins_mm, *ways)


def enter_printer(book: "BookCore", how: "Happening", name: str, changes: PrinterChanges) -> PrinterEntered:
    """Enter a printer, or change it.

    Raises:
        Malformed: an invalid name, queue, address or figure; both a queue and an address.
    """
    if changes.queue and changes.address:
        raise Malformed("both a queue and an address", "give the one that reaches the printer")
    _check(changes)
    changed = {field: _setting(value) for field, value in changes._asdict().items() if value is not None}
    if "queue" in changed or "address" in changed:
        changed = {"queue": "", "address": ""} | changed
    with how.transaction(book):
        if f"printer.{name}.dpi" not in book.settings:
            changed = {"dpi": "300"} | changed
        settings = {f"printer.{name}.{field}": value for field, value in changed.items()}
        recorded = how.record(book, House(settings))
        return PrinterEntered(name, printer_of(book.settings, name), settings, recorded)


def _check(changes: PrinterChanges) -> None:
    if changes.dpi is not None and not DPI[0] <= changes.dpi <= DPI[1]:
        raise Malformed(f"unsupported resolution: {changes.dpi} dpi", f"give {DPI[0]} to {DPI[1]}")
    for offset_mm in (changes.offset_x_mm, changes.offset_y_mm):
        if offset_mm is not None and abs(offset_mm) > _MOST_OFFSET_MM:
            raise Malformed(f"an offset of {offset_mm} mm is too large", "reload the paper")
    if changes.margins_mm is not None and len(changes.margins_mm) not in _MARGINS:
        raise Malformed(
            f"a page does not have {len(changes.margins_mm)} margins", "give one number, or left,top,right,foot"
        )


def _setting(value: Decimal | tuple[Decimal, ...] | str) -> str:
    if isinstance(value, tuple):
        return ",".join(map(_setting, value))
    return value if isinstance(value, str) else f"{value.normalize():f}"


def forget_printer(book: "BookCore", how: "Happening", name: str) -> PrinterEntered:
    """Remove a printer of the house.

    Raises:
        Unknown: it never had one of that name.
    """
    with how.transaction(book):
        printer_of(book.settings, name)
        settings = {f"printer.{name}.{field}": "" for field in PRINTER_FIELDS}
        return PrinterEntered(name, None, settings, how.record(book, House(settings)))


class RulersPage(NamedTuple):
    """The test page of a printer as PDF, to measure offset, margins and magnification; `media` is its paper."""

    printer: Printer
    pdf: bytes
    media: str

    def picture(self) -> bytes:
        """The page as a PNG, one pixel to a dot."""
        from pourbook.labels.raster import pictures, png

        dpi = self.printer.calibration.dpi
        return png(next(pictures(self.pdf, dpi)), dpi)

    def send(self) -> None:
        """Print it.

        Raises:
            StoreError: the printer did not take it.
        """
        from pourbook.labels.label_printers import send_to_port, send_to_queue
        from pourbook.labels.raster import pictures
        from pourbook.labels.thermal import zpl

        printer = self.printer
        if printer.address:
            sent = send_to_port(map(zpl, pictures(self.pdf, printer.calibration.dpi)), printer.address)
        else:
            sent = send_to_queue(self.pdf, 1, printer.queue, f"Test page of {printer.name}", self.media)
        if not sent.whole:
            raise StoreError(
                f"the test page was not printed: {sent.why}", "check the output and the printer, then print again"
            )


def rulers_page(book: "BookCore", name: str, template: "Template | None" = None) -> RulersPage:
    """The test page of a printer, on the media of a template or on the house's paper.

    Raises:
        Unknown: the house has no such printer.
    """
    from pourbook.labels.label_printers import media_of
    from pourbook.labels.media import PAGES_MM
    from pourbook.labels.rulers import rulers_pdf

    printer, paper = printer_of(book.settings, name), book.settings["paper"]
    media = template.media if template else None
    pdf = rulers_pdf(name, media.page_mm if media else PAGES_MM[paper], printer.calibration, media)
    return RulersPage(printer, pdf, media_of(media) if media else paper)
