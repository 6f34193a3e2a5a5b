"""An item by its lasting address: what it is, what it holds, how it stands, what was recorded of it."""

from functools import partial
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from starlette.responses import Response

from pourbook.book.items import NUMBER_FACTS
from pourbook.book.search import Wanted
from pourbook.codes.identifiers import LIQUID_KINDS, kind_of, read_or_none
from pourbook.errors import PourbookError
from pourbook.numerals import with_mark
from pourbook.queries.items.item_card import stock
from pourbook.station.routing import Routes
from pourbook.station.visit import NotFound, Visit
from pourbook.times import day_shown
from pourbook.words.entry_words import in_words, who_in_words
from pourbook.words.figure_words import age_words
from pourbook.words.tasting_words import found_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from pourbook.bench.bounds import PartShare
    from pourbook.book.items import ItemView, LedgerRow
    from pourbook.queries.items.item_card import ItemCard
    from pourbook.queries.items.item_history import InHistory

__all__ = ["routes", "typed_facts"]

routes = Routes()

_A_PAGE = 25
_LYING_THERE = 100
_LATELY = 5000
"""So many of the latest entries are looked through for those of one person."""

_ELSEWHERE = ("ref", "name", "plan", "plan_asked", "held", "bottles")
"""Facts that stand elsewhere on the page, or tell a person nothing."""

_UNITS = {"capacity_l": "l", "labelled_strength": "% vol", "size_ml": "ml", "strength": "% vol", "tare_kg": "kg"}


class Fact(NamedTuple):
    """A fact as a page shows it: its name in the book, its value with unit, the item it names (empty for none)."""

    name: str
    value: str
    item: str = ""


class Part(NamedTuple):
    """What went into a blend: the component, its volume at 20 °C, its fraction, and its bounds where it has any."""

    component: str
    volume_ml: float
    fraction: float
    bounds: "PartShare | None" = None


class Told(NamedTuple):
    """An entry of an item's history: its number, when it happened, `who` recorded it, what it says in words.

    `gone` is the entry that voided or replaced it, 0 while it counts; `after` is what the item held then.
    """

    number: int
    happened_us: int
    who: str
    words: str
    gone: int
    after: "LedgerRow | None"


@routes.page("/item/{item}")
def item_page(visit: Visit) -> Response:
    """All that is known of one item."""
    identifier = visit.item()
    card = visit.book.item_card(identifier)
    view = card.view
    parts = _parts(card)
    return visit.page(
        "items/item.html",
        card=card,
        view=view,
        facts=_facts(view, visit),
        parts=parts,
        beside=[one for one in card.bounds if one.component not in {part.component for part in parts}],
        names=visit.book.called(_named_on(card, parts)),
        gauged=_gauged(card, visit.style.mark),
        typed_facts=typed_facts(view, visit.style.mark),
        in_short=partial(found_words, mark=visit.style.mark),
        age=age_words(visit.style.zone, card.blend) if card.blend else "",
        history=_told(visit, visit.book.item_history(identifier, most=_A_PAGE)),
        a_page=_A_PAGE,
        lying=_lying(visit, view),
        lately=_lately(visit, view),
        today=day_shown(visit.book.clock(), visit.style.zone),
        is_liquid=view.kind in LIQUID_KINDS,
        places=[one.ref for one in visit.book.of_kind("place", most=_LYING_THERE)] if visit.may("move_items") else [],
    )


def typed_facts(view: "ItemView", mark: str) -> dict[str, str]:
    """Facts as they would be typed again."""
    return {name: with_mark(value, mark) if name in NUMBER_FACTS else value for name, value in view.facts.items()}


@routes.page("/item/{item}/history")
def history(visit: Visit) -> Response:
    """Every entry about an item, page by page from the latest back."""
    identifier = visit.item()
    before = visit.query.get("before", "")
    if before and not (before.isascii() and before.isdecimal() and len(before) < 19):
        raise NotFound(visit.gettext("that is no number of an entry"), status=400)
    found = visit.book.item_history(identifier, int(before) if before else None, _A_PAGE * 2)
    view = visit.book.show(identifier)
    return visit.page(
        "items/history.html", view=view, history=_told(visit, found), a_page=_A_PAGE * 2,
        called=visit.book.called([identifier])[identifier],
    )  # fmt: skip


def _told(visit: Visit, found: "Iterable[InHistory]") -> list[Told]:
    mark = visit.style.mark
    return [
        Told(
            one.logged.number, one.logged.happened_us, who_in_words(one.logged.entry), in_words(one.logged, mark),
            one.logged.gone, one.after,
        )
        for one in found
    ]  # fmt: skip


def _facts(view: "ItemView", visit: Visit) -> list[Fact]:
    return [_fact(name, value, visit) for name, value in view.facts.items() if name not in _ELSEWHERE]


def _fact(name: str, value: str, visit: Visit) -> Fact:
    if name == "place":
        found = _in_the_book(visit, value)
        return Fact(name, value, found if found and kind_of(found) == "place" else "")
    if item := _in_the_book(visit, read_or_none(value)):
        return Fact(name, value, item)
    if name in NUMBER_FACTS or name in ("fills", "target_strength", "total"):
        return Fact(name, f"{with_mark(value, visit.style.mark)} {_UNITS.get(name, '')}".rstrip())
    return Fact(name, value)


def _in_the_book(visit: Visit, text: str | None) -> str:
    """The item that goes by a text; empty where none does, or several do."""
    try:
        return visit.book.find(text) if text else ""
    except PourbookError:
        return ""


def _gauged(card: "ItemCard", mark: str) -> str:
    """The strength that the last gauge read, with its ±; empty where that is not known."""
    strength = card.gauge.strength if card.gauge else None
    return strength.shown().replace(".", mark) if strength else ""


def _parts(card: "ItemCard") -> list[Part]:
    """What was poured into a trial or batch itself, by volume as poured."""
    if card.blend is None or card.view.kind == "lot":
        return []
    poured, bounds = card.blend.poured_ml, {one.component: one for one in card.bounds}
    whole_ml = sum(poured.values())
    return [Part(one, ml, ml / whole_ml, bounds.get(one)) for one, ml in poured.items()] if whole_ml else []


def _named_on(card: "ItemCard", parts: "Iterable[Part]") -> "Mapping[str, None]":
    items = [*(one.component for one in parts), *(one.component for one in card.bounds)]
    items += [one.heel for one in card.heels]
    return dict.fromkeys(items)


def _lying(visit: Visit, view: "ItemView") -> list[object] | None:
    """What lies at a place and holds liquid; one more than is shown where there are more."""
    if view.kind != "place" or not view.ref:
        return None
    return list(islice(stock(visit.book, place=view.ref, called=True), _LYING_THERE + 1))


def _lately(visit: Visit, view: "ItemView") -> list[tuple[int, int, str]] | None:
    """What a person recorded lately: number, moment, words; the latest first."""
    if view.kind != "person" or not view.ref:
        return None
    first = max(1, visit.book.head_number() - _LATELY)
    found = visit.book.entries_listed(Wanted(first=first, who=view.ref), last=_A_PAGE)
    return [(one.number, one.happened_us, in_words(one, visit.style.mark)) for one in reversed(list(found))]
