"""What was scanned, typed or pressed at the bench, as one line of a pouring session."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.pouring import OUTSIDE
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused
from pourbook.queries.items.what_was_scanned import what_was_scanned
from pourbook.station.pages.pour_state import WAYS

if TYPE_CHECKING:
    from pourbook.station.pages.pour_state import PourState
    from pourbook.station.visit import Visit

__all__ = ["Line", "line_of"]

_WORDS = ("undo", "empty", "again", "confirm", "done", "replan", "accept")
_POURED_FROM = ("cask", "vial", "trial", "batch", "lot")
_LOSSES = ("spilled", "tasted")


class Line(NamedTuple):
    """A line.

    Attributes:
        what: scan, badge, itself (the glass poured into), amount, water, lost, left, zero, a word of the session, way,
            nosing, or refused.
        text: as the session reads it.
        way: amounts are measured in this way from now on.
        nosing: a strength to which water is worked out.
    """

    what: str
    text: str = ""
    way: str = ""
    nosing: str = ""

    @property
    def is_loss(self) -> bool:
        """Whether an amount is what is lost, or left, and no pour."""
        return self.what in ("lost", "left")


def line_of(visit: "Visit", item: str, state: "PourState") -> Line:
    """The line.

    Raises:
        PourbookError: nothing can be poured from what was scanned, or a field is empty.
    """
    if "scan" in visit.form:
        return _scanned(visit, item, visit.form["scan"])
    if way := visit.typed("way"):
        if way not in WAYS:
            raise _unheard(visit)
        return Line("way", way=way)
    if nosing := visit.typed("nosing"):
        return Line("nosing", nosing=nosing)
    if source := visit.typed("source"):
        return Line("scan", source) if source in OUTSIDE else _scanned(visit, item, source)
    if visit.typed("line"):
        return _word(visit, visit.typed("line"))
    for what in ("water", "lost", "left", "zero"):
        if what in visit.form:
            return _beside(visit, what, state)
    return _amount(visit)


def _scanned(visit: "Visit", item: str, code: str) -> Line:
    if code.strip().lower() in _WORDS:
        return Line(code.strip().lower(), code)
    found = what_was_scanned(code, visit.book).item
    if found is None:
        said = visit.gettext("nothing can be poured from what was scanned: '{code}'").format(code=code.strip())
        raise Refused(said, visit.gettext("scan a vial or a cask"))
    if found.id == item:
        return Line("itself")
    if found.kind == "person":
        return Line("badge", found.id)
    if found.kind not in _POURED_FROM:
        said = visit.gettext("nothing can be poured from {item}").format(item=hyphened(found.id))
        raise Refused(said, visit.gettext("scan a vial or a cask"))
    return Line("scan", found.id)


def _word(visit: "Visit", word: str) -> Line:
    if word not in _WORDS:
        raise _unheard(visit)
    return Line(word, word)


def _unheard(visit: "Visit") -> Malformed:
    return Malformed(visit.gettext("that is no word of this page"), visit.gettext("use its buttons"))


def _amount(visit: "Visit") -> Line:
    if "live" in visit.form:
        if not visit.typed("taken"):
            said = visit.gettext("the balance does not stand still")
            raise Malformed(said, visit.gettext("wait until it is stable, then take what it shows"))
        return Line("amount", visit.typed("taken"))
    text = visit.needed("amount", visit.gettext("Amount"))
    return Line("amount", f"{text} and empty" if visit.typed("emptied") else text)


def _beside(visit: "Visit", what: str, state: "PourState") -> Line:
    amount = visit.needed("amount", visit.gettext("Amount"))
    if what != "lost":
        return Line(what, f"{what} {amount}")
    word, of = visit.typed("lost"), visit.typed("of")
    if word not in _LOSSES:
        raise _unheard(visit)
    if of and of != state.hand.glass:
        raise Malformed(visit.gettext("another glass is in hand by now"), visit.gettext("open the page again"))
    return Line(what, f"{of} {word} {amount}" if of else f"{word} {amount}")
