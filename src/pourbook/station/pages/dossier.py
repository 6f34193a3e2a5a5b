"""The dossier of a bottle lot: as a page, as a paper to look at, and printed with an entry of its own."""

from typing import TYPE_CHECKING

from starlette.responses import Response

from pourbook.book.as_it_stood import AsOf
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.papers.dossier.dossier_values import Dossier
    from pourbook.paperwork.naming import PeopleBy

__all__ = ["routes"]

routes = Routes()


def _values(visit: Visit) -> "Dossier":
    from pourbook.paperwork.papers_looked_at import dossier_copy

    return dossier_copy(visit.book, visit.item("lot"), _people(visit.query.get("people", "")), _as_of(visit))


def _people(word: str) -> "PeopleBy":
    return "names" if word == "names" else "codes"


def _as_of(visit: Visit) -> AsOf:
    """The moment or the entry asked for; both cost as much as a verification."""
    at = visit.query.get("at", "").strip()
    return AsOf(visit.style.as_of(at or None))


@routes.page("/item/{item}/dossier")
def shown(visit: Visit) -> Response:
    """Everything behind a lot on one page."""
    from pourbook.papers.dossier.dossier_html import dossier_body

    values = _values(visit)
    at = visit.query.get("at", "").strip()
    return visit.page(
        "trace/dossier.html", dossier=values, body=dossier_body(values), at=at, people=values.people_by,
    )  # fmt: skip


@routes.page("/item/{item}/dossier.pdf")
def paper(visit: Visit) -> Response:
    """The same as PDF, to look at; nothing is recorded."""
    from pourbook.papers.dossier.dossier_paper import dossier

    values = _values(visit)
    return visit.file(dossier(values, visit.book.settings["paper"]), f"dossier-{values.id}.pdf")


@routes.page("/item/{item}/dossier.json")
def document(visit: Visit) -> Response:
    """The same for programs, and to be held against the book later (verify)."""
    import json

    from pourbook.papers.dossier.dossier_json import document as told

    values = _values(visit)
    content = json.dumps(told(values), ensure_ascii=False, indent=2).encode()
    return visit.file(content, f"dossier-{values.id}.json", "application/json")


@routes.deed("/item/{item}/dossier", "print_dossier")
def printed(visit: Visit) -> Response:
    """Print it: the journal keeps that it was, with what it said and where the journal stood."""
    lot = visit.item("lot")
    made = visit.book.print_dossier(visit.how, lot, people=_people(visit.typed("people")))
    ((path, content),) = made.files.items()
    return visit.file(content, path.name)
