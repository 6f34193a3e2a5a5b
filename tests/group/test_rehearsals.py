"""A group's book says what a single book would that was fed with the same events: to the milligram, and to 1e-12.

Each step is recorded twice: in one book for all, where what travels lies in a batch on its way, and in the book of its
site, which knows only what it sent and what came.
"""

import random

import pytest
from house import House
from site_houses import Sites

from pourbook import Gauge, Pour
from pourbook.errors import PourbookError
from pourbook.liquid import Liquid

MINUTE = 60_000_000
START = "2026-05-01"


class Both:
    """The same events in one book and in the sites' books."""

    def __init__(self, folder, names, seed):
        self.sites, self.one = Sites(folder, names), House()
        self.random = random.Random(seed)
        self.names, self.items, self.sent = names, {name: [] for name in names}, 0
        self.pours, self.now = [], self.one.clock.us

    def tick(self):
        self.now += MINUTE * self.random.randint(1, 600)
        return self.now

    def in_one(self, site, item):
        return f"{item[0]}{site}{item[1:]}"

    def new(self, site, kind):
        item = f"{kind}{len(self.items[site]) + 1}"
        self.items[site].append(item)
        return item

    def held(self, site):
        return [item for item in self.items[site] if self.one.held(self.in_one(site, item)).mass_mg > 1000]

    def fill(self, site):
        item, at = self.new(site, "C"), self.tick()
        mass = self.random.randint(10**6, 10**8)
        liquid = Liquid(mass, mass * self.random.randint(300, 600) // 1000)
        self.pours.append(
            (
                site,
                item,
                liquid,
                at,
                self.sites[site].cask(item, liquid=liquid, at=at),
                self.one.cask(self.in_one(site, item), liquid=liquid, at=at),
            )
        )

    def move(self, site):
        full = self.held(site)
        if not full:
            return
        source, at = self.random.choice(full), self.tick()
        is_new = self.random.random() < 0.4
        target = self.new(site, self.random.choice("CB")) if is_new else self.random.choice(self.items[site])
        if target != source:
            held = self.one.held(self.in_one(site, source)).mass_mg
            mass = self.random.choice([None, self.random.randint(1, held)])
            self.sites[site].pour(source, target, mass, at=at)
            self.one.pour(self.in_one(site, source), self.in_one(site, target), mass, at=at)

    def ship(self, site, *, lost=False):
        full = [item for item in self.held(site) if item[0] != "L"]
        if not full:
            return
        other = self.random.choice([name for name in self.names if name != site])
        self.sent += 1
        document, consignment = f"D {self.sent}", f"BK{self.sent}"
        for source in self.random.sample(full, self.random.randint(1, min(2, len(full)))):
            held = self.one.held(self.in_one(site, source)).mass_mg
            mass, at = self.random.choice([None, self.random.randint(1000, held)]), self.tick()
            self.sites.send(site, source, mass, to=other, document=document, at=at)
            self.one.pour(self.in_one(site, source), consignment, mass, verb="despatch", at=at)
        if not lost:
            self.arrive(site, other, document, consignment)

    def arrive(self, site, other, document, consignment):
        """A little less or more than was sent; then, sometimes, in two parts."""
        at = self.tick()
        sent = self.one.held(consignment)
        came = sent.scaled(sent.mass_mg * self.random.randint(990, 1002) // 1000)
        fraction = came.ethanol_mg / came.mass_mg  # there is no extract
        read = Gauge(self.one.id(consignment), came.mass_mg, None, mass_fraction=fraction)
        self.one.record(read, at=at, confirmed=True)
        assert self.one.held(consignment) == came
        part, rest = came.split(came.mass_mg // 3) if self.random.random() < 0.5 else (None, came)
        for liquid, mass in ((part, part and part.mass_mg), (rest, None)):
            if liquid:
                item, at = self.new(other, "C"), self.tick()
                self.sites.receive(other, item, liquid=liquid, source=site, document=document, at=at, confirmed=True)
                self.one.pour(consignment, self.in_one(other, item), mass, verb="fill", at=at)

    def correct(self, _site):
        """A fill was misread: replaced where it was recorded, whatever came of it since."""
        site, item, liquid, at, there, here = self.random.choice(self.pours)
        smaller = liquid._replace(ethanol_mg=liquid.ethanol_mg - liquid.ethanol_mg // 50)
        for house, name, recorded in ((self.sites[site], item, there), (self.one, self.in_one(site, item), here)):
            house.replace(recorded, Pour("fill", (house.move("origin", name, liquid=smaller),)), at=at)
        self.pours = [one for one in self.pours if one[1] != item or one[0] != site]

    def agree(self, group):
        """Contents of every item, and shares of every full one, by every basis, back and forward."""
        for site, items in self.items.items():
            for item in items:
                here, there = self.in_one(site, item), self.sites.id(site, item)
                assert group.show(there).holding.liquid == self.one.held(here), (site, item)
                if self.one.held(here).mass_mg:
                    self.same_shares(group, here, there)

    def same_shares(self, group, here, there):
        for by in ("alcohol", "mass", "volume"):
            for ask in ("trace_back", "trace_forward"):
                one = self.shares(getattr(self.one.book, ask)(self.one.id(here), by), self.in_the_group())
                two = self.shares(getattr(group, ask)(there, by), {})
                assert one.keys() == two.keys()
                assert all(abs(one[name] - two[name]) <= 1e-12 for name in one)

    def in_the_group(self):
        """Identifiers of the one book to those of the group; consignments to nothing."""
        return {
            self.one.id(self.in_one(site, item)): self.sites.id(site, item)
            for site, items in self.items.items()
            for item in items
        }

    def shares(self, trace, names):
        return {
            names.get(part.item.id, part.item.id): part.share
            for part in trace.items
            if not (part.item.facts.get("to_site") or (names and part.item.id not in names))
        }


@pytest.mark.parametrize(("names", "seed"), [("AB", 1), ("AB", 2), ("ABC", 3), ("ABC", 4)])
def test_a_month_cut_off_equals_one_book(tmp_path, names, seed):
    both = Both(tmp_path, names, seed)
    with both.sites:
        for name in names:
            both.fill(name)
        steps = [both.fill, both.move, both.move, both.move, both.ship, both.ship]
        for count in range(60):
            both.random.choice(steps)(both.random.choice(names))
            if count in (20, 40):
                both.sites.join()  # now and then, and not only at the end
        both.sites.join()
        with both.sites.group() as group:
            assert group.verify().faults == ()
            both.agree(group)


def test_a_late_correction_and_a_lost_shipment_equal_one_book(tmp_path):
    """Corrected at the site after what came of it was received elsewhere; the shipment stays on its way in both."""
    both = Both(tmp_path, "ABC", 5)
    with both.sites:
        for name in "ABC":
            both.fill(name)
            both.ship(name)
        both.ship("A", lost=True)
        both.sites.join()
        both.move("B")
        try:
            both.correct("A")
        except PourbookError as refusal:
            pytest.fail(refusal.message)
        joined = both.sites.join()
        assert "not received" in [one.what for one in joined.differences]
        with both.sites.group() as group:
            assert group.verify().faults == ()
            lost = next(one for one in joined.differences if one.what == "not received")
            assert group.show(lost.item).holding.liquid == both.one.held(f"BK{both.sent}")
            both.agree(group)
