"""Ballots of a blind session taken in: glass by glass, from a table, or line by line as they are scanned and typed.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.actions.happening import Happening
>>> from pourbook.actions.tasting_session import open_session
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.queries.tastings.session_plan import Wish
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for vial in ("V000001R", "V000002P"):
...     filled = Pour("fill", (Move("origin", vial, read_amount("100 ml"), read_strength("60")),))
...     _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item(vial, {}), filled)))
>>> wish = Wish(("V000001R", "V000002P"), ("Isla Farrow",), read_amount("15 ml"))
>>> _ = open_session(book, how, "Autumn", wish, draw=lambda count: 0)
>>> taking = BallotRound(book, how, "autumn")
>>> said = [taking.scan(line) for line in ("102", "score 80", "nose pear 4; shy", "done")]
>>> [(one.taken.code, one.taken.score) for one in said if one.taken]
[('102', 80.0)]
"""

import re
from pathlib import PurePath
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.actions.tasting import taste
from pourbook.book.ballots import ANSWERS, answered
from pourbook.book.sealing import unsealed
from pourbook.book.sessions import assessor_named, session_named
from pourbook.errors import Fault, FaultsFound, Malformed, PourbookError, ToConfirm, Unknown
from pourbook.queries.tastings.session_card import ballots_waiting

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence
    from pathlib import Path

    from pourbook.actions.happening import Happening
    from pourbook.book.ballots import Ballot
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Taste
    from pourbook.book.sessions import Opened
    from pourbook.book.tasting_notes import TastingNote

__all__ = ["BallotLine", "BallotRound", "BallotsTaken", "InBallots", "take_ballot", "take_ballots"]


class BallotsTaken(NamedTuple):
    """Ballots that were taken in.

    `notes` are what they say, `entries` where they stand; `waiting` are still to come in the session; `is_dry_run`:
    nothing was kept.
    """

    session: str
    notes: "tuple[TastingNote, ...]"
    entries: tuple[int, ...]
    waiting: int
    is_dry_run: bool


def take_ballot(
    book: "BookCore", how: "Happening", session: str, code: str, found: "Taste", assessor: str = ""
) -> BallotsTaken:
    """Record what somebody found in one glass of an open session, as a blind tasting note.

    `code` is what stands on the glass or its ballot, typed or scanned; `assessor` may be left out, since no two have
    the same code.

    Raises:
        Unknown: no such session, assessor or code.
        Refused: the session is closed, or the glass has its ballot.
        OutOfRange: a figure is off the house's scale.
    """
    with how.transaction(book):
        opened = session_named(book.store, session)
        glass = _glass(book, opened, code, assessor)
        tasted = taste(book, how, _blind(opened, found, *glass))
        return _taken(book, opened, (tasted.note,), tasted.recorded.numbers, is_dry_run=how.dry_run)


def take_ballots(
    book: "BookCore", how: "Happening", session: str, ballots: "Path | str | Sequence[Ballot]"
) -> BallotsTaken:  # fmt: skip
    """Record ballots, all of them or none: of a table (`pourbook.exchange.intake.ballot_table`), or as they are.

    Raises:
        FaultsFound: those that cannot be taken, each with why.
        PourbookError: no such session or file.
    """
    mark, (source, rows) = book.settings["decimal_mark"], _rows(book, ballots)
    notes, numbers, faults = [], list[int](), []
    with how.transaction(book):
        opened = session_named(book.store, session)
        for row in rows:
            try:
                glass = _glass(book, opened, row.code, row.assessor)
                tasted = taste(book, how, _blind(opened, answered(row.answers, mark), *glass))
                notes.append(tasted.note)
                numbers += tasted.recorded.numbers
            except PourbookError as refusal:
                asked = " or give --confirm" if isinstance(refusal, ToConfirm) else ""
                faults.append(Fault(source, row.row, "", "", refusal.message, f"{refusal.remedy}{asked}"))
        if faults:
            bad = f"{len(faults)} of the ballots cannot be taken; nothing was recorded"
            raise FaultsFound(bad, tuple(faults), "correct these rows and take the whole file again")
        return _taken(book, opened, tuple(notes), tuple(numbers), is_dry_run=how.dry_run)


def _rows(book: "BookCore", ballots: "Path | str | Sequence[Ballot]") -> "tuple[str, Sequence[Ballot]]":
    """What the ballots came in, and the ballots."""
    if not isinstance(ballots, str | PurePath):
        return "ballots", ballots
    from pourbook.exchange.intake.ballot_table import read_ballots
    from pourbook.exchange.tables.table_files import one_table

    source = one_table(ballots, "ballots")
    return source.name, read_ballots(source, book.settings["decimal_mark"])


_CODE = re.compile(r"(?:\][A-Za-z]\d)?(?:SESSION-?(?P<entry>\d+)[-/])?(?P<code>\d{3})", re.IGNORECASE)
"""A code as typed, or as a reader sends it from a glass or a ballot, perhaps with the symbology before it."""


def _glass(book: "BookCore", opened: "Opened", text: str, assessor: str) -> tuple[str, str]:
    """Assessor and code of a glass."""
    session, found = opened.session, _CODE.fullmatch(text.strip())
    if not found:
        raise Malformed(f"'{text}' is not the code of a glass", "a code has three digits: scan it, or type it")
    if found["entry"] and int(found["entry"]) != opened.entry.number:
        raise Unknown(f"'{text}' is on a ballot of another session than '{session.name}'", "sort the ballots")
    flights, _ = unsealed(session.sealed, session.assessors)
    owner = next((one.assessor for one in flights for glass in one.glasses if glass.code == found["code"]), "")
    if assessor:
        named = assessor_named(book.store, session, assessor)
        if owner != named:
            raise Unknown(f"{named} has no glass {found['code']} in '{session.name}'", "check code and name")
    if not owner:
        raise Unknown(f"session '{session.name}' has no glass {found['code']}", "check the code on the ballot")
    return owner, found["code"]


def _blind(opened: "Opened", found: "Taste", assessor: str, code: str) -> "Taste":
    session = opened.session
    return found._replace(
        session=session.name, code=code, assessor=assessor, blind=True, strength=session.strength, amount=session.amount
    )


def _taken(
    book: "BookCore", opened: "Opened", notes: "tuple[TastingNote, ...]", numbers: "Iterable[int]", *, is_dry_run: bool
) -> BallotsTaken:
    return BallotsTaken(opened.session.name, notes, tuple(numbers), ballots_waiting(book, opened), is_dry_run)


# -- line by line ----------------------------------------------------------------------


class InBallots(NamedTuple):
    """What a round knows beside the book.

    Attributes:
        code: of the glass in hand; empty for none.
        answers: what was typed of it, by the words of `ANSWERS`.
        taken: how many ballots were recorded.
        refused: how many lines were not taken.
    """

    code: str = ""
    answers: "Mapping[str, str]" = MappingProxyType({})
    taken: int = 0
    refused: int = 0


class BallotLine(NamedTuple):
    """The answer to one line.

    Attributes:
        in_hand: what the round knows now.
        done: it was the last line.
        refused: why it was not taken.
        begun: the code of the glass that it took up.
        taken: the note of the glass before, which is recorded now; `waiting` are still to come.
        waiting: see `taken`.
    """

    in_hand: InBallots = InBallots()
    done: bool = False
    refused: PourbookError | None = None
    begun: str = ""
    taken: "TastingNote | None" = None
    waiting: int | None = None


class BallotRound:
    """Takes ballots in line by line: a code, then what stands on its ballot; the next code records the glass before.

    A glass that is refused stays in hand: its line is typed again, or `drop` lets it go. One of which nothing was typed
    gives way to the next code.
    """

    def __init__(self, book: "BookCore", how: "Happening", session: str) -> None:
        """Begin.

        Raises:
            Malformed: it is a dry run.
            Unknown: no such session.
        """
        if how.dry_run:
            raise Malformed("ballots cannot be taken in as a dry run line by line", "take a table: NAME FILE.csv")
        self._book, self._how, self._mark = book, how, book.settings["decimal_mark"]
        self._session = session_named(book.store, session).session.name
        self.in_hand = InBallots()

    def scan(self, text: str) -> BallotLine:
        """Take a line: a code; `nose`, `score` or another word of `ANSWERS` and what was found; `drop`, `done`."""
        try:
            answer = self._answer(text.strip())
        except PourbookError as refusal:
            self._keep(refused=self.in_hand.refused + 1)
            answer = BallotLine(refused=refusal)
        return answer._replace(in_hand=self.in_hand)

    def _keep(self, **changed: Any) -> None:  # noqa: ANN401 (values of `InBallots`)
        self.in_hand = self.in_hand._replace(**changed)

    def _answer(self, line: str) -> BallotLine:
        word, _, rest = line.partition(" ")
        if line.lower().startswith("too much "):
            word, rest = "too_much", line[len("too much ") :]
        if not line:
            return BallotLine()
        if line.lower() == "drop":
            self._keep(code="", answers={})
            return BallotLine()
        if line.lower() in ("done", "end"):
            return self._recorded()._replace(done=True)
        if _CODE.fullmatch(line):
            return self._next_glass(line)
        return self._typed(word.lower(), rest)

    def _next_glass(self, line: str) -> BallotLine:
        """Record the glass before, and take up the next; if there is no such glass, none is in hand.

        What is typed next belongs to the ballot that was scanned, and must not fall to the one before.
        """
        answer = self._recorded() if self.in_hand.answers else BallotLine()
        self._keep(code="", answers={})
        opened = session_named(self._book.store, self._session)
        try:
            _, code = _glass(self._book, opened, line, "")
        except PourbookError as refusal:
            self._keep(refused=self.in_hand.refused + 1)
            return answer._replace(refused=refusal)
        self._keep(code=code)
        return answer._replace(begun=code)

    def _typed(self, word: str, rest: str) -> BallotLine:
        if not self.in_hand.code:
            raise Malformed("no glass is in hand", "scan or type its code first")
        if word not in ANSWERS:
            raise Malformed(f"'{word}' is nothing that a ballot answers", f"begin with: {', '.join(ANSWERS)}")
        answers = {**self.in_hand.answers, word: rest}
        answered(answers, self._mark)
        self._keep(answers=answers)
        return BallotLine()

    def _recorded(self) -> BallotLine:
        """Record the glass in hand, if there is one."""
        code, answers = self.in_hand.code, self.in_hand.answers
        if not code:
            return BallotLine()
        taken = take_ballot(self._book, self._how, self._session, code, answered(answers, self._mark))
        self._keep(code="", answers={}, taken=self.in_hand.taken + 1)
        return BallotLine(taken=taken.notes[0], waiting=taken.waiting)
