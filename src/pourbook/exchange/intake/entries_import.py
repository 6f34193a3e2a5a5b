"""Where a site's journal comes from: its book, or a file that `pourbook export entries` wrote."""

import json
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from pourbook.book.addresses import is_address
from pourbook.book.coded_names import PersonName
from pourbook.book.groups import JoinedSite
from pourbook.book.journal import GENESIS, is_group
from pourbook.book.site_journals import Ended, SiteJournal, journal_of_book
from pourbook.book.store import Store
from pourbook.errors import Malformed, Refused, StoreError
from pourbook.exchange.output.entries_export import FORM

if TYPE_CHECKING:
    from pourbook.signing.heads import SignedHead

__all__ = ["site_journal"]

_MOST = 64_000_000
"""Characters of a line: beyond the longest entry there is."""


@contextmanager
def site_journal(source: str, known: Mapping[str, JoinedSite]) -> Iterator[SiteJournal]:
    """What a group that has these sites does not have yet of the site whose book, or exported file, this is.

    Raises:
        StoreError: there is nothing, or it cannot be read.
        Malformed: it is neither a book nor such a file.
    """
    with ExitStack() as stack:
        if _is_file_of_entries(source):
            file = stack.enter_context(Path(source).open(encoding="utf-8"))
            try:
                yield _of_file(file, Path(source).name)
            except UnicodeDecodeError as error:
                raise _malformed(Path(source).name, "it is not text in UTF-8") from error
        else:
            if not is_address(source) and not Path(source).exists():
                raise StoreError(f"no book and no file of entries is found at '{source}'", "check the path")
            store = Store.open(source)
            stack.callback(store.close)
            if store.has_older_tables:
                raise StoreError(
                    f"'{source}' was written by an earlier version", "open it once with this one: pourbook checkup"
                )
            stack.enter_context(store.snapshot())
            if is_group(store):
                raise Refused(f"'{source}' is the book of a group", "name the books of its sites")
            yield journal_of_book(store, known)


def _is_file_of_entries(source: str) -> bool:
    path = Path(source)
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return file.read(1) == b"{"
    except OSError as error:
        raise StoreError(f"'{source}' cannot be read: {error.strerror}", "check its permissions") from error


def _of_file(file: TextIO, name: str) -> SiteJournal:
    begin = _document(file.readline(_MOST), name)
    if begin.get("entries") != FORM:
        raise _malformed(name, "its first line does not say so")
    end: dict[str, Any] = {}

    def entries() -> Iterator[str]:
        for count in range(1 << 62):
            line = file.readline(_MOST)
            if line.startswith('{"end"'):
                end.update(_document(line, name))
                if end["end"] != count or file.readline(1):
                    raise _malformed(name, "lines were added or are missing")
                return
            if not line.endswith("\n"):
                raise _malformed(name, f"it breaks off after {count} entries")
            yield line[:-1]

    house, site, numbers = (_text(begin, key, name) for key in ("house", "site", "numbers"))
    after = _number(begin, "after", name)
    after_hash = _hash(begin, "after_hash", name) if after else GENESIS
    return SiteJournal(house, site, numbers, after, after_hash, entries(), lambda: _ended(end, name))


def _ended(end: Mapping[str, Any], name: str) -> Ended:
    return Ended(
        _number(end, "number", name), _hash(end, "head", name), _signed(end, name), _names(end, "names", name),
        _withdrawn(end, name), _names(end, "sites", name) or (),
    )  # fmt: skip


def _signed(end: Mapping[str, Any], name: str) -> "SignedHead | None":
    """The signed head, where somebody signed; whether it is good is asked later."""
    if end.get("signed") is None:
        return None
    from pourbook.signing.heads import from_json  # heavy

    try:
        return from_json(end["signed"])
    except Malformed as error:
        raise _malformed(name, f"in what is 'signed' at its end, {error.message}") from error


def _names(end: Mapping[str, Any], which: str, name: str) -> tuple[PersonName, ...] | None:
    """Names of people, or of sites, with their references, where they were told."""
    rows = end.get(which)
    if rows is None:
        return None
    fields = len(PersonName._fields)
    if not isinstance(rows, list) or any(
        not isinstance(row, list) or len(row) != fields or not all(isinstance(one, str) for one in row) for row in rows
    ):
        raise _malformed(name, f"its '{which}' are none")
    return tuple(PersonName(*row) for row in rows)


def _withdrawn(end: Mapping[str, Any], name: str) -> tuple[str, ...]:
    """References of people who were withdrawn at the site."""
    told = end.get("withdrawn", [])
    if not isinstance(told, list) or not all(isinstance(one, str) for one in told):
        raise _malformed(name, "its 'withdrawn' are none")
    return tuple(told)


def _document(line: str, name: str) -> dict[str, Any]:
    try:
        told = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise _malformed(name, "a line of it is no JSON") from error
    if not isinstance(told, dict):
        raise _malformed(name, "a line of it is no document")
    return told


def _text(told: Mapping[str, Any], key: str, name: str) -> str:
    if not isinstance(told.get(key), str):
        raise _malformed(name, f"it lacks '{key}'")
    return str(told[key])


def _number(told: Mapping[str, Any], key: str, name: str) -> int:
    if type(told.get(key)) is not int or told[key] < 0:
        raise _malformed(name, f"it lacks '{key}'")
    return int(told[key])


def _hash(told: Mapping[str, Any], key: str, name: str) -> bytes:
    text = _text(told, key, name)
    try:
        found = bytes.fromhex(text)
    except ValueError:
        found = b""
    if len(found) != len(GENESIS):
        raise _malformed(name, f"its '{key}' is no hash")
    return found


def _malformed(name: str, problem: str) -> Malformed:
    return Malformed(
        f"'{name}' is not a file of a site's entries: {problem}", "write it again: pourbook export entries -o FILE"
    )
