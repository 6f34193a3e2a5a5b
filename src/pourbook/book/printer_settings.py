"""The house's printers, as settings named `printer.NAME.FIELD`: where labels may be sent, and how they land.

A queue or an address comes only from here, so that nothing typed, scanned or read from a file can send
labels to another machine.

>>> check_printer_setting("printer.bench.dpi", "203.2")
>>> check_printer_setting("printer.bench.queue", "-o raw")
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: setting printer.bench.queue cannot be '-o raw'
>>> printer_settings({"printer.bench.dpi": "203", "zone": "UTC"})
{'bench': {'dpi': '203', 'offset_x_mm': '0', 'offset_y_mm': '0', 'margins_mm': '0', 'queue': '', \
'address': '', 'text': 'picture'}}
"""

import re
from collections.abc import Mapping

from pourbook.errors import Malformed

__all__ = ["PRINTER_FIELDS", "check_printer_setting", "is_printer_setting", "printer_settings"]

_NUMBER = r"-?\d{1,4}(\.\d{1,3})?"
_LENGTH = r"\d{1,3}(\.\d{1,3})?"
_HOST = r"[\w-][\w.-]{0,252}|\[[0-9A-Fa-f:.]{2,45}\]"
_PORT = r"[1-9]\d{0,3}|[1-5]\d{4}|6[0-4]\d{3}|65[0-4]\d{2}|655[0-2]\d|6553[0-5]"

PRINTER_FIELDS = {
    "dpi": ("300", r"\d{3,4}(\.\d{1,3})?", "dots to the inch, as 203 or 203.2"),
    "offset_x_mm": ("0", _NUMBER, "millimetres to the right, as 0.6"),
    "offset_y_mm": ("0", _NUMBER, "millimetres down, as -0.4"),
    "margins_mm": ("0", rf"{_LENGTH}(,{_LENGTH},{_LENGTH},{_LENGTH})?", "one number, or left,top,right,foot"),
    "queue": ("", r"[A-Za-z0-9_][\w.@+-]{0,126}(/[\w.@+-]{1,80})?", "the name of a print queue of the system"),
    "address": ("", rf"({_HOST})(:({_PORT}))?", "a host, or host:port"),
    "text": ("picture", r"picture|printer", "picture, or printer for the typeface of the printer itself"),
}
"""Every field of a printer: its default, its form, and that form in words. An empty value restores the default."""

_NAME = re.compile(r"printer\.([a-z0-9][a-z0-9-]{0,39})\.(\w+)")


def is_printer_setting(name: str) -> bool:
    """Whether a setting is meant for a printer."""
    return name.startswith("printer.")


def check_printer_setting(name: str, value: str) -> None:
    """Refuse (`Malformed`) an unknown field, or a name or value of another form."""
    match = _NAME.fullmatch(name)
    if match is None:
        raise Malformed(f"'{name}' cannot name a setting of a printer", "use small letters, digits and hyphens")
    field = PRINTER_FIELDS.get(match[2])
    if field is None:
        raise Malformed(f"a printer has no setting '{match[2]}'", f"choose from: {', '.join(PRINTER_FIELDS)}")
    _, form, words = field
    if value and not re.fullmatch(form, value, re.ASCII):
        raise Malformed(f"setting {name} cannot be '{value}'", f"give {words}")


def printer_settings(settings: Mapping[str, str]) -> dict[str, dict[str, str]]:
    """The printers of the house by name, each with all its fields."""
    found: dict[str, dict[str, str]] = {}
    for name, value in sorted(settings.items()):
        if value and (match := _NAME.fullmatch(name)):
            found.setdefault(match[1], {field: default for field, (default, *_) in PRINTER_FIELDS.items()})
            found[match[1]][match[2]] = value
    return found
