"""Gauge an item: what instruments showed becomes one entry, with the uncertainty of its figures."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.alcoholometry.volumes import composition
from pourbook.book.consequences import Changed, Recorded
from pourbook.book.entries import Gauge, GaugeUncertainty
from pourbook.book.fold import PPB
from pourbook.book.items import ItemView, around, facts, first_stated
from pourbook.book.lineages import pending_in
from pourbook.book.rules import InstrumentCase, confirmed, instrument_is_known
from pourbook.book.settings import DEFAULTS, house_time
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Malformed, Refused
from pourbook.extracts import read_extract
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
from pourbook.gauging.house_instruments import Instrument
from pourbook.gauging.readings import net_weight, strength_read
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.numerals import EXACT
from pourbook.quantities import Amount, read_amount
from pourbook.queries.gauges.last_gauge import strength_was_read
from pourbook.queries.gauges.named_instruments import named_instruments

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.journal import Logged
    from pourbook.gauging.evaporation import Outside

__all__ = ["GaugeDraft", "Gauged", "difference_of", "gauge", "gauge_again", "gauge_draft"]

_AIR = ("air_kg_m3", "weights_kg_m3")


class GaugeDraft(NamedTuple):
    """A gauge about to be recorded, with what a person should know of it.

    Attributes:
        entry: the gauge.
        uncertainty: of its figures.
        instruments: what it was read with, as far as the book knows it.
        unknown_instruments: names that no instrument of the book has.
        dry_tare_kg: the dry tare on record, where it was taken for a cask with spirit in its wood.
    """

    entry: Gauge
    uncertainty: UncertainFigures
    instruments: tuple[Instrument, ...]
    unknown_instruments: tuple[str, ...]
    dry_tare_kg: str = ""


class Gauged(NamedTuple):
    """A gauge that was recorded, with its draft, the item as it is now and the pending entries in it.

    `difference` is what the book had of the item just before the gauge, and what it has by it; `outside` is what of a
    cask's gauge is far from what its earlier ones predict.
    """

    item: ItemView
    difference: Changed
    pending: tuple[int, ...]
    draft: GaugeDraft
    outside: "tuple[Outside, ...]"
    recorded: Recorded


def gauge(
    book: "BookCore", how: Happening, item: str, read: WhatWasRead, instruments: Sequence[str] = (), *,
    provisional: str = "", told: Mapping[str, str | int] = {},
) -> Gauged:  # fmt: skip
    """Record what was measured of an item: it states what is there; the difference from the book is gain or loss.

    It was read with `instruments`, by identifier or name; it is `provisional` ("warm", "unmixed" or "aerated") where it
    does not yet stand for the item. What else is `told`: disposition, witness, document.

    Raises:
        ToConfirm: it is unlikely.
        PourbookError: it cannot be.
    """
    with how.transaction(book):
        view = book.show(item, how.when_us)
        draft = gauge_draft(book, how, view, read, instruments, how.moment(book))
        entry = draft.entry._replace(provisional=provisional, facts=told)
        recorded = how.record(book, entry)
        outside = _unexpected(book, view, recorded.numbers[-1])
        now = book.show(view.id)
        pending = pending_in(book.store, now.holding)
        difference = difference_of(book, view.id, recorded.numbers[-1])
        return Gauged(now, difference, pending, draft._replace(entry=entry), outside, recorded)


def difference_of(book: "BookCore", item: str, number: int) -> Changed:
    """What the book had of an item (its identifier) just before a gauge, an entry in force, and what it has by it."""
    before, after = around(book.store, key_of(item), number)
    return Changed(item, before.liquid, after.liquid)


def gauge_draft(
    book: "BookCore", how: Happening, view: ItemView, read: WhatWasRead, instruments: Sequence[str], at_us: int
) -> GaugeDraft:
    """The entry that readings of an item make at a moment, before it is recorded.

    Raises:
        ToConfirm: an instrument is not known by that name.
        PourbookError: the readings do not go together, or are impossible.
    """
    read = read.checked()
    if read.vessel is not None:
        read = read._replace(vessel=book.find(read.vessel))
    shelf, used, unknown = named_instruments(book, instruments, at_us)
    for name in unknown:
        confirmed((instrument_is_known,), InstrumentCase(book.store, name), by_person=how.confirm)
    if read.extract is not None:
        solids = read_extract(read.extract, "," if "," in read.extract else ".")
    else:
        solids = view.holding.extract_mg / view.volume_ml_20c if view.holding.extract_mg else 0.0
    strength = read.of_strength
    made_of = strength_read(strength, solids)
    amount, amount_read, more = _amount(book, view, read, shelf, at_us)
    sure = gauge_uncertainty(strength, amount_read, shelf, solids, read.temperature_c, view.strength_20c)
    reading = read.kept()
    for way, shown in more.items():
        reading[way] = {**reading.get(way, {}), **shown}
    entry = Gauge(
        view.id, amount, read.true, read.temperature_c,
        reading=reading, instruments=used, uncertainty=_figures(sure),
        mass_fraction=made_of.mass_fraction if made_of and read.true is None else None,
    )  # fmt: skip
    if read.extract is not None:
        found = made_of or composition(view.strength_20c or 0.0, solids)
        entry = entry._replace(
            strength=None, mass_fraction=found.mass_fraction, extract_per_mass=found.extract_per_mass
        )
    dry = more.get("weighed", {}).get("tare_is") == "dry"
    return GaugeDraft(entry, sure, shelf, unknown, reading["weighed"]["tare"] if dry else "")


def gauge_again(
    book: "BookCore", how: Happening, old: "Logged", anew: WhatWasRead, temperature_c: float | None = None,
    instruments: Sequence[str] = (),
) -> Gauge:  # fmt: skip
    """A recorded gauge with readings in place of those that were wrong; None keeps the temperature.

    What an amount or a strength given now replaces goes, with the instruments that read it; `instruments` are those
    that read what is given now. A gauge of which only whole milligrams were known keeps them where no amount is given.

    Raises:
        ToConfirm: an instrument is not known by that name.
        PourbookError: the readings do not go together, or are impossible.
    """
    body = old.entry["body"]
    before = WhatWasRead.again(body)
    read = anew.over(before)
    if temperature_c is not None:
        read = read._replace(temperature_c=temperature_c)
    same_strength = read.of_strength == before.of_strength
    ways = ("amount", "gross", "dip", "meter")
    same_amount = all(getattr(read, way) == getattr(before, way) for way in ways)
    used = [one for one in body.get("instruments", ()) if _still_reads(book, one, same_amount, same_strength)]
    held, _ = around(book.store, key_of(body["item"]), old.number)
    view = book.show(body["item"], old.happened_us)._replace(holding=held)
    for name in named_instruments(book, instruments, old.happened_us).unknown:
        confirmed((instrument_is_known,), InstrumentCase(book.store, name), by_person=how.confirm)
    names = dict.fromkeys((*(one.get("id", one["name"]) for one in used), *instruments))
    entry = gauge_draft(book, how._replace(confirm=True), view, read, tuple(names), old.happened_us).entry
    if entry.amount is None and "mass" in body and not body.get("typed", {}).get("amount"):
        entry = entry._replace(amount=body["mass"])
    only_known = entry.strength is None and entry.mass_fraction is None and same_strength
    if only_known and strength_was_read(body):
        entry = entry._replace(mass_fraction=body["fraction"] / PPB)
    return entry._replace(provisional=body.get("provisional", ""), facts=body.get("facts", {}))


def _still_reads(book: "BookCore", one: Mapping[str, str], same_amount: bool, same_strength: bool) -> bool:
    """Whether an instrument of a corrected gauge read something that stands."""
    if "id" not in one:
        return same_amount and same_strength
    kind = book.show(one["id"]).facts.get("instrument", "other")
    if kind in ("hydrometer", "density meter"):
        return same_strength
    return same_amount if kind not in ("thermometer", "other") else True


def _figures(sure: UncertainFigures) -> GaugeUncertainty | None:
    if not sure.figures:
        return None
    figures = {name: (f"{one.value:.10g}", f"{one.standard:.4g}") for name, one in sure.figures.items()}
    return GaugeUncertainty(figures, sure.exact)


# -- the amount ------------------------------------------------------------------------


def _amount(
    book: "BookCore", view: ItemView, read: WhatWasRead, shelf: Sequence[Instrument], at_us: int
) -> tuple[Amount | None, AmountRead | None, dict[str, dict[str, str]]]:
    """What is there, how it was read, and what else of that is kept; None where it was not measured."""
    if read.gross is not None:
        return _weighed(book, view, read.gross, read.tare, at_us)
    if read.dip is not None and read.vessel is not None:
        return _dipped(book, read.dip, read.vessel, at_us)
    amount, more = _metered(read.meter, read.meter_start, shelf) if read.meter is not None else (read.amount, {})
    return amount, None if amount is None else measured(amount), more


def _metered(
    end: Amount, start: Amount | None, shelf: Sequence[Instrument]
) -> tuple[Amount, dict[str, dict[str, str]]]:
    through = end.less(start) if start is not None and start.value else end
    if through.dimension != "volume":
        raise Malformed(f"'{end.typed}' is a mass; a flow meter shows volumes", "write it in l or gal, or give --gross")
    factor = next((one.factor for one in shelf if one.kind == "flow meter"), None)
    if factor is None or factor == 1:
        return through, {}
    value = EXACT.multiply(through.value, factor)
    return through._replace(typed=f"{through.typed} × {factor:f}", value=value), {"meter": {"factor": f"{factor:f}"}}


def _weighed(
    book: "BookCore", view: ItemView, gross: Amount, tare: Amount | None, at_us: int
) -> tuple[Amount, AmountRead, dict[str, dict[str, str]]]:
    known = facts(book.store, key_of(view.id), at_us).get("tare_kg")
    if tare is None and known is None:
        _refuse_if_later(book, view.id, "tare_kg", "tare", at_us)
        raise Malformed(f"{hyphened(view.id)} has no tare recorded", "give --tare, or: pourbook set ITEM tare_kg=…")
    kept: dict[str, str] = {}
    if tare is None:
        tare = amount_again(f"{known} kg")
        kept["tare"] = f"{known} kg"
        if view.holding.state:
            kept["tare_is"] = "dry"
    settings = book.settings
    kept |= {name: settings[name] for name in _AIR if settings[name] != DEFAULTS[name]}
    return net_weight(gross, tare), weighed(gross, tare), {"weighed": kept}


def _dipped(
    book: "BookCore", dip: str, vessel: str, at_us: int
) -> tuple[Amount, AmountRead, dict[str, dict[str, str]]]:
    # The table that stood when the dip was read, not a later one.
    written = facts(book.store, key_of(vessel), at_us).get("dip_table")
    if written is None:
        _refuse_if_later(book, vessel, "dip_table", "calibration table", at_us)
        raise Refused(f"{hyphened(vessel)} has no calibration table", "enter it: pourbook vessel NAME --table …")
    table, depth = read_table(written), float(number_again(dip))
    return read_amount(f"{table.volume_l(depth):.4f} l")._replace(typed=f"dip of {dip} cm"), dipped(depth, table), {}


def _refuse_if_later(book: "BookCore", item: str, fact: str, called: str, at_us: int) -> None:
    first_us = first_stated(book.store, key_of(item), fact)
    if first_us is not None and first_us > at_us:
        read, first = (house_time(book.store, moment_us) for moment_us in (at_us, first_us))
        raise Refused(
            f"the first {called} of {hyphened(item)} was entered at {first}, after {read}",
            f"check --when, or enter the {called} that stood then, with --when",
        )


def _unexpected(book: "BookCore", view: ItemView, entry: int) -> "tuple[Outside, ...]":
    from pourbook.book.fillings import fillings, outlook  # casks only

    if view.kind != "cask":
        return ()
    latest = fillings(book.store, [key_of(view.id)])[key_of(view.id)][-1:]
    if not latest or latest[0].readings[-1].entry != entry:
        return ()
    return outlook(latest[0], book.clock()).outside
