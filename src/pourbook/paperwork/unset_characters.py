"""What a paper or a label could not set as it was written, and where it stands in the book.

>>> from pourbook.papers.dossier.dossier_rows import Remark
>>> from pourbook.papers.endpoints import Named
>>> unset_on([Remark(7, "", "note", Named("C-000001-H", ""), "good 🥃", "M. Aldane")])
('entry 7 has 🥃 (U+1F943), which no typeface of ours sets: a square stands for it',)
"""

from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from pourbook.typefaces import MARK, unset

__all__ = ["unset_on"]


def unset_on(*values: object) -> tuple[str, ...]:
    """A sentence for each entry or item with characters that the values of a paper, or of labels, show as a square."""
    found: dict[str, dict[str, None]] = {}
    for place, text in _texts(values, "the paper"):
        if unset(text):
            found.setdefault(place, {}).update(dict.fromkeys(unset(text)))
    return tuple(
        f"{place} has {', '.join(characters)}, which no typeface of ours sets: a square stands for it"
        for place, characters in found.items()
    )


def _texts(value: object, place: str) -> Iterator[tuple[str, str]]:
    """Every text in nested values, with the entry or the item whose it is."""
    if isinstance(value, str):
        if not value.isascii() and value != MARK:
            yield place, value
        return
    if is_dataclass(value):
        parts: dict[Any, Any] = {field.name: getattr(value, field.name) for field in fields(value)}
    elif isinstance(value, tuple) and hasattr(value, "_asdict"):
        parts = value._asdict()
    elif isinstance(value, tuple | list):
        parts = dict(enumerate(value))
    else:
        return
    entry, item = parts.get("entry"), parts.get("id")
    inner = f"entry {entry}" if entry and isinstance(entry, int) else item if item and isinstance(item, str) else place
    for part in parts.values():
        yield from _texts(part, inner)
