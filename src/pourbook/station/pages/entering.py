"""What comes into the book: casks, samples from outside, people, places, instruments; and lists of the last three."""

from typing import TYPE_CHECKING, get_args

from starlette.responses import Response

from pourbook.actions.entering import HouseKind
from pourbook.book.checked_facts import checked_facts
from pourbook.book.items import listed_text
from pourbook.station.routing import Routes
from pourbook.station.typed import facts_typed, filling_typed, status_typed
from pourbook.station.visit import NotFound, Visit
from pourbook.times import day_shown

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["routes"]

routes = Routes()

_CASK = ("ref", "wood", "cooper", "toast", "char", "seasoning", "capacity_l", "earlier_fills", "place", "spirit")
_VIAL = ("ref", "wood", "spirit")
_OF_THE_HOUSE: "Mapping[str, tuple[str, ...]]" = {
    "person": ("note",),
    "place": ("note", "storage", "levels", "open_end", "capacity_l", "dip_table"),
    "instrument": ("instrument", "unit", "resolution", "mpe", "class", "meter_factor", "certificate", "due"),
}
_LISTED = {"people": "person", "places": "place", "instruments": "instrument"}
_A_PAGE = 100


@routes.page("/casks/new")
def new_cask(visit: Visit) -> Response:
    """The form for a cask, filled or empty."""
    return visit.page("entering/cask.html")


@routes.deed("/casks/new", "take_in_cask")
def cask_entered(visit: Visit) -> Response:
    """A cask, with what it holds or empty."""
    previous = [line.strip() for line in visit.typed("previous").splitlines() if line.strip()]
    facts = facts_typed(visit, *_CASK) | ({"previous": listed_text(previous)} if previous else {})
    filling = filling_typed(visit) if visit.typed("amount") else None
    entered = visit.book.take_in_cask(visit.how, facts, filling, visit.typed("given") or None, status_typed(visit))
    return visit.to(f"/item/{entered.item.id}", visit.gettext("The cask is entered."))


@routes.page("/vials/new")
def new_vial(visit: Visit) -> Response:
    """The form for a sample from outside."""
    return visit.page("entering/vial.html")


@routes.deed("/vials/new", "take_in_sample")
def vial_entered(visit: Visit) -> Response:
    """A sample that was sent or bought, with no cask of ours behind it."""
    given, filling = visit.typed("given") or None, filling_typed(visit)
    entered = visit.book.take_in_sample(visit.how, facts_typed(visit, *_VIAL), filling, given, status_typed(visit))
    return visit.to(f"/item/{entered.item.id}", visit.gettext("The sample is entered."))


@routes.page("/house/new")
def new_of_the_house(visit: Visit) -> Response:
    """Forms for people, places and instruments."""
    return visit.page("entering/house.html", kind=visit.query.get("kind", "place"))


@routes.deed("/house/new", "enter")
def entered_of_the_house(visit: Visit) -> Response:
    """A person, a place or an instrument; one known already gets what is new of it."""
    kind = next((one for one in get_args(HouseKind) if one == visit.typed("kind")), None)
    if kind is None:
        raise NotFound(visit.gettext("that is neither a person, a place nor an instrument"), status=422)
    facts = checked_facts(facts_typed(visit, *_OF_THE_HOUSE[kind]), visit.style.mark)
    name = visit.needed("name", visit.gettext("Name"))
    entered = visit.book.enter(visit.how, kind, name, facts, visit.typed("given") or None)
    said = visit.gettext("Entered.") if entered.recorded else visit.gettext("It was in the book already.")
    return visit.to(f"/item/{entered.id}", said)


@routes.page("/house/items/{kind}")
def of_the_house(visit: Visit) -> Response:
    """People, places or instruments, a hundred a page."""
    kind = _LISTED.get(visit.path["kind"])
    if kind is None:
        raise NotFound(visit.gettext("the house has no list of that name"))
    found = visit.book.of_kind(kind, visit.query.get("after", ""), _A_PAGE)
    today = day_shown(visit.book.clock(), visit.style.zone)
    return visit.page(
        "entering/listed.html", kind=kind, path=visit.path["kind"], found=found, a_page=_A_PAGE, today=today
    )
