"""Compositions kept for speed: what a sealed state is made of, worked out once.

A sealed state changes only when the past is corrected, so the shares of all that went into it can
be kept, and a question about a lot or a vat begins with one row instead of the whole lineage. The
rows are a cache and nothing else: whoever records drops those of every state downstream of what
changed; whoever asks makes them again. A printed trace never reads them, and a verification works
every one of them out anew.

A row is kept only where it is short beside what had to be read for it; so along a
chain of heels, each batch a little longer than the one before, all rows together stay of the
order of the book itself.
"""

import struct
from collections.abc import Collection, Iterable, Iterator

from pourbook.book.items import chunks
from pourbook.book.lineages import EVER, gathered, upstream
from pourbook.book.store import Row, Store
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import CARRY, Ancestry, Inflow, Lineage, Weigh
from pourbook.lineage.shares import add_parts, composition, weights_of

__all__ = ["composition_of", "differing", "forget_downstream", "items_behind"]

_NUMBER: dict[Basis, int] = {"alcohol": 0, "mass": 1, "volume": 2}

_LONGEST = 24
"""So many shares may be kept for an inflow read."""

_MANY = 64
"""Inflows from which on each source of an open state is worked out by itself, and kept."""

_STEP = """
SELECT here.sealed_happened, here.item, flow.source, flow.line, flow.how, flow.happened, flow.mass, flow.ethanol,
    flow.extract, source.item, kept.key, kept.origins, kept.items, kept.lines
FROM state AS here LEFT JOIN flow ON flow.target = here.id LEFT JOIN state AS source ON source.id = flow.source
LEFT JOIN composition AS kept ON kept.key = flow.source * 3 + ?2 WHERE here.id = ?1
"""
_KEYS = """
SELECT flow.source, source.item, kept.items, here.item
FROM state AS here LEFT JOIN flow ON flow.target = here.id LEFT JOIN state AS source ON source.id = flow.source
LEFT JOIN composition AS kept ON kept.key = flow.source * 3 WHERE here.id = ?
"""
# A state with a kept row ends the recursion: what went into it is not read.
_UP = """
WITH RECURSIVE up (state, kept) AS (
    VALUES (?1, NULL)
    UNION
    SELECT flow.source, (SELECT key FROM composition WHERE key = flow.source * 3 + ?2)
    FROM up JOIN flow ON flow.target = up.state WHERE up.kept IS NULL AND flow.source <> 0)
SELECT state.id, state.item, state.sealed_happened, state.sealed_place,
    flow.source, flow.line, flow.how, flow.happened, flow.mass, flow.ethanol, flow.extract, NULL, up.kept
FROM up JOIN state ON state.id = up.state LEFT JOIN flow ON flow.target = up.state AND up.kept IS NULL
"""
_UP_TO_KEPT = """
WITH RECURSIVE up (state, kept) AS (
    VALUES (?1, NULL)
    UNION
    SELECT flow.source, (SELECT key FROM composition WHERE key = flow.source * 3)
    FROM up JOIN flow ON flow.target = up.state WHERE up.kept IS NULL AND flow.source <> 0)
SELECT state.id, state.item, composition.items, (SELECT item FROM state WHERE id = ?1)
FROM up JOIN state ON state.id = up.state LEFT JOIN composition ON composition.key = up.kept
"""
_DOWN = """
WITH RECURSIVE down (state) AS (
    SELECT id FROM state WHERE id IN ({marks})
    UNION
    SELECT flow.target FROM down JOIN flow ON flow.source = down.state WHERE flow.target <> 0)
DELETE FROM composition WHERE key IN (
    SELECT state * 3 + basis.number FROM down CROSS JOIN
    (SELECT 0 AS number UNION ALL SELECT 1 UNION ALL SELECT 2) AS basis)
"""


def composition_of(store: Store, state: int, by: Basis, until_us: int = EVER) -> Ancestry:
    """What a state is made of, from kept rows where there are any; the answer is the caller's to change.

    Args:
        store: inside a snapshot or a transaction.
        state: the state.
        by: the basis of shares.
        until_us: what was poured into the state itself later than this is left out.
    """
    rows = store.query(_STEP, (state, _NUMBER[by]))
    sealed_us = rows[0][0]
    if sealed_us is not None and sealed_us <= until_us:
        kept = _kept(store, [state * 3 + _NUMBER[by]])
        return kept[state] if kept else _settled(store, state, by)
    rows = [row for row in rows if row[2] is not None and row[5] <= until_us]
    if any(row[2] and row[10] is None for row in rows):
        return _open(store, state, by, until_us)
    return _one_step(rows, WEIGH[by])


def items_behind(store: Store, state: int) -> set[int]:
    """Keys of all other items that something of a state was once in, without the shares."""
    rows = store.query(_KEYS, (state,))
    if any(source and items is None for source, _, items, _ in rows):
        rows = store.query(_UP_TO_KEPT, (state,))
    found = {item for _, item, _, _ in rows if item is not None}
    for _, _, items, _ in rows:
        if items:
            found.update(_keys(items))
    found.discard(rows[0][3])
    return found


def _one_step(rows: list[Row], weigh: Weigh) -> Ancestry:
    """What a state is made of, where all that was poured into it is known: the rows of `_STEP`."""
    if len(rows) == 1 and rows[0][2]:
        answer, share = _unpacked(rows[0][10:]), 1.0
    else:
        answer, share = Ancestry({}, {}, {}), 0.0
    weights, total = weights_of([Inflow._make(row[2:9]) for row in rows], weigh)
    for row, weight in zip(rows, weights, strict=True):
        _, item, source, line, how, *_, source_item, _, _, _, _ = row
        brought = weight / total if total else 0.0
        if how != CARRY:
            answer.lines[line] = brought
        if not source:
            answer.origins[line] = brought
            continue
        before = answer if share else _unpacked(row[10:])
        had_left = before.items.get(source_item, 0.0)
        if not share:
            add_parts(answer, before, brought)
        if how != CARRY and source_item != item:
            answer.items[source_item] = answer.items.get(source_item, 0.0) + brought * (1.0 - had_left)
    return answer


def _settled(store: Store, state: int, by: Basis) -> Ancestry:
    """What a sealed state is made of, kept if that pays."""
    rows, lineage = _upstream(store, state, by, EVER)
    answer = composition(lineage, state, WEIGH[by])
    _keep(store, by, {state: answer}, _work(lineage, rows))
    return answer


def _open(store: Store, state: int, by: Basis, until_us: int) -> Ancestry:
    """What an open state is made of; of its sources, which are sealed, it is kept if that pays."""
    rows, lineage = _upstream(store, state, by, until_us)
    weigh = WEIGH[by]
    sources = {flow.source for flow in lineage.inflows[state] if flow.source} - lineage.known.keys()
    if len(sources) == 1 or len(rows) > _MANY:
        made = {source: composition(lineage, source, weigh) for source in sources}
        _keep(store, by, made, _work(lineage, rows))
        lineage = _last_step(lineage, state, made)
    return composition(lineage, state, weigh)


def _upstream(store: Store, state: int, by: Basis, until_us: int) -> tuple[list[Row], Lineage]:
    """The rows that had to be read, and the lineage in them, up to states with a kept row."""
    rows = [
        row for row in store.query(_UP, (state, _NUMBER[by])) if row[0] != state or row[7] is None or row[7] <= until_us
    ]
    known = _kept(store, [row[12] for row in rows if row[12] is not None])
    return rows, gathered(rows).lineage._replace(known=known)


def _last_step(lineage: Lineage, state: int, made: dict[int, Ancestry]) -> Lineage:
    """The state and its sources alone, what these are made of being known."""
    known = {**lineage.known, **made}
    wanted = {flow.source for flow in lineage.inflows[state] if flow.source} | {state}
    order = tuple(one for one in lineage.order if one in wanted)
    inflows = {one: lineage.inflows[state] if one == state else () for one in order}
    return Lineage(order, lineage.item_of, inflows, {one: known[one] for one in order if one != state})


# -- rows --------------------------------------------------------------------------------


def _kept(store: Store, keys: Collection[int]) -> dict[int, Ancestry]:
    return {
        row[0] // 3: _unpacked(row)
        for marks, chunk in chunks(keys)
        for row in store.query(f"SELECT key, origins, items, lines FROM composition WHERE key IN ({marks})", chunk)
    }


def _work(lineage: Lineage, rows: Collection[Row]) -> int:
    """How much had to be read: inflows, and shares known already, of which many go on an inflow."""
    return len(rows) + sum(len(parts.items) + len(parts.lines) for parts in lineage.known.values()) // (2 * _LONGEST)


def _keep(store: Store, by: Basis, made: dict[int, Ancestry], work: int) -> None:
    """Keep those that are short beside what was read for them; or none, when another program is writing."""
    packed = [
        (state * 3 + _NUMBER[by], len(parts.origins), _packed(parts.items), _packed(_origins_first(parts)))
        for state, parts in made.items()
        if len(parts.items) + len(parts.lines) <= _LONGEST * work
    ]
    if packed:
        store.note("INSERT OR REPLACE INTO composition (key, origins, items, lines) VALUES (?,?,?,?)", packed)


def _origins_first(parts: Ancestry) -> dict[int, float]:
    return parts.origins | {line: part for line, part in parts.lines.items() if line not in parts.origins}


def _packed(parts: dict[int, float]) -> bytes:
    """All keys, then all parts, in 8 bytes each, the lowest first."""
    return struct.pack(f"<{len(parts)}q{len(parts)}d", *parts.keys(), *parts.values())


def _unpacked(row: Row) -> Ancestry:
    _, origins, items, lines = row
    keys, parts = _columns(lines)
    return Ancestry(
        dict(zip(*_columns(items), strict=True)),
        dict(zip(keys[:origins], parts[:origins], strict=True)),
        dict(zip(keys, parts, strict=True)),
    )


def _keys(packed: bytes) -> tuple[int, ...]:
    return struct.unpack_from(f"<{len(packed) // 16}q", packed)


def _columns(packed: bytes) -> tuple[tuple[int, ...], tuple[float, ...]]:
    length = len(packed) // 16
    return _keys(packed), struct.unpack_from(f"<{length}d", packed, 8 * length)


# -- what changed ------------------------------------------------------------------------


def forget_downstream(store: Store, states: Iterable[int]) -> None:
    """Drop the kept rows of these states, which may be gone themselves, and of all that they went into."""
    if not store.query("SELECT 1 FROM composition LIMIT 1"):
        return
    for marks, chunk in chunks(tuple(states)):
        store.execute_many(
            "DELETE FROM composition WHERE key BETWEEN ? AND ?", [(one * 3, one * 3 + 2) for one in chunk]
        )
        store.execute(_DOWN.format(marks=marks), chunk)


def differing(store: Store) -> Iterator[int]:
    """States whose kept row is not what their inflows give."""
    bases: dict[int, Basis] = {number: basis for basis, number in _NUMBER.items()}
    for row in store.stream("SELECT key, origins, items, lines FROM composition ORDER BY key"):
        state, number = divmod(row[0], 3)
        try:
            kept = _unpacked(row)
            found = upstream(store, state).lineage
            true = composition(found, state, WEIGH[bases[number]])
        except (ValueError, KeyError, struct.error):
            yield state
            continue
        if any(not _agree(one, other) for one, other in zip(kept, true, strict=True)):
            yield state


def _agree(one: dict[int, float], other: dict[int, float]) -> bool:
    return one.keys() == other.keys() and all(abs(part - other[key]) < 1e-9 for key, part in one.items())
