"""Instruments of the house, as facts of an item: what they are, how well they read, when they are due.

>>> hydrometer = instrument_of("N000001T", {"ref": "H-3", "instrument": "hydrometer", "due": "2026-03-01"})
>>> overdue_since(hydrometer, "2026-06-24"), overdue_since(hydrometer, "2026-02-28")
('2026-03-01', '')
"""

from collections.abc import Mapping
from decimal import Decimal
from typing import NamedTuple

from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.errors import OutOfRange, Refused
from pourbook.numerals import read_decimal

__all__ = ["KINDS", "Instrument", "checked_factor", "instrument_of", "overdue_since"]

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
        meter_factor: true volume per volume shown, of a flow meter, as typed; empty when none was determined.
        accuracy_class: in the words of `pourbook.uncertainty.wording`, "hydrometer II"; empty when it has none.
    """

    id: str
    name: str
    kind: str
    unit: str
    resolution: str
    mpe: str
    certificate: str
    due: str
    meter_factor: str = ""
    accuracy_class: str = ""

    @property
    def factor(self) -> Decimal:
        """True volume per volume shown."""
        return read_decimal(self.meter_factor.replace(",", ".")) if self.meter_factor else Decimal(1)

    @property
    def errors(self) -> str:
        """Its class, permissible error and least step in the words of `pourbook.uncertainty.wording`.

        Empty where neither class nor error is known; an error of its own replaces that of its class.

        >>> instrument_of("N000001T", {"unit": "% vol", "mpe": "0,1", "resolution": "0.1"}).errors
        'limit 0.1 % vol, division 0.1 % vol'
        """
        if not self.mpe and not self.accuracy_class:
            return ""
        limit = self.mpe if self.mpe.endswith("%") else f"{self.mpe} {self.unit}"
        said = [self.accuracy_class] if self.accuracy_class else []
        said += [f"limit {limit}"] if self.mpe else []
        said += [f"division {self.resolution} {self.unit}"] if self.resolution else []
        return ", ".join(" ".join(error.replace(",", ".").split()) for error in said)


def checked_factor(factor: Decimal) -> Decimal:
    """A meter factor within a tenth of one; else `OutOfRange`."""
    if not Decimal("0.9") <= factor <= Decimal("1.1"):
        raise OutOfRange(
            f"meter factor {factor} is outside 0.9 to 1.1",
            "write true volume over volume shown, such as 1.0023; was it typed in per cent?",
        )
    return factor


def instrument_of(identifier: str, facts: Mapping[str, str]) -> Instrument:
    """The instrument that facts describe; `Refused` for another kind of item."""
    if kind_of(identifier) != "instrument":
        raise Refused(
            f"{hyphened(identifier)} is a {kind_of(identifier)}, not an instrument", "scan the instrument's tag"
        )
    return Instrument(
        identifier,
        facts.get("ref") or facts.get("name") or hyphened(identifier),
        facts.get("instrument", "other"),
        facts.get("unit", ""),
        facts.get("resolution", ""),
        facts.get("mpe", ""),
        facts.get("certificate", ""),
        facts.get("due", ""),
        facts.get("meter_factor", ""),
        facts.get("class", ""),
    )


def overdue_since(instrument: Instrument, day: str) -> str:
    """The due day of a check that was overdue on a day; empty where none was."""
    return instrument.due if instrument.due and instrument.due < day else ""
