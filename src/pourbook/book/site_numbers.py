"""How a group numbers what comes from its sites, so that numbers of two sites never meet.

Entry 12 of the first site that joined is entry 12001 of the group: the site's own number, times a thousand, plus the
site's code. Identifiers that only a group has (a consignment between two sites; an identifier that two sites gave to
two things) bear numbers of twelve digits, from 800,000,000,000 on, which no site may issue.

>>> group_number(12, 1), of_site(12001)
(12001, (1, 12))
>>> consignment_id(12001)
'B900000024002P'
"""

from pourbook.codes.identifiers import is_issued, key_of, kind_of, write

__all__ = [
    "FIRST_OF_GROUPS", "MOST_SITES", "consignment_id", "group_number", "is_consignment", "of_site", "own_id",
]  # fmt: skip

_STEP = 1000
MOST_SITES = _STEP - 1
"""Codes begin with 1."""

FIRST_OF_GROUPS = 800_000_000_000
"""The first number that no site may issue: it and all above it are a group's."""

_OF_CONSIGNMENTS = 900_000_000_000


def group_number(number: int, code: int) -> int:
    """The number that an entry of a site has in the group; 0 stays 0, which stands for no entry."""
    return number * _STEP + code if number else 0


def of_site(number: int) -> tuple[int, int]:
    """The code of the site, and the number of the entry there."""
    own, code = divmod(number, _STEP)
    return code, own


def consignment_id(place: int) -> str:
    """The identifier of a consignment, by the place of its first despatch in the group.

    Twice the place, or one more where the check character would be one that is never issued: of two such neighbours
    at least one is issued, since their check characters differ by two and no two of `*ILOU` do.
    """
    return _issued("batch", _OF_CONSIGNMENTS + 2 * place)


_FIRST_CONSIGNMENT = key_of(write("batch", _OF_CONSIGNMENTS))
_STEP_OF_KEYS = key_of(write("batch", _OF_CONSIGNMENTS + 1)) - _FIRST_CONSIGNMENT


def is_consignment(key: int) -> bool:
    """Whether an item is what travels between two sites of a group, by its key.

    >>> is_consignment(key_of(consignment_id(12001))), is_consignment(key_of("B000001Y"))
    (True, False)
    """
    return key >= _FIRST_CONSIGNMENT and (key - _FIRST_CONSIGNMENT) % _STEP_OF_KEYS == 0


def own_id(identifier: str, opened: int) -> str:
    """What an identifier that an earlier site has too is in the group, by the entry that took it into the book.

    >>> own_id("C000001H", 7002)
    'C800000014004R'
    """
    return _issued(kind_of(identifier), FIRST_OF_GROUPS + 2 * opened)


def _issued(kind: str, number: int) -> str:
    return write(kind, number if is_issued(kind, number) else number + 1)
