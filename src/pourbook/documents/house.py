"""What is done and asked at home, shown: settings, facts, holds, people, places, instruments, corrections."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourbook.book.settings import BOUNDS, ROLE, SETTINGS
from pourbook.codes.identifiers import hyphened
from pourbook.documents.differences import difference_document, difference_words
from pourbook.documents.items import facts_document
from pourbook.documents.shown import Shown, recorded_shown, table
from pourbook.numerals import with_mark

if TYPE_CHECKING:
    from pourbook.actions.correcting import Closed, Corrected
    from pourbook.actions.entering import Entered
    from pourbook.actions.item_facts import Stated
    from pourbook.book.consequences import Recorded
    from pourbook.house_style import HouseStyle

__all__ = [
    "closed_shown", "entered_shown", "hold_shown", "moved_shown", "replaced_shown", "settings_changed_shown",
    "settings_shown", "stated_shown", "voided_shown",
]  # fmt: skip


def settings_shown(settings: Mapping[str, str]) -> Shown:
    """Every setting with its value and meaning."""
    mark = settings["decimal_mark"]
    written = {name: value.replace(".", mark) for name, value in settings.items() if name in BOUNDS}
    rows = [(name, written.get(name, settings[name]) or "–", one.meaning) for name, one in SETTINGS.items()]
    of_tables = sorted(name for name, value in settings.items() if name.startswith("table.") and value)
    rows += [(name, settings[name], "what that heading means") for name in of_tables]
    of_balances = sorted(name for name, value in settings.items() if name.startswith("balance.") and value)
    rows += [(name, settings[name], "where that balance is") for name in of_balances]
    of_labels = sorted(name for name, value in settings.items() if name.startswith("label.") and value)
    rows += [(name, settings[name], "a rule of the house on labels") for name in of_labels]
    of_roles = sorted(name for name, value in settings.items() if name.startswith(ROLE) and value)
    rows += [(name, with_mark(settings[name], mark), "per cent of a blend that this role may be") for name in of_roles]
    return Shown(settings, table(("setting", "value", "meaning"), rows))


def settings_changed_shown(recorded: "Recorded", settings: Mapping[str, str], style: "HouseStyle") -> Shown:
    """Settings that were changed."""
    return recorded_shown(recorded, {"settings": dict(settings)}, ("settings changed",), style)


def stated_shown(answer: "Stated", style: "HouseStyle") -> Shown:
    """Facts or a note of an item."""
    (identifier,) = answer.ids
    return recorded_shown(answer.recorded, {"id": identifier}, (f"{hyphened(identifier)}: recorded",), style)


def moved_shown(answer: "Stated", style: "HouseStyle") -> Shown:
    """Items at another place."""
    place = answer.facts["place"]
    said = tuple(f"{hyphened(identifier)} is at {place}" for identifier in answer.ids)
    return recorded_shown(answer.recorded, {"ids": answer.ids, "place": place}, said, style)


def hold_shown(answer: "Stated", style: "HouseStyle", *, held: bool) -> Shown:
    """Items on hold, or released."""
    said = tuple(f"{hyphened(identifier)} is {'on hold' if held else 'released'}" for identifier in answer.ids)
    return recorded_shown(answer.recorded, {"ids": answer.ids, "held": held}, said, style)


def entered_shown(answer: "Entered", style: "HouseStyle") -> Shown:
    """A person, a place or an instrument: its new identifier, or what is known of it."""
    if answer.recorded is not None:
        return recorded_shown(answer.recorded, {"id": answer.id}, (hyphened(answer.id),), style)
    said = (hyphened(answer.id), *(f"{fact}: {value}" for fact, value in answer.facts.items()))
    document = {"id": answer.id, "kind": answer.kind, "facts": facts_document(answer.facts)}
    return Shown(document, ("  ".join(said),))


def voided_shown(answer: "Corrected", style: "HouseStyle") -> Shown:
    """An entry that was voided, and what that changed."""
    said = (f"entry {answer.number} no longer counts",)
    return recorded_shown(answer.recorded, {"voided": answer.number}, said, style, is_correction=True)


def replaced_shown(answer: "Corrected", style: "HouseStyle") -> Shown:
    """An entry that was replaced, and what that changed."""
    said = [f"entry {answer.recorded.numbers[-1 - len(answer.recorded.held)]} replaces entry {answer.number}"]
    document: dict[str, Any] = {"replaced": answer.number}
    if answer.difference is not None:
        said.append(difference_words(answer.difference, style))
        document["difference"] = difference_document(answer.difference)
    return recorded_shown(answer.recorded, document, tuple(said), style, is_correction=True)


def closed_shown(answer: "Closed", style: "HouseStyle") -> Shown:
    """A period that was closed."""
    said = (f"closed: nothing more can be recorded before {style.time_shown(answer.until_us)}",)
    return recorded_shown(answer.recorded, {}, said, style)
