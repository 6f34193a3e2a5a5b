"""Instruments of the house, as facts of an item: what they are, how well they read, when they are due.

>>> hydrometer = instrument_of("N000001T", {"ref": "H-3", "instrument": "hydrometer", "due": "2026-03-01"})
>>> overdue(hydrometer, "2026-06-24")
"hydrometer 'H-3' was due for its check on 2026-03-01"
>>> overdue(hydrometer, "2026-02-28")
''
"""

from collections.abc import Mapping
from typing import NamedTuple

from pourbook.errors import Refused
from pourbook.identifiers import hyphened, kind_of

__all__ = ["KINDS", "Instrument", "instrument_of", "overdue"]

KINDS = (
    "hydrometer", "density meter", "balance", "scale", "dip rod", "sight glass", "flow meter", "thermometer",
    "pipette", "burette", "cylinder", "flask", "other",
)  # fmt: skip
"""What an instrument can be."""


class Instrument(NamedTuple):
    """An instrument as the book knows it.

    Attributes:
        id: its identifier.
        name: what the house calls it.
        kind: one of `KINDS`.
        unit: in which it reads, as typed; decides the scale of a hydrometer.
        resolution: least step, in that unit, as typed.
        mpe: maximum permissible error, in that unit, as typed.
        certificate: number or note of its last check.
        due: day of the next check, ISO; empty when none was set.
    """

    id: str
    name: str
    kind: str
    unit: str
    resolution: str
    mpe: str
    certificate: str
    due: str


def instrument_of(identifier: str, facts: Mapping[str, str]) -> Instrument:
    """The instrument that facts describe.

    Raises:
        Refused: the item is no instrument.
    """
    if kind_of(identifier) != "instrument":
        raise Refused(f"{hyphened(identifier)} is a {kind_of(identifier)}, no instrument", "scan the instrument's tag")
    return Instrument(
        identifier,
        facts.get("ref") or facts.get("name") or hyphened(identifier),
        facts.get("instrument", "other"),
        facts.get("unit", ""),
        facts.get("resolution", ""),
        facts.get("mpe", ""),
        facts.get("certificate", ""),
        facts.get("due", ""),
    )


def overdue(instrument: Instrument, day: str) -> str:
    """A sentence if the check was due before that day; else nothing."""
    if instrument.due and instrument.due < day:
        return f"{instrument.kind} '{instrument.name}' was due for its check on {instrument.due}"
    return ""
