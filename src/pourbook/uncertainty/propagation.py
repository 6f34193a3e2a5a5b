"""A value that knows what makes it uncertain: named independent sources, each with its signed share.

First-order propagation as in the *Guide to the expression of uncertainty in measurement* (GUM,
JCGM 100:2008), 5.1. Two values that share a source, such as two readings of one instrument, are
correlated by it: what is common adds up in their sum and cancels in their difference.

>>> first = Uncertain(7.0, {"pipette": 0.03, "first filling": 0.01})
>>> second = Uncertain(8.0, {"pipette": 0.03, "second filling": 0.01})
>>> (second - first).shown(), (first + second).shown()
('1.000 ± 0.028 (k = 2)', '15.00 ± 0.12 (k = 2)')
>>> Uncertain(46.0481, {"hydrometer": 0.0577, "thermometer": 0.104}).shown(",")
'46,05 ± 0,24 (k = 2)'
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from math import hypot, inf, isfinite

from pourbook.errors import OutOfRange
from pourbook.numerals import EXACT, as_decimal
from pourbook.numerals import shown as rounded

__all__ = ["COVERAGE_FACTOR", "Figure", "Uncertain", "applied", "propagated", "value_of"]

COVERAGE_FACTOR = 2.0
"""k of every ± that is shown unless another is asked for: about 95 % where no single error dominates, GUM 6.3.3."""

_SIGNIFICANT = 2  # digits of an uncertainty, GUM 7.2.6


@dataclass(frozen=True, slots=True)
class Uncertain:
    """A value and the sources of its uncertainty.

    Attributes:
        value: the best estimate.
        sources: by name, how far the value moves when the source errs by its standard uncertainty
            (the sensitivity times the uncertainty, with its sign). Sources of different names are
            independent; a source of the same name is the same error.
        rectangles: by name, of how many equal rectangular errors a source is the sum: one has a rectangular law, two
            a triangular one; a source that is not named here is normal.
    """

    value: float
    sources: Mapping[str, float] = field(default_factory=dict)
    rectangles: Mapping[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        if not isfinite(self.value) or not all(map(isfinite, self.sources.values())):
            raise OutOfRange("a figure and its uncertainty must be finite", "check what was entered")

    @property
    def standard(self) -> float:
        """Combined standard uncertainty: the root of the sum of squares of independent shares, GUM 5.1.2."""
        return hypot(*self.sources.values())

    @property
    def relative(self) -> float:
        """Standard uncertainty per value; infinite for a value of zero."""
        return self.standard / abs(self.value) if self.value else inf

    def budget(self) -> list[tuple[str, float]]:
        """Each source with its share of the variance, 0 to 1, the largest first.

        >>> Uncertain(1.0, {"balance": 0.3, "thermometer": -0.4}).budget()
        [('thermometer', 0.64), ('balance', 0.36)]
        """
        whole = self.standard
        parts = [(source, (share / whole) ** 2) for source, share in self.sources.items() if share]
        return sorted(((source, round(part, 12)) for source, part in parts), key=lambda item: -item[1])

    def shown(self, decimal_mark: str = ".", coverage_factor: float = COVERAGE_FACTOR) -> str:
        """Value ± k times its standard uncertainty: two significant digits, both rounded half up to the same place.

        The ± always says what it is: its k, or standard where that is one.

        >>> Uncertain(1234.5, {"dip": 48.0}).shown(), Uncertain(0.125, {"a": 0.0996}).shown(".", 1)
        ('1235 ± 96 (k = 2)', '0.13 ± 0.10 (standard)')
        >>> Uncertain(7.5).shown()
        '7.5'
        """
        spread = self.standard * coverage_factor
        if not spread:
            return f"{as_decimal(self.value):f}".replace(".", decimal_mark)
        digits = _digits(spread)
        said = "standard" if coverage_factor == 1 else f"k = {coverage_factor:g}".replace(".", decimal_mark)
        return f"{rounded(self.value, digits, decimal_mark)} ± {rounded(spread, digits, decimal_mark)} ({said})"

    def __neg__(self) -> "Uncertain":
        return propagated(-self.value, (-1.0, self))

    def __add__(self, other: "Figure") -> "Uncertain":
        return propagated(self.value + value_of(other), (1.0, self), (1.0, other))

    __radd__ = __add__

    def __sub__(self, other: "Figure") -> "Uncertain":
        return propagated(self.value - value_of(other), (1.0, self), (-1.0, other))

    def __rsub__(self, other: float) -> "Uncertain":
        return -self + other

    def __mul__(self, other: "Figure") -> "Uncertain":
        return propagated(self.value * value_of(other), (value_of(other), self), (self.value, other))

    __rmul__ = __mul__

    def __truediv__(self, other: "Figure") -> "Uncertain":
        divisor = value_of(other)
        quotient = self.value / divisor
        return propagated(quotient, (1.0 / divisor, self), (-quotient / divisor, other))

    def __rtruediv__(self, other: float) -> "Uncertain":
        quotient = other / self.value
        return propagated(quotient, (-quotient / self.value, self))


Figure = Uncertain | float
"""A value with its sources, or one taken as exact."""


def value_of(figure: Figure) -> float:
    """The best estimate of a figure, whether it carries an uncertainty or not."""
    return figure.value if isinstance(figure, Uncertain) else figure


def propagated(value: float, *terms: tuple[float, Figure]) -> Uncertain:
    """A value whose slopes are known: the slope (partial derivative) against each input, and that input.

    >>> side = Uncertain(3.0, {"rule": 0.01})
    >>> propagated(side.value**2, (2 * side.value, side)).shown()
    '9.00 ± 0.12 (k = 2)'
    """
    shares: dict[str, float] = {}
    rectangles: dict[str, int] = {}
    for slope, term in terms:
        if isinstance(term, Uncertain):
            rectangles.update(term.rectangles)
            for source, share in term.sources.items():
                shares[source] = shares.get(source, 0.0) + slope * share
    return Uncertain(value, shares, rectangles)


def applied(function: Callable[..., float], *inputs: Figure) -> Uncertain:
    """A function of uncertain inputs, where its slopes are not at hand.

    Each source is moved by its standard uncertainty, up and down, in all inputs it touches at once;
    half the change is its share (central differences; GUM 5.1.3, note 2, read in a public copy).
    So an error common to two inputs cancels as it does in the cellar. Where one side lies outside the
    domain of the function, the other alone is used; where both do, the function's refusal is raised.

    >>> volume = Uncertain(2.0, {"pipette": 0.01})
    >>> applied(lambda v, w: v / (v + w), volume, volume * 3.0).standard  # both by one pipette
    0.0
    """
    value = function(*map(value_of, inputs))
    uncertain = [term for term in inputs if isinstance(term, Uncertain)]
    names = dict.fromkeys(name for term in uncertain for name in term.sources)
    rectangles = {name: count for term in uncertain for name, count in term.rectangles.items()}
    return Uncertain(value, {name: _share(function, inputs, name, value) for name in names}, rectangles)


def _share(function: Callable[..., float], inputs: tuple[Figure, ...], name: str, value: float) -> float:
    def moved(sign: float) -> float:
        return function(
            *(
                term.value + sign * term.sources.get(name, 0.0) if isinstance(term, Uncertain) else term
                for term in inputs
            )
        )

    try:
        above = moved(1.0)
    except OutOfRange:
        return value - moved(-1.0)
    try:
        return (above - moved(-1.0)) / 2.0
    except OutOfRange:
        return above - value


def _digits(spread: float) -> int:
    """Decimals at which an uncertainty has two significant digits, also where rounding adds a digit."""
    decimals = _SIGNIFICANT - 1 - as_decimal(spread).adjusted()
    after = as_decimal(spread).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_UP, EXACT)
    return _SIGNIFICANT - 1 - after.adjusted()
