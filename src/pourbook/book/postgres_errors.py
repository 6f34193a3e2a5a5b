"""What PostgreSQL says of itself, the network or the disk, as one clear sentence with its remedy.

Errors of statements are told apart by their SQLSTATE (PostgreSQL's documentation, appendix "PostgreSQL Error Codes").
A connection that cannot be made has none: the client library gives the server's words alone.
"""

import re
from difflib import get_close_matches

import psycopg

from pourbook.book.explaining import refuse_unfit
from pourbook.errors import Damaged, Malformed, OutOfRange, PourbookError, StoreError

__all__ = ["SpokenOf", "is_conflict", "of_connecting"]

_WHERE = "find out where: pourbook verify"
_AGAIN = "try again"
_KEEPER = "ask whoever looks after the server"
_REMEDY = "give it in PGPASSWORD, a password file (PGPASSFILE) or a service file (PGSERVICEFILE), never in the address"

_SERVICE = "name the file in PGSERVICEFILE, and what stands in its [brackets] with ?service=NAME or in PGSERVICE"
_PARAMETERS = "after the question mark write schema=NAME, or a parameter of PostgreSQL's client library"

_UNKNOWN_PARAMETER = re.compile(r'invalid URI query parameter: "([^"]*)"')

_CONFLICTS = ("40001", "40P01")
"""Serialization failure, deadlock: what was begun can be done again from its beginning."""

_EXPLANATIONS = (
    ("55P03", StoreError, "another program is writing to '{}'", "wait for it to finish, then try again"),
    ("53100", StoreError, "the disk that holds '{}' is full", "free some space, then try again"),
    ("53200", StoreError, "the server that holds '{}' has no memory left", _KEEPER),
    ("53", StoreError, "the server that holds '{}' serves too many already", "close other stations, then try again"),
    ("58", StoreError, "the disk failed while '{}' was in use", f"check the disk and its free space, or {_KEEPER}"),
    ("42501", StoreError, "this user may not do that with '{}'", f"{_KEEPER} to GRANT it; papers are recorded, too"),
    ("25006", StoreError, "'{}' cannot be written: the server only takes questions", "record at the main server"),
    ("25P03", StoreError, "the server ended what lay idle too long in '{}'", "do it again"),
    ("57014", StoreError, "the server ended a statement on '{}' before it was done", f"{_KEEPER}, then try again"),
    ("57P", StoreError, "the server that holds '{}' was shut down", "wait until it runs again, then try again"),
    ("08", StoreError, "the connection to '{}' was lost", "check network and server, then try again"),
    ("28", StoreError, "the server does not let this user into '{}'", f"check user and password, or {_KEEPER}"),
    ("3D000", StoreError, "there is no database for '{}'", "create it with the server's own tools: createdb NAME"),
    ("3F000", StoreError, "there is no schema for '{}'", "create a book there: pourbook create ADDRESS --house NAME"),
    ("42P01", Damaged, "'{}' lacks one of its tables", "rebuild it: pourbook repair"),
    ("42703", Damaged, "'{}' has a table that is not as this program makes it", _WHERE),
    ("23", Damaged, "'{}' is damaged: its tables do not agree with its journal", _WHERE),
    ("XX", Damaged, "'{}' is damaged", _WHERE),
    ("22003", OutOfRange, "a number is too large for the book", "check it, and its unit"),
    ("22021", Malformed, "the text has half of a character in it", "type it again"),
    ("54", OutOfRange, "a text is too long to be found again in '{}'", "shorten it"),
)
"""By the beginning of the SQLSTATE, the first that fits."""

_IN_VAIN = ("08", "53", "57", "58")
"""While recording, what begins like this adds that nothing was recorded."""

_WORDS_OF_CONNECTING = (
    ("definition of service", "the service file does not have the service named in '{}'", _SERVICE),
    ("service file", "there is no service file for '{}'", _SERVICE),
    ("no password supplied", "the server asks for a password for '{}'", _REMEDY),
    ("password", "the server did not take the password for '{}'", _REMEDY),
    ("no pg_hba.conf entry", "the server does not let this user or machine into '{}'", _KEEPER),
    ('role "', "the server knows no such user as in '{}'", f"check the user's name, or {_KEEPER}"),
    ('database "', "there is no database for '{}'", "create it with the server's own tools: createdb NAME"),
    ("resolve host", "no server is known by the name in '{}'", "check the name of the server"),
    ("translate host name", "no server is known by the name in '{}'", "check the name of the server"),
    ("refused", "no server answers at '{}'", "check host and port, and whether the server runs"),
    ("starting up", "the server that holds '{}' is only starting", "wait a moment, then try again"),
    ("shutting down", "the server that holds '{}' is being shut down", "wait until it runs again, then try again"),
    ("recovery", "the server that holds '{}' is only starting", "wait a moment, then try again"),
    ("too many", "the server that holds '{}' serves too many already", "close other stations, then try again"),
    ("reserved", "the server that holds '{}' serves too many already", "close other stations, then try again"),
)


def is_conflict(error: BaseException) -> bool:
    """Whether what was begun can be done again from its beginning."""
    return isinstance(error, psycopg.Error) and error.sqlstate in _CONFLICTS


def of_connecting(error: psycopg.Error, address: str) -> StoreError:
    """Why there is no connection."""
    said = str(error)
    if unknown := _UNKNOWN_PARAMETER.search(said):
        near = "did you mean schema? " if get_close_matches(unknown[1], ["schema"]) else ""
        return StoreError(f"unknown parameter '{unknown[1]}' in '{address}'", near + _PARAMETERS)
    for word, message, remedy in _WORDS_OF_CONNECTING:
        if word in said:
            return StoreError(message.format(address), remedy)
    why = said.partition("\n")[0].rpartition("failed: ")[2]  # in the server's language, which need not be ours
    return StoreError(f"no connection to '{address}': {why}", f"check network, host and port, or {_KEEPER}")


class SpokenOf:
    """Turns the errors of statements about a book at an address into a sentence; any other is ours."""

    __slots__ = ("_address", "_records")

    def __init__(self, address: str, *, records: bool = False) -> None:
        self._address, self._records = address, records

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, error: BaseException | None, _trace: object) -> None:
        refuse_unfit(error)
        if isinstance(error, psycopg.Error):
            raise _explanation(error, self._address, records=self._records) from error


def _explanation(error: psycopg.Error, address: str, *, records: bool) -> PourbookError:
    state = error.sqlstate or ("08" if isinstance(error, psycopg.OperationalError | psycopg.InterfaceError) else "")
    if state in _CONFLICTS:
        refused = StoreError(f"others were writing to '{address}' at the same time: nothing was recorded", _AGAIN)
        refused.again = True
        return refused
    for beginning, kind, message, remedy in _EXPLANATIONS:
        if state.startswith(beginning):
            in_vain = ": nothing was recorded" if records and beginning[:2] in _IN_VAIN else ""
            return kind(message.format(address) + in_vain, remedy)
    words = str(error).partition("\n")[0]
    return StoreError(f"'{address}': {words}", ("nothing was recorded; " if records else "") + "please report this")
