"""How a house writes: amounts, strengths, temperatures and times read by its settings, and figures shown.

>>> style = HouseStyle({"decimal_mark": ",", "volume_unit": "ml", "zone": "Europe/London"})
>>> style.amount("12,5").volume_ml, style.shown(61.25, 1)
(Fraction(25, 2), '61,3')
>>> style.end("2026-12-31") == style.moment("2027-01-01"), style.end("2026-12-31 12:00") == style.end("2026-12-31")
(True, False)
"""

import math
import re
from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Literal, cast

from pourbook import numerals, times
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from datetime import tzinfo
    from decimal import Decimal
    from fractions import Fraction

    from pourbook.quantities import Amount, Scale, Strength, Temperature

__all__ = ["HouseStyle"]


_YEAR = 4
"""Digits of one that is written alone."""


class HouseStyle:
    """Reads what people of a house type, and writes what they read.

    `settings` (`pourbook.book.settings`) that are missing are as in a new book; a calculator without a book has none.
    """

    def __init__(self, settings: Mapping[str, str] | None = None) -> None:
        self.settings = settings or {}

    @property
    def mark(self) -> str:
        """The decimal mark."""
        return self.settings.get("decimal_mark", ".")

    @cached_property
    def zone(self) -> "tzinfo":
        """The time zone."""
        return times.house_zone(self.settings.get("zone", "UTC"))

    # -- reading -----------------------------------------------------------------------

    def number(self, text: str) -> "Decimal":
        """A plain number."""
        return numerals.read_decimal(text, self.mark)

    def amount(self, text: str, unit: str | None = None, *, allow_zero: bool = False) -> "Amount":
        """An amount; a bare number is in `unit`, else in the house's unit of volume; without a house it is refused."""
        from pourbook import quantities  # what only shows does without it

        default = unit or self.settings.get("volume_unit")
        return quantities.read_amount(text, default, self.mark, allow_zero=allow_zero)

    def amount_or_all(self, text: str, *, allow_zero: bool = False) -> "Amount | None":
        """An amount, or None for the word `all`."""
        return None if text.strip().lower() == "all" else self.amount(text, allow_zero=allow_zero)

    def strength(self, text: str, scale: "Scale | None" = None) -> "Strength":
        """A strength; a bare number is on `scale`, else on the house's."""
        from pourbook import quantities

        default = scale or cast("Scale", self.settings.get("strength_scale", "vol20"))
        proof: Literal["us"] | None = None if self.settings.get("proof") == "ask" else "us"
        return quantities.read_strength(text, default, self.mark, proof)

    def extract(self, text: str | None) -> float:
        """Dissolved solids, g/L; none where nothing was typed."""
        from pourbook import extracts

        return 0.0 if text is None else extracts.read_extract(text, self.mark)

    def temperature(self, text: str) -> "Temperature":
        """A temperature; a bare number is in the house's unit."""
        from pourbook import quantities

        unit = cast("Literal['C', 'F']", self.settings.get("temperature_unit", "C"))
        return quantities.read_temperature(text, unit, self.mark)

    def celsius(self, text: str | None) -> float:
        """A temperature in °C; 20 where none was typed."""
        return 20.0 if text is None else float(self.temperature(text).celsius)

    def kept(self, text: str | None) -> str | None:
        """A figure that is kept as typed, if the house writes it so; None stays None.

        Raises:
            Malformed: it begins with no number, or one with the other decimal mark.
        """
        if text is not None:
            numerals.number_and_rest(text, self.mark)
        return text

    def pointed(self, text: str) -> str:
        """Words with numbers in them as the rest of the house reads them: `limit 0,1` as `limit 0.1`.

        Raises:
            Malformed: a number in them has the other decimal mark.
        """
        if self.mark != ",":
            return text
        for number in re.findall(r"\d+\.\d+", text):
            self.number(number)
        return re.sub(r"(?<=\d),(?=\d)", ".", text)

    def moment(self, text: str) -> int:
        """A time, in microseconds; without an offset it is house time."""
        return times.read_time(text, self.zone)

    def as_of(self, text: str | None) -> int | None:
        """The moment a question is asked for; a day counts whole. None (now) stays None."""
        if text is None:
            return None
        return self.end(text) - 1 if times.is_date_only(text) else self.moment(text)

    def end(self, text: str) -> int:
        """The moment before which a period ends; a day counts whole."""
        return times.end_of(text, self.zone)

    def between(self, text: str) -> tuple[float, float]:
        """The least and the most of a range: 60..80, 80.. or ..60; a number alone is both.

        Raises:
            Malformed: an end is no number, or the least is more than the most.
        """
        least, dots, most = text.strip().partition("..")
        low = float(self.number(least)) if least or not dots else -math.inf
        high = float(self.number(most)) if most else math.inf
        if low > high:
            raise Malformed(f"'{text}' runs from the higher to the lower", f"write the lower first: {most}..{least}")
        return (low, high) if dots else (low, low)

    def span(self, text: str) -> tuple[int, int]:
        """From which moment to before which: a year, a day, or a range of them, 2018..2020; the last counts whole.

        Raises:
            Malformed: it is neither a year nor a day, or the last is before the first.
        """
        first, _, last = text.strip().partition("..")
        last = last or first
        from_us = self.moment(first + "-01-01" * (len(first) == _YEAR))
        before_us = self.end(last + "-12-31" * (len(last) == _YEAR))
        if before_us < from_us:
            raise Malformed(f"'{text}' runs from the later to the earlier", f"write the earlier first: {last}..{first}")
        return from_us, before_us

    # -- showing -----------------------------------------------------------------------

    def shown(self, value: "float | Decimal | Fraction", digits: int) -> str:
        """A number with that many decimals, rounded half up."""
        return numerals.shown(value, digits, self.mark)

    def time_shown(self, moment_us: int) -> str:
        """A moment in house time, to the minute, with its zone."""
        return times.shown(moment_us, self.zone)
