"""A group's rows on several nodes: which node a row lies on, rounds of questions to them, and what those cost.

A node is a schema or a database of one server. A row lies where the entry that made it lies, by site, then time, which
follows from its number alone, so no question asks first where something is. Flows lie with the state they lead to; the
index of them by their source lies with the source, as an engine that spreads ranges of keys keeps it: `flow_out`.
"""

import tempfile
import time
from bisect import bisect_right
from collections import defaultdict
from contextlib import ExitStack, closing, contextmanager
from pathlib import Path
from typing import NamedTuple

import psycopg
import servers
from group_of_sites import CODES, COLUMNS, Group, site_of_item

from pourbook.book.contents import LINES
from pourbook.book.store import Store

FLOW_OUT = """CREATE TABLE flow_out (source BIGINT, target BIGINT, line BIGINT, carry BIGINT, mass BIGINT,
    ethanol BIGINT, how TEXT, happened BIGINT, PRIMARY KEY (source, target, line, carry))"""
"""What a node has beside the tables of a group's book: flows by their source."""

PORTION = 20_000


class Cost(NamedTuple):
    """What one question cost: nodes asked, round trips, rows read, rows answered, the time of the slowest nodes.

    `steps` is how far a lineage goes: the round trips of an engine that asks for one generation after the other.
    """

    nodes: int
    rounds: int
    steps: int
    touched: int
    answered: int
    ms: float


# -- where rows lie -------------------------------------------------------------------------


class Placement:
    """By site, then time: which node a number of an entry, line, state or item belongs to.

    Args:
        sites, nodes, slices: how many; a slice is an equal part of the time.
    """

    def __init__(self, sites, nodes, slices):
        self.sites, self.nodes, self.slices = sites, nodes, slices
        self.begins = {code: [0] for code in range(1, sites + 1)}
        """By site: the first entry of each slice, in the group's numbers. All that a coordinator must know."""

    def of_entry(self, number):
        code = number % CODES
        return ((code - 1) * self.slices + bisect_right(self.begins[code], number) - 1) % self.nodes

    def of_line(self, line):
        return self.of_entry(line // LINES)

    def of_state(self, state):
        return self.of_line(state // 2)

    def of_site(self, code):
        """The nodes of a site, the one with its latest slice last."""
        return [((code - 1) * self.slices + one) % self.nodes for one in range(self.slices)]


class Nodes:
    """The nodes, asked in rounds; counts what that costs."""

    def __init__(self, placement, addresses):
        self.place = placement
        self.stores = [Store.create(address) for address in addresses]
        self.lines = [_connected(address) for address in addresses]
        for line in self.lines:
            line.execute(FLOW_OUT)
        self.is_measuring = False

    def close(self):
        for one in (*self.lines, *self.stores):
            one.close()

    def round(self, asked):
        """One round trip: a statement with its values for each node; answers by node."""
        self.rounds += 1
        answers, slowest = {}, 0.0
        for node, (statement, values) in asked.items():
            begin = time.perf_counter()
            answers[node] = self.lines[node].execute(statement, values).fetchall()
            slowest = max(slowest, time.perf_counter() - begin)
            self.answered += len(answers[node])
            self.explain(node, statement, values)
        self.ms += slowest * 1000
        return answers

    def stream(self, node, statement, values):
        """One round trip, and the rows one by one."""
        self.rounds += 1
        begin = time.perf_counter()
        with self.lines[node].transaction(), self.lines[node].cursor("streamed") as cursor:
            cursor.itersize = PORTION
            for row in cursor.execute(statement, values):
                self.answered += 1
                yield row
        self.ms += (time.perf_counter() - begin) * 1000
        self.explain(node, statement, values)

    def explain(self, node, statement, values):
        self.asked.add(node)
        if self.is_measuring:
            explained = self.lines[node].execute(f"EXPLAIN (ANALYZE, FORMAT JSON, TIMING OFF) {statement}", values)
            self.touched += read_by(explained.fetchone()[0][0]["Plan"])

    def everywhere(self, statement, values=()):
        return self.round(dict.fromkeys(range(self.place.nodes), (statement, values)))

    def counted(self, question, *arguments):
        """The answer to a question, and what it cost."""
        self.rounds = self.steps = self.touched = self.answered = 0
        self.ms, self.asked = 0.0, set()
        answer = question(self, *arguments)
        return answer, Cost(len(self.asked), self.rounds, self.steps, self.touched, self.answered, self.ms)


def read_by(plan):
    """Rows that a plan read from tables and indexes, those filtered away included."""
    own = 0
    if "Scan" in plan["Node Type"] and plan["Node Type"] not in ("CTE Scan", "WorkTable Scan", "Bitmap Index Scan"):
        gone = plan.get("Rows Removed by Filter", 0) + plan.get("Rows Removed by Index Recheck", 0)
        own = (plan["Actual Rows"] + gone) * plan["Actual Loops"]
    return round(own) + sum(map(read_by, plan.get("Plans", ())))


def _connected(address):
    line = psycopg.connect(address.partition("?")[0], autocommit=True, prepare_threshold=None)
    line.execute(f'SET search_path TO "{servers.schema_of(address)}"')
    for hint in ("jit", "enable_hashjoin", "enable_mergejoin", "enable_seqscan"):  # else few rows are read whole
        line.execute(f"SET {hint} = off")
    return line


# -- making it ----------------------------------------------------------------------------


class Loading:
    """Rows of a group on their way to the nodes and to the one book."""

    def __init__(self, nodes, one):
        self.nodes, self.one, self.place = nodes, one, nodes.place
        self.waiting = defaultdict(list)
        self.slice_of = dict.fromkeys(self.place.begins, 1)
        self.span = (Group.START_US, Group.END_US)

    def row(self, table, row):
        match table:
            case "entry":
                self.begin_slice(row)
                node = self.place.of_entry(row[0])
                self.put(node, "site_entry", (row[0] % CODES, row[0] // CODES, row[5], row[6]))
            case "item":
                node = self.place.of_entry(row[2])
            case "fact":
                node = self.place.of_entry(row[3])
            case "ledger":
                node = self.place.of_line(row[3])
            case "state":
                node = self.place.of_state(row[0])
            case "on_hand":
                node = self.place.of_site(site_of_item(row[1]))[-1]
            case "flow":
                node = self.place.of_state(row[0]) if row[0] else self.place.of_line(row[1])
                if row[3]:
                    target, line, carry, source, how, happened, mass, ethanol = row[:8]
                    out = (source, target, line, carry, mass, ethanol, how, happened)
                    self.put(self.place.of_state(source), "flow_out", out)
        self.put(node, table, row)
        self.put(None, table, row)

    def begin_slice(self, row):
        """A site's first entry after the end of a slice begins the next."""
        code, (begin, end) = row[0] % CODES, self.span
        begun = self.slice_of[code]
        if begun < self.place.slices and row[2] >= begin + (end - begin) * begun // self.place.slices:
            self.place.begins[code].append(row[0])
            self.slice_of[code] = begun + 1

    def put(self, node, table, row):
        rows = self.waiting[node, table]
        rows.append(row)
        if len(rows) >= PORTION:
            self.write(node, table)

    def write(self, node, table):
        store = self.one if node is None else self.nodes.stores[node]
        columns = {
            **COLUMNS, "site_entry": ("code", "number", "bytes", "hash"),
            "flow_out": ("source", "target", "line", "carry", "mass", "ethanol", "how", "happened"),
        }[table]  # fmt: skip
        with store.transaction():
            store.insert_many(table, columns, self.waiting.pop((node, table)))

    def end(self):
        for node, table in list(self.waiting):
            self.write(node, table)
        for store in (*self.nodes.stores, self.one):
            store.settle()


@contextmanager
def placed(pours, sites, nodes, slices, *, databases=False, server=None, folder=None):
    """A group on nodes, and the same rows in one book: (nodes, one, group)."""
    with ExitStack() as end:
        serving = servers.GivenServer(server) if server else end.enter_context(servers.serving())
        addresses = [_address(serving, node, databases=databases) for node in range(nodes)]
        folder = folder or end.enter_context(tempfile.TemporaryDirectory())
        one = end.enter_context(closing(Store.create(Path(folder) / "one.pourbook")))
        asked = end.enter_context(closing(Nodes(Placement(sites, nodes, slices), addresses)))
        loading = Loading(asked, one)
        group = Group(sites, pours, loading.row)
        group.make()
        loading.end()
        yield asked, one, group


def _address(server, node, *, databases):
    if not databases:
        return server.fresh()
    name = f"node_{node}_{time.time_ns()}"
    server.does(f"CREATE DATABASE {name}")
    return server.address(name=name)
