"""The uncertainty of the figures of a gauge, by the instruments that read it.

A figure has a ± only where the permissible error of what read it is known. Whatever else it rests on is
taken as exact, and named.

>>> from pourbook.gauging.house_instruments import instrument_of
>>> from pourbook.quantities import read_strength
>>> facts = {"ref": "H-3", "instrument": "hydrometer", "unit": "% vol", "mpe": "0.1", "resolution": "0.1"}
>>> read = Readings(hydrometer=read_strength("61.2"), sample_c=14.0)
>>> found = gauge_uncertainty(read, None, [instrument_of("N000001T", facts)])
>>> found.words(), found.exact
('strength 63.25 ± 0.13 (k = 2) % vol', ('temperature',))
>>> gauge_uncertainty(read, None, []).figures
{}
"""

from collections.abc import Callable, Sequence
from functools import partial
from typing import Literal, NamedTuple

from pourbook.alcoholometry.apparent import REFERENCE_C, strength_of
from pourbook.errors import Malformed, OutOfRange
from pourbook.gauging.calibration_tables import DipTable
from pourbook.gauging.house_instruments import Instrument
from pourbook.gauging.readings import Readings, strength_read
from pourbook.quantities import Amount
from pourbook.uncertainty.figures import (
    UncertainLiquid,
    of_volume,
    of_weight,
    pure_alcohol_ml,
    strength_at,
    strength_by_density,
    strength_by_hydrometer,
    volume_ml,
)
from pourbook.uncertainty.instrument_errors import InstrumentErrors, instrument_errors
from pourbook.uncertainty.propagation import Figure, Uncertain, applied
from pourbook.uncertainty.wording import Measured, read_instrument

__all__ = [
    "LABELS",
    "AmountRead",
    "GaugeRead",
    "UncertainFigures",
    "checked_class",
    "dipped",
    "gauge_uncertainty",
    "measured",
    "readings_uncertainty",
    "weighed",
]

_MEASURED: tuple[Measured, ...] = ("volume", "mass", "strength", "temperature", "density")
LABELS = {
    "strength_20c": ("strength", "% vol"),
    "mass_kg": ("mass", "kg"),
    "volume_l_20c": ("volume at 20 °C", "l"),
    "lpa": ("pure alcohol", "l"),
}
"""What each figure is called, and its unit."""

_READS: dict[Measured | Literal["depth"], tuple[str, ...]] = {
    "strength": ("hydrometer", "density meter", "other"),
    "density": ("density meter",),
    "volume": ("flow meter", "sight glass", "cylinder", "flask", "burette", "pipette"),
    "mass": ("balance", "scale"),
    "depth": ("dip rod", "sight glass"),
    "temperature": ("thermometer",),
}
_CM = {"": 1.0, "cm": 1.0, "mm": 0.1, "m": 100.0, "in": 2.54}


class AmountRead(NamedTuple):
    """What was read of an amount, and what follows from it.

    Attributes:
        measures: volume (mL), mass (mg) or depth (cm).
        value: as read.
        net: the amount in mL or mg that follows from a reading: less the tare, by the vessel's table.
        in_air: whether a mass is a weighing in air.
        exact: what `net` takes as exact.
    """

    measures: Literal["volume", "mass", "depth"]
    value: float
    net: Callable[[float], float] = lambda value: value
    in_air: bool = False
    exact: tuple[str, ...] = ()


def measured(amount: Amount) -> AmountRead:
    """A volume or a mass as it was measured."""
    if amount.dimension == "volume":
        return AmountRead("volume", float(amount.volume_ml))
    return AmountRead("mass", float(amount.mass_mg), in_air=amount.dimension == "mass_air")


def weighed(gross: Amount, tare: Amount) -> AmountRead:
    """A weighing in air with the vessel."""
    tare_mg = float(tare.mass_mg)
    return AmountRead("mass", float(gross.mass_mg), lambda mg: mg - tare_mg, in_air=True, exact=("tare",))


def dipped(depth_cm: float, table: DipTable) -> AmountRead:
    """A dip of a vat, by its calibration table."""
    return AmountRead("depth", depth_cm, lambda cm: table.volume_l(cm) * 1000.0, exact=("calibration table",))


class UncertainFigures(NamedTuple):
    """Figures with their uncertainty.

    Attributes:
        figures: by name: strength_20c, mass_kg, volume_l_20c, lpa, as far as they are known.
        exact: what they take as exact.
        wanting: why instruments that read something tell no uncertainty.
        item: whose figures by the book they are; empty where readings were given.
    """

    figures: dict[str, Uncertain]
    exact: tuple[str, ...]
    wanting: tuple[str, ...] = ()
    item: str = ""

    def words(self, decimal_mark: str = ".") -> str:
        """Every figure with its expanded uncertainty, in one line; empty where there is none."""
        said = ((*LABELS[name], figure.shown(decimal_mark)) for name, figure in self.figures.items())
        return "; ".join(f"{label} {figure} {unit}" for label, unit, figure in said)


def gauge_uncertainty(
    read: Readings,
    amount: AmountRead | None,
    instruments: Sequence[Instrument],
    extract_g_per_l: float = 0.0,
    vat_c: float = 20.0,
    book_percent: Figure | None = None,
) -> UncertainFigures:
    """The figures of a gauge with their uncertainty.

    The first instrument that can read a thing counts. `vat_c` is the temperature of the amount, `book_percent` the
    strength by the book, where none was read; `amount` is None where it was not measured.
    """
    shelf = _Shelf(instruments)
    strength = _strength(read, shelf, extract_g_per_l)
    figures = {} if strength is None else {"strength_20c": strength}
    made_of = strength_read(read, extract_g_per_l)
    percent = strength or (strength_of(made_of) if made_of else book_percent)
    shown = shelf.reading(amount.measures, amount.value, "amount") if amount and amount.value and percent else None
    if amount is None or shown is None or percent is None:
        return UncertainFigures(figures, shelf.exact(extract_g_per_l) if figures else (), shelf.wanting)
    liquid = _liquid(amount, applied(amount.net, shown), percent, shelf.celsius(vat_c, "vat"), extract_g_per_l)
    figures |= {"mass_kg": liquid.mass_mg / 1e6, "volume_l_20c": volume_ml(liquid) / 1e3}
    if strength is not None:
        figures["lpa"] = pure_alcohol_ml(liquid) / 1e3
    exact = (*([] if strength else ["strength"]), *amount.exact, *shelf.exact(extract_g_per_l))
    return UncertainFigures(figures, exact, shelf.wanting)


def _strength(read: Readings, shelf: "_Shelf", extract: float) -> Uncertain | None:
    """True strength at 20 °C; None where it was not read, or how well is not known."""
    shown = None if read.shown is None else shelf.reading(read.measures, read.shown, "gauge")
    return None if shown is None else _true(read, shown, lambda: shelf.celsius(read.sample_c, "sample"), extract)


def _true(read: Readings, shown: Uncertain, celsius: Callable[[], Uncertain], extract: float) -> Uncertain:
    """True strength at 20 °C behind what was read; the temperature is taken only where it matters."""
    if read.density_kg_m3 is not None:
        return strength_by_density(shown, celsius(), extract)
    if read.hydrometer is not None:
        return strength_by_hydrometer(shown, celsius(), REFERENCE_C[read.hydrometer.scale], extract)
    assert read.true is not None
    return strength_at(shown, REFERENCE_C[read.true.scale], 20.0, extract)


def _liquid(amount: AmountRead, net: Uncertain, percent: Figure, celsius: Figure, extract: float) -> UncertainLiquid:
    if amount.measures == "mass":
        return of_weight(net, percent, celsius, extract, in_air=amount.in_air)
    return of_volume(net, percent, celsius, extract)


# -- readings without a book -----------------------------------------------------------


class GaugeRead(NamedTuple):
    """Readings, and what each instrument errs by.

    Attributes:
        read: the reading of the strength.
        by: what read it.
        thermometer: of the temperatures; None takes them as exact.
        extract_g_per_l: dissolved solids, taken as exact.
        amount: volume or mass; None where it was not measured.
        amount_by: what measured it.
        amount_c: its temperature; None is that of the strength, read once.
    """

    read: Readings
    by: InstrumentErrors
    thermometer: InstrumentErrors | None = None
    extract_g_per_l: float = 0.0
    amount: Amount | None = None
    amount_by: InstrumentErrors | None = None
    amount_c: float | None = None


def readings_uncertainty(gauge: GaugeRead) -> UncertainFigures:
    """The figures that follow from readings, with their uncertainty.

    Raises:
        Malformed: not exactly one reading of the strength.
    """
    read, extract = gauge.read, gauge.extract_g_per_l
    if read.shown is None or sum(reading is not None for reading in read[:3]) != 1:
        raise Malformed("one reading of the strength is needed", "give --strength, --hydrometer or --density")

    def celsius(value: float, label: str) -> Uncertain:
        return gauge.thermometer.reading(value, label) if gauge.thermometer else Uncertain(value)

    of_strength = partial(celsius, read.sample_c, "of the strength")
    strength = _true(read, gauge.by.reading(read.shown, "gauge"), of_strength, extract)
    matters = gauge.thermometer is None and (read.true is None or gauge.amount is not None)
    figures, exact = {"strength_20c": strength}, ("temperature",) if matters else ()
    if gauge.amount is None or gauge.amount_by is None:
        return UncertainFigures(figures, exact)
    at = of_strength() if gauge.amount_c is None else celsius(gauge.amount_c, "of the amount")
    amount = measured(gauge.amount)
    liquid = _liquid(amount, gauge.amount_by.reading(amount.value, "amount"), strength, at, extract)
    figures |= {
        "mass_kg": liquid.mass_mg / 1e6,
        "ethanol_kg": liquid.ethanol_mg / 1e6,
        "volume_l_20c": volume_ml(liquid) / 1000,
        "lpa": pure_alcohol_ml(liquid) / 1000,
    }
    return UncertainFigures(figures, exact)


# -- the instruments of a gauge --------------------------------------------------------


class _Shelf:
    """The instruments of a gauge, and what they leave open."""

    def __init__(self, instruments: Sequence[Instrument]) -> None:
        self._instruments = instruments
        self._exact: dict[str, None] = {}
        self._wanting: dict[str, None] = {}

    def reading(self, measures: Measured | Literal["depth"], value: float, label: str) -> Uncertain | None:
        """A value as read by the first instrument that can; None where its errors are not known."""
        able = [one for one in self._instruments if one.kind in _READS[measures]]
        if not able:
            return None
        one = able[0]
        if not one.errors:
            self._wanting[f"{one.kind} '{one.name}' has no permissible error recorded"] = None
            return None
        try:
            if measures == "depth":
                return _of_depth(one).reading(value, label)
            return read_instrument(one.errors, measures, value, one.name).reading(value, label)
        except (Malformed, OutOfRange) as refusal:
            self._wanting[f"{one.kind} '{one.name}': {refusal.message}"] = None
            return None

    def celsius(self, value: float, label: str) -> Uncertain:
        """A temperature as read; taken as exact where no thermometer is known."""
        read = self.reading("temperature", value, label)
        if read is None:
            self._exact["temperature"] = None
            return Uncertain(value)
        return read

    @property
    def wanting(self) -> tuple[str, ...]:
        """Why instruments that read something tell no uncertainty."""
        return tuple(self._wanting)

    def exact(self, extract_g_per_l: float) -> tuple[str, ...]:
        """What is taken as exact."""
        return (*self._exact, *(["extract"] if extract_g_per_l else []))


def checked_class(text: str) -> str:
    """A known class of instrument; else `Malformed`.

    >>> checked_class("hydrometer II")
    'hydrometer II'
    """
    for measures in _MEASURED:
        try:
            read_instrument(text, measures)
        except Malformed:
            continue
        return text
    raise Malformed(
        f"'{text}' is not a class of instrument known here",
        "write it like 'hydrometer II', 'cylinder A 100 ml', 'thermometer 0.5 C', 'balance II 0.1 kg', or give --mpe",
    )


def _of_depth(one: Instrument) -> InstrumentErrors:
    factor = _CM.get(one.unit)
    if factor is None:
        raise Malformed(f"'{one.unit}' is not a unit of depth", f"write it in one of: {', '.join(filter(None, _CM))}")
    limit, step = (float(text.replace(",", ".") or 0) * factor for text in (one.mpe, one.resolution))
    return instrument_errors(one.name, limit=limit, division=step)
