"""The routing table: every address that answers, by which action, for whom, and whether it changes anything.

>>> routes = Routes()
>>> @routes.deed("/item/{item}/note", "note")
... def take_note(visit): ...
>>> way, = routes
>>> way.method, way.path, way.changes, "auditor" in way.roles, "technician" in way.roles
('POST', '/item/{item}/note', True, False, True)
"""

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from pourbook.actions.roles import ALL_ROLES, roles_of

if TYPE_CHECKING:
    from starlette.responses import Response

    from pourbook.station.visit import Visit

__all__ = ["Answer", "Routes", "Way"]

Answer = Callable[["Visit"], "Response"]
_Function = TypeVar("_Function", bound=Answer)


class Way(NamedTuple):
    """One route.

    Attributes:
        method: GET or POST.
        path: with parts in braces; `{x:path}` takes slashes.
        answer: the function that answers, run in a thread of its own.
        roles: who may ask; None: anybody, without being signed in.
        changes: it writes to the book or to what the house keeps, not merely one's own sign-in.
        file: name of the field of an upload; None where there is none.
        actions: the actions that it calls.
        polls: a page asks it again and again by itself, which is no sign that somebody is there.
    """

    method: str
    path: str
    answer: Answer
    roles: tuple[str, ...] | None
    changes: bool = False
    file: str | None = None
    actions: tuple[str, ...] = ()
    polls: bool = False


class Routes:
    """The routes of an area, in the order in which they are tried."""

    def __init__(self) -> None:
        self._ways: list[Way] = []

    def __iter__(self) -> Iterator[Way]:
        return iter(self._ways)

    def page(
        self, path: str, roles: tuple[str, ...] | None = ALL_ROLES, *, polls: bool = False
    ) -> Callable[[_Function], _Function]:
        """A page that reads; everybody who is signed in may ask, unless `roles` says otherwise."""
        return self._adding(lambda answer: Way("GET", path, answer, roles, polls=polls))

    def deed(
        self, path: str, *actions: str, roles: tuple[str, ...] | None = (), changes: bool = True,
        file: str | None = None,
    ) -> Callable[[_Function], _Function]:  # fmt: skip
        """What somebody does: by those who may do all of its actions, or by `roles` where no role binds it."""
        allowed = roles_of(*actions) if actions else roles
        return self._adding(lambda answer: Way("POST", path, answer, allowed, changes, file, actions))

    def _adding(self, way_of: Callable[[Answer], Way]) -> Callable[[_Function], _Function]:
        def add(answer: _Function) -> _Function:
            self._ways.append(way_of(answer))
            return answer

        return add
