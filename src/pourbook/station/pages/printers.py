"""Printers of the house: entered, measured with their test page, forgotten."""

from typing import TYPE_CHECKING

from starlette.responses import Response

from pourbook.actions.enter_printer import changes_typed, rulers_page
from pourbook.actions.roles import roles_of
from pourbook.errors import Malformed, PourbookError
from pourbook.labels.templates import template, templates
from pourbook.paperwork.house_printers import printers
from pourbook.station.asked import NotFound
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.labels.label_layout import Template

__all__ = ["routes"]

routes = Routes()

_FIELDS = ("dpi", "offset_x", "offset_y", "margins", "queue", "address", "text")


@routes.page("/labels/printers")
def listed(visit: Visit) -> Response:
    """What is known of each printer."""
    return visit.page("labels/printers.html", printers=printers(visit.book.settings), templates=templates())


@routes.deed("/labels/printers", "enter_printer")
def entered(visit: Visit) -> Response:
    """A printer, or what is new of it."""
    name = visit.needed("name", visit.gettext("Name"))
    changes = changes_typed(visit.style, {field: visit.typed(field) for field in _FIELDS})
    if changes is None:
        remedy = visit.gettext("give at least its dots per inch")
        raise Malformed(visit.gettext("nothing of the printer was typed"), remedy)
    visit.book.enter_printer(visit.how, name, changes)
    return visit.to("/labels/printers", visit.gettext("The printer is entered."))


@routes.deed("/labels/printers/forget", "forget_printer")
def forgotten(visit: Visit) -> Response:
    """A printer that is gone."""
    visit.book.forget_printer(visit.how, visit.needed("name", visit.gettext("Name")))
    return visit.to("/labels/printers", visit.gettext("The printer is forgotten."))


@routes.deed("/labels/printers/test", roles=roles_of("label_run"), changes=False)
def tested(visit: Visit) -> Response:
    """The page of rulers, sent to its printer."""
    page = rulers_page(visit.book, visit.needed("name", visit.gettext("Name")), _template(visit.typed("template")))
    if not page.printer.goes_to:
        remedy = visit.gettext("open the PDF, and print that")
        raise Malformed(visit.gettext("nothing can be sent to this printer"), remedy)
    page.send()
    return visit.to("/labels/printers", visit.gettext("The test page is sent."))


@routes.page("/labels/printers/test.pdf")
def test_page(visit: Visit) -> Response:
    """The page of rulers as a PDF."""
    try:
        page = rulers_page(visit.book, visit.query.get("name", ""), _template(visit.query.get("template", "")))
    except PourbookError as error:
        raise NotFound(error.message, error.remedy) from error
    return visit.file(page.pdf, "test-page.pdf")


def _template(name: str) -> "Template | None":
    return template(name) if name else None
