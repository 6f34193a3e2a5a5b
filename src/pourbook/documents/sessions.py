"""Pours beside their plan, and the lines of a session, shown: a round of samples, pouring by scan."""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import displayed_mg, strength_20c, volume_ml
from pourbook.bench.beside_plan import LEAST_ML, rests
from pourbook.book.glasses import emptied_words
from pourbook.codes.identifiers import hyphened
from pourbook.documents.items import (
    blend_words,
    bounds_document,
    heel_words,
    liquid_document,
    out_of_bounds,
    rules_document,
    rules_words,
)
from pourbook.documents.pours import drawn_shown, holds
from pourbook.documents.replanning import new_plan_document, new_plan_words
from pourbook.documents.shown import Shown, listed, recorded_shown, stop_words
from pourbook.liquid import EMPTY
from pourbook.numerals import counted
from pourbook.words.figure_words import in_litres, named, strength_shown, strength_words

if TYPE_CHECKING:
    from pourbook.actions.line_by_line import Signal
    from pourbook.actions.line_scanned import SamePour, Scanned
    from pourbook.actions.pouring import Poured
    from pourbook.actions.sampling_round import Sampled
    from pourbook.bench.beside_plan import PartToCome, Rest, Target
    from pourbook.errors import PourbookError
    from pourbook.house_style import HouseStyle
    from pourbook.queries.items.item_card import Held
    from pourbook.queries.trials.to_come import ToCome

__all__ = ["poured_shown", "refusal_words", "sampled_shown", "scanned_shown"]

_REFERENCE_C = 20.0


def sampled_shown(answer: "Sampled", style: "HouseStyle") -> Shown:
    """A line of a sampling round; all is said in the notes until it is done."""
    hand = answer.in_hand
    document = {
        "done": answer.done,
        "in_hand": hand.source or None,
        "vial": hand.vial or None,
        "drawn": hand.drawn or None,
        "samples": hand.samples,
        "refused": hand.refused,
        "refusal": str(answer.refused) if answer.refused else None,
        "to_confirm": hand.to_confirm or None,
    }
    said = (counted(hand.samples, "sample"),) if answer.done else ()
    return Shown(document, said, tuple(_sampled_notes(answer, style)))


_MET = {"": "", "good": "OK: ", "repeated": "TAKEN ALREADY: ", "wrong": "STOP: "}
"""How a line is met, in words."""


def refusal_words(refusal: "PourbookError", *, to_confirm: bool, signal: "Signal" = "") -> str:
    """A refusal in one line, with what may be typed."""
    said = f"{_MET[signal] or 'refused: '}{refusal.message}; {refusal.remedy}"
    if not to_confirm:
        return said
    return f"{said} If it is right, type: confirm" if said[-1] in ".?" else f"{said}; if it is right, type: confirm"


def _sampled_notes(answer: "Sampled", style: "HouseStyle") -> Iterator[str]:
    if answer.refused:
        yield refusal_words(answer.refused, to_confirm=bool(answer.in_hand.to_confirm))
    if answer.source:
        yield f"{hyphened(answer.source.view.id)} {_contents(answer.source, 'holds', style)}"
    if answer.drawn:
        shown = drawn_shown(answer.drawn, style)
        yield f"{hyphened(answer.drawn.vial)} drawn"
        yield from shown.notes
    if answer.reading:
        yield f"{holds(answer.reading.source, style, answer.reading.pending)} by this reading"
        yield from recorded_shown(answer.reading.recorded, {}, (), style).notes
    if answer.undone:
        yield f"{hyphened(answer.undone)} was not drawn: voided"


def poured_shown(answer: "Poured", style: "HouseStyle") -> Shown:
    """What the target holds after pours, and where they are more than planned."""
    document = _held_document(answer.target) | {
        "beside_plan": list(map(_target_document, answer.beside_plan)),
        "house_rules": rules_document(answer.broken),
    }
    shown = recorded_shown(answer.recorded, document, (_is(answer.target, style),), style)
    over = [
        line
        for one in answer.beside_plan
        if one.over_ml or one.stands == "above"
        for line in _beside_plan(one, answer.target, style)
    ]
    said = (*over, *rules_words(answer.broken, style), *heel_words(answer.heels))
    return shown._replace(notes=(*shown.notes, *said))


def scanned_shown(answer: "Scanned", style: "HouseStyle") -> Shown:
    """A line of a pouring session; all is said in the notes until it is done."""
    document: dict[str, Any] = {
        "done": answer.done,
        "in_hand": answer.in_hand.source or None,
        "refused": answer.in_hand.refused,
        "refusal": str(answer.refused) if answer.refused else None,
        "signal": answer.signal or None,
        "question": _same_document(answer.in_hand.asked),
        "to_confirm": answer.in_hand.to_confirm or None,
        "not_recorded_again": _same_document(answer.let_go),
        "nothing_poured_from": answer.put_away or None,
        "source": _held_document(answer.glass) if answer.glass else None,
        "expected_ml_20c": answer.expected_ml,
        "beside_plan": list(map(_target_document, answer.beside_plan)),
        "rests": [
            {"keeps": rest.keeps, "to_go_ml": dict(rest.to_go_ml), "makes": rest.makes._asdict()}
            for rest in answer.rests
        ],
        "new_plan": new_plan_document(answer.new_plan) if answer.new_plan else None,
        "to_come": _to_come_document(answer.to_come) if answer.to_come else None,
        "bounds": bounds_document(answer.bounds),
        "house_rules": rules_document(answer.broken),
    }
    if answer.target:
        document |= _held_document(answer.target)
    said = (_is(answer.target, style),) if answer.done and answer.target else ()
    return Shown(document, said, tuple(_notes(answer, style)), signal=answer.signal)


def _notes(answer: "Scanned", style: "HouseStyle") -> Iterator[str]:
    if answer.refused:  # first, as bell and colour go with the first line
        yield refusal_words(answer.refused, to_confirm=bool(answer.in_hand.to_confirm), signal=answer.signal)
        if answer.in_hand.source:
            yield f"still waiting for an amount from {named(answer.in_hand.source)}"
    if answer.let_go:
        yield f"not recorded again: {answer.let_go.amount.typed} from {named(answer.let_go.source)}"
    if answer.put_away:
        yield f"note: {named(answer.put_away)} was scanned, but nothing poured from it"
    if asked := answer.in_hand.asked:
        yield f"{asked.amount.typed} from {named(asked.source)} is already recorded; if poured twice, type: again"
    if answer.zero_g is not None:
        yield f"the balance begins at {answer.zero_g} g".replace(".", style.mark)
    if answer.recorded:
        yield from recorded_shown(answer.recorded, {}, (), style).notes
    if answer.glass:
        name = hyphened(answer.glass.view.id)
        expected = ""
        if answer.expected_ml is not None:
            expected = f"; {in_litres(answer.expected_ml, style.mark)} are expected today"
        yield f"{_MET[answer.signal]}{name} {_contents(answer.glass, 'holds', style)}{expected}"
    yield from heel_words(answer.heels)
    if answer.target and answer.done and answer.beside_plan:
        to_go = (f"{in_litres(one.to_go_ml, style.mark)} of {named(one.component)}" for one in answer.beside_plan)
        yield f"note: planned but not poured: {', '.join(to_go)}"
        yield from _ways(answer, style)
    if answer.done:
        yield from out_of_bounds(answer.bounds, style.mark)
        yield from rules_words(answer.broken, style)
    elif answer.target:
        yield _is(answer.target, style)
        if len(answer.beside_plan) > 1:
            yield from _whole_plan(answer, style)
        else:
            for one in answer.beside_plan:
                if one.poured_ml or not answer.take:
                    yield from _beside_plan(one, answer.target, style)
            yield from _short(answer, style)
            if answer.to_come:
                yield from _will_come(answer.to_come, style)
            yield from (_ways(answer, style) if answer.recorded else _take(answer, style))
            yield from rules_words(answer.broken, style)
    if answer.new_plan:
        yield from new_plan_words(answer.new_plan, style)
        yield "to keep it, type: accept" if answer.new_plan.planned.taken else "pour what can be kept in proportion (?)"
    if answer.until_g is not None:
        yield f"pour until the balance shows {answer.until_g} g".replace(".", style.mark)
    if answer.within_g is not None:
        low_g, high_g = answer.within_g
        yield f"within its bounds while the balance shows {low_g} to {high_g} g".replace(".", style.mark)
    if answer.blend:
        yield blend_words(answer.blend, style)


def _is(target: "Held", style: "HouseStyle") -> str:
    return f"{hyphened(target.view.id)} {_contents(target, 'is', style)}"


def _contents(held: "Held", verb: str, style: "HouseStyle") -> str:
    view, mark = held.view, style.mark
    if not view.holding.mass_mg:
        return emptied_words(held.emptied, style.zone) if held.emptied else "is empty"
    return f"{verb} {in_litres(view.volume_ml_20c, mark)} at {strength_words(view.strength_20c, mark, held.pending)}"


def _whole_plan(answer: "Scanned", style: "HouseStyle") -> Iterator[str]:
    """Every component beside its plan; and, where it is no longer as planned, what can still be kept."""
    in_vat = answer.target is not None and answer.target.view.kind == "batch"
    unit, per_ml, digits = ("l", 1000, 2) if in_vat else ("ml", 1, 1)

    def shown(ml: float) -> str:
        return style.shown(ml / per_ml, digits) if ml else ""

    def to_go(rest: "Rest") -> tuple[str, Callable[["Target"], str]]:
        head = " to go" if rest.keeps == "plan" else f" to go, {rest.keeps} kept"
        return head, lambda one: shown(rest.to_go_ml.get(one.component, 0.0))

    columns = [to_go(rest) for rest in answer.rests] or [(" to go", lambda one: shown(one.to_go_ml))]
    yield from listed(
        answer.beside_plan,
        ("pour", lambda one: named(one.component)),
        ("", lambda one: answer.called.get(one.component, "")),
        (f" {unit} planned", lambda one: style.shown(one.planned_ml / per_ml, digits)),
        (" poured", lambda one: style.shown(one.poured_ml / per_ml, digits)),
        *columns,
        (" too much", lambda one: shown(one.over_ml)),
        (" short", lambda one: shown(one.short_ml)),
        ("stop within ml", lambda one: stop_words(one.bounds_ml, style)),
        ("", lambda one: f"{one.stands} its bounds" if one.stands else ""),
    )
    for one in answer.beside_plan:
        if not in_vat:
            yield from _needed(one, answer.target, style)
        if one.stands == "above":
            yield _above(one, answer.target, style)
    if in_vat:
        yield from (_will_be(rest, style) for rest in answer.rests)
    elif any(one.over_ml for one in answer.beside_plan):
        for rest in rests(answer.beside_plan, EMPTY):
            if rest.keeps == "proportions":
                yield f"in proportion again with {_of_each(rest, style)} more"


def _will_be(rest: "Rest", style: "HouseStyle") -> str:
    kept = "" if rest.keeps == "plan" else f"to keep the {rest.keeps}: "
    makes = f"{in_litres(volume_ml(rest.makes), style.mark)} at {strength_shown(strength_20c(rest.makes), style.mark)}"
    return f"{kept}it will be {makes} % vol"


def _will_come(coming: "ToCome", style: "HouseStyle") -> Iterator[str]:
    """What a batch will be if the rest is poured as planned: as a whole, and every part that will not be as planned."""
    yield f"if the rest is poured as planned, {_will_be(coming.rest, style)}"
    if coming.is_as_planned:
        yield "every part will be as planned"
        return
    yield from listed(
        coming.parts,
        ("part", lambda one: named(one.component)),
        (" % planned", lambda one: style.shown(100 * one.planned, 1)),
        (" % to come", lambda one: style.shown(100 * one.to_come, 1)),
        ("bounds", lambda one: _bounds(one, style)),
        ("", _outside),
    )


def _bounds(part: "PartToCome", style: "HouseStyle") -> str:
    return f"{' to '.join(style.shown(100 * float(end), 1) for end in part.bounds)} %" if part.bounds else ""


def _outside(part: "PartToCome") -> str:
    return f"{part.stands} its bounds".upper() if part.stands in ("below", "above") else ""


def _to_come_document(coming: "ToCome") -> dict[str, Any]:
    return {
        "volume_ml_20c": volume_ml(coming.rest.makes),
        "strength_20c": strength_20c(coming.rest.makes),
        "parts": [
            {
                "component": one.component, "planned": one.planned, "to_come": one.to_come,
                "bounds": [float(end) for end in one.bounds] if one.bounds else None, "stands": one.stands,
            }
            for one in coming.parts
        ],
    }  # fmt: skip


def _of_each(rest: "Rest", style: "HouseStyle", most: int = 99) -> str:
    """What is to go of each component, the first ones by name."""
    to_go = [f"{in_litres(ml, style.mark)} of {named(one)}" for one, ml in rest.to_go_ml.items() if ml > LEAST_ML]
    more = [f"{counted(len(to_go) - most, 'other')} (type ?)"] if len(to_go) > most else []
    return ", ".join((*to_go[:most], *more)) or "nothing"


def _short(answer: "Scanned", style: "HouseStyle") -> Iterator[str]:
    """Sources that hold too little; a trial's glass is drawn again, so only a batch's."""
    for one in answer.beside_plan:
        if one.short_ml:
            yield f"warning: {named(one.component)} holds {in_litres(one.short_ml, style.mark)} too little for the plan"


def _ways(answer: "Scanned", style: "HouseStyle") -> Iterator[str]:
    """What can still be kept where pouring does not go as planned."""
    kept = {rest.keeps: rest for rest in answer.rests}
    in_vat = answer.target is not None and answer.target.view.kind == "batch"
    if "plan" in kept or not in_vat or not any(one.planned_ml for one in answer.beside_plan):
        return
    if "proportions" not in kept:
        lost = "the proportions" if "total" in kept else "neither proportions nor total"
        yield f"{lost} can {'no longer ' if 'total' in kept else ''}be kept"
    for keeps, rest in kept.items():
        makes = _will_be(rest._replace(keeps="plan"), style)
        yield f"to keep the {keeps}, still {_of_each(rest, style, 4)}; {makes}"


def _take(answer: "Scanned", style: "HouseStyle") -> Iterator[str]:
    """How much to take of the source in hand: by volume as it is in the cellar, and as a scale shows it."""
    for keeps, liquid in answer.take.items():
        litres = f"{style.shown(volume_ml(liquid) / 1000, 2)} l at 20 °C"
        if answer.at_c != _REFERENCE_C:
            cellar = style.shown(volume_ml(liquid, answer.at_c) / 1000, 2)
            litres = f"{cellar} l at {style.shown(answer.at_c, 1)} °C ({litres})"
        kept = "" if keeps == "plan" else f"to keep the {keeps}, "
        yield f"{kept}take {litres}, {style.shown(displayed_mg(liquid) / 1e6, 2)} kg on the scale"


def _beside_plan(target: "Target", of: "Held", style: "HouseStyle") -> Iterator[str]:
    """A component beside its plan and its bounds; a warning where it is more."""
    name = named(target.component)
    poured, planned, over, to_go = (
        in_litres(volume_ml, style.mark)
        for volume_ml in (target.poured_ml, target.wanted_ml, target.over_ml, target.to_go_ml)
    )
    if not target.wanted_ml:
        of_it = f"{poured} of {name}, which is" if target.poured_ml else f"{name} is"
        plan = "plan" if of.view.kind == "batch" else "recipe"
        yield f"warning: {of_it} not in the {plan} of {hyphened(of.view.id)}"
    elif target.over_ml:
        yield f"warning: {poured} of {name} in total, {over} more than planned ({planned})"
    else:
        yield f"{name}: {poured} of {planned} poured, {f'{to_go} to go' if target.to_go_ml else 'as planned'}"
    if target.stands == "above":
        yield _above(target, of, style)
    elif target.bounds_ml:
        least, most = (in_litres(ml, style.mark) for ml in target.more_ml)
        below = target.stands == "below"
        more = f"{least} to {most} more brings it" if below else f"up to {most} more keeps it"
        yield f"{name}: {target.stands} its bounds; {more} within them"


def _above(target: "Target", of: "Held | None", style: "HouseStyle") -> str:
    """A part that is beyond its upper bound; it stays there, unless the blend is made larger."""
    _, high = target.bounds_ml or (0.0, 0.0)
    high_ml, whole_ml, least_ml = (in_litres(ml, style.mark) for ml in (high, target.whole_ml, target.least_whole_ml))
    beside = " beside the water" if of and "target_strength" in of.view.facts else ""
    return (
        f"WARNING: {named(target.component)} is ABOVE its bounds: at most {high_ml} in a blend of {whole_ml}{beside};"
        f" it is within them again in a blend of {least_ml}"
    )


def _needed(target: "Target", of: "Held | None", style: "HouseStyle") -> Iterator[str]:
    """What water that is computed is still to go, or too much."""
    if target.needed_ml is None or of is None:
        return
    to_go, over = in_litres(target.to_go_ml, style.mark), in_litres(target.over_ml, style.mark)
    more = f"{over} of water too much for" if target.over_ml else f"{to_go} of water still to go for"
    yield f"{more} {of.view.facts['target_strength']}, from what was really poured"


def _held_document(held: "Held") -> dict[str, Any]:
    return {"id": held.view.id, **liquid_document(held.view), "pending": list(held.pending)}


def _target_document(target: "Target") -> dict[str, Any]:
    names = (
        "component",
        "planned_ml",
        "poured_ml",
        "bounds_ml",
        "whole_ml",
        "needed_ml",
        "stands",
        "to_go_ml",
        "over_ml",
    )
    return {name: getattr(target, name) for name in names}


def _same_document(same: "SamePour | None") -> dict[str, str] | None:
    return {"source": same.source, "amount": same.amount.typed} if same else None
