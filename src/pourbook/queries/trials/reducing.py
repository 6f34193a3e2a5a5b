"""Spirit being reduced in steps: what was planned, what water went in, what was gauged, and what is next.

Steps are planned from what was there before the first of them; what is next is worked out from what is there now.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> batch = Item("B000001Y", {"target_strength": "46 % vol", "rests": "55 % vol"})
>>> fill = Move("origin", "B000001Y", read_amount("100 l"), read_strength("60"))
>>> water = Move("water", "B000001Y", read_amount("9.2 l"))
>>> entries = batch, Pour("fill", (fill,)), Pour("reduce", (water,))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> found = reducing(book, "B000001Y")
>>> [f"{step.water.mass_mg / 1e6:.2f} kg to {step.to_percent:.0f}" for step in found.planned]
['9.45 kg to 55', '21.95 kg to 46']
>>> [f"{step.water.mass_mg / 1e6:.2f} kg, then {step.after_percent:.2f}" for step in found.done]
['9.18 kg, then 55.13']
>>> [f"{step.water.mass_mg / 1e6:.2f} kg to {step.to_percent:.0f}" for step in found.ahead]
['22.22 kg to 46']
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.alcoholometry.apparent import composition_of_liquid
from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL
from pourbook.alcoholometry.reduction import reduced
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.alcoholometry.vatting import part_to_reach
from pourbook.alcoholometry.volumes import strength_20c
from pourbook.bench.trials import WATER
from pourbook.book.items import ItemView, LedgerRow, facts, ledger
from pourbook.book.journal import entries_of, line_of
from pourbook.book.search import stated
from pourbook.codes.identifiers import hyphened, key_of, of_key
from pourbook.errors import Question
from pourbook.gauging.as_typed import strength_again
from pourbook.liquid import Liquid
from pourbook.numerals import counted, shown
from pourbook.queries.gauges.last_gauge import strength_was_read
from pourbook.times import DAY_US
from pourbook.times import shown as time_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Reducing", "StepAhead", "StepDone", "reducing", "rest_question", "resting", "too_weak_question"]

_REACHED = 0.2
"""A strength at which to rest is reached within this, % vol: common practice, no source."""


_TOO_WEAK = 0.3
"""In % vol below its target, as much as a label may be off: 27 CFR 19.356(c) (read)."""


class StepAhead(NamedTuple):
    """Water that brings what was there to a strength, % vol at 20 °C."""

    to_percent: float
    water: Liquid


class StepDone(NamedTuple):
    """Water that went in.

    Attributes:
        entry: number of its entry.
        happened_us: when.
        water: how much.
        before_percent: strength before it, by the book.
        expected_percent: strength after it, by the book.
        after_percent: strength after it, as gauged or else by the book.
        gauged_us: when that was gauged; None where it was not before the next water.
        facts: of the water: what it is, its lot.
    """

    entry: int
    happened_us: int
    water: Liquid
    before_percent: float
    expected_percent: float
    after_percent: float
    gauged_us: int | None
    facts: Mapping[str, Any]


class Reducing(NamedTuple):
    """A reduction of an item (its view).

    Attributes:
        planned: steps as they follow from what was there before the first of them.
        done: in order.
        ahead: what is still to be done, from what is there now.
        rest_days: between steps.
        first: what was there before the first step; what is there now where none is done.
    """

    view: ItemView
    planned: tuple[StepAhead, ...]
    done: tuple[StepDone, ...]
    ahead: tuple[StepAhead, ...]
    rest_days: int
    first: Liquid

    @property
    def target_percent(self) -> float | None:
        """The strength to be reached, % vol; None where none is stated."""
        return self.planned[-1].to_percent if self.planned else None

    @property
    def spirit_back(self) -> Liquid | None:
        """How much of what was there before the first step brings it back to its target; None where it is not below."""
        present, target = strength_20c(self.view.holding.liquid), self.target_percent
        if not self.done or present is None or target is None or present >= target - SAME_PERCENT_VOL:
            return None
        return part_to_reach(self.view.holding.liquid, composition_of_liquid(self.first), target)

    @property
    def rests_until_us(self) -> int | None:
        """The moment before which no water is planned: None where none is, or where its step was only begun."""
        if not self.done or not self.ahead:
            return None
        aim, last = self.step_of(self.done[-1]), self.done[-1]
        is_begun = aim is not None and aim.to_percent == self.ahead[0].to_percent
        return None if is_begun else last.happened_us + self.rest_days * DAY_US

    def step_of(self, done: StepDone) -> StepAhead | None:
        """The step that water was for: the strongest that was not reached before it; None where none is planned."""
        aims = (step for step in self.planned if not _is_reached(done.before_percent, step, self.planned))
        return next(aims, self.planned[-1] if self.planned else None)


def reducing(book: "BookCore", text: str, at_us: int | None = None) -> Reducing:
    """The reduction of an item, now or at a moment.

    Raises:
        PourbookError: no such item; its target strength or its rests are no strengths.
    """
    view = book.show(text, at_us)
    rows = [row for row in ledger(book.store, key_of(view.id)) if at_us is None or row.happened_us <= at_us]
    entries = entries_of(book.store, (row.entry for row in rows))
    done, first = _done(view.id, rows, entries)
    targets = _targets(view.facts)
    return Reducing(
        view,
        _ahead(first or view.holding.liquid, targets),
        tuple(done),
        _ahead(view.holding.liquid, targets),
        int(view.facts.get("rest_days", 0)),
        first or view.holding.liquid,
    )


def resting(book: "BookCore") -> tuple[Reducing, ...]:
    """Every reduction that rests, or has rested and waits for its next water; those that wait longest first."""
    items = {of_key(one.item) for one in stated(book.store, ("rest_days",)) if one.value}
    held = [item for item in items if ledger(book.store, key_of(item))[-1:] and book.show(item).holding.ethanol_mg]
    found = [one for one in (reducing(book, item) for item in held) if one.rest_days and one.rests_until_us]
    return tuple(sorted(found, key=lambda one: (one.rests_until_us or 0, one.view.id)))


def rest_question(book: "BookCore", item: str, at_us: int) -> Question | None:
    """What to ask about water that goes in before the rest of the step before has ended; None where it has."""
    if not facts(book.store, key_of(item)).get("rest_days"):
        return None
    until = reducing(book, item).rests_until_us
    if until is None or at_us >= until:
        return None
    days = -(-(until - at_us) // DAY_US)
    said = f"{hyphened(item)} rests until {time_shown(until, book.zone)}: {counted(days, 'day')} more"
    return Question("rest-not-over", said, "let it rest, or was the time of the water another? give --when.")


def too_weak_question(found: Reducing, water: Liquid, mark: str = ".") -> Question | None:
    """What to ask about water that would bring a reduction below its target; None where it does not, or has none."""
    target, after = found.target_percent, strength_20c(found.view.holding.liquid + water)
    if target is None or after is None or after >= target - _TOO_WEAK:
        return None
    wanted = sum(step.water.mass_mg for step in found.ahead) / 1e6
    said = (
        f"{hyphened(found.view.id)} would be {shown(after, 2, mark)} % vol with that water, and is to be"
        f" {shown(target, 2, mark)} % vol"
    )
    remedy = f"add at most {shown(wanted, 2, mark)} kg." if found.ahead else "add no more water."
    return Question("below-target", said, remedy, {"after_ppm": round(after * 10_000)})


def _targets(known: Mapping[str, str]) -> list[float]:
    """Strengths at which to rest, and the target; none without one."""
    if not known.get("target_strength"):
        return []
    typed = [*filter(None, known.get("rests", "").split("; ")), known["target_strength"]]
    return [target_percent(strength_again(text)) for text in typed]


def _ahead(liquid: Liquid, targets: Sequence[float]) -> tuple[StepAhead, ...]:
    present = strength_20c(liquid) if liquid.ethanol_mg else None
    if present is None:
        return ()
    steps = [StepAhead(percent, liquid) for percent in targets]
    wanted = [step.to_percent for step in steps if not _is_reached(present, step, steps)]
    return tuple(StepAhead(percent, one.water) for percent, one in zip(wanted, reduced(liquid, wanted), strict=True))


def _is_reached(present: float, step: StepAhead, steps: Sequence[StepAhead]) -> bool:
    """The target itself is reached when it is; a rest before it is not worth a little water."""
    return present <= step.to_percent + (SAME_PERCENT_VOL if step.to_percent == steps[-1].to_percent else _REACHED)


def _done(
    item: str, rows: Sequence[LedgerRow], entries: Mapping[int, Mapping[str, Any]]
) -> tuple[list[StepDone], Liquid | None]:
    """Water poured onto spirit, each with the gauge that followed it; and what was there before the first.

    Water that was poured together with spirit is a part of the blend and no step.
    """
    done: list[StepDone] = []
    first: Liquid | None = None
    before = Liquid(0, 0)
    for row in rows:
        entry, liquid = entries[row.entry], row.holding.liquid
        strength = strength_20c(liquid) or 0.0
        if before.ethanol_mg and _is_water_alone(entry, item):
            first = first or before
            done.append(
                StepDone(
                    row.entry, row.happened_us, liquid - before, strength_20c(before) or 0.0, strength, strength, None,
                    line_of(entry["body"], row.line).get("facts", {}),
                )
            )  # fmt: skip
        elif entry["kind"] == "gauge" and done and strength_was_read(entry["body"]):
            done[-1] = done[-1]._replace(after_percent=strength, gauged_us=row.happened_us)
        before = liquid
    return done, first


def _is_water_alone(entry: Mapping[str, Any], item: str) -> bool:
    lines = entry["body"].get("lines", ()) if entry["kind"] == "pour" else ()
    return bool(lines) and all(line["from"] == WATER and line["to"] == item for line in lines)
