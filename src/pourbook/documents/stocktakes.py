"""Stocktakes shown: begun, line by line, as they stand, ended, and as a table."""

from collections.abc import Iterator, Sequence
from shlex import quote
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.sessions import refusal_words
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.times import written
from pourbook.words.stocktake_words import NOT_AS_IN_THE_BOOK

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Printed
    from pourbook.actions.stocktaking import Ended, Met, Opened, StocktakeLine
    from pourbook.book.items import ItemView
    from pourbook.book.stocktakes import Taken
    from pourbook.house_style import HouseStyle
    from pourbook.queries.warehouse.stocktake import Line, StocktakeCard

__all__ = [
    "stocktake_ended_shown", "stocktake_line_shown", "stocktake_opened_shown", "stocktake_shown", "stocktake_table",
    "stocktakes_shown",
]  # fmt: skip

_MOST_NAMED = 8


def stocktake_opened_shown(answer: "Opened", style: "HouseStyle") -> Shown:
    """A stocktake that was begun."""
    begun = answer.stocktake
    document = {"name": begun.name, "place": begun.place or None, "expected": answer.expected}
    where = begun.place or "the whole house"
    said = (
        f"stocktake {begun.name}: {where}, {counted(answer.expected, 'item')} by the book",
        f"next: pourbook stocktake scan {quote(begun.name)}",
    )
    return recorded_shown(answer.recorded, document, said, style)


def stocktakes_shown(found: "Sequence[Taken]", style: "HouseStyle") -> Shown:
    """Every stocktake."""
    document = {"stocktakes": [_taken_document(one) for one in found]}
    lines = listed(
        found,
        ("stocktake", lambda one: one.stocktake.name),
        ("place", lambda one: one.stocktake.place or "the whole house"),
        ("begun", lambda one: style.time_shown(one.begun.happened_us)),
        ("ended", lambda one: style.time_shown(one.end.happened_us) if one.end else "under way"),
        (" found", lambda one: len(one.result.found) if one.result else ""),
        (" missing", lambda one: len(one.result.missing) if one.result else ""),
    )
    return Shown(document, lines if found else ("no stocktake was begun",))


def stocktake_shown(
    card: "StocktakeCard", style: "HouseStyle", printed: "Printed | None" = None, csv: str = ""
) -> Shown:
    """A stocktake as it stands or ended, with what to do next; `printed` is its paper, `csv` its table."""
    result, taken = card.result, card.taken
    document = {
        **_taken_document(taken),
        "expected": card.expected,
        **{
            name: list(getattr(result, name)) for name in ("found", "missing", "emptied", "illegible", "unknown")
        },
        "extra": [one._asdict() for one in result.extra],
        "twice": {item: list(places) for item, places in card.twice.items()},
    }  # fmt: skip
    if printed is not None:
        document["paper"] = {"entry": printed.recorded.numbers[0], "file": ", ".join(map(str, printed.files))}
    ended = f"ended {style.time_shown(taken.end.happened_us)}" if taken.end else "under way"
    counts = f"{card.expected} by the book, {len(result.found)} found, {len(result.missing)} missing"
    said = [
        f"stocktake {taken.stocktake.name}: {taken.stocktake.place or 'the whole house'}, {ended}",
        f"{counts}, {len(result.extra)} elsewhere by the book",
    ]
    lines = card.lines()
    for state, head in NOT_AS_IN_THE_BOOK.items():
        said += _list(head, [one for one in lines if one.state == state], style)
    said += [f"scanned at {' and at '.join(places)}: {hyphened(item)}" for item, places in card.twice.items()]
    said += ["", *_next(card)] if card.seen else []
    files = [*(printed.files if printed else ()), *([csv] if csv else [])]
    return Shown(document, tuple(said), tuple(f"written: {path}" for path in files))


def stocktake_ended_shown(answer: "Ended", style: "HouseStyle") -> Shown:
    """A stocktake that ended, and what was moved."""
    whole = stocktake_shown(answer.card, style)
    moved = (f"moved to where it was seen: {', '.join(map(hyphened, answer.moved))}",) if answer.moved else ()
    document = {**whole.document, "moved": list(answer.moved)}
    return recorded_shown(answer.recorded, document, (*whole.said, *moved), style)


def stocktake_table(card: "StocktakeCard", style: "HouseStyle") -> tuple[list[str], list[list[object]]]:
    """Its list as a table: heads, and a row for each line."""
    heads = ["state", "id", "ref", "wood", "by_book", "seen_at", "seen", "who", "illegible", "text"]
    return heads, [_row(one, style) for one in card.lines()]


def _row(one: "Line", style: "HouseStyle") -> list[object]:
    known = one.view.facts if one.view else {}
    seen = one.sighting
    when = (style.time_shown(seen.happened_us), seen.who) if seen else ("", "")
    label = "yes" if one.illegible else ""
    item = one.view.id if one.view else ""
    return [
        one.state, item, known.get("ref", ""), known.get("wood", ""), one.by_book, one.seen_at, *when, label, one.text
    ]  # fmt: skip


def _list(head: str, lines: "Sequence[Line]", style: "HouseStyle") -> list[str]:
    if not lines:
        return []
    rows = listed(
        lines,
        ("item", lambda one: hyphened(one.view.id) if one.view else one.text if one.sighting else "not known"),
        ("ref", lambda one: one.view.ref if one.view else ""),
        ("place by the book", lambda one: one.by_book),
        ("seen at", lambda one: one.seen_at),
        ("when", lambda one: style.time_shown(one.sighting.happened_us) if one.sighting else ""),
        ("by", lambda one: one.sighting.who if one.sighting else ""),
        ("", lambda one: "label illegible" if one.illegible and one.view else ""),
    )
    return ["", f"{head}: {len(lines)}", *rows]


def _next(card: "StocktakeCard") -> Iterator[str]:
    """What is proposed; nothing is done by itself."""
    if not card.taken.end:
        moves = " --move" if any(one.seen_at for one in card.result.extra) else ""
        yield f"next: pourbook stocktake end {quote(card.taken.stocktake.name)}{moves}"
    else:
        there = [one for one in card.result.extra if card.views[one.item].facts.get("place", "") != one.seen_at]
        for one in there[:_MOST_NAMED]:
            yield f"next: pourbook move {hyphened(one.item)} --to {quote(one.seen_at)}"
    if card.unread:
        items = " ".join(map(hyphened, card.unread[:_MOST_NAMED]))
        yield f"next: pourbook label {items} --template NAME --reason 'label illegible'"
    if card.result.missing:
        yield "nothing is written off; what is missing stays due: pourbook due"


def _taken_document(taken: "Taken") -> dict[str, Any]:
    end = taken.end
    return {
        "name": taken.stocktake.name,
        "place": taken.stocktake.place or None,
        "begun": written(taken.begun.happened_us),
        "begun_by": taken.begun.entry["who"],
        "ended": written(end.happened_us) if end else None,
        "ended_by": end.entry["who"] if end else None,
    }


# -- line by line --------------------------------------------------------------------------


def stocktake_line_shown(answer: "StocktakeLine", style: "HouseStyle") -> Shown:
    """A line of a stocktake; all is said in the notes until it is done."""
    hand = answer.in_hand
    document = {
        "done": answer.done,
        "name": hand.name,
        "place": hand.place or None,
        "scanned": hand.scanned,
        "refused": hand.refused,
        "refusal": str(answer.refused) if answer.refused else None,
        "to_confirm": hand.to_confirm or None,
    }
    said = (f"{hand.scanned} scanned here", f"next: pourbook stocktake report {quote(hand.name)}")
    return Shown(document, said if answer.done else (), tuple(_notes(answer, style)))


def _notes(answer: "StocktakeLine", style: "HouseStyle") -> Iterator[str]:
    if answer.refused:
        yield refusal_words(answer.refused, to_confirm=bool(answer.in_hand.to_confirm))
    if answer.at:
        yield f"at {answer.at}"
    if answer.met:
        yield _met(answer.met, answer.in_hand.place, style)
    if answer.moved:
        yield f"{hyphened(answer.moved)} is at {answer.in_hand.place} from now on"
    if answer.undone:
        yield "the last scan does not count"
    if answer.missing is not None:
        where = answer.in_hand.place or "the whole house"
        yield f"{counted(len(answer.missing), 'item')} of {where} not scanned yet"
        yield from (_named(one) for one in answer.missing)


def _named(view: "ItemView") -> str:
    return "  ".join(filter(None, (hyphened(view.id), view.ref, view.facts.get("place", ""))))


def _met(met: "Met", place: str, style: "HouseStyle") -> str:
    if met.view is None:
        if met.state == "unknown":
            return f"UNKNOWN: '{met.text}' is neither a code nor a name in the book; kept in the list"
        return f"a label at {met.text} cannot be read; it is kept in the list"
    name = hyphened(met.view.id)
    by_book = met.view.facts.get("place", "")
    if met.state == "again":
        first = met.before[0]
        return f"{name} was scanned already: {style.time_shown(first.happened_us)} by {first.who}"
    elsewhere = [one.seen.place for one in met.before if one.seen.place != place]
    twice = f"; SCANNED TWICE: at {elsewhere[0]} before; are there two such labels?" if elsewhere else ""
    if met.state == "emptied":
        return f"{name} is empty by the book; if it holds spirit, gauge it{twice}"
    if met.state == "illegible":
        return f"{name} is here; its label is to be printed again{twice}"
    if met.state == "extra":
        return f"NOT HERE by the book: {name} is at {by_book or 'no place'}; if it stays here, type: here{twice}"
    return f"{name} found{twice}"
