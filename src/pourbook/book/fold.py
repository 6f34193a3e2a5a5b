"""One line of the journal applied to what its items hold: whole numbers, nothing else.

`pour` and `gauge` take holdings and give holdings, the flows of the lineage graph and the states
that were sealed. They know no store, no density and no settings, so that the same functions
record an entry, refold after a correction, rebuild a book and verify it.

A line is the mapping that stands in the entry's body:

    from, to      identifier, or a word for outside
    mass          mg; absent where all was taken, whatever it was
    all           1: the source is left with exactly nothing
    ethanol, extract   mg, where the liquid has its own composition
    in            mg that arrived, where it differs
    own           1: counted bottles of a lot that come back to it, of its own liquid
    beyond        1: more than the book held was taken, and a person confirmed it
    how           redistilled: its time in wood ends
    gauged        mg of total, ethanol and extract that a consignment of a group holds by a gauge just before
    tolerance     mg that may be taken beyond what the book holds, where the instrument says so

>>> line = {"from": "C000123Y", "to": "V000001H", "mass": 250}
>>> done = pour(line, 4096, Holding(1000, 400, 0, state=2, sealed=0), NOTHING)
>>> done.source
Holding(mass_mg=750, ethanol_mg=300, extract_mg=0, state=2, sealed=1)
>>> done.target
Holding(mass_mg=250, ethanol_mg=100, extract_mg=0, state=8192, sealed=0)
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pourbook.book.contents import LINES, NOTHING, Holding
from pourbook.codes.identifiers import hyphened
from pourbook.errors import NotThere, Refused
from pourbook.lineage.graph import CARRY, RETURN, UNEXPLAINED
from pourbook.liquid import EMPTY, MOST_MG, Liquid, share

__all__ = [
    "LINES",
    "NOTHING",
    "PPB",
    "Flow",
    "Holding",
    "Outcome",
    "gauge",
    "gauged",
    "is_beyond",
    "line_number",
    "own_state",
    "pour",
]

PPB = 1_000_000_000
"""Fractions by mass are frozen in parts per thousand million."""


class Flow(NamedTuple):
    """An edge of the lineage graph: a row of the table of that name.

    Attributes:
        target: state it went into; 0 for outside.
        line: number of the line.
        carry: 1 for what remained from the previous state of the same item.
        source: state it came from; 0 for outside.
        how: "" between items, "carry", "redistilled", or the word for outside.
        mass_mg: as received; ethanol_mg and extract_mg likewise.
        out_mass_mg: as it left, where that differs; None where it does not.
    """

    target: int
    line: int
    carry: int
    source: int
    how: str
    mass_mg: int
    ethanol_mg: int
    extract_mg: int
    out_mass_mg: int | None = None
    out_ethanol_mg: int | None = None
    out_extract_mg: int | None = None


class Outcome(NamedTuple):
    """What a line did.

    Attributes:
        source: the source afterwards; None when it lies outside.
        target: the target afterwards; None when it lies outside.
        flows: edges of the lineage graph that it made.
        gauge_sealed: state that a gauge (or an implied one) sealed; 0 for none.
        pour_sealed: state that the pour sealed, of its source, or of what a return goes back into; 0 for none.
        implied_gain_mg: how much more (or, measured on emptying, less) was there than the book held.
    """

    source: Holding | None
    target: Holding | None
    flows: tuple[Flow, ...]
    gauge_sealed: int = 0
    pour_sealed: int = 0
    implied_gain_mg: int = 0


def line_number(entry_number: int, index: int) -> int:
    """The number of a line of an entry."""
    return entry_number * LINES + index


def own_state(line: int) -> int:
    """The state that a gauge (or an implied one) on this line opens; that of its target is one less."""
    return line * 2 + 1


def pour(line: Mapping[str, Any], number: int, source: Holding | None, target: Holding | None) -> Outcome:
    """Pour.

    Args:
        line: as in the entry's body.
        number: of the line.
        source: what the source holds; None when it lies outside.
        target: what the target holds; None when it lies outside.

    Raises:
        NotThere: more than the book holds is taken, and it was not confirmed.
    """
    flows: list[Flow] = []
    gauge_sealed = pour_sealed = gain = 0
    if source is None:
        taken = _from_outside(line, target)
        left = None
        from_state = 0
    else:
        before = source.mass_mg
        source, gauge_sealed = _with_enough(source, line, number, flows)
        gain = source.mass_mg - before
        taken = _take(source.liquid, line)
        from_state = source.state
        pour_sealed = 0 if source.sealed else from_state
        left = Holding(*(source.liquid - taken), from_state, 1)
    received = taken if "in" not in line else _arrived(taken, line["in"])
    if target is None:
        state, filled = 0, None
    elif line["from"] == RETURN:
        state, filled = target.state, _come_home(target, received, line)
        pour_sealed = 0 if target.sealed else state
    else:
        state, filled = _receive(target, received, number, flows)
    out = (None, None, None) if received == taken else tuple(taken)
    how = line["from"] if source is None else line["to"] if target is None else line.get("how", "")
    flows.append(Flow(state, number, 0, from_state, how, *received, *out))
    return Outcome(left, filled, tuple(flows), gauge_sealed, pour_sealed, gain)


def _from_outside(line: Mapping[str, Any], target: Holding | None) -> Liquid:
    """What comes from outside; bottles that come home hold what is left of their lot, as long as any is."""
    if "own" in line and target is not None and target.mass_mg:
        return target.liquid.scaled(line["mass"])
    return Liquid(line["mass"], line["ethanol"], line.get("extract", 0))


def _arrived(taken: Liquid, mass_mg: int) -> Liquid:
    return taken.scaled(mass_mg) if taken.mass_mg else EMPTY


def _with_enough(source: Holding, line: Mapping[str, Any], number: int, flows: list[Flow]) -> tuple[Holding, int]:
    """The source, gauged up (or, where it was emptied, to the measured mass) if the line says more."""
    if "gauged" in line:
        return _regauged(source, Liquid(*line["gauged"]), number, flows)
    mass = line.get("mass")
    held = source.mass_mg
    if mass is None:
        if not held:
            raise NotThere(f"{hyphened(line['from'])} is empty: there is nothing to pour")
        return source, 0
    if mass == held or (mass < held and "all" not in line):
        return source, 0
    if "beyond" not in line and is_beyond(line, held):
        raise NotThere(f"{hyphened(line['from'])} holds {held / 1e6:g} kg; {mass / 1e6:g} kg cannot be taken")
    if held:
        liquid = source.liquid.scaled(mass)
    elif "ethanol" in line:
        liquid = Liquid(mass, line["ethanol"], line.get("extract", 0))
    else:
        raise NotThere(
            f"{hyphened(line['from'])} is empty, so the strength of what was poured is not known",
            "give its strength, or gauge it first",
        )
    return _regauged(source, liquid, number, flows)


def is_beyond(line: Mapping[str, Any], held_mg: int) -> bool:
    """Whether a line takes more than is held, by more than the instrument's tolerance, or 1 g and 0.5 %."""
    excess = line.get("mass", 0) - held_mg
    if excess <= 0 or "all" in line or not (held_mg or "ethanol" in line):
        return False
    if "tolerance" in line:
        return bool(excess > line["tolerance"])
    return not (held_mg and (excess <= 1000 or excess * 200 <= held_mg))


def _regauged(source: Holding, liquid: Liquid, number: int, flows: list[Flow]) -> tuple[Holding, int]:
    """A new state of the same ancestry that holds `liquid`; and the state this sealed, if any.

    An item gauged empty stays in its state, sealed, as if all had been poured out.
    """
    sealed = 0 if source.sealed else source.state
    if not liquid.mass_mg:
        return Holding(0, 0, 0, source.state, 1 if source.state else 0), sealed
    state = own_state(number)
    if source.state:
        flows.append(Flow(state, number, 1, source.state, CARRY, *liquid))
    else:
        flows.append(Flow(state, number, 0, 0, UNEXPLAINED, *liquid))
    return _holding(liquid, state, 0), sealed


def _take(held: Liquid, line: Mapping[str, Any]) -> Liquid:
    mass = line.get("mass", held.mass_mg)
    if mass == held.mass_mg:
        return held
    if "ethanol" not in line:
        return held.split(mass)[0]
    taken = Liquid(mass, line["ethanol"], line.get("extract", 0))
    rest = held - taken
    if min(rest.ethanol_mg, rest.extract_mg, rest.water_mg) < 0:
        raise NotThere(
            f"{hyphened(line['from'])} does not hold so much of one constituent: of the {mass / 1e6:g} kg, "
            f"{taken.ethanol_mg / 1e6:g} kg would be ethanol; it holds {held.ethanol_mg / 1e6:g} kg",
            "check the strength given for the loss",
        )
    return taken


def _receive(target: Holding, received: Liquid, number: int, flows: list[Flow]) -> tuple[int, Holding]:
    """The target with the liquid in it; a sealed state is carried over into a new one."""
    state = target.state
    if not state or target.sealed:
        state = own_state(number) - 1
        if target.mass_mg:
            flows.append(Flow(state, number, 1, target.state, CARRY, *target.liquid))
    return state, _holding(target.liquid + received, state, 0)


def _come_home(target: Holding, received: Liquid, line: Mapping[str, Any]) -> Holding:
    """The target with more of its own liquid, in the same state.

    That is sealed by it: what is poured in afterwards mixes with all that is there, not with what once flowed in.
    """
    if not target.state:
        raise NotThere(f"nothing was ever poured into {hyphened(line['to'])}: nothing of it can come back")
    return _holding(target.liquid + received, target.state, 1)


def _holding(liquid: Liquid, state: int, sealed: int) -> Holding:
    if liquid.mass_mg >= MOST_MG:
        raise Refused("an item cannot hold nine million tonnes", "check the unit")
    return Holding(*liquid, state, sealed)


def gauge(body: Mapping[str, Any], number: int, held: Holding) -> Outcome:
    """Gauge: state what is there, whatever the book said.

    Args:
        body: as in the entry: `mass` mg and/or `fraction` ppb (ethanol per ethanol and water); a
            fraction alone comes with `density` and `book_density`, mg/m3 at 20 °C. Where extract
            was read: `extract` ppb of the total, with `fraction`, and `ratio` ppb (mass per mass held)
            in place of a mass that was not read.
        number: of the line.
        held: what the book holds.

    Raises:
        NotThere: there is nothing whose strength could be read, or nothing to scale.
    """
    flows: list[Flow] = []
    after, sealed = _regauged(held, gauged(body, held.liquid), number, flows)
    return Outcome(after, None, tuple(flows), gauge_sealed=sealed)


def gauged(body: Mapping[str, Any], held: Liquid) -> Liquid:
    """The liquid after a gauge. Extract that was not read keeps its mass; amount alone scales all."""
    mass = body.get("mass")
    fraction = body.get("fraction")
    if mass == 0:
        return EMPTY
    if "extract" in body:
        if mass is None and not held.mass_mg:
            raise _empty(body)
        whole = share(held.mass_mg, body["ratio"], PPB) if mass is None else mass
        solids = share(whole, body["extract"], PPB)
        return Liquid(whole, share(whole - solids, fraction or 0, PPB), solids)
    if fraction is None:
        if not held.mass_mg:
            raise NotThere(
                f"{hyphened(body['item'])} is empty in the book, so its strength is not known",
                "give the strength together with the amount",
            )
        return held.scaled(mass or 0)
    if mass is None:
        if not held.mass_mg:
            raise _empty(body)
        spirit = share(held.mass_mg - held.extract_mg, body["density"], body["book_density"])
        return Liquid(spirit + held.extract_mg, share(spirit, fraction, PPB), held.extract_mg)
    extract = min(held.extract_mg, mass)
    return Liquid(mass, share(mass - extract, fraction, PPB), extract)


def _empty(body: Mapping[str, Any]) -> NotThere:
    return NotThere(
        f"{hyphened(body['item'])} is empty in the book: a strength alone says nothing of it", "give the amount, too"
    )
