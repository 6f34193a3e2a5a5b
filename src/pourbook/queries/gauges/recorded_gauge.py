"""A recorded gauge read again: the uncertainty of its figures, with the sources of their errors.

The record keeps what was read and with what; so two gauges by one instrument share its error.
"""

from collections.abc import Mapping
from typing import Any

from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of
from pourbook.gauging.as_typed import amount_again, celsius_again, number_again, strength_again
from pourbook.gauging.calibration_tables import read_table
from pourbook.gauging.gauge_uncertainty import AmountRead, UncertainFigures, gauge_uncertainty
from pourbook.gauging.house_instruments import instrument_of
from pourbook.gauging.readings import Readings, read_density
from pourbook.uncertainty.propagation import Figure, Uncertain

__all__ = ["recorded_uncertainty"]


def recorded_uncertainty(
    store: Store, number: int, body: Mapping[str, Any], happened_us: int, extract_g_per_l: float, book_percent: Figure
) -> UncertainFigures:
    """The figures of a recorded gauge with their uncertainty; its instruments count as they were known then.

    `book_percent` is the strength by the book, where none was read.
    """
    ids = [one["id"] for one in body.get("instruments", ()) if "id" in one]
    known = [instrument_of(one, facts(store, key_of(one), happened_us)) for one in ids]
    vat_c = celsius_again(body.get("typed", {}))
    amount = _amount(store, body, happened_us)
    sure = gauge_uncertainty(_readings(body), amount, known, extract_g_per_l, vat_c, book_percent)
    shared = {one.name for one in known} | {f"{one.name}, in proportion" for one in known}
    figures = {name: _named(figure, shared, number) for name, figure in sure.figures.items()}
    return sure._replace(figures=figures)


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


def _readings(body: Mapping[str, Any]) -> Readings:
    reading = body.get("reading", {})
    for way in ("hydrometer", "density"):
        if way in reading:
            shown, sample_c = reading[way]["shown"], celsius_again({"temperature": reading[way]["at"]})
            if way == "density":
                return Readings(density_kg_m3=read_density(shown), sample_c=sample_c)
            return Readings(hydrometer=strength_again(shown), sample_c=sample_c)
    typed = reading.get("true", {}).get("shown") or body.get("typed", {}).get("strength")
    return Readings(true=strength_again(typed)) if typed else Readings()


def _amount(store: Store, body: Mapping[str, Any], at_us: int) -> AmountRead | None:
    reading, typed = body.get("reading", {}), body.get("typed", {})
    if "weighed" in reading:
        gross, tare = (amount_again(reading["weighed"][name]) for name in ("gross", "tare"))
        tare_mg = float(tare.mass_mg)
        return AmountRead("mass", float(gross.mass_mg), lambda mg: mg - tare_mg, in_air=True, exact=("tare",))
    if "dip" in reading:
        table = read_table(facts(store, key_of(reading["dip"]["vessel"]), at_us)["dip_table"])
        depth = float(number_again(reading["dip"]["depth"].removesuffix(" cm")))
        return AmountRead("depth", depth, lambda cm: table.volume_l(cm) * 1000.0, exact=("calibration table",))
    if "amount" not in typed:
        return None
    amount = amount_again(typed["amount"])
    if amount.dimension == "volume":
        return AmountRead("volume", float(amount.volume_ml))
    return AmountRead("mass", float(amount.mass_mg), in_air=amount.dimension == "mass_air")
