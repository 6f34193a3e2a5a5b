"""Rows of the liquid projections (ledger, flow, state) on their way into the store.

Rows are gathered by key, so that each is written once, and flushed in batches, so that an import of any
length runs in flat memory.
"""

from operator import itemgetter
from typing import Any

from pourbook.book.compositions import forget_downstream
from pourbook.book.contents import Holding
from pourbook.book.fold import Flow, own_state
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS
from pourbook.lineage.graph import RETURN

__all__ = ["Changes", "Key"]

Key = tuple[int, int]
"""Where a line stands in the order of application: when it happened, and its place."""

_LEDGER = (
    "INSERT INTO ledger (item, happened, place, line, mass, ethanol, extract, state, sealed)"
    " VALUES (?,?,?,?,?,?,?,?,?) ON CONFLICT (item, happened, place) DO UPDATE SET line = excluded.line,"
    " mass = excluded.mass, ethanol = excluded.ethanol, extract = excluded.extract,"
    " state = excluded.state, sealed = excluded.sealed"
)
_FLOW = (
    "INSERT INTO flow (target, line, carry, source, how, mass, ethanol, extract, out_mass, out_ethanol,"
    " out_extract, happened) VALUES (?,?,?,?,?,?,?,?,?,?,?,?)"
)
_STATE = (
    "INSERT INTO state (id, item, sealed_happened, sealed_place) VALUES (?,?,?,?)"
    " ON CONFLICT (id) DO UPDATE SET item = excluded.item,"
    " sealed_happened = excluded.sealed_happened, sealed_place = excluded.sealed_place"
)
# Summed from what is stored: flows of a state may have been written, or taken away, by several recordings.
_SUMS = (
    "UPDATE state SET (mass_in, ethanol_in) = (SELECT coalesce(sum(flow.mass), 0), coalesce(sum(flow.ethanol), 0)"
    f" FROM flow WHERE flow.target = ?1 AND flow.how <> '{RETURN}') WHERE id = ?1"
)
# Whatever was gathered, the last line that is stored tells.
_LAST_MASS = "(SELECT mass FROM ledger WHERE item = ?1 ORDER BY happened DESC, place DESC LIMIT 1)"
_COMES = (
    f"INSERT INTO on_hand (kind, item) SELECT ?1 % {len(KINDS)}, ?1 WHERE {_LAST_MASS} > 0"
    " ON CONFLICT (kind, item) DO NOTHING"
)
_GOES = f"DELETE FROM on_hand WHERE kind = ?1 % {len(KINDS)} AND item = ?1 AND coalesce({_LAST_MASS}, 0) = 0"


class Changes:
    """What a recording has changed and not yet written."""

    def __init__(self, store: Store, first_state: int) -> None:
        """Begin; states from `first_state` on are made by this recording."""
        self._store = store
        self._first_state = first_state
        self._ledger: dict[tuple[int, int, int], tuple[Any, ...]] = {}
        self._flows: dict[tuple[int, int, int], tuple[Any, ...]] = {}
        self._states: dict[int, tuple[int, int, int | None, int | None]] = {}
        self._gone_ledger: set[tuple[int, int, int]] = set()
        self._gone_flows: set[tuple[int, int, int]] = set()
        self._gone_states: set[int] = set()

    def __len__(self) -> int:
        return len(self._ledger)

    def put_ledger(self, item: int, key: Key, line: int, holding: Holding) -> None:
        """The item holds this after the line."""
        self._ledger[(item, *key)] = (item, *key, line, *holding)
        self._gone_ledger.discard((item, *key))

    def drop_ledger(self, item: int, key: Key) -> None:
        """The line no longer touches the item."""
        self._ledger.pop((item, *key), None)
        self._gone_ledger.add((item, *key))

    def put_flow(self, flow: Flow, happened: int) -> None:
        """An edge of the lineage graph."""
        self._flows[flow[:3]] = (*flow, happened)

    def drop_flows(self, line: int, target_state: int) -> None:
        """All edges that a line made, given the state its target was in afterwards (0: outside)."""
        own = own_state(line)
        gone = ((target_state, line, 0), (own - 1, line, 1), (own, line, 1), (own, line, 0))
        for key in gone:
            self._flows.pop(key, None)
        self._gone_flows.update(gone)

    def put_state(self, state: int, item: int, sealed: Key | None = None) -> None:
        """A state, with the place in the sealing order where it was sealed, if it was."""
        self._states[state] = (state, item, *(sealed or (None, None)))
        self._gone_states.discard(state)

    def drop_state(self, state: int) -> None:
        """The state no longer exists."""
        self._states.pop(state, None)
        self._gone_states.add(state)

    def flush(self, *, corrects: bool) -> None:
        """Write everything gathered so far.

        `corrects` tells whether lines recorded earlier were applied again or taken away. What is merely added goes
        into states that nothing was poured out of, so that no kept row knows them.
        """
        write = self._store.execute_many
        if self._gone_ledger:
            write("DELETE FROM ledger WHERE item=? AND happened=? AND place=?", self._gone_ledger)
        if self._gone_flows:
            write("DELETE FROM flow WHERE target=? AND line=? AND carry=?", self._gone_flows)
        if self._gone_states:
            write("DELETE FROM state WHERE id=?", [(state,) for state in self._gone_states])
        # In the order of their keys, a large book's pages are each touched once.
        ledger = sorted(self._ledger.items())
        write(_LEDGER, map(itemgetter(1), ledger))
        self._say_what_is_on_hand({key[0]: row[4] for key, row in ledger})
        write(_FLOW, map(itemgetter(1), sorted(self._flows.items())))
        write(_STATE, self._states.values())
        filled = {key[0] for key in (*self._flows, *self._gone_flows)}
        write(_SUMS, [(state,) for state in sorted(filled)])
        if corrects:
            # Only a state that was there before can have a kept row downstream.
            changed = filled | self._gone_states | self._states.keys()
            forget_downstream(self._store, [state for state in changed if 0 < state < self._first_state])
        for rows in (self._ledger, self._flows, self._states, self._gone_ledger, self._gone_flows, self._gone_states):
            rows.clear()

    def _say_what_is_on_hand(self, masses: dict[int, int]) -> None:
        """Which items hold liquid now, given the mass after the last line gathered of each."""
        lost_a_line = {item for item, *_ in self._gone_ledger}
        write = self._store.execute_many
        write(_COMES, [(item,) for item in lost_a_line.union(item for item, mass in masses.items() if mass)])
        write(_GOES, [(item,) for item in lost_a_line.union(item for item, mass in masses.items() if not mass)])
