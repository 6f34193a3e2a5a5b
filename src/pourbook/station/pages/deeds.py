"""What is done with one item from its own page: notes, facts, holds, moves, gauges, losses, fillings."""

from typing import TYPE_CHECKING

from starlette.responses import Response

from pourbook.actions.leaving import Leaving
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.checked_facts import checked_facts
from pourbook.errors import Malformed
from pourbook.station.routing import Routes
from pourbook.station.typed import (
    celsius_typed,
    facts_typed,
    filling_typed,
    readings_typed,
    status_typed,
    strength_typed,
)
from pourbook.station.visit import Visit
from pourbook.words.figure_words import in_litres, strength_words

if TYPE_CHECKING:
    from pourbook.actions.movement import Moved
    from pourbook.book.consequences import Changed

__all__ = ["routes"]

routes = Routes()

_LIQUIDS = ("cask", "vial", "trial", "batch", "lot")


@routes.deed("/item/{item}/note", "note")
def note(visit: Visit) -> Response:
    """Something worth knowing about it."""
    item = visit.item()
    visit.book.note(visit.how, item, visit.needed("text", visit.gettext("Note")), visit.typed("subject"))
    return visit.to(f"/item/{item}", visit.gettext("Noted."))


@routes.deed("/item/{item}/hold", "hold")
def hold(visit: Visit) -> Response:
    """Nothing is poured from or into it from now on."""
    item = visit.item(*_LIQUIDS)
    visit.book.hold(visit.how, [item])
    return visit.to(f"/item/{item}", visit.gettext("It is on hold."))


@routes.deed("/item/{item}/release", "release")
def release(visit: Visit) -> Response:
    """The hold ends."""
    item = visit.item(*_LIQUIDS)
    visit.book.release(visit.how, [item])
    return visit.to(f"/item/{item}", visit.gettext("It is released."))


@routes.deed("/item/{item}/move", "move_items")
def move(visit: Visit) -> Response:
    """To another place, by its words or its tag."""
    item = visit.item()
    stated = visit.book.move_items(visit.how, [item], visit.needed("place", visit.gettext("Place")))
    return visit.to(f"/item/{item}", visit.gettext("It lies here now: {place}").format(place=stated.facts["place"]))


@routes.deed("/item/{item}/facts", "set_facts")
def facts(visit: Visit) -> Response:
    """Facts that were changed in the form, and one of any name."""
    item = visit.item()
    fields = (name.removeprefix("fact-") for name in visit.form if name.startswith("fact-"))
    changed = {
        name: visit.typed(f"fact-{name}")
        for name in fields
        if visit.typed(f"fact-{name}") != visit.typed(f"was-{name}")
    }
    if other := visit.typed("other_name"):
        changed[other] = visit.typed("other_value")
    if not changed:
        raise Malformed(visit.gettext("no fact was changed"), visit.gettext("type what is true now"))
    visit.book.set_facts(visit.how, item, checked_facts(changed, visit.style.mark))
    return visit.to(f"/item/{item}", visit.gettext("The facts are set."))


@routes.page("/item/{item}/gauge")
def gauge_page(visit: Visit) -> Response:
    """The form of a gauge alone."""
    item = visit.item(*_LIQUIDS)
    return visit.page("items/gauge.html", view=visit.book.show(item), called=visit.book.called([item])[item])


@routes.deed("/item/{item}/gauge", "gauge", "gauge_for_source")
def gauge(visit: Visit) -> Response:
    """What was measured, by whatever instrument."""
    item, read = visit.item(*_LIQUIDS), readings_typed(visit)
    instruments = [name.strip() for name in visit.forms.get("instrument", ()) if name.strip()]
    if visit.typed("for_source"):
        reading = visit.book.gauge_for_source(visit.how, item, read, instruments)
        said = visit.gettext("Read: {strength}; it stands for {source}, too.").format(
            strength=strength_words(reading.sample.strength_20c, visit.style.mark, ()), source=reading.source.id
        )
        return visit.to(f"/item/{item}", said)
    kind = facts_typed(visit, "kind")
    told = {"disposition": kind["kind"]} if kind else {}
    gauged = visit.book.gauge(visit.how, item, read, instruments, provisional=visit.typed("provisional"), told=told)
    said = f"{visit.gettext('Gauged.')} {_apart(visit, gauged.difference)}"
    if gauged.draft.unknown_instruments:
        names = ", ".join(gauged.draft.unknown_instruments)
        said += " " + visit.gettext("Not an instrument of the house, and kept as text: {names}.").format(names=names)
    if gauged.outside:
        said += " " + visit.gettext("That is far from what its earlier gauges predict.")
    return visit.to(f"/item/{item}", said)


def _apart(visit: Visit, difference: "Changed") -> str:
    """How far a gauge is from what the book had."""
    more_ml = volume_ml(difference.after) - volume_ml(difference.before)
    volume = in_litres(abs(more_ml), visit.style.mark)
    if more_ml > 0:
        return visit.gettext("{volume} more than the book had.").format(volume=volume)
    if more_ml < 0:
        return visit.gettext("{volume} less than the book had.").format(volume=volume)
    return visit.gettext("As much as the book had.")


@routes.deed("/item/{item}/loss", "lose")
def loss(visit: Visit) -> Response:
    """An amount that is gone for good."""
    item = visit.item(*_LIQUIDS)
    amount = visit.style.amount_or_all(visit.needed("amount", visit.gettext("Amount lost")))
    what = Leaving(amount, strength_typed(visit), celsius_typed(visit))
    kind = visit.needed("kind", visit.gettext("Kind of loss"))
    moved = visit.book.lose(visit.how, item, what, kind, facts_typed(visit, "witness", "document"))
    return visit.to(f"/item/{item}", _holds(visit, moved), recorded=moved.recorded)


@routes.deed("/item/{item}/fill", "fill")
def fill(visit: Visit) -> Response:
    """Spirit from outside."""
    item = visit.item("cask", "batch")
    moved = visit.book.fill(visit.how, item, filling_typed(visit), status_typed(visit))
    return visit.to(f"/item/{item}", _holds(visit, moved))


def _holds(visit: Visit, moved: "Moved") -> str:
    mark, item = visit.style.mark, moved.item
    if not item.holding.mass_mg:
        return visit.gettext("Recorded; it is empty now.")
    volume, strength = in_litres(item.volume_ml_20c, mark), strength_words(item.strength_20c, mark, moved.pending)
    return visit.gettext("Recorded; it holds {volume} at {strength} now.").format(volume=volume, strength=strength)
