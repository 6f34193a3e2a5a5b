"""Tasting sessions as doors show them: planned, opened, poured, answered, closed. Every answer has the caution."""

from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.standard_drinks import drinks
from pourbook.book.tasting_notes import note_words
from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.queries.items.called import at_sight
from pourbook.times import written
from pourbook.words.session_words import (
    CAUTION,
    SEALED,
    alcohol_words,
    brings_words,
    shows_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.actions.ballots import BallotLine, BallotsTaken
    from pourbook.actions.print_paper import Printed
    from pourbook.actions.tasting_session import SessionClosed, SessionOpened, SessionPoured
    from pourbook.book.entries import Coded, Session
    from pourbook.book.sessions import Opened
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.house_style import HouseStyle
    from pourbook.queries.tastings.session_card import SessionCard
    from pourbook.queries.tastings.session_plan import SessionPlan
    from pourbook.queries.traces.brought import Brought

__all__ = [
    "ballot_form_shown", "ballot_line_shown", "ballots_taken_shown", "cared", "session_closed_shown",
    "session_document", "session_opened_shown", "session_papers_shown", "session_planned_shown",
    "session_poured_shown", "session_shown", "sessions_shown",
]  # fmt: skip

_CARE: dict[str, Any] = {"caution": CAUTION}


def cared(shown: Shown) -> Shown:
    """With the caution, which stands beside every answer."""
    return shown._replace(document={**shown.document, **_CARE}).warned(f"caution: {CAUTION}")


# -- planned and opened ----------------------------------------------------------------


def session_planned_shown(plan: "SessionPlan", style: "HouseStyle") -> Shown:
    """What a session would take and offer; nothing is drawn yet."""
    return cared(Shown(_plan_document(plan, style), _plan_words(plan, style), warnings=tuple(_short(plan, style))))


def session_opened_shown(answer: "SessionOpened", style: "HouseStyle") -> Shown:
    """A session that was opened."""
    name, seal = answer.session.name, answer.session.seal
    document = {"session": name, "seal": seal, "plan": _plan_document(answer.plan, style)}
    if answer.recorded.is_dry_run:
        opened = [f"session {name} can be opened; its codes and its seal are drawn then"]
    else:
        opened = [f"session {name} is open. {SEALED}", f"seal {seal}"]
    said = (*opened, *_plan_words(answer.plan, style))
    return cared(recorded_shown(answer.recorded, document, said, style))


def _plan_document(plan: "SessionPlan", style: "HouseStyle") -> dict[str, Any]:
    return {
        "assessors": list(plan.wish.assessors),
        "glasses": plan.glasses_each,
        "glass_ml": plan.glass_ml,
        "strength_20c": plan.percent_vol,
        "items": [
            {
                "id": need.item.id, "glasses": need.glasses, "spirit_ml": need.glass.spirit_ml,
                "water_ml": need.glass.water_ml, "strength_20c": need.glass.percent_vol, "needed_ml": need.needed_ml,
                "held_ml": need.item.volume_ml_20c, "short_ml": need.short_ml,
            }
            for need in plan.needs
        ],
        "fitting_ml": plan.fitting_ml,
        "critical": plan.shows.critical if plan.shows else None,
        "power": plan.shows.power if plan.shows else None,
        **_alcohol_document(plan.alcohol_mg, swallowed=plan.wish.swallowed, style=style),
        **_brings_document(plan.brings),
    }  # fmt: skip


def _alcohol_document(alcohol_mg: float, *, swallowed: bool, style: "HouseStyle") -> dict[str, Any]:
    country = style.settings["standard_drink"]
    return {
        "alcohol_g": alcohol_mg / 1000,
        "standard_drinks": drinks(alcohol_mg / 1000, country),
        "standard_drink": country,
        "alcohol_limit_g": float(style.settings[_limit(swallowed=swallowed)]),
        "spittoon": not swallowed,
    }


def _limit(*, swallowed: bool) -> str:
    return "alcohol_limit_g" if swallowed else "alcohol_spat_limit_g"


def _brings_document(brings: "Brought") -> dict[str, Any]:
    return {"allergens": list(brings.allergens), "previous": list(brings.previous)}


def _plan_words(plan: "SessionPlan", style: "HouseStyle") -> tuple[str, ...]:
    reduced = "" if plan.percent_vol is None else f", reduced to {style.shown(plan.percent_vol, 1)} % vol"
    each = f"{counted(plan.glasses_each, 'glass', 'glasses')} of {style.shown(plan.glass_ml, 1)} ml{reduced}"
    rows = listed(
        plan.needs,
        ("item", lambda need: hyphened(need.item.id)),
        ("", lambda need: need.called),
        (" glasses", lambda need: need.glasses),
        (" spirit ml", lambda need: style.shown(need.glass.spirit_ml, 2)),
        (" water ml", lambda need: style.shown(need.glass.water_ml, 2)),
        (" % vol", lambda need: style.shown(need.glass.percent_vol, 1)),
        (" needs ml", lambda need: style.shown(need.needed_ml, 1)),
        (" holds ml", lambda need: style.shown(need.item.volume_ml_20c, 1)),
        (" short ml", lambda need: style.shown(need.short_ml, 1) if need.short_ml else ""),
    )
    return (
        f"{each} for each of {counted(len(plan.wish.assessors), 'assessor')}",
        *([shows_words(plan.wish.test, plan.shows, style.mark)] if plan.shows else []),
        *rows,
        *_care_words(plan.alcohol_mg, plan.brings, style, swallowed=plan.wish.swallowed),
    )


def _care_words(alcohol_mg: float, brings: "Brought", style: "HouseStyle", *, swallowed: bool) -> tuple[str, ...]:
    limit = style.shown(float(style.settings[_limit(swallowed=swallowed)]), 0)
    how = "no spittoon is assumed" if swallowed else "a spittoon is assumed, and some is taken up all the same"
    offered = alcohol_words(alcohol_mg, style.settings["standard_drink"], style.mark)
    return (
        f"offered to each: {offered}; the house's limit is {limit} g; {how}",
        f"tell everybody before: {brings_words(brings)}",
    )


def _short(plan: "SessionPlan", style: "HouseStyle") -> list[str]:
    if not plan.short:
        return []
    names = ", ".join(hyphened(need.item.id) for need in plan.short)
    fits = f"glasses of {style.shown(plan.fitting_ml, 1)} ml would do" if plan.fitting_ml else "draw more first"
    return [f"note: {names} cannot fill the glasses; {fits}"]


# -- as it stands ----------------------------------------------------------------------


def session_shown(card: "SessionCard", style: "HouseStyle") -> Shown:
    """A session as it stands; of an open one no code is linked with its glass."""
    opened, session = card.opened, card.opened.session
    document = session_document(opened) | {
        "items": list(session.ids),
        "ballots": [{"assessor": one.assessor, "expected": one.expected, "tasted": one.tasted} for one in card.ballots],
        "poured": list(card.poured),
        **_alcohol_document(session.alcohol_mg, swallowed=session.swallowed, style=style),
        **_brings_document(card.brings),
    }
    glasses = counted(session.glasses_each, "glass", "glasses")
    state = SEALED if opened.is_open else f"Closed by entry {opened.revealed}; see: pourbook session report"
    said = (
        f"session {session.name}, opened {style.time_shown(opened.entry.happened_us)}. {state}",
        f"{_purpose(session)}: {glasses} of {session.amount}{_reduced(session)} each",
        *([f"question: {session.asks}"] if session.asks else []),
        *(f"  {at_sight(item, card.called.get(item, ''))}" for item in session.ids),
        f"seal {session.seal}",
        f"poured in entry {', '.join(map(str, card.poured))}" if card.poured else "not poured yet",
        *listed(
            card.ballots,
            ("assessor", lambda one: one.called),
            (" ballots in", lambda one: one.tasted),
            (" of", lambda one: one.expected),
        ),
        *_care_words(session.alcohol_mg, card.brings, style, swallowed=session.swallowed),
    )
    return cared(Shown(document, said))


def session_document(opened: "Opened") -> dict[str, Any]:
    """A session as every document of it begins."""
    session = opened.session
    return {
        "session": session.name,
        "entry": opened.entry.number,
        "opened": written(opened.entry.happened_us),
        "purpose": session.purpose,
        "test": session.test or None,
        "asks": session.asks or None,
        "assessors": list(session.assessors),
        "glasses": session.glasses_each,
        "amount": session.amount,
        "strength": session.strength or None,
        "seal": session.seal,
        "revealed": opened.revealed or None,
    }


def _purpose(session: "Session") -> str:
    return f"{session.test} test" if session.test else f"to {session.purpose}"


def _reduced(session: "Session") -> str:
    return f" reduced to {session.strength}" if session.strength else ""


def sessions_shown(cards: "Sequence[SessionCard]", style: "HouseStyle") -> Shown:
    """Every session, a line each."""
    said = listed(
        cards,
        ("session", lambda card: card.opened.session.name),
        ("opened", lambda card: style.time_shown(card.opened.entry.happened_us)),
        ("purpose", lambda card: _purpose(card.opened.session)),
        (" assessors", lambda card: len(card.ballots)),
        (" ballots in", lambda card: card.tasted),
        (" to come", lambda card: card.waiting if card.opened.is_open else ""),
        ("", lambda card: "open" if card.opened.is_open else "closed"),
    )
    document = [session_document(card.opened) | {"tasted": card.tasted} for card in cards]
    return cared(Shown({"sessions": document}, said))


# -- ballots back ----------------------------------------------------------------------


def ballot_form_shown(path: str, glasses: int) -> Shown:
    """An empty table of ballots that was written."""
    said = f"an empty table for {counted(glasses, 'ballot')} is in {path}"
    return cared(Shown({"file": path, "glasses": glasses}, (), (said,)))


def ballots_taken_shown(answer: "BallotsTaken", style: "HouseStyle") -> Shown:
    """Ballots that were taken in; what the glasses are stays sealed."""
    document = {
        "session": answer.session,
        "ballots": [{"assessor": note.assessor, "code": note.code, "score": note.score} for note in answer.notes],
        "waiting": answer.waiting,
        "entries": list(answer.entries),
        "dry_run": answer.is_dry_run,
    }
    said = (
        f"session {answer.session}: {counted(len(answer.notes), 'ballot')} taken in, {answer.waiting} still to come",
        *(_ballot_words(note, style) for note in answer.notes),
    )
    return cared(Shown(document, said, ("dry run: nothing was recorded",) if answer.is_dry_run else ()))


def _ballot_words(note: "TastingNote", style: "HouseStyle") -> str:
    return f"  {note.code} by {note.assessor}: {'. '.join(note_words(note, style.mark))}"


def ballot_line_shown(answer: "BallotLine", style: "HouseStyle") -> Shown:
    """A line of a round of ballots; all is said in the notes until it is done."""
    hand = answer.in_hand
    document = {"done": answer.done, "code": hand.code or None, "taken": hand.taken, "refused": hand.refused}
    notes = []
    if answer.taken:
        notes.append(f"{_ballot_words(answer.taken, style).strip()} ({answer.waiting} still to come)")
    if answer.refused:
        in_hand = f"glass {hand.code} is still in hand" if hand.code else "no glass is in hand"
        notes.append(f"refused: {answer.refused.message}; {answer.refused.remedy} ({in_hand})")
    if answer.begun:
        notes.append(f"glass {answer.begun}")
    shown = Shown(document, (f"{counted(hand.taken, 'ballot')} taken in",) if answer.done else (), tuple(notes))
    return cared(shown) if answer.done else shown


# -- papers ----------------------------------------------------------------------------


def session_papers_shown(papers: "Sequence[Printed]") -> Shown:
    """Papers of a session that were printed."""
    files = [str(path) for printed in papers for path in printed.files]
    recorded = [printed.recorded for printed in papers]
    is_dry_run = any(one.is_dry_run for one in recorded)
    document = {
        "session": papers[0].facts["session"],
        "files": files,
        "entries": [number for one in recorded for number in one.numbers],
        "dry_run": is_dry_run,
    }
    return cared(Shown(document, tuple(files), ("dry run: nothing was recorded",) if is_dry_run else ()))


# -- poured and closed -----------------------------------------------------------------


def session_poured_shown(answer: "SessionPoured", style: "HouseStyle") -> Shown:
    """A flight that was poured."""
    lines = [
        {"id": one.item, "assessor": one.assessor or None, "glasses": one.glasses, "spirit_ml": one.spirit_ml}
        for one in answer.lines
    ]
    said = (
        f"session {answer.session}: booked as lost in tasting",
        *listed(
            answer.lines,
            ("item", lambda one: hyphened(one.item)),
            ("for", lambda one: one.assessor),
            (" glasses", lambda one: one.glasses),
            (" spirit ml", lambda one: style.shown(one.spirit_ml, 2)),
        ),
    )
    return cared(recorded_shown(answer.recorded, {"session": answer.session, "lines": lines}, said, style))


def _codes_words(pairs: "Sequence[tuple[str, Coded]]", answer: "SessionClosed") -> tuple[str, ...]:
    return listed(
        pairs,
        ("assessor", lambda pair: pair[0]),
        ("code", lambda pair: pair[1].code),
        ("glass", lambda pair: at_sight(pair[1].item, answer.called.get(pair[1].item, ""))),
    )


def session_closed_shown(answer: "SessionClosed", style: "HouseStyle") -> Shown:
    """A session that was closed: which code was which glass."""
    flights = [
        {"assessor": flight.assessor, "glasses": [{"code": one.code, "id": one.item} for one in flight.glasses]}
        for flight in answer.flights
    ]
    pairs = [(flight.assessor, glass) for flight in answer.flights for glass in flight.glasses]
    agrees = "the seal agrees: nothing was changed since it was opened"
    state = "stays open; its codes are told when it is closed" if answer.recorded.is_dry_run else "is closed"
    said = (
        f"session {answer.session} {state}; {agrees if answer.is_sound else 'THE SEAL DOES NOT AGREE'}",
        *(_codes_words(pairs, answer) if pairs else ()),
    )
    document = {"session": answer.session, "seal": answer.seal, "seal_agrees": answer.is_sound, "flights": flights}
    document |= {"held": list(answer.held)}
    shown = recorded_shown(answer.recorded, document, said, style)
    held = [f"note: on hold, as a fault was found in it: {hyphened(item)}" for item in answer.held]
    return cared(shown._replace(notes=(*shown.notes, *held)))
