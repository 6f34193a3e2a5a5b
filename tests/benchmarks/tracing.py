"""Import, commit and trace, measured beside peers on the same data in the same run.

    python tests/benchmarks/tracing.py POURS [FOLDER]

Writes a made-up house of so many pours, imports it, then asks 200 random lots where they came from
and 200 random casks where they went: ours, SQLite's recursive SQL, networkx and rustworkx. Every
peer gets the graph of states (a graph of vessels gives wrong answers) and the answers are compared
before anything is timed. Figures are medians and 99th percentiles in ms, and ratios to ours.
"""

import gc
import os
import random
import resource
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import networkx as nx
import rustworkx as rx

sys.path.insert(0, str(Path(__file__).parent))
from house_files import write_house

from pourbook import Book, Draft, Item, Move, Pour
from pourbook.book import tracing
from pourbook.exchange.history import import_history
from pourbook.identifiers import of_key
from pourbook.lineage.shares import by_alcohol, trace_back
from pourbook.quantities import read_amount

ASKED = int(os.environ.get("POURBOOK_ASKED", "200"))


def peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def timed(ask: Callable[[Any], Any], questions: list[Any]) -> tuple[float, float]:
    """Median and 99th percentile in ms; the garbage collector waits, as it would for every peer."""
    taken = []
    gc.disable()
    for question in questions:
        begin = time.perf_counter()
        ask(question)
        taken.append((time.perf_counter() - begin) * 1000)
    gc.enable()
    return statistics.median(taken), statistics.quantiles(taken, n=100)[98]


def make_book(pours: int, folder: Path) -> Book:
    path = folder / f"house-{pours}.pourbook"
    if path.exists():
        return Book.open(path)
    files = folder / f"house-{pours}"
    files.mkdir(parents=True, exist_ok=True)
    write_house(files, pours, 1)
    book = Book.create(path, house="Quillmere")
    begin = time.perf_counter()
    taken_in = import_history(book, files)
    seconds = time.perf_counter() - begin
    print(
        f"import: {taken_in.pours} pours, {taken_in.items} items in {seconds:.1f} s, "
        f"{taken_in.pours / seconds:.0f} pours/s, peak {peak_mb():.0f} MB, book {path.stat().st_size / 1e6:.0f} MB"
    )
    return book


def commit(book: Book) -> None:
    """One pour, durable, against a bare transaction that writes the same bytes on the same disk."""
    cask = next(view.id for view in book.stock() if view.kind == "cask" and view.holding.mass_mg > 50_000_000)
    vial = book.next_id("vial")
    book.record(Draft(Item(vial, {}), book.clock(), "bench"))
    amount = read_amount("1 ml")
    ours, _ = timed(
        lambda _: book.record(Draft(Pour("draw", (Move(cask, vial, amount),)), book.clock(), "bench")), list(range(100))
    )
    rows = book.store.query("SELECT bytes FROM entry ORDER BY number DESC LIMIT 1")
    with tempfile.TemporaryDirectory(dir=Path(book.store.path).parent) as folder:
        bare = sqlite3.connect(Path(folder) / "bare.db", isolation_level=None)
        for statement in ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL", "CREATE TABLE t (bytes TEXT)"):
            bare.execute(statement)

        def write(_: int) -> None:
            bare.execute("BEGIN IMMEDIATE")
            bare.execute("INSERT INTO t VALUES (?)", (rows[0][0] * 2,))
            bare.execute("COMMIT")

        plain, _ = timed(write, list(range(100)))
        bare.close()
    print(f"commit of one pour: {ours:.2f} ms, bare transaction {plain:.2f} ms: {ours / plain:.2f}x")


class Peers:
    """The same graph of states in memory, and as plain SQL."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.item_of = dict(book.store.query("SELECT id, item FROM state"))
        edges = book.store.query("SELECT source, target FROM flow WHERE source <> 0 AND target <> 0")
        begin = time.perf_counter()
        self.networkx = nx.DiGraph()
        self.networkx.add_nodes_from(self.item_of)
        self.networkx.add_edges_from(edges)
        self.load_nx = time.perf_counter() - begin
        begin = time.perf_counter()
        self.rustworkx = rx.PyDiGraph(multigraph=True)
        self.states = list(self.item_of)
        self.index = dict(zip(self.states, self.rustworkx.add_nodes_from(self.states), strict=True))
        self.rustworkx.add_edges_from_no_data([(self.index[a], self.index[b]) for a, b in edges])
        self.load_rx = time.perf_counter() - begin

    def nx_back(self, state: int) -> set[int]:
        return {self.item_of[node] for node in nx.ancestors(self.networkx, state)}

    def rx_back(self, state: int) -> set[int]:
        return {self.item_of[self.states[node]] for node in rx.ancestors(self.rustworkx, self.index[state])}

    def nx_forward(self, states: list[int]) -> set[int]:
        return {self.item_of[node] for state in states for node in nx.descendants(self.networkx, state)}

    def rx_forward(self, states: list[int]) -> set[int]:
        return {
            self.item_of[self.states[node]]
            for state in states
            for node in rx.descendants(self.rustworkx, self.index[state])
        }

    def sql_back(self, state: int) -> set[int]:
        rows = self.book.store.query(
            "WITH RECURSIVE up (state) AS (VALUES (?) UNION SELECT flow.source FROM up JOIN flow"
            " ON flow.target = up.state WHERE flow.source <> 0)"
            " SELECT DISTINCT state.item FROM up JOIN state ON state.id = up.state",
            (state,),
        )
        return {item for (item,) in rows}

    def sql_forward(self, item: int) -> set[int]:
        rows = self.book.store.query(
            "WITH RECURSIVE down (state) AS (SELECT id FROM state WHERE item = ? UNION SELECT flow.target"
            " FROM down JOIN flow ON flow.source = down.state WHERE flow.target <> 0)"
            " SELECT DISTINCT state.item FROM down JOIN state ON state.id = down.state",
            (item,),
        )
        return {found for (found,) in rows}


def report(name: str, ours: tuple[float, float], *peers: tuple[str, tuple[float, float]]) -> None:
    print(f"{name}: ours {ours[0]:.3f} / {ours[1]:.2f} ms")
    for peer, (median, worst) in peers:
        print(
            f"    {peer:24} {median:9.3f} / {worst:8.2f} ms   = {median / ours[0]:.2f}x / {worst / ours[1]:.2f}x ours"
        )


def main(pours: int, folder: Path) -> None:
    book = make_book(pours, folder)
    commit(book)
    peers = Peers(book)
    print(f"load: networkx {peers.load_nx:.1f} s, rustworkx {peers.load_rx:.1f} s; ours opens, no load")
    draw = random.Random(2)
    lots = draw.sample([key for (key,) in book.store.query("SELECT key FROM item WHERE kind = 'lot'")], ASKED)
    casks = draw.sample([key for (key,) in book.store.query("SELECT key FROM item WHERE kind = 'cask'")], ASKED)
    latest = {
        lot: book.store.query("SELECT state FROM ledger WHERE item = ? ORDER BY happened DESC LIMIT 1", (lot,))[0][0]
        for lot in lots
    }
    states_of = {
        cask: [row[0] for row in book.store.query("SELECT id FROM state WHERE item = ?", (cask,))] for cask in casks
    }
    ends = [latest[lot] for lot in lots]
    for lot, state in zip(lots, ends, strict=True):
        found = set(tracing.upstream(book.store, state).lineage.item_of.values())
        assert found == peers.sql_back(state) == peers.nx_back(state) | {lot} == peers.rx_back(state) | {lot}
    for cask in casks:
        found = set(tracing.downstream(book.store, cask).lineage.item_of.values())
        others = peers.nx_forward(states_of[cask])
        assert found - {cask} == others - {cask} == peers.sql_forward(cask) - {cask}
    sizes = [len(tracing.upstream(book.store, state).lineage.order) for state in ends]
    print(f"lineage of a lot: {statistics.median(sizes):.0f} states (median), {max(sizes)} (most)")
    ids = timed(lambda state: tracing.upstream(book.store, state), ends)
    report(
        "back, every inflow",
        ids,
        ("SQLite recursive, ids", timed(peers.sql_back, ends)),
        ("networkx, ids", timed(peers.nx_back, ends)),
        ("rustworkx, ids", timed(peers.rx_back, ends)),
    )

    def shares(state: int) -> Any:
        return trace_back(tracing.upstream(book.store, state).lineage, state, by_alcohol)

    def nx_shares(state: int) -> dict[int, float]:
        """The same pass over a loaded graph: amounts on edges, in a topological order of the ancestors."""
        wanted = nx.ancestors(peers.networkx, state) | {state}
        part = dict.fromkeys(wanted, 0.0)
        part[state] = 1.0
        items: dict[int, float] = {}
        for node in reversed(list(nx.topological_sort(peers.networkx.subgraph(wanted)))):
            total = totals.get(node, 0)
            for source in peers.networkx.pred[node]:
                brought = part[node] * amounts[source, node] / total if total else 0.0
                part[source] += brought
                if peers.item_of[source] != peers.item_of[node]:
                    items[peers.item_of[source]] = items.get(peers.item_of[source], 0.0) + brought
        return items

    amounts: dict[tuple[int, int], int] = {}
    totals: dict[int, int] = {}
    for source, target, ethanol in book.store.query("SELECT source, target, ethanol FROM flow WHERE target <> 0"):
        totals[target] = totals.get(target, 0) + ethanol
        if source:
            amounts[source, target] = amounts.get((source, target), 0) + ethanol
    report("back, with shares", timed(shares, ends), ("networkx, loaded", timed(nx_shares, ends)))
    names = [book.show(of_key(lot)).id for lot in lots]
    whole = timed(lambda name: book.trace_back(name), names)
    print(f"back, the whole answer (items, origins, pours, people, ages): {whole[0]:.3f} / {whole[1]:.2f} ms")
    forward = timed(lambda cask: tracing.downstream(book.store, cask), casks)
    report(
        "forward, every inflow",
        forward,
        ("SQLite recursive, ids", timed(peers.sql_forward, casks)),
        ("networkx, ids", timed(lambda cask: peers.nx_forward(states_of[cask]), casks)),
        ("rustworkx, ids", timed(lambda cask: peers.rx_forward(states_of[cask]), casks)),
    )
    names = [of_key(cask) for cask in casks]
    whole = timed(lambda name: book.trace_forward(name), names)
    print(f"forward, the whole answer: {whole[0]:.3f} / {whole[1]:.2f} ms")
    print(f"peak memory with every peer loaded: {peak_mb():.0f} MB")
    book.close()


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2] if len(sys.argv) > 2 else tempfile.mkdtemp()))
