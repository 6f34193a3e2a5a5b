"""How a paper names people."""

import re
from typing import Literal

from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of, read_or_none, readable
from pourbook.papers.dossier.dossier_rows import Person

__all__ = ["UNNAMED", "PeopleBy", "coded", "is_unnamed", "person"]

PeopleBy = Literal["codes", "names"]
"""How persons stand on a paper that leaves the house."""


_UNNAMED = re.compile("unnamed person [A-Z2-7]{6}")

UNNAMED = "unnamed"
"""In place of the initials of somebody who was withdrawn, or whose name never came here."""


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
    >>> coded(Person("", "unnamed person 5MEY67", ""), 17).id
    'unnamed/17'
    """
    if is_unnamed(one.name):
        return Person(one.id or f"{UNNAMED}/{entry}", "", one.part)
    initials = "".join(word[0].upper() for word in one.name.split() if word[0].isalpha())
    return Person(one.id or f"{initials or '?'}/{entry}", "", one.part)


def is_unnamed(name: str) -> bool:
    """Whether it is what is shown of somebody whose name the book does not have."""
    return _UNNAMED.fullmatch(name) is not None
