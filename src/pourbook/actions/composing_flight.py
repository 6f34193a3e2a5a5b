"""Compose all trials of a design at once: each glass a trial with a recipe of its own, or none of them.

>>> from fractions import Fraction
>>> from pourbook import Book
>>> from pourbook.actions.casks import Filling, take_in_cask
>>> from pourbook.mixtures.designs import Request, design
>>> from pourbook.mixtures.regions import Region
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for ref in ("ash", "birch"):
...     _ = take_in_cask(book, how, {"ref": ref}, Filling(read_amount("9 l"), read_strength("60")))
>>> region = Region(("ash", "birch"), ((Fraction(0), Fraction(1)),) * 2)
>>> request = Request(3, "quadratic")
>>> asked = FlightAsked(region, request, design(region, request), read_amount("25 ml"), read_amount("0.1 ml"))
>>> composed = compose_flight(book, how, asked, "Ostrewick")
>>> [(trial.id, [f"{pour.volume_ml:.1f}" for pour in trial.plan]) for trial in composed.trials]
[('T000002M', ['25.0']), ('T000003K', ['12.5', '12.5']), ('T000005G', ['25.0'])]
>>> book.show("T000002M").facts["name"]
'Ostrewick, glass 1 of 3'
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.composing import Composed, TrialFacts, compose_trial
from pourbook.actions.happening import Happening
from pourbook.book.entries import RecipePart
from pourbook.numerals import as_decimal
from pourbook.queries.trials.flight_plan import FlightAsked, FlightPlan, flight_plan

if TYPE_CHECKING:
    from fractions import Fraction

    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["FlightComposed", "compose_flight"]


class FlightComposed(NamedTuple):
    """The trials of a flight, in the order of its glasses, with the plan behind them and what was recorded."""

    plan: FlightPlan
    trials: tuple[Composed, ...]
    recorded: "Recorded"


def compose_flight(book: "BookCore", how: Happening, asked: FlightAsked, name: str = "") -> FlightComposed:
    """Give every glass of a design a number as a trial; its parts are the volumes to pour, in ml.

    Each is named by `name` and its glass. Raises as `flight_plan` and `compose_trial`.
    """
    with how.transaction(book):
        plan, mark = flight_plan(book, asked), book.settings["decimal_mark"]
        glasses, parts_of = plan.flight.glasses, [vial.kind or vial.item for vial in plan.vials]
        uses = {vial.kind: vial.item for vial in plan.vials if vial.kind and vial.component in asked.uses}
        trials = []
        for number, glass in enumerate(glasses, 1):
            parts = [
                RecipePart(one, _written(ml, mark)) for one, ml in zip(parts_of, glass.volumes_ml, strict=True) if ml
            ]
            day = f", day {glass.day}" if glasses[-1].day > 1 else ""
            called = f"{name}, glass {number} of {len(glasses)}{day}".removeprefix(", ")
            used = {kind: item for kind, item in uses.items() if any(part.component == kind for part in parts)}
            about = TrialFacts(name=called)
            trials.append(compose_trial(book, how, asked.total, parts=parts, about=about, uses=used))
        first, last = trials[0].recorded, trials[-1].recorded
        recorded = first._replace(numbers=range(first.numbers[0], last.numbers[-1] + 1))
        return FlightComposed(plan, tuple(trials), recorded)


def _written(volume_ml: "Fraction", mark: str) -> str:
    return f"{as_decimal(volume_ml).normalize():f}".replace(".", mark)
