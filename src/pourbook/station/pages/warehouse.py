"""The warehouse: what lies in the way, a leaking cask racked by scan, and stock taken by scan."""

from starlette.responses import Response

from pourbook.actions.racking import InRacking, RackingByScan
from pourbook.actions.stocktaking import InStocktake, StocktakeRound
from pourbook.documents.stocktakes import stocktake_line_shown
from pourbook.documents.warehouse import racking_shown
from pourbook.queries.warehouse.reach import reach
from pourbook.queries.warehouse.stocktake import stocktake_card, stocktakes_listed
from pourbook.station.asked import NotFound
from pourbook.station.line_task import LineTask, line_page, line_taken
from pourbook.station.pages.printed import printed_file
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


@routes.page("/reach")
def reach_page(visit: Visit) -> Response:
    """Which casks are shifted to reach others."""
    text = visit.query.get("casks", "").strip()
    wanted = [one.strip() for one in text.replace(";", ",").split(",") if one.strip()]
    found = reach(visit.book, wanted[:200]) if wanted else None
    return visit.page("casks/reach.html", text=text, found=found)


# -- racking -----------------------------------------------------------------------------


def _racking(visit: Visit) -> LineTask:
    def loop(hand: InRacking | None) -> RackingByScan:
        return RackingByScan(visit.book, visit.how, hand)

    return LineTask("rack", "/rack", loop, racking_shown, "casks/rack_task.html", lambda _: {}, "/casks")


@routes.page("/rack")
def rack_page(visit: Visit) -> Response:
    """The leaking cask, the sound one, the amount."""
    return line_page(visit, _racking(visit), "casks/rack.html")


@routes.deed("/rack", "rack")
def racked(visit: Visit) -> Response:
    """A scan, or what arrived."""
    return line_taken(visit, _racking(visit))


# -- stocktakes --------------------------------------------------------------------------


@routes.page("/stocktakes")
def stocktakes(visit: Visit) -> Response:
    """Every stocktake, the latest first."""
    return visit.page("casks/stocktakes.html", taken=tuple(reversed(stocktakes_listed(visit.book)))[:200])


@routes.deed("/stocktakes", "open_stocktake")
def opened(visit: Visit) -> Response:
    """Begin one."""
    name = visit.needed("name", visit.gettext("Name"))
    begun = visit.book.open_stocktake(visit.how, name, visit.typed("place"))
    told = visit.gettext("{count} items are expected there by the book.").format(count=begun.expected)
    return visit.to(f"/stocktake/{begun.recorded.numbers[0]}", told)


@routes.page("/stocktake/{number}")
def stocktake(visit: Visit) -> Response:
    """A stocktake: scan what is there while it goes on; what was found once it has ended."""
    name = _named(visit)
    card = stocktake_card(visit.book, name)
    if card.taken.result is not None or not visit.may("open_stocktake"):
        return visit.page("casks/stocktake_ended.html", card=card, number=visit.path["number"])
    return line_page(visit, _taking(visit, name), "casks/stocktake.html")


@routes.deed("/stocktake/{number}/scan", "open_stocktake", "move_items")
def scanned(visit: Visit) -> Response:
    """A place, what lies there, or a word."""
    return line_taken(visit, _taking(visit, _named(visit)))


@routes.deed("/stocktake/{number}/end", "end_stocktake")
def ended(visit: Visit) -> Response:
    """End it; what is missing stays due."""
    visit.book.end_stocktake(visit.how, _named(visit), move=bool(visit.typed("move")))
    return visit.to(f"/stocktake/{visit.path['number']}", visit.gettext("The stocktake has ended."))


@routes.deed("/stocktake/{number}/report", "print_stocktake")
def report(visit: Visit) -> Response:
    """On paper, with lines to sign; that it was printed is recorded."""
    _, printed = visit.book.print_stocktake(visit.how, _named(visit))
    return printed_file(visit, printed)


def _named(visit: Visit) -> str:
    for one in stocktakes_listed(visit.book):
        if str(one.begun.number) == visit.path["number"]:
            return one.stocktake.name
    raise NotFound(visit.gettext("there is no such stocktake"), visit.gettext("choose one from the list"))


def _taking(visit: Visit, name: str) -> LineTask:
    number = visit.path["number"]

    def loop(hand: InStocktake | None) -> StocktakeRound:
        return StocktakeRound(visit.book, visit.how, name, hand)

    def values(_: object) -> dict[str, object]:
        return {"card": stocktake_card(visit.book, name), "number": number}

    return LineTask(
        f"stocktake {number}", f"/stocktake/{number}/scan", loop, stocktake_line_shown, "casks/stocktake_task.html",
        values, f"/stocktake/{number}",
    )  # fmt: skip
