"""Compositions kept for speed: what a state is made of, worked out once.

A row is what one pass over the whole lineage gave, bit for bit, and never put together from other rows: a
trace says the same to the last digit whether it is read or worked out. The rows are a cache: a correction of
the past drops those of every state downstream, and a verification works each of them out again.
"""

import struct
from collections.abc import Iterable, Iterator

from pourbook.book.contents import EVER
from pourbook.book.lineages import INFLOWS, upstream
from pourbook.book.store import Row, Store, chunks
from pourbook.lineage.bases import WEIGH, Basis
from pourbook.lineage.graph import Ancestry, Lineage
from pourbook.lineage.shares import composition

__all__ = ["composition_in", "composition_of", "differing", "forget_downstream"]

_NUMBER: dict[Basis, int] = {"alcohol": 0, "mass": 1, "volume": 2}

_LONG = 64
"""Inflows from which a trace keeps its shares: a shorter one is worked out faster than a row is written."""

_MOST_ROWS = 400
"""At this number all rows are dropped, so that a long chain of heels does not keep its past many times."""

_DOWN = """
WITH RECURSIVE down (state) AS (
    SELECT id FROM state WHERE id IN ({marks})
    UNION
    SELECT flow.target FROM down JOIN flow ON flow.source = down.state WHERE flow.target <> 0)
DELETE FROM composition WHERE key IN (
    SELECT state * 3 + basis.number FROM down CROSS JOIN
    (SELECT 0 AS number UNION ALL SELECT 1 UNION ALL SELECT 2) AS basis)
"""

_ROW = """
INSERT INTO composition (key, inflows, origins, items, lines) VALUES (?,?,?,?,?) ON CONFLICT (key) DO UPDATE
SET inflows = excluded.inflows, origins = excluded.origins, items = excluded.items, lines = excluded.lines
"""


def composition_in(store: Store, lineage: Lineage, state: int, by: Basis, *, keep_from: int = _LONG) -> Ancestry:
    """What a state is made of; the answer is the caller's to change.

    Call inside a snapshot or a transaction. `lineage` is the state and all upstream of it
    (`pourbook.book.lineages.upstream`); the answer is kept if it has `keep_from` inflows.
    """
    inflows = len(lineage.inflows[state])
    kept = _kept(store, state, by, inflows)
    if kept is not None:
        return kept
    answer = composition(lineage, state, WEIGH[by])
    if sum(map(len, lineage.inflows.values())) >= keep_from:
        _keep(store, state, by, inflows, answer)
    return answer


def composition_of(store: Store, state: int, by: Basis, until_us: int = EVER) -> Ancestry:
    """What a state is made of, from the kept row or worked out and kept; inside a snapshot or a transaction.

    What was poured into the state itself after `until_us` is left out.
    """
    kept = _kept(store, state, by, _inflows(store, state, until_us))
    return kept or composition_in(store, upstream(store, state, until_us).lineage, state, by, keep_from=0)


# -- rows --------------------------------------------------------------------------------

_UNREADABLE = (TypeError, ValueError, struct.error)
"""What comes of unpacking a row whose page was damaged: a column may even be empty."""


def _inflows(store: Store, state: int, until_us: int) -> int:
    """How many inflows a state had by a moment: the same ones until something is corrected."""
    question = f"SELECT count(*) FROM flow WHERE target = ? AND {INFLOWS} AND happened <= ?"
    rows = store.query(question, (state, until_us))
    return int(rows[0][0])


def _kept(store: Store, state: int, by: Basis, inflows: int) -> Ancestry | None:
    question = "SELECT key, origins, items, lines FROM composition WHERE key = ? AND inflows = ?"
    rows = store.query(question, (state * 3 + _NUMBER[by], inflows))
    try:
        return _unpacked(rows[0]) if rows else None
    except _UNREADABLE:  # verification tells of it; what is kept can be worked out again
        return None


def _keep(store: Store, state: int, by: Basis, inflows: int, parts: Ancestry) -> None:
    """Keep it, unless another program is writing."""
    if store.query("SELECT count(*) FROM composition")[0][0] >= _MOST_ROWS:
        store.note("DELETE FROM composition WHERE key >= ?", [(0,)])
    lines = parts.origins | {line: part for line, part in parts.lines.items() if line not in parts.origins}
    row = (state * 3 + _NUMBER[by], inflows, len(parts.origins), _packed(parts.items), _packed(lines))
    store.note(_ROW, [row])


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


def _columns(packed: bytes) -> tuple[tuple[int, ...], tuple[float, ...]]:
    length = len(packed) // 16
    return struct.unpack_from(f"<{length}q", packed), struct.unpack_from(f"<{length}d", packed, 8 * length)


# -- what changed ------------------------------------------------------------------------


def forget_downstream(store: Store, states: Iterable[int]) -> None:
    """Drop the kept rows of these states, which may no longer exist, and of all that they went into."""
    if not store.query("SELECT 1 FROM composition LIMIT 1"):
        return
    for marks, chunk in chunks(tuple(states)):
        store.execute_many(
            "DELETE FROM composition WHERE key BETWEEN ? AND ?", [(one * 3, one * 3 + 2) for one in chunk]
        )
        store.execute(_DOWN.format(marks=marks), chunk)


def differing(store: Store) -> Iterator[int]:
    """States whose kept row does not follow from their inflows."""
    bases: dict[int, Basis] = {number: basis for basis, number in _NUMBER.items()}
    for inflows, *row in store.stream("SELECT inflows, key, origins, items, lines FROM composition ORDER BY key"):
        state, number = divmod(row[0], 3)
        try:
            kept = _unpacked(tuple(row))
            lineage = upstream(store, state).lineage
            first = sorted(lineage.inflows[state], key=lambda flow: (flow.happened_us, flow.line))[:inflows]
            known = lineage._replace(inflows={**lineage.inflows, state: tuple(first)})
            true = composition(known, state, WEIGH[bases[number]])
        except (*_UNREADABLE, KeyError):
            yield state
            continue
        if any(not _agree(one, other) for one, other in zip(kept, true, strict=True)):
            yield state


def _agree(one: dict[int, float], other: dict[int, float]) -> bool:
    return one.keys() == other.keys() and all(abs(part - other[key]) < 1e-9 for key, part in one.items())
