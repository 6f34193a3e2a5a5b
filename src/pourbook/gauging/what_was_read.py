"""Everything a person reads of an item in one gauge, as typed; kept in the journal and read again from there.

>>> from pourbook.quantities import read_amount, read_strength
>>> read = WhatWasRead(gross=read_amount("221.4 kg"), tare=read_amount("43.1 kg"), hydrometer=read_strength("59.8"),
...     sample_c=14.0)
>>> kept = read.kept()
>>> kept
{'weighed': {'gross': '221.4 kg', 'tare': '43.1 kg'}, 'hydrometer': {'shown': '59.8 % vol', 'at': '14 C'}}
>>> WhatWasRead.again({"reading": kept}).kept() == kept
True
"""

from collections.abc import Mapping
from typing import Any, NamedTuple, Self

from pourbook.alcoholometry.density_readings import read_density
from pourbook.errors import Malformed
from pourbook.gauging.as_typed import amount_again, celsius_again, kept_amount, kept_strength, strength_again
from pourbook.gauging.readings import Readings
from pourbook.quantities import Amount, Strength

__all__ = ["WhatWasRead"]


class WhatWasRead(NamedTuple):
    """Readings of one gauge; at most one way of reading the amount, and one of reading the strength.

    Attributes:
        amount: volume or mass, as measured.
        gross: a weighing in air with the vessel; tare: of the vessel, where it was weighed, too.
        dip: depth in cm, as typed; vessel: the vat whose calibration table is used.
        meter: what a flow meter showed at the end; meter_start: at the beginning.
        true: true strength; hydrometer: what a hydrometer showed; density: of a density meter, as typed.
        sample_c: temperature of the sample, °C; None where it was not read.
        extract: dissolved solids as typed.
        temperature_c: of the amount.
    """

    amount: Amount | None = None
    gross: Amount | None = None
    tare: Amount | None = None
    dip: str | None = None
    vessel: str | None = None
    meter: Amount | None = None
    meter_start: Amount | None = None
    true: Strength | None = None
    hydrometer: Strength | None = None
    density: str | None = None
    sample_c: float | None = None
    extract: str | None = None
    temperature_c: float = 20.0

    @property
    def of_amount(self) -> tuple[Amount | str | None, ...]:
        """How the amount was read."""
        return self.amount, self.gross, self.dip, self.meter

    @property
    def of_strength(self) -> Readings:
        """How the strength was read."""
        density = None if self.density is None else read_density(self.density).kg_m3
        return Readings(self.true, self.hydrometer, density, self.sample_at_c)

    @property
    def sample_at_c(self) -> float:
        """Temperature of the sample, °C: as read, or as a specific gravity says; `Malformed` where they differ."""
        if self.density is not None:
            return read_density(self.density).sample_c(self.sample_c)
        return 20.0 if self.sample_c is None else self.sample_c

    def checked(self) -> "WhatWasRead":
        """The same; `Malformed` for an amount read in two ways, or a reading without its partner."""
        if sum(way is not None for way in self.of_amount) > 1:
            raise Malformed("the amount was given in two ways", "record the second as a gauge of its own")
        alone = (
            (self.tare and self.gross is None, "a tare needs a gross weight", "give --gross"),
            (self.vessel and self.dip is None, "a vessel needs a dip", "give --dip; where it lies: pourbook move"),
            (self.dip and self.vessel is None, "a dip needs its vessel", "give --vessel"),
            (self.meter_start and self.meter is None, "the start of a meter needs its end", "give --meter"),
            (
                self.sample_c is not None and self.hydrometer is None and self.density is None,
                "a sample's temperature needs a reading",
                "give --hydrometer or --density; a true strength needs none, and --temperature is that of the vat",
            ),
        )
        for is_so, said, remedy in alone:
            if is_so:
                raise Malformed(said, remedy)
        return self

    def over(self, other: "WhatWasRead") -> "WhatWasRead":
        """These readings over others: a new amount ends the old however it was read, a new strength its extract too."""
        kept = other
        if any(way is not None for way in self.of_amount):
            kept = kept._replace(
                amount=None, gross=None, tare=None, dip=None, vessel=None, meter=None, meter_start=None
            )
        if any(way is not None for way in (self.true, self.hydrometer, self.density)):
            kept = kept._replace(true=None, hydrometer=None, density=None, sample_c=None, extract=None)
        given = {name: value for name, value in self._asdict().items() if value is not None and name != "temperature_c"}
        return kept._replace(**given)

    def kept(self) -> dict[str, dict[str, str]]:
        """By way of reading, as the journal keeps it; a plain amount and a true strength stand under `typed`."""
        at = f"{self.sample_at_c:.6g} C"
        found: dict[str, dict[str, str]] = {}
        if self.gross is not None:
            tare = {} if self.tare is None else {"tare": kept_amount(self.tare)}
            found["weighed"] = {"gross": kept_amount(self.gross), **tare}
        if self.dip is not None and self.vessel is not None:
            found["dip"] = {"depth": f"{self.dip} cm", "vessel": self.vessel}
        if self.meter is not None:
            start = {} if self.meter_start is None else {"start": kept_amount(self.meter_start)}
            found["meter"] = {**start, "end": kept_amount(self.meter)}
        if self.hydrometer is not None:
            found["hydrometer"] = {"shown": kept_strength(self.hydrometer), "at": at}
        if self.density is not None:
            unit = " kg/m3" if self.density.strip()[-1:].isdigit() else ""
            found["density"] = {"shown": f"{self.density.strip()}{unit}", "at": at}
        if self.extract is not None:
            found["extract"] = {"shown": self.extract}
            if self.true is not None:
                found["true"] = {"shown": kept_strength(self.true)}
        return found

    @classmethod
    def again(cls, body: Mapping[str, Any]) -> Self:
        """What a gauge of the journal read, from its body."""
        reading, typed = body.get("reading", {}), body.get("typed", {})
        weighed, dip, meter = (reading.get(way, {}) for way in ("weighed", "dip", "meter"))
        is_plain = "amount" in typed and not (weighed or dip or meter)
        sample = reading.get("hydrometer") or reading.get("density") or {}
        true = reading.get("true", {}).get("shown") or typed.get("strength")
        return cls(
            amount_again(typed["amount"]) if is_plain else None,
            amount_again(weighed["gross"]) if weighed else None,
            amount_again(weighed["tare"]) if "tare" in weighed else None,
            dip["depth"].removesuffix(" cm") if dip else None,
            dip.get("vessel"),
            amount_again(meter["end"]) if meter else None,
            amount_again(meter["start"]) if "start" in meter else None,
            strength_again(true) if true else None,
            strength_again(reading["hydrometer"]["shown"]) if "hydrometer" in reading else None,
            reading["density"]["shown"] if "density" in reading else None,
            celsius_again({"temperature": sample["at"]}) if sample else None,
            reading["extract"]["shown"] if "extract" in reading else None,
            celsius_again(typed),
        )
