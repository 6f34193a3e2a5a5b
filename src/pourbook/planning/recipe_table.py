"""A recipe from the tables of a TOML file, or every fault in it with its key and what to do.

A key that is not known is refused, for a misspelt limit must not pass for none. What the numbers demand is not judged
here: limits that exclude each other are in conflict, which is an answer.

>>> parts = {"rich": {"part": 100, "hihg": 9}}
>>> recipe_of({"target": {"volume_l": 1500, "strength_20c": 46}, "components": parts}, "r.toml")
Traceback (most recent call last):
    ...
pourbook.errors.FaultsFound: r.toml, components.rich.hihg: is not known; did you mean 'high'? ...
"""

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from math import isfinite
from typing import Any, NamedTuple

from pourbook.errors import Fault
from pourbook.input_files import all_faults
from pourbook.planning.recipe import Heel, House, Limits, Part, Recipe, Target

__all__ = ["MEASURES", "recipe_of"]

MEASURES = ("casks", "cost", "left_l")
"""What a file's objective may weigh."""

_MOST_L = 1e8
_MOST_COUNT = 1_000_000
_MOST_WEIGHT = 1e9
_CLOSE_TO_100 = 0.0100001
"""Parts typed in two decimals may miss a hundredth: 33.33 three times."""


class _Key(NamedTuple):
    """What a key may hold: numbers from low to high, or above low; whole ones; whether it must be there."""

    low: float = 0.0
    high: float = _MOST_L
    whole: bool = False
    above: bool = False
    needed: bool = False


_LITRES, _COUNT, _PERCENT = _Key(), _Key(high=_MOST_COUNT, whole=True), _Key(high=100.0)
_STRENGTH = _Key(high=100.0, above=True, needed=True)

_PART = {"part": _PERCENT._replace(needed=True), "low": _PERCENT, "high": _PERCENT}
_TARGET = {
    "volume_l": _LITRES._replace(above=True, needed=True),
    "volume_low_l": _LITRES,
    "volume_high_l": _LITRES,
    "strength_20c": _STRENGTH,
}
_LIMITS = {
    "least_strength_before": _PERCENT,
    "least_age_years": _COUNT,
    "least_age_days": _COUNT,
    "most_casks": _COUNT,
    "most_part_casks": _COUNT,
    "least_left_l": _LITRES,
    "least_taken_l": _LITRES,
    "vat_l": _LITRES,
}
_HOUSE = {"no_component_above": _PERCENT, "casks_of_each": _COUNT}
_HEEL = {
    "volume_l_20c": _LITRES._replace(needed=True),
    "strength_20c": _PERCENT._replace(needed=True),
    "wood_days": _COUNT,
}
_OBJECTIVE = dict.fromkeys(MEASURES, _Key(high=_MOST_WEIGHT))
_TABLES = ("target", "components", "limits", "house", "heel", "losses", "objective")


def recipe_of(document: Mapping[str, Any], file: str) -> Recipe:
    """The recipe of a file's tables.

    Raises:
        FaultsFound: with every fault.
    """
    reading = _Reading(file)
    recipe = reading.recipe(document)
    if reading.faults or recipe is None:
        raise all_faults(reading.faults)
    return recipe


class _Reading:
    """Reads the tables of one file and gathers every fault."""

    def __init__(self, file: str) -> None:
        self._file = file
        self.faults: list[Fault] = []

    def recipe(self, document: Mapping[str, Any]) -> Recipe | None:
        """The recipe; None where a fault leaves none."""
        self._known(document, ("basis", *_TABLES), "", "a recipe")
        tables = {name: self._table(document, name) for name in _TABLES}
        basis = document.get("basis", "volume")
        if basis not in ("volume", "alcohol"):
            self.fault("basis", basis, "is no basis of parts", 'write "volume" or "alcohol"')
        components = self._components(tables["components"])
        target = self._numbers(tables["target"], _TARGET, "target", "a target")
        limits = self._numbers(tables["limits"], _LIMITS, "limits", "limits")
        house = self._numbers(tables["house"], _HOUSE, "house", "house rules")
        objective = self._numbers(tables["objective"], _OBJECTIVE, "objective", "an objective")
        heel = self._heel(tables["heel"], components) if "heel" in document else None
        losses = self._losses(tables["losses"])
        if {"least_age_years", "least_age_days"} <= limits.keys():
            self.fault("limits.least_age_days", "", "says the age a second time", "keep it or least_age_years")
        if self.faults:
            return None
        return Recipe(
            components,
            Target(target["volume_l"], target["strength_20c"], target.get("volume_low_l"), target.get("volume_high_l")),
            Limits(**limits),
            House(**house),
            heel,
            losses,
            objective or {"casks": 1.0},
            basis,
        )

    def _components(self, table: Mapping[str, Any]) -> dict[str, Part]:
        components = {}
        for name in table:
            values = self._numbers(self._table(table, name, "components."), _PART, f"components.{name}", "a part")
            components[name] = Part(values.get("part", 0.0), values.get("low"), values.get("high"))
        if not components:
            self.fault("components", "", "has no component", "write a table for each: [components.NAME] with its part")
        elif not self.faults:
            self._hundred({name: part.part for name, part in components.items()}, "components", "parts")
        return components

    def _heel(self, table: Mapping[str, Any], components: Mapping[str, Part]) -> Heel:
        values = self._numbers(
            {key: one for key, one in table.items() if key != "parts"}, _HEEL, "heel", "a heel", "parts"
        )
        given = self._table(table, "parts", "heel.")
        parts = self._numbers(given, dict.fromkeys(given, _PERCENT), "heel.parts", "a part")
        for name in parts.keys() - components.keys():
            self.fault(f"heel.parts.{name}", "", "is no component of the recipe", f"write [components.{name}], too")
        if "parts" not in table:
            self.fault("heel.parts", "", "is missing", "say what the heel is of, such as {rich = 7, base = 93}")
        elif not self.faults:
            self._hundred(parts, "heel.parts", "parts")
        return Heel(values.get("volume_l_20c", 0.0), values.get("strength_20c", 0.0), parts, values.get("wood_days"))

    def _losses(self, table: Mapping[str, Any]) -> dict[str, float]:
        losses = self._numbers(table, dict.fromkeys(table, _PERCENT), "losses", "a loss")
        if sum(losses.values()) >= 100.0:
            said = f"they add to {sum(losses.values()):g} %, which leaves nothing"
            self.fault("losses", "", said, "write per cent of the reduced batch")
        return losses

    def _hundred(self, parts: Mapping[str, float], at: str, noun: str) -> None:
        if abs(sum(parts.values()) - 100.0) > _CLOSE_TO_100:
            self.fault(at, "", f"the {noun} add to {sum(parts.values()):g}, not 100", "correct one of them")

    # -- tables and numbers --------------------------------------------------------------

    def _table(self, within: Mapping[str, Any], name: str, before: str = "") -> Mapping[str, Any]:
        found = within.get(name, {})
        if isinstance(found, dict):
            return found
        self.fault(f"{before}{name}", found, "is not a table", f"write [{before}{name}] with its keys below")
        return {}

    def _known(self, table: Mapping[str, Any], known: tuple[str, ...], at: str, of: str) -> None:
        for key in table:
            if key not in known:
                close = get_close_matches(key, known, 1)
                guess = f"did you mean '{close[0]}'? " if close else ""
                self.fault(
                    f"{at}.{key}".lstrip("."),
                    "",
                    "is not known",
                    f"{guess}{_first_up(of) if close else of} may have: {', '.join(known)}",
                )

    def _numbers(
        self, table: Mapping[str, Any], form: Mapping[str, _Key], at: str, of: str, *beside: str
    ) -> dict[str, Any]:
        """The numbers of a table by its form; faults are listed and left out."""
        self._known(table, (*form, *beside), at, of)
        found: dict[str, Any] = {}
        for name, key in form.items():
            if name in table:
                found.update((name, value) for value in self._number(table[name], key, f"{at}.{name}"))
            elif key.needed:
                self.fault(f"{at}.{name}", "", "is missing", "write it")
        return found

    def _number(self, value: object, key: _Key, at: str) -> Iterator[float]:
        """The number, where it is one in range."""
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.fault(at, value, "is not a number", "write digits with a decimal point, without quotation marks")
        elif not (abs(value) <= key.high and isfinite(value)) or value < key.low or (key.above and value == key.low):
            least = f"above {key.low:g}" if key.above else f"{key.low:g}"
            self.fault(
                at,
                value,
                "is out of range",
                f"give a number from {least} to {key.high:g}".replace("from above", "above"),
            )
        elif key.whole and value != int(value):
            self.fault(at, value, "is not a whole number", "write one without decimals")
        else:
            yield int(value) if key.whole else float(value)

    def fault(self, key: str, value: object, problem: str, remedy: str) -> None:
        """List one."""
        self.faults.append(Fault(self._file, 0, key, str(value)[:60], problem, remedy))


def _first_up(text: str) -> str:
    return text[:1].upper() + text[1:]
