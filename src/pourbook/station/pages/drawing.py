"""Draw samples with wet hands: a cask, a vial's label or the next number, an amount, what was read; the next cask."""

from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.responses import Response

from pourbook.actions.sampling_round import InRound, Sampled, SamplingRound
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, PourbookError, Refused, Unknown
from pourbook.queries.items.item_card import held_now
from pourbook.queries.items.what_was_scanned import what_was_scanned
from pourbook.station.in_hand import as_json, from_json
from pourbook.station.label_release import SENT, release_labels
from pourbook.station.pages.sampling import the_list
from pourbook.station.people import hands_of
from pourbook.station.routing import Routes
from pourbook.station.typed import with_unit
from pourbook.words.figure_words import in_litres, strength_words

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()

_TASK = "draw"
_HOUSE = "house"
_USUAL = "draw amount"
_WORDS = ("undo", "done", "confirm")
_DRAWN_FROM = ("cask", "batch", "trial", "lot")


class InDraw(NamedTuple):
    """What somebody has in hand while drawing.

    Attributes:
        round: the cask, the vial's label, what was drawn last.
        label_alone: a vial's label draws the usual amount at once.
        prints: a label is made for every vial that had none.
        template: of those labels.
        printer: that they are sent to; empty for a file.
        label: where the label of the last vial lies.
    """

    round: InRound = InRound()
    label_alone: bool = False
    prints: bool = False
    template: str = "vial-roll-30x15"
    printer: str = ""
    label: str = ""


@routes.page("/draw")
def draw(visit: "Visit") -> Response:
    """The task as it stands."""
    return visit.page("drawing/draw.html", **_values(visit, _in_hand(visit)))


@routes.deed("/draw/scan", "draw", "gauge_for_source", "void", "label_run")
def scanned(visit: "Visit") -> Response:
    """A scan, the amount with what was read, or a word of the page."""
    hand = _in_hand(visit)
    before = hand.round
    try:
        lines = _lines(visit, before)
    except _RepeatedError as known:
        return _answered(visit, hand, "repeat", known.message)
    each = visit.style.amount(_usual(visit)) if hand.label_alone and _usual(visit) else None
    sampling = SamplingRound(visit.book, visit.how, each, before)
    answers = _taken(sampling, lines)
    hand, last = hand._replace(round=sampling.in_hand), answers[-1]
    drawn = next((one.drawn for one in answers if one.drawn), None)
    if last.refused and not drawn:
        raise last.refused
    if last.done:
        visit.book.beside.drop_in_hand(hands_of(visit.person), _TASK)
        return visit.to("/", visit.gettext("The round is done."))
    if drawn:
        _keep_usual(visit)
        hand = hand._replace(label="")
        if hand.prints and drawn.vial not in (before.vial, lines[0]):
            hand = _labelled(visit, hand)
    return _answered(visit, hand, *_heard(visit, last, hand.round), refused=last.refused)


def _taken(sampling: SamplingRound, lines: "Iterable[str]") -> list[Sampled]:
    """The answers to these lines, up to one that is refused."""
    answers: list[Sampled] = []
    for line in lines:
        answers.append(sampling.scan(line))
        if answers[-1].refused:
            break
    return answers


@routes.deed("/draw/label", "label_run")
def labelled(visit: "Visit") -> Response:
    """The label of the vial drawn last."""
    hand = _labelled(visit, _in_hand(visit))
    return _answered(visit, hand, "good", visit.gettext("The label is ready."))


@routes.deed("/draw/ways", "draw")
def ways(visit: "Visit") -> Response:
    """How the round is drawn: what a label alone does, and how labels are made."""
    hand = _in_hand(visit)._replace(
        label_alone=bool(visit.typed("label_alone")), prints=bool(visit.typed("prints")),
        template=visit.needed("template", visit.gettext("Template")), printer=visit.typed("printer"),
    )  # fmt: skip
    if hand.label_alone and not _usual(visit):
        raise Malformed(
            visit.gettext("there is no usual amount yet"), visit.gettext("draw once; that amount is the usual one")
        )
    _keep(visit, hand)
    return visit.to("/draw")


# -- lines -------------------------------------------------------------------------------


def _lines(visit: "Visit", hand: InRound) -> list[str]:
    """What was scanned, typed or pressed, as the lines of a round."""
    if "scan" in visit.form:
        return [_scanned(visit, visit.needed("scan", visit.gettext("Code")), hand)]
    if word := visit.typed("line"):
        if word not in _WORDS:
            raise Malformed(visit.gettext("that is no word of this page"), visit.gettext("use its buttons"))
        return [word]
    style, units = visit.style, visit.style.settings
    celsius, amount, read = (
        visit.typed("temperature"),
        visit.needed("amount", visit.gettext("Amount")),
        visit.typed("strength"),
    )
    style.amount(amount)
    style.celsius(celsius or None)
    if read:
        style.strength(read)
    lines = [with_unit(celsius, units["temperature_unit"])] if celsius else []
    return [*lines, with_unit(amount, units["volume_unit"]), *([read] if read else [])]


class _RepeatedError(Refused):
    """A code that was scanned already."""


def _scanned(visit: "Visit", text: str, hand: InRound) -> str:
    """The identifier that a scan means; words of a round stay as they are.

    A figure is no amount here: a barcode on any carton is one.
    """
    try:
        found = what_was_scanned(text, visit.book)
    except Unknown:
        if text.strip().lower() in _WORDS:
            return text.strip().lower()
        raise
    code, item = found.found.id, found.item
    if not code:
        raise Refused(visit.gettext("nothing can be drawn from that"), visit.gettext("scan a cask, or a vial's label"))
    for known, told in (
        (hand.drawn, visit.gettext("{code} is drawn already.")),
        (hand.source, visit.gettext("{code} is in hand already.")),
        (hand.vial, visit.gettext("{code} is waiting already: now the amount.")),
    ):
        if code == known:
            raise _RepeatedError(told.format(code=hyphened(code)))
    if item is not None and item.kind not in _DRAWN_FROM:
        told = visit.gettext("{code} is in use, or nothing to draw from").format(code=hyphened(code))
        raise Refused(told, visit.gettext("scan a cask, or a label that is on nothing yet"))
    return code


# -- what came of it ---------------------------------------------------------------------


def _heard(visit: "Visit", answer: Sampled, now: InRound) -> tuple[str, str]:
    """Good or bad, in words."""
    mark = visit.style.mark
    if answer.refused:
        told = visit.gettext("{vial} is drawn, but what was read was not taken: {why}")
        return "bad", told.format(vial=hyphened(now.drawn), why=answer.refused.message)
    if answer.undone:
        return "good", visit.gettext("{vial} was not drawn: it is voided.").format(vial=hyphened(answer.undone))
    if answer.source:
        return "good", visit.gettext("{cask}: scan a vial's label, or draw.").format(cask=hyphened(now.source))
    if answer.reading:
        strength = strength_words(answer.reading.sample.strength_20c, mark, ())
        told = visit.gettext("{vial} is drawn; {strength} was read, for its cask, too.")
        return "good", told.format(vial=hyphened(now.drawn), strength=strength)
    if answer.drawn:
        volume = in_litres(answer.drawn.source.volume_ml_20c, mark)
        told = visit.gettext("{vial} is drawn; {volume} stay in {cask}.")
        return "good", told.format(vial=hyphened(answer.drawn.vial), volume=volume, cask=hyphened(now.source))
    if now.vial:
        return "good", visit.gettext("{vial} is the label: now the amount.").format(vial=hyphened(now.vial))
    return "good", visit.gettext("Taken.")


def _answered(
    visit: "Visit", hand: InDraw, outcome: str, said: str, *, refused: PourbookError | None = None
) -> Response:
    """The task as it stands now, with what is heard; without scripts, the page again."""
    _keep(visit, hand)
    if not visit.is_partial:
        return visit.to("/draw", said, outcome)
    if outcome == "repeat":  # nothing changed, so what is typed into the fields stays
        response = visit.fragment("drawing/heard.html", outcome=outcome, said=said)
        response.headers["HX-Reswap"] = "none"
        return response
    values = _values(visit, hand) | {"outcome": outcome, "said": said, "refused": refused}
    response = visit.fragment("drawing/answer.html", **values)
    response.headers.update({"HX-Retarget": "#task", "HX-Reswap": "outerHTML"})
    return response


def _values(visit: "Visit", hand: InDraw) -> dict[str, Any]:
    from pourbook.labels.templates import templates
    from pourbook.paperwork.house_printers import printers

    source = held_now(visit.book, hand.round.source) if hand.round.source else None
    drawn = visit.book.show(hand.round.drawn) if hand.round.drawn else None
    items = [one.id for one in (source and source.view, drawn) if one]
    return {
        "hand": hand, "source": source, "drawn": drawn, "called": visit.book.called(items), "usual": _usual(visit),
        "wanted": the_list(visit.book), "templates": [one for one in templates() if "vial" in one.kinds],
        "printers": printers(visit.book.settings), "refused": None,
    }  # fmt: skip


# -- labels ------------------------------------------------------------------------------


def _labelled(visit: "Visit", hand: InDraw) -> InDraw:
    vial = hand.round.drawn
    if not vial:
        raise Malformed(visit.gettext("no vial was drawn yet"), visit.gettext("draw one first"))
    released = release_labels(visit, hand.template, (vial,), hand.printer)
    return hand._replace(label=released.address or SENT)


# -- in hand -----------------------------------------------------------------------------


def _in_hand(visit: "Visit") -> InDraw:
    """What was kept; where that cannot be read any more, or its items are gone, the round begins again."""
    kept = visit.book.beside.in_hand(hands_of(visit.person), _TASK)
    try:
        hand = from_json(kept) if kept else InDraw()
        for item in filter(None, (hand.round.source, hand.round.drawn)):
            visit.book.find(item)
    except (PourbookError, AttributeError):
        return InDraw()
    return hand if isinstance(hand, InDraw) else InDraw()


def _keep(visit: "Visit", hand: InDraw) -> None:
    visit.book.beside.keep_in_hand(hands_of(visit.person), _TASK, as_json(hand))


def _usual(visit: "Visit") -> str:
    """The amount that was drawn last in the house, as it was typed."""
    return str(visit.book.beside.in_hand(_HOUSE, _USUAL) or "")


def _keep_usual(visit: "Visit") -> None:
    if typed := visit.typed("amount"):
        visit.book.beside.keep_in_hand(_HOUSE, _USUAL, with_unit(typed, visit.style.settings["volume_unit"]))
