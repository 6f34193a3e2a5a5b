"""From what was typed to what stands in the journal: an amount becomes whole milligrams, once.

A volume needs a strength to become a mass; where none was typed, the book's own is used and kept beside the
mass (`book_fraction`), so that a later correction can find the pours that relied on it.

>>> from pourbook.book.entries import Move
>>> from pourbook.quantities import read_amount, read_strength
>>> move = Move("origin", "C000123Y", read_amount("200 l"), read_strength("63.5"))
>>> line = frozen_move(move, NOTHING)
>>> line["mass"], line["ethanol"], line["typed"]
(180230858, 100233369, {'amount': '200 l', 'strength': '63.5 % vol'})
"""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any

from pourbook.alcoholometry.apparent import density_of
from pourbook.alcoholometry.strength import mass_fraction
from pourbook.alcoholometry.volumes import (
    EXTRACT_ML_PER_G,
    Composition,
    density_mg_m3,
    liquid_of,
    mass_mg_in_air,
    mass_mg_of_volume,
    volume_ml,
)
from pourbook.book.contents import NOTHING, Holding
from pourbook.book.entries import SOURCES, Gauge, Move
from pourbook.book.fold import PPB, gauged, is_beyond
from pourbook.book.journal import fields
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.errors import Malformed, OutOfRange
from pourbook.gauging.as_typed import amount_again, celsius_again, kept_amount, kept_strength, strength_again
from pourbook.liquid import Liquid, share
from pourbook.quantities import Amount, Strength, in_bottles

__all__ = ["frozen_gauge", "frozen_move", "thawed_move"]


def frozen_move(move: Move, source: Holding) -> dict[str, Any]:
    """The line of a pour as the journal keeps it, by what the source holds just before (`NOTHING` for outside).

    A line that takes more than the book holds, beyond its tolerance, is marked `beyond`; the rules decide on it.

    Raises:
        Malformed: a strength or a mass is needed and missing.
        OutOfRange: a strength or temperature outside the formula.
    """
    line: dict[str, Any] = {"from": move.source, "to": move.target}
    line |= _told(_as_typed(move.amount, move.strength, move.temperature_c), move.facts)
    if move.pending:
        line["pending"] = 1
    if move.tolerance_mg is not None:
        line["tolerance"] = move.tolerance_mg
    if move.redistilled:
        line["how"] = "redistilled"
    if move.source in SOURCES:
        _freeze_outside(line, move)
    else:
        _freeze_from_item(line, move, source)
    if move.received is not None:
        fraction = line["ethanol"] / line["mass"] if "ethanol" in line else _fraction(source)
        line["in"] = _mass(move.received, fraction, move.temperature_c, source)
    if move.source not in SOURCES and is_beyond(line, source.mass_mg):
        line["beyond"] = 1
    return line


def _told(typed: Mapping[str, str], facts: Mapping[str, str | int]) -> dict[str, dict[str, Any]]:
    """What was typed and the facts of a line, each under its own name."""
    return {name: dict(told) for name, told in (("typed", typed), ("facts", facts)) if told}


def _freeze_outside(line: dict[str, Any], move: Move) -> None:
    if move.amount is None:
        raise Malformed(f"'all' of {move.source} is not an amount", "write how much, for example '200 l'")
    if move.composition is not None:
        line["mass"], line["ethanol"], line["extract"] = move.composition
        if move.source == "return" and "bottles" in move.facts:
            line["own"] = 1
    elif move.source == "additive":
        line["mass"] = _additive_mass(move.amount)
        line["ethanol"], line["extract"] = 0, line["mass"]
    elif move.source == "water":
        line["mass"], line["ethanol"] = _mass(move.amount, 0.0, move.temperature_c, NOTHING), 0
    elif move.strength is None:
        raise Malformed(
            f"the strength of the liquid from {move.source} is missing",
            "give it, or give the strength expected with --pending until the laboratory has read it",
        )
    else:
        fraction = mass_fraction(move.strength)
        line["mass"] = _mass(move.amount, fraction, move.temperature_c, NOTHING)
        line["ethanol"] = share(line["mass"], round(fraction * PPB), PPB)


def _additive_mass(amount: Amount | int) -> int:
    if isinstance(amount, int):
        return amount
    if amount.dimension == "volume":
        raise Malformed(f"'{amount.typed}' of an additive is a volume", "weigh it: additives count by mass")
    return round(amount.mass_mg)


def _freeze_from_item(line: dict[str, Any], move: Move, source: Holding) -> None:
    if move.amount is None or move.empties:
        line["all"] = 1
    if move.composition is not None:
        line["mass"], line["ethanol"], line["extract"] = move.composition
        return
    if move.amount is None:
        return
    fraction = _fraction(source)
    if move.strength is not None and (not source.mass_mg or move.target == "loss"):
        fraction = mass_fraction(move.strength)
        line["mass"] = _mass(move.amount, fraction, move.temperature_c, NOTHING)
        line["ethanol"] = share(line["mass"], round(fraction * PPB), PPB)
        return
    line["mass"] = _mass(move.amount, fraction, move.temperature_c, source)
    if isinstance(move.amount, Amount) and move.amount.dimension != "mass":
        line["book_fraction"] = round(fraction * PPB)


def frozen_gauge(gauge: Gauge, held: Holding) -> dict[str, Any]:
    """The body of a gauge as the journal keeps it, by what the book holds of the item just before.

    Raises:
        Malformed: neither amount nor strength; a volume of unknown strength.
        OutOfRange: a strength or temperature outside the formula.
    """
    body: dict[str, Any] = {"item": gauge.id}
    body |= _told(_as_typed(gauge.amount, gauge.strength, gauge.temperature_c), gauge.facts)
    body |= _how_read(gauge)
    no_strength = gauge.strength is None and gauge.mass_fraction is None
    if gauge.extract_per_mass is not None:
        body |= _extract_read(gauge, gauge.extract_per_mass, held)
    elif no_strength and gauge.amount is None:
        raise Malformed(f"nothing was read of {hyphened(gauge.id)}", "give an amount, a strength, or both")
    elif no_strength:
        body |= _amount_read(gauge, held)
    elif gauge.amount is None:
        body |= _strength_read(gauge, held)
    else:
        body |= _both_read(gauge, held)
    return body


def _how_read(gauge: Gauge) -> dict[str, Any]:
    """Readings, instruments and uncertainty, as far as there are any."""
    body: dict[str, Any] = {}
    if gauge.reading:
        body["reading"] = {way: dict(shown) for way, shown in gauge.reading.items()}
    if gauge.instruments:
        body["instruments"] = [fields(one) for one in gauge.instruments]
    if gauge.uncertainty:
        body["uncertainty"] = {
            name: {"value": value, "standard": standard}
            for name, (value, standard) in gauge.uncertainty.figures.items()
        }
        if gauge.uncertainty.exact:
            body["taken_as_exact"] = list(gauge.uncertainty.exact)
    if gauge.provisional:
        body["provisional"] = gauge.provisional
    return body


def _extract_read(gauge: Gauge, extract: float, held: Holding) -> dict[str, int]:
    """Solids were determined: they are set, with the strength read, or else the book's."""
    fraction = gauge.mass_fraction
    if fraction is None:
        assert gauge.strength is None, "extract and a true strength make a mass fraction together"
        fraction = _fraction(held)
    read = {"fraction": round(fraction * PPB), "extract": round(extract * PPB)}
    if gauge.mass_fraction is None:
        read["book_fraction"] = read["fraction"]
    sample = liquid_of(PPB, fraction, read["extract"])
    if gauge.amount is not None:
        as_read = Holding(*sample, 0, 0)
        return {**read, "mass": _mass_read(gauge, fraction, as_read)}
    if not held.mass_mg:
        raise Malformed(f"{hyphened(gauge.id)} is empty in the book", "give the amount too")
    return {**read, "ratio": round(PPB * (volume_ml(held.liquid) / held.mass_mg) * (PPB / volume_ml(sample)))}


def _amount_read(gauge: Gauge, held: Holding) -> dict[str, int]:
    assert gauge.amount is not None
    if isinstance(gauge.amount, int) or gauge.amount.dimension == "mass":
        return {"mass": _mass_read(gauge, 0.0, held)}
    if not gauge.amount.value:
        return {"mass": 0}
    if not held.mass_mg:
        raise Malformed(
            f"{hyphened(gauge.id)} is empty in the book, so its strength is unknown",
            "give the strength with the amount",
        )
    fraction = _fraction(held)
    return {"mass": _mass_read(gauge, fraction, held), "book_fraction": round(fraction * PPB)}


def _strength_read(gauge: Gauge, held: Holding) -> dict[str, int]:
    fraction, book_fraction = _fraction_read(gauge, held), _fraction(held)
    return {
        "fraction": round(fraction * PPB),
        "density": density_mg_m3(fraction),
        "book_density": density_mg_m3(book_fraction),
        "book_fraction": round(book_fraction * PPB),
    }


def _both_read(gauge: Gauge, held: Holding) -> dict[str, int]:
    """Extract keeps its mass, so its part of the whole follows from the reading; the loop soon settles."""
    assert gauge.amount is not None
    whole = held
    read: dict[str, int] = {}
    for _ in range(50 if held.extract_mg else 1):
        before = read
        fraction = _fraction_read(gauge, whole)
        mass = _mass_read(gauge, fraction, whole)
        read = {"mass": mass, "fraction": round(fraction * PPB)}
        if read == before:
            break
        whole = Holding(*gauged(read, held.liquid), held.state, held.sealed)
    return read


def _fraction(held: Holding) -> float:
    """Ethanol per ethanol and water in what an item holds."""
    spirit = held.mass_mg - held.extract_mg
    return held.ethanol_mg / spirit if spirit else 0.0


def _fraction_read(gauge: Gauge, held: Holding) -> float:
    """Ethanol per ethanol and water, from the true strength of a liquid that may hold extract."""
    if gauge.mass_fraction is not None:
        return gauge.mass_fraction
    assert gauge.strength is not None
    strength = gauge.strength
    if not held.extract_mg or not strength.value:
        return mass_fraction(strength)
    whole_ml = volume_ml(held.liquid)
    spirit_part = 1.0 - held.extract_mg * EXTRACT_ML_PER_G / 1000.0 / whole_ml
    value = strength.value / Decimal(spirit_part) if spirit_part > 0 else Decimal("Infinity")
    limit = 200 if strength.scale == "proof60f" else 100
    if value > limit:
        raise OutOfRange(f"strength {strength.typed} is impossible with so much extract", "check the reading")
    return mass_fraction(strength._replace(value=value))


def _mass_read(gauge: Gauge, fraction: float, held: Holding) -> int:
    assert gauge.amount is not None
    return _mass(gauge.amount, fraction, gauge.temperature_c, held, gauge.reading.get("weighed", {}))


def _mass(
    amount: Amount | int, fraction: float, temperature_c: float, held: Holding, weighed: Mapping[str, str] = {}
) -> int:
    """Whole milligrams of an amount of liquid of that mass fraction; `weighed` may give the air and weights."""
    if isinstance(amount, int):
        return amount
    if amount.dimension == "mass":
        return _milligrams(amount)
    extract_per_mass = held.extract_mg / held.mass_mg if held.mass_mg else 0.0
    if amount.dimension == "mass_air":
        air, weights = float(weighed.get("air_kg_m3", 1.2)), float(weighed.get("weights_kg_m3", 8000))
        density = density_of(Composition(fraction, extract_per_mass), temperature_c)
        return mass_mg_in_air(amount.mass_mg, density, air, weights)
    return mass_mg_of_volume(_millilitres(amount), fraction, temperature_c, extract_per_mass)


@lru_cache(1 << 12)  # amounts repeat, and exact factors are slow
def _milligrams(amount: Amount) -> int:
    return round(amount.mass_mg)


@lru_cache(1 << 12)
def _millilitres(amount: Amount) -> float:
    return float(amount.volume_ml)


def _as_typed(amount: Amount | int | None, strength: Strength | None, temperature_c: float) -> dict[str, str]:
    """What the person wrote, in a form that can be read again."""
    typed: dict[str, str] = {}
    if isinstance(amount, Amount):
        typed["amount"] = kept_amount(amount)
    if strength is not None:
        typed["strength"] = kept_strength(strength)
    if temperature_c != 20.0:
        typed["temperature"] = f"{temperature_c:.6g} C"
    return typed


# -- back again, for a correction --------------------------------------------------------


def _facts_again(facts: Mapping[str, str | int]) -> Mapping[str, str | int]:
    """Facts as they were told: where time in wood was told in years, its days follow from the day it came."""
    return {name: value for name, value in facts.items() if name != "wood_days" or "in_wood" not in facts}


def thawed_move(line: Mapping[str, Any], *, anew: bool) -> Move:
    """The move that a line of the journal was frozen from; `anew` derives the mass again from what was typed."""
    outside, typed = line["from"] in SOURCES, line.get("typed", {})
    bottles = line.get("facts", {}).get("bottles")
    if anew and bottles is not None and "amount" not in typed and (outside or kind_of(line["from"]) == "lot"):
        typed = {"amount": in_bottles(int(bottles)).typed}
    keep = not anew or "amount" not in typed
    composition = Liquid(line["mass"], line["ethanol"], line.get("extract", 0)) if keep and "ethanol" in line else None
    # From an item, the strength typed went into a gauge of its own, which stands.
    strength = strength_again(typed["strength"]) if "strength" in typed and not keep and outside else None
    return Move(
        line["from"],
        line["to"],
        line.get("mass") if keep else amount_again(typed["amount"]),
        strength,
        20.0 if keep else celsius_again(typed),
        empties="all" in line and "mass" in line,
        received=line.get("in"),
        composition=composition,
        pending="pending" in line,
        redistilled=line.get("how") == "redistilled",
        tolerance_mg=line.get("tolerance"),
        facts=_facts_again(line.get("facts", {})),
    )
