"""A recorded gauge, as doors show it."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened
from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown
from pourbook.documents.uncertainty_shown import figures_document
from pourbook.words.figure_words import in_litres, strength_words
from pourbook.words.gauge_figures import uncertainty_words

if TYPE_CHECKING:
    from pourbook.actions.gauge import Gauged
    from pourbook.actions.lab_reading import LabReading
    from pourbook.book.items import ItemView
    from pourbook.house_style import HouseStyle

__all__ = ["gauged_shown", "holds", "lab_reading_shown"]


def holds(view: "ItemView", style: "HouseStyle", pending: Sequence[int] = ()) -> str:
    """What an item holds, in one sentence."""
    if not view.holding.mass_mg:
        return f"{hyphened(view.id)} is empty"
    strength = strength_words(view.strength_20c, style.mark, pending)
    return f"{hyphened(view.id)} holds {in_litres(view.volume_ml_20c, style.mark)} at 20 °C, {strength}"


def gauged_shown(answer: "Gauged", style: "HouseStyle") -> Shown:
    """A gauge: what is there now, how sure that is, and what a person should know."""
    draft = answer.draft
    sure = uncertainty_words(draft.entry.uncertainty, style.mark)
    said = (holds(answer.item, style, answer.pending), *([sure] if sure else []))
    warnings = [
        *(
            f"warning: {one.kind} '{one.name}' was due for its check on {used.overdue_since}"
            for one in draft.instruments
            for used in draft.entry.instruments
            if used.id == one.id and used.overdue_since
        ),
        *(
            f"warning: '{name}' is no instrument of the book; it is kept as text, without a ±"
            for name in draft.unknown_instruments
        ),
    ]
    if draft.dry_tare_kg:
        warnings.append(f"warning: {draft.dry_tare_kg} is the dry tare; a cask soaked with spirit weighs more")
    warnings += [f"no ±: {wanting}" for wanting in draft.uncertainty.wanting]
    if answer.warning:
        warnings.append(f"warning: {answer.warning}")
    document = {
        "id": answer.item.id,
        "facts": dict(draft.entry.facts),
        "reading": draft.entry.reading,
        "instruments": [one._asdict() for one in draft.entry.instruments],
        "warning": answer.warning,
        "uncertainty": figures_document(draft.uncertainty),
        "taken_as_exact": list(draft.uncertainty.exact),
    }
    whole = recorded_shown(answer.recorded, document, said, style)
    return whole._replace(warnings=tuple(warnings))


def lab_reading_shown(answer: "LabReading", style: "HouseStyle") -> Shown:
    """A sample's strength, applied to its source as well."""
    settled = {"settled": answer.settled} if answer.settled else {}
    document = {"id": answer.sample.id, "source": answer.source.id, **settled}
    said = (holds(answer.sample, style), holds(answer.source, style, answer.pending))
    notes = [f"note: the pending strength of entry {answer.settled} is settled by it"] if settled else []
    for number in answer.pending:
        remedy = f"pourbook replace {number} --strength … --reason …"
        notes.append(f"note: the strength of entry {number} is still pending; settle it: {remedy}")
    whole = recorded_shown(answer.recorded, document, said, style)
    return whole._replace(warnings=tuple(notes))
