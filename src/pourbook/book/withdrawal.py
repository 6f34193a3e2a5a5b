"""A person withdrawn: their names leave the book, and the chain stays as it is.

Rows of the table of names go, and with them the only thing that tells who a reference stands for. Every entry that
named the person says the reference from then on; tables that repeat names are made anew. An entry of format 2 is hashed
with names: its text as it was is set aside in a table that nothing but verification reads.
"""

import re
from collections.abc import Collection, Iterable
from typing import NamedTuple

from pourbook.book.coded_names import PersonName, coded_since, is_reference, names_of_people, put_names
from pourbook.book.journal import written_entries
from pourbook.book.rebuilding import rebuild
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, read_or_none
from pourbook.errors import Unknown
from pourbook.texts import lookup_form

__all__ = ["Withdrawal", "named_so", "withdraw"]

_LOGIN = '"login":"'


class Withdrawal(NamedTuple):
    """What was withdrawn.

    Attributes:
        references: what stands in place of the names now, the first of them of the name by which they were known.
        entries: how many entries named the person.
        hashed_with_names: how many of them are of format 2, whose text is kept for verification.
        free_text: numbers of entries in whose free text the name still stands.
    """

    references: tuple[str, ...]
    entries: int
    hashed_with_names: int
    free_text: tuple[int, ...]


def withdraw(store: Store, name: str, person: str = "") -> Withdrawal:
    """Withdraw a person, by name and by the identifier of their badge if they have one, inside a transaction.

    Raises:
        Unknown: the book names nobody so.
    """
    gone, forms = named_so(store, name, person), _forms(store, name, person)
    logins = _own_logins(store, forms | {lookup_form(person)} - {""})
    gone += [one for one in names_of_people(store) if one.name in logins and one not in gone]
    gone.sort(key=lambda one: lookup_form(one.name) not in forms)
    store.overwrite_deleted()
    changed = _rewritten(store, gone)
    for one in gone:
        store.execute("DELETE FROM person_name WHERE reference = ?", (one.reference,))
    rebuild(store, of_liquid=False)
    since = coded_since(store)
    return Withdrawal(
        tuple(one.reference for one in gone), len(changed), sum(number < since for number in changed),
        _still_naming(store, {one.name.lower() for one in gone if not one.item and _is(one.name, forms)}),
    )  # fmt: skip


def named_so(store: Store, name: str, person: str = "") -> list[PersonName]:
    """The names of a person in the book. Raises as `withdraw`."""
    forms = _forms(store, name, person)
    found = [one for one in names_of_people(store) if (one.item == person if one.item else _is(one.name, forms))]
    if not found:
        raise Unknown(f"the book names nobody '{name}'", "see who recorded what: pourbook journal")
    return found


def _forms(store: Store, name: str, person: str) -> frozenset[str]:
    """The names a person goes by, as names are compared."""
    called = "SELECT value FROM fact WHERE item = ? AND name IN ('name', 'ref')"
    known = [value for (value,) in store.query(called, (key_of(person),))] if person else []
    typed = [] if read_or_none(name) else [name]
    return frozenset(map(lookup_form, filter(None, (*typed, *known))))


def _is(text: str, forms: frozenset[str]) -> bool:
    """Whether a text is one of these names, or lists one: a contact with its number, those who approve."""
    return any(lookup_form(part) in forms for part in (text, *re.split("[;,]", text)))


def _own_logins(store: Store, forms: frozenset[str]) -> set[str]:
    """Login names that stand beside this person's names alone."""
    beside: dict[str, set[str]] = {}
    for _, text in written_entries(store):
        if _LOGIN in text:
            login, *_, who = _names_in(text)
            beside.setdefault(login, set()).add(lookup_form(who))
    return {login for login, people in beside.items() if people <= forms and not is_reference(login)}


def _names_in(text: str) -> list[str]:
    found: list[str] = []

    def put(name: str, _item: str) -> str:
        found.append(name)
        return name

    put_names(text, put)
    return found


def _rewritten(store: Store, gone: Iterable[PersonName]) -> list[int]:
    """Put references for these names into every entry; the numbers of those that had one."""
    references, since = {(one.name, one.item): one.reference for one in gone}, coded_since(store)
    changed = []
    for number, text in written_entries(store):
        other = put_names(text, lambda name, item: references.get((name, item), name))
        if other != text:
            changed.append((number, text, other))
    kept = {number for (number,) in store.query("SELECT entry FROM original")}
    before = [(number, text) for number, text, _ in changed if number < since and number not in kept]
    store.insert_many("original", ("entry", "bytes"), before)
    for number, _, other in changed:
        store.execute("UPDATE entry SET bytes = ? WHERE number = ?", (other, number))
    return [number for number, *_ in changed]


def _still_naming(store: Store, names: Collection[str]) -> tuple[int, ...]:
    """Entries in which one of these names stands all the same: in the words of a note, in a reason."""
    return tuple(number for number, text in written_entries(store) if any(name in text.lower() for name in names))
