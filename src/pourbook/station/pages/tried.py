"""What was tried: the family of a trial as a picture and a table, blends side by side, and what is near one."""

from typing import Any, get_args
from urllib.parse import parse_qs, urlsplit

from starlette.responses import Response

from pourbook.errors import Malformed
from pourbook.queries.traces.made_of import By, Grouping
from pourbook.queries.trials.near import Wanted
from pourbook.queries.trials.opinions import set_apart
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit
from pourbook.words.figure_words import age_words
from pourbook.words.tried_words import best_words, changes_words, made_words, mean_words, part_words, signed

__all__ = ["routes"]

routes = Routes()

_GROUPINGS: tuple[Grouping, ...] = get_args(Grouping)
_MOST_BESIDE = 8
_WORDS: dict[str, Any] = {
    "changes_words": changes_words, "made_words": made_words, "mean_words": mean_words, "part_words": part_words,
    "signed": signed, "age_words": age_words, "set_apart": set_apart, "groupings": _GROUPINGS,
}  # fmt: skip
"""Words of the trade that the command uses, too."""


def _by(visit: Visit) -> By:
    group_by = visit.query.get("group_by", "cask")
    if group_by not in _GROUPINGS:
        said = visit.gettext("parts cannot be told apart by '{text}'").format(text=group_by[:30])
        raise Malformed(said, visit.gettext("choose one of the list"))
    return By(group_by, bool(visit.query.get("without_water")))


@routes.page("/item/{item}/family")
def family(visit: Visit) -> Response:
    """The tree that a trial stands in: what changed at each step, and what was thought of it."""
    item = visit.item("trial")
    found = visit.book.family(item, _by(visit))
    best = list(best_words(found.best, found.compositions, found.called, visit.style.mark))
    return visit.page("tried/family.html", item=item, found=found, best=best, picture=_picture(visit, item), **_WORDS)


@routes.page("/item/{item}/family.pdf")
def family_paper(visit: Visit) -> Response:
    """The same on paper, with every note."""
    from pourbook.paperwork.family_sheet_of import family_sheet_of  # heavy, and only for those who print

    item = visit.item("trial")
    return visit.file(family_sheet_of(visit.book, visit.book.family(item, _by(visit))), f"family-{item}.pdf")


def _picture(visit: Visit, item: str) -> str:
    from pourbook.papers.family.family_marks import family_picture  # heavy, and only for this page

    found = visit.book.family(item, _by(visit))
    style = visit.style
    return family_picture(found, style.settings["currency"], style.zone, style.mark)


@routes.page("/compare")
def compare(visit: Visit) -> Response:
    """Blends side by side."""
    named = dict.fromkeys(one.strip() for one in parse_qs(urlsplit(visit.address).query).get("item", []))
    if len(named) > _MOST_BESIDE:
        said = visit.gettext("{count} blends do not fit side by side").format(count=len(named))
        raise Malformed(said, visit.gettext("choose {most} or fewer").format(most=_MOST_BESIDE))
    items = list(dict.fromkeys(map(visit.book.find, named)))
    found = visit.book.compare(*items, by=_by(visit)) if len(items) > 1 else None
    best = list(best_words(found.best, found.by_id, found.called, visit.style.mark)) if found else []
    return visit.page("tried/compare.html", items=items, found=found, best=best, **_WORDS)


@routes.page("/item/{item}/near")
def near(visit: Visit) -> Response:
    """What was tried near a blend, the nearest first."""
    item = visit.item("trial", "batch", "lot")
    return visit.page("tried/near.html", item=item, found=visit.book.near(item, Wanted(_by(visit), most=20)), **_WORDS)
