"""What an entry says, in one line, and what a gauge read. Nothing reads these words back.

>>> weighed = {"weighed": {"gross": "221.4 kg", "tare": "43.1 kg"}, "hydrometer": {"shown": "59.8 % vol", "at": "14 C"}}
>>> readings({"item": "C000001H", "reading": weighed})
['gross 221.4 kg, tare 43.1 kg', 'hydrometer 59.8 % vol at 14 °C']
"""

from collections.abc import Callable, Mapping
from typing import Any

from pourbook.codes.identifiers import hyphened, kind_of, named, readable, several
from pourbook.liquid import in_grams
from pourbook.numerals import counted

__all__ = [
    "close", "declared", "facts", "gauge", "hold", "house", "imported",
    "instrument_text", "item", "note", "packed", "paper", "pour",
    "readings", "recall", "recipe", "release", "reserve", "void",
]  # fmt: skip

_Body = Mapping[str, Any]
_Shown = Mapping[str, str]


# -- liquid ----------------------------------------------------------------------------


def pour(body: _Body, mark: str) -> str:
    """Liquid moved."""
    line, *more = body["lines"]
    rest = f" and {len(more)} more" if more else ""
    return f"{body['verb']}: {_amount(line, mark)} from {named(line['from'])} into {named(line['to'])}{rest}"


def _amount(line: _Body, mark: str) -> str:
    if "bottles" in line.get("facts", {}):
        return counted(int(line["facts"]["bottles"]), "bottle")
    typed = line.get("typed", {}).get("amount")
    return typed or ("all" if "all" in line else in_grams(line["mass"], mark))


def gauge(body: _Body, mark: str) -> str:
    """An item was measured."""
    read = readings(body)
    if not read and "mass" in body:
        read = [in_grams(body["mass"], mark)]
    return f"gauge {hyphened(body['item'])} {', '.join(read)}".rstrip()


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


# -- items -----------------------------------------------------------------------------


def house(body: _Body, _mark: str) -> str:
    """Settings were chosen."""
    return f"settings: {_about(body['settings'])}"


def item(body: _Body, _mark: str) -> str:
    """An item entered the book."""
    return _of_item(kind_of(body["item"]), body)


def facts(body: _Body, _mark: str) -> str:
    """Facts were stated, or taken over from what was poured in."""
    taken_over = " (from its sources)" if body.get("from_sources") else ""
    return _of_item("facts", body) + taken_over


def _of_item(word: str, body: _Body) -> str:
    said = _about(body["facts"])
    return f"{word} {hyphened(body['item'])}" + (f": {said}" if said else "")


def _about(body: _Body) -> str:
    stated = ((name.replace("_", " "), readable(str(value))) for name, value in body.items())
    return ", ".join(f"{name} {value}" if value else f"{name} no longer stated" for name, value in stated)


def hold(body: _Body, _mark: str) -> str:
    """An item was put on hold, or released."""
    return f"{'hold' if body['held'] else 'release'} {hyphened(body['item'])}"


def note(body: _Body, _mark: str) -> str:
    """A note was made of an item."""
    return f"note {hyphened(body['item'])}: {body['text']}"


def packed(body: _Body, _mark: str) -> str:
    """Cases or pallets were numbered."""
    units = counted(len(body["ssccs"]), body["unit"])
    return f"packed {units} of {counted(body['bottles'], 'bottle')} of {hyphened(body['item'])}"


# -- the house -------------------------------------------------------------------------


def recipe(body: _Body, _mark: str) -> str:
    """A recipe was written."""
    parts = ", ".join(f"{part['parts']} {named(part['component'])}" for part in body["parts"])
    before = f", revised from {body['revised_from']}" if "revised_from" in body else ""
    return f"recipe {body['name']}: {parts}{before}"


def reserve(body: _Body, _mark: str) -> str:
    """Numbers were set aside."""
    return f"reserve {several(body['items'])}"


def paper(body: _Body, _mark: str) -> str:
    """A paper or a run of labels was made."""
    stopped = " (stopped half-way)" if "stopped" in body["facts"] else ""
    return f"{body['paper']}: {several(body['items'])}{stopped}"


def imported(body: _Body, _mark: str) -> str:
    """Files were taken in."""
    return f"imported {', '.join(body['files'])}: {counted(body['items'], 'item')}, {counted(body['pours'], 'pour')}"


def close(_body: _Body, _mark: str) -> str:
    """A period was closed."""
    return "close: nothing may happen before"


def declared(body: _Body, _mark: str) -> str:
    """Figures were declared."""
    lines = counted(len(body["lines"]), "figure")
    return f"declared: {lines} of {body['start'][:10]} to {body['end'][:10]}, rounded {body['rule']}"


def recall(body: _Body, _mark: str) -> str:
    """A recall found what is affected, and held it."""
    held = f"{len(body['held'])} put on hold" if body["held"] else "none put on hold"
    return f"{'mock recall' if body['mock'] else 'recall'}: {counted(len(body['items']), 'item')} affected, {held}"


def release(body: _Body, _mark: str) -> str:
    """The holds of a recall ended."""
    return f"release of recall {body['recall']}: {several(body['items']) or 'nothing released'}"


def void(body: _Body, _mark: str) -> str:
    """An entry no longer counts."""
    return f"void of entry {body['entry']}"
