"""Trials: the list with its search, one composed or revised, and the scan that adds a part."""

from collections.abc import Iterator
from itertools import islice
from urllib.parse import urlencode

from starlette.responses import Response

from pourbook.actions.composing import TrialFacts
from pourbook.book.entries import RecipePart
from pourbook.errors import Malformed, PourbookError, Refused
from pourbook.queries.items.what_was_scanned import what_was_scanned
from pourbook.queries.trials.chosen_trials import PartWanted, Wanted, chosen
from pourbook.queries.trials.revised_parts import PartChange, revised_parts
from pourbook.queries.trials.trial_list import trial_lines
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit
from pourbook.words.tasting_words import found_words

__all__ = ["parts_typed", "routes"]

routes = Routes()

_A_PAGE = 50
_ROWS = 4
_FILTERS = ("word", "having", "score", "who", "since", "until", "family")
_POURED_FROM = ("cask", "vial", "trial", "batch", "lot")


# -- the list ----------------------------------------------------------------------------


@routes.page("/trials")
def trials(visit: Visit) -> Response:
    """Trials that answer, the newest first."""
    asked = {name: text for name in _FILTERS if (text := visit.query.get(name, "").strip())}
    refusal, found = None, list[str]()
    try:
        found = chosen(visit.book, _wanted(visit, asked))[::-1]
    except PourbookError as error:
        refusal = error
    after = _number(visit, visit.query.get("after", "0"))
    lines = tuple(trial_lines(visit.book, found[after : after + _A_PAGE]))
    further = urlencode({**asked, "after": after + _A_PAGE}) if after + _A_PAGE < len(found) else ""
    return visit.page(
        "trials/trials.html", 200 if refusal is None else 422, lines=lines, asked=asked, refusal=refusal,
        count=len(found), first=after, further=further, found_words=found_words,
    )  # fmt: skip


def _wanted(visit: Visit, asked: dict[str, str]) -> Wanted:
    style = visit.style
    parts = (text.strip() for text in asked.get("having", "").split(";"))
    return Wanted(
        tuple(PartWanted.of(text, style) for text in parts if text),
        asked.get("word", ""),
        asked.get("who", ""),
        style.between(asked["score"]) if "score" in asked else None,
        style.moment(asked["since"]) if "since" in asked else None,
        style.as_of(asked.get("until")),
        asked.get("family", ""),
    )


def _number(visit: Visit, text: str) -> int:
    if not text.isdecimal() or len(text) > 9:
        raise Malformed(visit.gettext("that is no place in a list"), visit.gettext("begin with the first page"))
    return int(text)


# -- a new one ---------------------------------------------------------------------------


@routes.page("/trials/new")
def new_trial(visit: Visit) -> Response:
    """The form for a trial: parts of its own, or a recipe with a vial for each component that it names."""
    named = visit.query.get("recipe", "").strip()
    card = visit.book.recipe_card(named) if named else None
    known = {one.name: one for one in visit.book.components()}
    kinds = [part.component for part in card.recipe.parts if part.component in known] if card else []
    choices = {kind: tuple(islice(visit.book.qualifying(known[kind], ("vial",)), _A_PAGE)) for kind in kinds}
    first = visit.query.get("part", "").strip()
    return visit.page(
        "trials/new.html", card=card, choices=choices, recipes=visit.book.recipes(), components=tuple(known),
        rows=[first, *[""] * (_ROWS - 1)], revised_from=visit.query.get("revised_from", ""),
    )  # fmt: skip


@routes.deed("/trials/new/scan", "compose_trial", changes=False)
def part_scanned(visit: Visit) -> Response:
    """A further part of the trial that is being composed: the item that was scanned."""
    code = visit.form.get("scan", "")
    found = what_was_scanned(code, visit.book)
    if found.item is None or found.item.kind not in _POURED_FROM:
        said = visit.gettext("nothing can be poured from what was scanned: '{code}'").format(code=code.strip())
        raise Refused(said, visit.gettext("scan a vial or a cask"))
    return visit.fragment("trials/part_scanned.html", one=found.item, called=found.called)


@routes.deed("/trials/new", "compose_trial")
def composed(visit: Visit) -> Response:
    """Give it a number; on to pouring it."""
    style, typed = visit.style, visit.typed
    uses = {
        name.removeprefix("use "): text.strip()
        for name, text in visit.form.items()
        if name.startswith("use ") and text.strip()
    }
    to = style.strength(typed("to")) if typed("to") else None
    about = TrialFacts(typed("ref"), typed("name"), typed("revised_from"), typed("id") or None, to)
    total, parts = style.amount(typed("total") or "100 ml"), parts_typed(visit)
    answer = visit.book.compose_trial(visit.how, total, typed("recipe"), parts, about, uses, typed("by"))
    return visit.to(f"/item/{answer.id}/pour", visit.gettext("Composed. Scan what to pour from."))


def parts_typed(visit: Visit) -> tuple[RecipePart, ...]:
    """Parts as typed, a row of fields each; a row without a component is left out.

    Raises:
        Malformed: a row lacks a field, or its ratio is no number.
    """
    return tuple(_parts(visit))


def _parts(visit: Visit) -> Iterator[RecipePart]:
    columns = [visit.forms.get(name, []) for name in ("component", "parts", "role", "ratio")]
    if len({len(column) for column in columns}) > 1:
        raise Malformed(visit.gettext("the rows of the form are not whole"), visit.gettext("open the page again"))
    for component, parts, role, ratio in zip(*columns, strict=True):
        if component.strip():
            if ratio.strip() and (not ratio.strip().isdecimal() or len(ratio.strip()) > 2):
                said = visit.gettext("'{text}' is no number of a ratio").format(text=ratio)
                raise Malformed(said, visit.gettext("write 1 for parts that keep their ratio"))
            yield RecipePart(component.strip(), parts.strip(), role.strip(), ratio=int(ratio.strip() or 0))


# -- revised -----------------------------------------------------------------------------


@routes.page("/item/{item}/revise")
def revise(visit: Visit) -> Response:
    """The parts of a trial, each with how many more or less it gets."""
    item, refusal = visit.item("trial"), None
    try:
        parts = tuple(revised_parts(visit.book, item, ()))
    except PourbookError as refused:  # it follows no recipe: its own page leads here all the same
        parts, refusal = (), refused
    more = {visit.query.get("more", ""): visit.query.get("by", "+10")}
    view = visit.book.show(item)
    return visit.page("trials/revise.html", item=item, view=view, parts=parts, more=more, refusal=refusal)


@routes.deed("/item/{item}/revise", "revise_trial")
def revised(visit: Visit) -> Response:
    """Compose the revised trial; on to pouring it. What is not named keeps its proportions."""
    item, style, typed = visit.item("trial"), visit.style, visit.typed
    pairs = zip(visit.forms.get("component", []), visit.forms.get("by", []), strict=False)
    changes = [PartChange(one.strip(), _signed(by.strip())) for one, by in pairs if one.strip() and by.strip()]
    if not changes and not typed("to") and not typed("total"):
        raise Malformed(visit.gettext("nothing was changed"), visit.gettext("write how many parts more or less: +10"))
    about = TrialFacts(typed("ref"), typed("name"), to=style.strength(typed("to")) if typed("to") else None)
    total = style.amount(typed("total")) if typed("total") else None
    answer = visit.book.revise_trial(visit.how, item, changes, total, about=about)
    return visit.to(f"/item/{answer.id}/pour", visit.gettext("Revised. Scan what to pour from."))


def _signed(by: str) -> str:
    """Ten parts are ten parts more."""
    return by if by[:1] in "+-−" else f"+{by}"
