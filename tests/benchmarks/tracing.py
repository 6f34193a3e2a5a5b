"""Import, commit, trace and correction, measured beside peers on the same data in the same run.

    python tests/benchmarks/tracing.py POURS [FOLDER]

Writes a made-up house of so many pours, imports it, then asks random lots where they came from and
random casks where they went. Answers are compared before anything is timed. Figures are medians and
99th percentiles in ms, and ratios to ours. Peers that are not installed are named and left out.
`POURBOOK_ASKED` sets how many questions (200), `POURBOOK_POSTGRES` names a server to ask as well.
"""

import gc
import os
import random
import resource
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1]))
from house import HOW
from house_files import write_house
from peers import PEERS, Graph, SQLite
from start_up import BARE

from pourbook import Book, Draft, Item, Move, Pour
from pourbook.actions.importing import import_history
from pourbook.book import lineages
from pourbook.book.compositions import composition_of
from pourbook.book.flows import states_of
from pourbook.codes.identifiers import of_key
from pourbook.lineage.shares import by_alcohol, edges_of, parts_forward
from pourbook.liquid import Liquid
from pourbook.quantities import read_amount

ASKED = int(os.environ.get("POURBOOK_ASKED", "200"))
SLOW_ASKED = 20
"""Questions to a peer that takes tens of milliseconds for each."""
SIZES = (30, 300, 1 << 62)


def peak_mb():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def timed(ask, questions, clock=time.perf_counter):
    """Milliseconds of each question; the garbage collector waits, as it would for every peer."""
    taken = []
    gc.collect()
    gc.disable()
    for question in questions:
        begin = clock()
        ask(question)
        taken.append((clock() - begin) * 1000)
    gc.enable()
    return taken


def figures(taken):
    """Median and 99th percentile."""
    return statistics.median(taken), statistics.quantiles(taken, n=100)[98]


def make_book(pours, folder):
    path = folder / f"house-{pours}.pourbook"
    if path.exists():
        return Book.open(path)
    files = folder / f"house-{pours}"
    files.mkdir(parents=True, exist_ok=True)
    write_house(files, pours, 1)
    book = Book.create(path, house="Quillmere")
    begin, used = time.perf_counter(), time.process_time()
    taken_in = import_history(book, HOW, files)
    seconds, used = time.perf_counter() - begin, time.process_time() - used
    print(
        f"import: {taken_in.pours} pours, {taken_in.items} items in {seconds:.0f} s ({used:.0f} s of processor),"
        f" {taken_in.pours / seconds:.0f} pours/s, peak {peak_mb():.0f} MB, book {path.stat().st_size / 1e6:.0f} MB"
    )
    return book


def commit(book):
    """One pour, durable, against a bare transaction that writes the same bytes on the same disk."""
    cask = next(view.id for view in book.stock() if view.kind == "cask" and view.holding.mass_mg > 50_000_000)
    vial = book.next_id("vial")
    book.record(Draft(Item(vial, {}), book.clock(), "bench"))
    amount = read_amount("1 ml")
    draft = lambda: Draft(Pour("draw", (Move(cask, vial, amount),)), book.clock(), "bench")  # noqa: E731
    ours = statistics.median(timed(lambda _: book.record(draft()), range(100)))
    rows = book.store.query("SELECT bytes FROM entry ORDER BY number DESC LIMIT 1")
    with tempfile.TemporaryDirectory(dir=Path(book.store.path).parent) as folder:
        bare = sqlite3.connect(Path(folder) / "bare.db", isolation_level=None)
        for statement in ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL", "CREATE TABLE t (bytes TEXT)"):
            bare.execute(statement)

        def write(_):
            bare.execute("BEGIN IMMEDIATE")
            bare.execute("INSERT INTO t VALUES (?)", (rows[0][0] * 2,))
            bare.execute("COMMIT")

        plain = statistics.median(timed(write, range(100)))
        bare.close()
    print(f"commit of one pour: {ours:.2f} ms, bare transaction {plain:.2f} ms: {ours / plain:.2f}x")


def report(name, ours, peers):
    own = figures(ours)
    print(f"{name}: ours {own[0]:.3f} / {own[1]:.2f} ms")
    for peer, taken in peers:
        median, worst = figures(taken)
        print(
            f"    {peer:24} {median:9.3f} / {worst:8.2f} ms   = {median / own[0]:6.2f}x / {worst / own[1]:6.2f}x ours"
        )


def asked(peer, ask, questions):
    """All questions; only some, of a peer that is slow."""
    first = timed(ask, questions[:SLOW_ASKED])
    return first if statistics.median(first) > 20 else first + timed(ask, questions[SLOW_ASKED:])


def peers_of(book, graph):
    found = []
    for kind in PEERS:
        try:
            found.append(kind(graph) if getattr(kind, "loaded", False) else kind(graph, book.store.path))
        except (ImportError, KeyError) as missing:
            print(f"not asked: {kind.name} ({missing})")
    print("loading: " + ", ".join(f"{peer.name} {peer.load_s:.1f} s" for peer in found if peer.load_s))
    return found


def back(book, ends, peers):
    """Identifiers, then the shares of all items, origins and pours."""
    store = book.store
    for state in ends[:SLOW_ASKED]:
        ours = composition_of(store, state, "alcohol")
        for peer in peers:
            items, origins, lines = peer.back_shares(state)
            assert ours.origins.keys() == origins.keys(), peer.name
            assert ours.lines.keys() == lines.keys(), peer.name
            assert max(abs(ours.origins[line] - share) for line, share in origins.items()) < 1e-9
            assert items.keys() == ours.items.keys()
            assert peer.back_ids(state) - {peer.graph.item_of[state]} == items.keys() - {peer.graph.item_of[state]}

    def shares(state):
        return composition_of(store, state, "alcohol")

    store.execute("DELETE FROM composition")
    first = timed(shares, ends)
    report("back, shares, asked for the first time", first, ())
    warm = timed(shares, ends)
    report(
        "back, shares of items, origins and pours",
        warm,
        [(peer.name, asked(peer, peer.back_shares, ends)) for peer in peers],
    )
    sizes = [len(composition_of(store, state, "alcohol").lines) for state in ends]
    for least, most in zip((0, *SIZES), SIZES, strict=False):
        chosen = [place for place, size in enumerate(sizes) if least < size <= most]
        if chosen:
            print(
                f"    {len(chosen)} lots of {least + 1} to {min(most, max(sizes))} pours: ours"
                f" {statistics.median(warm[place] for place in chosen):.3f} ms,"
                f" the first time {statistics.median(first[place] for place in chosen):.3f} ms"
            )
    ((rows, length),) = store.query("SELECT count(*), coalesce(sum(length(items) + length(lines)), 0) FROM composition")
    print(f"    kept by these questions: {rows} rows, {length / 1e6:.1f} MB")


def forward(book, casks, peers):
    store = book.store

    def ids(cask):
        return lineages.reached(store, cask)

    def shares(cask):
        return lineages.parts_downstream(store, cask, "alcohol")

    for cask in casks[:SLOW_ASKED]:
        for peer in peers:
            assert peer.forward_ids(cask) == ids(cask), peer.name
        own = frozenset(states_of(store, (cask,)))
        every_inflow = edges_of(lineages.downstream(store, own).lineage, by_alcohol)
        assert shares(cask) == parts_forward(every_inflow, own)
    report(
        "forward, identifiers", timed(ids, casks), [(peer.name, asked(peer, peer.forward_ids, casks)) for peer in peers]
    )
    report(
        "forward, with shares of every state, processor time",
        timed(shares, casks, time.process_time),
        [
            (f"{peer.name}, identifiers", timed(peer.forward_ids, casks, time.process_time))
            for peer in peers
            if peer.name == SQLite.name
        ],
    )


def whole(book, lots, casks):
    """What the command answers: every item with its facts and contents, origins, pours with people, ages."""
    names = [of_key(lot) for lot in lots]
    report("back, the whole answer", timed(book.trace_back, names), ())
    sizes = [len(book.trace_back(name).pours) for name in names]
    print(f"    pours in it: {statistics.median(sizes):.0f} (median), {max(sizes)} (most)")
    report("forward, the whole answer", timed(book.trace_forward, [of_key(cask) for cask in casks]), ())


def cold(book, lot, folder):
    """Processes that begin with nothing: the command, and a click script with one query."""
    bare = folder / "bare.py"
    bare.write_text(BARE, encoding="utf-8")
    command = [sys.executable, "-c", "from pourbook.cli.main import run; run()", "--book", book.store.path]
    commands = {
        "bare": [sys.executable, str(bare), "--book", book.store.path, of_key(lot)],
        "show": [*command, "show", of_key(lot)],
        "trace": [*command, "trace", of_key(lot)],
    }
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    taken = {name: [] for name in commands}
    for _ in range(9):
        for name, words in commands.items():
            begin = time.perf_counter()
            subprocess.run(words, check=True, capture_output=True, env=environment)
            taken[name].append(time.perf_counter() - begin)
    plain = statistics.median(taken["bare"])
    print(
        f"cold process: a bare script {plain * 1000:.0f} ms; "
        + ", ".join(f"{name} {statistics.median(taken[name]) / plain:.2f}x" for name in ("show", "trace"))
    )


def correction(book, lot):
    """A fill at the far end of a long lineage was misread by a gram."""
    origin = max(book.trace_back(of_key(lot)).origins, key=lambda one: (one.how == "origin", -one.happened_us))
    move = Move("origin", origin.into, 200_000_000, composition=Liquid(200_000_000, 105_000_000))
    draft = Draft(Pour("fill", (move,)), origin.happened_us, "bench", reason="misread", replaces=origin.entry)
    begin = time.perf_counter()
    done = book.record(draft, dry_run=True)
    seconds = time.perf_counter() - begin
    reached = len(book.trace_forward(origin.into).items)
    print(
        f"correction of a fill of {origin.happened_us // 31_556_952_000_000 + 1970} (rehearsed): {done.recomputed}"
        f" lines applied again, {len(done.changed)} items changed of {reached} reached, {seconds:.2f} s"
    )


def main(pours, folder):
    book = make_book(pours, folder)
    begin = time.perf_counter()
    Book.open(book.store.path).close()
    print(f"opening: {(time.perf_counter() - begin) * 1000:.1f} ms")
    commit(book)
    draw = random.Random(2)
    lots = draw.sample([key for (key,) in book.store.query("SELECT key FROM item WHERE kind = 'lot'")], ASKED)
    casks = draw.sample([key for (key,) in book.store.query("SELECT key FROM item WHERE kind = 'cask'")], ASKED)
    ends = [
        book.store.query("SELECT state FROM ledger WHERE item = ? ORDER BY happened DESC LIMIT 1", (lot,))[0][0]
        for lot in lots
    ]
    sizes = {lot: len(composition_of(book.store, end, "alcohol").lines) for lot, end in zip(lots, ends, strict=True)}
    longest, middle = max(sizes, key=sizes.__getitem__), sorted(sizes, key=sizes.__getitem__)[len(sizes) // 2]
    print(f"pours behind a lot: {statistics.median(sizes.values()):.0f} (median), {sizes[longest]} (most)")
    cold(book, middle, folder)
    whole(book, lots, casks)
    correction(book, longest)
    print(f"memory so far: {peak_mb():.0f} MB")
    graph = Graph(book.store)
    peers = peers_of(book, graph)
    back(book, ends, peers)
    forward(book, casks, peers)
    print(f"memory with every peer loaded: {peak_mb():.0f} MB")
    book.close()


if __name__ == "__main__":
    main(int(sys.argv[1]), Path(sys.argv[2] if len(sys.argv) > 2 else tempfile.mkdtemp()))
