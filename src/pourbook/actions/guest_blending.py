"""A blending session with guests: opened by a host, composed by each guest within its bounds, tasted blind, chosen.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.actions.composing import write_recipe
>>> from pourbook.actions.happening import Happening
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for vial in ("V000001R", "V000002P"):
...     filled = Pour("fill", (Move("origin", vial, read_amount("200 ml"), read_strength("40")),))
...     _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(vial, {}), filled)))
>>> parts = RecipePart("V000001R", "90", bounds="70..100"), RecipePart("V000002P", "10", bounds="0..30")
>>> _ = write_recipe(book, how, "On the table", parts)
>>> wish = Evening("On the table", ("Isla Farrow", "Tomas Reeve"), read_amount("30 ml"), read_amount("5 ml"))
>>> _ = open_blending(book, how, "Autumn", wish)
>>> blend = compose_blend(book, how, "autumn", "isla farrow", "Harbour light", {"V000001R": "3", "V000002P": "1"})
>>> [(one.component, one.volume_ml) for one in blend.plan]
[('V000001R', 22.5), ('V000002P', 7.5)]
"""

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from math import ceil, floor
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.composing import Composed, TrialFacts, compose_trial, taken
from pourbook.actions.tasting_session import Asked, SessionOpened, open_session
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.bench.bounds import nearest_within, stands
from pourbook.bench.trials import WATER, fractions
from pourbook.book.entries import Blending, Facts, Recipe, RecipePart
from pourbook.book.names import with_ref
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, NotThere, OutOfRange, Question, Refused, ToConfirm, Unknown
from pourbook.gauging.as_typed import amount_again, kept_amount, kept_strength, strength_again
from pourbook.numerals import read_decimal, shown, with_mark
from pourbook.queries.items.called import at_sight
from pourbook.queries.tastings.blending_card import (
    BlendingCard,
    GuestBlend,
    OnTable,
    Table,
    blending_card,
    guest_named,
    table_of,
)
from pourbook.queries.tastings.session_plan import Wish
from pourbook.queries.tastings.session_report import SessionReport, session_report
from pourbook.queries.trials.trial_plan import recipe_card
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.quantities import Amount, Strength

__all__ = ["BlendChosen", "BlendingOpened", "Evening", "choose_blend", "compose_blend", "open_blending", "taste_blends"]

_NOTHING: Mapping[str, str] = {}


class Evening(NamedTuple):
    """What a host sets: recipe whose components and bounds are the rules, guests, and what each pours and tastes.

    Attributes:
        recipe: its name.
        guests: who composes and tastes.
        total: of each blend.
        amount: of each blend in a glass of the tasting.
        strength: to which glasses are reduced; None leaves them as they are.
        uses: the vial on the table for each kind of spirit that the recipe names.
        swallowed: no spittoon is assumed.
    """

    recipe: str
    guests: tuple[str, ...]
    total: "Amount"
    amount: "Amount"
    strength: "Strength | None" = None
    uses: Mapping[str, str] = _NOTHING
    swallowed: bool = False


class BlendingOpened(NamedTuple):
    """A blending session that was opened, as it stands, and what was recorded."""

    card: BlendingCard
    recorded: "Recorded"


class BlendChosen(NamedTuple):
    """The blend that was chosen: whose it was, the recipe that it became, why, and what was recorded."""

    blend: GuestBlend
    recipe: Recipe
    why: str
    recorded: "Recorded"


def open_blending(book: "BookCore", how: "Happening", name: str, wish: Evening) -> BlendingOpened:
    """Open a blending session: the recipe is written under its name with the vials on the table.

    Raises:
        NotThere: a vial might not suffice for all guests; the refusal says which blend would do.
        OutOfRange: a blend would not fill the glasses of all guests.
        ToConfirm: more pure alcohol before a guest than the house wants.
        PourbookError: a name is taken, or something it names is not known.
    """
    with how.transaction(book):
        parts = taken(book, how, recipe_card(book, wish.recipe).recipe.parts, wish.uses)
        percent = target_percent(wish.strength) if wish.strength else None
        sizes = float(wish.total.volume_ml), float(wish.amount.volume_ml)
        table = table_of(book, parts, *sizes, percent)
        _check_enough(table, len(wish.guests), book.settings["decimal_mark"])
        opened = Blending(
            name.strip(), tuple(" ".join(guest.split()) for guest in wish.guests), kept_amount(wish.total),
            kept_amount(wish.amount), round(table.alcohol_mg(len(wish.guests))),
            kept_strength(wish.strength) if wish.strength else "", wish.swallowed,
        )  # fmt: skip
        recorded = how.record(book, Recipe(opened.name, parts), opened)
        return BlendingOpened(blending_card(book, opened.name), recorded)


def _check_enough(table: Table, guests: int, mark: str) -> None:
    """Whatever the guests choose, the vials suffice for all, and each blend for every guest's glass."""
    short = [one for one in table.components if guests * table.at_most_ml(one) > one.holds_ml]
    if short:
        lacks = "; ".join(
            f"{_named(one)} holds {shown(one.holds_ml, 1, mark)} ml of {shown(guests * table.at_most_ml(one), 1, mark)}"
            for one in short
        )
        least = min(one.holds_ml / (guests * table.at_most_ml(one)) for one in short)
        fits = int(table.total_ml * least)
        remedy = f"blends of {fits} ml would do; or narrow its bounds, or draw more" if fits else "draw more first"
        raise NotThere(f"not enough for {guests} guests, if all take the most that they may: {lacks}", remedy)
    needed = table.for_glasses_ml(guests)
    if needed > table.total_ml:
        raise OutOfRange(
            f"{guests} glasses may take {shown(needed, 1, mark)} ml of a blend of {shown(table.total_ml, 1, mark)} ml",
            "make the glasses smaller, or the blends larger",
        )


def _named(one: OnTable) -> str:
    return at_sight(one.part.component, one.called) if one.part.component != WATER else WATER


def compose_blend(
    book: "BookCore", how: "Happening", session: str, guest: str, called: str, parts: Mapping[str, str]
) -> Composed:  # fmt: skip
    """Compose the blend of a guest from what stands on the table, by the guest's own parts; recorded as theirs.

    Raises:
        OutOfRange: a part is out of its bounds; the refusal names the nearest blend that is within them.
        Refused: something is not on the table, the guest has a blend, or its name is taken.
        PourbookError: no such session, guest or item.
    """
    with how.transaction(book):
        card = blending_card(book, session)
        who = guest_named(book.store, card.blending, guest)
        own = next(one for one in card.guests if one.guest == who)
        if card.tasting:
            raise Refused(f"the blends of '{card.blending.name}' are being tasted", "compose a trial: pourbook trial")
        if own.trial:
            raise Refused(
                f"{own.called} has composed '{own.name}', {hyphened(own.trial)}, already",
                f"pour it: pourbook pour {hyphened(own.trial)}",
            )
        if _is_a_recipe(book, called) or with_ref(book.store, called):
            raise Refused(f"a recipe or an item is called '{called}' already", "give the blend a name of its own")
        chosen = _within(book, card, parts)
        about = TrialFacts(called, blending=card.blending.name, guest=who)
        total = amount_again(card.blending.total)
        return compose_trial(book, how._replace(who=own.called), total, called, chosen, about)


def _is_a_recipe(book: "BookCore", name: str) -> bool:
    try:
        recipe_card(book, name)
    except Unknown:
        return False
    return True


def _within(book: "BookCore", card: BlendingCard, parts: Mapping[str, str]) -> tuple[RecipePart, ...]:
    """The parts of a guest by what stands on the table, within its bounds; each keeps its bounds, for the pouring."""
    mark, table = book.settings["decimal_mark"], card.table.components
    on_table = {one.part.component: one for one in table}
    wanted: dict[str, str] = {}
    for text, part in parts.items():
        item = WATER if text == WATER else _on_the_table(book, text, table)
        if item not in on_table:
            there = ", ".join(_named(one) for one in table)
            raise Refused(f"{text} is not on the table of '{card.blending.name}'", f"take of: {there}")
        wanted[item] = part
    shares = {item: float(share) for item, share in fractions(wanted.items(), mark).items()}
    bounds = {name: one.bounds for name, one in on_table.items()}
    out = [
        one
        for name, one in on_table.items()
        if stands(shares.get(name, 0.0), float(one.bounds.low), float(one.bounds.high)) != "within"
    ]
    if out:
        said = "; ".join(
            f"{_named(one)} is {shown(100 * shares.get(one.part.component, 0.0), 1, mark)} % of it and may be"
            f" {_percent(one, mark)} %"
            for one in out
        )
        near = nearest_within(shares, bounds)
        allowed = ", ".join(f"{_named(on_table[name])} {shown(part, 1, mark)}" for name, part in near.items() if part)
        raise OutOfRange(f"the blend is not within '{card.blending.name}': {said}", f"the nearest allowed: {allowed}")
    whole = sum((Fraction(read_decimal(part, mark)) for part in wanted.values()), Fraction(0))
    return tuple(
        RecipePart(item, part, one.part.role, _bounds_in(one, whole, mark), one.part.stands_for)
        for item, part in wanted.items()
        for one in (on_table[item],)
    )


def _bounds_in(one: OnTable, whole: Fraction, mark: str) -> str:
    """Bounds in parts of a guest's whole, as typed, no narrower than they are; none where the component is free."""
    if not one.part.bounds:
        return ""
    ends = floor(one.bounds.low * whole * 10_000), ceil(one.bounds.high * whole * 10_000)
    return with_mark("..".join(f"{(Decimal(end) / 10_000).normalize():f}" for end in ends), mark)


def _percent(one: OnTable, mark: str) -> str:
    return " to ".join(shown(100 * float(end), 1, mark) for end in one.bounds)


def _on_the_table(book: "BookCore", text: str, table: tuple[OnTable, ...]) -> str:
    """An item by its name, or by that of the kind that it stands for."""
    stood_for = {one.part.stands_for.casefold(): one.part.component for one in table if one.part.stands_for}
    return stood_for.get(text.casefold()) or book.find(text)


def taste_blends(
    book: "BookCore", how: "Happening", session: str, glasses: tuple[str, ...] = ()
) -> SessionOpened:  # fmt: skip
    """Open the tasting in which the blends meet, blind: every guest gets a glass of each. It has the session's name.

    More `glasses` may stand beside them: the house's own, or a blend named again as a hidden repeat.

    Raises:
        ToConfirm: a guest composed or poured nothing; confirmed, only the others' blends are tasted.
        PourbookError: as `open_session`.
    """
    with how.transaction(book):
        card = blending_card(book, session)
        without = [one.called for one in card.guests if not one.poured_ml]
        if without and not how.confirm:
            said = f"{', '.join(without)} poured no blend in '{card.blending.name}'"
            raise ToConfirm(
                Question("guests-without-blend", said, "taste without theirs?", {"guests": ", ".join(without)})
            )
        told = card.blending
        wish = Wish(
            (*(one.trial for one in card.guests if one.poured_ml), *glasses), told.guests, amount_again(told.amount),
            strength_again(told.strength) if told.strength else None, swallowed=told.swallowed,
        )  # fmt: skip
        return open_session(book, how, told.name, wish, Asked("choose"))


def choose_blend(book: "BookCore", how: "Happening", session: str, blend: str = "", called: str = "") -> BlendChosen:
    """Choose a blend, by name or item, or the first by the guests' ranks; it becomes a recipe under a name.

    Raises:
        Refused: the tasting is still open, a blend was chosen before, or several are first.
        PourbookError: no such session or blend, or the name is taken.
    """
    with how.transaction(book):
        card = blending_card(book, session)
        name = card.blending.name
        if card.chosen:
            said = f"the blend of '{name}' was chosen: {hyphened(card.chosen)}"
            raise Refused(said, "print its cards: pourbook blending cards")
        report = session_report(book, name)
        won = _by_name(card, blend) if blend else _first(card, report)
        parts = tuple(
            one._replace(component=one.stands_for or one.component, stands_for="")
            for one in recipe_card(book, won.name).recipe.parts
        )
        recipe = Recipe(called.strip() or f"{name}: {won.name}", parts, won.name)
        if _is_a_recipe(book, recipe.name):
            raise Refused(f"a recipe is called '{recipe.name}' already", "give this one a name: --called NAME")
        why = f"chosen of {sum(bool(one.trial) for one in card.guests)} blends in '{name}', composed by {won.called}"
        recorded = how._replace(reason=how.reason or why).record(
            book, recipe, Facts(won.trial, {"chosen": name, "became": recipe.name})
        )
        return BlendChosen(won, recipe, why, recorded)


def _by_name(card: BlendingCard, text: str) -> GuestBlend:
    wanted = lookup_form(text)
    blends = [one for one in card.guests if one.trial]
    for one in blends:
        if wanted in (lookup_form(one.name), lookup_form(one.trial), lookup_form(hyphened(one.trial))):
            return one
    known = ", ".join(one.name for one in blends)
    raise Malformed(f"'{text}' is no blend of '{card.blending.name}'", f"choose from: {known}")


def _first(card: BlendingCard, report: SessionReport) -> GuestBlend:
    """The blend with the best mean rank; among equals, a host chooses."""
    blends = {one.trial: one for one in card.guests}
    ranks = {glass.item: glass.rank.mean for glass in report.glasses if glass.rank and glass.item in blends}
    first = [blends[item] for item, mean in ranks.items() if mean == min(ranks.values())]
    if len(first) == 1:
        return first[0]
    said = f"{' and '.join(one.name for one in first)} share the first rank" if first else "nobody ranked every blend"
    raise Refused(f"{said}, so none is chosen by itself", "name it: pourbook blending choose SESSION BLEND")
