"""Trials chosen by what they were made of and what was thought of them: fraction, word, person, score, date, family.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> opened = Item("C000001H", {"wood": "virgin ash"}), Item("T000002M", {"name": "for the winter"})
>>> filled = Move("origin", "C000001H", read_amount("200 l"), read_strength("60"))
>>> poured = [Move(source, "T000002M", read_amount("50 ml")) for source in ("C000001H", "water")]
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in opened))
>>> _ = book.record(*(Draft(Pour("pour", (move,)), 0, "M. Aldane") for move in (filled, *poured)))
>>> [chosen(book, Wanted(parts=(PartWanted("ash", 0.4, 0.6),))), chosen(book, Wanted(word="winter", who="isla"))]
[['T000002M'], []]
"""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.trials import WATER
from pourbook.book.coded_names import person_meant
from pourbook.book.components import component_called
from pourbook.book.items import entered_in, facts, keys_of_kind
from pourbook.book.journal import entry_of, notes_on
from pourbook.book.recall_scope import says
from pourbook.codes.identifiers import key_of, of_key
from pourbook.errors import Unknown
from pourbook.queries.tastings.search import Asked, tastings
from pourbook.queries.traces.behind import sources_behind
from pourbook.queries.traces.made_of import By, Grouping, made_of
from pourbook.queries.trials.family import relatives
from pourbook.queries.trials.opinions import opinion
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.house_style import HouseStyle

__all__ = ["PartWanted", "Wanted", "chosen"]

_A_TRACE = 0.0005
"""A twentieth of a per cent: what a range typed in per cent leaves to a pipette."""


class PartWanted(NamedTuple):
    """A part by its name, and the least and the most fraction of it.

    It is named as a component of the house, an item, water, or by whole words of spirit, wood or previous contents.
    """

    name: str
    least: float
    most: float

    @classmethod
    def of(cls, text: str, style: "HouseStyle") -> "PartWanted":
        """As typed, "chestnut 5..15": a part with its range in per cent; without one, more than nothing of it.

        Raises:
            Malformed: the range is none.
        """
        name, _, ends = text.strip().rpartition(" ")
        if not name or ".." not in ends:
            return cls(text.strip(), _A_TRACE, 1.0)
        least, most = style.between(ends)
        return cls(name.strip(), least / 100 - _A_TRACE, most / 100 + _A_TRACE)


class Wanted(NamedTuple):
    """What is asked of a trial; what is left out does not narrow it.

    Attributes:
        parts: what it is made of, by volume as poured.
        word: in a tasting note, its name, its ref or a remark, in any case.
        who: composed or tasted it; with a word or a score, it is this person's.
        score: between what the mean of its scores lies.
        since_us: it was opened then or later.
        until_us: it was opened then or earlier.
        family: a trial or recipe that it is a relative of.
    """

    parts: tuple[PartWanted, ...] = ()
    word: str = ""
    who: str = ""
    score: tuple[float, float] | None = None
    since_us: int | None = None
    until_us: int | None = None
    family: str = ""


def chosen(book: "BookCore", wanted: Wanted) -> list[str]:
    """Identifiers of the trials that answer, by number.

    Raises:
        Unknown: no trial has a part of that name, or there is no such family.
    """
    found = every = [of_key(key) for key in keys_of_kind(book.store, "trial")]
    if wanted.family:
        related = set(relatives(book, wanted.family))
        found = [trial for trial in found if trial in related]
    if wanted.since_us is not None or wanted.until_us is not None:
        found = [trial for trial in found if _is_of_time(book, trial, wanted)]
    if wanted.word or wanted.who or wanted.score:
        found = list(_thought_of(book, found, wanted))
    for part in wanted.parts:
        shares = _shares(book, every, part.name)
        found = [trial for trial in found if part.least <= shares.get(trial, 0.0) <= part.most]
    return found


def _is_of_time(book: "BookCore", trial: str, wanted: Wanted) -> bool:
    opened_us = entry_of(book.store, entered_in(book.store, key_of(trial))).happened_us
    since_us, until_us = wanted.since_us, wanted.until_us
    return (since_us is None or opened_us >= since_us) and (until_us is None or opened_us <= until_us)


# -- what was thought of it --------------------------------------------------------------


def _thought_of(book: "BookCore", trials: Iterable[str], wanted: Wanted) -> Iterator[str]:
    notes: dict[str, list[TastingNote]] = {}
    for found in tastings(book, Asked(words=wanted.word, assessor=wanted.who, kind="trial")):
        notes.setdefault(found.note.item, []).append(found.note)
    for trial in trials:
        own = notes.get(trial, [])
        if wanted.score:
            mean = opinion(own).score
            if mean and wanted.score[0] <= mean.mean <= wanted.score[1]:
                yield trial
        elif own or _is_said(book, trial, wanted):
            yield trial


def _is_said(book: "BookCore", trial: str, wanted: Wanted) -> bool:
    """Whether the word stands in its name or in a remark; without a word, whether that person composed it."""
    store, key, who = book.store, key_of(trial), lookup_form(person_meant(book.store, wanted.who))
    opened, known = entry_of(store, entered_in(store, key)), facts(store, key)
    told = [(opened.entry["who"], f"{known.get('ref', '')} {known.get('name', '')}")]
    told += [(note.entry["who"], str(note.entry["body"]["text"])) for note in notes_on(store, key)]
    return any(
        (not who or lookup_form(by) == who) and (not wanted.word or says(text, wanted.word)) for by, text in told
    )


# -- what it is made of ------------------------------------------------------------------


def _shares(book: "BookCore", trials: list[str], name: str) -> dict[str, float]:
    """Trial to its part of something; refused where words are in no trial at all."""
    group_by, names = _told_apart(book, name)
    compositions = made_of(book, trials, By(group_by))
    of_it = names or {part for one in compositions.values() for part in one if says(part, name)}
    if trials and not of_it:
        raise Unknown(
            f"no trial has anything of '{name}'",
            "name a cask, a component, water, or words of spirit, wood or previous contents; then a range: 5..15",
        )
    return {trial: sum(one.get(part, 0.0) for part in of_it) for trial, one in compositions.items()}


def _told_apart(book: "BookCore", name: str) -> tuple[Grouping, set[str]]:
    """How parts are told apart to find one of that name, and which it is; none where words are looked for."""
    if name == WATER:
        return "cask", {WATER}
    try:
        return "component", {component_called(book.store, name).name}
    except Unknown:
        pass
    try:
        item = book.find(name)
    except Unknown:
        return "kind", set()
    return "cask", {item, *sources_behind(book.store, item, outside=True)} if item[0] != "C" else {item}
