"""What a closed tasting session found: each glass and each assessor, ranks, hidden repeats, the answer of a test.

>>> spread([80.0, 70.0, 75.0])
Spread(mean=75.0, deviation=5.0, number=3)
"""

import statistics
from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.serving import TESTS, passes
from pourbook.book.entries import Coded, Flight
from pourbook.book.journal import entry_of
from pourbook.book.sealing import seal_text
from pourbook.book.sessions import called_assessor, key_to, session_named
from pourbook.book.tasting_notes import About, TastingNote, notes
from pourbook.errors import Refused
from pourbook.panels.agreement import agreement
from pourbook.panels.discrimination import difference, judged
from pourbook.panels.ranking import mean_ranks, ranking
from pourbook.queries.tastings.session_card import SessionCard, session_card
from pourbook.queries.tastings.session_plan import USUAL_D_PRIME

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Session
    from pourbook.panels.agreement import Agreement
    from pourbook.panels.discrimination import Judged
    from pourbook.panels.ranking import Ranking

__all__ = [
    "Answered", "GlassFound", "PersonFound", "Repeat", "SessionReport", "Spread", "session_report", "spread",
]  # fmt: skip


class Spread(NamedTuple):
    """Figures in short: their mean, standard deviation (None below two) and number."""

    mean: float
    deviation: float | None
    number: int


class GlassFound(NamedTuple):
    """What was found of an item over all its glasses.

    Attributes:
        item: its identifier.
        ballots: how many there are.
        score: in short; None where nobody gave one, like the other figures.
        liking: likewise.
        rank: of its ranks by assessor, 1 the first.
        words: stage and word, with its intensities, the most frequent first.
        missing: what was missing, as written.
        too_much: of what there was too much.
    """

    item: str
    ballots: int
    score: Spread | None
    liking: Spread | None
    rank: Spread | None
    words: tuple[tuple[str, Spread], ...]
    missing: tuple[str, ...]
    too_much: tuple[str, ...]


class PersonFound(NamedTuple):
    """An assessor (as `called`): glasses in the order of serving with their notes (None: no ballot), score in short."""

    assessor: str
    called: str
    glasses: tuple[tuple[Coded, TastingNote | None], ...]
    score: Spread | None


class Repeat(NamedTuple):
    """An item that an assessor scored twice, without knowing: codes and scores."""

    assessor: str
    item: str
    codes: tuple[str, str]
    scores: tuple[float, float]


class Answered(NamedTuple):
    """How many assessors answered a test and were right, and how that is judged; None where nobody answered."""

    test: str
    answered: int
    right: int
    judged: "Judged | None"


class SessionReport(NamedTuple):
    """What a session found.

    Attributes:
        card: the session.
        seal_agrees: whether what was revealed is what was sealed.
        sealed_text: that text; its SHA-256 is the seal.
        glasses: by item, the best score first.
        people: by assessor.
        repeats: hidden repeats that were scored twice.
        repeat_deviation: standard deviation of one score by them, the root of the mean of d²/2; None without any.
        test: the answer of a test; None where it was none.
        ranks: rank by item for each assessor who ranked or scored every item.
        ranking: what these ranks say; None where fewer than two gave them, or nobody told any two glasses apart.
        agreement: how far those agree who scored every item; None where fewer than two did.
    """

    card: SessionCard
    seal_agrees: bool
    sealed_text: str
    glasses: tuple[GlassFound, ...]
    people: tuple[PersonFound, ...]
    repeats: tuple[Repeat, ...]
    repeat_deviation: float | None
    test: Answered | None
    ranks: Mapping[str, Mapping[str, float]]
    ranking: "Ranking | None"
    agreement: "Agreement | None"


def session_report(book: "BookCore", name: str) -> SessionReport:
    """What a session found.

    Raises:
        Unknown: nothing goes by that name.
        Refused: it is still open.
    """
    store = book.store
    opened = session_named(store, name)
    session = opened.session
    if opened.is_open:
        raise Refused(f"session '{session.name}' is still open", "close it first: pourbook session close")
    flights, seal_agrees = key_to(store, opened)
    body = entry_of(store, opened.revealed).entry["body"]
    by_code = {note.code: note for note in notes(store, About(session=session.name)) if note.code}
    people = tuple(_person(flight, called_assessor(store, flight.assessor), by_code) for flight in flights)
    ranks = {person.assessor: found for person in people if (found := _ranks(person, session.ids))}
    repeats = tuple(repeat for person in people for repeat in _repeats(person))
    differences = [first - second for repeat in repeats for first, second in (repeat.scores,)]
    return SessionReport(
        session_card(book, session.name),
        seal_agrees,
        seal_text(flights, body["salt"], session.seal).decode(),
        tuple(sorted((_glass(item, people, ranks) for item in session.ids), key=_best_first)),
        people,
        repeats,
        (statistics.fmean(one * one / 2 for one in differences) ** 0.5) if differences else None,
        _test(session, people) if session.test else None,
        ranks,
        _ranking(session.ids, ranks),
        _agreement(session.ids, people),
    )


def _ranking(items: Sequence[str], ranks: Mapping[str, Mapping[str, float]]) -> "Ranking | None":
    rows = [[own[item] for item in items] for own in ranks.values()]
    if len(rows) < 2 or all(len(set(row)) == 1 for row in rows):
        return None
    return ranking(items, rows)


def _agreement(items: Sequence[str], people: Sequence[PersonFound]) -> "Agreement | None":
    scores: dict[tuple[str, str], list[float]] = {}
    for person in people:
        own: dict[str, list[float]] = defaultdict(list)
        for glass, note in person.glasses:
            if note and note.score is not None:
                own[glass.item].append(note.score)
        if all(own[item] for item in items):
            scores |= {(person.assessor, item): own[item] for item in items}
    return agreement(scores) if len(scores) >= 2 * len(items) and len(items) > 1 else None


def spread(values: Sequence[float]) -> Spread:
    """Figures in short."""
    return Spread(statistics.fmean(values), statistics.stdev(values) if len(values) > 1 else None, len(values))


def _spread_if_any(values: Sequence[float | None]) -> Spread | None:
    known = [one for one in values if one is not None]
    return spread(known) if known else None


def _person(flight: Flight, called: str, by_code: Mapping[str, TastingNote]) -> PersonFound:
    glasses = tuple((glass, by_code.get(glass.code)) for glass in flight.glasses)
    return PersonFound(flight.assessor, called, glasses, _spread_if_any([note.score for _, note in glasses if note]))


def _ranks(person: PersonFound, items: Sequence[str]) -> dict[str, float]:
    """The assessor's rank of each item: as given, else by score, a repeat by its mean; empty where one lacks both."""
    given: dict[str, list[float]] = defaultdict(list)
    scored: dict[str, list[float]] = defaultdict(list)
    for glass, note in person.glasses:
        if note and note.rank:
            given[glass.item].append(-note.rank)
        if note and note.score is not None:
            scored[glass.item].append(note.score)
    for found in (given, scored):
        if all(found[item] for item in items):
            return dict(zip(items, mean_ranks([-statistics.fmean(found[item]) for item in items]), strict=True))
    return {}


def _repeats(person: PersonFound) -> list[Repeat]:
    scored: dict[str, list[tuple[str, float]]] = defaultdict(list)
    for glass, note in person.glasses:
        if note and note.score is not None:
            scored[glass.item].append((glass.code, note.score))
    return [
        Repeat(person.assessor, item, (first[0], second[0]), (first[1], second[1]))
        for item, (first, second, *_) in ((item, found) for item, found in scored.items() if len(found) > 1)
    ]


def _glass(item: str, people: Sequence[PersonFound], ranks: Mapping[str, Mapping[str, float]]) -> GlassFound:
    own = [note for person in people for glass, note in person.glasses if note and glass.item == item]
    words: dict[str, list[float]] = defaultdict(list)
    for note in own:
        for stage, found in note.stages.items():
            for word, intensity in found.words.items():
                words[f"{stage}: {word}"].append(intensity)
    return GlassFound(
        item,
        len(own),
        _spread_if_any([note.score for note in own]),
        _spread_if_any([note.liking for note in own]),
        _spread_if_any([one[item] for one in ranks.values()]),
        tuple(sorted(((word, spread(found)) for word, found in words.items()), key=lambda pair: -pair[1].number)),
        tuple(note.missing for note in own if note.missing),
        tuple(note.too_much for note in own if note.too_much),
    )


def _best_first(found: GlassFound) -> tuple[float, float]:
    score = found.score.mean if found.score else float("-inf")
    return (-score, found.rank.mean if found.rank else float("inf"))


def _test(session: "Session", people: Sequence[PersonFound]) -> Answered:
    """Answers by the glasses that were picked (rank 1); who picked more or fewer than are asked for did not answer."""
    letters = dict(zip(session.ids, "AB", strict=True))
    answered = right = 0
    for person in people:
        served = "".join(letters[glass.item] for glass, _ in person.glasses)
        picked = [place for place, (_, note) in enumerate(person.glasses) if note and note.rank == 1]
        if len(picked) == TESTS[session.test].picks:
            answered += 1
            right += passes(session.test, served, picked)
    shows = judged(difference(session.test, d_prime=USUAL_D_PRIME), answered, right) if answered else None
    return Answered(session.test, answered, right, shows)
