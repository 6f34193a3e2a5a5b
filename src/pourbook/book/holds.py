"""Who holds an item: open recalls, or the last hold by hand."""

from collections.abc import Set
from typing import NamedTuple

from pourbook.book.journal import Logged
from pourbook.book.search import in_force, mentioning
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, of_key

__all__ = ["Holders", "held_by", "held_now", "held_together", "holders"]


class Holders(NamedTuple):
    """What holds an item now: the latest open recall (0 for none), and whether a person's hold does."""

    recall: int
    by_hand: bool


def holders(store: Store, key: int) -> Holders:
    """What holds an item now; a hold that a person ended ends those of recalls, too."""
    holds = mentioning(store, [key], "hold").get(key, [])
    by_hand = [one for one in holds if "recall" not in one.entry["body"]][-1:]
    released = {one.entry["body"]["recall"] for one in in_force(store, "release")}
    recalls = [
        (one.number, one.number)
        for one in mentioning(store, [key], "recall").get(key, [])
        if of_key(key) in one.entry["body"]["held"]
    ]
    recalls += [(one.number, one.entry["body"]["recall"]) for one in holds if "recall" in one.entry["body"]]
    is_held = bool(by_hand) and bool(by_hand[0].entry["body"]["held"])
    since = 0 if is_held or not by_hand else by_hand[0].number
    return Holders(
        max((recall for number, recall in recalls if number > since and recall not in released), default=0), is_held
    )


def held_by(store: Store, recall: Logged) -> list[str]:
    """Identifiers of what a recall put on hold, and of what was poured from it since and is held with it."""
    since = in_force(store, "hold", containing=f'"recall":{recall.number}')
    with_it = [one.entry["body"]["item"] for one in since if one.entry["body"].get("recall") == recall.number]
    return list(dict.fromkeys((*recall.entry["body"]["held"], *with_it)))


def held_now(store: Store) -> set[int]:
    """Everything on hold, by key."""
    rows = store.query(
        "SELECT DISTINCT item FROM fact AS held WHERE name = 'held' AND (SELECT value FROM fact WHERE item = held.item"
        " AND name = 'held' ORDER BY happened DESC, place DESC LIMIT 1) <> ''"
    )
    return {key for (key,) in rows}


def held_together(store: Store, held: Set[int]) -> list[tuple[Logged, list[str]]]:
    """Open recalls, each with what it holds of `held` (keys)."""
    if not held:
        return []
    released = {one.entry["body"]["recall"] for one in in_force(store, "release")}
    recalls = ((one, held_by(store, one)) for one in in_force(store, "recall") if one.number not in released)
    return [(one, found) for one, items in recalls if (found := [item for item in items if key_of(item) in held])]
