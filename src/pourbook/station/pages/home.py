"""The first page: today's work; and the one search."""

from starlette.responses import Response

from pourbook.errors import PourbookError
from pourbook.queries.items.finding import Hit, find_all
from pourbook.queries.items.under_way import UnderWay, under_way
from pourbook.queries.items.what_was_scanned import what_was_scanned
from pourbook.queries.people.accounts import has_accounts
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()

_MOST = 50


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
    found: tuple[Hit, ...] = ()
    refusal: PourbookError | None = None
    if text:
        if scanned := _scanned(visit, text):
            return visit.to(f"/item/{scanned}")
        try:
            found = find_all(visit.book, text, _MOST)
        except PourbookError as error:
            refusal = error
    return visit.page("home/found.html", text=text, found=found, refusal=refusal)


def _scanned(visit: Visit, text: str) -> str:
    """The item that a code stands for; empty where it is none, or none of this house."""
    try:
        found = what_was_scanned(text, visit.book)
    except PourbookError:
        return ""
    return found.item.id if found.item else ""


@routes.page("/house")
def house(visit: Visit) -> Response:
    """What belongs to the house and not to one item."""
    return visit.page("home/house.html")
