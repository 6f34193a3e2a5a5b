"""The uncertainty of an item filled from others: their gauges carried through every pour.

First order, as in `pourbook.uncertainty`: an error that two sources share, such as that of one
hydrometer, stays shared in their blend. Going back stops where an item was gauged whole (amount and
strength) or was empty. No pour says with what its amount was measured, so that this is taken as exact.
"""

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from itertools import groupby
from typing import Any

from pourbook.alcoholometry.volumes import volume_ml as exact_volume_ml
from pourbook.book.contents import EVER, LINES
from pourbook.book.core import BookCore
from pourbook.book.search import LedgerLine, ledger_lines, told
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, named, of_key
from pourbook.errors import OutOfRange, Refused
from pourbook.gauging.as_typed import amount_again
from pourbook.gauging.gauge_uncertainty import UncertainFigures
from pourbook.liquid import Liquid
from pourbook.queries.gauges.last_gauge import strength_was_read
from pourbook.queries.gauges.recorded_gauge import recorded_uncertainty
from pourbook.uncertainty.figures import (
    UncertainLiquid,
    mixed,
    of_volume,
    of_weight,
    poured,
    pure_alcohol_ml,
    strength_20c,
    volume_ml,
)
from pourbook.uncertainty.propagation import Uncertain, applied

__all__ = ["uncertainty"]

_CANCELLED = 1e-9  # of the figure
_EMPTY = UncertainLiquid(Uncertain(0.0), Uncertain(0.0), Uncertain(0.0))


def uncertainty(book: BookCore, text: str) -> UncertainFigures:
    """Strength, mass, volume and pure alcohol of an item by the book, with their ±.

    Raises:
        Refused: it is empty.
    """
    identifier = book.find(text)
    walk = _Walk(book.store)
    held = walk.state(key_of(identifier))
    if not held.mass_mg.value:
        raise Refused(f"{hyphened(identifier)} is empty and has no figures", "name an item that holds liquid")
    figures = {
        "strength_20c": strength_20c(held),
        "mass_kg": held.mass_mg / 1e6,
        "volume_l_20c": volume_ml(held) / 1e3,
        "lpa": pure_alcohol_ml(held) / 1e3,
    }
    figures = {name: _clean(of) for name, of in figures.items()}
    return UncertainFigures(figures, tuple(walk.exact), tuple(walk.wanting), identifier)


class _Walk:
    """Back to the gauges, and forward again through the pours."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._rows = cache(lambda key: list(ledger_lines(store, (key,), EVER)))
        self._line = cache(told)
        self._held: dict[int, UncertainLiquid] = {}
        self.exact: dict[str, None] = {}
        self.wanting: dict[str, None] = {}

    def state(self, key: int) -> UncertainLiquid:
        for _, rows in groupby(sorted(self._back(key)), key=lambda row: (row.happened_us, row.place)):
            self._forward({row.key: row for row in rows})
        return self._held.get(key, _EMPTY)

    # -- back --------------------------------------------------------------------------

    def _back(self, key: int) -> set[LedgerLine]:
        found: set[LedgerLine] = set()
        waiting = [(key, (1 << 62, 0))]
        while waiting:
            key, until = waiting.pop()
            for row in reversed(self._rows(key)):
                if (row.happened_us, row.place) >= until:
                    continue
                if row in found:
                    break
                found.add(row)
                if self._is_start(row):
                    break
                source = self._line(row).get("from", "")
                if source[:1].isupper() and key_of(source) != key:
                    waiting.append((key_of(source), (row.happened_us, row.place)))
        return found

    def _is_start(self, row: LedgerLine) -> bool:
        """Whether what was there before no longer matters: emptied, or gauged whole."""
        line = self._line(row)
        return not row.after.mass_mg or ("from" not in line and "mass" in line and strength_was_read(line))

    # -- forward -----------------------------------------------------------------------

    def _forward(self, rows: Mapping[int, LedgerLine]) -> None:
        """One line, as far as it touches items that matter."""
        row = next(iter(rows.values()))
        line = self._line(row)
        if "from" not in line:
            try:
                self._held[row.key] = self._gauged(row, line) if row.after.mass_mg else _EMPTY
            except OutOfRange:  # hardly more than extract: no formula holds for it
                self._held[row.key] = _exactly(row.after.liquid)
                self.exact[f"the gauge of {named(of_key(row.key))} (entry {row.line // LINES})"] = None
            return
        source = key_of(line["from"]) if line["from"][:1].isupper() else 0
        part = self._part(line, source)
        for key, touched in rows.items():
            before = self._held.get(key, _EMPTY)
            masses = mixed((before, part if key != source else UncertainLiquid(*(-mass for mass in part))))
            self._held[key] = _at(masses, touched.after.liquid) if touched.after.mass_mg else _EMPTY

    def _part(self, line: Mapping[str, Any], source: int) -> UncertainLiquid:
        """What a line pours; its composition is as uncertain as that of its source."""
        held = self._held.get(source, _EMPTY)
        if not held.mass_mg.value or "ethanol" in line:
            way = f"what went from {named(line['from'])} to {named(line['to'])}"
            self.exact["water" if line["from"] == "water" else way] = None
            return _EMPTY
        mass = line.get("in", line.get("mass"))
        if mass is None:
            return held
        self.exact["amounts poured"] = None
        if _by_volume(line):
            return poured(mass * volume_ml(held).value / held.mass_mg.value, held)
        return UncertainLiquid(*(applied(lambda one, all_: mass * one / all_, each, held.mass_mg) for each in held))

    def _gauged(self, row: LedgerLine, body: Mapping[str, Any]) -> UncertainLiquid:
        """What a gauge found: what it did not read is as uncertain as before."""
        before, now = self._held.get(row.key, _EMPTY), row.after.liquid
        extract = now.extract_mg / exact_volume_ml(now)
        was_read = strength_was_read(body)
        book = strength_20c(before if before.mass_mg.value and not was_read else _exactly(now))
        found = recorded_uncertainty(self._store, row.line // LINES, body, row.happened_us, extract, book)
        of_gauge = f"the gauge of {named(of_key(row.key))} (entry {row.line // LINES})"
        self.exact |= dict.fromkeys(f"{one} of {of_gauge}" for one in found.exact if one != "strength")
        self.wanting |= dict.fromkeys(found.wanting)
        percent = found.figures.get("strength_20c", book)
        if was_read and "strength_20c" not in found.figures:
            self.exact[f"strength of {of_gauge}"] = None
        if "mass" not in body:
            liquid = of_volume(volume_ml(before), percent, 20.0, extract)
        elif "mass_kg" in found.figures:
            liquid = of_weight(found.figures["mass_kg"] * 1e6, percent, 20.0, extract, in_air=False)
        else:
            self.exact[f"amount of {of_gauge}"] = None
            by_volume = of_volume(exact_volume_ml(now), percent, 20.0, extract)
            by_mass = of_weight(float(now.mass_mg), percent, 20.0, extract, in_air=False)
            liquid = by_volume if _by_volume(body) else by_mass
        return _at(liquid, now)


def _by_volume(line: Mapping[str, Any]) -> bool:
    """Whether an amount was measured as a volume, and not weighed."""
    typed = line.get("typed", {}).get("amount")
    return typed is not None and amount_again(typed).dimension == "volume"


def _at(masses: UncertainLiquid, liquid: Liquid) -> UncertainLiquid:
    """The same sources about the book's own figures, which stay what they are."""
    return UncertainLiquid(*(replace(mass, value=float(mg)) for mg, mass in zip(liquid, masses, strict=True)))


def _clean(figure: Uncertain) -> Uncertain:
    """Without sources that have cancelled but for the last bits of the arithmetic."""
    least = _CANCELLED * abs(figure.value)
    return replace(figure, sources={source: share for source, share in figure.sources.items() if abs(share) > least})


def _exactly(liquid: Liquid) -> UncertainLiquid:
    return _at(_EMPTY, liquid)
