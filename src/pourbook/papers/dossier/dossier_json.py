"""The dossier as a JSON document: the rows of the paper, unrounded, identifiers without hyphens.

>>> from pourbook.lineage.ages import Age
>>> from pourbook.papers.endpoints import Named
>>> from fractions import Fraction
>>> document((Named("C-000123-Y", "Row 3/12"), Age(8, 12), Fraction(1, 8), None))
[{'id': 'C000123Y', 'name': 'Row 3/12'}, {'years': 8, 'days': 12}, 0.125, None]
"""

from dataclasses import fields, is_dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from pourbook.codes.identifiers import read
from pourbook.papers.dossier.dossier_rows import Balance

__all__ = ["document"]


def document(value: Any) -> Any:  # noqa: ANN401 (whatever a paper says)
    """A value of a paper as JSON has it; times stay as printed, in house time."""
    if isinstance(value, Fraction | Decimal):
        return float(value)
    if isinstance(value, tuple) and hasattr(value, "_asdict"):
        found = {name: _field(name, part) for name, part in value._asdict().items()}
        return found | ({"difference_mg": value.difference_mg} if isinstance(value, Balance) else {})
    if isinstance(value, tuple | list):
        return [document(part) for part in value]
    if is_dataclass(value):
        return {field.name: _field(field.name, getattr(value, field.name)) for field in fields(value)}
    return value


def _field(name: str, value: Any) -> Any:  # noqa: ANN401
    """A field; an identifier loses its hyphens."""
    return (read(value) or value) if name == "id" and value else document(value)
