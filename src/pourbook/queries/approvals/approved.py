"""How an approval stands: what counts for a batch or a lot, and whether it still rests on what the book says.

What happened after an approval changes nothing of it: it is of what was there. A later correction of what happened
before may; then its grounds are worked out again as of its moment, and those with another figure are named.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.approvals import Covering, covering, recorded_about_before
from pourbook.book.entries import Ground
from pourbook.errors import PourbookError
from pourbook.queries.approvals.approval import approval

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.journal import Logged

__all__ = ["Approved", "ChangedGround", "approved", "frozen_grounds"]

_LIMITS = frozenset(("low", "high", "unit"))
"""Figures that come from rules and bounds, which may change without any figure of the liquid."""


class ChangedGround(NamedTuple):
    """A ground of an approval that would be another now: name and what it is about, its figures then and now."""

    name: str
    about: str
    then: Mapping[str, str]
    now: Mapping[str, str]


class Approved(NamedTuple):
    """What counts for a batch or a lot.

    Attributes:
        covering: approved, rejected, lapsed or not approved; by which entry, and of which item.
        who: who said so; empty where nobody did.
        happened_us: when; None where nobody did.
        reason: of the entry; may be empty.
        grounds: that it rested on.
        changed: those that would be others now.
    """

    covering: Covering
    who: str = ""
    happened_us: int | None = None
    reason: str = ""
    grounds: tuple[Ground, ...] = ()
    changed: tuple[ChangedGround, ...] = ()


def approved(book: "BookCore", item: str, at_us: int | None = None) -> Approved:
    """What counts for a batch or a lot, now or at a moment.

    Raises:
        Unknown: no such item.
    """
    found = covering(book.store, book.find(item), at_us)
    if found.entry is None:
        return Approved(found)
    told = found.entry.entry
    grounds = frozen_grounds(told["body"])
    return Approved(
        found,
        told["who"],
        found.entry.happened_us,
        told.get("reason", ""),
        grounds,
        _changed(book, found.entry, grounds),
    )


def frozen_grounds(body: Mapping[str, Any]) -> tuple[Ground, ...]:
    """The grounds of an approval as its entry keeps them."""
    return tuple(Ground(one["name"], one["about"], one["stands"], one.get("figures", {})) for one in body["grounds"])


def _changed(book: "BookCore", entry: "Logged", grounds: tuple[Ground, ...]) -> tuple[ChangedGround, ...]:
    if not recorded_about_before(book.store, entry.number, entry.happened_us):
        return ()
    body = entry.entry["body"]
    claims = {one.about: one.figures.get("claim", "") for one in grounds if one.name == "statement"}
    try:
        now = approval(book, body["item"], body.get("beside", ""), claims, body.get("rules", ""), entry.happened_us)
    except PourbookError:
        return tuple(
            ChangedGround(one.name, one.about, _found(one), {}) for one in grounds
        )  # nothing is there any more
    then, now_by = ({(one.name, one.about): _found(one) for one in of} for of in (grounds, now.grounds))
    return tuple(
        ChangedGround(*key, then.get(key, {}), now_by.get(key, {}))
        for key in dict.fromkeys((*then, *now_by)) if then.get(key) != now_by.get(key)
    )  # fmt: skip


def _found(ground: Ground) -> Mapping[str, str]:
    """What was found, without the limits it was held to and its unit; a hold or a pending strength is there or not."""
    return {name: value for name, value in ground.figures.items() if name not in _LIMITS}
