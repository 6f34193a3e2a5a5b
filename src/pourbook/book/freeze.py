"""From what was typed to what stands in the journal: an amount becomes whole milligrams, once.

A volume needs a strength to become a mass; where none was typed, the book's own is used and kept
beside the derived mass (`book_fraction`), so that a later correction can find the pours that
leaned on it.

>>> from pourbook.book.entries import Move
>>> from pourbook.quantities import read_amount, read_strength
>>> move = Move("origin", "C000123Y", read_amount("200 l"), read_strength("63.5"))
>>> line = frozen_move(move, NOTHING)
>>> line["mass"], line["ethanol"], line["typed"], line["strength"]
(180230858, 100233369, '200 l', '63.5 % vol')
"""

from collections.abc import Mapping
from decimal import Decimal
from functools import lru_cache
from typing import Any

from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.strength import mass_fraction
from pourbook.alcoholometry.volumes import (
    EXTRACT_ML_PER_G,
    density_g_m3,
    liquid_of,
    mass_mg_in_air,
    mass_mg_of_volume,
    volume_ml,
)
from pourbook.book.as_typed import amount_again, kept_amount, kept_strength, strength_again
from pourbook.book.entries import SOURCES, Gauge, Move
from pourbook.book.fold import PPB, gauged
from pourbook.book.holding import NOTHING, Holding
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import Liquid, share
from pourbook.quantities import Amount, Strength, read_temperature

__all__ = ["frozen_gauge", "frozen_move", "thawed_gauge", "thawed_move"]


def frozen_move(move: Move, source: Holding, *, confirmed: bool = False) -> dict[str, Any]:
    """The line of a pour as the journal keeps it.

    Args:
        move: as asked for.
        source: what the source holds just before; `NOTHING` for outside.
        confirmed: whether an amount beyond the book was confirmed.

    Raises:
        Malformed: a strength or a mass is needed and missing; a fact that is none.
        OutOfRange: a strength or temperature outside the formula.
    """
    _check_facts(move.facts)
    line: dict[str, Any] = {"from": move.source, "to": move.target, **move.facts}
    line |= _as_typed(move.amount, move.strength, move.temperature_c)
    if confirmed:
        line["confirmed"] = 1
    if move.awaited:
        line["awaited"] = 1
    if move.source in SOURCES:
        _freeze_outside(line, move)
    else:
        _freeze_from_item(line, move, source)
    if move.received is not None:
        fraction = line["ethanol"] / line["mass"] if "ethanol" in line else _fraction(source)
        line["in"] = _mass(move.received, fraction, move.temperature_c, source)
    return line


def _freeze_outside(line: dict[str, Any], move: Move) -> None:
    if move.amount is None:
        raise Malformed(f"'all' of {move.source} is no amount", "write how much, for example '200 l'")
    if move.composition is not None:
        line["mass"], line["ethanol"], line["extract"] = move.composition
    elif move.source == "additive":
        line["mass"] = _additive_mass(move.amount)
        line["ethanol"], line["extract"] = 0, line["mass"]
    elif move.source == "water":
        line["mass"], line["ethanol"] = _mass(move.amount, 0.0, move.temperature_c, NOTHING), 0
    elif move.strength is None:
        raise Malformed(
            f"the strength of what came from {move.source} is missing",
            "give it, or mark it as awaited from the laboratory together with the strength expected",
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
    """The body of a gauge as the journal keeps it.

    Args:
        gauge: as asked for.
        held: what the book holds of the item just before.

    Raises:
        Malformed: neither amount nor strength; a volume whose strength nobody knows.
        OutOfRange: a strength or temperature outside the formula.
    """
    _check_facts(gauge.facts)
    body: dict[str, Any] = {"item": gauge.id, **gauge.facts}
    body |= _as_typed(gauge.amount, gauge.strength, gauge.temperature_c)
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
        raise Malformed(f"{hyphened(gauge.id)} is empty in the book", "give the amount, too")
    return {**read, "ratio": round(PPB * (volume_ml(held.liquid) / held.mass_mg) * (PPB / volume_ml(sample)))}


def _amount_read(gauge: Gauge, held: Holding) -> dict[str, int]:
    assert gauge.amount is not None
    if isinstance(gauge.amount, int) or gauge.amount.dimension == "mass":
        return {"mass": _mass_read(gauge, 0.0, held)}
    if not gauge.amount.value:
        return {"mass": 0}
    if not held.mass_mg:
        raise Malformed(
            f"{hyphened(gauge.id)} is empty in the book, so its strength is not known",
            "give the strength together with the amount",
        )
    fraction = _fraction(held)
    return {
        "mass": _mass_read(gauge, fraction, held),
        "book_fraction": round(fraction * PPB),
    }


def _strength_read(gauge: Gauge, held: Holding) -> dict[str, int]:
    fraction, book_fraction = _fraction_read(gauge, held), _fraction(held)
    return {
        "fraction": round(fraction * PPB),
        "density": density_g_m3(fraction),
        "book_density": density_g_m3(book_fraction),
        "book_fraction": round(book_fraction * PPB),
    }


def _both_read(gauge: Gauge, held: Holding) -> dict[str, int]:
    """Extract keeps its mass, so its part of the whole follows from the reading itself: soon this settles."""
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
        raise OutOfRange(f"strength {strength.typed} cannot be beside so much extract", "check the reading")
    return mass_fraction(strength._replace(value=value))


def _mass_read(gauge: Gauge, fraction: float, held: Holding) -> int:
    assert gauge.amount is not None
    return _mass(gauge.amount, fraction, gauge.temperature_c, held, gauge.facts)


def _mass(
    amount: Amount | int, fraction: float, temperature_c: float, held: Holding, facts: Mapping[str, str | int] = {}
) -> int:
    """Whole milligrams of an amount of liquid of that mass fraction; the facts may say what air it was weighed in."""
    if isinstance(amount, int):
        return amount
    if amount.dimension == "mass":
        return _milligrams(amount)
    if amount.dimension == "mass_air":
        air, weights = float(facts.get("air_kg_m3", 1.2)), float(facts.get("weights_kg_m3", 8000))
        return mass_mg_in_air(amount.mass_mg, density_kg_m3(fraction, temperature_c), air, weights)
    extract_per_mass = held.extract_mg / held.mass_mg if held.mass_mg else 0.0
    return mass_mg_of_volume(_millilitres(amount), fraction, temperature_c, extract_per_mass)


@lru_cache(1 << 12)  # amounts of a history repeat, and exact factors are slow
def _milligrams(amount: Amount) -> int:
    return round(amount.mass_mg)


@lru_cache(1 << 12)
def _millilitres(amount: Amount) -> float:
    return float(amount.volume_ml)


def _as_typed(amount: Amount | int | None, strength: Strength | None, temperature_c: float) -> dict[str, str]:
    """What the person wrote, kept beside what was derived, in a form that can be read again."""
    typed: dict[str, str] = {}
    if isinstance(amount, Amount):
        typed["typed"] = kept_amount(amount)
    if strength is not None:
        typed["strength"] = kept_strength(strength)
    if temperature_c != 20.0:
        typed["temperature"] = f"{temperature_c:.6g} C"
    return typed


def _check_facts(facts: Mapping[str, str | int]) -> None:
    """Refuse facts that bear the name of what the fold itself reads."""
    for name in facts:
        if name in _STRUCTURE:
            raise Malformed(f"'{name}' cannot be the name of a fact", "choose another name")


# -- back again, for a correction --------------------------------------------------------

_STRUCTURE = frozenset(
    ("from", "to", "mass", "all", "ethanol", "extract", "in", "confirmed", "awaited", "book_fraction", "item",
     "fraction", "density", "book_density", "ratio")
)  # fmt: skip
_AS_TYPED = frozenset(("typed", "strength", "temperature"))


def thawed_move(line: dict[str, Any], *, anew: bool) -> Move:
    """The move that a line of the journal was frozen from.

    Args:
        line: as in the entry's body.
        anew: derive the mass again from what was typed; else keep what was derived.
    """
    outside = line["from"] in SOURCES
    facts = {name: value for name, value in line.items() if name not in _STRUCTURE}
    keep = not anew or "typed" not in line
    if not keep:
        facts = {name: value for name, value in facts.items() if name not in _AS_TYPED}
    composition = Liquid(line["mass"], line["ethanol"], line.get("extract", 0)) if keep and "ethanol" in line else None
    # From an item, the strength typed went into a gauge of its own, which stands.
    strength = strength_again(line["strength"]) if "strength" in line and not keep and outside else None
    return Move(
        line["from"],
        line["to"],
        line.get("mass") if keep else amount_again(line["typed"]),
        strength,
        20.0 if keep else _temperature(line),
        empties="all" in line and "mass" in line,
        received=line.get("in"),
        composition=composition,
        awaited="awaited" in line,
        facts=facts,
    )


def thawed_gauge(body: dict[str, Any]) -> Gauge:
    """The gauge that a body of the journal was frozen from, as typed."""
    facts = {name: value for name, value in body.items() if name not in _STRUCTURE | _AS_TYPED}
    return Gauge(
        body["item"],
        amount_again(body["typed"]) if "typed" in body else body.get("mass"),
        strength_again(body["strength"]) if "strength" in body else None,
        _temperature(body),
        facts,
        None if "strength" in body or "fraction" not in body else body["fraction"] / PPB,
        body["extract"] / PPB if "extract" in body else None,
    )


def _temperature(line: dict[str, Any]) -> float:
    return float(read_temperature(line["temperature"]).celsius) if "temperature" in line else 20.0
