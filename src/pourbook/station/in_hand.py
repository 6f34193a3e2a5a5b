"""What a task has in hand, as JSON and back: named tuples, numbers to the last digit, whatever is nested in them.

A station that starts again goes on in mid-task, so nothing may change on the way: a `Decimal` keeps its zeros, a tuple
stays one, and a value is of its own type again. Only types of this package are made from what was kept.

>>> from pourbook.actions.line_scanned import InHand
>>> hand = InHand(7, source="V000001R", gauged={9: (8,)}, balance_g=Decimal("182.40"))
>>> kept = as_json(hand)
>>> kept["fields"]["balance_g"], from_json(kept) == hand
({'decimal': '182.40'}, True)
"""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from importlib import import_module
from math import isfinite
from typing import Any

from pourbook.errors import Malformed

__all__ = ["as_json", "from_json"]

_OURS = "pourbook."
_NUMBERS: dict[str, type[Decimal] | type[Fraction] | type[float]] = {
    "decimal": Decimal, "fraction": Fraction, "float": float,
}  # fmt: skip


def as_json(value: Any) -> Any:  # noqa: ANN401 (whatever a task has in hand)
    """The value as JSON can hold it.

    Raises:
        TypeError: it holds something that is no value, such as an open book.
    """
    if value is None or isinstance(value, (bool, int, str)) or (type(value) is float and isfinite(value)):
        return value
    for name, number in _NUMBERS.items():
        if isinstance(value, number):
            return {name: str(value)}
    if names := _field_names(type(value)):
        own = type(value)
        kept = {name: as_json(getattr(value, name)) for name in names}
        return {"type": f"{own.__module__}:{own.__qualname__}", "fields": kept}
    if isinstance(value, Mapping):
        return {"mapping": [[as_json(key), as_json(one)] for key, one in value.items()]}
    for kind in (list, tuple, frozenset):
        if isinstance(value, kind):
            return {kind.__name__: [as_json(one) for one in value]}
    raise TypeError(f"a task cannot keep {type(value).__name__}")


def from_json(document: Any) -> Any:  # noqa: ANN401
    """The value again.

    Raises:
        Malformed: it was kept by another version, or by something else.
    """
    try:
        return _again(document)
    except (ArithmeticError, AttributeError, ImportError, LookupError, TypeError, ValueError) as error:
        message = "what was in hand cannot be read any more"
        raise Malformed(message, "begin the task again; what was recorded stays") from error


def _again(document: Any) -> Any:  # noqa: ANN401
    if not isinstance(document, dict):
        if isinstance(document, list):
            raise TypeError("a bare list")
        return document
    if "type" in document:
        return _type_named(document["type"])(**{name: _again(one) for name, one in document["fields"].items()})
    ((name, kept),) = document.items()
    if name in _NUMBERS:
        return _NUMBERS[name](kept)
    if name == "mapping":
        return {_again(key): _again(one) for key, one in kept}
    return {"list": list, "tuple": tuple, "frozenset": frozenset}[name](map(_again, kept))


def _type_named(name: str) -> type:
    module, _, own = name.partition(":")
    if not module.startswith(_OURS):
        raise TypeError(f"{module} is not ours")
    found = getattr(import_module(module), own)
    if not (isinstance(found, type) and _field_names(found)):
        raise TypeError(f"{own} is no value")
    return found


def _field_names(of: type) -> tuple[str, ...]:
    """Of a named tuple or a frozen dataclass; none of anything else."""
    if issubclass(of, tuple) and hasattr(of, "_fields"):
        return tuple(of._fields)
    if is_dataclass(of) and of.__dataclass_params__.frozen:  # type: ignore[attr-defined]
        return tuple(one.name for one in fields(of) if one.init)
    return ()
