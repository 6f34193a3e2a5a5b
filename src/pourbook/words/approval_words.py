"""Grounds of an approval in words: what each is about, what was found, and how an approval stands.

>>> from pourbook.book.entries import Ground
>>> ground = Ground("part", "rich", "not met", {"actual": "7.60", "low": "6.50", "high": "7.50", "trial": "7.00"})
>>> ground_name(ground, {}), found_words(ground, "."), within_words(ground, ".")
('part rich', '7.60 %', '6.50 to 7.50 %')
>>> told = {"method": "triangle", "answered": "30", "right": "9", "verdict": "alike", "p_alike": "0.0123"}
>>> found_words(Ground("test", "May", "met", told | {"power": "0.81"}), ".")
'triangle: 9 of 30 right, alike (p 0.0123, power 0.81)'
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened, is_identifier
from pourbook.numerals import with_mark
from pourbook.queries.items.called import at_sight

if TYPE_CHECKING:
    from pourbook.book.entries import Ground
    from pourbook.house_style import HouseStyle
    from pourbook.queries.approvals.approved import Approved, ChangedGround

__all__ = ["beside_words", "changed_words", "found_words", "ground_name", "standing_words", "within_words"]

_UNITS = {"part": " %", "strength": " % vol", "balance": " % of the LPA", "contents": " ml"}
_OF_A_TEST = (("p_alike", "p"), ("p_different", "p of a difference"), ("power", "power"))


def ground_name(ground: "Ground | ChangedGround", called: Mapping[str, str]) -> str:
    """What a ground is about."""
    about = ground.about
    if is_identifier(about):
        about = at_sight(about, called.get(about, ""))
    return " ".join(filter(None, (ground.name, about.replace("-", " ") if ground.name == "statement" else about)))


def found_words(ground: "Ground", mark: str) -> str:
    """What was found; empty where that it stands says all."""
    told, unit = ground.figures, _unit(ground)
    match ground.name:
        case "test":
            if "verdict" not in told:
                return f"{told['method']}: nobody answered"
            said = ", ".join(
                f"{word} {told[name]}" for name, word in _OF_A_TEST if name in told and not _is_spare(name, told)
            )
            return with_mark(
                f"{told['method']}: {told['right']} of {told['answered']} right, {told['verdict']} ({said})", mark
            )
        case "statement":
            asked, actual = told.get("claim", ""), told.get("actual", "")
            in_units = " ".join(filter(None, (actual, told.get("unit", ""))))
            differs = asked and actual and asked not in (actual, in_units)
            return f"{asked} (the book: {in_units})" if differs else in_units or asked
        case "contents":
            return with_mark(f"{told['actual']} ml, mean of {told['measured']}, {told['defective']} short", mark)
        case "hold" | "pending":
            return f"entry {told['entry']}" if told else "" if ground.about else "none"
        case "attribute":
            band = f" ± {told['band']}" if "band" in told else ""
            by = f", apart {told['apart']}{band} by {told['tasters']} who tasted both" if told["tasters"] != "0" else ""
            return with_mark(f"{told['actual']}{by}", mark)
    return with_mark(f"{told['actual']}{unit}", mark) if "actual" in told else ""


def _is_spare(name: str, told: Mapping[str, str]) -> bool:
    """Of likeness and difference, that which the verdict is not about."""
    return name == ("p_alike" if told["verdict"] == "different" else "p_different") and "p_alike" in told


def _unit(ground: "Ground") -> str:
    is_count = ground.figures.get("rule") == "least_components"
    return " %" if ground.name == "house rule" and not is_count else _UNITS.get(ground.name, "")


def within_words(ground: "Ground", mark: str) -> str:
    """Between what it is to be; empty where there are no bounds."""
    low, high = (ground.figures.get(name, "") for name in ("low", "high"))
    if not low or not high:
        return with_mark(
            f"at least {low}{_unit(ground)}" if low else f"at most {high}{_unit(ground)}" if high else "", mark
        )
    return with_mark(f"{low} to {high}{_unit(ground)}", mark)


def beside_words(ground: "Ground", name: str, mark: str) -> str:
    """The figure of the trial, or of the reference."""
    found = ground.figures.get(name, "")
    return with_mark(f"{found}{_unit(ground)}", mark) if found else ""


def standing_words(found: "Approved", item: str, style: "HouseStyle") -> str:
    """How an approval stands, in one sentence; empty where nobody said anything."""
    covering = found.covering
    if covering.entry is None:
        return ""
    of = "" if covering.of == item else f", as {hyphened(covering.of)} that it was bottled from"
    word = "rejected" if covering.stands == "rejected" else "approved"
    when = style.time_shown(found.happened_us or 0)
    said = f"{word} by {found.who} on {when} (entry {covering.entry.number}){of}"
    if found.reason:
        said += f": {found.reason}"
    if covering.lapsed_by:
        return f"{said}; lapsed: entry {covering.lapsed_by} poured into it since"
    return f"{said}; ON OTHER FIGURES than the book has now" if found.changed else said


def changed_words(changed: "ChangedGround", called: Mapping[str, str], mark: str) -> str:
    """What a ground was and is."""
    names = [
        name for name in dict.fromkeys((*changed.then, *changed.now)) if changed.then.get(name) != changed.now.get(name)
    ]
    unit = _UNITS.get(changed.name, "")
    told = (
        f"{'' if name == 'actual' else f'{name} '}{changed.then.get(name, 'none')}, now"
        f" {changed.now.get(name, 'none')}{unit if name in changed.now else ''}"
        for name in names
    )
    return with_mark(f"{ground_name(changed, called)}: {'; '.join(told) or 'there, or not, before'}", mark)
