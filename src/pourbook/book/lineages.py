"""The states and inflows that a question of lineage concerns, found by indexes.

What a question costs grows with the lineage it returns, not with the book.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"), pending=True)
>>> recorded = book.record(
...     Draft(Item(cask, {}), 0, "M. Aldane"),
...     Draft(Item(vial, {}), 0, "M. Aldane"),
...     Draft(Pour("fill", (fill,)), 0, "M. Aldane"),
...     Draft(Pour("draw", (Move(cask, vial, read_amount("50 ml")),)), 9, "M. Aldane"),
... )
>>> pending_in(book.store, book.show(vial).holding), recorded.numbers[2]
((4,), 4)
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from pourbook.book.contents import EVER, LINES, Holding
from pourbook.book.items import held, ledger
from pourbook.book.journal import parsed
from pourbook.book.settings import house_time
from pourbook.book.store import Store, chunks
from pourbook.codes.identifiers import GLASSES, KINDS, hyphened, key_of, kind_of, of_key
from pourbook.errors import Refused
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import CARRY, RETURN, Inflow, Lineage
from pourbook.lineage.shares import edges_of, parts_forward
from pourbook.liquid import Liquid

__all__ = [
    "INFLOWS", "Found", "PendingFill", "behind", "casks_in", "downstream", "drawn_since", "first_use_in", "gathered",
    "glasses_of", "last_states", "nothing_poured", "parts_downstream", "pending_fills", "pending_in", "pending_states",
    "reached", "reached_since", "received", "upstream", "upstream_of", "upstream_through", "what_is_traced",
]  # fmt: skip

_MOST_AT_ONCE = 10_000  # question marks in one question; SQLite takes three times as many

INFLOWS = f"flow.how <> '{RETURN}'"
"""What to ask of flows for those that a state is made of: all but its own liquid that came home."""

_ROWS = f"""
SELECT state.id, state.item, state.sealed_happened, state.sealed_place,
    flow.source, flow.line, flow.how, flow.happened, flow.mass, flow.ethanol, flow.extract, flow.out_mass,
    flow.out_ethanol, flow.out_extract
FROM {{found}} JOIN state ON state.id = {{found}}.state
LEFT JOIN flow ON flow.target = {{found}}.state AND {INFLOWS}
"""
_UP = """
WITH RECURSIVE up (state) AS (
    {seeds}
    UNION
    SELECT flow.source FROM up JOIN flow ON flow.target = up.state WHERE flow.source <> 0)
""" + _ROWS.format(found="up")
_UP_THROUGH = """
WITH RECURSIVE up (state) AS (
    SELECT value FROM json_each(?)
    UNION
    SELECT flow.source FROM up JOIN state ON state.id = up.state JOIN flow ON flow.target = up.state
    WHERE flow.source <> 0 AND state.item % ? IN ({marks}))
""" + _ROWS.format(found="up")
_DOWN = """
WITH RECURSIVE down (state) AS (
    {seeds}
    UNION
    SELECT flow.target FROM down JOIN flow ON flow.source = down.state WHERE flow.target <> 0{until})
"""
_GLASSES = (
    _DOWN.format(
        seeds="{seeds}",
        until=" AND EXISTS (SELECT 1 FROM state WHERE id = flow.target AND item % {kinds} IN {glasses})",
    )
    + "SELECT state.id, state.item FROM down JOIN state ON state.id = down.state WHERE item % {kinds} IN {glasses}"
)
_REACHED = _DOWN + _ROWS.format(found="down") + "{until}"
_LAST_STATE = """
SELECT key, (SELECT state FROM ledger WHERE item = key AND happened <= ? AND mass > 0
    ORDER BY happened DESC, place DESC LIMIT 1)
FROM item WHERE key IN ({marks})
"""
_WEIGHTS: dict[Basis, str] = {
    "alcohol": (
        "CASE WHEN state.ethanol_in <> 0 THEN flow.ethanol ELSE flow.mass END,"
        " CASE WHEN state.ethanol_in <> 0 THEN state.ethanol_in ELSE state.mass_in END"
    ),
    "mass": "flow.mass, state.mass_in",
}
# Sums in the state's row, and weights in the index by source: no flow is read but those that come from what is traced.
# The words are the same for every item, so that SQLite need not plan anew: a quarter of what a short lineage costs.
_EDGES = {
    basis: _DOWN.format(seeds="SELECT id FROM state WHERE item = ?", until="")
    + f"""
SELECT flow.target, flow.source, {weights}
FROM down CROSS JOIN flow ON flow.source = down.state AND flow.target > 0 CROSS JOIN state ON state.id = flow.target
ORDER BY coalesce(state.sealed_happened, {EVER}), coalesce(state.sealed_place, state.id), flow.line, flow.carry
"""
    for basis, weights in _WEIGHTS.items()
}


class Found(NamedTuple):
    """The lineage that a question concerns; and line to what left the source, where it differs from what arrived."""

    lineage: Lineage
    left: dict[int, Liquid]


def upstream(store: Store, state: int, until_us: int = EVER) -> Found:
    """A state and all that went into it, without what was poured into the state itself after a moment."""
    return upstream_of(store, (state,), until_us)


def upstream_of(store: Store, states: Collection[int], until_us: int = EVER) -> Found:
    """As `upstream`, of several states (at most ten thousand)."""
    rows = store.query(_UP.format(seeds=_these(states)), tuple(states))
    return gathered(row for row in rows if row[0] not in states or row[7] is None or row[7] <= until_us)


def upstream_through(
    store: Store, states: Collection[int], kinds: Collection[str], until_us: int = EVER
) -> Found:  # fmt: skip
    """States and what went into them, back through items of these kinds and no further.

    What was poured into the states themselves after a moment is left out.
    """
    numbers = [number for number, kind in enumerate(KINDS) if kind in kinds]
    question = _UP_THROUGH.format(marks=",".join("?" * len(numbers)))
    rows = store.query(question, (f"[{','.join(map(str, states))}]", len(KINDS), *numbers))
    return gathered(row for row in rows if row[7] is None or row[7] <= until_us or row[0] not in states)


def last_states(store: Store, keys: Collection[int], until_us: int = EVER) -> dict[int, int]:
    """Items, by their keys, to the state of what each holds, or last held by a moment; none where it never did."""
    found: dict[int, int] = {}
    for marks, chunk in chunks(keys):
        found.update(store.query(_LAST_STATE.format(marks=marks), (until_us, *chunk)))
    return {key: state for key, state in found.items() if state is not None}


def _until(until_us: int) -> str:
    # Without a bound the index alone answers.
    return "" if until_us == EVER else f" AND flow.happened <= {int(until_us)}"


def _these(states: Collection[int]) -> str:
    return f"SELECT id FROM state WHERE id IN ({','.join('?' * len(states))})"


def downstream(store: Store, states: Collection[int], until_us: int = EVER) -> Found:
    """States and all that they went into, up to a moment."""
    rows: dict[tuple[int, int | None, str | None], tuple[Any, ...]] = {}
    for _, chunk in chunks(sorted(states), _MOST_AT_ONCE):
        found = store.query(_REACHED.format(seeds=_these(chunk), until=_until(until_us)), chunk)
        if len(states) <= _MOST_AT_ONCE:
            return gathered(found)
        rows.update(((row[0], row[5], row[6]), row) for row in found)
    return gathered(rows.values())


def glasses_of(store: Store, states: Collection[int]) -> dict[int, int]:
    """States of glasses that these states went into, also through other glasses, each with the key of its item."""
    glasses = tuple(list(KINDS).index(kind) for kind in GLASSES)
    found: dict[int, int] = {}
    for _, chunk in chunks(sorted(states), _MOST_AT_ONCE):
        found.update(store.query(_GLASSES.format(seeds=_these(chunk), kinds=len(KINDS), glasses=glasses), chunk))
    return found


def parts_downstream(store: Store, item: int, by: Basis, until_us: int = EVER) -> dict[int, float]:
    """States of an item, by its key, and all they went into, up to a moment; each with the part that is of them.

    By alcohol or mass, and now, that takes less than twice as long as to find them.
    """
    from pourbook.book.flows import states_of  # a trace back does without it

    own = frozenset(states_of(store, (item,)))
    if until_us == EVER and by in _EDGES:
        return parts_forward(store.query(_EDGES[by], (item,)), own)
    return parts_forward(edges_of(downstream(store, own, until_us).lineage, WEIGH[by]), own)


def behind(store: Store, item: int) -> set[int]:
    """Keys of an item and of every item that any of its liquid was ever in."""
    up = _UP.removesuffix(_ROWS.format(found="up")).format(seeds="SELECT id FROM state WHERE item = ?")
    rows = store.query(up + "SELECT DISTINCT state.item FROM up JOIN state ON state.id = up.state", (item,))
    return {item} | {key for (key,) in rows}


def reached(store: Store, item: int, until_us: int = EVER) -> set[int]:
    """Keys of an item and of every item that its liquid went into, up to a moment."""
    down = _DOWN.format(seeds="SELECT id FROM state WHERE item = ?", until=_until(until_us))
    rows = store.query(down + "SELECT DISTINCT state.item FROM down JOIN state ON state.id = down.state", (item,))
    return {key for (key,) in rows}


def reached_since(store: Store, since: Mapping[int, int], most_states: int) -> tuple[set[int], bool]:
    """Keys of items and of all that their liquid went into since a moment each; and whether that is all of them.

    At most `most_states` states are looked at.
    """
    begun = "SELECT id FROM state WHERE item = ? AND (sealed_happened IS NULL OR sealed_happened >= ?)"
    down = _DOWN.format(seeds=begun, until="")
    question = down + "SELECT item FROM state WHERE id IN (SELECT state FROM down LIMIT ?)"
    found = set(since)
    for item, moment in since.items():
        rows = store.query(question, (item, moment, most_states))
        found.update(key for (key,) in rows)
        most_states -= len(rows)
        if most_states <= 0:
            return found, False
    return found, True


def received(
    store: Store, items: Collection[int], bases: Collection[Basis], until_us: int = EVER
) -> dict[Basis, dict[int, tuple[float, float]]]:
    """Weight, by each basis and by mass, of all that was ever poured into each item, up to a moment."""
    totals: dict[Basis, dict[int, tuple[float, float]]] = {basis: {} for basis in bases}
    for marks, chunk in chunks(items):
        for item, mass, ethanol, extract in store.stream(
            "SELECT state.item, flow.mass, flow.ethanol, flow.extract FROM state JOIN flow ON flow.target = state.id"
            f" WHERE flow.carry = 0 AND {INFLOWS} AND flow.happened <= ? AND state.item IN ({marks})",
            (until_us, *chunk),
        ):
            for basis, of_item in totals.items():
                weight, whole = of_item.get(item, (0.0, 0.0))
                of_item[item] = (weight + WEIGH[basis](mass, ethanol, extract), whole + mass)
    return totals


def casks_in(lineage: Lineage) -> set[int]:
    """The states of a lineage in which wood age runs: those of casks."""
    casks = {item for item in set(lineage.item_of.values()) if kind_of(of_key(item)) == "cask"}
    return {state for state in lineage.order if lineage.item_of[state] in casks}


def first_use_in(store: Store, lineage: Lineage, states: Collection[int]) -> frozenset[int]:
    """Those of the states in which their item has not been emptied since it was first filled."""
    found: set[int] = set()
    for state in lineage.order:
        if state not in states:
            continue
        item = lineage.item_of[state]
        first = store.query("SELECT state FROM ledger WHERE item = ? ORDER BY happened, place LIMIT 1", (item,))
        carried = any(flow.how == CARRY and flow.source in found for flow in lineage.inflows[state])
        if carried or (first and first[0][0] == state):
            found.add(state)
    return frozenset(found)


def gathered(rows: Iterable[Sequence[Any]]) -> Found:
    """Rows as a lineage: state, item, when and where sealed, then an inflow and what left its source, or nothing.

    Whatever order the rows come in, everything in it stands in one order, so that sums have the same last digit.
    """
    seals: dict[int, tuple[int, int]] = {}
    item_of: dict[int, int] = {}
    inflows: dict[int, list[Inflow]] = {}
    left: dict[int, Liquid] = {}
    for row in rows:
        state = row[0]
        if state not in item_of:
            item_of[state] = row[1]
            seals[state] = (EVER, state) if row[2] is None else (row[2], row[3])
            inflows[state] = []
        if row[4] is not None:
            inflows[state].append(Inflow._make(row[4:11]))
            if row[11] is not None:
                left[row[5]] = Liquid(*row[11:14])
    order = tuple(sorted(item_of, key=seals.__getitem__))
    in_order = {state: tuple(sorted(inflows[state], key=lambda one: (one.line, one.how == CARRY))) for state in order}
    return Found(Lineage(order, {state: item_of[state] for state in order}, in_order), left)


def what_is_traced(store: Store, key: int, at_us: int | None, now_us: int) -> tuple[Holding, int]:
    """What the item holds, or held just before it was last emptied; and that moment.

    Now is never before the item's last line: the clock of the station that recorded it may be a little ahead.
    """
    moment = max(now_us, _last_line_us(store, key)) if at_us is None else at_us
    holding = held(store, key, at_us)
    if holding.mass_mg:
        return holding, moment
    later = moment
    for row in reversed(ledger(store, key)):
        if at_us is not None and row.happened_us > at_us:
            continue
        if row.holding.mass_mg:
            return row.holding, later
        later = row.happened_us
    raise nothing_poured(store, of_key(key), at_us)


def _last_line_us(store: Store, key: int) -> int:
    ((latest,),) = store.query("SELECT coalesce(max(happened), 0) FROM ledger WHERE item = ?", (key,))
    return int(latest)


def _last_taken_back(store: Store, identifier: str) -> tuple[int, int, int] | None:
    """The last pour into an item that no longer counts, what voided or replaced it, and how many there are."""
    rows = store.query(
        "SELECT entry.number, entry.gone, entry.bytes FROM mention JOIN entry ON entry.number = mention.entry"
        " WHERE mention.item = ? AND entry.gone <> 0 AND entry.kind = 'pour' ORDER BY entry.number",
        (key_of(identifier),),
    )
    into = [(number, gone) for number, gone, text in rows if f'"to":"{identifier}"' in text]
    return (*into[-1], len(into)) if into else None


def nothing_poured(store: Store, identifier: str, at_us: int | None) -> Refused:
    """The refusal of a trace of an item that was empty until a moment."""
    named = hyphened(identifier)
    if at_us is None and (gone := _last_taken_back(store, identifier)):
        what, by, count = gone
        every = "the only pour" if count == 1 else f"every pour ({count} in all)"
        return Refused(
            f"{every} into {named} was voided{'' if count == 1 else ', the last one'}: entry {what}, by entry {by}",
            f"see what was recorded: pourbook journal --item {named}",
        )
    if at_us is None:
        return Refused(f"nothing was ever poured into {named}", "pour into it first, or check the identifier")
    then = house_time(store, at_us)
    return Refused(f"nothing had been poured into {named} by {then}", "check the identifier and the time")


# -- pending strengths -------------------------------------------------------------------

_PENDING_BEHIND = (
    "WITH RECURSIVE behind(id) AS (SELECT CAST(? AS BIGINT) UNION SELECT flow.source FROM behind"
    " JOIN flow ON flow.target = behind.id WHERE flow.source <> 0)"
    " SELECT DISTINCT entry.number FROM behind JOIN flow ON flow.target = behind.id"
    " JOIN entry ON entry.number = flow.line / ?"
    " WHERE flow.source = 0 AND flow.how = 'origin' AND entry.number IN (SELECT entry FROM pending) ORDER BY 1"
)


_FILLED = "SELECT flow.target FROM state JOIN flow ON flow.target = state.id WHERE state.item = ? AND flow.line = ?"


_WENT_INTO = (
    "WITH RECURSIVE reached(id) AS (SELECT CAST(? AS BIGINT) UNION SELECT flow.target FROM reached"
    " JOIN flow ON flow.source = reached.id WHERE flow.target <> 0) SELECT id FROM reached"
)


def pending_in(store: Store, holding: Holding) -> tuple[int, ...]:
    """Entries whose pending strengths stand behind what is held."""
    if not holding.mass_mg:
        return ()
    return tuple(number for (number,) in store.query(_PENDING_BEHIND, (holding.state, LINES)))


def pending_states(store: Store) -> Mapping[int, tuple[int, ...]]:
    """Every state with liquid of a pending strength in it, and the entries that brought it."""
    found: dict[int, tuple[int, ...]] = {}
    for one in pending_fills(store):
        for (filled,) in store.query(_FILLED, (one.item, one.line)):
            for (state,) in store.query(_WENT_INTO, (filled,)):
                found[state] = tuple(sorted({*found.get(state, ()), one.line // LINES}))
    return found


class PendingFill(NamedTuple):
    """A strength still to be read: key of the item that was filled, the line, when it happened, and who did it."""

    item: int
    line: int
    happened_us: int
    who: str


def pending_fills(store: Store) -> list[PendingFill]:
    """Every strength that the laboratory has still to read, in the order they were filled."""
    rows = store.query(
        "SELECT number, happened, bytes FROM pending CROSS JOIN entry ON entry.number = pending.entry"
        " ORDER BY happened, number"
    )
    entries = [(number, happened_us, parsed(text)) for number, happened_us, text in rows]
    return [
        PendingFill(key_of(line["to"]), number * LINES + index, happened_us, entry["who"])
        for number, happened_us, entry in entries
        for index, line in enumerate(entry["body"]["lines"])
        if "pending" in line
    ]


def drawn_since(store: Store, key: int, since_us: int) -> list[tuple[int, int, int]]:
    """What was drawn straight from an item from a moment on: key of what it went into, entry, and when."""
    rows = store.query(
        "SELECT after.item, flow.line, flow.happened FROM state AS before JOIN flow ON flow.source = before.id"
        " JOIN state AS after ON after.id = flow.target WHERE before.item = ?1 AND after.item <> ?1"
        " AND flow.happened >= ?2 ORDER BY flow.happened, flow.line",
        (key, since_us),
    )
    return [(item, line // LINES, happened_us) for item, line, happened_us in rows]
