"""Entries of the bench: what was found in glasses, what blends are made of, and evenings at which they are tasted.

They are part of the vocabulary in `entries.py`, which has these names, too.

>>> Taste("C000123Y", "M. Aldane", stages={"nose": Stage("a little shy", {"pear": "4"})}).stages["nose"].words
{'pear': '4'}
"""

from collections.abc import Mapping
from typing import NamedTuple

__all__ = [
    "PURPOSES", "Blending", "Coded", "Component", "Flight", "Recipe", "RecipePart", "Reveal", "Session", "Stage",
    "Taste", "Word",
]  # fmt: skip

PURPOSES = ("get to know", "compare", "choose", "test")
"""What a tasting session is for."""


class Stage(NamedTuple):
    """What was found at one stage of a glass.

    Attributes:
        text: free words.
        words: word to intensity on the house's scale, as typed; zero where it was looked for and not found.
    """

    text: str = ""
    words: Mapping[str, str] = {}


class Taste(NamedTuple):
    """A tasting note: what a person found in one glass.

    Attributes:
        id: the item tasted; empty while the glass is blind, when session and code say which it is.
        assessor: who tasted, also where another person records it.
        text: free words about the whole.
        stages: a word of `STAGES` to what was found there.
        strength: as tasted, as typed, with its scale.
        temperature: of the glass, with its unit.
        amount: how much was in the glass, as typed, with its unit.
        finish_s: how long it stayed, in whole seconds; None where it was not timed.
        missing: what the blender looked for and would add.
        too_much: what there should be less of.
        liking: on the house's scale, as typed.
        score: on the house's scale, as typed.
        off_notes: words of the house's list that are faults, found at any stage or in the whole.
        session: name of the tasting session, where the glass was one of its.
        code: that the glass bore there; it stays when the item is known.
        blind: whether the assessor did not know what it was.
        rank: its place among the glasses of the session, 1 the first; in a test, 1 is the glass picked as the
            answer. 0 where it was given none.
    """

    id: str = ""
    assessor: str = ""
    text: str = ""
    stages: Mapping[str, Stage] = {}
    strength: str = ""
    temperature: str = ""
    amount: str = ""
    finish_s: int | None = None
    missing: str = ""
    too_much: str = ""
    liking: str = ""
    score: str = ""
    off_notes: tuple[str, ...] = ()
    session: str = ""
    code: str = ""
    blind: bool = False
    rank: int = 0


class Word(NamedTuple):
    """A word of the house's list for tasting notes; a later entry of the same word takes its place.

    Attributes:
        word: as the house writes it.
        definition: what it means.
        reference: what shows it to an assessor, and how that is prepared.
        group: fruit, wood, cereal … in the house's words.
        also: other spellings and words that mean the same.
        off: whether it is a fault.
        gone: whether the house uses it no longer.
    """

    word: str
    definition: str = ""
    reference: str = ""
    group: str = ""
    also: tuple[str, ...] = ()
    off: bool = False
    gone: bool = False


class Component(NamedTuple):
    """A kind of spirit that recipes are written on; a later entry of that name changes it.

    Attributes:
        name: what the house calls it; a recipe names it so.
        spirit: whole words of the spirit; what is empty does not narrow.
        wood: whole words of the wood it lay in.
        previous: whole words of what that wood held before.
        min_age: completed years in wood of its youngest spirit, at least.
        max_age: at most; None for no such limit.
        role: base, rich, top … in the house's words; may be empty.
        bounds: between which per cent of a blend it may be, as typed ("0..15"); empty where none were set.
        gone: it is retired: no new recipe is written on it.
    """

    name: str
    spirit: str = ""
    wood: str = ""
    previous: str = ""
    min_age: int = 0
    max_age: int | None = None
    role: str = ""
    bounds: str = ""
    gone: bool = False


class RecipePart(NamedTuple):
    """One component of a recipe.

    Attributes:
        component: an identifier, "water", or the name of a `Component`, which a trial or batch then finds an item for.
        parts: of the whole, as typed ("7", "12.5"); the recipe's parts are normalised.
        role: base, accent, top … in the house's words; may be empty.
        bounds: between which parts of the same whole it may be, as typed ("2..5"); empty where none were set.
        stands_for: name of the `Component` that an item was taken for; empty where it was named itself.
        fixed: whether it keeps its part of the whole while others change.
        ratio: number of the ratio that it is kept in with the parts of that number; 0 for none.
    """

    component: str
    parts: str
    role: str = ""
    bounds: str = ""
    stands_for: str = ""
    fixed: bool = False
    ratio: int = 0


class Recipe(NamedTuple):
    """Fractions by component, by volume at 20 °C or by pure alcohol, which trials and batches follow.

    Attributes:
        name: what the house calls it.
        parts: the components.
        revised_from: name of the recipe it was revised from; empty for a first one.
        by: "pure-alcohol" where its parts are of the pure alcohol; empty where they are of volumes as poured.
    """

    name: str
    parts: tuple[RecipePart, ...]
    revised_from: str = ""
    by: str = ""


class Coded(NamedTuple):
    """A glass under its code: which item is in it."""

    code: str
    item: str


class Flight(NamedTuple):
    """The glasses of one assessor, in the order of serving."""

    assessor: str
    glasses: tuple[Coded, ...]


class Session(NamedTuple):
    """A blind tasting session was opened: what is tasted and by whom; which code is which glass is sealed.

    Attributes:
        name: what the house calls it.
        purpose: a word of `PURPOSES`.
        ids: the items in its glasses, each once, in the order named.
        assessors: who tastes; names or persons' identifiers.
        glasses_each: of each assessor; more than items where one is offered twice.
        amount: how much is in each glass, as typed.
        alcohol_mg: pure alcohol offered to an assessor, at the most.
        sealed: who gets which item under which code, in which order (`pourbook.book.sealing`).
        seal: SHA-256 of it, as hexadecimal text.
        strength: to which every glass is reduced with water, as typed; empty where it is tasted as it is.
        test: of differences, a key of `pourbook.bench.serving.TESTS`; empty for none.
        asks: the question that the host puts; empty for none.
        rest_min: minutes of rest between two glasses.
        swallowed: no spittoon is assumed.
    """

    name: str
    purpose: str
    ids: tuple[str, ...]
    assessors: tuple[str, ...]
    glasses_each: int
    amount: str
    alcohol_mg: int
    sealed: str
    seal: str
    strength: str = ""
    test: str = ""
    asks: str = ""
    rest_min: int = 0
    swallowed: bool = False


class Blending(NamedTuple):
    """A blending session with guests was opened; the recipe of its name says what stands on the table, with bounds.

    The tasting of the guests' blends has its name, too. `total` is of each blend, `amount` of each in a glass,
    `strength` that to which glasses are reduced, if to any: all as typed. `alcohol_mg` is the pure alcohol before a
    guest at the most, in the own blend and in the glasses; `swallowed`: no spittoon is assumed.
    """

    name: str
    guests: tuple[str, ...]
    total: str
    amount: str
    alcohol_mg: int
    strength: str = ""
    swallowed: bool = False


class Reveal(NamedTuple):
    """A session was closed: its flights say who had which item under which code; `salt` is that of its seal."""

    session: str
    salt: str
    flights: tuple[Flight, ...]
