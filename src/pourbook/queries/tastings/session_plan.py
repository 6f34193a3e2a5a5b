"""A tasting session before it is opened: what goes into a glass, what all of it takes, and what it offers to people.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> for vial, strength in (("V000001R", "60"), ("V000002P", "52")):
...     filled = Pour("fill", (Move("origin", vial, read_amount("100 ml"), read_strength(strength)),))
...     _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(vial, {}), filled)))
>>> who = ("Isla Farrow", "M. Aldane")
>>> wish = Wish(("V000001R", "V000002P"), who, read_amount("15 ml"), read_strength("21"))
>>> plan = session_plan(book, wish)
>>> [(need.glasses, round(need.needed_ml, 1)) for need in plan.needs], f"{plan.alcohol_mg / 1000:.1f} g"
([(2, 10.5), (2, 12.1)], '5.0 g')
"""

import math
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.bench.serving import TESTS, Glass, glass_of, most_of_each
from pourbook.book.bottles import bottle_count
from pourbook.book.items import ItemView
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Held, Malformed, NotThere, OutOfRange, Refused
from pourbook.gauging.as_typed import amount_again, strength_again
from pourbook.numerals import shown
from pourbook.queries.items.called import at_sight, called_view
from pourbook.queries.traces.brought import Brought, brought

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Session
    from pourbook.panels.discrimination import Planned
    from pourbook.quantities import Amount, Strength

__all__ = ["USUAL_D_PRIME", "Need", "SessionPlan", "Wish", "in_a_glass", "need_of", "session_plan"]

_STEP_ML = 0.5
USUAL_D_PRIME = 1.0
"""The difference for which the power of a session's test is told: one that many notice (common practice)."""


class Wish(NamedTuple):
    """What is to be tasted.

    Attributes:
        glasses: items, by identifier or name; one that is named again is offered twice, under two codes.
        assessors: who tastes.
        amount: in each glass, water included.
        strength: every stronger glass is reduced to it; None leaves them as they are.
        test: of differences between two items, a key of `TESTS`; empty for none.
        swallowed: no spittoon is assumed.
    """

    glasses: tuple[str, ...]
    assessors: tuple[str, ...]
    amount: "Amount"
    strength: "Strength | None" = None
    test: str = ""
    swallowed: bool = False


class Need(NamedTuple):
    """What a session takes of an item (as `called`): its glasses over all assessors, at most, and what is in each."""

    item: ItemView
    called: str
    glasses: int
    glass: Glass

    @property
    def needed_ml(self) -> float:
        """Spirit for all its glasses, mL at 20 °C."""
        return self.glasses * self.glass.spirit_ml

    @property
    def water_ml(self) -> float:
        """Water for all its glasses, mL at 20 °C."""
        return self.glasses * self.glass.water_ml

    @property
    def short_ml(self) -> float:
        """What the item lacks; zero where it suffices."""
        return max(0.0, self.needed_ml - self.item.volume_ml_20c)


class SessionPlan(NamedTuple):
    """What a session would take and offer.

    Attributes:
        wish: as asked, its glasses by identifier.
        needs: by item, in the order named.
        glasses_each: of each assessor.
        glass_ml: in each.
        percent_vol: to which they are reduced; None where they are not.
        alcohol_mg: pure alcohol offered to an assessor, at the most.
        brings: allergens and previous contents, over all glasses.
        fitting_ml: the largest glass for which everything suffices, to half a mL below.
        shows: what a test could show with so many assessors; None where it is none.
    """

    wish: Wish
    needs: tuple[Need, ...]
    glasses_each: int
    glass_ml: float
    percent_vol: float | None
    alcohol_mg: float
    brings: Brought
    fitting_ml: float
    shows: "Planned | None" = None

    @property
    def short(self) -> tuple[Need, ...]:
        """Items that do not suffice."""
        return tuple(need for need in self.needs if need.short_ml > 0)


def session_plan(book: "BookCore", wish: Wish) -> SessionPlan:
    """Work a session out; nothing is recorded.

    Raises:
        Held: an item is on hold.
        NotThere: an item is empty.
        OutOfRange: an item is weaker than the strength to which all are reduced.
        PourbookError: no such item, or a test of other than two.
    """
    if wish.test and wish.test not in TESTS:
        raise Malformed(f"'{wish.test}' is not a test of differences", f"choose from: {', '.join(TESTS)}")
    if not wish.assessors:
        raise Malformed("a session has assessors", "name everybody with --assessor NAME")
    found = tuple(book.find(text) for text in wish.glasses)
    if len(found) < 2:
        raise Malformed("a session compares two glasses or more", "name each with --glass ITEM")
    if wish.test and (len(found) != 2 or found[0] == found[1]):
        raise Malformed(f"a {wish.test} test compares two items", "name two with --glass, and no repeat")
    glass_ml = float(wish.amount.volume_ml)
    percent = None if wish.strength is None else target_percent(wish.strength)
    glasses = most_of_each(found, len(wish.assessors), wish.test)
    needs = tuple(need_of(book, item, count, glass_ml, percent) for item, count in glasses.items())
    _check_strengths(book, needs, percent)
    least = min(need.item.volume_ml_20c / need.needed_ml for need in needs)
    return SessionPlan(
        wish._replace(glasses=found),
        needs,
        len(TESTS[wish.test].orders[0]) if wish.test else len(found),
        glass_ml,
        percent,
        _offered_mg(found, {need.item.id: need.glass for need in needs}, wish.test),
        brought(book, glasses),
        math.floor(glass_ml * least / _STEP_ML) * _STEP_ML,
        _shows(wish),
    )


def _check_strengths(book: "BookCore", needs: tuple[Need, ...], percent: float | None) -> None:
    """Every glass can have the one strength, which ballots and notes will say."""
    weakest = min(needs, key=lambda need: need.glass.percent_vol)
    if percent is not None and percent - weakest.glass.percent_vol > SAME_PERCENT_VOL:
        mark = book.settings["decimal_mark"]
        has, wanted = (f"{shown(value, 1, mark)} % vol" for value in (weakest.glass.percent_vol, percent))
        raise OutOfRange(
            f"{at_sight(weakest.item.id, weakest.called)} has {has}, and water does not bring it to {wanted}",
            "give --to a strength that all glasses can have, or leave that one out",
        )


def _shows(wish: Wish) -> "Planned | None":
    if not wish.test:
        return None
    from pourbook.panels.discrimination import difference, planned

    return planned(difference(wish.test, d_prime=USUAL_D_PRIME), len(wish.assessors))


def in_a_glass(session: "Session") -> tuple[float, float | None]:
    """What stands in each glass of a session that was opened: mL, and % vol where glasses are reduced."""
    percent = target_percent(strength_again(session.strength)) if session.strength else None
    return float(amount_again(session.amount).volume_ml), percent


def need_of(book: "BookCore", item: str, glasses: int, glass_ml: float, percent: float | None) -> Need:
    """What so many glasses take of an item, by what it holds now.

    Raises:
        Held: it is on hold.
        Refused: it is a lot that is counted in bottles.
        NotThere: it is empty.
    """
    view = book.show(item)
    if view.facts.get("held"):
        raise Held(f"{hyphened(item)} is on hold, so nobody tastes it", "leave it out, or release it first")
    if view.kind == "lot" and bottle_count(book.store, item) is not None:
        raise Refused(
            f"{hyphened(item)} is counted in bottles, so no glass is poured from it",
            f"open one into a vial and offer that: pourbook draw {hyphened(item)} '1 bottle'",
        )
    if not view.holding.mass_mg:
        raise NotThere(f"{hyphened(item)} is empty", "leave it out, or draw a sample first")
    return Need(view, called_view(book.store, view), glasses, glass_of(view.holding.liquid, glass_ml, percent))


def _offered_mg(glasses: tuple[str, ...], of: dict[str, Glass], test: str) -> float:
    """Pure alcohol in the glasses of one assessor; of a test, in its strongest order."""
    if not test:
        return sum(of[item].ethanol_mg for item in glasses)
    named = dict(zip("AB", glasses, strict=True))
    return max(sum(of[named[letter]].ethanol_mg for letter in order) for order in TESTS[test].orders)
