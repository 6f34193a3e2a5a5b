"""What is being worked at, shown: by kind, with what is left of it."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.codes.identifiers import named as named_part
from pourbook.documents.shown import Shown, fields, listed
from pourbook.queries.items.called import at_sight
from pourbook.times import written
from pourbook.words.figure_words import strength_shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.house_style import HouseStyle
    from pourbook.queries.items.under_way import Kind, UnderWay

__all__ = ["HEADS", "how_far", "left_words", "today_shown"]

HEADS: dict["Kind", tuple[str, str]] = {
    "bottling": ("bottling run under way", "pourbook bottling show ITEM"),
    "batch": ("batch being poured", "pourbook pour ITEM"),
    "reduction": ("reduction with water to come", "pourbook reduce ITEM"),
    "trial": ("trial not poured as planned", "pourbook pour ITEM"),
    "session": ("tasting session open", "pourbook session show NAME"),
    "blending": ("blending session without a choice", "pourbook blending show NAME"),
    "stocktake": ("stocktake under way", "pourbook stocktake report NAME"),
    "labels": ("run of labels that stopped", "pourbook label --rest-of ENTRY"),
    "numbers": ("numbers set aside and not used", "pourbook reserve --list"),
    "recall": ("recall open", "pourbook recall --show ENTRY"),
    "hold": ("item on hold", "pourbook release ITEM --reason TEXT"),
}
"""Of each kind: what it is, and what to type next."""

_MOST_LEFT = 3


def today_shown(work: "Sequence[UnderWay]", style: "HouseStyle") -> Shown:
    """All that is under way, a list for each kind; in the lines, kinds of which there is none are left out."""
    said: list[str] = []
    for kind, (head, following) in HEADS.items():
        of_kind = [one for one in work if one.kind == kind]
        if of_kind:
            said += [f"{head}: {len(of_kind)}", *_lines(of_kind, style)]
            said += [f"next: {_filled_in(following, of_kind[0])}", ""]
    return Shown({"under_way": list(map(_document, work))}, tuple(said[:-1]) or ("nothing is under way",))


def _lines(work: "Sequence[UnderWay]", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        work,
        ("what", lambda one: at_sight(one.item, one.name) if one.item else one.name),
        ("begun", lambda one: style.time_shown(one.begun_us)),
        ("last", lambda one: style.time_shown(one.last_us) if one.last_us != one.begun_us else ""),
        ("by", lambda one: one.who),
        ("done", lambda one: how_far(one, style)),
        ("left", lambda one: left_words(one, style) or one.reason),
    )


def how_far(one: "UnderWay", style: "HouseStyle") -> str:
    """How much of it is done, of how much, and its stage.

    >>> from pourbook.queries.items.under_way import UnderWay
    >>> from pourbook.house_style import HouseStyle
    >>> how_far(UnderWay("session", "", "Autumn", 0, 0, "A", 2, 9, "ballots", stage="served"), HouseStyle())
    '2 of 9 ballots, served'
    """
    if not one.unit:
        return ""
    digits = 1 if one.unit == "ml" else 0
    scale, unit = (1000.0, "l") if one.unit == "ml" and one.kind == "batch" else (1.0, one.unit)
    done, of = (None if each is None else style.shown(each / scale, digits) for each in (one.done, one.of))
    return ", ".join(filter(None, (f"{done} {unit}" if of is None else f"{done} of {of} {unit}", one.stage)))


def left_words(one: "UnderWay", style: "HouseStyle") -> str:
    """What is still to be poured, or the water to the next strength and until when it rests."""
    if one.kind == "reduction":
        (water,) = one.left
        rest = f", rests until {style.time_shown(one.rests_until_us)}" if one.rests_until_us else ""
        litres, percent = style.shown(water.ml / 1000, 2), strength_shown(one.to_percent, style.mark)
        return f"{litres} l of water to {percent} % vol{rest}"
    scale, unit, digits = (1000.0, "l", 2) if one.kind == "batch" else (1.0, "ml", 1)
    first, others = one.left[:_MOST_LEFT], len(one.left) - _MOST_LEFT
    parts = [f"{style.shown(part.ml / scale, digits)} {unit} of {named_part(part.component)}" for part in first]
    return ", ".join((*parts, f"{others} more") if others > 0 else parts)


def _filled_in(command: str, one: "UnderWay") -> str:
    name = f"'{one.name}'" if " " in one.name else one.name
    entry = str(one.entry)
    return command.replace("ITEM", hyphened(one.item) if one.item else "").replace("NAME", name).replace("ENTRY", entry)


def _document(one: "UnderWay") -> dict[str, Any]:
    return {
        "kind": one.kind, "id": one.item or None, "name": one.name,
        **fields(one, "kind", "item", "name", "left", "entry", "rests_until_us"),
        "left": [part._asdict() for part in one.left],
        "entry": one.entry or None,
        "rests_until": None if one.rests_until_us is None else written(one.rests_until_us),
    }  # fmt: skip
