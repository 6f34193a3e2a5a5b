"""Owner and duty status go with the liquid: an item takes over what all its first sources share.

An account groups by them, so a vial, a batch or a lot without them would leave its owner's account. Where
sources differ nothing is stated, and the answer says so. What a person stated stays; what was taken over from
sources ends when other liquid joins.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 9)
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> _ = book.record(
...     Draft(Item(cask, {"owner": "Corran Vale", "duty": "suspended"}), 0, "M. Aldane"),
...     Draft(Pour("fill", (Move("origin", cask, 5000, composition=Liquid(5000, 2000)),)), 0, "M. Aldane"),
... )
>>> _ = book.record(
...     Draft(Item(vial, {}), 1, "I. Farrow"), Draft(Pour("draw", (Move(cask, vial, 1000),)), 1, "I. Farrow")
... )
>>> book.show(vial).facts
{'duty': 'suspended', 'owner': 'Corran Vale'}
"""

from collections.abc import Mapping, Sequence

from pourbook.book.book_so_far import HANDED_ON, Known
from pourbook.book.consequences import LeftOpen
from pourbook.book.entries import SOURCES, TARGETS, Draft, Facts, Item, Move, Pour
from pourbook.book.items import facts, held
from pourbook.book.journal import parsed
from pourbook.codes.identifiers import key_of
from pourbook.errors import PourbookError
from pourbook.liquid import Liquid  # noqa: F401 (the example)

__all__ = ["handed_on"]

_STATED_IN = (
    "SELECT entry.bytes FROM fact JOIN entry ON entry.number = fact.place WHERE fact.item = ? AND fact.name = ?"
    " AND fact.happened <= ? ORDER BY fact.happened DESC, fact.place DESC LIMIT 1"
)


def handed_on(known: Known, drafts: Sequence[Draft]) -> tuple[list[Draft], list[LeftOpen]]:
    """The drafts, recorded together, with owner and duty status of what liquid is poured into, and what stays open.

    An item opened among them states what it takes over as it is opened; one that is there already, in an
    entry of its own just before the pour. A correction is left as it is.
    """
    opening = {draft.entry.id: dict(draft.entry.facts) for draft in drafts if isinstance(draft.entry, Item)}
    states = any(name in facts for facts in opening.values() for name in HANDED_ON)
    states |= any(
        isinstance(draft.entry, Facts) and not draft.entry.facts.keys().isdisjoint(HANDED_ON) for draft in drafts
    )
    if not (known.has_status or states):
        return list(drafts), []
    taken: dict[str, list[str]] = {}
    found: list[Draft] = []
    left_open: list[LeftOpen] = []
    stated = _stated(drafts)
    for draft in drafts:
        if isinstance(draft.entry, Pour) and not draft.replaces:
            for target, sources in _into(draft.entry.moves).items():
                one = _Target(known, draft.happened_us, target, opening.get(target), stated.get(target, {}))
                news = one.takes_over([opening.get(source) or one.facts_of(source) for source in sources], left_open)
                if target in opening:
                    opening[target].update(news)
                    taken.setdefault(target, []).extend(news)
                elif news:
                    found.append(draft._replace(entry=Facts(target, news, tuple(news)), reason=""))
        found.append(draft)
    for index, draft in enumerate(found):
        if isinstance(draft.entry, Item):
            item = draft.entry.id
            found[index] = draft._replace(entry=Item(item, opening[item], tuple(taken.get(item, ()))))
    return found, left_open


def _stated(drafts: Sequence[Draft]) -> dict[str, dict[str, str]]:
    """What persons state, among the drafts, of items in the book."""
    found: dict[str, dict[str, str]] = {}
    for draft in drafts:
        if isinstance(draft.entry, Facts):
            found.setdefault(draft.entry.id, {}).update(draft.entry.facts)
    return found


def _into(moves: Sequence[Move]) -> dict[str, list[str]]:
    """Each item that something is poured into, with the items it is poured from."""
    found: dict[str, list[str]] = {}
    for move in moves:
        if move.target not in TARGETS:
            sources = found.setdefault(move.target, [])
            sources += [move.source] if move.source not in SOURCES else []
    return found


class _Target:
    """An item that is poured into."""

    def __init__(
        self, known: Known, at_us: int, item: str, opening: Mapping[str, str] | None, stated: Mapping[str, str]
    ) -> None:
        self.known, self.at_us, self.item, self.stated = known, at_us, item, stated
        self.facts = self.facts_of(item) if opening is None else opening
        self.is_new = opening is not None or not held(known.store, key_of(item), at_us).mass_mg

    def facts_of(self, item: str) -> Mapping[str, str]:
        """Facts of an item at the moment of the pour; none of one whose identifier the rules will refuse."""
        try:
            return facts(self.known.store, key_of(item), self.at_us)
        except (PourbookError, ValueError):
            return {}

    def takes_over(self, sources: Sequence[Mapping[str, str]], left_open: list[LeftOpen]) -> dict[str, str]:
        """What becomes true of it; what stays open is added to the list."""
        news: dict[str, str] = {}
        for name in HANDED_ON:
            if name in self.stated:
                continue
            now, values = self.facts.get(name, ""), {source.get(name, "") for source in sources}
            ends = False
            if now and values - {now}:
                rows = self.known.store.query(_STATED_IN, (key_of(self.item), name, self.at_us))
                ends = bool(rows) and name in parsed(rows[0][0])["body"].get("from_sources", ())
            others = values - ({now} if ends else {now, ""})
            if not others or not (now or self.is_new):
                continue
            news |= {name: ""} if ends else {}
            if self.is_new and (ends or not now) and len(values) == 1:  # its first liquid, or after that was voided
                news[name] = next(iter(values))
            else:
                left_open.append(LeftOpen(self.item, name, now, tuple(sorted(values)), ends))
        return news
