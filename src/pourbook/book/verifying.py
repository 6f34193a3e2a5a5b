"""Trust nothing: the chain of hashes, and every projection against the journal.

The journal is read once in the order of recording (hashes, numbers, well-formed bytes), then folded again
into an empty book, and every row of the two is compared.
"""

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import closing
from itertools import islice, zip_longest
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.altered import altered, put_right, sound_of
from pourbook.book.chain_checked import check_chain, fault_of_entry, has_sites
from pourbook.book.compositions import differing
from pourbook.book.copying import bring
from pourbook.book.deriving import repair_group
from pourbook.book.numbered import NUMBERED, made_by
from pourbook.book.rebuilding import OF_LIQUID, PROJECTIONS, highest, rebuild, standing, unheard
from pourbook.book.store import Row, Store
from pourbook.book.two_people_checked import two_people_faults
from pourbook.errors import Damaged, Fault, StoreError

if TYPE_CHECKING:
    from pourbook.book.backup import Progress

__all__ = [
    "Journal", "Verified", "file_fault", "halves", "repair", "verify", "verify_journal", "verify_liquid",
]  # fmt: skip

_MOST_FAULTS = 20
_PORTION = 1000
_REBUILD = "rebuild the tables from the journal: pourbook repair"


class Verified(NamedTuple):
    """The number of entries, the head (hash of the last, as hexadecimal text), and the first faults found."""

    entries: int
    head: str
    faults: tuple[Fault, ...]


class Journal(NamedTuple):
    """What was found of the journal, and of all but the liquid.

    Attributes:
        entries: how many can be followed.
        head: hash of the last of them.
        broken: the fault that ends them.
        of_tables: of the tables that no liquid moves in.
        of_the_file: what the database finds.
    """

    entries: int
    head: bytes
    broken: tuple[Fault, ...]
    of_tables: tuple[Fault, ...]
    of_the_file: tuple[Fault, ...]

    @property
    def can_be_followed(self) -> bool:
        """Whether tables could be rebuilt from it."""
        return not self.broken and not any(fault.file == "journal" and not fault.row for fault in self.of_tables)


Halves = Callable[[Store, Sequence[str], "Progress"], tuple[Journal, tuple[Fault, ...]]]


def halves(store: Store, tables: Sequence[str], progress: "Progress" = unheard) -> tuple[Journal, tuple[Fault, ...]]:
    """What is found of the journal and, if that can be followed, of the liquid."""
    of_journal = verify_journal(store, tables, progress)
    return of_journal, verify_liquid(store, tables, progress) if of_journal.can_be_followed else ()


def verify(store: Store, found_of: Halves = halves, progress: "Progress" = unheard) -> Verified:
    """Check chain, projections, and the file itself; `found_of` makes the two halves of it, `progress` hears of it."""
    try:
        found = altered(store)
    except StoreError as error:
        return Verified(0, "", (file_fault(error.message),))
    of_tables = tuple(one.fault for one in found)
    if any(one.is_of_the_journal for one in found):
        return Verified(0, "", of_tables)
    of_journal, of_liquid = found_of(store, sound_of((*PROJECTIONS, "composition"), found), progress)
    faults = of_journal.broken
    if not faults:
        liquid = of_liquid if of_journal.can_be_followed else ()
        faults = (*of_journal.of_tables, *liquid, *of_journal.of_the_file)
    return Verified(of_journal.entries, of_journal.head.hex(), (*of_tables, *faults))


def verify_journal(store: Store, tables: Sequence[str], progress: "Progress" = unheard) -> Journal:
    """The chain; then the file, and those of these tables that no liquid moves in."""
    whole = highest(store, "entry")
    entries, head, broken = check_chain(store, lambda done: progress("hashes", done, whole))
    if broken:
        return Journal(entries, head, broken, (), ())
    of_tables = (
        *_lost_end(store, entries, tables), *two_people_faults(store), *_compare(store, tables, of_liquid=False),
    )  # fmt: skip
    return Journal(entries, head, (), of_tables, tuple(_file_faults(store)))


def verify_liquid(store: Store, tables: Sequence[str], progress: "Progress" = unheard) -> tuple[Fault, ...]:
    """Those of these tables that pours and gauges make; what it finds counts only if the journal is whole."""
    return (*_compare(store, tables, of_liquid=True, progress=progress), *_compositions(store, tables))


def file_fault(problem: str) -> Fault:
    """A file that cannot be read as a book, as verification reports it."""
    return Fault("file", 0, "", "", problem, "restore a back-up: pourbook restore BACKUP PATH")


def _lost_end(store: Store, entries: int, tables: Collection[str]) -> tuple[Fault, ...]:
    """A fault where one of these tables knows of an entry beyond the last: the hashes before it cannot tell.

    A group's entries were compared with its sites' journals, which have their last ones.
    """
    if has_sites(store):
        return ()
    known = max(_last_known(store, table) for table in NUMBERED if table in tables or table == "entry")
    if known <= entries:
        return ()
    problem = f"the journal ends with entry {entries}, but the tables know of entry {known}: the last ones are lost"
    return (fault_of_entry(entries + 1, problem),)


def _last_known(store: Store, table: str) -> int:
    column, step = ("gone", 1) if table == "entry" else made_by(table)
    return highest(store, table, f"max({column}) / {step}")


def repair(store: Store) -> int:
    """Rebuild every projection from the journal; the number of its entries.

    Raises:
        Damaged: the journal itself does not agree with its hashes, or has lost its last entries.
    """
    if has_sites(store):
        return repair_group(store)
    found = altered(store)
    if lost := next((one for one in found if one.is_of_the_journal), None):
        raise Damaged(f"{lost.fault.file} {lost.problem}", lost.fault.remedy)
    entries, _, faults = check_chain(store)
    if faults := faults or _lost_end(store, entries, sound_of(PROJECTIONS, found)):
        raise Damaged(faults[0].problem, faults[0].remedy)
    with store.transaction():
        put_right(store, found)
        store.reindex("entry")
        store.execute("DELETE FROM composition")
        store.execute("UPDATE entry SET gone = 0, place = number WHERE gone <> 0 OR place <> number")
        for number, (gone, place) in standing(store).items():
            store.execute("UPDATE entry SET gone = ?, place = ? WHERE number = ?", (gone, place, number))
        if store.is_near:
            rebuild(store)
        else:
            with closing(Store.scratch()) as rebuilt:
                with rebuilt.transaction():
                    rebuild(rebuilt, store)
                bring(rebuilt, store, PROJECTIONS)
    return entries


def _file_faults(store: Store) -> Iterator[Fault]:
    try:
        problems = store.problems()
    except StoreError as error:
        problems = [error.message]
    yield from (file_fault(f"the file is damaged: {' '.join(problem.split())}") for problem in problems)


def _compare(
    store: Store, tables: Sequence[str], *, of_liquid: bool, progress: "Progress" = unheard
) -> Iterator[Fault]:  # fmt: skip
    """Rows of those tables (that pours and gauges make, or of the others) that differ from those rebuilt."""
    with closing(Store.scratch(indexed=False)) as rebuilt:
        try:
            gone = standing(store)
            faults = tuple(_compare_gone(store, dict(gone)))
            if faults:
                _copy_journal(store, rebuilt, gone)
            with rebuilt.transaction():
                rebuild(rebuilt, rebuilt if faults else store, of_liquid=of_liquid, progress=progress)
        except Damaged as error:
            yield fault_of_entry(0, error.message)
            return
        if not of_liquid:
            yield from faults
        for table, order in PROJECTIONS.items():
            question = f"SELECT * FROM {table} ORDER BY {order}"
            try:
                if table in tables and (table in OF_LIQUID) == of_liquid:
                    named = _named(rebuilt, table, order)
                    yield from _compare_rows(table, named, store.stream(question), rebuilt.stream(question))
            except StoreError as error:
                yield _table_fault(table, error)


def _compositions(store: Store, tables: Sequence[str]) -> Iterator[Fault]:
    """Kept shares that do not follow from the inflows, where these tables can be read."""
    if not {"composition", "flow", "state"} <= set(tables):
        return
    try:
        for state in islice(differing(store), _MOST_FAULTS):
            problem = "the kept shares of this state do not follow from its pours"
            yield Fault("table composition", 0, "", str(state), problem, "drop the kept shares: pourbook repair")
    except StoreError as error:
        yield _table_fault("composition", error)


def _table_fault(table: str, error: StoreError) -> Fault:
    return Fault(f"table {table}", 0, "", "", f"cannot be read: {error.message}", _REBUILD)


def _named(store: Store, table: str, order: str) -> Callable[[Row], str]:
    """Names a row of the table by the columns it is ordered by."""
    columns = store.columns(table)
    wanted = [(name, columns.index(name)) for name in order.split(", ")]
    return lambda row: ", ".join(f"{name} {row[index]}" for name, index in wanted)


def _compare_rows(
    table: str, named: Callable[[Row], str], kept: Iterator[Any], rebuilt: Iterator[Any]
) -> Iterator[Fault]:
    found = 0
    while found < _MOST_FAULTS:
        ours, others = list(islice(kept, _PORTION)), list(islice(rebuilt, _PORTION))
        if not ours and not others:
            return
        differing_rows = ((one, other) for one, other in zip_longest(ours, others) if one != other)
        for one, other in differing_rows if ours != others else ():
            found += 1
            problem = "a row does not follow from the journal" if one else "a row is missing"
            yield Fault(f"table {table}", 0, "", "", f"{problem} ({named(one or other)})", _REBUILD)
            if one is None or other is None or found == _MOST_FAULTS:
                return


def _copy_journal(store: Store, rebuilt: Store, gone: dict[int, tuple[int, int]]) -> None:
    """The entries, with what voids and replacements make of them: (gone, place) by number."""
    with rebuilt.transaction():
        rebuilt.execute_many(
            "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,?,?,?)",
            (
                (row[0], row[1], row[2], gone.get(row[0], (0, row[0]))[1], gone.get(row[0], (0, 0))[0], row[3], b"")
                for row in store.stream("SELECT number, kind, happened, bytes FROM entry ORDER BY number")
            ),
        )


def _compare_gone(store: Store, gone: dict[int, tuple[int, int]]) -> Iterator[Fault]:
    for number, place, gone_by in store.stream(
        "SELECT number, place, gone FROM entry WHERE gone <> 0 OR place <> number ORDER BY number"
    ):
        if gone.pop(number, (0, number)) != (gone_by, place):
            yield fault_of_entry(number, f"entry {number}: what took its place does not follow from the journal")
    for number in gone:
        yield fault_of_entry(number, f"entry {number} was voided or replaced, but the table does not show it")
