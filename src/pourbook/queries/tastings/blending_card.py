"""A blending session with guests as it stands: what is on the table, who composed what, and the care for people.

>>> from pourbook import Book
>>> blendings_listed(Book.create(":memory:", house="Quillmere"))
[]
"""

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.bounds import Bounds
from pourbook.bench.serving import glass_of
from pourbook.bench.trials import WATER
from pourbook.book.entries import Blending, RecipePart
from pourbook.book.items import held
from pourbook.book.journal import Logged, blending, names_of
from pourbook.book.names import with_fact
from pourbook.book.sessions import Opened, called_assessor, sessions
from pourbook.codes.identifiers import key_of
from pourbook.errors import Unknown
from pourbook.gauging.as_typed import amount_again, strength_again
from pourbook.liquid import Liquid
from pourbook.queries.items.called import called
from pourbook.queries.trials.trial_plan import part_bounds, plan_of, recipe_card
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = [
    "BlendingCard", "GuestBlend", "OnTable", "Table", "blending_card", "blendings_listed", "guest_named", "table_of",
]  # fmt: skip


class OnTable(NamedTuple):
    """A shared component: the part of the recipe, what it is called, its bounds, what it holds, and its liquid."""

    part: RecipePart
    called: str
    bounds: Bounds
    holds_ml: float
    liquid: Liquid


class Table(NamedTuple):
    """What stands on the table.

    Attributes:
        components: in the order of the recipe.
        total_ml: of a guest's blend.
        glass_ml: of a glass in the tasting.
        percent: % vol to which glasses are reduced; None where they are not.
    """

    components: tuple[OnTable, ...]
    total_ml: float
    glass_ml: float
    percent: float | None

    def at_most_ml(self, one: OnTable) -> float:
        """What a guest can take of a component, mL at 20 °C: its upper bound, as far as the others leave room."""
        others = sum(other.bounds.low for other in self.components if other is not one)
        return float(min(one.bounds.high, 1 - others)) * self.total_ml

    def alcohol_mg(self, guests: int) -> float:
        """Pure alcohol before a guest at the most: a blend of the strongest, and a glass of each guest's."""
        strong = max((one.liquid for one in self.components), key=lambda one: one.ethanol_mg / max(one.mass_mg, 1))
        if not strong.ethanol_mg:
            return 0.0
        own = self.total_ml * strong.ethanol_mg / volume_ml(strong)
        return own + guests * glass_of(strong, self.glass_ml, self.percent).ethanol_mg

    def for_glasses_ml(self, guests: int) -> float:
        """What the glasses of all guests take of a blend at the most, mL."""
        spirits = [one.liquid for one in self.components if one.liquid.ethanol_mg]
        return guests * max((glass_of(one, self.glass_ml, self.percent).spirit_ml for one in spirits), default=0.0)


class GuestBlend(NamedTuple):
    """A guest, as called by people, with the blend that they composed.

    Attributes:
        guest: as the session names them.
        called: by people.
        trial: identifier of the blend; empty where they composed none yet.
        name: of the blend, and of its recipe.
        poured_ml: what is in it now, mL at 20 °C.
        alcohol_mg: pure alcohol in it: as poured, or as planned where nothing was poured yet.
        tasting_mg: pure alcohol in the glasses of the tasting that the guest is offered; 0 before it was opened.
    """

    guest: str
    called: str
    trial: str = ""
    name: str = ""
    poured_ml: float = 0.0
    alcohol_mg: float = 0.0
    tasting_mg: float = 0.0


class BlendingCard(NamedTuple):
    """A blending session.

    Attributes:
        entry: that opened it.
        blending: what it says.
        table: what stands on it.
        guests: in their order.
        tasting: the session in which the blends meet; None before it was opened.
        chosen: identifier of the blend that was chosen; empty before.
        recipe: that it became.
    """

    entry: Logged
    blending: Blending
    table: Table
    guests: tuple[GuestBlend, ...]
    tasting: Opened | None
    chosen: str
    recipe: str

    @property
    def won(self) -> GuestBlend | None:
        """The blend that was chosen."""
        return next((one for one in self.guests if one.trial and one.trial == self.chosen), None)


def blendings_listed(book: "BookCore") -> list[BlendingCard]:
    """Every blending session, by name."""
    return [blending_card(book, name) for name in names_of(book.store, "blending")]


def blending_card(book: "BookCore", name: str) -> BlendingCard:
    """A blending session as it stands.

    Raises:
        Unknown: nothing goes by that name.
    """
    store = book.store
    entry = blending(store, name)
    body = entry.entry["body"]
    told = Blending(**{**body, "guests": tuple(body["guests"]), "swallowed": bool(body.get("swallowed"))})
    parts = recipe_card(book, told.name).recipe.parts
    tasting = next((one for one in sessions(store) if one.session.name == told.name), None)
    blends = {book.show(trial).facts.get("guest", ""): trial for trial in with_fact(store, "blending", told.name)}
    guests = tuple(_guest(book, guest, blends.get(guest, ""), tasting) for guest in told.guests)
    chosen = next(iter(with_fact(store, "chosen", told.name)), "")
    recipe = book.show(chosen).facts["became"] if chosen else ""
    percent = target_percent(strength_again(told.strength)) if told.strength else None
    table = table_of(book, parts, _ml(told.total), _ml(told.amount), percent)
    return BlendingCard(entry, told, table, guests, tasting, chosen, recipe)


def table_of(
    book: "BookCore", parts: tuple[RecipePart, ...], total_ml: float, glass_ml: float, percent: float | None
) -> Table:
    """What a recipe puts on the table; a part without bounds may be all or nothing."""
    bounds = part_bounds(parts, book.settings["decimal_mark"])
    names: Mapping[str, str] = called(book.store, [part.component for part in parts])
    found = []
    for part in parts:
        is_water = part.component == WATER
        liquid = Liquid(0, 0) if is_water else held(book.store, key_of(part.component)).liquid
        free = Bounds(Fraction(0), Fraction(1))
        holds = float("inf") if is_water else volume_ml(liquid) if liquid.mass_mg else 0.0
        name = names.get(part.component, "")
        found.append(OnTable(part, name, bounds.get(part.component, free), holds, liquid))
    return Table(tuple(found), total_ml, glass_ml, percent)


def guest_named(store: "Store", of: Blending, text: str) -> str:
    """A guest as the session names them, from a name in any case, or a person's identifier or name.

    Raises:
        Unknown: nobody of that name is a guest.
    """
    for guest in of.guests:
        if lookup_form(text) in (lookup_form(guest), lookup_form(called_assessor(store, guest))):
            return guest
    names = ", ".join(called_assessor(store, guest) for guest in of.guests)
    raise Unknown(f"'{text}' is no guest of '{of.name}'", f"they are: {names}")


def _guest(book: "BookCore", guest: str, trial: str, tasting: Opened | None) -> GuestBlend:
    store = book.store
    name = called_assessor(store, guest)
    offered = tasting.session.alcohol_mg if tasting else 0.0
    if not trial:
        return GuestBlend(guest, name, tasting_mg=offered)
    view = book.show(trial)
    liquid = view.holding.liquid
    planned = sum(pour.liquid.ethanol_mg for pour in plan_of(store, trial).pours)
    ethanol = float(liquid.ethanol_mg or planned)
    return GuestBlend(guest, name, trial, view.ref, view.volume_ml_20c, ethanol, offered)


def _ml(typed: str) -> float:
    return float(amount_again(typed).volume_ml)
