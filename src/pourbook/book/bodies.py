"""The body of an entry in the journal, from its fields: one rule for every kind that moves no liquid.

An item stands under `item`, several under `items`; a moment as text under its name without `_us`; defaults
are left out.

>>> from pourbook.book.entries import Hold, Recipe, RecipePart
>>> told(Recipe("Orchard", (RecipePart("C000001H", "93", "base"),)))
{'name': 'Orchard', 'parts': [{'component': 'C000001H', 'parts': '93', 'role': 'base'}]}
>>> told(Hold("C000001H", held=False))
{'item': 'C000001H', 'held': 0}
"""

from collections.abc import Mapping
from typing import Any

from pourbook.times import written

__all__ = ["fields", "told"]

_NAMES = {"id": "item", "ids": "items"}


def told(entry: tuple[Any, ...]) -> dict[str, Any]:
    """The body of an entry, from the fields of its NamedTuple; `TypeError` for what the journal cannot hold."""
    return {_NAMES.get(name, name): value for name, value in fields(entry).items()}


def fields(value: tuple[Any, ...]) -> dict[str, Any]:
    """The fields of a NamedTuple as the journal keeps them, without defaults."""
    defaults: Mapping[str, Any] = value._field_defaults  # type: ignore[attr-defined]
    return {
        name.removesuffix("_us"): written(field) if name.endswith("_us") else _plain(field)
        for name, field in value._asdict().items()  # type: ignore[attr-defined]
        if not (name in defaults and field == defaults[name])
    }


def _plain(value: object) -> object:
    if isinstance(value, bool):
        return int(value)
    if isinstance(value, tuple):
        return fields(value) if hasattr(value, "_fields") else [_plain(one) for one in value]
    if isinstance(value, Mapping):
        return {name: _plain(inner) for name, inner in value.items()}
    if isinstance(value, int | str):
        return value
    raise TypeError(f"{value!r} is neither a whole number nor text")
