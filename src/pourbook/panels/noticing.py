"""How large a difference must be before a panel notices it.

>>> round(noticed_d_prime("triangle", 12), 2)
2.09
"""

from pourbook.errors import OutOfRange
from pourbook.panels.d_prime import MOST_D_PRIME
from pourbook.panels.discrimination import difference, least_assessors, planned

__all__ = ["noticed_d_prime"]

_HALVINGS = 40


def noticed_d_prime(method: str, assessors: int, alpha: float = 0.05, power: float = 0.5) -> float:
    """The d' at which so many assessors find a difference, at risk `alpha`, as often as `power`.

    Raises:
        OutOfRange: so few cannot show any difference, a risk that cannot be, or no difference is found as often.
    """
    test = difference(method, alpha, d_prime=MOST_D_PRIME)
    if planned(test, assessors).critical is None:
        least = least_assessors(test)
        raise OutOfRange(f"{assessors} assessors cannot show a difference", f"a {method} test needs {least} at least")
    if not 0.0 < power < 1.0 or planned(test, assessors).power < power:
        raise OutOfRange(f"no difference is found by {assessors} with a chance of {power:g}", "give a chance below one")
    low, high = 0.0, MOST_D_PRIME
    for _ in range(_HALVINGS):
        half = (low + high) / 2
        is_found = planned(difference(method, alpha, d_prime=half), assessors).power >= power
        low, high = (low, half) if is_found else (half, high)
    return high
