"""What a gauge read, in words.

>>> weighed = {"weighed": {"gross": "221.4 kg", "tare": "43.1 kg"}, "hydrometer": {"shown": "59.8 % vol", "at": "14 C"}}
>>> readings({"item": "C000001H", "reading": weighed})
['gross 221.4 kg, tare 43.1 kg', 'hydrometer 59.8 % vol at 14 °C']
"""

from collections.abc import Callable, Mapping
from typing import Any

from pourbook.codes.identifiers import hyphened

__all__ = ["instrument_text", "readings"]

_Body = Mapping[str, Any]
_Shown = Mapping[str, str]


def readings(body: _Body) -> list[str]:
    """What was read of an item, as typed: by instrument where one was read, else amount, strength and temperature."""
    typed, read = body.get("typed", {}), body.get("reading", {})
    said = [_READINGS[way](shown) for way, shown in read.items()]
    if not read.keys() & _AMOUNTS and "amount" in typed:
        said.insert(0, typed["amount"])
    if not read.keys() & _STRENGTHS and "strength" in typed:
        said.append(typed["strength"])
    if "temperature" in typed:
        said.append(f"at {_celsius(typed['temperature'])}")
    return [*said, *([body["provisional"]] if body.get("provisional") else [])]


_AMOUNTS = frozenset(("weighed", "dip", "meter", "vat_share"))
_STRENGTHS = frozenset(("hydrometer", "density", "true", "vat_share"))


def _celsius(text: str) -> str:
    return text.removesuffix(" C") + " °C" if text.endswith(" C") else text


def _weighed(shown: _Shown) -> str:
    dry = " (dry)" if shown.get("tare_is") == "dry" else ""
    return f"gross {shown['gross']}, tare {shown['tare']}{dry}"


def _metered(shown: _Shown) -> str:
    start = f"{shown['start']} to " if "start" in shown else ""
    factor = f" × {shown['factor']}" if "factor" in shown else ""
    return f"meter {start}{shown['end']}{factor}"


_READINGS: Mapping[str, Callable[[_Shown], str]] = {
    "weighed": _weighed,
    "dip": lambda shown: f"dip {shown['depth']} in {hyphened(shown['vessel'])}",
    "meter": _metered,
    "hydrometer": lambda shown: f"hydrometer {shown['shown']} at {_celsius(shown['at'])}",
    "density": lambda shown: f"density {shown['shown']} at {_celsius(shown['at'])}",
    "true": lambda shown: f"true strength {shown['shown']}",
    "extract": lambda shown: f"extract {shown['shown']}",
    "vat_share": lambda shown: (
        f"its share of {shown['total']} in the vat" + (f" at {shown['strength']}" if "strength" in shown else "")
    ),
}


def instrument_text(one: Mapping[str, str]) -> str:
    """An instrument of a gauge, with its identifier and certificate as far as they are known."""
    named_by = f" ({hyphened(one['id'])})" if "id" in one else ""
    return one["name"] + named_by + (f", {one['certificate']}" if "certificate" in one else "")
