"""What a house keeps beside its book: accounts, who is signed in, failed attempts, work in hand, guests' invitations.

None of it is a part of the journal. Times are microseconds of the book's clock, people are persons' identifiers; a
token is a secret that only its holder has: the file holds its hash.

>>> beside = BesideBook("", lambda: 0)
>>> beside.keep_in_hand("P000001A", "pour T000001J", {"poured_mg": [12500]})
>>> beside.in_hand("P000001A", "pour T000001J")
{'poured_mg': [12500]}
>>> beside.drop_in_hand("P000001A", "pour T000001J")
>>> beside.in_hand("P000001A", "pour T000001J") is None
True
"""

import json
import secrets
from collections.abc import Callable, Iterable
from contextlib import AbstractContextManager
from hashlib import sha256
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pourbook.book.addresses import is_address
from pourbook.book.beside_file import BesideFile
from pourbook.errors import StoreError

if TYPE_CHECKING:
    from pourbook.book.beside_server import BesideServer

__all__ = ["AccountRow", "BesideBook", "FailedFor", "SignInRow", "new_token"]

FailedFor = Literal["address", "name"]

_SCHEMA = tuple(
    f"CREATE TABLE {table}"
    for table in (
        """account (person TEXT PRIMARY KEY, name TEXT NOT NULL, role TEXT NOT NULL, pin_hash TEXT NOT NULL,
        made_us INTEGER NOT NULL, ended_us INTEGER) WITHOUT ROWID""",
        """sign_in (number INTEGER PRIMARY KEY AUTOINCREMENT, token_hash TEXT NOT NULL UNIQUE, person TEXT NOT NULL,
        begun_us INTEGER NOT NULL, seen_us INTEGER NOT NULL, address TEXT NOT NULL, device TEXT NOT NULL,
        locked INTEGER NOT NULL)""",
        """failure (number INTEGER PRIMARY KEY, kind TEXT NOT NULL, key TEXT NOT NULL, happened_us INTEGER NOT NULL)""",
        """in_hand (person TEXT, task TEXT, value TEXT NOT NULL, changed_us INTEGER NOT NULL,
        PRIMARY KEY (person, task)) WITHOUT ROWID""",
        """invitation (token_hash TEXT PRIMARY KEY, session TEXT NOT NULL, code TEXT NOT NULL, made_us INTEGER NOT NULL,
        ended_us INTEGER) WITHOUT ROWID""",
        """secret (bytes BLOB NOT NULL)""",
    )
)


class AccountRow(NamedTuple):
    """An account: its person, their name when it was made, role, hash of the PIN, made, ended (None: it holds)."""

    person: str
    name: str
    role: str
    pin_hash: str
    made_us: int
    ended_us: int | None = None


class SignInRow(NamedTuple):
    """A sign-in: its number, the person, begun, last seen, address, device, and whether it is locked."""

    number: int
    person: str
    begun_us: int
    seen_us: int
    address: str
    device: str
    locked: bool


class BesideBook:
    """What stands beside a book, as one process and thread has it open.

    `path` is that of a file, empty for one in memory, or the address of a book on a server.
    """

    def __init__(self, path: str, clock: Callable[[], int], book: str = "") -> None:
        self._file = _kept_at(path, book)
        self._clock = clock
        self._passing_secret = secrets.token_bytes(32)

    def transaction(self) -> AbstractContextManager[None]:
        """A writing transaction around several calls; others wait for it."""
        return self._file.transaction()

    def close(self) -> None:
        """Close the file."""
        self._file.close()

    # -- accounts ----------------------------------------------------------------------

    def accounts(self) -> list[AccountRow]:
        """Every account ever made, by person."""
        return list(map(AccountRow._make, self._file.read(f"{_ACCOUNTS} ORDER BY person")))

    def account(self, person: str) -> AccountRow | None:
        """The account of a person, ended or not."""
        rows = self._file.read(f"{_ACCOUNTS} WHERE person = ?", (person,))
        return AccountRow._make(rows[0]) if rows else None

    def keep_account(self, row: AccountRow) -> None:
        """Keep an account as it is now, in place of what the person had."""
        self._file.write(_KEEP_ACCOUNT, row)

    # -- who is signed in --------------------------------------------------------------

    def sign_ins(self, person: str | None = None) -> list[SignInRow]:
        """Everybody who is signed in, or one person's sign-ins; the first first."""
        where, of = ("", ()) if person is None else (" WHERE person = ?", (person,))
        return [_sign_in(row) for row in self._file.read(f"{_SIGN_INS}{where} ORDER BY number", of)]

    def sign_in_of(self, token: str) -> SignInRow | None:
        """The sign-in that a token stands for."""
        rows = self._file.read(f"{_SIGN_INS} WHERE token_hash = ?", (_hashed(token),))
        return _sign_in(rows[0]) if rows else None

    def begin_sign_in(self, person: str, address: str, device: str) -> str:
        """Sign a person in; the token, which is kept nowhere."""
        token, now_us = new_token(), self._clock()
        self._file.write(
            "INSERT INTO sign_in (token_hash, person, begun_us, seen_us, address, device, locked)"
            " VALUES (?, ?, ?, ?, ?, ?, 0)",
            (_hashed(token), person, now_us, now_us, address, device),
        )
        return token

    def seen(self, number: int, *, locked: bool) -> None:
        """A sign-in was used now, and is locked from now on, or open."""
        self._file.write("UPDATE sign_in SET seen_us = ?, locked = ? WHERE number = ?", (self._clock(), locked, number))

    def end_sign_ins(self, numbers: Iterable[int]) -> None:
        """End sign-ins: their tokens stand for nobody."""
        with self.transaction():
            for number in numbers:
                self._file.write("DELETE FROM sign_in WHERE number = ?", (number,))

    # -- attempts that failed ----------------------------------------------------------

    def failures(self, kind: FailedFor, key: str) -> list[int]:
        """When attempts for a name or from an address failed, the first first."""
        sql = "SELECT happened_us FROM failure WHERE kind = ? AND key = ? ORDER BY happened_us"
        return [moment for (moment,) in self._file.read(sql, (kind, key))]

    def keep_failure(self, kind: FailedFor, key: str) -> None:
        """An attempt failed now."""
        self._file.write("INSERT INTO failure (kind, key, happened_us) VALUES (?, ?, ?)", (kind, key, self._clock()))

    def forget_failures(self, kind: FailedFor, key: str, *, only_last: bool = False) -> None:
        """Forget them all, or the last one, which was none."""
        which = " AND number = (SELECT max(number) FROM failure WHERE kind = ? AND key = ?)" if only_last else ""
        self._file.write(f"DELETE FROM failure WHERE kind = ? AND key = ?{which}", (kind, key) * (2 if which else 1))

    def forget_failures_before(self, moment_us: int) -> None:
        """Forget what happened before a moment."""
        self._file.write("DELETE FROM failure WHERE happened_us < ?", (moment_us,))

    # -- work in hand ------------------------------------------------------------------

    def keep_in_hand(self, person: str, task: str, value: Any) -> None:  # noqa: ANN401 (whatever JSON can hold)
        """Keep what somebody has in hand at a task, in place of what was kept; it does not wait for the disk."""
        row = (person, task, json.dumps(value, ensure_ascii=False), self._clock())
        self._file.write_lightly(_KEEP_IN_HAND, row)

    def in_hand(self, person: str, task: str) -> Any:  # noqa: ANN401 (whatever JSON can hold)
        """What somebody has in hand at a task; None for nothing."""
        rows = self._file.read("SELECT value FROM in_hand WHERE person = ? AND task = ?", (person, task))
        return json.loads(rows[0][0]) if rows else None

    def tasks_in_hand(self, person: str) -> list[tuple[str, int]]:
        """The tasks that somebody has something in hand at, and when it changed; the latest first."""
        sql = "SELECT task, changed_us FROM in_hand WHERE person = ? ORDER BY changed_us DESC, task"
        return [(task, changed_us) for task, changed_us in self._file.read(sql, (person,))]

    def drop_in_hand(self, person: str, task: str) -> None:
        """Nothing is in hand any more."""
        self._file.write("DELETE FROM in_hand WHERE person = ? AND task = ?", (person, task))

    # -- guests ------------------------------------------------------------------------

    def invite(self, session: str, code: str) -> str:
        """Invite whoever tastes in a session under a code; the token for their address, which is kept nowhere."""
        token = new_token()
        row = (_hashed(token), session, code, self._clock())
        self._file.write("INSERT INTO invitation VALUES (?, ?, ?, ?, NULL)", row)
        return token

    def invited(self, token: str) -> tuple[str, str] | None:
        """The session and the code of an invitation that holds."""
        sql = "SELECT session, code FROM invitation WHERE token_hash = ? AND ended_us IS NULL"
        rows = self._file.read(sql, (_hashed(token),))
        return (rows[0][0], rows[0][1]) if rows else None

    def invitations(self, session: str) -> list[tuple[str, bool]]:
        """The code of every invitation there was to a session, and whether it holds."""
        rows = self._file.read("SELECT code, ended_us IS NULL FROM invitation WHERE session = ?", (session,))
        return [(code, bool(holds)) for code, holds in rows]

    def end_invitations(self, session: str, code: str | None = None) -> None:
        """End the invitations to a session, or those of one code."""
        sql = (
            "UPDATE invitation SET ended_us = ?1 WHERE session = ?2 AND ended_us IS NULL"
            " AND (CAST(?3 AS TEXT) IS NULL OR code = ?3)"
        )
        self._file.write(sql, (self._clock(), session, code))

    # -- the secret --------------------------------------------------------------------

    @property
    def secret(self) -> bytes:
        """32 random bytes, the same for all processes on this book; where nothing can be kept, for this one alone."""
        rows = self._file.read("SELECT bytes FROM secret")
        if rows:
            return bytes(rows[0][0])
        try:
            with self.transaction():
                kept = self._file.read("SELECT bytes FROM secret")
                if not kept:
                    self._file.write("INSERT INTO secret VALUES (?)", (self._passing_secret,))
        except StoreError:
            return self._passing_secret
        return bytes(kept[0][0]) if kept else self._passing_secret


_KEEP_ACCOUNT = (
    "INSERT INTO account (person, name, role, pin_hash, made_us, ended_us) VALUES (?, ?, ?, ?, ?, ?)"
    " ON CONFLICT (person) DO UPDATE SET name = excluded.name, role = excluded.role, pin_hash = excluded.pin_hash,"
    " made_us = excluded.made_us, ended_us = excluded.ended_us"
)
_KEEP_IN_HAND = (
    "INSERT INTO in_hand (person, task, value, changed_us) VALUES (?, ?, ?, ?)"
    " ON CONFLICT (person, task) DO UPDATE SET value = excluded.value, changed_us = excluded.changed_us"
)
_ACCOUNTS = "SELECT person, name, role, pin_hash, made_us, ended_us FROM account"
_SIGN_INS = "SELECT number, person, begun_us, seen_us, address, device, locked FROM sign_in"


def _kept_at(path: str, book: str) -> "BesideFile | BesideServer":
    if not is_address(path):
        return BesideFile(path, _SCHEMA, book)
    from pourbook.book.beside_server import BesideServer  # with psycopg

    return BesideServer(path, _SCHEMA, book)


def _sign_in(row: tuple[Any, ...]) -> SignInRow:
    *known, locked = row
    return SignInRow._make((*known, bool(locked)))


def new_token() -> str:
    """A secret of 256 random bits that fits into an address or a cookie."""
    return secrets.token_urlsafe(32)


def _hashed(token: str) -> str:
    """A token as it is kept: it is random, so that nothing slower than SHA-256 is needed."""
    return sha256(token.encode(errors="replace")).hexdigest()
