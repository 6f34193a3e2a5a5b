"""What blends are made of, once every glass, batch and lot is looked through: any number of them in one pass.

A composition is the fraction of each part, by volume at 20 °C as it left its cask; parts are casks, or what they are
grouped by. Of one spirit a cask counts wholly; of several, each by its pure alcohol in the cask.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.codes.identifiers import key_of
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, trial = book.next_id("cask"), book.next_id("trial")
>>> moves = (
...     Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("60")),)),
...     Pour("pour", (Move(cask, trial, read_amount("60 ml")), Move("water", trial, read_amount("20 ml")))),
... )
>>> opened = Item(cask, {"wood": "ash"}), Item(trial, {})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (*opened, *moves)))
>>> {name: round(part, 4) for name, part in made_of(book, [trial], By("wood"))[trial].items()}
{'ash': 0.75, 'water': 0.25}
"""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.trials import WATER
from pourbook.book.compositions import composition_in
from pourbook.book.contents import EVER, LINES
from pourbook.book.items import facts, held
from pourbook.book.journal import entries_of, line_of
from pourbook.book.lineages import Found, last_states, upstream, upstream_through
from pourbook.codes.identifiers import KINDS, key_of, of_key, read_or_none
from pourbook.lineage.graph import Inflow
from pourbook.liquid import Liquid
from pourbook.queries.traces.behind import BLENDS

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.queries.trials.kinds_of_spirit import Kinds

__all__ = ["BY_CASK", "By", "Composition", "Grouping", "blended", "made_of"]

Composition = Mapping[str, float]
"""Part to its fraction, the largest first; the fractions add to one. Parts that nothing was recorded of are ""."""

Grouping = Literal["cask", "wood", "spirit", "kind", "component"]
"""What parts are told apart by.

Identifiers of casks; their wood; their spirit; spirit, wood and previous contents; the house's component they are of.
"""


class By(NamedTuple):
    """How compositions are told: by what parts are told apart, and whether of what is beside the water alone."""

    group_by: Grouping = "cask"
    without_water: bool = False


BY_CASK = By()
_THROUGH = frozenset(number for number, kind in enumerate(KINDS) if kind in BLENDS)


def made_of(
    book: "BookCore", items: Iterable[str], by: By = BY_CASK, at_us: int | None = None
) -> dict[str, Composition]:
    """The composition of items, now or at a moment; one that never held anything is left out. A cask is its own.

    Without water, one that is nothing else is empty.
    """
    store, until_us = book.store, EVER if at_us is None else at_us
    states = last_states(store, [key_of(item) for item in items], until_us)
    groups = _Groups(book, by.group_by)
    found = upstream_through(store, states.values(), BLENDS, until_us)
    volumes = _volumes(found, groups)
    return {
        of_key(key): _fractions(volumes[state] if state in volumes else groups.of(key, state, until_us), by)
        for key, state in states.items()
    }


def blended(book: "BookCore", volumes: Mapping[str, float], by: By = BY_CASK) -> Composition:
    """The composition of what is not poured yet: items, components, or words such as "water", with the volume of each.

    An item that never held anything stands for itself, and so does a component of the house.
    """
    within = made_of(book, filter(read_or_none, volumes), By(by.group_by))
    found: dict[str, float] = {}
    for component, ml in volumes.items():
        _add(found, within.get(component, {component: 1.0}), ml)
    return _fractions(found, by)


def _volumes(found: Found, groups: "_Groups") -> dict[int, dict[str, float]]:
    """State of a blend to the volume that each part gave it, for every milligram of it."""
    lineage, volumes = found.lineage, dict[int, dict[str, float]]()
    for state in lineage.order:
        key = lineage.item_of[state]
        if key % len(KINDS) not in _THROUGH:
            continue
        mine = volumes[state] = {}
        whole_mg = sum(flow.mass_mg for flow in lineage.inflows[state])
        for flow in lineage.inflows[state]:
            if flow.mass_mg:
                part = flow.mass_mg / whole_mg
                if flow.source in volumes:
                    _add(mine, volumes[flow.source], part)
                else:
                    liquid = found.left.get(flow.line, Liquid(*flow[4:]))
                    _add(mine, _source(lineage.item_of, key, flow, groups), part * volume_ml(liquid) / liquid.mass_mg)
    return volumes


def _source(item_of: Mapping[int, int], key: int, flow: Inflow, groups: "_Groups") -> Composition:
    if flow.source:
        return groups.of(item_of[flow.source], flow.source, flow.happened_us)
    if flow.how in (WATER, "additive"):
        return {flow.how: 1.0}
    return groups.of_line(key, flow.line, flow.happened_us)


def _add(to: dict[str, float], parts: Composition, times: float) -> None:
    for name, part in parts.items():
        to[name] = to.get(name, 0.0) + part * times


def _fractions(volumes: Composition, by: By) -> Composition:
    kept = {name: ml for name, ml in volumes.items() if not (by.without_water and name == WATER)}
    whole = sum(kept.values())
    return {name: ml / whole for name, ml in sorted(kept.items(), key=lambda pair: -pair[1])}


class _Groups:
    """What a source counts as; each is looked up once."""

    def __init__(self, book: "BookCore", by: Grouping) -> None:
        self._store, self._by = book.store, by
        self._known: dict[tuple[int, int, int], Composition] = {}
        self._kinds = _kinds(book) if by == "component" else None

    def of(self, key: int, state: int, at_us: int) -> Composition:
        """A cask in one of its states, as it was when it was poured from."""
        if self._by == "cask":
            return {of_key(key): 1.0}
        known = key, state, at_us if self._kinds and self._kinds.have_ages else 0
        if known not in self._known:
            self._known[known] = self._told(key, state, at_us, self._origins(state) if self._by != "wood" else {})
        return self._known[known]

    def of_line(self, key: int, line: int, at_us: int) -> Composition:
        """What came from outside into a glass by a line of the journal: it stands for itself."""
        if self._by == "cask":
            return {of_key(key): 1.0}
        return self._told(key, held(self._store, key, at_us).state, at_us, {line: (key, 1.0)})

    def _told(self, key: int, state: int, at_us: int, origins: Mapping[int, tuple[int, float]]) -> Composition:
        known = facts(self._store, key)
        wood, previous = known.get("wood", ""), known.get("previous", "")
        if self._by == "wood":
            return {wood: 1.0}
        found: dict[str, float] = {}
        for spirit, share in self._spirits(origins).items():
            if self._by == "spirit":
                name = spirit
            elif self._kinds:
                name = self._kinds.of(of_key(key), state, at_us, spirit)
            else:
                name = " · ".join(filter(None, (spirit, wood, previous)))
            found[name] = found.get(name, 0.0) + share
        return found

    def _origins(self, state: int) -> Mapping[int, tuple[int, float]]:
        """Line of every origin of a state, with the item that it came into and its share by pure alcohol."""
        lineage = upstream(self._store, state).lineage
        shares = composition_in(self._store, lineage, state, "alcohol").origins
        flows = ((one, flow) for one in lineage.order for flow in lineage.inflows[one])
        into = {flow.line: lineage.item_of[one] for one, flow in flows if not flow.source}
        return {line: (into[line], share) for line, share in shares.items() if share}

    def _spirits(self, origins: Mapping[int, tuple[int, float]]) -> dict[str, float]:
        """Spirits as they were recorded with their origin, or of the item that it came into."""
        entries = entries_of(self._store, {line // LINES for line in origins})
        found: dict[str, float] = {}
        for line, (into, share) in origins.items():
            told = line_of(entries[line // LINES]["body"], line).get("facts", {})
            spirit = str(told.get("spirit", "")) or facts(self._store, into).get("spirit", "")
            found[spirit] = found.get(spirit, 0.0) + share
        return found


def _kinds(book: "BookCore") -> "Kinds":
    from pourbook.queries.trials.kinds_of_spirit import Kinds  # most questions do without it

    return Kinds(book)
