"""The first page: today's work; and the one search."""

from starlette.responses import Response

from pourbook.errors import PourbookError
from pourbook.queries.items.under_way import UnderWay, under_way
from pourbook.queries.items.what_was_scanned import what_was_scanned
from pourbook.queries.people.accounts import has_accounts
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


@routes.page("/")
def today(visit: Visit) -> Response:
    """What is under way, what is due, what is on hold."""
    work: dict[str, list[UnderWay]] = {}
    for one in under_way(visit.book):
        work.setdefault(one.kind, []).append(one)
    return visit.page("home/today.html", work=work, due=visit.book.due(), is_first=not has_accounts(visit.book))


@routes.page("/find")
def find(visit: Visit) -> Response:
    """A code leads to its item, words to what holds them."""
    text = visit.query.get("q", "").strip()
    if text:
        try:
            found = what_was_scanned(text, visit.book)
        except PourbookError:
            found = None
        if found and found.item:
            return visit.to(f"/item/{found.item.id}")
    return visit.page("home/found.html", text=text)


@routes.page("/house")
def house(visit: Visit) -> Response:
    """What belongs to the house and not to one item."""
    return visit.page("home/house.html")
