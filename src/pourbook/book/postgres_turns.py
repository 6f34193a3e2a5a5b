"""Turns at writing: whoever writes moves the first row of `book` first, so that writers come one after the other.

Who waits for a row that is moved waits in vain: the engine lets it begin again. So whoever met others lately queues up
before it takes its turn, at another row of `book` that nobody moves, over a connection of its own that keeps the place
until the turn is over. That is only manners: without it turns are taken all the same, by chance.

The row keeps marks of the latest turns. If the answer to a COMMIT is lost, they tell whether it was done.
"""

import random
import secrets
import time
from collections.abc import Iterator
from contextlib import suppress
from typing import NamedTuple, NoReturn

import psycopg

from pourbook.book.postgres_connection import PATIENCE_S, Line
from pourbook.book.postgres_errors import is_conflict
from pourbook.errors import StoreError

__all__ = ["BOOK", "Turn", "end", "leave", "take_now", "turns"]

_MARK, _MARKS = 16, 64
"""Letters of the mark of a turn, and how many turns are remembered."""

BOOK = "SELECT turn, version FROM book WHERE number = 1"
"""How many turns were taken, and the revision of the tables."""

_TAKE = (
    f"UPDATE book SET turn = turn + 1, turns = substr($1 || turns, 1, {_MARK * _MARKS}) WHERE number = 1"
    " RETURNING turn, version"
)
_WAS_KEPT = "SELECT turn, strpos(turns, $1) FROM book WHERE number = 1 FOR UPDATE"
_QUEUE = "BEGIN; SELECT number FROM book WHERE number = 0 FOR UPDATE"
_WRITING = "BEGIN ISOLATION LEVEL SERIALIZABLE"
_NOTING = f"{_WRITING}; SET LOCAL synchronous_commit = off"
"""What can be worked out again need not outlive a crash of the server."""

_LONGEST_PAUSE_S = 0.05
_BUSY_S = 5.0
"""Who met others so lately queues up at once."""

_BACK_WITHIN_S = 20.0
"""How long a server may take to come back before nobody can tell what became of the last turn."""


class Turn(NamedTuple):
    """A turn that was taken.

    Attributes:
        number: how many were taken, this one included.
        mark: of this one alone.
        version: revision of the tables.
    """

    number: int
    mark: str
    version: int


def turns(line: Line) -> Iterator[Turn | None]:
    """Begin a transaction and take a turn in it: None as often as others were first, then the turn.

    Raises:
        StoreError: others go on writing.
        psycopg.Error: any other fault; nothing was begun.
    """
    until = time.monotonic() + PATIENCE_S
    pause_s = 0.001
    while True:
        if time.monotonic() < line.met_others + _BUSY_S:
            _queue(line)
        try:
            yield line.again_if_cut(lambda: _taken(line))
            return
        except psycopg.Error as error:
            line.roll_back()
            if not is_conflict(error):
                raise
            if time.monotonic() > until:
                problem = f"others go on writing to '{line.address.shown}': nothing was recorded"
                raise StoreError(problem, "wait for them to finish, then try again") from error
        yield None
        line.met_others = time.monotonic()
        time.sleep(random.uniform(0, pause_s))  # noqa: S311 (to part two that met)
        pause_s = min(2 * pause_s, _LONGEST_PAUSE_S)


def leave(line: Line) -> None:
    """Give up the place in the queue, if it has one."""
    if line.place is not None:
        line.place.roll_back()


def _queue(line: Line) -> None:
    """Wait for all that queued up before; at once where it has its place."""
    with suppress(psycopg.Error, StoreError):  # no second connection, or too long a wait: then by chance
        place = line.place = line.place or Line(line.address)
        if not place.is_inside:
            place.again_if_cut(lambda: place.run(_QUEUE))


def take_now(line: Line, since: int | None) -> Turn | None:
    """As `turns`, at once, to note what can be worked out again; None if any turn was taken since that one.

    The transaction is open then, too.
    """
    line.run(_NOTING)
    ((number, _),) = line.asked(f"{BOOK} FOR UPDATE NOWAIT")
    return _moved(line) if since in (None, number) else None


def end(line: Line, turn: Turn) -> bool:
    """Commit; whether everything was kept. A connection that is cut is made anew, and the server asked.

    Raises:
        StoreError: nobody can tell.
        psycopg.Error: nothing was kept.
    """
    try:
        return line.run("COMMIT") == "COMMIT"  # it says otherwise where a statement had failed
    except psycopg.Error as error:
        if not line.is_cut:
            raise
        if _was_kept(line, turn, error):
            return True
        raise


def _taken(line: Line) -> Turn:
    line.run(_WRITING)
    return _moved(line)


def _moved(line: Line) -> Turn:
    mark = secrets.token_hex(_MARK // 2)
    ((number, version),) = line.asked(_TAKE, (mark,))
    return Turn(number, mark, version)


def _was_kept(line: Line, turn: Turn, error: psycopg.Error) -> bool:
    """Whether a transaction whose last answer was lost was kept. Waits until the server has ended it."""
    until = time.monotonic() + _BACK_WITHIN_S
    while True:
        try:
            line.renew()
            line.run("BEGIN")
            ((latest, place),) = line.asked(_WAS_KEPT, (turn.mark,))
            line.roll_back()
        except (psycopg.Error, StoreError):
            if time.monotonic() > until:
                _nobody_knows(line, error)
            time.sleep(_LONGEST_PAUSE_S)
        else:
            if not place and latest >= turn.number + _MARKS:
                _nobody_knows(line, error)
            return bool(place)


def _nobody_knows(line: Line, error: psycopg.Error) -> NoReturn:
    raise StoreError(
        f"the connection to '{line.address.shown}' was lost in the very end: it may have been recorded",
        "look whether it was before you record it again: pourbook journal",
    ) from error
