"""Student's t: how far a new reading may lie from a line drawn through few others.

>>> f"{t_quantile(0.95, 10):.3f}"
'2.228'
"""

from math import atan, cos, pi, sin, sqrt

from pourbook.errors import OutOfRange

__all__ = ["t_quantile"]

_HALVINGS = 200


def t_quantile(confidence: float, freedom: int) -> float:
    """The t that a Student variable stays within, on both sides, with this probability.

    Source: the finite sums of Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.3 and
    26.7.4 (read as two public programs cite them), solved for t by halving.
    """
    if not 0.0 < confidence < 1.0 or freedom < 1:
        raise OutOfRange(f"no t of {freedom} degrees of freedom for {confidence:g}", "give 0.95 and 1 or more")
    low, high = 0.0, 1.0
    while _within(high, freedom) < confidence:
        high *= 2.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if not low < middle < high:
            break
        low, high = (middle, high) if _within(middle, freedom) < confidence else (low, middle)
    return high


def _within(t: float, freedom: int) -> float:
    """Probability that a Student variable lies between -t and t."""
    angle = atan(t / sqrt(freedom))
    square = cos(angle) ** 2
    term = cos(angle) if freedom % 2 else 1.0
    total = term if freedom > 1 else 0.0
    for step in range(3 if freedom % 2 else 2, freedom - 1, 2):
        term *= square * (step - 1) / step
        total += term
    return 2.0 / pi * (angle + sin(angle) * total) if freedom % 2 else sin(angle) * total
