"""Figures by formula beside those of the official US tables that a house has loaded."""

from collections.abc import Mapping
from decimal import Decimal
from typing import NamedTuple

__all__ = ["OfficialFigure", "OfficialFigures", "beside_formula"]


class OfficialFigure(NamedTuple):
    """A figure by formula, and by the tables; None where the file lacks it."""

    formula: float
    official: float | None

    @property
    def difference(self) -> float | None:
        """Official less formula."""
        return None if self.official is None else self.official - self.formula


class OfficialFigures(NamedTuple):
    """Official figures by name beside computed ones, and the file they came from."""

    file: str
    figures: Mapping[str, OfficialFigure]

    @property
    def known(self) -> dict[str, float]:
        """Those that replace computed ones."""
        return {name: figure.official for name, figure in self.figures.items() if figure.official is not None}


def beside_formula(file: str, formula: Mapping[str, float], official: Mapping[str, Decimal | None]) -> OfficialFigures:
    """Official values, each beside the figure of that name by formula."""
    return OfficialFigures(
        file,
        {
            name: OfficialFigure(formula[name], None if value is None else float(value))
            for name, value in official.items()
        },
    )
