"""Where an item came from and where it went, with the reason of every figure."""

from typing import TYPE_CHECKING, Any, NamedTuple, get_args
from urllib.parse import urlencode

from starlette.responses import Response

from pourbook.errors import Malformed, PourbookError
from pourbook.lineage.bases import Basis
from pourbook.station.routing import Routes
from pourbook.station.visit import NotFound, Visit

if TYPE_CHECKING:
    from pourbook.papers.flow.flow_paper import FlowOnPage
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["Asked", "asked", "called", "routes"]

routes = Routes()

_MOST = 100
"""Rows of a table on one page."""

_MOST_DRAWN = 2_000
"""Pours that are drawn beside the trace at once; a larger picture is asked for by itself."""

_BASES: tuple[Basis, ...] = get_args(Basis)
_FIGURES = ("volume", "strength", "age", "cost")


class Asked(NamedTuple):
    """What is asked of a trace: its item, direction, `by` which basis, and `at` which moment, as typed (empty: now)."""

    item: str
    direction: str = "back"
    by: Basis = "alcohol"
    at: str = ""

    def to(self, **changed: str) -> str:
        """The address of this trace, or of one that differs by these."""
        told = self._replace(**changed)  # type: ignore[arg-type]
        return f"/item/{told.item}/trace?{told.narrowing}"

    def why(self, **of: str) -> str:
        """The address of the reason of a share or a figure."""
        return f"/item/{self.item}/why?{urlencode(of)}&{self.narrowing}"

    @property
    def narrowing(self) -> str:
        """All but the item, as it stands behind a question mark."""
        told = {"direction": self.direction, "by": self.by} | ({"at": self.at} if self.at else {})
        return urlencode(told)


def asked(visit: Visit) -> tuple[Asked, int | None]:
    """What the address asks, and the moment of it.

    Raises:
        Malformed: a direction or a basis that there is not, or the moment is none.
    """
    direction, by = visit.query.get("direction", "back"), visit.query.get("by", "alcohol")
    if direction not in ("back", "forward"):
        raise Malformed(f"'{direction}' is no direction of a trace", "back or forward")
    basis = next((one for one in _BASES if one == by), None)
    if basis is None:
        raise Malformed(f"'{by}' is no basis of shares", "alcohol, mass or volume")
    at = visit.query.get("at", "").strip()
    return Asked(visit.item(), direction, basis, at), visit.style.as_of(at or None)


def _traced(visit: Visit, wanted: Asked, at_us: int | None) -> "Trace":
    ask = visit.book.trace_forward if wanted.direction == "forward" else visit.book.trace_back
    return ask(wanted.item, wanted.by, at_us)


@routes.page("/trace")
def begin(visit: Visit) -> Response:
    """Name an item, and how it is to be traced."""
    text = visit.query.get("item", "").strip()
    if not text:
        return visit.page("trace/begin.html")
    item = visit.book.find(text)
    narrowed = {name: visit.query[name] for name in ("direction", "by", "at") if visit.query.get(name)}
    return visit.to(f"/item/{item}/trace?{urlencode(narrowed)}")


@routes.page("/item/{item}/trace")
def trace(visit: Visit) -> Response:
    """Everything behind an item, or everything that it went into."""
    wanted, at_us = asked(visit)
    items, pours = _place(visit.query.get("items", "")), _place(visit.query.get("pours", ""))
    try:
        found = _traced(visit, wanted, at_us)
    except PourbookError as nothing:
        return visit.page("trace/nothing.html", asked=wanted, nothing=nothing)
    drawn = _drawn(visit, wanted, found, at_us) if len(found.pours) <= _MOST_DRAWN else None
    return visit.page(
        "trace/trace.html", asked=wanted, trace=found, drawn=drawn, called=called(found), at_us=at_us,
        items=found.items[items : items + _MOST], pours=found.pours[pours : pours + _MOST],
        first_item=items, first_pour=pours, most=_MOST, people=sorted({pour.who for pour in found.pours}),
    )  # fmt: skip


@routes.page("/item/{item}/flow")
def flow(visit: Visit) -> Response:
    """The flow picture by itself, however much it shows, and its table."""
    wanted, at_us = asked(visit)
    found = _traced(visit, wanted._replace(by="alcohol"), at_us)
    return visit.page("trace/flow.html", asked=wanted, trace=found, drawn=_drawn(visit, wanted, found, at_us))


@routes.page("/item/{item}/flow.pdf")
def flow_paper(visit: Visit) -> Response:
    """The flow picture and its table on paper; nothing is recorded."""
    from pourbook.paperwork.flow_of import flow_picture

    wanted, at_us = asked(visit)
    found = _traced(visit, wanted._replace(by="alcohol"), at_us)
    return visit.file(flow_picture(visit.book, found, as_pdf=True, at_us=at_us), f"flow-{wanted.item}.pdf")


def _drawn(visit: Visit, wanted: Asked, found: "Trace", at_us: int | None) -> "FlowOnPage":
    from pourbook.paperwork.flow_of import flow_shown

    by_alcohol = found if wanted.by == "alcohol" else _traced(visit, wanted._replace(by="alcohol"), at_us)
    return flow_shown(visit.book, by_alcohol, lambda item: wanted.to(item=item), at_us)


def called(found: "Trace") -> dict[str, str]:
    """What people call the items of a trace, by identifier."""
    views = (found.item, *(other.item for other in found.items))
    return {view.id: " · ".join(filter(None, (view.ref, view.facts.get("wood") or view.facts.get("name", ""))))
            for view in views}  # fmt: skip


def _place(text: str) -> int:
    """Which pour a list begins with; the first, where nothing sensible is asked."""
    return min(int(text), 1 << 40) if text.isdecimal() and len(text) < 12 else 0


# -- why ------------------------------------------------------------------------------------


@routes.page("/item/{item}/why")
def why(visit: Visit) -> Response:
    """How a share comes about, step by step down to entries; or what stands behind a figure of the item."""
    wanted, at_us = asked(visit)
    figure = visit.query.get("figure", "")
    if figure:
        return _why_figure(visit, wanted, figure, at_us)
    of = visit.query.get("of", "").strip()
    if not of:
        return visit.page("trace/why_what.html", asked=wanted, figures=_FIGURES)
    forward = wanted.direction == "forward"
    about = _entry_or_item(of)
    if forward and isinstance(about, int):
        raise Malformed("a trace forward has shares of items alone", "name an item")
    traced, part = (str(about), wanted.item) if forward else (wanted.item, about)
    reason = visit.book.why(traced, part, wanted.by, at_us, forward=forward)
    unit = {"alcohol": visit.gettext("mg of pure ethanol"), "mass": "mg",
            "volume": visit.gettext("ml at 20 °C before contraction")}[wanted.by]  # fmt: skip
    return visit.page("trace/why.html", asked=wanted, reason=reason, unit=unit, of=of)


def _entry_or_item(text: str) -> str | int:
    """An entry, as `entry 12` or `12`, or an item as somebody names it."""
    number = text.lower().removeprefix("entry").strip()
    return int(number) if number.isdecimal() and len(number) < 16 else text


def _why_figure(visit: Visit, wanted: Asked, figure: str, at_us: int | None) -> Response:
    from pourbook.queries.traces.figure_behind import ages_behind, contents_behind, costs_behind

    if figure not in _FIGURES:
        raise NotFound(f"'{figure}' is no figure of an item", "volume, strength, age or cost")
    values: dict[str, Any] = {"asked": wanted, "figure": figure}
    if figure == "age":
        values |= {"ages": ages_behind(visit.book, wanted.item, at_us)}
    elif figure == "cost":
        found = visit.book.trace_back(wanted.item, at_us=at_us)
        values |= {"costs": costs_behind(found), "trace": found}
    else:
        values |= {"behind": contents_behind(visit.book, wanted.item, at_us)}
    return visit.page(f"trace/why_{'contents' if figure in ('volume', 'strength') else figure}.html", **values)


@routes.page("/item/{item}/uncertainty")
def uncertainty(visit: Visit) -> Response:
    """How sure the figures of an item are: gauges of all that is in it carried through every pour."""
    item = visit.item("cask", "vial", "trial", "batch", "lot")
    try:
        found, refused = visit.book.uncertainty(item), None
    except PourbookError as refusal:
        found, refused = None, refusal
    return visit.page("trace/uncertainty.html", item=item, found=found, refused=refused)
