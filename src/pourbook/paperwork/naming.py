"""How a paper names people."""

from typing import Literal

from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, read_or_none, readable
from pourbook.papers.dossier.dossier_rows import Person

__all__ = ["PeopleBy", "coded", "person"]

PeopleBy = Literal["codes", "names"]
"""How persons stand on a paper that leaves the house."""


def person(store: Store, who: str, part: str = "") -> Person:
    """Who did something: a person of the book by number, anybody else by name."""
    identifier = read_or_none(who)
    if identifier is None:
        return Person("", readable(who), part)
    known = facts(store, key_of(identifier))
    return Person(hyphened(identifier), readable(known.get("name") or known.get("ref", "")), part)


def coded(one: Person, entry: int) -> Person:
    """A person without the name: by number, or by initials and an entry that only the house's journal explains.

    >>> coded(Person("", "Maud Aldane", ""), 17).id, coded(Person("P-000001-X", "Maud Aldane", ""), 17)
    ('MA/17', Person(id='P-000001-X', name='', part=''))
    """
    initials = "".join(word[0].upper() for word in one.name.split() if word[0].isalpha())
    return Person(one.id or f"{initials or '?'}/{entry}", "", one.part)
