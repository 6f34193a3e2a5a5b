"""A recorded gauge read again: the uncertainty of its figures, with the sources of their errors.

The record keeps what was read and with what; so two gauges by one instrument share its error.

>>> instruments_in("H-3 (N000001F), CAL 26-118; a borrowed balance")
['N000001F']
"""

import re
from collections.abc import Mapping
from typing import Any, cast

from pourbook.book.as_typed import amount_again
from pourbook.book.items import facts, settings
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, key_of, readable
from pourbook.errors import PourbookError
from pourbook.gauging.calibration_tables import read_table
from pourbook.gauging.gauge_uncertainty import AmountRead, UncertainFigures, gauge_uncertainty
from pourbook.gauging.house_instruments import Instrument, instrument_of
from pourbook.gauging.readings import Readings
from pourbook.numerals import read_decimal
from pourbook.quantities import Scale, Strength, read_amount, read_strength, read_temperature
from pourbook.uncertainty.propagation import Figure, Uncertain

__all__ = ["instruments_in", "recorded_uncertainty"]

_HYDROMETER = re.compile(r"hydrometer (.+) at (\S+) °C =")
_DENSITY = re.compile(r"density (\S+) kg/m³ at (\S+) °C =")
_TRUE = re.compile(r"true strength (.+)")


def recorded_uncertainty(
    store: Store, number: int, body: Mapping[str, Any], happened_us: int, extract_g_per_l: float, book_percent: Figure
) -> UncertainFigures:
    """The figures of a recorded gauge with their uncertainty.

    Args:
        store: of the book.
        number: of the entry.
        body: of the entry.
        happened_us: when; the instruments count as they were known then.
        extract_g_per_l: dissolved solids.
        book_percent: strength by the book, where none was read.
    """
    known = [_instrument(store, one, happened_us) for one in instruments_in(str(body.get("instrument", "")))]
    typed_c = body.get("temperature")
    vat_c = 20.0 if typed_c is None else float(read_temperature(str(typed_c)).celsius)
    amount = _amount(store, body, happened_us) if "typed" in body else None
    found = gauge_uncertainty(_readings(store, body), amount, known, extract_g_per_l, vat_c, book_percent)
    shared = {one.name for one in known} | {f"{one.name}, in proportion" for one in known}
    figures = {name: _named(figure, shared, number) for name, figure in found.figures.items()}
    return found._replace(figures=figures)


def instruments_in(text: str) -> list[str]:
    """Identifiers of the instruments in the words of a gauge."""
    return [word for word in re.findall(r"\((\w+)\)", text) if _is_instrument(word)]


def _is_instrument(word: str) -> bool:
    """Whether it is an identifier of one; a certificate's number in brackets is none."""
    return word.startswith(KINDS["instrument"]) and readable(word) != word


def _instrument(store: Store, identifier: str, at_us: int) -> Instrument:
    return instrument_of(identifier, facts(store, key_of(identifier), at_us))


def _named(figure: Uncertain, shared: set[str], number: int) -> Uncertain:
    """The same with the number of the entry behind what only this gauge erred by; the book's own sources stay."""
    named = {
        f"{source} of entry {number}" if _is_own(source, shared) else source: share
        for source, share in figure.sources.items()
    }
    return Uncertain(figure.value, named)


def _is_own(source: str, shared: set[str]) -> bool:
    name, _, label = source.rpartition(", ")
    return name in shared and source not in shared and label in ("gauge", "amount", "sample", "vat")


def _readings(store: Store, body: Mapping[str, Any]) -> Readings:
    reading = str(body.get("reading", ""))
    if found := _HYDROMETER.match(reading):
        return Readings(hydrometer=_strength(store, found[1]), sample_c=float(found[2]))
    if found := _DENSITY.match(reading):
        return Readings(density_kg_m3=float(found[1]), sample_c=float(found[2]))
    if found := _TRUE.match(reading):
        return Readings(true=_strength(store, found[1]))
    return Readings(true=_strength(store, body["strength"])) if "strength" in body else Readings()


def _strength(store: Store, typed: str) -> Strength | None:
    """A strength as typed; None where the house's scale was another then, so that it can no longer be read."""
    scale = cast("Scale", settings(store)["strength_scale"])
    try:
        return read_strength(typed, scale, _mark(typed))
    except PourbookError:
        return None


def _amount(store: Store, body: Mapping[str, Any], at_us: int) -> AmountRead:
    if "gross" in body and "tare" in body:
        gross, tare = (read_amount(body[name], "kg", decimal_mark=_mark(body[name])) for name in ("gross", "tare"))
        tare_mg = float(tare.mass_mg)
        return AmountRead("mass", float(gross.mass_mg), lambda mg: mg - tare_mg, in_air=True, exact=("tare",))
    if "dip_cm" in body and "vessel" in body:
        table = read_table(facts(store, key_of(body["vessel"]), at_us)["dip_table"])
        depth = float(read_decimal(body["dip_cm"], _mark(body["dip_cm"])))
        return AmountRead("depth", depth, lambda cm: table.volume_l(cm) * 1000.0, exact=("calibration table",))
    amount = amount_again(body["typed"])
    if amount.dimension == "volume":
        return AmountRead("volume", float(amount.volume_ml))
    return AmountRead("mass", float(amount.mass_mg), in_air=amount.dimension == "mass_air")


def _mark(typed: str) -> str:
    return "," if "," in typed else "."
