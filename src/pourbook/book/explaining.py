"""What SQLite says of a file or a disk that fails, as one clear sentence with its remedy."""

import sqlite3

from pourbook.errors import Damaged, Malformed, OutOfRange, PourbookError, StoreError

__all__ = ["Explained", "refuse_unfit"]

_RESTORE = "restore a back-up: pourbook restore BACKUP PATH"
_WHERE = "find out where: pourbook verify"
_EXPLANATIONS = (
    ("readonly", StoreError, "'{}' cannot be written: the file or the disk is read-only", "check the permissions"),
    ("disk is full", StoreError, "the disk that holds '{}' is full", "free some space, then try again"),
    ("disk i/o", StoreError, "the disk failed while '{}' was in use", "check the disk and its free space"),
    ("locked", StoreError, "another program is writing to '{}'", "wait for it to finish, then try again"),
    ("busy", StoreError, "another program is writing to '{}'", "wait for it to finish, then try again"),
    ("unable to open", StoreError, "'{}' cannot be opened", "check the path and the permissions of its folder"),
    ("not a database", Damaged, "'{}' is not a pourbook, or its beginning is damaged", _RESTORE),
    ("malformed", Damaged, "'{}' is damaged", _WHERE),
    ("constraint failed", Damaged, "'{}' is damaged: its tables do not agree with its journal", _WHERE),
    ("could not decode", Damaged, "'{}' is damaged: text in it cannot be read", _WHERE),
    ("because it is a view", Damaged, "'{}' has a table that is not as this program makes it", _WHERE),
    ("no such column", Damaged, "'{}' has a table that is not as this program makes it", _WHERE),
    ("no column named", Damaged, "'{}' has a table that is not as this program makes it", _WHERE),
    ("no such table", Damaged, "'{}' lacks one of its tables", "rebuild it: pourbook repair"),
)


_IN_VAIN = ("disk is full", "disk i/o")
"""While recording, these messages add that nothing was recorded."""


def refuse_unfit(error: BaseException | None) -> None:
    """Raise what is wrong with a value that no engine takes, if that is the error."""
    if isinstance(error, OverflowError):
        raise OutOfRange("a number is too large for the book", "check it, and its unit") from error
    if isinstance(error, UnicodeEncodeError):  # half of a surrogate pair, as JSON may hold
        raise Malformed("the text has half of a character in it", "type it again") from error


class Explained:
    """Turns SQLite's errors about file and disk into a sentence; any other is ours.

    A class, since it stands around every statement: a generator would take a seventh of a pour.
    """

    __slots__ = ("_path", "_records")

    def __init__(self, path: str, *, records: bool = False) -> None:
        self._path, self._records = path, records

    def __enter__(self) -> None:
        pass

    def __exit__(self, _kind: object, error: BaseException | None, _trace: object) -> None:
        if error is None:
            return
        refuse_unfit(error)
        if isinstance(error, UnicodeDecodeError):  # what the engine says of damage has the damaged name in it
            raise _explanation("malformed", self._path, records=self._records) from error
        if isinstance(error, sqlite3.Error):
            full = getattr(error, "sqlite_errorname", "") in ("SQLITE_FULL", "SQLITE_IOERR_SHMSIZE")
            # A trigger that somebody added may refuse a row in words of its own.
            refused = isinstance(error, sqlite3.IntegrityError)
            said = "disk is full" if full else "constraint failed" if refused else str(error)
            raise _explanation(said, self._path, records=self._records) from error


def _explanation(said: str, path: str, *, records: bool) -> PourbookError:
    for word, kind, message, remedy in _EXPLANATIONS:
        if word in said.lower():
            in_vain = ": nothing was recorded" if records and word in _IN_VAIN else ""
            return kind(message.format(path) + in_vain, remedy)
    return StoreError(f"'{path}': {said}", ("nothing was recorded; " if records else "") + "please report this")
