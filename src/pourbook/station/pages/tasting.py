"""Tasting notes: listed and searched, taken from nose to finish, seen as a shape; and the words of the house."""

from typing import TYPE_CHECKING, Any

from pourbook.book.ballots import answered
from pourbook.book.entries import STAGES
from pourbook.codes.identifiers import LIQUID_KINDS
from pourbook.errors import Malformed, PourbookError, Refused
from pourbook.gauging.as_typed import kept_strength
from pourbook.queries.tastings.search import Asked
from pourbook.queries.tastings.words import word
from pourbook.station.asked import NotFound
from pourbook.station.glass_form import answers_of, glass_form
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from starlette.responses import Response

    from pourbook.queries.tastings.search import FoundNote

__all__ = ["routes"]

routes = Routes()

_PAGE = 60
_SHAPE_PT = 700.0


@routes.page("/tastings")
def tastings(visit: Visit) -> "Response":
    """Notes, the latest first, and the search for them."""
    asked, refusal, older = visit.query, None, 0
    found: list[FoundNote] = []
    try:
        found, older = _listed(visit, _asked(visit))
    except PourbookError as error:
        refusal = error
    return visit.page(
        "tasting/notes.html", notes=found, older=older, refusal=refusal, stages=STAGES, kinds=LIQUID_KINDS,
        asked={name: asked.get(name, "") for name in _FIELDS},
        more=[(name, asked[name]) for name in _FIELDS if asked.get(name)],
    )  # fmt: skip


_FIELDS = ("words", "judged", "stage", "by", "item", "about", "kind", "wood", "filled", "score", "liking", "session",
           "since", "at")  # fmt: skip


def _asked(visit: Visit) -> Asked:
    style, query = visit.style, {name: visit.query.get(name, "").strip() for name in _FIELDS}
    for name, known in (("stage", STAGES), ("kind", LIQUID_KINDS)):
        if query[name] and query[name] not in known:
            raise Malformed(f"'{query[name]}' is no {name}", f"choose from: {', '.join(known)}")
    until = style.as_of(query["at"] or None)
    before = visit.query.get("before", "")
    if before.isascii() and before.isdecimal() and len(before) < 19:
        until = int(before) if until is None else min(until, int(before))
    return Asked(
        query["words"], tuple(filter(None, (one.strip() for one in query["judged"].split(";")))), query["stage"],
        query["by"], query["kind"], query["item"], query["about"], query["session"],
        style.moment(query["since"]) if query["since"] else None, until,
        style.between(query["score"]) if query["score"] else None,
        style.between(query["liking"]) if query["liking"] else None,
        query["wood"], style.span(query["filled"]) if query["filled"] else None,
    )  # fmt: skip


def _listed(visit: Visit, asked: Asked, most: int = _PAGE) -> "tuple[list[FoundNote], int]":
    """Notes, the latest first, and the moment with which a further page begins; 0 where there is none.

    Notes of one moment stand on one page, so that none falls between two.
    """
    found = list(visit.book.tastings(asked, most + 1, called=True))
    found.reverse()
    if len(found) <= most:
        return found, 0
    rest = found[-1].note.happened_us
    page = [one for one in found if one.note.happened_us > rest]
    return (page, rest) if page else _listed(visit, asked, 2 * most)


# -- one glass -----------------------------------------------------------------------------


@routes.page("/item/{item}/taste")
def taste_page(visit: Visit) -> "Response":
    """The form for a note, and the notes there are."""
    item = visit.item(*LIQUID_KINDS)
    notes = list(visit.book.tastings(Asked(item=item), 20))
    notes.reverse()
    return visit.page(
        "tasting/taste.html", item=item, view=visit.book.show(item), form=glass_form(visit.book), notes=notes
    )


@routes.deed("/item/{item}/taste", "taste")
def taste(visit: Visit) -> "Response":
    """Record a note."""
    item, style = visit.item(*LIQUID_KINDS), visit.style
    strength, temperature, amount = (visit.typed(name) for name in ("strength", "temperature", "amount"))
    note = answered(answers_of(visit.form), style.mark)._replace(
        id=item,
        assessor=visit.typed("assessor"),
        strength=kept_strength(style.strength(strength)) if strength else "",
        temperature=f"{style.temperature(temperature).celsius.normalize():f} C" if temperature else "",
        blind=bool(visit.typed("blind")),
    )
    drunk = style.amount(amount) if amount else None
    done = visit.book.taste(visit.how, note, drunk, poured=bool(visit.typed("poured")))
    said = visit.gettext("The note is recorded.")
    if done.is_held:
        said = visit.gettext("The note is recorded, and the item is on hold for the fault that was found.")
    return visit.to(f"/item/{item}/taste", said)


@routes.page("/item/{item}/shape")
def shape(visit: Visit) -> "Response":
    """The shape of a drink, beside its components, with its table."""
    from pourbook.papers.marks import stacked
    from pourbook.papers.marks_svg import figure
    from pourbook.papers.shape.shape_marks import shape_drawn
    from pourbook.words.paper_figures import Notation
    from pourbook.words.shape_words import gap_words, how_read, shape_rows

    item, notation = visit.item(*LIQUID_KINDS), Notation(visit.style.mark)
    chosen = visit.query.get("words", "")
    values: dict[str, Any] = {"item": item, "view": visit.book.show(item), "words": chosen}
    try:
        found = visit.book.shape([item], [one.strip() for one in chosen.split(",") if one.strip()])
    except Refused as refusal:
        return visit.page("tasting/shape.html", refusal=refusal, **values)
    except PourbookError as refusal:
        return visit.page("tasting/shape.html", 422, refusal=refusal, **values)
    drawing = stacked(shape_drawn(found, _SHAPE_PT, notation), 6, how_read(found, notation))
    return visit.page(
        "tasting/shape.html", refusal=None, picture=figure(drawing, visit.gettext("From nose to finish")),
        gaps=[gap_words(one, notation) for one in found.gaps], read=how_read(found, notation),
        rows=shape_rows(found, notation), **values,
    )  # fmt: skip


@routes.page("/item/{item}/shape/paper")
def shape_paper(visit: Visit) -> "Response":
    """The same on paper; nothing is recorded."""
    from pourbook.paperwork.shape_of import shape_picture

    item = visit.item(*LIQUID_KINDS)
    try:
        found = visit.book.shape([item])
    except Refused as refusal:
        raise NotFound(refusal.message, refusal.remedy) from refusal
    return visit.file(shape_picture(visit.book, found, item, as_pdf=True), f"shape-{item}.pdf")


# -- words ---------------------------------------------------------------------------------


@routes.page("/words")
def words(visit: Visit) -> "Response":
    """The house's list, and the form for one word of it."""
    shown, refusal = None, None
    if asked := visit.query.get("word", "").strip():
        try:
            shown = word(visit.book, asked)
        except PourbookError as error:
            refusal = error
    return visit.page("tasting/words.html", words=visit.book.words(), shown=shown, asked=asked, refusal=refusal)


@routes.deed("/words", "write_word")
def word_written(visit: Visit) -> "Response":
    """Put a word on the list, or change one."""
    text = visit.needed("word", visit.gettext("Word"))
    told: dict[str, object] = {name: visit.typed(name) for name in ("definition", "reference", "group")}
    told["also"] = tuple(filter(None, (one.strip() for one in visit.typed("also").split(";"))))
    told |= {"off": bool(visit.typed("off"))} | ({"gone": True} if visit.typed("gone") else {})
    written = visit.book.write_word(visit.how, text, told).word
    gone = visit.gettext("“{word}” is used no longer.") if written.gone else visit.gettext("“{word}” is on the list.")
    return visit.to("/words", gone.format(word=written.word))
