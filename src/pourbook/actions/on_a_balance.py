"""What a balance shows that is not tared between pours, in grams as displayed in air.

>>> from pourbook.liquid import EMPTY
>>> changed_by(Decimal("182.40"), Decimal("245.10"), 1, "."), in_air_g(100.0, EMPTY)
(Decimal('62.70'), Decimal('99.71'))
"""

from decimal import Decimal

from pourbook.alcoholometry.volumes import displayed_mg
from pourbook.bench.trials import liquid_of_volume
from pourbook.errors import Malformed, OutOfRange, Question, ToConfirm
from pourbook.liquid import Liquid
from pourbook.quantities import Amount

__all__ = ["changed_by", "grams_of", "in_air_g"]

_DRIFT_G = Decimal("0.05")
"""A bench balance wanders by a few hundredths of a gram: common practice, no source."""


def grams_of(amount: Amount) -> Decimal:
    """A weighing in grams."""
    return Decimal(amount.mass_mg.numerator) / amount.mass_mg.denominator / 1000


def changed_by(before: Decimal | None, now: Decimal, sign: int, mark: str, *, confirmed: bool = False) -> Decimal:
    """What came into the glass (`sign` 1) or left it (-1) since the balance was read last.

    Raises:
        Malformed: it was never read.
        ToConfirm: it changed by no more than a balance wanders.
        OutOfRange: it went the other way.
    """
    if before is None:
        raise Malformed("the weight of the empty glass is not known yet", "type it first")
    change = sign * (now - before)
    shows, showed = (_displayed(grams).replace(".", mark) for grams in (now, before))
    told = f"the balance shows {shows} g now and {showed} g before"
    if abs(change) <= _DRIFT_G and not (confirmed and change > 0):
        raise ToConfirm(Question("drift", f"{told}: drift, no pour", "pour on, and type what it shows then."))
    if change < 0:
        raise OutOfRange(told, f"was anything poured? After a loss: spilled {shows}; for a new zero: zero {shows}")
    return change


def in_air_g(volume_ml: float, source: Liquid) -> Decimal:
    """What a balance shows for a volume at 20 °C of a liquid (`EMPTY` stands for water), to 0.01 g."""
    return Decimal(f"{displayed_mg(liquid_of_volume(volume_ml, source)) / 1000:.2f}")


def _displayed(grams: Decimal) -> str:
    to_hundredths = round(grams, 2)
    return str(to_hundredths if to_hundredths == grams else grams)
