"""A book on PostgreSQL beside the same book in SQLite's file, and beside hand-written recursive SQL on the same server.

    PYTHONPATH=src python tests/benchmarks/engines.py [POURS] [SECONDS] [FOLDER]

Imports a made-up house of so many pours (30,000) into both, which must give the same head; asks both the same random
lots where they came from and the same random casks where they went, and compares the answers first. Figures are medians
and 99th percentiles in ms of the wall, since a server works in processes of its own, and ratios. Then sixteen stations,
a process each, record for so many seconds (60) in either: what each was told is compared with what is there at the end.
`POURBOOK_TESTS_POSTGRES` names a server; else one is started that keeps its data on this disk with full durability.
"""

import gc
import json
import multiprocessing
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path
from unittest import mock

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "benchmarks")]

from house import HOW, Clock  # noqa: E402
from house_files import write_house  # noqa: E402
from peers import Graph, SQLite, Stored  # noqa: E402
from servers import schema_of, serving  # noqa: E402

from pourbook import Book, Draft, Item, Move, Pour  # noqa: E402
from pourbook.actions.importing import import_history  # noqa: E402
from pourbook.book import lineages  # noqa: E402
from pourbook.book.compositions import composition_of  # noqa: E402
from pourbook.codes.identifiers import of_key  # noqa: E402
from pourbook.quantities import read_amount, read_strength  # noqa: E402

ASKED = 100
STATIONS = 16
DURABLE = ("fsync=on", "full_page_writes=on", "autovacuum=on")


class RecursiveSQL(Stored):
    """Hand-written SQL over the book's own tables, on the connection of nobody else."""

    name = "recursive SQL on the same server"
    mark = "%s"

    def __init__(self, graph, address):
        import psycopg

        super().__init__(graph)
        self.connection = psycopg.connect(address.partition("?")[0], autocommit=True)
        self.connection.execute(f'SET search_path = "{schema_of(address)}"')

    def query(self, question, parameters):
        return self.connection.execute(question, parameters).fetchall()


def timed(ask, questions):
    """Median and 99th percentile in ms."""
    taken = []
    gc.collect()
    gc.disable()
    for question in questions:
        begin = time.perf_counter()
        ask(question)
        taken.append((time.perf_counter() - begin) * 1000)
    gc.enable()
    return statistics.median(taken), statistics.quantiles(taken, n=100)[98]


def report(question, ours, others):
    """A line for each engine, as multiples of ours on PostgreSQL (more than 1: ours is faster)."""
    print(f"{question}: PostgreSQL {ours[0]:.2f} / {ours[1]:.1f} ms")
    for name, taken in others:
        ratios = " / ".join(f"{theirs / own:.2f}" for theirs, own in zip(taken, ours, strict=True))
        print(f"    {name:36} {taken[0]:9.2f} / {taken[1]:8.1f} ms = {ratios} of it")


def imported(place, files):
    """The house in a new book, and the seconds that it took."""
    book = Book.create(place, house="Quillmere", clock=Clock("2024-01-01"))
    begin = time.perf_counter()
    import_history(book, HOW, files)
    return book, time.perf_counter() - begin


def traces(on_server, in_file, address, path):
    """Every question of both engines, and of recursive SQL on both."""
    graph = Graph(in_file.store)
    by_hand = {"recursive SQL on the same server": RecursiveSQL(graph, address), SQLite.name: SQLite(graph, path)}
    draw = random.Random(2)
    of_kind = "SELECT key FROM item WHERE kind = ? ORDER BY key"
    lots, casks = (draw.choices(in_file.store.query(of_kind, (kind,)), k=ASKED) for kind in ("lot", "cask"))
    lots, casks = [key for (key,) in lots], [key for (key,) in casks]
    last = "SELECT state FROM ledger WHERE item = ? ORDER BY happened DESC LIMIT 1"
    ends = [in_file.store.query(last, (lot,))[0][0] for lot in lots]
    for state in ends[:20]:
        ours, other = (composition_of(book.store, state, "alcohol") for book in (on_server, in_file))
        assert ours == other, "the engines differ"
        for name, peer in by_hand.items():
            items, origins, lines = peer.back_shares(state)
            assert ours.items.keys() == items.keys(), name
            assert ours.lines.keys() == lines.keys(), name
            assert max(abs(ours.origins[line] - share) for line, share in origins.items()) < 1e-9, name
    for cask in casks[:20]:
        reached = lineages.reached(on_server.store, cask)
        assert reached == lineages.reached(in_file.store, cask)
        assert all(peer.forward_ids(cask) == reached for peer in by_hand.values())

    def both(ask, questions):
        return [timed(lambda one, book=book: ask(book, one), questions) for book in (on_server, in_file)]

    def shares(book, state):
        return composition_of(book.store, state, "alcohol")

    for book in (on_server, in_file):
        with book.store.transaction():
            book.store.execute("DELETE FROM composition")
    first, first_in_file = both(shares, ends)
    sql = [(name, timed(peer.back_shares, ends)) for name, peer in by_hand.items()]
    report("back, shares, asked for the first time", first, [("SQLite", first_in_file), *sql])
    warm, warm_in_file = both(shares, ends)
    report("back, shares, from kept rows", warm, [("SQLite", warm_in_file), *sql])
    ours, other = both(lambda book, cask: lineages.reached(book.store, cask), casks)
    sql = [(name, timed(peer.forward_ids, casks)) for name, peer in by_hand.items()]
    report("forward, identifiers", ours, [("SQLite", other), *sql])
    for name, ask, asked in (
        ("back, the whole answer", lambda book, key: book.trace_back(of_key(key)), lots),
        ("forward, the whole answer", lambda book, key: book.trace_forward(of_key(key)), casks),
        ("show", lambda book, key: book.show(of_key(key)), casks),
    ):
        ours, other = both(ask, asked)
        report(name, ours, [("SQLite", other)])
    ours, other = both(lambda book, _: list(book.stock(kind="cask")), range(20))
    report("casks on hand", ours, [("SQLite", other)])


def station(place, number, seconds, say):
    """One station: opens the book, draws from its own cask into its own vial; says what took how long."""
    with Book.open(place) as book:
        cask, vial = number
        taken, until = [], time.monotonic() + seconds
        while time.monotonic() < until:
            draft = Draft(Pour("draw", (Move(cask, vial, read_amount("0.1 ml")),)), book.clock(), "bench")
            begin = time.perf_counter()
            book.record(draft)
            taken.append((time.perf_counter() - begin) * 1000)
        say.send_bytes(json.dumps([taken, book.store.retries]).encode())


def stations(name, place, seconds):
    """Sixteen of them at once."""
    pairs = []
    with Book.open(place) as book:
        for _ in range(STATIONS):
            cask = book.next_id("cask")
            book.record(Draft(Item(cask, {}), book.clock(), "bench"))
            fill = Move("origin", cask, read_amount("200 l"), read_strength("60"))
            book.record(Draft(Pour("fill", (fill,)), book.clock(), "bench"))
            vial = book.next_id("vial")
            book.record(Draft(Item(vial, {}), book.clock(), "bench"))
            pairs.append((cask, vial))
        before = book.head_number()
    context = multiprocessing.get_context("spawn")
    lines = [context.Pipe(duplex=False) for _ in pairs]
    running = [
        context.Process(target=station, args=(place, pair, seconds, say))
        for pair, (_, say) in zip(pairs, lines, strict=True)
    ]
    for one, (_, say) in zip(running, lines, strict=True):
        one.start()
        say.close()  # so that a station that ends without a word is heard of
    heard = [json.loads(hears.recv_bytes()) for hears, _ in lines]
    for one in running:
        one.join()
    taken = [each for times, _ in heard for each in times]
    with Book.open(place) as book:
        there = book.head_number() - before
        faults = book.verify().faults
    assert there == len(taken), f"{len(taken)} were told, {there} are there"
    assert faults == (), faults
    worst = statistics.quantiles(taken, n=100)[98]
    print(
        f"{STATIONS} stations for {seconds} s, {name}: {len(taken)} recorded and there,"
        f" {sum(retries for _, retries in heard)} begun again; {statistics.median(taken):.1f} ms, p99 {worst:.0f} ms"
    )


def main(pours=30_000, seconds=60, folder=None):
    folder = Path(folder or tempfile.mkdtemp())
    files = folder / "files"
    files.mkdir(parents=True, exist_ok=True)
    write_house(files, pours, 1)
    with serving(*DURABLE) as server:
        address, path = server.fresh(), folder / "house.pourbook"
        with mock.patch("pourbook.book.coded_names.new_salt", return_value="5a" * 16):  # else chance gives another head
            on_server, took = imported(address, files)
            in_file, took_in_file = imported(path, files)
        assert on_server.head() == in_file.head(), "the same entries, another head"
        print(f"import of {pours} pours: PostgreSQL {took:.1f} s, SQLite {took_in_file:.1f} s; one head")
        traces(on_server, in_file, address, path)
        on_server.close()
        in_file.close()
        stations("PostgreSQL", address, seconds)
        stations("SQLite", str(path), seconds)
        server.drop(address)


if __name__ == "__main__":
    main(*(int(word) if word.isdigit() else word for word in sys.argv[1:]))
