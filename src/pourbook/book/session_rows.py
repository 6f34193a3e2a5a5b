"""What sessions and their reveals say in one line, and the rows they add."""

from collections.abc import Iterator, Mapping
from typing import Any

from pourbook.codes.identifiers import key_of
from pourbook.numerals import counted
from pourbook.texts import lookup_form

__all__ = ["reveal_rows", "reveal_words", "session_rows", "session_words"]

_Statement = tuple[str, tuple[Any, ...]]
_MENTION = "INSERT INTO mention (item, entry) VALUES (?, ?)"


def session_words(body: Mapping[str, Any], _mark: str) -> str:
    """Its name, purpose and size; never a code."""
    purpose = f"{body['test']} test" if "test" in body else f"to {body['purpose']}"
    glasses, who = counted(body["glasses_each"], "glass", "glasses"), counted(len(body["assessors"]), "assessor")
    return f"session {body['name']}: {purpose}, {glasses} for each of {who}; codes sealed"


def reveal_words(body: Mapping[str, Any], _mark: str) -> str:
    """The session; its codes stand in the entry."""
    return f"reveal of session {body['session']}: its codes are open"


def session_rows(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[_Statement]:
    """The session by name, and the items that it mentions."""
    row = (body["name"], number, lookup_form(body["name"]), 0)
    yield "INSERT INTO session (name, entry, lookup, revealed) VALUES (?, ?, ?, ?)", row
    for identifier in body["items"]:
        yield _MENTION, (key_of(identifier), number)


def reveal_rows(body: Mapping[str, Any], number: int, _happened: int, _place: int) -> Iterator[_Statement]:
    """The session is closed, and its blind notes are of their items."""
    name = body["session"]
    yield "UPDATE session SET revealed = ? WHERE name = ?", (number, name)
    items = set()
    for flight in body["flights"]:
        for glass in flight["glasses"]:
            items.add(key_of(glass["item"]))
            found = (key_of(glass["item"]), name, glass["code"])
            yield "UPDATE tasting SET item = ? WHERE session = ? AND code = ?", found
    for key in sorted(items):
        yield _MENTION, (key, number)
