"""A recorded gauge read again: the uncertainty of its figures, with the sources of their errors.

The record keeps what was read and with what; so two gauges by one instrument share its error.
"""

from collections.abc import Mapping
from typing import Any

from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of
from pourbook.gauging.as_typed import amount_again, number_again
from pourbook.gauging.calibration_tables import read_table
from pourbook.gauging.gauge_uncertainty import (
    AmountRead,
    UncertainFigures,
    dipped,
    gauge_uncertainty,
    measured,
    weighed,
)
from pourbook.gauging.house_instruments import instrument_of
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.uncertainty.instrument_errors import CERTIFIED, IN_PROPORTION, REPEATED
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
    read = WhatWasRead.again(body)
    amount = _amount(store, read, body.get("typed", {}), happened_us)
    sure = gauge_uncertainty(read.of_strength, amount, known, extract_g_per_l, read.temperature_c, book_percent)
    shared = {one.name + of for one in known for of in ("", CERTIFIED, IN_PROPORTION)}
    figures = {name: _named(figure, shared, number) for name, figure in sure.figures.items()}
    return sure._replace(figures=figures)


def _named(figure: Uncertain, shared: set[str], number: int) -> Uncertain:
    """The same with the number of the entry behind what only this gauge erred by; the book's own sources stay."""

    def name(source: str) -> str:
        return f"{source} of entry {number}" if _is_own(source, shared) else source

    return Uncertain(
        figure.value,
        {name(source): share for source, share in figure.sources.items()},
        {name(source): count for source, count in figure.rectangles.items()},
    )


def _is_own(source: str, shared: set[str]) -> bool:
    name, _, label = source.removesuffix(REPEATED).rpartition(", ")
    return name in shared and source not in shared and label in ("gauge", "amount", "sample", "vat")


def _amount(store: Store, read: WhatWasRead, typed: Mapping[str, str], at_us: int) -> AmountRead | None:
    if read.gross is not None and read.tare is not None:
        return weighed(read.gross, read.tare)
    if read.dip is not None and read.vessel is not None:
        return dipped(float(number_again(read.dip)), read_table(facts(store, key_of(read.vessel), at_us)["dip_table"]))
    return measured(amount_again(typed["amount"])) if "amount" in typed else None
