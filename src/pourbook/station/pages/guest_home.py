"""A guest's own page, wherever the evening is: composing within bounds, waiting, tasting blind, their card."""

from dataclasses import replace
from typing import TYPE_CHECKING, Any

from pourbook.actions.guest_blending import compose_blend
from pourbook.errors import Malformed, Refused
from pourbook.queries.tastings.blend_mixed import mixed
from pourbook.queries.tastings.own_ballot import own_ballot
from pourbook.queries.trials.trial_plan import plan_of, recipe_card
from pourbook.station.asked import GUEST, NotFound
from pourbook.station.invitations import gathering_key, qr_symbol
from pourbook.station.pages.guests import gathering_of_guest, own_page
from pourbook.station.routing import Routes

if TYPE_CHECKING:
    from starlette.responses import Response

    from pourbook.queries.tastings.blending_card import BlendingCard, GuestBlend
    from pourbook.queries.tastings.own_ballot import Gathering
    from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()
_MOST_PARTS = 1000


@routes.page("/guest", roles=(GUEST,))
def guest(visit: "Visit") -> "Response":
    """Where the guest is."""
    gathering = gathering_of_guest(visit)
    if gathering.kind == "session":
        return own_page(visit, own_ballot(visit.book, gathering.name, visit.person.invited[1]))
    card, own = _card(visit, gathering)
    stands = _stands(card, own)
    if stands in ("tasting", "closed"):
        return own_page(visit, own_ballot(visit.book, gathering.name, own.guest))
    if stands == "chosen":
        return visit.page("guests/card.html", card=card, own=own, stands=stands, **_of_card(visit, card, own))
    return visit.page("guests/blend.html", card=card, own=own, stands=stands, **_of_blend(visit, gathering, card, own))


@routes.page("/guest/waiting", roles=(GUEST,), polls=True)
def waiting(visit: "Visit") -> "Response":
    """Whether anything changed for the guest since their page was made; asked every few seconds."""
    gathering = gathering_of_guest(visit)
    if gathering.kind == "blending":
        stands = _stands(*_card(visit, gathering))
    else:
        stands = "tasting" if own_ballot(visit.book, gathering.name, visit.person.invited[1]).is_open else "closed"
    response = visit.fragment("guests/nothing.html", 204)
    if stands != visit.query.get("at", ""):
        response.headers["HX-Refresh"] = "true"
    return response


def _card(visit: "Visit", gathering: "Gathering") -> "tuple[BlendingCard, GuestBlend]":
    card = visit.book.blending_card(gathering.name)
    return card, next(one for one in card.guests if one.guest == visit.person.invited[1])


def _stands(card: "BlendingCard", own: "GuestBlend") -> str:
    """composing, asked for, poured, tasting, closed or chosen."""
    if card.chosen:
        return "chosen"
    if card.tasting:
        return "tasting" if card.tasting.is_open else "closed"
    if not own.trial:
        return "composing"
    return "poured" if own.poured_ml else "asked for"


# -- composing -----------------------------------------------------------------------------


def _of_blend(visit: "Visit", gathering: "Gathering", card: "BlendingCard", own: "GuestBlend") -> dict[str, Any]:
    from pourbook.queries.traces.brought import brought
    from pourbook.words.session_words import CAUTION, brings_words

    if own.trial:
        pours = plan_of(visit.book.store, own.trial).pours
        called = {one.part.component: one.called for one in card.table.components}
        return {"mix": None, "pours": [(pour, called.get(pour.component, "")) for pour in pours], "caution": CAUTION}
    spirits = [one.part.component for one in card.table.components if one.part.component != "water"]
    return {
        "mix": mixed(visit.book, card.table, _parts(visit, gathering, card)), "pours": [], "caution": CAUTION,
        "brings": brings_words(brought(visit.book, spirits)),
    }  # fmt: skip


def _worker(gathering: "Gathering", guest: str) -> str:
    return f"{gathering_key(gathering)} {guest}"


def _parts(visit: "Visit", gathering: "Gathering", card: "BlendingCard") -> dict[str, int]:
    """The parts in hand; at first those of the host's recipe, in hundredths."""
    kept = visit.book.beside.in_hand(_worker(gathering, visit.person.invited[1]), "blend")
    if kept:
        return {name: int(parts) for name, parts in kept.items()}
    start = recipe_card(visit.book, card.blending.name).fractions
    return {name: round(100 * fraction) for name, fraction in start.items()}


def _at_table(visit: "Visit") -> "tuple[Gathering, BlendingCard, GuestBlend]":
    """The evening of the guest who asks, and their own blend, where guests blend."""
    gathering = gathering_of_guest(visit)
    if gathering.kind != "blending":
        raise NotFound(visit.gettext("nothing is blended in this session"))
    return gathering, *_card(visit, gathering)


@routes.deed("/guest/parts", roles=(GUEST,))
def step(visit: "Visit") -> "Response":
    """A part more or less; what it makes is shown at once."""
    gathering, card, own = _at_table(visit)
    if own.trial or card.tasting:
        raise Refused(visit.gettext("your blend is composed already"), visit.gettext("wait for the tasting"))
    name, _, by = visit.typed("step").rpartition(" ")
    parts = _parts(visit, gathering, card)
    if name not in parts or by not in ("+1", "-1", "+5", "-5"):
        raise Malformed(visit.gettext("that is no step"), visit.gettext("touch + or –"))
    parts[name] = min(max(parts[name] + int(by), 0), _MOST_PARTS)
    visit.book.beside.keep_in_hand(_worker(gathering, own.guest), "blend", parts)
    if not visit.is_partial:
        return visit.to("/guest")
    return visit.fragment("guests/mix.html", card=card, mix=mixed(visit.book, card.table, parts))


@routes.deed("/guest/compose", roles=(GUEST,))
def composed(visit: "Visit") -> "Response":
    """The blend is recorded as the guest's, and waits to be poured."""
    gathering, card, own = _at_table(visit)
    called = visit.needed("called", visit.gettext("Name of your blend"))
    parts = {name: str(part) for name, part in _parts(visit, gathering, card).items() if part}
    compose_blend(visit.book, visit.how, gathering.name, own.guest, called, parts)
    return visit.to("/guest", visit.gettext("“{name}” is yours. It is poured next.").format(name=called))


# -- the card at the end -------------------------------------------------------------------


def _of_card(visit: "Visit", card: "BlendingCard", own: "GuestBlend") -> dict[str, Any]:
    from pourbook.paperwork.guest_papers_of import guest_card_of
    from pourbook.words.session_words import CAUTION

    values = guest_card_of(visit.book, card.blending.name)
    address = f"{visit.house.address or visit.origin + '/'}item/{own.trial}"
    pours = plan_of(visit.book.store, own.trial).pours if own.trial else ()
    called = {one.part.component: one.called for one in card.table.components}
    return {
        "values": values, "found": next(one for one in values.guests if one.called == own.called), "address": address,
        "code": qr_symbol(address), "pours": [(pour, called.get(pour.component, "")) for pour in pours],
        "caution": CAUTION, "own_blend": own_ballot(visit.book, card.blending.name, own.guest),
    }  # fmt: skip


@routes.page("/guest/card", roles=(GUEST,))
def card_paper(visit: "Visit") -> "Response":
    """The guest's own card of the blend that was chosen, as PDF; nothing is recorded."""
    from pourbook.papers.guest_card import guest_cards
    from pourbook.paperwork.guest_papers_of import guest_card_of

    gathering = gathering_of_guest(visit)
    if gathering.kind != "blending":
        raise NotFound(visit.gettext("this session has no cards"))
    card, own = _card(visit, gathering)
    if not card.chosen:
        raise NotFound(visit.gettext("no blend was chosen yet"), visit.gettext("wait for the host"))
    values = guest_card_of(visit.book, gathering.name)
    own_alone = tuple(one for one in values.guests if one.called == own.called)
    return visit.file(guest_cards(replace(values, guests=own_alone)), "card.pdf")
