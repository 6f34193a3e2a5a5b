"""Facts of an item that calculations use: checked when written, and kept as plain numbers.

A capacity or a tare in words would only show long after, where somebody needs it.

>>> checked_facts({"capacity_l": "225,5 l", "tare_kg": "43", "wood": "rum barrel"}, ",")
{'capacity_l': '225.5', 'tare_kg': '43', 'wood': 'rum barrel'}
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction

from pourbook.errors import Malformed, OutOfRange
from pourbook.gauging.calibration_tables import read_table
from pourbook.gauging.house_instruments import KINDS, checked_factor
from pourbook.numerals import as_decimal, number_and_rest, read_decimal
from pourbook.quantities import UNITS, read_amount
from pourbook.times import is_date_only

__all__ = ["checked_fact", "checked_facts"]


def checked_facts(facts: Mapping[str, str], decimal_mark: str = ".") -> dict[str, str]:
    """Facts as a record keeps them; an empty value ends a fact and stays empty.

    Raises:
        Malformed: a fact for calculation is not a number of its kind.
        OutOfRange: such a number is not above zero.
    """
    return {name: checked_fact(name, value, decimal_mark) for name, value in facts.items()}


def checked_fact(name: str, text: str, decimal_mark: str = ".") -> str:
    """One of them."""
    reader = _READERS.get(name)
    return text if reader is None or not text.strip() else reader(name, text, decimal_mark)


def _in(unit: str) -> Callable[[str, str, str], str]:
    def read(name: str, text: str, decimal_mark: str) -> str:
        amount = read_amount(text, unit, decimal_mark)
        if amount.unit not in UNITS or (amount.dimension == "volume") is not (UNITS[unit].dimension == "volume"):
            raise Malformed(f"{name} '{text}' is not in {unit}", f"write it in {unit}")
        return f"{as_decimal(Fraction(amount.value) * UNITS[amount.unit].factor / UNITS[unit].factor).normalize():f}"

    return read


def _number(name: str, text: str, decimal_mark: str) -> str:
    value: Decimal = read_decimal(text, decimal_mark)
    if value < 0:
        raise OutOfRange(f"{name} '{text}' is below zero", "write it without a sign")
    return f"{value:f}"


def _count(name: str, text: str, _decimal_mark: str) -> str:
    if not text.strip().isdecimal():
        raise Malformed(f"{name} '{text}' is not a count", "write a whole number; 0 for none")
    return str(int(text))


def _strength(name: str, text: str, decimal_mark: str) -> str:
    """A labelled strength in % vol, with the digits that were declared."""
    number, unit = number_and_rest(text, decimal_mark)
    if unit not in ("", "%", "% vol"):
        raise Malformed(f"{name} '{text}' is not in % vol", "write it in % vol, as on the label")
    if not 0 <= number <= 100:
        raise OutOfRange(f"{name} '{text}' is not between 0 and 100 % vol", "write it as on the label")
    return f"{number:f}"


def _instrument(_name: str, text: str, _decimal_mark: str) -> str:
    if text not in KINDS:
        raise Malformed(f"'{text}' is not a kind of instrument", f"choose from: {', '.join(KINDS)}")
    return text


def _permissible_error(_name: str, text: str, decimal_mark: str) -> str:
    number, unit = number_and_rest(text, decimal_mark)
    if unit not in ("", "%"):
        raise Malformed(f"'{text}' is not a permissible error", "write it in its unit, or in per cent of the reading")
    return f"{number:f} {unit}".rstrip()


def _class(_name: str, text: str, _decimal_mark: str) -> str:
    from pourbook.gauging.gauge_uncertainty import checked_class  # only where one is typed

    return checked_class(text)


def _claims(_name: str, text: str, _decimal_mark: str) -> str:
    from pourbook.labels.label_rules import read_claims  # only where a label is to say something

    read_claims(text)
    return text


def _day(_name: str, text: str, _decimal_mark: str) -> str:
    if not is_date_only(text):
        raise Malformed(f"'{text}' is not a day", "write it like 2027-03-01")
    return text


def _storage(name: str, text: str, _decimal_mark: str) -> str:
    from pourbook.warehouse.places import STORAGE_FACTS  # only of a location

    return STORAGE_FACTS[name](text)


_READERS: Mapping[str, Callable[[str, str, str], str]] = {
    "capacity_l": _in("l"),
    "tare_kg": _in("kg"),
    "size_ml": _in("ml"),
    "labelled_strength": _strength,
    "cost": _number,
    "earlier_fills": _count,
    "rest_days": _count,
    "dip_table": lambda _, text, mark: read_table(text, mark).written(),
    "instrument": _instrument,
    "resolution": _number,
    "mpe": _permissible_error,
    "class": _class,
    "meter_factor": lambda _, text, mark: f"{checked_factor(read_decimal(text, mark)):f}",
    "due": _day,
    "claims": _claims,
    "storage": _storage,
    "levels": _storage,
    "open_end": _storage,
}
