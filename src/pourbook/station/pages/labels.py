"""Labels: of chosen items, again where they are out of date, of numbers set aside; templates; what was printed."""

from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.responses import Response

from pourbook.actions.label_run import LabelOrder
from pourbook.book.label_prints import LABEL, UNIT_LABEL
from pourbook.book.search import Wanted as WantedEntries
from pourbook.codes.identifiers import KINDS, kind_of, read_or_none
from pourbook.errors import Malformed, PourbookError
from pourbook.labels.templates import template, templates
from pourbook.paperwork.house_printers import printers
from pourbook.queries.labels.label_selection import Wanted
from pourbook.queries.labels.print_log import read_ranges
from pourbook.station.asked import NotFound
from pourbook.station.label_release import Released, released
from pourbook.station.results import result_of, results_of
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.book.journal import Logged
    from pourbook.labels.label_layout import Template

__all__ = ["routes"]

routes = Routes()

_A_PAGE = 50
_MOST_RESERVED = 260
_SPECIMEN_DPI = 300.0


class Run(NamedTuple):
    """A run of labels in the log: number of its entry, when it happened, `who` printed it, the reason; items and facts.

    `gone` is the entry that voided it; 0 while it counts.
    """

    number: int
    happened_us: int
    who: str
    reason: str
    items: tuple[str, ...]
    facts: dict[str, Any]
    gone: int


@routes.page("/labels")
def labels(visit: Visit) -> Response:
    """What to print, and the ways to all else about labels."""
    item = read_or_none(visit.query.get("item", "")) or ""
    kind = kind_of(item) if item else ""
    found = [one for one in templates() if not kind or kind in one.kinds]
    return visit.page(
        "labels/labels.html", item=item, templates=found, printers=printers(visit.book.settings), kinds=KINDS,
        reserved=visit.query.get("reserved", ""),
    )  # fmt: skip


@routes.deed("/labels/print", "label_run")
def printed(visit: Visit) -> Response:
    """Draw the labels, read every symbol back, release them."""
    items = tuple(line.strip() for line in visit.typed("items").splitlines() if line.strip())
    wanted = _wanted(visit)
    rest_of = _number(visit, "rest_of")
    if not (items or wanted or rest_of):
        remedy = visit.gettext("name items, or choose them by kind, time or place")
        raise Malformed(visit.gettext("no labels were asked for"), remedy)
    numbers = visit.typed("numbers")
    order = LabelOrder(
        template(visit.needed("template", visit.gettext("Template"))), items, wanted, rest_of, visit.typed("count"),
        _number(visit, "copies") or 1, _number(visit, "start") or 1, visit.typed("printer"),
        numbered=_number(visit, "numbered"), numbers=read_ranges(numbers) if numbers else (),
    )  # fmt: skip
    return _made(visit, [released(visit, order)])


def _wanted(visit: Visit) -> Wanted | None:
    """Items chosen by what is known of them; None where nothing of that was asked."""
    style, since, until = visit.style, visit.typed("since"), visit.typed("until")
    wanted = Wanted(
        visit.typed("kind"), style.moment(since) if since else None, style.end(until) if until else None,
        visit.typed("place"), visit.typed("from_item"), visit.typed("of_item"),
        bool(visit.typed("unprinted")), bool(visit.typed("reserved")),
    )  # fmt: skip
    return None if wanted == Wanted() else wanted


def _number(visit: Visit, field: str) -> int:
    text = visit.typed(field)
    if not text:
        return 0
    if not (text.isascii() and text.isdecimal() and len(text) < 10):
        raise Malformed(visit.gettext("'{text}' is no count").format(text=text), visit.gettext("write a whole number"))
    return int(text)


def _made(visit: Visit, runs: Iterable[Released]) -> Response:
    """On to the page of what was made."""
    made = list(runs)
    entries = ",".join(str(one.printed.recorded.numbers[-1]) for one in made)
    files = ",".join(one.key for one in made if one.key)
    count = sum(int(one.printed.facts["count"]) for one in made)
    said = visit.ngettext("One label is ready.", "{count} labels are ready.", count).format(count=count)
    stopped = any("stopped" in one.printed.facts for one in made)
    if stopped:
        said = visit.gettext("The run stopped: see what is left.")
    return visit.to(f"/labels/made?entries={entries}&files={files}", said, "bad" if stopped else "good")


@routes.page("/labels/made")
def made(visit: Visit) -> Response:
    """What was printed just now, with its files as long as they are kept; without entries, all files that are."""
    numbers = [int(one) for one in visit.query.get("entries", "").split(",")[:20] if one.isdecimal() and len(one) < 18]
    runs = [run for number in numbers for run in _runs(visit, WantedEntries(number, number))]
    keys = visit.query.get("files", "").split(",")[:20]
    files = [(key, kept.name) for key, kept in results_of(visit) if not numbers or key in keys]
    return visit.page("labels/made.html", runs=runs, files=files, called=_called(visit, runs))


@routes.page("/labels/file/{key}")
def file(visit: Visit) -> Response:
    """A PDF that was made for whoever asks."""
    kept = result_of(visit, visit.path["key"])
    if kept is None:
        raise NotFound(
            visit.gettext("this file is no longer kept, or was made for somebody else"),
            visit.gettext("print it again: the log says what it was"),
        )
    return visit.file(kept.content, kept.name)


# -- out of date -------------------------------------------------------------------------


@routes.page("/labels/outdated")
def outdated(visit: Visit) -> Response:
    """Labels that say something else than the book."""
    due = visit.book.due(0)
    return visit.page("labels/outdated.html", due=due.labels, called=due.called, printers=printers(visit.book.settings))


@routes.deed("/labels/outdated", "label_run")
def printed_again(visit: Visit) -> Response:
    """Print them again, each by the template of its last label."""
    wanted = set(visit.forms.get("item", ()))
    by_template: dict[str, list[str]] = {}
    for one in visit.book.due(0).labels:
        if one.printed.template and (not wanted or one.item in wanted):
            by_template.setdefault(one.printed.template, []).append(one.item)
    if not by_template:
        raise Malformed(visit.gettext("no label is out of date"), visit.gettext("open the page again"))
    printer = visit.typed("printer")
    orders = [LabelOrder(template(name), tuple(items), printer=printer) for name, items in by_template.items()]
    return _made(visit, [released(visit, order) for order in orders])


# -- numbers set aside -------------------------------------------------------------------


@routes.page("/labels/numbers")
def numbers(visit: Visit) -> Response:
    """What became of numbers that were set aside."""
    found = visit.book.reserved()[::-1][:_A_PAGE]
    return visit.page("labels/numbers.html", reserved=found, kinds=KINDS)


@routes.deed("/labels/numbers", "reserve")
def set_aside(visit: Visit) -> Response:
    """Numbers for labels printed ahead."""
    kind, count = visit.typed("kind"), _number(visit, "count")
    if kind not in KINDS:
        raise Malformed(visit.gettext("that is no kind of item"), visit.gettext("choose one from the list"))
    if not 1 <= count <= _MOST_RESERVED:
        told = visit.gettext("{count} numbers are not set aside at once").format(count=count)
        raise Malformed(told, visit.gettext("ask for 1 to {most}").format(most=_MOST_RESERVED))
    visit.book.reserve(visit.how, kind, count)
    return visit.to(f"/labels?reserved={kind}", visit.gettext("Set aside: now print their labels."))


# -- templates ---------------------------------------------------------------------------


@routes.page("/labels/templates")
def listed(visit: Visit) -> Response:
    """The templates, each as it looks."""
    return visit.page("labels/templates.html", templates=templates())


@routes.page("/labels/templates/{name}")
def looked_at(visit: Visit) -> Response:
    """A template as it looks, with what it holds."""
    return visit.page("labels/template.html", one=_template(visit))


@routes.page("/labels/templates/{name}/look.png")
def look(visit: Visit) -> Response:
    """A template's picture, filled with an invented item."""
    picture = _specimen(_template(visit).name, visit.book.settings["house"])
    return visit.file(picture, f"{visit.path['name']}.png", "image/png")


def _template(visit: Visit) -> "Template":
    try:
        return template(visit.path["name"])
    except PourbookError as error:
        raise NotFound(error.message, error.remedy) from error


@lru_cache(maxsize=64)
def _specimen(name: str, house: str) -> bytes:
    """A page of a template as PNG; a sheet is full."""
    from pourbook.labels.calibration import Calibration
    from pourbook.labels.label_sheets import Printout
    from pourbook.labels.media import Sheet
    from pourbook.labels.raster import pictures, png
    from pourbook.paperwork.specimen_label import specimen

    found = template(name)
    label = specimen(found.kinds[0], house)
    places = found.media.places if isinstance(found.media, Sheet) else 1
    pdf = Printout([label] * places, found, Calibration(_SPECIMEN_DPI)).pdf()
    return png(next(iter(pictures(pdf, _SPECIMEN_DPI))), _SPECIMEN_DPI)


# -- the log -----------------------------------------------------------------------------


@routes.page("/labels/log")
def log(visit: Visit) -> Response:
    """What was printed, the latest first; of one item where it is named."""
    before, item = visit.query.get("before", ""), read_or_none(visit.query.get("item", "")) or ""
    last = int(before) - 1 if before.isdecimal() and 0 < len(before) < 18 else 1 << 60
    if item:
        item = visit.book.find(item)
    papers = list(visit.book.entries_listed(WantedEntries(last=last, kind="paper"), item or None, _A_PAGE))
    runs = [run for run in map(_run, reversed(papers)) if run]
    more = papers[0].number if len(papers) == _A_PAGE else 0
    return visit.page("labels/log.html", runs=runs, more=more, item=item, called=_called(visit, runs))


def _runs(visit: Visit, which: WantedEntries) -> list[Run]:
    return [run for run in map(_run, visit.book.entries_listed(which)) if run]


def _run(logged: "Logged") -> Run | None:
    """A run of labels; None for any other entry."""
    body = logged.entry["body"]
    if logged.kind != "paper" or body["paper"] not in (LABEL, UNIT_LABEL):
        return None
    about = logged.entry["who"], logged.entry.get("reason", "")
    return Run(logged.number, logged.happened_us, *about, tuple(body["items"]), body["facts"], logged.gone)


def _called(visit: Visit, runs: Iterable[Run]) -> dict[str, str]:
    """What the first and the last item of each run are called."""
    ends = (one for run in runs if run.items for one in (run.items[0], run.items[-1]))
    return dict(visit.book.called(dict.fromkeys(ends)))
