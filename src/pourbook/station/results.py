"""Files that a deed made, kept in memory for whoever asked: a few of each person's, for an hour.

Whoever restarts the station makes them again.
"""

import secrets
import threading
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from pourbook.station.people import hands_of

if TYPE_CHECKING:
    from pourbook.station.visit import Visit

__all__ = ["Result", "keep_result", "result_of", "results_of"]

_MOST_EACH, _KEPT_S = 12, 3600.0


class Result(NamedTuple):
    """A file: its content and name, its `owner`, and when it was made, in seconds of this process (`made_s`)."""

    content: bytes
    name: str
    owner: str
    made_s: float


_RESULTS: dict[str, Result] = {}
_LOCK = threading.Lock()


def keep_result(visit: "Visit", content: bytes, name: str) -> str:
    """Keep a file for whoever asks; the key by which they fetch it."""
    key, owner, now_s = secrets.token_urlsafe(9), hands_of(visit.person), monotonic()
    with _LOCK:
        own = [known for known, one in _RESULTS.items() if one.owner == owner][: 1 - _MOST_EACH]
        old = [known for known, one in _RESULTS.items() if now_s - one.made_s > _KEPT_S]
        for known in {*own, *old}:
            del _RESULTS[known]
        _RESULTS[key] = Result(content, name, owner, now_s)
    return key


def results_of(visit: "Visit") -> list[tuple[str, Result]]:
    """All that is kept for whoever asks, with its key; the latest first."""
    owner = hands_of(visit.person)
    with _LOCK:
        return [(key, one) for key, one in reversed(_RESULTS.items()) if one.owner == owner]


def result_of(visit: "Visit", key: str) -> Result | None:
    """The file of that key, if it is kept for whoever asks."""
    found = _RESULTS.get(key)
    return found if found and found.owner == hands_of(visit.person) else None
