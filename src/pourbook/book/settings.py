"""The house's settings, kept as entries like everything else.

>>> checked({"house": "Quillmere", "zone": "Europe/London"})["zone"]
'Europe/London'
>>> checked({"decimal_mark": ";"})
Traceback (most recent call last):
    ...
pourbook.errors.Malformed: setting decimal_mark cannot be ';'
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.book.printer_settings import check_printer_setting, is_printer_setting
from pourbook.errors import Malformed
from pourbook.numerals import read_decimal
from pourbook.times import house_zone

__all__ = ["DEFAULTS", "SETTINGS", "Setting", "checked"]


class Setting(NamedTuple):
    """One choice: its default, the choices (empty for free text), and its meaning in one line of help."""

    default: str
    choices: tuple[str, ...]
    meaning: str


SETTINGS = {
    "house": Setting("", (), "name of the house, printed on labels and papers"),
    "zone": Setting("UTC", (), "time zone of times typed without an offset, an IANA name"),
    "decimal_mark": Setting(".", (".", ","), "mark between whole and part of a number"),
    "volume_unit": Setting("ml", ("ml", "cl", "l", "hl", "gal", "imp gal"), "unit of a bare amount at the bench"),
    "strength_scale": Setting("vol20", ("vol20", "vol60f", "proof60f"), "scale of a bare strength"),
    "proof": Setting("us", ("us", "ask"), "what 'proof' alone means"),
    "temperature_unit": Setting("C", ("C", "F"), "unit of a bare temperature"),
    "air_kg_m3": Setting("1.2", (), "density of the air where gross weights are read, kg/m³"),
    "weights_kg_m3": Setting("8000", (), "density of the weights that balances are set with, kg/m³"),
    "paper": Setting("A4", ("A4", "Letter"), "page size of printed papers"),
    "company_prefix": Setting("", (), "GS1 company prefix: from it GTINs and SSCCs are made"),
    "resolver": Setting("https://id.gs1.org", (), "where GS1 Digital Links of the house point"),
    "uri": Setting("", (), "web address under which casks, batches … are named in documents for other houses"),
    "currency": Setting("", (), "sign or code printed with costs"),
}
"""Every setting, in the order it is shown."""

# From high mountains to hard frost; from aluminium to platinum.
_DENSITIES = {"air_kg_m3": (0.8, 1.4), "weights_kg_m3": (2500.0, 22000.0)}

DEFAULTS = {name: setting.default for name, setting in SETTINGS.items()}
"""The settings of a new book."""


def checked(settings: Mapping[str, str]) -> dict[str, str]:
    """The settings, if each is known and has a possible value; else `Malformed`."""
    for name, value in settings.items():
        if is_printer_setting(name):
            check_printer_setting(name, value)
            continue
        setting = SETTINGS.get(name)
        if setting is None:
            raise Malformed(f"unknown setting '{name}'", f"choose from: {', '.join(SETTINGS)}")
        if setting.choices and value not in setting.choices:
            raise Malformed(f"setting {name} cannot be '{value}'", f"choose from: {'  '.join(setting.choices)}")
        _check_outside(name, value)
        _check_density(name, value)
        if name == "zone":
            house_zone(value)
        if name == "house" and not value.strip():
            raise Malformed("the house has no name", "give one with --house NAME")
    return dict(settings)


def _check_density(name: str, value: str) -> None:
    least, most = _DENSITIES.get(name, (0.0, 0.0))
    if most and not least <= float(read_decimal(value)) <= most:
        raise Malformed(f"setting {name} cannot be '{value}'", f"give kg/m³, from {least:g} to {most:g}")


def _check_outside(name: str, value: str) -> None:
    """What the house is known by outside; an empty company prefix ends it."""
    if name == "company_prefix" and value:
        from pourbook.codes.gs1 import checked_prefix  # only where it is set

        checked_prefix(value)
    if name == "resolver" or (name == "uri" and value):
        from pourbook.codes.digital_link import checked_resolver

        checked_resolver(value)
