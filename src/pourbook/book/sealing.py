"""Which code is which glass: sealed while a tasting session is open, and checked when it is revealed.

The seal is the SHA-256 of a text that says which item each assessor gets under which code, in the order of serving,
with a salt that nobody can guess. Assessors stand in it by their place among those of the session, not by name. The
seal is printed on papers, so that anybody can check at the reveal that nothing was changed. The text itself stands in
the book encoded, so that no list shows it. That hides it from eyes and from searching, not from a programmer who has
the file and means to know.

>>> flights = (Flight("Isla Farrow", (Coded("417", "T000002M"), Coded("582", "C000001H"))),)
>>> sealed, seal = sealed_up(flights, "9f3c")
>>> unsealed(sealed, ("Isla Farrow",)) == (flights, "9f3c"), is_seal(seal, flights, "9f3c"), "417" in sealed
(True, True, False)
"""

import json
from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Iterable, Mapping, Sequence
from hashlib import sha256
from typing import Any
from zlib import compress, decompress, error

from pourbook.book.entries import Coded, Flight
from pourbook.book.journal import canonical, fields
from pourbook.errors import Damaged

__all__ = ["flights_of", "is_seal", "seal_of", "seal_text", "sealed_up", "unsealed"]


def seal_text(flights: Iterable[Flight], salt: str, seal: str = "") -> bytes:
    """What the seal is of: canonical JSON; of one of format 2, which named assessors, as that was."""
    told = [fields(flight) for flight in flights]
    named = canonical({"flights": told, "salt": salt})
    if sha256(named).hexdigest() == seal:
        return named
    return canonical({"flights": [{"glasses": one["glasses"]} for one in told], "salt": salt})


def seal_of(flights: Iterable[Flight], salt: str) -> str:
    """The seal, 64 hexadecimal digits."""
    return sha256(seal_text(flights, salt)).hexdigest()


def is_seal(seal: str, flights: Iterable[Flight], salt: str) -> bool:
    """Whether it is the seal of these flights."""
    return sha256(seal_text(tuple(flights), salt, seal)).hexdigest() == seal


def sealed_up(flights: Iterable[Flight], salt: str) -> tuple[str, str]:
    """The text as the book keeps it until the reveal, and its seal."""
    text = seal_text(flights, salt)
    return urlsafe_b64encode(compress(text)).decode(), sha256(text).hexdigest()


def unsealed(sealed: str, assessors: Sequence[str]) -> tuple[tuple[Flight, ...], str]:
    """Who of these assessors gets what under which code, and the salt.

    Raises:
        Damaged: it was not sealed here.
    """
    try:
        kept = json.loads(decompress(urlsafe_b64decode(sealed)))
        told = ({"assessor": name} | one for name, one in zip(assessors, kept["flights"], strict=True))
        return flights_of(told), kept["salt"]
    except (ValueError, KeyError, TypeError, error) as fault:
        raise Damaged("the sealed codes of the session are damaged", "find out where: pourbook verify") from fault


def flights_of(flights: Iterable[Mapping[str, Any]]) -> tuple[Flight, ...]:
    """Flights from the body of an entry."""
    return tuple(
        Flight(one["assessor"], tuple(Coded(glass["code"], glass["item"]) for glass in one["glasses"]))
        for one in flights
    )
