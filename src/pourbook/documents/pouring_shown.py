"""Pours and the lines of a pouring session, as doors show them."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.items_shown import blend_words, liquid_document
from pourbook.documents.recorded_shown import recorded_shown
from pourbook.documents.shown import Shown
from pourbook.words.figure_words import in_litres, named, strength_words

if TYPE_CHECKING:
    from pourbook.actions.pouring import Poured
    from pourbook.actions.pouring_session import SamePour, Scanned
    from pourbook.house_style import HouseStyle
    from pourbook.queries.items.item_card import Held
    from pourbook.queries.trials.targets import Target

__all__ = ["poured_shown", "scanned_shown"]


def poured_shown(answer: "Poured", style: "HouseStyle") -> Shown:
    """What the target holds after pours, and where they are more than planned."""
    document = _held_document(answer.target) | {"beside_plan": list(map(_target_document, answer.beside_plan))}
    shown = recorded_shown(answer.recorded, document, (_is(answer.target, style),), style)
    over = (_beside_plan(one, answer.target, style) for one in answer.beside_plan if one.over_ml)
    return shown._replace(notes=(*shown.notes, *over))


def scanned_shown(answer: "Scanned", style: "HouseStyle") -> Shown:
    """A line of a pouring session; all is said in the notes until it is done."""
    document: dict[str, Any] = {
        "done": answer.done,
        "in_hand": answer.in_hand.source or None,
        "refused": answer.in_hand.refused,
        "refusal": str(answer.refused) if answer.refused else None,
        "question": _same_document(answer.in_hand.asked),
        "not_recorded_again": _same_document(answer.let_go),
        "nothing_poured_from": answer.put_away or None,
        "source": _held_document(answer.glass) if answer.glass else None,
        "beside_plan": list(map(_target_document, answer.beside_plan)),
    }
    if answer.target:
        document |= _held_document(answer.target)
    said = (_is(answer.target, style),) if answer.done and answer.target else ()
    return Shown(document, said, tuple(_notes(answer, style)))


def _notes(answer: "Scanned", style: "HouseStyle") -> Iterator[str]:
    if answer.let_go:
        yield f"not recorded again: {answer.let_go.amount.typed} from {named(answer.let_go.source)}"
    if answer.put_away:
        yield f"note: {named(answer.put_away)} was scanned, but nothing poured from it"
    if answer.refused:
        yield f"refused: {answer.refused.message}; {answer.refused.remedy}"
        if answer.in_hand.source:
            yield f"still in hand: {named(answer.in_hand.source)}"
    if asked := answer.in_hand.asked:
        yield f"{asked.amount.typed} from {named(asked.source)} is already recorded; if poured twice, type: again"
    if answer.empty_g is not None:
        yield f"the empty glass: {answer.empty_g} g"
    if answer.recorded:
        yield from recorded_shown(answer.recorded, {}, (), style).notes
    if answer.glass:
        name = f"{hyphened(answer.glass.view.id)} {answer.glass.view.ref}".rstrip()
        yield f"{name} {_contents(answer.glass, 'holds', style)}"
    if answer.target and answer.done and answer.beside_plan:
        to_go = (f"{named(one.component)} {in_litres(one.to_go_ml, style.mark)}" for one in answer.beside_plan)
        yield f"note: planned but not poured: {', '.join(to_go)}"
    elif answer.target and not answer.done:
        yield _is(answer.target, style)
        yield from (_beside_plan(one, answer.target, style) for one in answer.beside_plan)
    if answer.blend:
        yield blend_words(answer.blend, style)


def _is(target: "Held", style: "HouseStyle") -> str:
    return f"{hyphened(target.view.id)} {_contents(target, 'is', style)}"


def _contents(held: "Held", verb: str, style: "HouseStyle") -> str:
    view, mark = held.view, style.mark
    if not view.holding.mass_mg:
        return "is empty"
    return f"{verb} {in_litres(view.volume_ml_20c, mark)} at {strength_words(view.strength_20c, mark, held.pending)}"


def _beside_plan(target: "Target", of: "Held", style: "HouseStyle") -> str:
    """A component beside its plan; a warning where it is more."""
    name = named(target.component)
    poured, planned, over, to_go = (
        in_litres(volume_ml, style.mark)
        for volume_ml in (target.poured_ml, target.planned_ml, target.over_ml, target.to_go_ml)
    )
    if not target.planned_ml and target.poured_ml:
        return f"warning: {poured} of {name}, which is not in the recipe of {hyphened(of.view.id)}"
    if target.over_ml:
        return f"warning: {poured} of {name} in total, {over} more than planned ({planned})"
    return f"{name}: {poured} of {planned} poured, {f'{to_go} to go' if target.to_go_ml else 'as planned'}"


def _held_document(held: "Held") -> dict[str, Any]:
    return {"id": held.view.id, **liquid_document(held.view), "pending": list(held.pending)}


def _target_document(target: "Target") -> dict[str, Any]:
    return target._asdict() | {"to_go_ml": target.to_go_ml, "over_ml": target.over_ml}


def _same_document(same: "SamePour | None") -> dict[str, str] | None:
    return {"source": same.source, "amount": same.amount.typed} if same else None
