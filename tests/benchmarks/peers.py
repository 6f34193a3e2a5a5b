"""General engines that answer questions of lineage from the same graph of states as a book.

Every peer gets the states, not the vessels (a graph of vessels gives wrong answers), and is told
the order of sealing. Libraries that find ancestors hand them to the same pass in plain Python, with
all inflows in a dictionary. They are spared knots: a drop that passed an item twice counts twice
with them.
"""

import os
import sqlite3
import time
from collections import defaultdict

__all__ = ["PEERS", "Graph", "SQLite", "Stored", "Walk"]

_RECURSIVE_UP = (
    "WITH RECURSIVE up (state) AS (SELECT CAST({mark} AS BIGINT) UNION SELECT flow.source FROM up"
    " JOIN flow ON flow.target = up.state WHERE flow.source <> 0)"
)
_RECURSIVE_DOWN = (
    "WITH RECURSIVE down (state) AS (SELECT id FROM state WHERE item = {mark} UNION SELECT flow.target FROM down"
    " JOIN flow ON flow.source = down.state WHERE flow.target <> 0)"
)
_IDS = " SELECT DISTINCT state.item FROM {found} JOIN state ON state.id = {found}.state"
_ROWS = (
    " SELECT flow.target, flow.source, flow.line, flow.ethanol, flow.mass FROM up JOIN flow ON flow.target = up.state"
)


class Graph:
    """The states of a book and all that entered each, in memory."""

    def __init__(self, store):
        rows = store.query("SELECT id, item, sealed_happened, sealed_place FROM state")
        rows.sort(key=lambda row: (1 << 62, row[0]) if row[2] is None else row[2:])
        self.rank = {row[0]: place for place, row in enumerate(rows)}
        self.item_of = {row[0]: row[1] for row in rows}
        self.states_of = defaultdict(list)
        for state, item in self.item_of.items():
            self.states_of[item].append(state)
        self.inflows = defaultdict(list)
        for target, *flow in store.query("SELECT target, source, line, ethanol, mass, how FROM flow WHERE target <> 0"):
            self.inflows[target].append(flow)

    def shares(self, states, start):
        """Parts of all items, origins and pours, given the states upstream of one."""
        part, items, lines, origins = {start: 1.0}, {}, {}, {}
        for state in sorted(states, key=self.rank.__getitem__, reverse=True):
            share = part.get(state, 0.0)
            flows = self.inflows[state]
            which = 2 if any(flow[2] for flow in flows) else 3
            total = sum(flow[which] for flow in flows)
            item = self.item_of[state]
            for flow in flows:
                source = flow[0]
                brought = share * flow[which] / total
                if source:
                    part[source] = part.get(source, 0.0) + brought
                    if self.item_of[source] == item:
                        continue
                    items[self.item_of[source]] = items.get(self.item_of[source], 0.0) + brought
                else:
                    origins[flow[1]] = brought
                lines[flow[1]] = lines.get(flow[1], 0.0) + brought
        return items, origins, lines


class _InMemory:
    """Finds states by a library or by hand; the rest is the same pass."""

    loaded = True

    def __init__(self, graph):
        self.graph = graph
        begin = time.perf_counter()
        self.load()
        self.load_s = time.perf_counter() - begin

    def back_ids(self, state):
        return {self.graph.item_of[one] for one in self.above(state)}

    def back_shares(self, state):
        return self.graph.shares(self.above(state), state)

    def forward_ids(self, item):
        found = set()
        for state in self.graph.states_of[item]:
            found.update(self.below(state))
        return {self.graph.item_of[one] for one in found}

    def edges(self):
        """Source and target of every inflow from another state."""
        return [(flow[0], target) for target, flows in self.graph.inflows.items() for flow in flows if flow[0]]


class NetworkX(_InMemory):
    name = "networkx"

    def load(self):
        import networkx as nx

        self.nx = nx
        self.digraph = nx.DiGraph()
        self.digraph.add_nodes_from(self.graph.item_of)
        self.digraph.add_edges_from(self.edges())

    def above(self, state):
        return self.nx.ancestors(self.digraph, state) | {state}

    def below(self, state):
        return self.nx.descendants(self.digraph, state) | {state}


class RustworkX(_InMemory):
    name = "rustworkx"

    def load(self):
        import rustworkx as rx

        self.rx = rx
        self.digraph = rx.PyDiGraph(multigraph=True)
        self.states = list(self.graph.item_of)
        self.index = dict(zip(self.states, self.digraph.add_nodes_from(self.states), strict=True))
        self.digraph.add_edges_from_no_data([(self.index[a], self.index[b]) for a, b in self.edges()])

    def above(self, state):
        return [self.states[one] for one in self.rx.ancestors(self.digraph, self.index[state])] + [state]

    def below(self, state):
        return [self.states[one] for one in self.rx.descendants(self.digraph, self.index[state])] + [state]


class IGraph(_InMemory):
    name = "igraph"

    def load(self):
        import igraph

        self.states = list(self.graph.item_of)
        self.index = {state: place for place, state in enumerate(self.states)}
        edges = [(self.index[a], self.index[b]) for a, b in self.edges()]
        self.digraph = igraph.Graph(n=len(self.states), edges=edges, directed=True)

    def above(self, state):
        return [self.states[one] for one in self.digraph.subcomponent(self.index[state], mode="in")]

    def below(self, state):
        return [self.states[one] for one in self.digraph.subcomponent(self.index[state], mode="out")]


class Walk(_InMemory):
    """No library at all: lists of neighbours in memory, and a stack."""

    name = "a bare walk in memory"

    def load(self):
        self.up, self.down = defaultdict(list), defaultdict(list)
        for source, target in self.edges():
            self.up[target].append(source)
            self.down[source].append(target)

    def above(self, state):
        return _reached(state, self.up)

    def below(self, state):
        return _reached(state, self.down)


def _reached(state, neighbours):
    found, waiting = {state}, [state]
    while waiting:
        for other in neighbours.get(waiting.pop(), ()):
            if other not in found:
                found.add(other)
                waiting.append(other)
    return found


class Stored:
    """Asks a database that keeps the same tables on disk."""

    loaded = False
    mark = "?"

    def __init__(self, graph):
        self.graph = graph
        self.load_s = 0.0

    def back_ids(self, state):
        question = (_RECURSIVE_UP + _IDS.format(found="up")).format(mark=self.mark)
        return {item for (item,) in self.query(question, (state,))}

    def forward_ids(self, item):
        question = (_RECURSIVE_DOWN + _IDS.format(found="down")).format(mark=self.mark)
        return {other for (other,) in self.query(question, (item,))}

    def back_shares(self, state):
        """Rows from the database; the pass in Python, on what it answered."""
        rows = self.query((_RECURSIVE_UP + _ROWS).format(mark=self.mark), (state,))
        return self.graph.shares({row[0] for row in rows}, state)


class SQLite(Stored):
    name = "SQLite, recursive SQL"

    def __init__(self, graph, path):
        super().__init__(graph)
        self.connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        self.connection.execute("PRAGMA cache_size = -65536")

    def query(self, question, parameters):
        return self.connection.execute(question, parameters).fetchall()


class DuckDB(Stored):
    name = "DuckDB"

    def __init__(self, graph, path):
        import duckdb

        super().__init__(graph)
        begin = time.perf_counter()
        self.connection = duckdb.connect(":memory:")
        copy = sqlite3.connect(path)
        import pandas as pd

        for table, columns in (("state", "id, item"), ("flow", "target, source, line, ethanol, mass")):
            frame = pd.read_sql_query(f"SELECT {columns} FROM {table}", copy)  # noqa: F841 (DuckDB reads it)
            self.connection.execute(f"CREATE TABLE {table} AS SELECT * FROM frame")
        copy.close()
        self.load_s = time.perf_counter() - begin

    def query(self, question, parameters):
        return self.connection.execute(question, parameters).fetchall()


class PostgreSQL(Stored):
    """The server that POURBOOK_POSTGRES names; its own temporary tables."""

    name = "PostgreSQL"
    mark = "%s"

    def __init__(self, graph, path):
        import psycopg

        super().__init__(graph)
        begin = time.perf_counter()
        self.connection = psycopg.connect(os.environ["POURBOOK_POSTGRES"])
        self.cursor = self.connection.cursor()
        copy = sqlite3.connect(path)
        for table, columns in (("state", "id, item"), ("flow", "target, source, line, ethanol, mass")):
            typed = ", ".join(f"{column} BIGINT" for column in columns.split(", "))
            self.cursor.execute(f"CREATE TEMPORARY TABLE {table} ({typed})")
            with self.cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as out:
                for row in copy.execute(f"SELECT {columns} FROM {table}"):
                    out.write_row(row)
        copy.close()
        for index in ("state (id)", "state (item)", "flow (target)", "flow (source)"):
            self.cursor.execute(f"CREATE INDEX ON {index}")
        self.cursor.execute("ANALYZE")
        self.load_s = time.perf_counter() - begin

    def query(self, question, parameters):
        return self.cursor.execute(question, parameters).fetchall()


PEERS = (SQLite, DuckDB, PostgreSQL, NetworkX, RustworkX, IGraph, Walk)
