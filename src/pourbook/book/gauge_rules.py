"""The rules of gauges: what was measured of an item, or of casks in a vat, against what the book holds just then.

Of one shape, as in `rules.py`: nothing, a `Question`, or a refusal.
"""

from collections.abc import Callable, Mapping
from math import sqrt
from typing import Any, NamedTuple

from pourbook.book.book_so_far import Known
from pourbook.book.bottles import bottle_count, bottle_mg
from pourbook.book.contents import Holding
from pourbook.book.entries import Draft, Gauge
from pourbook.book.last_measured import Measured
from pourbook.book.line_case import as_asked
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, of_key
from pourbook.errors import Question
from pourbook.liquid import Liquid
from pourbook.numerals import counted
from pourbook.quantities import Amount, Strength

__all__ = ["OF_GAUGES", "OF_VATS", "GaugeCase", "VatCase"]


class GaugeCase(NamedTuple):
    """A gauge that is about to be applied.

    Attributes:
        known: the book so far.
        draft: the gauge, with when, by whom and why.
        gauge: as asked for.
        body: as the journal will keep it.
        held: what the book holds of the item.
        key: of the item.
        measured: when its contents were last measured; None where they never were.
    """

    known: Known
    draft: Draft
    gauge: Gauge
    body: Mapping[str, Any]
    held: Holding
    key: int
    measured: Measured | None


def amount_is_likely(case: GaugeCase) -> Question | None:
    """What was measured is the book's, but for what reading errs by and air may have taken; a loss has its kind."""
    gauge = case.gauge
    # What casks gave a vat, and what a bottling run left in one, was asked about as a whole.
    if gauge.amount is None or "vat_share" in gauge.reading or "run" in gauge.facts:
        return None
    from pourbook.alcoholometry.volumes import volume_ml
    from pourbook.book.fold import gauged
    from pourbook.gauging.slips import Expected, question

    is_told = bool(gauge.facts.get("disposition"))
    held_ml, measured_ml = volume_ml(case.held.liquid), volume_ml(gauged(case.body, case.held.liquid))
    expected = Expected(held_ml, case.known.room(case.key), 0.0, _standard_ml(gauge), is_told)
    if measured_ml < expected.least_ml and gauge.id[:1] == "C":
        expected = expected._replace(lost=_part_lost(case))
    return question(as_asked(gauge.amount), measured_ml, expected, case.known.mark)


def _part_lost(case: GaugeCase) -> float:
    from pourbook.book.cask_losses import part_lost

    store, draft = case.known.store, case.draft
    return part_lost(store, case.key, case.measured, draft.happened_us, (draft.replaces,))


def _standard_ml(gauge: Gauge) -> float | None:
    """The standard uncertainty of the volume, mL; None where the instruments are not known."""
    figures = gauge.uncertainty.figures if gauge.uncertainty else {}
    return float(figures["volume_l_20c"][1]) * 1000 if "volume_l_20c" in figures else None


def strength_is_likely(case: GaugeCase) -> Question | None:
    """A strength far from the book's belongs to another item, or is on another scale."""
    if "fraction" not in case.body or not case.held.mass_mg or case.gauge.provisional == "unmixed":
        return None
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.book.fold import gauged
    from pourbook.gauging.as_typed import strength_again
    from pourbook.gauging.slips import strength_question

    percent = strength_20c(gauged(case.body, case.held.liquid))
    if percent is None or ("book_fraction" in case.body and case.body["book_fraction"] == case.body["fraction"]):
        return None
    shown = case.gauge.reading.get("hydrometer", {}).get("shown")
    typed = case.gauge.strength or (strength_again(shown) if shown else None)
    return strength_question(typed, percent, strength_20c(case.held.liquid), case.known.mark)


def alcohol_is_likely(case: GaugeCase) -> Question | None:
    """Pure alcohol that is gone went somewhere: water in its place keeps the volume, and is no air either.

    Not asked where volume or strength were, and not where solids were determined: what they hide is no loss. Nor of a
    sample at the moment it was drawn: nothing left it, and its reading is asked about of its source.
    """
    gauge, held = case.gauge, case.held.liquid
    if gauge.strength is None and gauge.mass_fraction is None:
        return None
    if not held.ethanol_mg or held.extract_mg or "vat_share" in gauge.reading:
        return None
    if gauge.provisional == "unmixed" or amount_is_likely(case) or strength_is_likely(case):
        return None
    if gauge.id[:1] == "V" and case.measured == (case.draft.happened_us, True):
        return None
    from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
    from pourbook.book.fold import gauged
    from pourbook.gauging.slips import Expected, alcohol_question

    measured = gauged(case.body, held)
    if measured.extract_mg:
        return None
    expected = Expected(volume_ml(held), None, 0.0, _standard_ml(gauge), bool(gauge.facts.get("disposition")))
    found_ml, there_ml, percent = pure_alcohol_ml(measured), pure_alcohol_ml(held), strength_20c(held) or 0.0
    if gauge.id[:1] == "C" and alcohol_question(found_ml, there_ml, percent, expected):
        expected = expected._replace(lost=_part_lost(case))
    return alcohol_question(found_ml, there_ml, percent, expected, case.known.mark)


def step_is_as_expected(case: GaugeCase) -> Question | None:
    """After water alone a batch is as strong as the book says, but for what two readings err by (k = 2)."""
    gauge = case.gauge
    if gauge.id[:1] != "B" or "fraction" not in case.body or gauge.provisional or gauge.facts.get("disposition"):
        return None
    watered = _after_water(case)
    if watered is None or strength_is_likely(case) or alcohol_is_likely(case):
        return None
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.book.fold import gauged
    from pourbook.gauging.evaporation import ASSUMED_STRENGTH_VOL
    from pourbook.numerals import shown

    figures = gauge.uncertainty.figures if gauge.uncertainty else {}
    standard = float(figures["strength_20c"][1]) if "strength_20c" in figures else ASSUMED_STRENGTH_VOL
    found, held = strength_20c(gauged(case.body, case.held.liquid)), strength_20c(watered)
    if found is None or held is None or abs(found - held) <= 2 * sqrt(2) * standard:
        return None
    read, expected = (shown(one, 2, case.known.mark) for one in (found, held))
    return Question(
        "step-not-as-expected",
        f"{hyphened(gauge.id)} is {read} % vol after the water, where {expected} % vol was expected",
        "is it mixed? else record it with --provisional unmixed; was all water recorded?",
        {"read": f"{found:.2f}", "held": f"{held:.2f}"},
    )


def _after_water(case: GaugeCase) -> Liquid | None:
    """What was there after water alone, where nothing followed but gauges that do not stand for it; None otherwise."""
    from pourbook.book.items import ledger
    from pourbook.book.journal import entry_of

    store = case.known.store
    for row in reversed([row for row in ledger(store, case.key) if row.happened_us <= case.draft.happened_us]):
        body = entry_of(store, row.entry).entry["body"]
        lines = body.get("lines", ())
        if lines and all(line["from"] == "water" and line["to"] == case.gauge.id for line in lines):
            return row.holding.liquid
        if "provisional" not in body:
            return None
    return None


def bottles_are_not_gauged(case: GaugeCase) -> Question | None:
    """Bottles that are gone are counted; what a gauge finds gone leaves their number standing."""
    gauge, mass_mg = case.gauge, case.body.get("mass")
    if gauge.id[:1] != "L" or mass_mg is None:
        return None
    each_mg, there = bottle_mg(case.known.store, gauge.id), bottle_count(case.known.store, gauge.id)
    if there is None or 2 * abs(mass_mg - case.held.mass_mg) <= each_mg:
        return None
    return Question(
        "bottles-gauged",
        f"{hyphened(gauge.id)} has {counted(there.left, 'bottle')}, and a gauge leaves their number standing",
        "record those that are gone: pourbook loss LOT '2 bottles' --kind …",
        {"bottles": there.left},
    )


GaugeRule = Callable[[GaugeCase], Question | None]
OF_GAUGES: tuple[GaugeRule, ...] = (
    amount_is_likely,
    strength_is_likely,
    alcohol_is_likely,
    step_is_as_expected,
    bottles_are_not_gauged,
)


# -- of what a vat measured --------------------------------------------------------------


class VatCase(NamedTuple):
    """The total that a vat measured of casks about to be dumped into it.

    Attributes:
        store: of the book.
        mark: the house's decimal mark.
        happened_us: when it was measured.
        casks: what the book holds of each, by key.
        total: as typed.
        strength: as read; None where it was not.
        measured: the liquid that both make.
        is_told: a person says where what is missing went.
    """

    store: Store
    mark: str
    happened_us: int
    casks: Mapping[int, Liquid]
    total: Amount
    strength: Strength | None
    measured: Liquid
    is_told: bool


def vat_total_is_likely(case: VatCase) -> Question | None:
    """The casks can have given what the vat measured, less what air and wood may have taken."""
    from pourbook.alcoholometry.volumes import volume_ml
    from pourbook.book.cask_losses import part_lost
    from pourbook.book.last_measured import last_measured
    from pourbook.gauging.slips import Expected, question

    held_ml, lost_ml = 0.0, 0.0
    for key, liquid in case.casks.items():
        held_ml += volume_ml(liquid)
        if of_key(key)[:1] == "C":
            since = last_measured(case.store, key, (case.happened_us + 1, 0))
            lost_ml += volume_ml(liquid) * part_lost(case.store, key, since, case.happened_us)
    expected = Expected(held_ml, lost=lost_ml / held_ml, is_told=case.is_told)
    return question(case.total.typed, volume_ml(case.measured), expected, case.mark)


def vat_strength_is_likely(case: VatCase) -> Question | None:
    """What the vat measured is about as strong as its casks together."""
    from pourbook.alcoholometry.mixing import mix
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.gauging.slips import strength_question

    percent = strength_20c(case.measured)
    if case.strength is None or percent is None:
        return None
    return strength_question(case.strength, percent, strength_20c(mix(case.casks.values())), case.mark)


OF_VATS: tuple[Callable[[VatCase], Question | None], ...] = (vat_total_is_likely, vat_strength_is_likely)
