"""Quillmere's book in the trade's language: one call a test can read aloud.

Items go by short names ("C1", "B1"); the book gives the identifiers. Amounts are text as a
person types it, or whole milligrams with the liquid itself, so that nothing is rounded:

    house.cask("C1", "200 l", "63.5")
    house.cask("C2", liquid=Liquid(1000, 400, 0))
    house.draw("C1", "V1", "100 ml")
    house.pour("C2", "B1", 250)

Every call is one recording, a minute after the one before it unless `at` says when.
"""

from pathlib import Path

from pourbook import (
    Book,
    Close,
    Draft,
    Facts,
    Gauge,
    Hold,
    Item,
    Move,
    Note,
    Pour,
    Void,
)
from pourbook.actions.happening import Happening
from pourbook.book.entries import SOURCES, TARGETS
from pourbook.book.numbering import next_id
from pourbook.book.rebuilding import PROJECTIONS
from pourbook.codes.identifiers import key_of
from pourbook.errors import Refused
from pourbook.gauging.recorded_values import UsedInstrument
from pourbook.gauging.slips import SAY_KIND
from pourbook.liquid import Liquid
from pourbook.quantities import read_amount, read_strength
from pourbook.times import house_zone, read_time

MINUTE_US = 60_000_000
KIND_OF = {"C": "cask", "V": "vial", "T": "trial", "B": "batch", "L": "lot"}
WHO = "M. Aldane"
HOW = Happening("pourbook")
_OUTSIDE = SOURCES + TARGETS
_UTC = house_zone("UTC")


def moment(at):
    """Microseconds of a time as text; whole numbers stay."""
    return read_time(at, _UTC) if isinstance(at, str) else at


def amount_of(amount):
    """Text becomes an amount; whole mg, None (all) and amounts stay."""
    return read_amount(amount, allow_zero=True) if isinstance(amount, str) else amount


def strength_of(strength):
    """Text becomes a strength; None and strengths stay."""
    return read_strength(strength) if isinstance(strength, str) else strength


class Clock:
    """The moment now, in microseconds."""

    def __init__(self, start="2024-01-01"):
        self.us = moment(start)

    def __call__(self):
        return self.us


class House:
    """A book, the clock on its wall, and short names for its items."""

    def __init__(self, path=":memory:", book=None, **settings):
        self.clock = Clock() if book is None else book.clock
        self.book = book or Book.create(path, house="Quillmere", clock=self.clock, **settings)
        self.ids = {}

    @classmethod
    def reopened(cls, path, ids):
        """The book at a path, with the names it had."""
        house = cls(book=Book.open(path, clock=Clock("2030-01-01")))
        house.ids = dict(ids)
        return house

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.book.close()

    # -- names ---------------------------------------------------------------------------

    def id(self, name):
        """The identifier behind a short name; outside words and identifiers stay."""
        return self.ids.get(name, name)

    def key(self, name):
        return key_of(self.id(name))

    def name(self, identifier):
        """The short name of an identifier; outside words stay."""
        return next((name for name, known in self.ids.items() if known == identifier), identifier)

    # -- recording -------------------------------------------------------------------------

    def record(self, *entries, at=None, dry_run=False, **draft):
        """Record entries at one moment; the clock moves on if that lies ahead of it."""
        return self.book.record(*self.drafts(*entries, at=at, **draft), dry_run=dry_run)

    def drafts(self, *entries, at=None, who=WHO, **draft):
        """Drafts of entries at one moment."""
        happened = self.clock.us + MINUTE_US if at is None else moment(at)
        self.clock.us = max(self.clock.us, happened)
        return [Draft(entry, happened, who, **draft) for entry in entries]

    def opening(self, name, /, **facts):
        """The entry that opens an item under a short name."""
        taken = [int(known[1:-1]) for known in self.ids.values() if known[0] == name[0]]
        self.ids[name] = next_id(self.book.store, KIND_OF[name[0]], after=max(taken, default=0) + 1)
        return Item(self.ids[name], facts)

    def open(self, *names, at=None, **facts):
        """Open empty items, long before anything is poured into them unless `at` says when."""
        return self.record(*(self.opening(name, **facts) for name in names), at="2000-01-01" if at is None else at)

    def _ensure_open(self, name):
        if name not in self.ids and name not in _OUTSIDE:
            self.open(name)

    def cask(self, name, /, amount=None, strength=None, *, liquid=None, at=None, into=None, **facts):
        """Open a cask (if it is new) and fill it from outside."""
        self._ensure_open(name)
        return self.fill(name, amount, strength, liquid=liquid, at=at, **facts) if amount or liquid else None

    def fill(self, name, /, amount=None, strength=None, *, liquid=None, at=None, source="origin", **facts):
        """Liquid from outside: new make by default."""
        return self.pour(source, name, amount, strength, liquid=liquid, verb="fill", at=at, **facts)

    def water(self, name, /, amount, *, at=None, **facts):
        """Reduction water; whole mg count too."""
        return self.pour("water", name, amount, verb="reduce", at=at, **facts)

    def draw(self, source, vial, amount, *, at=None, **facts):
        """Draw a sample into a vial, which is opened if it is new."""
        return self.pour(source, vial, amount, verb="draw", at=at, **facts)

    def dump(self, source, target, measured=None, *, at=None, **facts):
        """Empty a cask into a vat; `measured` is all there was."""
        move = self.move(source, target, measured, empties=measured is not None, **facts)
        return self.record(Pour("dump", (move,)), at=at)

    def lose(self, source, /, amount=None, strength=None, *, liquid=None, at=None, disposition="evaporation", **facts):
        """Lost to the air, the drain or the floor."""
        facts = {"disposition": disposition, **facts}
        return self.pour(source, "loss", amount, strength, liquid=liquid, verb="lose", at=at, confirmed=True, **facts)

    def despatch(self, lot, amount=None, *, at=None, **facts):
        """Sent to a customer."""
        return self.pour(lot, "despatch", amount, verb="despatch", at=at, **facts)

    def pour(self, source, target, /, amount=None, strength=None, *, verb="pour", at=None, confirmed=False, **move):
        """One line; whole mg or text, None for all that the source holds."""
        made = self.move(source, target, amount, strength, **move)
        return self.record(Pour(verb, (made,)), at=at, confirmed=confirmed)

    def move(self, source, target, /, amount=None, strength=None, *, liquid=None, received=None, **other):
        """A line of a pour; items that are new are opened."""
        self._ensure_open(source)
        self._ensure_open(target)
        fields = {
            name: other.pop(name)
            for name in ("empties", "pending", "redistilled", "temperature_c", "tolerance_mg")
            if name in other
        }
        return Move(
            self.id(source),
            self.id(target),
            liquid.mass_mg if liquid is not None and amount is None else amount_of(amount),
            strength_of(strength),
            received=amount_of(received),
            composition=liquid,
            facts=other,
            **fields,
        )

    def gauge(
        self,
        name,
        /,
        amount=None,
        strength=None,
        *,
        at=None,
        temperature_c=20.0,
        provisional="",
        instruments=(),
        **facts,
    ):
        """Measure an item; however far from the book, it is confirmed, and a loss unexplained where none is named.

        Instruments by name, or (name, identifier).
        """
        self._ensure_open(name)
        read = Gauge(
            self.id(name),
            amount_of(amount),
            strength_of(strength),
            temperature_c,
            facts,
            provisional=provisional,
            instruments=tuple(UsedInstrument(*((one,) if isinstance(one, str) else one)) for one in instruments),
        )
        try:
            return self.record(read, at=at, confirmed=True)
        except Refused as refusal:
            if refusal.remedy != SAY_KIND:
                raise
            return self.record(read._replace(facts={**facts, "disposition": "unexplained"}), at=at, confirmed=True)

    def hold(self, name, /, *, at=None):
        return self.record(Hold(self.id(name), True), at=at, reason="to be looked into")

    def unhold(self, name, /, *, at=None):
        return self.record(Hold(self.id(name), False), at=at, reason="looked into")

    def note(self, name, /, text, subject="", *, at=None, **draft):
        return self.record(Note(self.id(name), text, subject), at=at, **draft)

    def facts(self, name, /, *, at=None, **facts):
        return self.record(Facts(self.id(name), facts), at=at)

    def close_period(self, at):
        return self.record(Close(), at=at)

    def void(self, recorded, *, at=None, reason="recorded by mistake"):
        """Void an entry: its number, or what recorded it."""
        return self.record(Void(_number(recorded)), at=at, reason=reason)

    def replace(self, recorded, entry, *, at, reason="misread"):
        """Put another entry in the place of one."""
        return self.record(entry, at=at, reason=reason, replaces=_number(recorded))

    # -- reading ---------------------------------------------------------------------------

    def held(self, name, at=None):
        """What an item holds."""
        return self.book.show(self.id(name), moment(at)).holding.liquid

    def back(self, name, by="alcohol", at=None):
        return self.book.trace_back(self.id(name), by, moment(at))

    def forward(self, name, by="alcohol", at=None):
        return self.book.trace_forward(self.id(name), by, moment(at))

    def shares(self, trace):
        """Short name to share, of the other items of a trace."""
        return {self.name(part.item.id): part.share for part in trace.items}

    def shares_now(self, trace):
        """Short name to the part of what the item holds now."""
        return {self.name(part.item.id): part.share_now for part in trace.items}

    def origins(self, trace):
        """What came from outside, by its spirit (or what it is), to share."""
        found = {}
        for origin in trace.origins:
            name = origin.facts.get("spirit", origin.how)
            found[name] = found.get(name, 0.0) + origin.share
        return found

    def dump_tables(self):
        """Every row of every projection: what `nothing was changed` is measured by."""
        tables = {"entry": "number", **PROJECTIONS}
        return {
            table: self.book.store.query(f"SELECT * FROM {table} ORDER BY {order}") for table, order in tables.items()
        }


def _number(recorded):
    return recorded if isinstance(recorded, int) else recorded.numbers[-1]


def new_make(mass_mg=1_000_000, parts=400, extract_mg=0):
    """A liquid of so many thousandths of ethanol by mass."""
    return Liquid(mass_mg, mass_mg * parts // 1000, extract_mg)


def in_folder(folder, name="quillmere.pourbook"):
    """A house whose book lies in a file."""
    return House(Path(folder) / name)
