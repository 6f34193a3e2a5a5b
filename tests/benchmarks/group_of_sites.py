"""A made-up group of distilleries as rows of the book's tables, of any length.

Each site fills, samples, racks, loses, vats and bottles as `house_files.py` has it, most of its lots from a short
lineage and some from heels that go back to the first day; now and then it sends a cask's liquid to another site, which
receives a little less a fortnight later and goes on with it. Numbers are those of a group's book: the entry of a site
times 1000 plus its code, so that entry, line and state say whose they are. Every line goes through the book's own fold.
"""

import random
from collections import deque
from datetime import UTC, datetime
from itertools import count
from typing import NamedTuple

from pourbook.book.contents import NOTHING
from pourbook.book.fold import gauge, line_number, pour
from pourbook.book.journal import GENESIS, chaining
from pourbook.codes.identifiers import KINDS, write

__all__ = ["CODES", "COLUMNS", "Group", "site_of_item", "site_of_line", "site_of_state"]

CODES = 1000
"""A number in a group is a site's own times this, plus the site's code."""

_RANGE, _CONSIGNMENTS = 10**9, 9 * 10**11  # numbers of items: of a site; from here on, of what is on its way

_LINES = line_number(1, 0)
_PEOPLE = ("M. Aldane", "T. Verrow", "Isolde Quarn", "P. Hask")

COLUMNS = {
    "entry": ("number", "kind", "happened", "place", "gone", "bytes", "hash"),
    "item": ("key", "kind", "entry"),
    "fact": ("item", "name", "happened", "place", "value", "lookup"),
    "ledger": ("item", "happened", "place", "line", "mass", "ethanol", "extract", "state", "sealed"),
    "state": ("id", "item", "sealed_happened", "sealed_place", "mass_in", "ethanol_in"),
    "flow": ("target", "line", "carry", "source", "how", "happened", "mass", "ethanol", "extract",
             "out_mass", "out_ethanol", "out_extract"),
    "on_hand": ("kind", "item"),
}  # fmt: skip
"""The tables that are filled, with their columns in the order of the rows."""


def site_of_line(line):
    """The code of the site that recorded it."""
    return line // _LINES % CODES


def site_of_state(state):
    """The code of the site whose line opened it."""
    return state // 2 // _LINES % CODES


def site_of_item(key):
    """The code of the site that named it; what is on its way was named by its sender."""
    number = key // len(KINDS)
    return number % CODES if number >= _CONSIGNMENTS else number // _RANGE


class Vessel:
    """What an item holds while rows are made."""

    __slots__ = ("ethanol_in", "held", "key", "kind", "mass_in", "name")

    def __init__(self, key, kind, name):
        self.key, self.kind, self.name = key, kind, name
        self.held = NOTHING
        self.mass_in = self.ethanol_in = 0


class Sent(NamedTuple):
    """A consignment, and when it will be received."""

    vessel: Vessel
    arrives: int


class Site:
    """One distillery."""

    def __init__(self, group, code):
        self.group, self.code = group, code
        self.draw = random.Random(group.seed * CODES + code)
        self.entries = count(1)
        self.numbers = {kind: count(code * _RANGE + 1) for kind in KINDS}
        self.next_hash = chaining(GENESIS)
        self.full, self.empty, self.heels, self.coming = [], [], {}, deque()
        self.last = 0

    # -- rows ----------------------------------------------------------------------------

    def entry(self, kind, body):
        """A new entry; its number in the group."""
        self.last = next(self.entries)
        number = self.last * CODES + self.code
        happened = datetime.fromtimestamp(self.group.now / 1e6, UTC).isoformat().replace("+00:00", "Z")
        text = (
            f'{{"body":{body},"happened":"{happened}","kind":"{kind}","number":{self.last},"recorded":"{happened}",'
            f'"who":"{self.draw.choice(_PEOPLE)}"}}'
        )
        self.group.row("entry", (number, kind, self.group.now, number, 0, text, self.next_hash(text)))
        return number

    def item(self, kind, **facts):
        number = next(self.numbers[kind])
        return self.named(kind, number, {"ref": f"site {self.code} {kind} {number % _RANGE}", **facts})

    def named(self, kind, number, facts):
        key = number * len(KINDS) + list(KINDS).index(kind)
        name = write(kind, number)
        told = ",".join(f'"{fact}":"{value}"' for fact, value in facts.items())
        entry = self.entry("item", f'{{"facts":{{{told}}},"item":"{name}"}}')
        self.group.row("item", (key, kind, entry))
        for fact, value in facts.items():
            lookup = value.replace(" ", "").lower() if fact == "ref" else None
            self.group.row("fact", (key, fact, self.group.now, entry, value, lookup))
        return Vessel(key, kind, name)

    def pour(self, source, target, **amount):
        """One pour between vessels, or words for outside, by the book's own fold."""
        outside = {end: one for end, one in (("from", source), ("to", target)) if isinstance(one, str)}
        ends = {"from": getattr(source, "name", source), "to": getattr(target, "name", target)}
        told = ",".join(f'"{word}":{value}' for word, value in amount.items())
        entry = self.entry("pour", f'{{"lines":[{{"from":"{ends["from"]}",{told},"to":"{ends["to"]}"}}]}}')
        line = line_number(entry, 0)
        done = pour(
            {**ends, **amount},
            line,
            None if "from" in outside else source.held,
            None if "to" in outside else target.held,
        )
        self.group.pours += 1
        if done.pour_sealed:
            self.group.seal(source, line)
        for flow in done.flows:
            self.group.flow(flow, target if "to" not in outside else None)
        for vessel, after in ((source, done.source), (target, done.target)):
            if after is not None:
                self.group.holds(vessel, after, line)

    def gauge(self, vessel, mass):
        entry = self.entry("gauge", f'{{"item":"{vessel.name}","mass":{mass}}}')
        line = line_number(entry, 0)
        done = gauge({"item": vessel.name, "mass": mass}, line, vessel.held)
        if done.gauge_sealed:
            self.group.seal(vessel, line)
        for flow in done.flows:
            self.group.flow(flow, vessel)
        self.group.holds(vessel, done.source, line)

    # -- what happens --------------------------------------------------------------------

    def happens(self):
        """What comes next; at least one pour."""
        if self.coming and self.coming[0].arrives <= self.group.now:
            return self.receive(self.coming.popleft().vessel)
        if len(self.full) < 40 or self.draw.random() < 0.02:
            return self.fill()
        if self.draw.random() < self.group.sent:
            return self.send()
        return self.draw.choices((self.bench, self.angels, self.rack, self.vat), (5, 6, 1, 1))[0]()

    def cask(self):
        if self.empty:
            return self.empty.pop()
        return self.item("cask", wood="old oak", capacity_l="250", place=f"row {self.draw.randrange(40)}")

    def fill(self):
        cask, mass = self.cask(), self.draw.randrange(160_000_000, 210_000_000)
        self.pour("origin", cask, mass=mass, ethanol=mass * self.draw.randrange(50, 58) // 100)
        self.full.append(cask)

    def any_full(self):
        return self.draw.choice(self.full)

    def taken(self):
        """A full cask that is about to be emptied."""
        place = self.draw.randrange(len(self.full))
        self.full[place], self.full[-1] = self.full[-1], self.full[place]
        return self.full.pop()

    def bench(self):
        """Three samples, a trial of them, the rest to the drain."""
        vials = []
        for _ in range(3):
            cask, vial = self.any_full(), self.item("vial")
            self.pour(cask, vial, mass=90_000)
            vials.append(vial)
        trial = self.item("trial")
        for vial in vials:
            self.pour(vial, trial, mass=self.draw.randrange(5_000, 30_000))
            self.group.rest(vial)
        self.pour("water", trial, mass=self.draw.randrange(1_000, 20_000), ethanol=0)
        self.pour(trial, "loss", all=1)

    def angels(self):
        cask = self.any_full()
        self.pour(cask, "loss", mass=cask.held.mass_mg // 70)

    def rack(self):
        cask = self.taken()
        target = self.cask()
        self.pour(cask, target, all=1)
        self.empty.append(cask)
        self.full.append(target)

    def vat(self):
        """Casks, and the heel of a line, into a batch; water; a lot, most of it despatched; some back into casks."""
        batch = self.item("batch")
        line = self.draw.choices((0, 4, 1, 2, 3), (12, 2, 2, 2, 2))[0]
        if line in self.heels:
            heel, cleaned = self.heels.pop(line), line != 4 and self.draw.random() < 0.1
            self.pour(heel, "loss" if cleaned else batch, all=1)
        for _ in range(self.draw.randrange(3, 8)):
            cask = self.taken()
            self.pour(cask, batch, all=1)
            self.empty.append(cask)
        self.pour("water", batch, mass=self.draw.randrange(100_000_000, 200_000_000), ethanol=0)
        if self.draw.random() < 0.1:
            cask = self.cask()
            self.pour(batch, cask, mass=140_000_000)
            self.full.append(cask)
        lot = self.item("lot", lot_mark=f"{self.code}-{self.last}")
        if line:
            self.pour(batch, lot, mass=batch.held.mass_mg - self.draw.randrange(40, 90) * 1_000_000)
            self.heels[line] = batch
        else:
            self.pour(batch, lot, all=1)
        self.pour(lot, "despatch", mass=lot.held.mass_mg * 9 // 10)
        self.group.rest(lot)

    def send(self):
        """A cask's liquid to another site; it will be there in a fortnight."""
        cask = self.taken()
        number = _CONSIGNMENTS + (self.last + 2) * CODES + self.code  # of the despatch, after the item's own entry
        consignment = self.named("batch", number, {"ref": f"consignment {self.code}/{self.last + 2}"})
        self.pour(cask, consignment, all=1)
        self.empty.append(cask)
        other = self.draw.choice([one for one in self.group.sites if one is not self])
        other.coming.append(Sent(consignment, self.group.now + 14 * 86_400_000_000))
        self.group.consignments += 1

    def receive(self, consignment):
        """A little less than was sent, found by a gauge, all of it into a cask."""
        self.gauge(consignment, consignment.held.mass_mg * 997 // 1000)
        cask = self.cask()
        self.pour(consignment, cask, all=1)
        self.full.append(cask)


class Group:
    """Sites that record at the same time, and where their rows go.

    Args:
        codes: how many sites.
        pours: how many pours in all, at least.
        into: called with a table, and a row of it.
        sent: how often a site sends a cask away instead of what it does else.
    """

    START_US, END_US = 631_152_000_000_000, 1_577_836_800_000_000  # 1990 to 2020

    def __init__(self, codes, pours, into, seed=1, sent=0.05):
        self.seed, self.wanted, self.sent, self.row = seed, pours, sent if codes > 1 else 0.0, into
        self.pours = self.consignments = 0
        self.now, self.step = self.START_US, (self.END_US - self.START_US) // max(1, pours)
        self.open = {}
        self.sites = [Site(self, code) for code in range(1, codes + 1)]

    def make(self):
        """Every row, the states that are still open at the end."""
        draw = random.Random(self.seed)
        while self.pours < self.wanted:
            before = self.pours
            draw.choice(self.sites).happens()
            self.now += self.step * (self.pours - before)
        for vessel in self.open.values():
            self.put_state(vessel, None)
            if vessel.held.mass_mg:
                self.row("on_hand", (vessel.key % len(KINDS), vessel.key))
        self.open.clear()

    def seal(self, vessel, line):
        """The state that it is in takes nothing more."""
        self.put_state(vessel, line)
        vessel.mass_in = vessel.ethanol_in = 0

    def put_state(self, vessel, line):
        held = vessel.held
        if held.state and not (held.sealed and line is None):
            sealed = (None, None) if line is None else (self.now, line)
            self.row("state", (held.state, vessel.key, *sealed, vessel.mass_in, vessel.ethanol_in))

    def flow(self, flow, into):
        self.row("flow", (*flow[:5], self.now, *flow[5:]))
        if into is not None:
            into.mass_in += flow.mass_mg
            into.ethanol_in += flow.ethanol_mg

    def holds(self, vessel, after, line):
        vessel.held = after
        self.row("ledger", (vessel.key, self.now, line, line, *after))
        if after.mass_mg or not after.sealed:
            self.open[vessel.key] = vessel
        else:
            self.open.pop(vessel.key, None)

    def rest(self, vessel):
        """What is left of a lot or a sample stays in the house: nothing more happens to it."""
        self.row("on_hand", (vessel.key % len(KINDS), vessel.key))
        self.open.pop(vessel.key)
