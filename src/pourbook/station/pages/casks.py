"""Casks: the stock by wood, spirit, age and place; a cask's passport; the casks behind the best blends."""

from itertools import islice
from typing import TYPE_CHECKING, get_args
from urllib.parse import urlencode

from starlette.responses import Response

from pourbook.errors import Malformed
from pourbook.lineage.ages import age_of
from pourbook.queries.casks.best import Figure, Told, best_casks
from pourbook.queries.casks.choosing import Wanted, casks
from pourbook.queries.casks.provenance import WOOD_FACTS, provenance
from pourbook.queries.items.item_card import stock
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit
from pourbook.words.cask_words import (
    amount_words,
    happened,
    lost_so_far,
    lost_words,
    source_words,
    span_words,
    thought_of,
    time_in_cask,
    wood_words,
)  # fmt: skip
from pourbook.words.figure_words import age_text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pourbook.queries.casks.choosing import ChosenCask

__all__ = ["routes"]

routes = Routes()

_PAGE = 100
_WORDS = ("spirit", "wood", "previous", "toast", "char", "cooper")
_FILLS = {"": (0, None), "first": (1, 1), "refill": (2, None)}


@routes.page("/casks")
def casks_page(visit: Visit) -> Response:
    """Casks that hold spirit, chosen by what is asked of them."""
    asked = {name: text for name in (*_WORDS, "place", "fill", "min", "max", "at") if (text := _asked(visit, name))}
    least, most = _FILLS.get(asked.get("fill", ""), (0, None))
    wanted = Wanted(
        **{name: asked.get(name, "") for name in _WORDS}, place=asked.get("place"), least_fills=least, most_fills=most,
        least_years=_years(visit, asked, "min"), most_years=_years(visit, asked, "max"),
    )  # fmt: skip
    at_us = visit.style.as_of(asked.get("at"))
    found = list(islice(casks(visit.book, wanted, at_us, visit.query.get("after", "")), _PAGE + 1))
    shown = found[:_PAGE]
    more = urlencode({**asked, "after": shown[-1].view.id}) if len(found) > _PAGE else ""
    return visit.page("casks/casks.html", casks=_rows(visit, shown), asked=asked, more=more)


@routes.page("/stock")
def stock_page(visit: Visit) -> Response:
    """Whatever holds liquid, of one kind."""
    kind = visit.query.get("kind", "vial")
    if kind not in ("cask", "vial", "trial", "batch", "lot"):
        raise Malformed(visit.gettext("there is no such kind"), visit.gettext("choose one from the list"))
    at = _asked(visit, "at")
    number = visit.query.get("from", "0")
    start = int(number) if number.isdecimal() and len(number) < 9 else 0
    found = list(islice(stock(visit.book, visit.style.as_of(at or None), kind, called=True), start, start + _PAGE + 1))
    more = urlencode({"kind": kind, "at": at, "from": start + _PAGE}) if len(found) > _PAGE else ""
    return visit.page("casks/stock.html", held=found[:_PAGE], kind=kind, at=at, more=more)


@routes.page("/item/{item}/passport")
def passport(visit: Visit) -> Response:
    """The history of a cask: its wood, what happened to it, what it held, what each fill gave."""
    at = _asked(visit, "at")
    found = provenance(visit.book, visit.item("cask"), visit.style.as_of(at or None))
    zone, mark = visit.style.zone, visit.style.mark
    fills = [
        {
            "fill": fill,
            "what": source_words(fill.poured),
            "when": span_words(fill, zone),
            "in_cask": time_in_cask(fill, found.until_us, zone),
            "in_wood": age_text(age_of(fill.age.youngest, zone)),
            "filled": amount_words(fill.filled, mark),
            "last": amount_words(fill.last, mark),
            "lost": lost_so_far(fill, mark),
            "a_year": lost_words(fill.loss, mark),
            "gave": [(one, thought_of(one, mark)) for one in fill.gave],
        }
        for fill in found.fills
    ]
    return visit.page("casks/passport.html", found=found, wood=WOOD_FACTS, events=happened(found), fills=fills, at=at)


@routes.page("/best-casks")
def best(visit: Visit) -> Response:
    """Which casks, woods, coopers or previous contents stand behind the blends liked best."""
    by: Figure = "liking" if visit.query.get("by") == "liking" else "score"
    told_by: Told = next((one for one in get_args(Told) if one == visit.query.get("told")), "cask")
    return visit.page("casks/best.html", best=best_casks(visit.book, by, told_by), by=by, told_by=told_by)


def _asked(visit: Visit, name: str) -> str:
    return visit.query.get(name, "").strip()[:200]


def _years(visit: Visit, asked: dict[str, str], name: str) -> int | None:
    text = asked.get(name, "")
    if text and not (text.isdecimal() and len(text) < 4):
        raise Malformed(visit.gettext("“{text}” is no number of years").format(text=text), visit.gettext("write 8"))
    return int(text) if text else None


def _rows(visit: Visit, found: "Iterable[ChosenCask]") -> list[dict[str, object]]:
    zone = visit.style.zone
    return [
        {"cask": one, "age": age_text(age_of(one.youngest, zone)), "wood": wood_words(one.view.facts)} for one in found
    ]
