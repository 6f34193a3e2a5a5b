"""How sure the figures of a gauge are, in words.

>>> uncertainty_words(GaugeUncertainty({"strength_20c": ("63.2541", "0.0642")}, ("temperature",)))
'strength 63.254 ± 0.064 % vol (standard uncertainty of the instruments alone, with temperature as exact)'
"""

from pourbook.gauging.gauge_uncertainty import LABELS
from pourbook.gauging.recorded_values import GaugeUncertainty
from pourbook.uncertainty.propagation import Uncertain

__all__ = ["uncertainty_words"]


def uncertainty_words(uncertainty: GaugeUncertainty | None, mark: str = ".") -> str:
    """Every figure with its standard uncertainty, and what that takes as exact; empty where nothing is known."""
    if uncertainty is None:
        return ""
    figures = "; ".join(
        f"{LABELS[name][0]} {Uncertain(float(value), {'gauge': float(standard)}).shown(mark)} {LABELS[name][1]}"
        for name, (value, standard) in uncertainty.figures.items()
    )
    exact = f", with {' and '.join(uncertainty.exact)} as exact" if uncertainty.exact else ""
    return f"{figures} (standard uncertainty of the instruments alone{exact})"
