"""What a suspicion reaches; a recall, mock or actual, in one action; and what became of it."""

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from pourbook.book.recall_scope import DRY_GOODS, Suspect
from pourbook.errors import Malformed, Unknown
from pourbook.station.pages.journal import number_in
from pourbook.station.routing import Routes
from pourbook.station.visit import NotFound, Visit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.queries.recalls.recalls import Compared, Finding

__all__ = ["routes", "scope_words"]

routes = Routes()

_KINDS = ("item", "origin", "water", "additive", *DRY_GOODS, "instrument", "person", "place")
_MOST = 300


def scope_words(visit: Visit) -> dict[str, tuple[str, str]]:
    """Every kind of suspect: its word, and what is typed for it."""
    words = visit.gettext("words of it")
    return {
        "item": (visit.gettext("item"), visit.gettext("a cask, vial, trial, batch or lot")),
        "origin": (
            visit.gettext("spirit received"),
            visit.gettext("its entry number, or words of distiller, spirit …"),
        ),
        "water": (visit.gettext("water"), visit.gettext("its entry number, or words such as its lot")),
        "additive": (visit.gettext("additive"), visit.gettext("the same")),
        "closure": (visit.gettext("closure"), words),
        "bottle_lot": (visit.gettext("empty bottles"), words),
        "label": (visit.gettext("label"), words),
        "carton": (visit.gettext("carton"), words),
        "filter": (visit.gettext("filter"), words),
        "instrument": (visit.gettext("instrument"), visit.gettext("everything gauged with it")),
        "person": (visit.gettext("person"), visit.gettext("everything that they poured")),
        "place": (visit.gettext("place"), visit.gettext("everything that lay there")),
    }


def _scope(visit: Visit, typed: "Mapping[str, str]") -> tuple[Suspect, ...]:
    """What is suspect, by the fields; a window alone means every pour in it. Empty where nothing was typed."""
    first, last = typed.get("from", "").strip(), typed.get("to", "").strip()
    window = visit.style.moment(first) if first else None, visit.style.end(last) if last else None
    named = tuple(Suspect(kind, text, *window) for kind in _KINDS if (text := typed.get(kind, "").strip()))
    return named or ((Suspect("time", "", *window),) if any(window) else ())


def _typed(visit: Visit) -> dict[str, str]:
    asked = visit.query if visit.method == "GET" else visit.form
    names = (*_KINDS, "from", "to", "at", "since_check")
    return {name: text for name in names if (text := asked.get(name, "").strip())}


@routes.page("/affected")
def affected(visit: Visit) -> Response:
    """All that what is suspect has reached: on hand, in bottles, with customers, lost; and the balance."""
    typed = _typed(visit)
    suspects = _scope(visit, typed)
    found = None
    if suspects:
        until_us = visit.style.as_of(typed.get("at"))
        found = visit.book.affected(suspects, until_us, since_check="since_check" in typed)
    return visit.page(
        "recalls/affected.html", typed=typed, words=scope_words(visit), found=found, **_values(visit, found),
    )  # fmt: skip


def _values(visit: Visit, found: "Finding | None") -> dict[str, Any]:
    from pourbook.codes.gs1 import sscc_ranges
    from pourbook.words.scope_words import SIDES, in_words

    suspects = found.affected.suspects if found else ()
    return {
        "suspects": [in_words(one, found.names, visit.style.zone) for one in suspects] if found else [],
        "sides": SIDES, "ranges": lambda units: ", ".join(sscc_ranges(units)), "most": _MOST,
    }  # fmt: skip


# -- recalls --------------------------------------------------------------------------------


@routes.page("/recalls")
def listed(visit: Visit) -> Response:
    """Every recall, the latest first; and a new one."""
    return visit.page(
        "recalls/list.html", recalls=list(reversed(visit.book.recalls()))[:_MOST], typed=_typed(visit),
        words=scope_words(visit),
    )  # fmt: skip


@routes.deed("/recalls", "recall")
def recall(visit: Visit) -> Response:
    """Find all that is affected, hold it and record it; first it is shown what that would be."""
    from pourbook.actions.recall import RecallPlan
    from pourbook.queries.recalls.recalls import read_threshold, read_within

    visit.needed("reason", visit.gettext("Reason"))
    kind = visit.needed("kind", visit.gettext("Mock or actual"))
    if kind not in ("mock", "actual"):
        raise Malformed(visit.gettext("mock recall or actual?"), visit.gettext("choose one"))
    typed = _typed(visit)
    suspects = _scope(visit, typed)
    if not suspects:
        raise Malformed(visit.gettext("nothing is suspect"), visit.gettext("name a cask, a delivery, a water …"))
    style, suspected = visit.style, visit.typed("suspected")
    threshold, within = visit.typed("threshold"), visit.typed("within")
    plan = RecallPlan(
        suspects, kind == "mock", bool(visit.typed("hold")),
        read_threshold(threshold, style.mark) if threshold else 0.0, "since_check" in typed,
        suspected_us=style.moment(suspected) if suspected else None,
        within_h=read_within(within, style.mark) if within else "",
    )  # fmt: skip
    is_sure = bool(visit.typed("sure"))
    done = visit.book.recall(visit.how._replace(dry_run=not is_sure), plan)
    if is_sure:
        return visit.to(f"/recall/{done.number}", visit.gettext("The recall is recorded."))
    show = visit.fragment if visit.is_partial else visit.page
    template = "recalls/would.html" if visit.is_partial else "recalls/would_page.html"
    return show(template, done=done, found=done.found, **_values(visit, done.found))


def _compared(visit: Visit) -> "Compared":
    number = number_in(visit)
    try:
        found: Compared = visit.book.recall_compared(number)
    except Unknown as error:
        raise NotFound(error.message, "") from error
    return found


@routes.page("/recall/{number}")
def shown(visit: Visit) -> Response:
    """A recall as it was found, and the same figures now."""
    from pourbook.queries.recalls.recalls import times_of
    from pourbook.words.scope_words import in_words, target_words, time_words

    compared = _compared(visit)
    one, times = compared.recall, times_of(compared.recall.entry)
    return visit.page(
        "recalls/recall.html", compared=compared, recall=one, found=compared.found,
        scope=[in_words(suspect, one.names, visit.style.zone) for suspect in one.suspects],
        taken=time_words(times, visit.style.zone), target=target_words(times), **_values(visit, compared.found),
    )  # fmt: skip


@routes.page("/recall/{number}/report.pdf")
def report(visit: Visit) -> Response:
    """Its report, of what is found now; nothing is recorded."""
    from pourbook.paperwork.papers_looked_at import recall_copy

    compared = _compared(visit)
    if compared.found is None:
        raise NotFound(compared.refusal, "")
    number = compared.recall.entry.number
    return visit.file(recall_copy(visit.book, number, compared.found), f"recall-{number}.pdf")


@routes.deed("/recall/{number}/release", "release_recall")
def release(visit: Visit) -> Response:
    """End the holds of a recall: what it holds and nothing else does is released."""
    number = number_in(visit)
    visit.needed("reason", visit.gettext("Reason"))
    done = visit.book.release_recall(visit.how, number)
    said = visit.ngettext("%(count)s item released.", "%(count)s items released.", len(done.released))
    said %= {"count": len(done.released)}
    if done.kept:
        said += " " + visit.gettext("%(count)s stay on hold, or were released before.") % {"count": len(done.kept)}
    return visit.to(f"/recall/{number}", said)
