"""What the page of a pouring shows: every component beside its plan, the one in hand, and what the glass is by now."""

from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.alcoholometry.mixing import water_to_reach
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.alcoholometry.volumes import displayed_mg, strength_20c, volume_ml
from pourbook.queries.trials.targets import remaining
from pourbook.station.pages.pour_state import DEEDS
from pourbook.station.pages.weighing import scales_of
from pourbook.words.figure_words import age_words

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pourbook.actions.line_scanned import Scanned
    from pourbook.bench.beside_plan import Rest, Target
    from pourbook.liquid import Liquid
    from pourbook.station.pages.pour_state import PourState, PourTask
    from pourbook.station.visit import Visit

__all__ = ["Row", "Water", "shown_of", "water_to"]

_MG = 1000.0
_ROOM = 1.06
"""A bar ends a little behind its largest figure."""


class Row(NamedTuple):
    """A component: its `target`, what it is `called`, and what is still to go of it, each way, in mL at 20 °C."""

    target: "Target"
    called: str
    to_go: tuple[float, ...]

    @property
    def scale_ml(self) -> float:
        """What the whole length of its bar stands for."""
        one = self.target
        return max(one.poured_ml, one.wanted_ml, (one.bounds_ml or (0.0, 0.0))[1], 0.1) * _ROOM

    def grams(self, ml: float) -> float:
        """What a balance shows for so much of it."""
        return displayed_mg(self.target.of_it(ml)) / _MG


class Water(NamedTuple):
    """Water to a strength: `percent` vol, of water `ml` and `grams` on a balance, and the whole that it makes."""

    percent: float
    ml: float
    grams: float
    whole_ml: float


class Take(NamedTuple):
    """How much to take of a cask: what it `keeps`, `litres_20c`, `litres` as warm as it is, `kilograms` on a scale."""

    keeps: str
    litres_20c: float
    litres: float
    kilograms: float


def shown_of(
    visit: "Visit", task: "PourTask", item: str, state: "PourState", answer: "Scanned | None" = None
) -> dict[str, Any]:  # fmt: skip
    """The values of the templates."""
    session, balances = state.session(visit, item), scales_of(visit)
    whole = session.begin()
    now = session.in_hand_now() if state.hand.source else None
    ways = whole.rests or remaining(visit.book, item, whole.beside_plan)
    target, blend = whole.target, whole.blend
    assert target is not None
    per_litre = blend.cost_per_litre if blend else None
    return {
        "task": task, "item": item, "state": state, "hand": state.hand, "answer": answer, "now": now,
        "may": visit.may(*DEEDS), "target": target, "ways": ways,
        "scales": state.read_from(balances), "balances": balances,
        "rows": _rows(whole.beside_plan, whole.called, ways),
        "is_over": any(one.over_ml for one in whole.beside_plan), "makes": _makes(ways),
        "age": age_words(visit.style.zone, blend) if blend else "",
        "per_litre": per_litre,
        "cost": None if per_litre is None else per_litre * target.view.volume_ml_20c / 1000.0,
        "take": _take(now) if now else (), "nosing": None, "heard": None,
        **(task.more(visit, item) if task.more else {}),
    }  # fmt: skip


def _rows(
    beside_plan: "Sequence[Target]", called: "Mapping[str, str]", ways: "Sequence[Rest]"
) -> tuple[Row, ...]:  # fmt: skip
    return tuple(
        Row(one, called.get(one.component, ""), tuple(way.to_go_ml.get(one.component, 0.0) for way in ways))
        for one in beside_plan
    )


def _makes(ways: "Sequence[Rest]") -> tuple[tuple[float, float | None], ...]:
    """Volume and strength of what each way makes."""
    return tuple((volume_ml(way.makes), strength_20c(way.makes)) for way in ways)


def _take(now: "Scanned") -> tuple[Take, ...]:
    def taken(keeps: str, liquid: "Liquid") -> Take:
        as_it_is, at_20 = (volume_ml(liquid, celsius) / 1000.0 for celsius in (now.at_c, 20.0))
        return Take(keeps, at_20, as_it_is, displayed_mg(liquid) / 1e6)

    return tuple(taken(keeps, liquid) for keeps, liquid in now.take.items())


def water_to(visit: "Visit", item: str, typed: str) -> Water:
    """Water that brings what an item holds to a strength.

    Raises:
        PourbookError: it is no strength, or what it holds is weaker.
    """
    percent = target_percent(visit.style.strength(typed))
    liquid = visit.book.show(item).holding.liquid
    water = water_to_reach(liquid, percent)
    return Water(percent, volume_ml(water), displayed_mg(water) / _MG, volume_ml(liquid + water))
