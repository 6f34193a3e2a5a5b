"""What is done and asked at home, shown: settings, facts, holds, people, places, instruments, corrections."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourbook.book.settings import SETTINGS
from pourbook.codes.identifiers import hyphened
from pourbook.documents.answer_documents import facts_document
from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown, table_lines

if TYPE_CHECKING:
    from pourbook.actions.correcting import Closed, Corrected
    from pourbook.actions.entering import Entered
    from pourbook.actions.item_facts import Stated
    from pourbook.book.recorded import Recorded
    from pourbook.house_style import HouseStyle

__all__ = [
    "closed_shown",
    "entered_shown",
    "hold_shown",
    "moved_shown",
    "replaced_shown",
    "settings_changed_shown",
    "settings_shown",
    "stated_shown",
    "voided_shown",
]


def settings_shown(settings: Mapping[str, str]) -> Shown:
    """Every setting with its value and meaning."""
    rows = [(name, settings[name] or "–", setting.meaning) for name, setting in SETTINGS.items()]
    return Shown(settings, table_lines(("setting", "value", "meaning"), rows))


def settings_changed_shown(recorded: "Recorded", settings: Mapping[str, str], style: "HouseStyle") -> Shown:
    """Settings that were changed."""
    return recorded_shown(recorded, style, "settings changed", settings=dict(settings))


def stated_shown(answer: "Stated", style: "HouseStyle") -> Shown:
    """Facts or a note of an item."""
    (identifier,) = answer.ids
    return recorded_shown(answer.recorded, style, f"{hyphened(identifier)}: recorded", id=identifier)


def moved_shown(answer: "Stated", style: "HouseStyle") -> Shown:
    """Items at another place."""
    said = (f"{hyphened(identifier)} is at {answer.facts['place']}" for identifier in answer.ids)
    return recorded_shown(answer.recorded, style, *said, ids=answer.ids, place=answer.facts["place"])


def hold_shown(answer: "Stated", style: "HouseStyle", *, held: bool) -> Shown:
    """Items on hold, or released."""
    said = (f"{hyphened(identifier)} is {'on hold' if held else 'released'}" for identifier in answer.ids)
    return recorded_shown(answer.recorded, style, *said, ids=answer.ids, held=held)


def entered_shown(answer: "Entered", style: "HouseStyle") -> Shown:
    """A person, a place or an instrument: its new identifier, or what is known of it."""
    if answer.recorded is not None:
        return recorded_shown(answer.recorded, style, hyphened(answer.id), id=answer.id)
    said = (hyphened(answer.id), *(f"{fact}: {value}" for fact, value in answer.facts.items()))
    document = {"id": answer.id, "kind": answer.kind, "facts": facts_document(answer.facts)}
    return Shown(document, ("  ".join(said),))


def voided_shown(answer: "Corrected", style: "HouseStyle") -> Shown:
    """An entry that was voided, and what that changed."""
    said = f"entry {answer.number} no longer counts"
    return recorded_shown(answer.recorded, style, said, is_correction=True, voided=answer.number)


def replaced_shown(answer: "Corrected", style: "HouseStyle") -> Shown:
    """An entry that was replaced, and what that changed."""
    said = f"entry {answer.recorded.numbers[-1]} replaces entry {answer.number}"
    return recorded_shown(answer.recorded, style, said, is_correction=True, replaced=answer.number)


def closed_shown(answer: "Closed", style: "HouseStyle") -> Shown:
    """A period that was closed."""
    return recorded_shown(
        answer.recorded, style, f"closed: nothing may happen before {style.time_shown(answer.until_us)}"
    )
