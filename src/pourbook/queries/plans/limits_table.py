"""Limits, rules, objective and bands of attributes for a plan from a book, from the tables of a TOML file.

The tables are those of a recipe's file; an objective may weigh shifts and the distance in attributes, too.

>>> found = limits_of({"limits": {"most_casks": 6}, "attributes": {"pear": {"low": 2, "high": 4}}}, "limits.toml")
>>> found.limits.most_casks, found.attributes
(6, {'pear': Band(aim=None, low=2.0, high=4.0)})
"""

from collections.abc import Iterator, Mapping
from math import isfinite
from typing import Any, NamedTuple

from pourbook.errors import Fault
from pourbook.input_files import all_faults
from pourbook.planning.recipe import Band, House, Limits
from pourbook.planning.recipe_table import recipe_of

__all__ = ["LimitsTable", "limits_of"]

_OF_A_RECIPE = ("limits", "house", "objective")
_OF_A_BOOK = ("shifts", "distance")
_STANDS_IN = {"target": {"volume_l": 1, "strength_20c": 1}, "components": {"any": {"part": 100}}}


class LimitsTable(NamedTuple):
    """What a file says.

    Attributes:
        limits: on casks, age, strength and vat.
        house: rules beside those of the book.
        objective: weights by measure; empty where it has none.
        attributes: bands of words of notes.
    """

    limits: Limits = Limits()
    house: House = House()
    objective: Mapping[str, float] = {}
    attributes: Mapping[str, Band] = {}


def limits_of(document: Mapping[str, Any], file: str) -> LimitsTable:
    """What the tables of a file say.

    Raises:
        FaultsFound: with every fault.
    """
    faults = [
        Fault(file, 0, name, "", "is not known", f"it may have: {', '.join((*_OF_A_RECIPE, 'attributes'))}")
        for name in document
        if name not in (*_OF_A_RECIPE, "attributes")
    ]
    weights = {name: document.get("objective", {}).get(name) for name in _OF_A_BOOK}
    weights = {name: weight for name, weight in weights.items() if weight is not None}
    bands: dict[str, Mapping[str, Any]] = document.get("attributes", {})
    faults += _wrong(weights, "objective", file)
    for name, band in bands.items():
        faults += _wrong(band, f"attributes.{name}", file)
        for key in band.keys() - set(Band._fields):
            faults.append(Fault(file, 0, f"attributes.{name}.{key}", "", "is not known", "write aim, low or high"))
    if faults:
        raise all_faults(faults)
    tables = {name: document[name] for name in _OF_A_RECIPE if name in document}
    if "objective" in tables:
        own = tables["objective"]
        tables["objective"] = {name: weight for name, weight in own.items() if name not in _OF_A_BOOK}
    recipe = recipe_of({**_STANDS_IN, **tables}, file)
    objective = {**recipe.objective, **weights} if tables.get("objective") else weights
    attributes = {name: Band(**{end: float(value) for end, value in band.items()}) for name, band in bands.items()}
    return LimitsTable(recipe.limits, recipe.house, objective, attributes)


def _wrong(table: Mapping[str, Any], at: str, file: str) -> Iterator[Fault]:
    for name, value in table.items():
        is_number = isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)
        if not is_number or value < 0:
            yield Fault(file, 0, f"{at}.{name}", str(value)[:60], "is no number of 0 or more", "write digits")
