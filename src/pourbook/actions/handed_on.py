"""Owner and duty status go with the liquid: an item takes those that all that is first poured into it share.

An account groups by them, so a vial, a batch or a lot that stated none would leave its owner's account.
Where sources differ nothing is stated, and a sentence says so. What a person stated stays, whatever is
poured in; what was taken over from the first sources ends when liquid joins that is not so.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> _ = book.record(Draft(Item(cask, {"owner": "Corran Vale", "duty": "suspended"}), 0, "M. Aldane"))
>>> drawn = Pour("draw", (Move(cask, vial, 1000),))
>>> drafts, said = handed_on(book.store, [Draft(Item(vial, {}), 1, "I. Farrow"), Draft(drawn, 1, "I. Farrow")], {})
>>> dict(drafts[0].entry.facts), said
({'owner': 'Corran Vale', 'duty': 'suspended'}, [])
"""

from collections.abc import Mapping, Sequence

from pourbook.book.entries import SOURCES, TARGETS, Draft, Facts, Item, Move, Pour
from pourbook.book.items import facts, held
from pourbook.book.journal import parsed
from pourbook.book.store import Store
from pourbook.codes.identifiers import LIQUID_KINDS, hyphened, key_of, kind_of

__all__ = ["HANDED_ON", "handed_on"]

HANDED_ON = {"owner": "owner", "duty": "duty status"}
"""Facts that go with the liquid, and the words for them."""

_REASON = "as its sources"
_STATED_IN = (
    "SELECT entry.bytes FROM fact JOIN entry ON entry.number = fact.place WHERE fact.item = ? AND fact.name = ?"
    " AND fact.happened <= ? ORDER BY fact.happened DESC, fact.place DESC LIMIT 1"
)


def handed_on(store: Store, drafts: Sequence[Draft], stated: Mapping[str, str]) -> tuple[list[Draft], list[str]]:
    """The drafts with owner and duty status of what liquid is poured into, and a sentence where they stay open.

    Args:
        store: of the book.
        drafts: to be recorded together; a correction is left as it is.
        stated: by the person who records, by name of the fact; stands before what the sources share.
    """
    opened = {draft.entry.id: _opening(draft.entry, stated) for draft in drafts if isinstance(draft.entry, Item)}
    found: list[Draft] = []
    said: list[str] = []
    for draft in drafts:
        if isinstance(draft.entry, Pour) and not draft.replaces:
            for target, sources in _into(draft.entry.moves).items():
                known = opened.get(target)
                news, sentences = _taken_over(store, draft.happened_us, target, sources, known, stated)
                said += sentences
                if known is not None:
                    known.update(news)
                elif news:
                    found.append(draft._replace(entry=Facts(target, news), reason="" if stated else _REASON))
        found.append(draft)
    return [_with_facts(draft, opened) for draft in found], said


def _opening(item: Item, stated: Mapping[str, str]) -> dict[str, str]:
    news = {name: value for name, value in stated.items() if value} if kind_of(item.id) in LIQUID_KINDS else {}
    return {**item.facts, **news}


def _with_facts(draft: Draft, opened: Mapping[str, Mapping[str, str]]) -> Draft:
    entry = draft.entry
    return draft._replace(entry=Item(entry.id, opened[entry.id])) if isinstance(entry, Item) else draft


def _into(moves: Sequence[Move]) -> dict[str, list[str]]:
    """Each item that something is poured into, with the items it is poured from."""
    found: dict[str, list[str]] = {}
    for move in moves:
        if move.target not in TARGETS:
            sources = found.setdefault(move.target, [])
            sources += [move.source] if move.source not in SOURCES else []
    return found


def _taken_over(
    store: Store, at_us: int, target: str, sources: Sequence[str], opening: Mapping[str, str] | None,
    stated: Mapping[str, str],
) -> tuple[dict[str, str], list[str]]:  # fmt: skip
    """What becomes true of a target, and what is to be said of it."""
    known = facts(store, key_of(target), at_us) if opening is None else opening
    is_new = opening is not None or not held(store, key_of(target), at_us).mass_mg
    of_sources = [facts(store, key_of(source), at_us) for source in dict.fromkeys(sources)]
    news: dict[str, str] = {}
    said: list[str] = []
    for name, words in HANDED_ON.items():
        now, values = known.get(name, ""), {of_source.get(name, "") for of_source in of_sources}
        if name in stated:
            news |= {name: stated[name]} if stated[name] != now else {}
            continue
        ends = bool(now and values - {now}) and _was_taken_over(store, at_us, target, name)
        others = values - ({now} if ends else {now, ""})
        if not others or not (now or is_new):
            continue
        news |= {name: ""} if ends else {}
        if is_new and (ends or not now) and len(values) == 1:  # its first liquid, or after that was voided
            news[name] = next(iter(values))
        else:
            said.append(_sentence(f"{words} of {hyphened(target)}", now, values, ends=ends))
    return news, said


def _sentence(of_target: str, now: str, values: set[str], *, ends: bool) -> str:
    stated = " and ".join(f"'{value}'" if value else "spirit that states none" for value in sorted(values - {now}))
    if not now:
        return f"{of_target} is left open: its sources have {stated}{' or none' if '' in values else ''}"
    return f"{of_target} {'is open now' if ends else 'stays'}: {stated} went in beside '{now}'"


def _was_taken_over(store: Store, at_us: int, target: str, name: str) -> bool:
    """Whether a fact was taken over from sources, and not stated by a person."""
    rows = store.query(_STATED_IN, (key_of(target), name, at_us))
    return bool(rows) and parsed(rows[0][0]).get("reason") == _REASON
