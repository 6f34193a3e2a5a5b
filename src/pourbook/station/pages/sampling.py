"""The list of a sampling round: casks chosen or sent as a table, shared by all who draw, with what is left to draw."""

from collections.abc import Sized
from itertools import islice
from typing import TYPE_CHECKING, NamedTuple

from starlette.responses import Response

from pourbook.errors import Fault, FaultsFound, Malformed, OutOfRange, PourbookError
from pourbook.queries.items.item_card import stock
from pourbook.station.routing import Routes

if TYPE_CHECKING:
    from pourbook.queries.casks.sampling_list import ToSample
    from pourbook.station.asked import Upload
    from pourbook.station.visit import Visit
    from pourbook.whole_book import Book

__all__ = ["Sampling", "routes", "the_list"]

routes = Routes()

_HOUSE, _LIST = "house", "sampling list"
_MOST = 500
_HEADINGS = ("cask", "item", "id", "ref", "name", "barrel")


class Sampling(NamedTuple):
    """The list under way: every cask in the order of a walk, and those still to be drawn."""

    casks: "tuple[ToSample, ...]"
    left: "tuple[ToSample, ...]"


def the_list(book: "Book") -> Sampling | None:
    """The list that the house is drawing; None where there is none."""
    kept = book.beside.in_hand(_HOUSE, _LIST)
    if not kept:
        return None
    casks = book.sampling_list(kept["casks"], kept["since_us"])
    return Sampling(casks, tuple(one for one in casks if not one.vials))


@routes.deed("/draw/list", "draw", file="table")
def listed(visit: "Visit") -> Response:
    """A new list: names typed a line each, all filled casks at a place, and a table."""
    names = [(number, line.strip()) for number, line in enumerate(visit.typed("casks").splitlines(), 1) if line.strip()]
    found = dict.fromkeys(_found(visit, names, visit.gettext("typed")))
    if place := visit.typed("place"):
        found |= dict.fromkeys(held.view.id for held in islice(stock(visit.book, kind="cask", place=place), _MOST + 1))
    if visit.upload and visit.upload.content:
        found |= dict.fromkeys(_found(visit, _in_table(visit, visit.upload), visit.upload.name))
    if not found:
        raise Malformed(visit.gettext("no cask was named"), visit.gettext("type casks, name a place, or send a table"))
    _bounded(visit, found)
    visit.book.beside.keep_in_hand(_HOUSE, _LIST, {"casks": list(found), "since_us": visit.book.clock()})
    said = visit.ngettext("One cask to draw from.", "{count} casks to draw from.", len(found))
    return visit.to("/draw", said.format(count=len(found)))


@routes.deed("/draw/list/end", "draw")
def ended(visit: "Visit") -> Response:
    """The list is done with, whatever is left."""
    visit.book.beside.drop_in_hand(_HOUSE, _LIST)
    return visit.to("/draw", visit.gettext("The list is put away."))


def _bounded(visit: "Visit", rows: Sized) -> None:
    """A list has an end, and so has the time to look up what was sent: counted before it is looked up, too."""
    if len(rows) > _MOST:
        told = visit.gettext("a list has at most {most} casks").format(most=_MOST)
        raise OutOfRange(told, visit.gettext("make several of it"))


def _in_table(visit: "Visit", upload: "Upload") -> list[tuple[int, str]]:
    """Row and name of each cask: by the heading that says so, else the first column."""
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_sheet
    from pourbook.exchange.tables.table_sources import Source, column_name

    source = one_sheet(Source(upload.name or "table", upload.content), "casks")
    table = plain_table(source, _HEADINGS, visit.style.mark, may_be_empty=True)
    heading = next((one for one in table.headings if column_name(one) in _HEADINGS), None)
    cells_of = (
        (number, cells[name]) for number, cells in table.rows if (name := heading or table.headings[0]) in cells
    )
    rows = list(islice(cells_of, _MOST + 1))
    return rows if heading else [(1, table.headings[0]), *rows]


def _found(visit: "Visit", names: list[tuple[int, str]], source: str) -> list[str]:
    """The items that go by these names; all that do not are told at once."""
    _bounded(visit, names)
    found, faults = [], []
    for number, name in names:
        try:
            found.append(visit.book.find(name))
        except PourbookError as refusal:
            faults.append(Fault(source, number, "", name, refusal.message, refusal.remedy))
    if faults:
        told = visit.ngettext("one cask was not found", "{count} casks were not found", len(faults))
        remedy = visit.gettext("correct the list, and send it again")
        raise FaultsFound(told.format(count=len(faults)), tuple(faults), remedy)
    return found
