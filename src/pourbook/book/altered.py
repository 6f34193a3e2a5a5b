"""Tables, indexes, views and triggers of a book that are not as pourbook makes them: found, and put right.

`entry` itself is never made anew, nor what belongs to it: it is the journal.
"""

from collections.abc import Iterable
from typing import NamedTuple

from pourbook.book.coded_names import OUTSIDE_THE_CHAIN
from pourbook.book.store import Store
from pourbook.errors import Fault

__all__ = ["Altered", "altered", "put_right", "sound_of"]

_MISSING, _OTHER, _FOREIGN = "is missing", "is not as this program makes it", "is not pourbook's"
_REPAIR = "rebuild the tables from the journal: pourbook repair"
_RESTORE = "restore a back-up: pourbook restore BACKUP PATH"
_REMOVE = "remove it with the program that put it there"


class Altered(NamedTuple):
    """Something defined in the file that is not as it should be: kind (table, index …), name, and the problem."""

    kind: str
    name: str
    problem: str

    @property
    def is_of_the_journal(self) -> bool:
        """Whether it is the table that everything else is rebuilt from."""
        return self.kind == "table" and self.name in ("entry", *OUTSIDE_THE_CHAIN)

    @property
    def is_foreign_table(self) -> bool:
        """Whether it holds rows of somebody else's."""
        return self.kind == "table" and self.problem == _FOREIGN

    @property
    def fault(self) -> Fault:
        """As verification reports it."""
        remedy = _RESTORE if self.is_of_the_journal else _REMOVE if self.is_foreign_table else _REPAIR
        return Fault(f"{self.kind} {self.name}", 0, "", "", self.problem, remedy)


def altered(store: Store) -> list[Altered]:
    """All that is missing, other or foreign; what belongs to a book first, in the order in which it is made."""
    ours, there = store.to_define(), store.defined()
    found = [
        Altered(*key, _OTHER if key in there else _MISSING)
        for key, sql in ours.items()
        if _words(there.get(key, "")) != _words(sql)
    ]
    return found + [Altered(*key, _FOREIGN) for key in there if key not in ours]


def sound_of(tables: Iterable[str], found: Iterable[Altered]) -> list[str]:
    """Those of the tables that were not found to be missing or other."""
    unsound = {one.name for one in found if one.kind == "table"}
    return [table for table in tables if table not in unsound]


def put_right(store: Store, found: Iterable[Altered]) -> None:
    """Make what was found as it should be, tables empty, and drop what may act on them; foreign tables stay.

    A trigger goes first, so that it acts no more. The journal must not be among them.
    """
    for kind in ("trigger", "view", "index", "table"):
        for one in found:
            if one.kind == kind and not one.is_foreign_table:
                store.undefine(kind, one.name)
    there = store.defined()
    for key, sql in store.to_define().items():
        if key not in there:
            store.execute(sql)


def _words(sql: str) -> list[str]:
    return sql.split()
