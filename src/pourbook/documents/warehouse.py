"""The warehouse shown: what must be shifted to reach casks."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, several
from pourbook.documents.shown import Shown, listed
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.book.items import ItemView
    from pourbook.queries.warehouse.reach import Reach, Reached

__all__ = ["reach_shown"]

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
