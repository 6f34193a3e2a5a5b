"""The warehouse shown: what must be shifted to reach casks, and a leaking cask that was racked."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, several
from pourbook.documents.pours import holds
from pourbook.documents.sessions import refusal_words
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.words.figure_words import in_litres

if TYPE_CHECKING:
    from pourbook.actions.racking import Racked, RackingLine
    from pourbook.book.items import ItemView
    from pourbook.house_style import HouseStyle
    from pourbook.queries.warehouse.racking import Outlook
    from pourbook.queries.warehouse.reach import Reach, Reached

__all__ = ["racked_shown", "racking_shown", "reach_shown"]

_MOST_NAMED = 6


def reach_shown(found: "Reach") -> Shown:
    """Casks to reach, each with what lies in its way, and what must be shifted for all of them."""
    document = {
        "casks": [_reached_document(one) for one in found.casks],
        "shifted": [{**_lying(one), "empty": not one.holding.mass_mg} for one in found.shifted],
        "unknown": [one.id for one in found.unknown],
    }
    said = list(
        listed(
            found.casks,
            ("cask", lambda one: hyphened(one.view.id)),
            ("ref", lambda one: one.view.ref),
            ("place", lambda one: one.view.facts.get("place", "")),
            (" in its way", lambda one: "not known" if one.in_the_way is None else len(one.in_the_way)),
            ("", _named),
        )
    )
    said += ["", f"to shift for all of them: {counted(len(found.shifted), 'cask')}"]
    if found.shifted:
        said += listed(
            found.shifted,
            ("cask", lambda one: hyphened(one.id)),
            ("ref", lambda one: one.ref),
            ("place", lambda one: one.facts.get("place", "")),
            ("", lambda one: "" if one.holding.mass_mg else "empty by the book"),
        )
    notes: tuple[str, ...] = ()
    if found.unknown:
        remedy = "give each a place with its position, and its location: pourbook location NAME --storage KIND"
        notes = (f"note: not known how {several([one.id for one in found.unknown])} lie; {remedy}",)
    return Shown(document, tuple(said), notes)


def _named(one: "Reached") -> str:
    casks = one.in_the_way or ()
    more = f" and {len(casks) - _MOST_NAMED} more" if len(casks) > _MOST_NAMED else ""
    return ", ".join(map(hyphened, casks[:_MOST_NAMED])) + more


def _lying(view: "ItemView") -> dict[str, Any]:
    return {"id": view.id, "ref": view.ref or None, "place": view.facts.get("place")}


def _reached_document(one: "Reached") -> dict[str, Any]:
    return {**_lying(one.view), "in_the_way": None if one.in_the_way is None else list(one.in_the_way)}


def racked_shown(answer: "Racked", style: "HouseStyle") -> Shown:
    """A leaking cask that was racked: what the sound one holds, what leaked, what changed by it."""
    outlook = answer.outlook
    document = {
        "id": outlook.into.id,
        "leaking": outlook.leaker.id,
        "leaked_ml_20c": answer.leaked_ml,
        "measured": answer.is_measured,
        **_outlook_document(outlook),
    }
    leaked = f"{in_litres(answer.leaked_ml, style.mark)} at 20 °C booked as leaked from {hyphened(outlook.leaker.id)}"
    said = [holds(outlook.into, style), *([leaked] if answer.leaked_ml else [])]
    if not answer.is_measured:
        said.append(f"not measured: pourbook gauge {hyphened(outlook.into.id)} --amount AMOUNT --kind leak")
    shown = recorded_shown(answer.recorded, document, tuple(said), style)
    return shown._replace(notes=(*shown.notes, *_changes(outlook, style, is_done=True)))


def racking_shown(answer: "RackingLine", style: "HouseStyle") -> Shown:
    """A line of a racking by scan; all is said in the notes until it is done."""
    hand = answer.in_hand
    document = {
        "done": answer.done,
        "leaking": hand.leaker or None,
        "into": hand.into or None,
        "racked": hand.racked,
        "refused": hand.refused,
        "refusal": str(answer.refused) if answer.refused else None,
        "to_confirm": hand.to_confirm or None,
    }
    said = (f"{counted(hand.racked, 'cask')} racked",) if answer.done else ()
    return Shown(document, said, tuple(_racking_notes(answer, style)))


def _racking_notes(answer: "RackingLine", style: "HouseStyle") -> Iterator[str]:
    hand = answer.in_hand
    if answer.refused:
        yield refusal_words(answer.refused, to_confirm=bool(hand.to_confirm))
    if answer.undone:
        yield "the last racking does not count: voided"
    if answer.racked:
        shown = racked_shown(answer.racked, style)
        yield from (*shown.said, *shown.notes)
    elif answer.outlook:
        yield holds(answer.outlook.leaker, style)
        yield from _changes(answer.outlook, style, is_done=False)
        yield "now the amount that arrives, or all"
    elif hand.leaker and not hand.into and not answer.refused:
        yield f"{hyphened(hand.leaker)} leaks: scan the cask that it goes into"


def _changes(outlook: "Outlook", style: "HouseStyle", *, is_done: bool) -> Iterator[str]:
    """What racking changes, as warnings before it is done and after."""
    there = hyphened(outlook.into.id)
    if outlook.is_mixed and not is_done:
        yield f"warning: {holds(outlook.into, style)}: it would be mixed"
    before, after = outlook.kinds
    was, now = outlook.wood
    if before != after:
        yield f"warning: it changes its kind: {before or 'no component'} before, {after or 'no component'} now"
    if was != now:
        yield f"warning: other wood: {was or 'not known'} before, {now or 'not known'} now"
    if outlook.lacks_ml:
        yield f"warning: {there} is too small by the book, by {in_litres(outlook.lacks_ml, style.mark)}"
    for one in outlook.wanted:
        wanted = f"{in_litres(one.to_go_ml, style.mark)} of {hyphened(outlook.leaker.id)}"
        yield f"{hyphened(one.view.id)} wanted {wanted}: plan again"


def _outlook_document(outlook: "Outlook") -> dict[str, Any]:
    return {
        "wood": list(outlook.wood),
        "kinds": list(outlook.kinds),
        "mixed": outlook.is_mixed,
        "lacks_ml": outlook.lacks_ml,
        "wanted_by": [
            {"id": one.view.id, "ref": one.view.ref or None, "to_go_ml": one.to_go_ml} for one in outlook.wanted
        ],
    }
