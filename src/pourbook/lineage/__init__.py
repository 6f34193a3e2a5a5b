"""Where liquid came from and where it went: states, shares and ages, as pure computation.

A `Lineage` holds the states and inflows that a question concerns; `trace_back` and
`trace_forward` hand shares along them; `wood_ages` does the same with time in wood.
This room knows neither a book nor a density.
"""

from pourbook.lineage.ages import WoodAge, wood_ages
from pourbook.lineage.graph import CARRY, Inflow, Lineage, Weigh
from pourbook.lineage.shares import Back, Forward, trace_back, trace_forward

__all__ = [
    "CARRY",
    "Back",
    "Forward",
    "Inflow",
    "Lineage",
    "Weigh",
    "WoodAge",
    "trace_back",
    "trace_forward",
    "wood_ages",
]
