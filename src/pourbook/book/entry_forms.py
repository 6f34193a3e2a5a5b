"""The form of an entry as recording writes it, for entries that came from elsewhere.

It is read off the vocabulary (`entries.py`): the fields of a kind are the members of its body, as `journal.told`
writes them. Pours and gauges, whose amounts are frozen as they are recorded, have their tables here. Whether what an
entry says was so, or was allowed, is not asked; a verb is the trade's word, and may be any.

>>> hold = {"kind": "hold", "number": 12, "happened": "2026-05-01T00:00:00Z", "recorded": "2026-05-01T00:00:00Z",
...     "who": "M. Aldane", "body": {"item": "C000001H", "held": 1}}
>>> misshapen(hold), misshapen(hold | {"body": {"item": "C000001H", "held": "yes"}})
('', "'body.held' is neither 0 nor 1")
>>> misshapen(hold | {"kind": "holt"})
"'kind' is none that pourbook knows"
"""

import re
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from types import NoneType
from typing import Any, NamedTuple, get_args, get_origin, get_type_hints

from pourbook.book.entries import SOURCES, TARGETS, Gauge, Key, Pour
from pourbook.book.fold import LINES, PPB
from pourbook.book.journal import NAMES_IN_BODIES
from pourbook.book.key_entries import ENDS, SECOND_SIGNATURE
from pourbook.book.kinds import KIND_OF_NAME
from pourbook.book.liquid_rules import checked_amounts
from pourbook.book.site_numbers import FIRST_OF_GROUPS
from pourbook.codes.identifiers import LIQUID_KINDS, kind_of, read_or_none
from pourbook.errors import OutOfRange
from pourbook.gauging.recorded_values import UsedInstrument
from pourbook.liquid import MOST_MG
from pourbook.times import moment_of, written

__all__ = ["misshapen"]


class _Wrong(NamedTuple):
    """What is wrong, and where in the value."""

    at: str
    problem: str


_Form = Callable[[Any], _Wrong | None]
"""Says what is wrong with a value; None for nothing."""


def misshapen(entry: Mapping[str, Any]) -> str:
    """What is wrong with the form of an entry; empty where it is as recording writes it."""
    kind = entry.get("kind")
    if not isinstance(kind, str) or kind not in KIND_OF_NAME:
        return "'kind' is none that pourbook knows"
    wrong = _of_kind(kind)(entry)
    return "" if wrong is None else f"'{wrong.at[1:]}' {wrong.problem}"


# -- single values -------------------------------------------------------------------------


def _text(value: object) -> _Wrong | None:
    if type(value) is not str:
        return _Wrong("", "is not text")
    return _Wrong("", "has the character U+0000, which no table keeps") if "\0" in value else None


def _somebody(value: object) -> _Wrong | None:
    return _text(value) or (None if str(value).strip() else _Wrong("", "names nobody"))


def _number(value: object) -> _Wrong | None:
    if type(value) is not int:
        return _Wrong("", "is not a whole number")
    return None if -MOST_MG < value < MOST_MG else _Wrong("", "is too large a number")


def _count(value: object) -> _Wrong | None:
    return _number(value) or (_Wrong("", "is below zero") if value < 0 else None)  # type: ignore[operator]


def _fraction(value: object) -> _Wrong | None:
    return _count(value) or (_Wrong("", "is more than the whole") if value > PPB else None)  # type: ignore[operator]


def _mark(value: object) -> _Wrong | None:
    return None if type(value) is int and value in (0, 1) else _Wrong("", "is neither 0 nor 1")


def _value(value: object) -> _Wrong | None:
    """A fact."""
    return _number(value) if type(value) is int else _text(value)


def _digits(value: object) -> _Wrong | None:
    """A fact that is a whole number, also as text."""
    if type(value) is str and value.isascii() and value.isdecimal():
        return _count(int(value))
    return _count(value)


@lru_cache(maxsize=4096)
def _is_moment(text: str) -> bool:
    try:
        return written(moment_of(text)) == text
    except (ValueError, TypeError, OverflowError):
        return False


def _moment(value: object) -> _Wrong | None:
    if type(value) is str and _is_moment(value):
        return None
    return _Wrong("", "is not a moment as the journal writes it")


@lru_cache(maxsize=4096)
def _is_of_a_site(text: str) -> bool:
    return read_or_none(text) == text and int(text[1:-1]) < FIRST_OF_GROUPS


def _identifier(value: object) -> _Wrong | None:
    return None if type(value) is str and _is_of_a_site(value) else _Wrong("", "is not an identifier that a site gives")


def _vessel(value: object) -> _Wrong | None:
    """What holds liquid."""
    wrong = _identifier(value)
    return wrong or (None if kind_of(str(value)) in LIQUID_KINDS else _Wrong("", "holds no liquid"))


def _end(words: tuple[str, ...]) -> _Form:
    """An end of a line: what holds liquid, or one of these words for outside."""
    return lambda value: None if type(value) is str and value in words else _vessel(value)


# -- values of several parts ---------------------------------------------------------------


def _listed(inner: _Form) -> _Form:
    def form(value: object) -> _Wrong | None:
        if type(value) is not list:
            return _Wrong("", "is not a list")
        found = ((place, wrong) for place, one in enumerate(value) if (wrong := inner(one)))
        return next((_Wrong(f"[{place}]{wrong.at}", wrong.problem) for place, wrong in found), None)

    return form


def _each(inner: _Form) -> _Form:
    """A value under each of any names."""
    return _members({}, {}, inner)


def _members(needed: Mapping[str, _Form], allowed: Mapping[str, _Form], others: _Form | None = None) -> _Form:
    every = {**needed, **allowed}

    def form(value: object) -> _Wrong | None:
        if type(value) is not dict:
            return _Wrong("", "is not a set of named values")
        for name, one in value.items():
            inner = every.get(name, others)
            if inner is None or "\0" in name:
                return _Wrong(f".{name}", "has no place there")
            if wrong := inner(one):
                return _Wrong(f".{name}{wrong.at}", wrong.problem)
        return next((_Wrong(f".{name}", "is missing") for name in needed if name not in value), None)

    return form


# -- as the vocabulary has them ------------------------------------------------------------

_SIMPLE: Mapping[object, _Form] = {str: _text, int: _count, bool: _mark, str | int: _value}
_NAMING_ITEMS = ("held", "item", "items")
"""Members whose texts are identifiers."""


def _of_fields(entry: type[Any], names: Mapping[str, str] = {}, allowed: Mapping[str, _Form] = {}) -> _Form:
    """The members that the fields of a NamedTuple become, under other names where these are given."""
    forms = {
        names.get(name, name).removesuffix("_us"): (
            _of_hint(hint, names.get(name, name)),
            name in entry._field_defaults,
        )
        for name, hint in get_type_hints(entry).items()
    }
    needed = {name: form for name, (form, may_lack) in forms.items() if not may_lack}
    return _members(needed, {**{name: form for name, (form, may_lack) in forms.items() if may_lack}, **allowed})


def _of_hint(hint: Any, name: str) -> _Form:  # noqa: ANN401 (whatever a field may be)
    hints = [one for one in get_args(hint) if one is not NoneType]
    if name.endswith("_us"):
        return _moment
    if NoneType in get_args(hint):
        return _of_hint(hints[0], name)
    if get_origin(hint) is tuple:
        return _listed(_of_hint(hints[0], name))
    if get_origin(hint) is Mapping:
        return _each(_number if hints[1] is int else _of_hint(hints[1], ""))
    if hint is str and name in _NAMING_ITEMS:
        return _identifier
    return _SIMPLE.get(hint) or _of_fields(hint)


_WITH_ANY: Mapping[str, _Form] = {
    "confirmed": _listed(_members({"rule": _text}, {}, _value)),
    "second": _text, "second_account": _mark, "second_key": _text, SECOND_SIGNATURE: _text,
}  # fmt: skip
"""What was confirmed, and who agreed, stands in bodies of every kind."""

_READ: Mapping[str, _Form] = {
    "typed": _each(_text), "facts": _each(_value), "mass": _count, "extract": _count, "book_fraction": _fraction,
}  # fmt: skip

_LINE = _members(
    {"from": _end(SOURCES), "to": _end(TARGETS)},
    {
        **_READ, "ethanol": _count, "in": _count, "tolerance": _count, "recall": _count, "all": _mark, "own": _mark,
        "beyond": _mark, "pending": _mark, "how": _text, "confirmed": _WITH_ANY["confirmed"],
        "facts": _members({}, {"bottles": _digits, "wood_days": _digits}, _value),
    },
)  # fmt: skip

_GAUGE = _members(
    {"item": _vessel},
    {
        **_READ, **_WITH_ANY, "extract": _fraction, "fraction": _fraction, "ratio": _count, "density": _count,
        "book_density": _count, "reading": _each(_each(_text)), "provisional": _text, "taken_as_exact": _listed(_text),
        "instruments": _listed(_of_fields(UsedInstrument)),
        "uncertainty": _each(_members({"value": _text, "standard": _text}, {})),
    },
)  # fmt: skip


def _line(value: Any) -> _Wrong | None:  # noqa: ANN401 (whatever JSON can hold)
    if wrong := _LINE(value):
        return wrong
    if value["from"] in SOURCES:
        needed: tuple[str, ...] = ("mass", "ethanol")
    else:
        needed = ("mass",) if "ethanol" in value or "all" not in value else ()
    if value["from"] == value["to"] or (value["from"] in SOURCES and value["to"] in TARGETS):
        return _Wrong("", "leads nowhere")
    return _lacking(value, needed) or _of_amounts(value, least_mg=1)


_POUR = _members({"verb": _text, "lines": _listed(_line)}, _WITH_ANY)


def _pour(value: Any) -> _Wrong | None:  # noqa: ANN401
    return _POUR(value) or (None if 0 < len(value["lines"]) <= LINES else _Wrong(".lines", "are none, or too many"))


def _gauge(value: Any) -> _Wrong | None:  # noqa: ANN401
    if wrong := _GAUGE(value):
        return wrong
    needed: tuple[str, ...] = ("mass",)
    if "extract" in value:
        needed = ("fraction",) if "mass" in value else ("fraction", "ratio")
    elif "fraction" in value:
        needed = () if "mass" in value else ("density", "book_density")
    if not value.get("book_density", 1):
        return _Wrong(".book_density", "is no density")
    return _lacking(value, needed) or _of_amounts(value, least_mg=0)


_KEY = _of_fields(Key, {}, _WITH_ANY)


def _key(value: Any) -> _Wrong | None:  # noqa: ANN401
    if wrong := _KEY(value):
        return wrong
    if "ended" in value:
        return None if value["ended"] in ENDS else _Wrong(".ended", "is no way in which a key ends")
    is_key = re.fullmatch("[0-9a-f]{64}", value.get("public", ""))
    return _lacking(value, ("holder",)) or (None if is_key else _Wrong(".public", "is no public key"))


def _lacking(value: Mapping[str, Any], needed: tuple[str, ...]) -> _Wrong | None:
    return next((_Wrong(f".{name}", "is missing") for name in needed if name not in value), None)


def _of_amounts(value: Mapping[str, Any], *, least_mg: int) -> _Wrong | None:
    try:
        checked_amounts(value, least_mg=least_mg)
    except OutOfRange:
        return _Wrong("", "has amounts that cannot be")
    return None


@cache
def _of_kind(kind: str) -> _Form:
    entry = KIND_OF_NAME[kind].entry
    body = {Pour: _pour, Gauge: _gauge, Key: _key}.get(entry) or _of_fields(entry, NAMES_IN_BODIES, _WITH_ANY)
    return _members(
        {"body": body, "happened": _moment, "kind": _text, "number": _count, "recorded": _moment, "who": _somebody},
        {"reason": _text, "where": _text, "login": _text, "replaces": _count},
    )
