"""A blending session as its host sees it: opened, followed, poured blend by blend, tasted, chosen, cards printed."""

from typing import TYPE_CHECKING, Any

from pourbook.actions.guest_blending import Evening
from pourbook.actions.roles import roles_of
from pourbook.book.journal import names_of
from pourbook.errors import Malformed
from pourbook.station.invitations import free_seat, seats
from pourbook.station.pages.printed import printed_file
from pourbook.station.pages.sessions import gathering_asked, links_page
from pourbook.station.routing import Routes

if TYPE_CHECKING:
    from starlette.responses import Response

    from pourbook.queries.tastings.own_ballot import Gathering
    from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()
_LISTED = 100


@routes.page("/blendings")
def blendings(visit: "Visit") -> "Response":
    """Every blending session."""
    names = names_of(visit.book.store, "blending")
    cards = sorted((visit.book.blending_card(name) for name in names[:_LISTED]), key=lambda one: -one.entry.number)
    return visit.page("blendings/list.html", cards=cards, more=max(len(names) - _LISTED, 0))


@routes.page("/blendings/new")
def new(visit: "Visit") -> "Response":
    """The form for a blending session."""
    return visit.page(
        "blendings/new.html", recipes=names_of(visit.book.store, "recipe")[:500], recipe=visit.query.get("recipe", "")
    )


@routes.deed("/blendings/new", "open_blending")
def opened(visit: "Visit") -> "Response":
    """Open it: what stands on the table, within which bounds, for whom."""
    style, strength = visit.style, visit.typed("strength")
    wish = Evening(
        visit.needed("recipe", visit.gettext("Recipe")), tuple(_lines(visit, "guests")),
        style.amount(visit.typed("total") or "40 ml"), style.amount(visit.typed("amount") or "5 ml"),
        style.strength(strength) if strength else None, dict(_uses(visit)), bool(visit.typed("swallowed")),
    )  # fmt: skip
    done = visit.book.open_blending(visit.how, visit.needed("name", visit.gettext("Name")), wish)
    said = visit.gettext("The session is open: let the guests join.")
    return visit.to(f"/blending/{done.card.entry.number}/links", said)


def _lines(visit: "Visit", field: str) -> list[str]:
    return [line.strip() for line in visit.typed(field).splitlines() if line.strip()]


def _uses(visit: "Visit") -> list[tuple[str, str]]:
    pairs = [line.rpartition("=") for line in _lines(visit, "uses")]
    if not all(mark for _, mark, _ in pairs):
        raise Malformed(visit.gettext("a line names no vial"), visit.gettext("write it like: Mulberry = S 26-04"))
    return [(name.strip(), item.strip()) for name, _, item in pairs]


@routes.page("/blending/{blending}")
def blending(visit: "Visit") -> "Response":
    """A blending session as it stands."""
    from pourbook.words.session_words import CAUTION, alcohol_words

    gathering, style = gathering_asked(visit, "blending"), visit.style
    values = _progress(visit, gathering)
    told = values["card"].blending
    return visit.page(
        "blendings/blending.html", caution=CAUTION,
        offered=alcohol_words(told.alcohol_mg, style.settings["standard_drink"], style.mark), **values,
    )  # fmt: skip


@routes.page("/blending/{blending}/progress", polls=True)
def progress(visit: "Visit") -> "Response":
    """Who is at what step, and what to pour next; asked again every two seconds."""
    values = _progress(visit, gathering_asked(visit, "blending"))
    shown = visit.fragment if visit.is_partial else visit.page
    return shown("blendings/progress.html" if visit.is_partial else "blendings/watch.html", **values)


def _progress(visit: "Visit", gathering: "Gathering") -> dict[str, Any]:
    card = visit.book.blending_card(gathering.name)
    joined = {one.person for one in seats(visit.book, gathering) if one.is_taken}
    waits = [one for one in card.guests if one.trial and not one.poured_ml]
    return {"number": gathering.number, "card": card, "joined": joined, "waits": waits if not card.tasting else []}


@routes.page("/blending/{blending}/links")
def links(visit: "Visit") -> "Response":
    """A link for each guest's phone; shown to hosts alone."""
    return links_page(visit, gathering_asked(visit, "blending"))


@routes.deed("/blending/{blending}/free", roles=roles_of("open_blending"))
def freed(visit: "Visit") -> "Response":
    """Free a seat: its phone is out, and a new link stands for it."""
    gathering = gathering_asked(visit, "blending")
    free_seat(visit.book, gathering, visit.needed("person", visit.gettext("Seat")))
    return visit.to(f"/blending/{gathering.number}/links", visit.gettext("The seat is free: show its new link."))


@routes.deed("/blending/{blending}/sheets", "print_guest_sheets")
def sheets(visit: "Visit") -> "Response":
    """Sheets to compose on, for whoever has no phone."""
    return printed_file(visit, visit.book.print_guest_sheets(visit.how, gathering_asked(visit, "blending").name))


@routes.deed("/blending/{blending}/taste", "taste_blends")
def tasted(visit: "Visit") -> "Response":
    """Open the tasting in which the blends meet, blind."""
    gathering = gathering_asked(visit, "blending")
    done = visit.book.taste_blends(visit.how, gathering.name, tuple(_lines(visit, "glasses")))
    said = visit.gettext("The tasting is open; its codes are sealed. Print the labels, and let somebody pour.")
    return visit.to(f"/session/{done.recorded.numbers[0]}", said)


@routes.deed("/blending/{blending}/choose", "choose_blend")
def chosen(visit: "Visit") -> "Response":
    """Choose a blend: it becomes a recipe."""
    gathering = gathering_asked(visit, "blending")
    done = visit.book.choose_blend(visit.how, gathering.name, visit.typed("blend"), visit.typed("called"))
    said = visit.gettext("“{name}” is chosen; its recipe is “{recipe}”.")
    return visit.to(f"/blending/{gathering.number}", said.format(name=done.blend.name, recipe=done.recipe.name))


@routes.deed("/blending/{blending}/cards", "print_guest_cards")
def cards(visit: "Visit") -> "Response":
    """A card of the chosen blend for each guest."""
    return printed_file(visit, visit.book.print_guest_cards(visit.how, gathering_asked(visit, "blending").name))
