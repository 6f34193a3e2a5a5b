"""What may stand on a label, as rules in data: those that are shipped, and a house's own.

The shipped ones stand in `label_rules.toml`, each with its source and whether that was read. A house writes rules of
its own as settings, so that its journal says which rule stood when: `label.RULES.STATEMENT.FIELD`, and
`label.RULES.based_on` for the set that says the rest. A shipped set is never changed; a set of another name is
written on it.

>>> found = rules_of("eu", {})
>>> found["strength"].tolerance_vol, found["strength"].checked, found["vintage"].source
(0.3, True, 'common practice, no source')
>>> own = {"label.harbour.based_on": "eu", "label.harbour.strength.tolerance_vol": "0.2"}
>>> [rules_of(name, own)["strength"].tolerance_vol for name in ("eu", "harbour")]
[0.3, 0.2]
"""

import re
import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from pourbook.errors import Malformed, Unknown
from pourbook.numerals import read_decimal

__all__ = [
    "LABEL",
    "NO_SOURCE",
    "STATEMENTS",
    "LabelRule",
    "check_setting",
    "names_of_rules",
    "read_claims",
    "rules_of",
]

LABEL = "label."
"""Begins every setting of a house's own rules."""

STATEMENTS = (
    "strength", "age", "vintage", "single-cask", "finish", "cask-strength", "no-colouring", "not-chill-filtered",
    "net-contents", "allergens", "distilled-by", "kinds", "lot-mark",
)  # fmt: skip
"""What a label may say, in the order it is told."""

NO_SOURCE = "common practice, no source"
"""The source of a rule that is the trade's alone."""

UNITS = ("years", "months")
"""In which an age may be stated."""

_IN_NUMBERS = ("strength", "age", "vintage", "net-contents")
_BASE = "common"
_BASED_ON = "based_on"
_NUMBERS = ("tolerance_vol", "decimals", "from_ml", "to_ml")
_LISTS = ("sizes_ml", "wood")
_TRUTHS = ("checked", "at_60f")
_TEXTS = ("text", "source", "read", "unit")
_FIELDS = (*_TEXTS, *_TRUTHS, *_NUMBERS, *_LISTS)


class LabelRule(NamedTuple):
    """What one statement of a label is held to.

    Attributes:
        rules: name of the set that was asked for.
        statement: one of `STATEMENTS`.
        text: what it says.
        source: where it stands.
        checked: whether that was read.
        read: how far, or where.
        tolerance_vol: how far a declared strength may be off, ± % vol; None where nothing is said, as below.
        decimals: of a declared strength, at most.
        at_60f: whether a strength is that at 60 °F, not at 20 °C.
        unit: in which an age is stated, one of `UNITS`.
        wood: rules on which wood counts (`lineage.age_rules`) of which the house's must be one; empty for any, or none.
        sizes_ml: contents of a bottle that are allowed; empty for any.
        from_ml: smaller bottles are free.
        to_ml: larger ones are.
    """

    rules: str
    statement: str
    text: str
    source: str
    checked: bool = False
    read: str = ""
    tolerance_vol: float | None = None
    decimals: int | None = None
    at_60f: bool = False
    unit: str = "years"
    wood: tuple[str, ...] = ()
    sizes_ml: tuple[float, ...] = ()
    from_ml: float | None = None
    to_ml: float | None = None


def names_of_rules(settings: Mapping[str, str]) -> tuple[str, ...]:
    """Every set of rules that may be asked for: those that are shipped, and the house's own."""
    set_here = (name.removeprefix(LABEL) for name, value in settings.items() if name.startswith(LABEL) and value)
    own = (name.partition(".")[0] for name in set_here)
    return tuple(dict.fromkeys((*(name for name in _shipped() if name != _BASE), *own)))


def rules_of(name: str, settings: Mapping[str, str]) -> dict[str, LabelRule]:
    """The rules of a set by statement.

    Raises:
        Unknown: there is no such set.
        Malformed: sets of the house are based on each other in a ring.
    """
    tables = _tables(name, settings, ())
    return {
        one: LabelRule(name, one, **{field: _kept(value) for field, value in tables[one].items()}) for one in STATEMENTS
    }


def _tables(name: str, settings: Mapping[str, str], passed: tuple[str, ...]) -> dict[str, dict[str, Any]]:
    """Statement to the fields of its rule, those of the set it is based on below its own."""
    if name in passed:
        raise Malformed(f"rules '{name}' are based on themselves", f"set {LABEL}{name}.{_BASED_ON} to eu, us or uk")
    shipped = _shipped().get(name)
    if shipped is None and name not in names_of_rules(settings):
        raise Unknown(f"there are no label rules '{name}'", f"choose from: {', '.join(names_of_rules(settings))}")
    own = dict(shipped) if shipped is not None else _own(name, settings)
    below = own.pop(_BASED_ON, "" if name == _BASE else _BASE)
    found = _tables(str(below), settings, (*passed, name)) if below else {}
    return found | {one: {**(found.get(one, {}) if shipped is None else {}), **fields} for one, fields in own.items()}


def _own(name: str, settings: Mapping[str, str]) -> dict[str, Any]:
    """The house's own rules of a set. What it does not say of a source is that nobody has checked it."""
    found: dict[str, Any] = {}
    start = f"{LABEL}{name}."
    for setting, value in settings.items():
        if not setting.startswith(start) or not value:
            continue
        statement, _, field = setting.removeprefix(start).partition(".")
        if not field:
            found[_BASED_ON] = value
            continue
        rule = found.setdefault(statement, {"source": "a rule of the house", "checked": False, "read": ""})
        rule[field] = _read(field, value)
    return found


def _read(field: str, value: str) -> Any:  # noqa: ANN401 (each field has a form of its own)
    if field in _TRUTHS:
        return value == "yes"
    if field == "decimals":
        return int(value)
    if field in _NUMBERS:
        return float(read_decimal(value))
    if field == "sizes_ml":
        return tuple(float(read_decimal(one)) for one in value.split())
    return tuple(value.split()) if field in _LISTS else value


def _kept(value: Any) -> Any:  # noqa: ANN401 (likewise)
    return tuple(value) if isinstance(value, list) else value


def check_setting(name: str, value: str) -> None:
    """Refuse a setting that is no rule: `label.RULES.STATEMENT.FIELD`, or `label.RULES.based_on`.

    >>> check_setting("label.harbour.net-contents.sizes_ml", "500 700")
    >>> check_setting("label.eu.strength.tolerance_vol", "1")
    Traceback (most recent call last):
        ...
    pourbook.errors.Malformed: 'label.eu.strength.tolerance_vol' would change a shipped rule
    """
    match = re.fullmatch(r"label\.([a-z][a-z0-9-]{0,39})\.(?:(based_on)|([a-z-]+)\.([a-z0-9_]+))", name)
    if match is None or (match[3] and (match[3] not in STATEMENTS or match[4] not in _FIELDS)):
        raise Malformed(
            f"'{name}' is no rule of labels",
            f"write it like label.harbour.strength.tolerance_vol; statements: {', '.join(STATEMENTS)};"
            f" fields: {', '.join(_FIELDS)}",
        )
    if match[1] in _shipped():
        raise Malformed(
            f"'{name}' would change a shipped rule", f"give a set of your own another name, and base it on {match[1]}"
        )
    if value and match[4]:
        _check_value(name, match[4], value)


def _check_value(name: str, field: str, value: str) -> None:
    try:
        read = _read(field, value)
    except (Malformed, ValueError):
        read = None
    choices = {**dict.fromkeys(_TRUTHS, ("yes", "no")), "unit": UNITS}
    if (
        read is None
        or value not in choices.get(field, (value,))
        or (field in (*_NUMBERS, "sizes_ml") and not _is_positive(field, read))
    ):
        forms = {**dict.fromkeys(_TRUTHS, "yes or no"), "unit": " or ".join(UNITS), "sizes_ml": "millilitres: 500 700"}
        raise Malformed(f"setting {name} cannot be '{value}'", f"give {forms.get(field, 'a number above zero')}")


def _is_positive(field: str, read: Any) -> bool:  # noqa: ANN401 (a number, or several)
    return all(one > 0 for one in (read if field == "sizes_ml" else (read,))) or (field == "decimals" and read == 0)


def read_claims(text: str) -> dict[str, str]:
    """What a label is to say, parted by semicolons: statement to what it says, which may be empty.

    >>> read_claims("age 12; single cask; distilled-by Ostrewick")
    {'age': '12', 'single-cask': '', 'distilled-by': 'Ostrewick'}

    Raises:
        Malformed: a part begins with no statement, says no number where one is needed, or what another said otherwise.
    """
    found: dict[str, str] = {}
    for part in filter(None, (piece.strip() for piece in text.split(";"))):
        words = part.lower().replace("-", " ").split()
        name = next((one for one in STATEMENTS if words[: one.count("-") + 1] == one.split("-")), None)
        if name is None:
            raise Malformed(f"'{part}' is no statement of a label", f"begin with one of: {', '.join(STATEMENTS)}")
        value = part[len(name) :].strip()
        if value and name in _IN_NUMBERS and not value[0].isdecimal():
            raise Malformed(f"'{part}' on a label is no number", "write it like: age 12; net contents 700")
        if found.get(name, value) != value:
            raise Malformed(f"{name} stands twice: '{found[name]}' and '{value}'", "say it once")
        found[name] = value
    return found


@cache
def _shipped() -> Mapping[str, Mapping[str, Any]]:
    return tomllib.loads((Path(__file__).parent / "label_rules.toml").read_text("utf-8"))
