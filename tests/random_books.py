"""Books that nobody would keep: random entries, made possible by looking at what is there.

An operation is a tuple of plain values, so that Hypothesis can shrink it. It is turned into an
entry by the book it meets: an amount is a fraction of what the source holds at that moment, a
moment is a new one or lies among those before. What the book refuses is simply not recorded.

Fills cost nothing, casks are refilled, blends go back into their own casks, batches are topped
up from casks they filled, samples return, what was sent comes back: everything a lineage can be confused by.
"""

from house import MINUTE_US, House, moment, strength_of
from hypothesis import strategies as st

from pourbook import Gauge, Pour, Void
from pourbook.errors import PourbookError
from pourbook.liquid import Liquid

ITEMS = ("C1", "C2", "C3", "B1", "B2", "T1", "V1", "L1")
START_US = moment("2015-01-01")
STEP_US = 37 * 24 * 60 * MINUTE_US

_item = st.sampled_from(ITEMS)
_full = st.integers(0, len(ITEMS) - 1)  # which of the items that hold something then
_permille = st.integers(1, 1000) | st.none()
_slot = st.integers(0, 40)
_mass = st.integers(1, 50) | st.integers(1_000, 900_000)

fills = st.tuples(
    st.just("fill"),
    st.sampled_from(ITEMS[:5]),
    _mass,
    st.sampled_from((0, 350, 400, 700, 1000)),
    st.integers(0, 80),
    st.sampled_from((None, 0, 800)),
)
waters = st.tuples(st.just("water"), _item, _mass)
pours = st.tuples(st.just("pour"), _full, _item, _permille, st.none())
samples = st.tuples(st.just("pour"), _full, _item, st.integers(1, 20), st.none())
transfers = st.tuples(st.just("pour"), _full, _item, _permille, st.integers(900, 1100))
vattings = st.tuples(st.just("vat"), st.lists(st.tuples(_full, _item, _permille), min_size=2, max_size=4))
dumps = st.tuples(st.just("dump"), _full, _item, st.integers(900, 1100))
losses = st.tuples(st.just("lose"), _full, _permille, st.none() | st.integers(0, 1000))
gauges = st.tuples(
    st.just("gauge"),
    _item,
    st.sampled_from(("mass", "strength", "both", "nothing", "extract")),
    st.integers(500, 1500),
    st.integers(0, 950),
)
returns = st.tuples(st.just("come_back"), _item, _mass)
over = st.tuples(st.just("over"), _full, _item, st.integers(1, 30))

liquid_operations = st.one_of(pours, samples, transfers, vattings, fills, waters, losses, gauges, dumps, over, returns)
"""Operations that move or measure liquid."""

_which = st.integers(0, 60)
corrections = st.tuples(st.just("void"), _which) | st.tuples(st.just("replace"), _which, liquid_operations)
"""Operations that take an entry back, or put another in its place."""

moments = st.none() | _slot
"""None: after everything so far; a number: that slot of the past."""

books = st.lists(st.tuples(liquid_operations | corrections, moments), min_size=12, max_size=40)
"""Operations with their moments, for `built`."""


_VERBS = (
    "pour", "pour", "pour", "vat", "fill", "water", "lose", "gauge", "dump", "over", "come_back", "void", "replace",
)  # fmt: skip


def without_returns(operations):
    """As `books`, but nothing comes back that was never sent."""
    return [
        (one, slot)
        for one, slot in operations
        if "come_back" not in (one[0], one[-1][0] if one[0] == "replace" else "")
    ]


def random_operations(random, count):
    """As `books`, of any length and from a plain generator of random numbers, for long campaigns."""
    return [(_random_operation(random), random.choice((None, None, random.randint(0, 40)))) for _ in range(count)]


def _random_operation(random):
    verb = random.choice(_VERBS)
    full, item = random.randrange(len(ITEMS)), random.choice(ITEMS)
    permille = random.choice((None, random.randint(1, 1000), random.randint(1, 20)))
    if verb == "replace":
        inner = _random_operation(random)
        return inner if inner[0] in ("void", "replace") else (verb, random.randrange(60), inner)
    return {
        "pour": (verb, full, item, permille, random.choice((None, random.randint(900, 1100)))),
        "vat": (verb, [(random.randrange(8), random.choice(ITEMS), random.randint(1, 1000)) for _ in range(3)]),
        "fill": (verb, random.choice(ITEMS[:5]), random.randint(1, 900_000), random.choice((0, 400, 600)), 5, 365),
        "water": (verb, item, random.randint(1, 900_000)),
        "lose": (verb, full, permille, random.choice((None, random.randint(0, 1000)))),
        "gauge": (
            verb,
            item,
            random.choice(("mass", "strength", "both", "nothing", "extract")),
            random.randint(500, 1500),
            400,
        ),
        "dump": (verb, full, item, random.randint(900, 1100)),
        "over": (verb, full, item, random.randint(1, 30)),
        "come_back": (verb, item, random.randint(1, 900_000)),
        "void": (verb, random.randrange(60)),
    }[verb]


class Chance:
    """Turns operations into entries of a house."""

    def __init__(self, house, *, opened=False):
        self.house = house
        rows = house.book.store.query("SELECT happened FROM entry WHERE kind IN ('pour', 'gauge')")
        self.used = {happened for (happened,) in rows}
        self.latest = max(self.used, default=START_US)
        house.clock.us = moment("2030-01-01")
        if not opened:
            house.open(*ITEMS)

    def at(self, slot):
        """A moment that no entry has yet: after all others, or in a slot of the past."""
        happened = self.latest + STEP_US if slot is None else START_US + slot * STEP_US + 1
        while happened in self.used:
            happened += MINUTE_US
        self.used.add(happened)
        self.latest = max(self.latest, happened)
        return happened

    def entry(self, operation, at):
        """The entry an operation means at that moment; None if it means nothing then."""
        return getattr(self, "_" + operation[0])(at, *operation[1:])

    def drafts(self, operation, slot, **more):
        """Drafts of the operation; none if it means nothing."""
        at = self.at(slot)
        entry = self.entry(operation, at)
        return self.house.drafts(entry, at=at, **more) if entry is not None else []

    def record(self, operation, slot=None):
        """What was recorded; None if the operation means nothing, the error if it was refused."""
        if operation[0] in ("void", "replace"):
            drafts = self._correction(*operation)
        else:
            drafts = self.drafts(operation, slot, confirmed=operation[0] == "over")
        if not drafts:
            return None
        try:
            return self.house.book.record(*drafts)
        except PourbookError as refusal:
            return refusal

    def _correction(self, verb, index, operation=None):
        """A void or a replacement of the index-th entry of liquid that counts."""
        rows = self.house.book.store.query(
            "SELECT number, happened FROM entry WHERE kind IN ('pour', 'gauge') AND gone = 0 ORDER BY number"
        )
        number, happened = rows[index % len(rows)] if rows else (0, 0)
        if verb == "void" or not rows:
            return self.house.drafts(Void(number), at=self.latest, reason="recorded by mistake")
        entry = self.entry(operation, happened)
        if entry is None:
            return []
        return self.house.drafts(entry, at=happened, replaces=number, reason="misread", confirmed=True)

    # -- one for each kind of operation ------------------------------------------------------

    def _fill(self, _at, item, mass, parts, extract, wood_days):
        solids = mass * extract // 1000
        liquid = Liquid(mass, (mass - solids) * parts // 1000, solids)
        known = {} if wood_days is None else {"wood_days": wood_days}
        return Pour("fill", (self.house.move("origin", item, liquid=liquid, **known),))

    def _water(self, _at, item, mass):
        return Pour("reduce", (self.house.move("water", item, mass),))

    def _come_back(self, at, item, mass):
        """Of what the item holds, or held when it was emptied, from a customer; new spirit where nobody knows."""
        held = self.house.held(item, at)
        liquid = held.scaled(mass) if held.mass_mg else Liquid(mass, mass * 2 // 5, 0)
        return Pour("return", (self.house.move("return", item, liquid=liquid),))

    def _full(self, at, index):
        """An item that holds something at that moment, and how much; (None, nothing) if none does."""
        held = [(item, self.house.held(item, at)) for item in ITEMS]
        full = [(item, liquid) for item, liquid in held if liquid.mass_mg]
        return full[index % len(full)] if full else (None, Liquid(0, 0, 0))

    def _pour(self, at, index, target, permille, arrived):
        source, held = self._full(at, index)
        amount = None if permille is None else _part(held.mass_mg, permille)
        if source in (None, target) or amount == 0:
            return None
        received = None if arrived is None else _part(held.mass_mg if amount is None else amount, arrived)
        return Pour("pour", (self.house.move(source, target, amount, received=received or None),))

    def _vat(self, at, lines):
        moves = []
        for index, target, permille in lines:
            source, held = self._full(at, index)
            amount = None if permille is None else _part(held.mass_mg, permille)
            if source not in (None, target) and amount != 0:
                moves.append(self.house.move(source, target, amount))
        return Pour("vat", tuple(moves)) if moves else None

    def _dump(self, at, index, target, permille):
        source, held = self._full(at, index)
        measured = _part(held.mass_mg, permille)
        if source == target or not measured:
            return None
        return Pour("dump", (self.house.move(source, target, measured, empties=True),))

    def _over(self, at, index, target, more_mg):
        source, held = self._full(at, index)
        if source in (None, target):
            return None
        return Pour("pour", (self.house.move(source, target, held.mass_mg + more_mg),))

    def _lose(self, at, index, permille, ethanol_permille):
        source, held = self._full(at, index)
        amount = None if permille is None else _part(held.mass_mg, permille)
        if source is None or amount == 0:
            return None
        if amount is None or ethanol_permille is None:
            return Pour("lose", (self.house.move(source, "loss", amount),))
        liquid = Liquid(amount, _part(min(amount, held.ethanol_mg), ethanol_permille), 0)
        return Pour("lose", (self.house.move(source, "loss", liquid=liquid),))

    def _gauge(self, at, item, kind, permille, strength_permille):
        held = self.house.held(item, at).mass_mg
        strength = strength_of(f"{strength_permille / 10}")
        told = {"disposition": "leak"} if permille < 960 or kind == "nothing" else {}
        if kind == "nothing":
            return Gauge(self.house.id(item), 0, None, facts=told)
        if kind == "strength":
            return Gauge(self.house.id(item), None, strength) if held else None
        if kind == "extract":
            solids = {"extract_per_mass": permille / 30_000, "mass_fraction": strength_permille / 1000}
            return Gauge(self.house.id(item), None if held else permille, None, **solids)
        mass = _part(held, permille) if held else permille
        if not mass:
            return None
        return Gauge(self.house.id(item), mass, strength if kind == "both" or not held else None, facts=told)


def _part(amount, permille):
    return amount * permille // 1000


def built(operations, path=":memory:"):
    """A house with a random book, and how its operations ended."""
    house = House(path)
    chance = Chance(house)
    for item in ITEMS[:3]:
        chance.record(("fill", item, 500_000, 400, 5, 365))
    return house, [chance.record(operation, slot) for operation, slot in operations]


def recorded_entries(house):
    """Number of entries of liquid in the book."""
    return house.book.store.query("SELECT count(*) FROM entry WHERE kind IN ('pour','gauge') AND gone = 0")[0][0]
