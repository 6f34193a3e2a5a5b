"""What stands in the journal of an entry that moves no liquid (pours and gauges are frozen elsewhere).

>>> from pourbook.book.entries import Close, Recipe, RecipePart
>>> _recipe("Orchard", (RecipePart("C000001H", "93", "base"),), "")
{'name': 'Orchard', 'parts': [{'component': 'C000001H', 'parts': '93', 'role': 'base'}]}
"""

from collections.abc import Iterable
from typing import Any

from pourbook.book.entries import (
    Close,
    Declared,
    Entry,
    Facts,
    Hold,
    House,
    Imported,
    Item,
    Note,
    Packed,
    Paper,
    Recall,
    Recipe,
    RecipePart,
    Release,
    Reserve,
    Void,
)
from pourbook.book.rules import Rules, check_facts
from pourbook.book.settings import checked
from pourbook.times import written

__all__ = ["plain_body"]


def plain_body(entry: Entry, rules: Rules) -> dict[str, Any]:
    """The body of an entry that moves no liquid, if the rules let it be.

    Raises:
        PourbookError: a rule of the book refuses.
    """
    match entry:
        case Item(identifier, facts):
            rules.check_opening(identifier, facts)
            return {"item": identifier, "facts": dict(facts)}
        case Facts(identifier, facts):
            rules.known_key(identifier)
            check_facts(facts)
            return {"item": identifier, "facts": dict(facts)}
        case Hold(identifier, held):
            rules.known_key(identifier)
            return {"item": identifier, "held": int(held)}
        case Note(identifier, text):
            rules.known_key(identifier)
            return {"item": identifier, "text": text}
        case Recipe(name, parts, revised_from):
            return _recipe(name, parts, revised_from)
        case Reserve(ids):
            rules.check_reservable(ids)
            return {"items": list(ids)}
        case Packed():
            rules.check_packed(entry)
            return _packed(entry)
        case Paper(paper, ids, facts):
            return {"paper": paper, "items": list(ids), "facts": dict(facts)}
        case Imported(files, items, pours):
            return {"files": dict(files), "items": items, "pours": pours}
        case House(settings):
            return {"settings": checked(settings)}
        case Close():
            rules.check_nothing_awaited()
            return {}
        case Declared(start_us, end_us, by, rule, lines):
            rules.check_declarable(end_us)
            figures = [{**line._asdict(), "group": list(line.group)} for line in lines]
            return {"from": written(start_us), "to": written(end_us), "by": list(by), "rule": rule, "lines": figures}
        case Recall():
            rules.check_recall(entry)
            return _recall(entry)
        case Release(recall, ids):
            rules.check_release(recall)
            return {"recall": recall, "items": list(ids)}
        case Void(number):
            return {"entry": number}
    raise TypeError(f"{entry!r} is no entry")


def _packed(entry: Packed) -> dict[str, Any]:
    body = {"item": entry.id, **entry._asdict(), "ssccs": list(entry.ssccs)}
    del body["id"]
    return body


def _recall(entry: Recall) -> dict[str, Any]:
    told = {"least_share": entry.least_share} if entry.least_share else {}
    return {
        "scope": [suspect.body for suspect in entry.scope],
        "drill": int(entry.drill),
        "begun": written(entry.begun_us),
        "ended": written(entry.ended_us),
        "head": entry.head,
        "figures": dict(entry.figures),
        "items": list(entry.items),
        "held": list(entry.held),
        **told,
    }


def _recipe(name: str, parts: Iterable[RecipePart], revised_from: str) -> dict[str, Any]:
    body: dict[str, Any] = {"name": name, "parts": [_part(part) for part in parts]}
    if revised_from:
        body["revised_from"] = revised_from
    return body


def _part(part: RecipePart) -> dict[str, str]:
    return {field: value for field, value in part._asdict().items() if value}
