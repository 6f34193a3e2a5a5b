"""What was found by a search, shown: a line each, with where the words stand."""

from typing import TYPE_CHECKING

from pourbook.documents.shown import Shown, fields, listed
from pourbook.queries.items.called import at_sight

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.queries.items.finding import Hit

__all__ = ["found_shown", "where_words"]

_LONGEST = 70


def found_shown(hits: "Sequence[Hit]", text: str) -> Shown:
    """The best first."""
    document = {
        "found": [
            {
                "kind": one.kind,
                "id": one.item or None,
                **fields(one, "kind", "item", "entry"),
                "entry": one.entry or None,
            }
            for one in hits
        ]
    }
    said = listed(
        hits,
        ("found", lambda one: at_sight(one.item, one.name) if one.item else f"{one.kind} {one.name}".rstrip()),
        ("where", where_words),
        ("what stands there", lambda one: one.text if len(one.text) <= _LONGEST else f"{one.text[: _LONGEST - 2]} …"),
    )
    return Shown(document, said if hits else (f"nothing is called '{text}' or says so",))


def where_words(hit: "Hit") -> str:
    """Where the words stand, as a person says it."""
    where = f"entry {hit.entry}, {hit.matched}" if hit.entry else hit.matched.replace("_", " ")
    return f"{where}, formerly" if hit.former else where
