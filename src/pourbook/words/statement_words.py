"""Statements of a label in words: what each says, what it rests on, what is against it, and the rule behind it.

>>> from pourbook.labels.label_rules import rules_of
>>> from pourbook.labels.statements import Point
>>> found = Point("younger", "11", "C000002F", 5), Point("younger", "9", "C000003D", 7)
>>> points_words(found, {"C000002F": "Q 31"}, ".")
('younger: C-000002-F · Q 31: 11 (entry 5); C-000003-D: 9 (entry 7)',)
>>> from pourbook.labels.statements import Statement
>>> statement_words(Statement("strength", "allowed", 46.4, rules_of("uk", {})["strength"], "46.4"), ".")
'strength 46.4 % vol'
>>> rule_words(rules_of("uk", {})["lot-mark"])
'what is sold bears a mark of its lot (SI 1996/1502; UNVERIFIED)'
"""

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from pourbook.labels.label_rules import NO_SOURCE
from pourbook.numerals import shown, with_mark
from pourbook.queries.items.called import at_sight

if TYPE_CHECKING:
    from pourbook.labels.label_rules import LabelRule
    from pourbook.labels.statements import Point, Statement

__all__ = ["CHECK", "POINTS", "points_words", "rule_words", "statement_words", "value_words"]

CHECK = "check with your authority before a label is printed; a rule marked UNVERIFIED was not read in its source"
"""Stands beside statements wherever they are told."""

_MOST = 4
"""So many points of one name are told in a line; a program gets all."""

POINTS = {
    "no strength declared": ("no strength is declared: give --strength", ""),
    "strength by the book": ("by the book", "{value} % vol"),
    "uncertainty": ("standard uncertainty of its gauge", "{value} % vol"),
    "tolerance": ("tolerance", "± {value} % vol"),
    "probability": ("probability to be within it", "{value}"),
    "strength pending": ("strength pending of what went into", "{item}"),
    "too many decimals": ("decimals allowed", "{value}"),
    "holds nothing": ("holds nothing", "{item}"),
    "outside the tolerance": ("the label is off by", "{value} % vol"),
    "no gauge with a known uncertainty": ("no gauge with a known uncertainty of", "{item}"),
    "too near the end of the tolerance": ("too near the end of the tolerance: probability to be within it", "{value}"),
    "time in wood unknown": ("time in wood not recorded of what went into", "{item}"),
    "nothing poured in": ("no spirit was poured into", "{item}"),
    "no age rule": ("the house does not count wood by one of the rules", "{value}: pourbook settings --set age_rule=…"),
    "age rule": ("wood counts by the rule", "{value}"),
    "every wood counts": ("time in every cask counts: the house has no rule on wood (age_rule)", ""),
    "younger": ("younger", "{item}: {value}"),
    "youngest": ("the youngest", "{value}, into {item}"),
    "no day of distillation": ("distillation not recorded of what went into", "{item}"),
    "distilled in": ("distilled", "{value}, into {item}"),
    "cask": ("last in", "{item}"),
    "out of several": ("also out of", "{item}"),
    "lay in no cask": ("no cask behind", "{item}"),
    "in its first wood": ("in its first wood until the end", "{item}"),
    "no wood recorded": ("no wood recorded of", "{item}"),
    "of other wood": ("other wood", "{item}: {value}"),
    "lay there": ("days there", "{value} in {item}"),
    "water": ("water into", "{item}"),
    "no water recorded": ("no water recorded on the way to", "{item}"),
    "added": ("added", "{value} to {item}"),
    "stated": ("stated", "{value} of {item}"),
    "nobody stated": ("nobody stated it", "pourbook set {item} {value}"),
    "no size declared": ("no size of bottle is declared: give --size", ""),
    "free size": ("smaller or larger than", "{value} ml"),
    "among the sizes": ("among", "{value} ml"),
    "not among the sizes": ("not among", "{value} ml"),
    "recorded": ("recorded", "{value} of {item}"),
    "no distiller": ("distiller not recorded of what went into", "{item}"),
    "distiller": ("distilled by", "{value}, into {item}"),
    "no spirit recorded": ("spirit not recorded of what went into", "{item}"),
    "spirit": ("other spirit", "{value}, into {item}"),
    "part of the alcohol": ("parts of the pure alcohol", "{value}"),
    "not bottled yet": ("not bottled yet", "{item}"),
    "lot mark": ("marked", "{value}"),
    "no lot mark": ("no lot mark", "pourbook set {item} lot_mark=MARK"),
}
"""What each point is, and what is told of every one; `{value}` and `{item}` are its own."""

_FIGURES = frozenset((
    "strength by the book", "uncertainty", "tolerance", "probability", "outside the tolerance",
    "too near the end of the tolerance", "part of the alcohol", "among the sizes", "not among the sizes", "free size",
))  # fmt: skip
"""Points whose value is a figure of the program's, and has the house's decimal mark."""


_UNITS = {"strength": " % vol", "net-contents": " ml"}
"""Of a claim that is a bare number."""


def statement_words(one: "Statement", mark: str) -> str:
    """A statement as the label is to say it; where it may say something else, that beside it."""
    value = value_words(one, mark)
    claim = f"{one.claim}{_UNITS.get(one.name, '')}" if one.claim and one.claim[-1].isdecimal() else one.claim
    said = " ".join(filter(None, (one.name.replace("-", " "), claim or value)))
    differs = one.claim and value and one.claim not in value and one.name != "strength"
    return f"{said} (the book: {value})" if differs else said


def value_words(one: "Statement", mark: str) -> str:
    """What a statement may say, with its unit; empty where it has no value."""
    if one.value == "":
        return ""
    if one.name == "strength":
        return f"{shown(float(one.value), 1 if _is_tenth(float(one.value)) else 2, mark)} % vol"
    if one.name == "age":
        unit = one.rule.unit if one.value != 1 else one.rule.unit.removesuffix("s")
        return f"{one.value} {unit}"
    if isinstance(one.value, float):
        return f"{one.value:g} ml".replace(".", mark)
    return str(one.value)


def _is_tenth(value: float) -> bool:
    return abs(value * 10 - round(value * 10)) < 1e-6


def points_words(points: "Sequence[Point]", called: Mapping[str, str], mark: str) -> tuple[str, ...]:
    """Points in sentences, those of one name as one, with the first few of them."""
    said = []
    for name, found in groupby(points, key=lambda point: point.name):
        of_name = tuple(dict.fromkeys(_told(one, called, mark) for one in found))
        more = [f"and {len(of_name) - _MOST} more"] if len(of_name) > _MOST else []
        told = "; ".join([*filter(None, of_name[:_MOST]), *more])
        said.append(f"{POINTS[name][0]}: {told}" if told else POINTS[name][0])
    return tuple(said)


def _told(point: "Point", called: Mapping[str, str], mark: str) -> str:
    form = POINTS[point.name][1]
    item = at_sight(point.item, "" if "pourbook " in form else called.get(point.item, "")) if point.item else ""
    value = with_mark(point.value, mark) if point.name in _FIGURES else point.value
    said = form.format(value=value, item=item)
    return f"{said} (entry {point.entry})" if point.entry else said


def rule_words(rule: "LabelRule") -> str:
    """What a rule says, where it stands, and whether that was read."""
    how_far = f"; read {rule.read}" if rule.read else ""
    verified = "" if rule.checked or rule.source == NO_SOURCE else "; UNVERIFIED"
    return f"{rule.text} ({rule.source}{verified}{how_far})"
