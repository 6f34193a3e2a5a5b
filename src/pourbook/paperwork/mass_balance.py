"""Mass balance and losses of items, from the lines that moved them.

Both cover the whole life of an item, so losses add up to what the balances call lost; a loss in
transit belongs to neither item and stands apart.

>>> from pourbook.papers.endpoints import Named
>>> filled = Moved(1, 4096, 0, "in", "origin", Liquid(1000, 400))
>>> angels = Moved(1, 8192, 0, "gauge", "", Liquid(-10, -4))
>>> (balance,) = balances([filled, angels], {1: Liquid(990, 396)}, {1: Named("C-000001-H")})
>>> balance.lost_mg, balance.difference_mg, balance.difference_lpa_l
(10, 0, Fraction(0, 1))
>>> [(loss.disposition, loss.mass_mg) for loss in losses([filled, angels], {})]
[('regauge loss', 10)]
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pourbook.alcoholometry.volumes import lpa_l
from pourbook.book.contents import LINES
from pourbook.book.site_numbers import is_consignment
from pourbook.liquid import EMPTY, Liquid
from pourbook.papers.dossier.dossier_rows import Balance, Loss
from pourbook.papers.endpoints import Named
from pourbook.queries.journal.movements import Moved

__all__ = ["CHANGED", "GAINED", "MISSING", "TRANSIT", "balances", "losses"]

MISSING = "regauge loss"
GAINED = "regauge gain"
CHANGED = "strength regauge"
TRANSIT = "internal transfer, out less in"
_ON_THE_WAY = {MISSING: "lost between sites", GAINED: "gained between sites", CHANGED: "strength changed between sites"}
"""What another site received of a consignment, against what was sent."""
_LAST = (MISSING, GAINED, CHANGED, TRANSIT, *_ON_THE_WAY.values())


def balances(moved: Iterable[Moved], held: Mapping[int, Liquid], named: Mapping[int, Named]) -> list[Balance]:
    """What went into each item and what became of it, in the order of `named`, which is by key like `held`."""
    sums: dict[tuple[int, str], Liquid] = {}
    for one in moved:
        sums[one.item, one.what] = sums.get((one.item, one.what), EMPTY) + one.liquid
    found = []
    for item, name in named.items():
        into, out = sums.get((item, "in"), EMPTY), sums.get((item, "out"), EMPTY)
        lost = sums.get((item, "lost"), EMPTY) - sums.get((item, "gauge"), EMPTY)
        now = held.get(item, EMPTY)
        masses = [liquid.mass_mg for liquid in (into, out, lost, now)]
        found.append(Balance(name, *masses, *(lpa_l(liquid.ethanol_mg) for liquid in (into, out, lost, now))))
    return found


def losses(moved: Iterable[Moved], journal: Mapping[int, Mapping[str, Any]]) -> list[Loss]:
    """What was lost, by disposition, largest first; gauge differences last."""
    groups: dict[str, list[Moved]] = {}
    for one in moved:
        if one.what in ("lost", "gauge", "transit"):
            groups.setdefault(_disposition(one, journal), []).append(one)
    found = [_loss(disposition, lines) for disposition, lines in groups.items()]
    return sorted(found, key=lambda loss: (loss.disposition in _LAST, -loss.mass_mg))


def _disposition(one: Moved, journal: Mapping[int, Mapping[str, Any]]) -> str:
    if one.what == "transit":
        return TRANSIT
    if one.what == "gauge":
        said = _by_gauge(one.liquid)
        return _ON_THE_WAY.get(said, said) if is_consignment(one.item) else said
    line = journal[one.entry]["body"]["lines"][one.line % LINES]
    return str(line.get("facts", {}).get("disposition", "not stated"))


def _by_gauge(more: Liquid) -> str:
    """Mass and alcohol go opposite ways when the strength of the same volume was regauged."""
    if more.mass_mg * more.ethanol_mg < 0:
        return CHANGED
    return GAINED if more.mass_mg > 0 or more.ethanol_mg > 0 else MISSING


def _loss(disposition: str, lines: Sequence[Moved]) -> Loss:
    whole = EMPTY
    for one in lines:
        whole = whole - one.liquid if one.what == "gauge" else whole + one.liquid
    return Loss(disposition, len({one.entry for one in lines}), whole.mass_mg, lpa_l(whole.ethanol_mg))
