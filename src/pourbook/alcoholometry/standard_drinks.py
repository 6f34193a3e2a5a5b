"""Pure alcohol as people are told of it: in grams, and in the standard drinks of a country.

What a health authority calls a drink differs from country to country; none of them says that anybody may drive.

>>> f"{drinks(12.0, 'uk'):.1f} {DRINKS['uk'].name}"
'1.5 units'
"""

from typing import NamedTuple

__all__ = ["DRINKS", "StandardDrink", "drinks"]


class StandardDrink(NamedTuple):
    """What counts as one: grams of pure alcohol, its name in the plural, its source, and the status of that."""

    grams: float
    name: str
    source: str
    status: str


_OF_WHO = "as collected by WHO, Global status report on alcohol and health"

DRINKS = {
    "uk": StandardDrink(8.0, "units", "UK Chief Medical Officers, 2016: 10 ml or 8 g", "remembered"),
    "us": StandardDrink(14.0, "US standard drinks", "NIAAA: 0.6 fl oz or 14 g", "remembered"),
    "au": StandardDrink(10.0, "Australian standard drinks", "NHMRC guidelines, 2020: 10 g", "remembered"),
    "ca": StandardDrink(13.45, "Canadian standard drinks", "CCSA guidance: 17.05 ml or 13.45 g", "remembered"),
    "ie": StandardDrink(10.0, "Irish standard drinks", "HSE: 10 g", "remembered"),
    "de": StandardDrink(12.0, "German standard drinks", f"{_OF_WHO}: 12 g", "remembered"),
    "fr": StandardDrink(10.0, "French standard drinks", f"{_OF_WHO}: 10 g", "remembered"),
    "jp": StandardDrink(20.0, "Japanese units", f"{_OF_WHO}: 19.75 g, rounded", "remembered"),
}
"""By country, as the setting `standard_drink` names it."""


def drinks(grams: float, country: str) -> float:
    """How many standard drinks of a country so many grams of pure alcohol are; `KeyError` for a country not listed."""
    return grams / DRINKS[country].grams
