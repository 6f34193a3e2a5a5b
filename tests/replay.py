"""The book read a second time, by other means: what every trace is compared with.

Replays the entries in force, in order of time, with the formulas of the design page written
down anew, and follows the liquid drop by drop: beside its amounts, every item carries
`parcels`, the exact part of it that came from each origin by way of each set of items. A drop
that passed an item twice has it in its set once, so nothing needs correcting for cycles.
"""

import json
from fractions import Fraction

from pourbook.codes.identifiers import of_key
from pourbook.times import DAY_US, moment_of

PPB = 10**9
NO_SPIRIT = "no spirit"
NOTHING = (0, 0, 0)


def by_alcohol(mass, ethanol, extract):
    return ethanol


def by_mass(mass, ethanol, extract):
    return mass


BASES = {"alcohol": by_alcohol, "mass": by_mass}


def rounded(amount, part, whole):
    """amount x part / whole, half up."""
    return (2 * amount * part + whole) // (2 * whole)


def plus(one, other):
    """Sum of two liquids, part by part."""
    return tuple(a + b for a, b in zip(one, other, strict=True))


def minus(one, other):
    """Difference of two liquids, part by part."""
    return tuple(a - b for a, b in zip(one, other, strict=True))


def in_proportion(held, mass):
    """(mass, ethanol, extract) of that mass of a liquid."""
    whole, ethanol, extract = held
    if mass == whole:
        return held
    part = rounded(ethanol, mass, whole)
    return (mass, part, rounded(ethanol + extract, mass, whole) - part)


class Body:
    """What an item holds, and what became of all that was ever in it."""

    def __init__(self):
        self.held = NOTHING
        self.parcels = {}  # (origin, items passed) to part, by the basis
        self.clocks = {}  # wood time, or wood time less the moment inside a cask, to part, by alcohol
        self.last = None  # (held, parcels, clocks, moment) just before it was last emptied
        self.came_in = self.went_out = self.gained = NOTHING
        self.poured_in = (0, 0)  # weight by the basis, and mass
        self.poured_in_from = {}  # item passed to (weight, mass) of what had been in it


class Replay:
    """Every item after the entries up to a moment (None: all of them)."""

    def __init__(self, house, basis="alcohol", until=None):
        self.weigh = BASES[basis]
        self.bodies = {}
        self._moment = 0
        self.came_in = self.went_out = self.gained = NOTHING
        for happened, lines in entries_in_force(house.book.store):
            if until is None or happened <= until:
                for number, line in lines:
                    self._apply(happened, number, line)

    def body(self, identifier):
        return self.bodies.setdefault(identifier, Body())

    # -- answers ---------------------------------------------------------------------------

    def traced(self, identifier):
        """Held and parcels: now, or just before the item was last emptied."""
        body = self.body(identifier)
        return (body.held, body.parcels) if body.held[0] else body.last[:2]

    def item_shares(self, identifier):
        """Part of the item that was once in each other item."""
        shares = {}
        for (_, passed), part in self.traced(identifier)[1].items():
            for item in passed - {identifier}:
                shares[item] = shares.get(item, 0) + part
        return shares

    def origin_shares(self, identifier):
        """Part of the item that came with each line from outside."""
        shares = {}
        for (origin, _), part in self.traced(identifier)[1].items():
            shares[origin] = shares.get(origin, 0) + part
        return shares

    def reached(self, identifier):
        """Other item to (share of all poured into it, share of what it holds now)."""
        found = {}
        for other, body in self.bodies.items():
            if other != identifier and identifier in body.poured_in_from:
                weight, mass = body.poured_in_from[identifier]
                whole, whole_mass = body.poured_in
                now = sum(part for (_, passed), part in body.parcels.items() if identifier in passed)
                found[other] = (
                    Fraction(weight) / whole if whole else Fraction(mass) / whole_mass,
                    now if body.held[0] else None,
                )
        return found

    def traced_clocks(self, identifier):
        """Wood times: now, or just before the item was last emptied."""
        body = self.body(identifier)
        return body.clocks if body.held[0] else body.last[2]

    def age(self, identifier, now):
        """(youngest, mean) wood time; None where unknown, and without spirit."""
        body = self.body(identifier)
        clocks = self.traced_clocks(identifier)
        if not body.held[0]:
            now = body.last[3]
        if None in clocks:
            return None, None
        gained = now if identifier[0] == "C" else 0
        ages = {clock + gained: part for clock, part in clocks.items() if clock != NO_SPIRIT}
        if not ages:
            return None, None
        whole = sum(ages.values())
        return min(ages), sum(age * part for age, part in ages.items()) / whole if whole else min(ages)

    # -- the rules -------------------------------------------------------------------------

    def _apply(self, happened, number, line):
        self._moment = happened
        if "item" in line:
            self._gauge(self.body(line["item"]), number, line)
        else:
            self._pour(happened, number, line)

    def _gauge(self, body, number, line):
        mass, _, extract = body.held
        if line.get("mass") == 0:
            after = NOTHING
        elif "extract" in line:
            whole = line["mass"] if "mass" in line else rounded(mass, line["ratio"], PPB)
            solids = rounded(whole, line["extract"], PPB)
            after = (whole, rounded(whole - solids, line.get("fraction", 0), PPB), solids)
        elif "fraction" not in line:
            after = in_proportion(body.held, line["mass"])
        elif "mass" not in line:
            spirit = rounded(mass - extract, line["density"], line["book_density"])
            after = (spirit + extract, rounded(spirit, line["fraction"], PPB), extract)
        else:
            kept = min(extract, line["mass"])
            after = (line["mass"], rounded(line["mass"] - kept, line["fraction"], PPB), kept)
        self._set(body, number, after)

    def _set(self, body, number, after):
        """Amounts become what was read; ancestry stays, or begins as unexplained."""
        if not body.parcels and after[0]:
            body.parcels = {(number, frozenset()): Fraction(1)}
            body.clocks = {None: Fraction(1)}
            body.poured_in = (body.poured_in[0] + self.weigh(*after), body.poured_in[1] + after[0])
        if not after[0] and body.held[0]:
            body.last = (body.held, dict(body.parcels), dict(body.clocks), self._moment)
        body.gained = plus(body.gained, minus(after, body.held))
        body.held = after

    def _pour(self, happened, number, line):
        source, target = line["from"], line["to"]
        if source[0].isupper():
            taken, parcels, clocks = self._take(source, number, line, happened)
        else:
            taken = (line["mass"], line["ethanol"], line.get("extract", 0))
            parcels = {(number, frozenset()): Fraction(1)}
            days = line.get("facts", {}).get("wood_days")
            wood = None if days is None else int(days) * DAY_US
            clocks = {NO_SPIRIT if source in ("water", "additive") else wood: Fraction(1)}
            self.came_in = plus(self.came_in, taken)
        received = in_proportion(taken, line["in"]) if "in" in line else taken
        self.gained = plus(self.gained, minus(received, taken))
        if not target[0].isupper():
            self.went_out = plus(self.went_out, received)
        elif source == "return":
            body = self.body(target)
            body.came_in = plus(body.came_in, received)
            body.held = plus(body.held, received)
        else:
            if line.get("how") == "redistilled":
                clocks = {0: Fraction(1)}
            self._receive(self.body(target), received, parcels, clocks, happened if target[0] == "C" else 0)

    def _take(self, source, number, line, happened):
        body = self.body(source)
        was_empty = not body.held[0]
        mass = line.get("mass", body.held[0])
        if mass > body.held[0] or (mass < body.held[0] and "all" in line):
            if body.held[0]:
                self._set(body, number, in_proportion(body.held, mass))
            else:
                self._set(body, number, (mass, line["ethanol"], line.get("extract", 0)))
        if "ethanol" in line and mass != body.held[0]:
            taken = (mass, line["ethanol"], line.get("extract", 0))
        else:
            taken = in_proportion(body.held, mass)
        rest = minus(body.held, taken)
        assert min(rest) >= 0
        assert rest[1] + rest[2] <= rest[0]
        if not rest[0] and not was_empty:
            body.last = (body.held, dict(body.parcels), dict(body.clocks), happened)
        body.held = rest
        body.went_out = plus(body.went_out, taken)
        gained = happened if source[0] == "C" else 0
        return (
            taken,
            having_passed(source, body.parcels),
            {later(clock, gained): part for clock, part in body.clocks.items()},
        )

    def _receive(self, body, received, parcels, clocks, since):
        arriving = {later(clock, -since): part for clock, part in clocks.items()}
        if not body.held[0]:
            body.parcels, body.clocks = {}, {}
        body.parcels = mixed(body.parcels, parcels, *weights(self.weigh, body.held, received))
        body.clocks = mixed(body.clocks, arriving, *weights(by_alcohol, body.held, received))
        weight, mass = self.weigh(*received), received[0]
        body.came_in = plus(body.came_in, received)
        body.poured_in = (body.poured_in[0] + weight, body.poured_in[1] + mass)
        passed_by = {}
        for (_, passed), part in parcels.items():
            for item in passed:
                passed_by[item] = passed_by.get(item, 0) + part
        for item, part in passed_by.items():
            before = body.poured_in_from.get(item, (0, 0))
            body.poured_in_from[item] = (before[0] + weight * part, before[1] + mass * part)
        body.held = plus(body.held, received)


def having_passed(item, parcels):
    """Parcels after they left an item: two that differed by it alone are one now."""
    found = {}
    for (origin, passed), part in parcels.items():
        key = (origin, passed | {item})
        found[key] = found.get(key, 0) + part
    return found


def later(clock, by):
    """A wood time moved on; unknown and none stay what they are."""
    return clock if clock in (None, NO_SPIRIT) else clock + by


def weights(weigh, held, received):
    """Weights of what is there and what arrives; by mass where the basis finds nothing at all."""
    pair = weigh(*held), weigh(*received)
    return pair if sum(pair) else (held[0], received[0])


def mixed(there, arriving, weight_there, weight_arriving):
    """Perfect mixing."""
    whole = weight_there + weight_arriving
    found = {key: part * Fraction(weight_there, whole) for key, part in there.items()}
    for key, part in arriving.items():
        found[key] = found.get(key, 0) + part * Fraction(weight_arriving, whole)
    return found


def entries_in_force(store):
    """(happened, [(line number, line)]) of pours and gauges that count, in the order they apply."""
    found, place_of = {}, {}
    for (text,) in store.query("SELECT bytes FROM entry ORDER BY number"):
        entry = json.loads(text)
        number = entry["number"]
        place_of[number] = number
        if entry["kind"] == "void":
            found.pop(entry["body"]["entry"], None)
        if "replaces" in entry:
            found.pop(entry["replaces"], None)
            place_of[number] = place_of[entry["replaces"]]
        if entry["kind"] in ("pour", "gauge"):
            lines = entry["body"].get("lines", [entry["body"]])
            found[number] = (moment_of(entry["happened"]), place_of[number], lines)
    for number, (happened, _, lines) in sorted(found.items(), key=lambda pair: pair[1][:2]):
        yield happened, [(number * 4096 + index, line) for index, line in enumerate(lines)]


def every_item(store):
    """Identifiers of all items in the book."""
    return [of_key(key) for (key,) in store.query("SELECT key FROM item ORDER BY key")]
