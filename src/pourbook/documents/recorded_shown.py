"""What a recording did, beside the answer of the action that recorded."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown
from pourbook.words.consequences import document_of, words

if TYPE_CHECKING:
    from pourbook.book.recorded import LeftOpen, Recorded
    from pourbook.house_style import HouseStyle

__all__ = ["recorded_shown"]

_NAMES = {"owner": "owner", "duty": "duty status"}


def recorded_shown(
    recorded: "Recorded", document: Mapping[str, Any], said: tuple[str, ...], style: "HouseStyle", *,
    is_correction: bool = False,
) -> Shown:  # fmt: skip
    """An answer with what its recording changed; a correction tells it even if nothing later was computed again."""
    dry_run = recorded.is_dry_run
    notes = words(recorded, style.mark, tells_changes=dry_run or is_correction)
    notes += [f"note: {_left_open(one)}" for one in recorded.left_open]
    if dry_run:
        notes.append("dry run: nothing was recorded")
    return Shown({**document, **document_of(recorded), "dry_run": dry_run}, said, tuple(notes))


def _left_open(one: "LeftOpen") -> str:
    """Owner or duty status that the sources of an item do not agree on."""
    of_item = f"{_NAMES[one.name]} of {hyphened(one.id)}"
    others = [value for value in one.of_sources if value != one.now]
    if not one.now:
        stated = " and ".join(f"'{value}'" for value in others if value)
        return f"{of_item} is left open: its sources have {stated}{' or none' if '' in one.of_sources else ''}"
    stated = " and ".join(f"'{value}'" if value else "spirit that states none" for value in others)
    return f"{of_item} {'is open now' if one.ends else 'stays'}: {stated} went in beside '{one.now}'"
