"""What a recorded gauge keeps of its instruments: which were used, and how sure they make its figures."""

from collections.abc import Mapping
from typing import NamedTuple

__all__ = ["GaugeUncertainty", "UsedInstrument"]


class UsedInstrument(NamedTuple):
    """An instrument that something was read with.

    Attributes:
        name: what the house calls it.
        id: its identifier; empty for one that the book does not know.
        certificate: of its last check at that time.
        overdue_since: day on which that check was due, where it was overdue; ISO.
    """

    name: str
    id: str = ""
    certificate: str = ""
    overdue_since: str = ""


class GaugeUncertainty(NamedTuple):
    """How sure the figures of a gauge are, by the instruments alone.

    Attributes:
        figures: name of the figure (strength_20c, mass_kg, volume_l_20c, lpa) to its value and its standard
            uncertainty, as decimal text.
        exact: what was taken as exact: temperature, tare, extract …
    """

    figures: Mapping[str, tuple[str, str]]
    exact: tuple[str, ...] = ()
