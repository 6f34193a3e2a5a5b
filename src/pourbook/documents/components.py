"""Components as doors show them: what a kind of spirit is, and what is of that kind now."""

from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.words.figure_words import UNKNOWN, in_litres, strength_shown

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.actions.components import ComponentWritten
    from pourbook.book.entries import Component
    from pourbook.house_style import HouseStyle
    from pourbook.queries.trials.components import ComponentCard, Qualifying

__all__ = ["component_shown", "component_written_shown", "components_shown"]


def component_written_shown(answer: "ComponentWritten", style: "HouseStyle") -> Shown:
    """A component that was written."""
    kind = answer.component
    return recorded_shown(answer.recorded, {"component": kind._asdict()}, (_in_words(kind),), style)


def component_shown(card: "ComponentCard", style: "HouseStyle") -> Shown:
    """A component, and the casks and vials that are of its kind now."""
    document = {
        "entry": card.entry, **card.component._asdict(),
        "qualifying": [_qualifying_document(one) for one in card.qualifying],
    }  # fmt: skip
    if not card.qualifying:
        return Shown(document, (_in_words(card.component), "nothing in the house is of this kind now"))
    said = listed(
        card.qualifying,
        ("of this kind", lambda one: hyphened(one.view.id)),
        ("", lambda one: one.called),
        ("in wood", lambda one: UNKNOWN if one.years is None else counted(one.years, "year")),
        (" holds", lambda one: in_litres(one.view.volume_ml_20c, style.mark)),
        (" % vol", lambda one: strength_shown(one.view.strength_20c, style.mark)),
    )
    return Shown(document, (_in_words(card.component), "", *said))


def components_shown(found: "Sequence[Component]") -> Shown:
    """Every component, a line each."""
    said = listed(
        found,
        ("component", lambda one: one.name),
        ("spirit", lambda one: one.spirit),
        ("wood", lambda one: one.wood),
        ("held before", lambda one: one.previous),
        ("years", _years),
        ("role", lambda one: one.role),
        ("%", lambda one: one.bounds),
        ("", lambda one: "retired" if one.gone else ""),
    )
    return Shown({"components": [one._asdict() for one in found]}, said)


def _in_words(kind: "Component") -> str:
    """A component in one line."""
    named = {
        "spirit": kind.spirit, "wood": kind.wood, "held before": kind.previous, "years in wood": _years(kind),
        "role": kind.role,
    }  # fmt: skip
    said = [f"{name} {value}" for name, value in named.items() if value]
    said += [f"{kind.bounds} % of a blend"] if kind.bounds else []
    told = f"component {kind.name}: {', '.join(said) or 'any spirit'}"
    return f"{told} (retired)" if kind.gone else told


def _years(kind: "Component") -> str:
    if kind.max_age is None:
        return f"{kind.min_age} or more" if kind.min_age else ""
    return f"{kind.min_age} to {kind.max_age}"


def _qualifying_document(one: "Qualifying") -> dict[str, Any]:
    return {
        "id": one.view.id, "ref": one.view.ref or None, "years": one.years,
        "volume_ml_20c": one.view.volume_ml_20c, "strength_20c": one.view.strength_20c,
    }  # fmt: skip
