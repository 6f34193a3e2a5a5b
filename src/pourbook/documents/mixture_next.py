"""The next glass as a document and in lines: what to pour, why, what it promises, and how sure that is."""

from shlex import quote
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, named
from pourbook.documents.shown import Shown, listed
from pourbook.numerals import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.house_style import HouseStyle
    from pourbook.mixtures.next_flight import NextGlass
    from pourbook.queries.trials.next_trial import NextTrial

__all__ = ["next_shown", "next_trial_shown"]

_WHY = {
    "too few glasses": "too few glasses yet to say what is better: this one would teach most",
    "improves": "it promises most",
    "teaches": "nothing within the bounds promises more than the best so far: this one would teach most",
}
_CAUTION = "a proposal from what was noted, no promise: blends are not additive, so taste before you trust it"


def next_shown(components: tuple[str, ...], found: "Sequence[NextGlass]", style: "HouseStyle") -> Shown:
    """Glasses to pour next, in the order in which they were chosen."""
    document = {"glasses": [_document(components, one) for one in found]}
    said = [line for place, one in enumerate(found, 1) for line in _said(components, place, one, style)]
    return Shown(document, tuple(said), (f"note: {_CAUTION}",))


def next_trial_shown(found: "NextTrial", style: "HouseStyle") -> Shown:
    """The same after a trial of the book, each with the line that composes it."""
    names = tuple(found.called.get(one) or named(one) for one in found.components)
    shown = next_shown(names, found.glasses, style)
    document = {
        "trial": found.trial,
        "water": found.water,
        "to_strength": found.to_strength or None,
        "notes": found.notes,
        "left_out": found.left_out,
        "glasses": [
            {**_document(found.components, one), "compose": _compose(found, one, style)} for one in found.glasses
        ],
    }
    composing = [f"glass {place}: {_compose(found, one, style)}" for place, one in enumerate(found.glasses, 1)]
    beside = ", beside water" if found.water else ""
    leans = f"from {counted(found.notes, 'tasting note')}; parts are of a hundred{beside}"
    passed = f"; {counted(found.left_out, 'note')} on blends of anything else left out" if found.left_out else ""
    return Shown(document, (*shown.said, "", leans + passed, *composing), shown.notes)


def _compose(found: "NextTrial", one: "NextGlass", style: "HouseStyle") -> str:
    """The command that composes a glass; the recipe's water keeps its part of the whole."""
    parts = [
        (component, part * (1.0 - found.water)) for component, part in zip(found.components, one.parts, strict=True)
    ]
    poured = [(component, part) for component, part in (*parts, ("water", 100.0 * found.water)) if part]
    said = " ".join(f"--part {named(component)}={style.shown(part, 2)}" for component, part in poured)
    to = f" --to {quote(found.to_strength)}" if found.to_strength else ""
    return f"pourbook trial --revised-from {hyphened(found.trial)} {said}{to}"


def _document(components: tuple[str, ...], one: "NextGlass") -> dict[str, Any]:
    def named(fractions: Any) -> dict[str, float]:  # noqa: ANN401 (a row of a matrix)
        return dict(zip(components, fractions.tolist(), strict=True))

    return {
        "parts": dict(zip(components, one.parts, strict=True)),
        "why": one.proposal.why,
        "met": one.proposal.met,
        "met_sd": one.proposal.doubt,
        "best": named(one.best),
        "best_met": one.proposal.best_met,
        "chance_of_better": one.proposal.chance,
        "nearest": named(one.nearest),
        "distance": one.distance,
        "foreseen": [foreseen._asdict() for foreseen in one.foreseen],
    }


def _why(one: "NextGlass") -> str:
    if one.proposal.why == "improves" and one.proposal.met <= one.proposal.best_met:
        return "none is expected to be better than the best so far; this one has most to gain"
    return _WHY[one.proposal.why]


def _said(components: tuple[str, ...], place: int, one: "NextGlass", style: "HouseStyle") -> list[str]:
    def percent(fraction: float) -> str:
        return style.shown(100 * fraction, 1)

    poured = ", ".join(
        f"{style.shown(part, 1)} {name}" for name, part in zip(components, one.parts, strict=True) if part
    )
    changes = zip(components, one.parts, (100 * one.nearest).tolist(), strict=True)
    differs = ", ".join(
        f"{'+' if part > tried else '−'}{style.shown(abs(part - tried), 1)} {name}"
        for name, part, tried in changes
        if round(part - tried, 1)
    )
    table = listed(
        one.foreseen,
        ("", lambda row: row.attribute),
        (" this glass", lambda row: f"{style.shown(row.mean, 1)} ± {style.shown(row.sd, 1)}"),
        (" best so far", lambda row: f"{style.shown(row.best_mean, 1)} ± {style.shown(row.best_sd, 1)}"),
    )
    return [
        *([""] if place > 1 else []),
        f"glass {place}: {poured}",
        _why(one),
        f"{percent(one.proposal.chance)} % chance that it is nearer to the wishes than the best so far",
        f"beside the nearest glass tasted: {differs or 'the same blend again'}",
        *table,
    ]
