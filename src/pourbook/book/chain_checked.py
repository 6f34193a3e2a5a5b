"""The chain of hashes followed from the first entry: numbers, hashes, and what the columns repeat of the bytes.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     check_chain(book.store)[::2]
(1, ())
"""

from collections.abc import Callable

from pourbook.book.coded_names import chained
from pourbook.book.journal import GENESIS, chain, is_canonical, is_group, parsed
from pourbook.book.store import Store
from pourbook.errors import Damaged, Fault, PourbookError, StoreError
from pourbook.times import moment_of

__all__ = ["RESTORE", "check_chain", "fault_of_entry", "has_sites"]

RESTORE = "restore a back-up whose head agrees with one written down elsewhere: pourbook restore BACKUP PATH"
"""What to do about a journal that is damaged."""


_EVERY = 10_000


def has_sites(store: Store) -> bool:
    """Whether it is the book of a group, also where tables are missing."""
    return bool(store.columns("site")) and is_group(store)


def fault_of_entry(number: int, problem: str) -> Fault:
    """A fault of an entry, or of the whole journal where the number is 0."""
    return Fault("journal", number, "", "", problem, RESTORE)


def check_chain(store: Store, progress: Callable[[int], None] = lambda _: None) -> tuple[int, bytes, tuple[Fault, ...]]:
    """Numbers without gaps, hashes that follow, columns that agree with the bytes; `progress` hears how far it is.

    Of a group, `group_checked.check_group`.
    """
    if has_sites(store):
        from pourbook.book.group_checked import check_group  # few are

        return check_group(store, progress)
    head, last = GENESIS, 0
    rows = store.stream("SELECT number, kind, happened, bytes, hash FROM entry ORDER BY number")
    try:
        text_of = chained(store)
        for number, kind, happened, bytes_, hash_ in rows:
            if number != last + 1:
                return last, head, (fault_of_entry(last + 1, f"entry {last + 1} is missing"),)
            last = number
            if type(bytes_) is not str or type(hash_) is not bytes:
                return last, head, (fault_of_entry(number, f"entry {number} cannot be read"),)
            try:
                following = chain(head, text_of(number, bytes_).encode("utf-8", "surrogatepass"))
            except Damaged as error:
                problem = f"entry {number} is not what was recorded: {error.message}"
                return last, head, (fault_of_entry(number, problem),)
            if following != hash_:
                problem = f"entry {number} is not what was recorded: its hash differs"
            else:
                problem = _entry_problem(number, kind, happened, bytes_)
            if problem:
                return last, head, (fault_of_entry(number, problem),)
            head = following
            if number % _EVERY == 0:
                progress(number)
    except StoreError as error:
        return last, head, (fault_of_entry(last + 1, f"entry {last + 1} cannot be read: {error.message}"),)
    progress(last)
    return last, head, ()


def _entry_problem(number: int, kind: str, happened: int, bytes_: str) -> str:
    try:
        entry = parsed(bytes_)
        agrees = entry["number"] == number and entry["kind"] == kind and moment_of(entry["happened"]) == happened
        if not agrees:
            return f"entry {number}: number, kind or time in the table differ from the entry itself"
        if not is_canonical(entry, bytes_):
            return f"entry {number} is not in canonical form"
    except (PourbookError, ArithmeticError, AttributeError, LookupError, RecursionError, TypeError, ValueError):
        return f"entry {number} cannot be read"
    return ""
