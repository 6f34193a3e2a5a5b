"""Sizes and times of one made-up house in both stores: a table of SQLite, PostgreSQL and their ratio.

    python tests/benchmarks/scale.py 1e5 1e6 [1e7] --folder FOLDER [--asked 200] [--server ADDRESS] [--imports]

Everything lies in FOLDER: the house's tables, its book in SQLite, the data of a server of its own (durable: fsync on),
and `results.json`. A step that stands there is not done again, so whoever was interrupted begins again with the same
command. Each step is a process of its own, so that memory and processor time are its; those of the server's processes
are counted beside. The book in PostgreSQL is the same one, moved; `--imports` imports the house there as well. Answers
of both stores are compared: heads, sets of items, shares to 1e-9. Writes FOLDER/scale-DATE.json and .md, and prints
the latter.
"""

import argparse
import json
import os
import random
import sqlite3
import statistics
import subprocess
import sys
import time
import zlib
from contextlib import ExitStack
from datetime import UTC, datetime
from pathlib import Path
from unittest import mock

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1]))
import servers
from house import HOW
from house_files import write_house

from pourbook import Book, Draft, Item, Move, Pour
from pourbook.actions.importing import import_history
from pourbook.book.compositions import composition_of
from pourbook.book.lineages import parts_downstream
from pourbook.book.moving import move
from pourbook.book.store import Store
from pourbook.codes.identifiers import of_key
from pourbook.quantities import read_amount

DURABLE = (
    "fsync=on",
    "full_page_writes=on",
    "autovacuum=on",
    "shared_buffers=1GB",
    "max_wal_size=4GB",
    "work_mem=64MB",
)
"""Settings of the server, beside the engine's own; PostgreSQL takes fewer where memory is short."""

ASKED_SEED = 2


def is_server(address):
    return "://" in str(address)


# -- steps: each a process of its own; what they return is kept ------------------------------


def milliseconds(ask, questions):
    """Median and 99th percentile."""
    taken = []
    for question in questions:
        begin = time.perf_counter()
        ask(question)
        taken.append((time.perf_counter() - begin) * 1000)
    worst = statistics.quantiles(taken, n=100)[98] if len(taken) > 1 else taken[0]
    return {"median_ms": statistics.median(taken), "p99_ms": worst}


def picked(store, kind, asked):
    """Items of a kind, the same ones in every store."""
    keys = [key for (key,) in store.query("SELECT key FROM item WHERE kind = ? ORDER BY key", (kind,))]
    return random.Random(ASKED_SEED).sample(keys, min(asked, len(keys)))


def importing(address, asked, files):
    with Book.create(address, house="Quillmere") as book:
        taken = import_history(book, HOW, files)
        return {"pours": taken.pours, "items": taken.items, "head": book.head()[1]}


def moving(address, asked, source):
    store = Store.open(source)
    try:
        done = move(store, address)
    finally:
        store.close()
    return {"entries": done.entries, "head": done.head}


def size(address, asked, _):
    if not is_server(address):
        return {"mb": Path(address).stat().st_size / 1e6}
    store = Store.open(address)
    try:
        whole = "SELECT sum(pg_total_relation_size(c.oid)) FROM pg_class AS c WHERE relnamespace = ? AND relkind = 'r'"
        ((schema,),) = store.query("SELECT oid FROM pg_namespace WHERE nspname = current_schema()")
        return {"mb": int(store.query(whole, (schema,))[0][0]) / 1e6}
    finally:
        store.close()


def opening(address, asked, _):
    return milliseconds(lambda _: Book.open(address).close(), range(30))


def showing(address, asked, _):
    with Book.open(address) as book:
        names = [of_key(key) for kind in ("cask", "lot") for key in picked(book.store, kind, asked)]
        answers = [zlib.crc32(repr((view.facts, view.holding)).encode()) for view in map(book.show, names)]
        return milliseconds(book.show, names) | {"answers": answers}


def stocking(address, asked, _):
    with Book.open(address) as book:
        count = mass = 0
        for view in book.stock():
            count, mass = count + 1, mass + view.holding.mass_mg
        return {"answers": [count, mass]}


def stocking_casks(address, asked, _):
    with Book.open(address) as book:
        answers = [len(list(book.stock(kind="cask")))]
        return milliseconds(lambda _: list(book.stock(kind="cask")), range(10)) | {"answers": answers}


def weighed(parts):
    """Shares as a count, a checksum of what they are of, and a sum that any of them changes."""
    keys = sorted(parts)
    return [len(keys), zlib.crc32(repr(keys).encode()), sum(parts[key] * (key % 1009 + 1) for key in keys)]


def tracing_back(address, asked, _):
    with Book.open(address) as book:
        lots = picked(book.store, "lot", asked)
        last = "SELECT state FROM ledger WHERE item = ? AND mass > 0 ORDER BY happened DESC, place DESC LIMIT 1"
        states = [rows[0][0] for lot in lots if (rows := book.store.query(last, (lot,)))]

        def shares(state):
            with book.store.snapshot():
                return composition_of(book.store, state, "alcohol")

        first = milliseconds(shares, states)
        answers = [part for state in states for part in weighed(shares(state).items)]
        kept = milliseconds(shares, states)
        return {**first, "kept_median_ms": kept["median_ms"], "kept_p99_ms": kept["p99_ms"], "answers": answers}


def tracing_forward(address, asked, _):
    with Book.open(address) as book:
        casks = picked(book.store, "cask", asked)

        def shares(cask):
            return parts_downstream(book.store, cask, "alcohol")

        answers = [part for cask in casks for part in weighed(shares(cask))]
        return milliseconds(shares, casks) | {"answers": answers}


def answering(address, asked, _):
    """The whole answer of `trace`: facts, contents, people, ages."""
    with Book.open(address) as book:
        lots = [of_key(key) for key in picked(book.store, "lot", asked // 4)]
        return milliseconds(book.trace_back, lots)


def commanding(address, asked, _):
    """The command `trace` as a process that begins with nothing."""
    with Book.open(address) as book:
        lots = [of_key(key) for key in picked(book.store, "lot", min(9, asked))]
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    command = [sys.executable, "-c", "from pourbook.cli.main import run; run()", "--book", str(address), "trace"]
    ask = lambda lot: subprocess.run([*command, lot], check=True, capture_output=True, env=environment)  # noqa: E731
    ask(lots[0])
    return milliseconds(ask, lots)


def verifying(address, asked, _):
    with Book.open(address) as book:
        found = book.verify()
        assert not found.faults, found.faults[:3]
        return {"entries": found.entries, "head": found.head}


def recording(address, asked, _):
    """One pour, durable, after the other; beside a bare transaction that writes the same bytes."""
    with Book.open(address) as book:
        cask = next(view.id for view in book.stock(kind="cask") if view.holding.mass_mg > 50_000_000)
        vial = book.next_id("vial")
        book.record(Draft(Item(vial, {}), book.clock(), "bench"))
        amount = read_amount("1 ml")
        pour = lambda _: book.record(  # noqa: E731
            Draft(Pour("draw", (Move(cask, vial, amount),)), book.clock(), "bench")
        )
        pour(0)
        ours = milliseconds(pour, range(asked)) | statements(lambda: pour(0), is_server(address))
        text = book.store.query("SELECT bytes FROM entry ORDER BY number DESC LIMIT 1")[0][0] * 2
        return ours | {"bare_median_ms": bare(address, text, asked), "retries": book.store.retries}


def statements(act, on_server):
    """How many statements it sends to a server: so many round trips it takes."""
    if not on_server:
        act()
        return {}
    import psycopg

    with ExitStack() as counting:
        sent = [
            counting.enter_context(mock.patch.object(psycopg.Cursor, name, autospec=True, side_effect=method))
            for name in ("execute", "executemany")
            for method in (getattr(psycopg.Cursor, name),)
        ]
        act()
        return {"statements": sum(one.call_count for one in sent)}


def bare(address, text, asked):
    if is_server(address):
        import psycopg

        with psycopg.connect(address.partition("?")[0], autocommit=True) as line:
            line.execute("CREATE TABLE IF NOT EXISTS bare_lines (text TEXT)")
            mark, write = "%s", line.execute
            taken = milliseconds(lambda _: _written(write, mark, text), range(asked))
            line.execute("DROP TABLE bare_lines")
            return taken["median_ms"]
    beside = Path(f"{address}.bare")
    line = sqlite3.connect(beside, isolation_level=None)
    for statement in ("PRAGMA journal_mode = WAL", "PRAGMA synchronous = FULL", "CREATE TABLE bare_lines (text TEXT)"):
        line.execute(statement)
    taken = milliseconds(lambda _: _written(line.execute, "?", text), range(asked))
    line.close()
    for path in beside.parent.glob(f"{beside.name}*"):
        path.unlink()
    return taken["median_ms"]


def _written(write, mark, text):
    write("BEGIN")
    write(f"INSERT INTO bare_lines VALUES ({mark})", (text,))
    write("COMMIT")


STEPS = {
    "import": importing,
    "move": moving,
    "size": size,
    "open": opening,
    "show": showing,
    "stock, whole": stocking,
    "stock of casks": stocking_casks,
    "trace back, shares": tracing_back,
    "trace forward, shares": tracing_forward,
    "trace back, whole answer": answering,
    "trace, cold command": commanding,
    "verify": verifying,
    "record one pour": recording,
}
"""In their order: whoever records changes the head, so that stands last."""


# -- the run ----------------------------------------------------------------------------------


class KeptServer(servers.Server):
    """A server whose data outlive the run."""

    def __init__(self, folder):
        folder.mkdir(parents=True, exist_ok=True)
        os.chmod(folder, 0o755)
        if not (folder / "data").exists():
            super().__init__(folder, *DURABLE)
            return
        self.data, self.port, self.log = folder / "data", servers.free_port(), folder / "log"
        self._settings, self._own = (*servers._FAST, *DURABLE), servers._unprivileged()
        self.start()

    def used_s(self):
        """Processor time of all its processes, those that have ended included."""
        ticks = sum(_ticks(self.process.pid)[:4]) + sum(
            sum(_ticks(child)[:2]) for child in servers._children(self.process.pid)
        )
        return ticks / os.sysconf("SC_CLK_TCK")


def _ticks(process):
    """Own user and system time, then those of children that were waited for."""
    try:
        return [int(word) for word in Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[11:15]]
    except OSError:
        return [0, 0, 0, 0]


def run(step, address, asked, other, server):
    """A step in a process of its own, with what it used."""
    used_before = server.used_s() if hasattr(server, "used_s") else 0
    begin = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, __file__, "--one", step, str(address), str(asked), str(other)], stdout=subprocess.PIPE
    )
    with process.stdout as out:
        said = out.read()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{step} of {address} failed; what was measured before is kept")
    found = json.loads(said)
    found |= {
        "s": time.perf_counter() - begin,
        "used_s": used.ru_utime + used.ru_stime,
        "peak_mb": used.ru_maxrss / 1024,
    }
    if hasattr(server, "used_s"):
        found["server_s"] = server.used_s() - used_before
    return found


class Results:
    """What was measured so far, on disk."""

    def __init__(self, folder):
        self.path = folder / "results.json"
        self.known = json.loads(self.path.read_text()) if self.path.exists() else {}

    def of(self, pours, store, step, measure):
        """What stands there, or what is measured now."""
        key = f"{pours} {store} {step}"
        if key not in self.known:
            print(f"{datetime.now(UTC):%H:%M:%S} {step} of {pours:,} pours, {store}", file=sys.stderr, flush=True)
            self.known[key] = measure()
            self.path.write_text(json.dumps(self.known, indent=1))
        return self.known[key]


def measured(sizes, folder, asked, server, *, imports=False):
    """By size: by step, what was found of each store."""
    results = Results(folder)
    return {pours: of_size(pours, folder, asked, server, results, imports=imports) for pours in sizes}


def of_size(pours, folder, asked, server, results, *, imports):
    files, book = folder / f"files-{pours}", folder / f"house-{pours}.pourbook"
    address = server.address(schema=f"house_{pours}")
    if not files.exists():
        half = folder / f"files-{pours}-half"
        half.mkdir(exist_ok=True)
        write_house(half, pours)
        half.rename(files)
    found = {}

    def of(store, step, where, other=""):
        found.setdefault(step, {})[store] = results.of(
            pours, store, step, lambda: run(step, where, asked, other, server if store == "postgres" else None)
        )

    if f"{pours} sqlite import" not in results.known:
        for beside in folder.glob(f"{book.name}*"):  # of a run that was interrupted
            beside.unlink()
    of("sqlite", "import", book, files)
    of("postgres", "move", address, book)
    if imports:
        again = server.address(schema=f"imported_{pours}")
        if f"{pours} postgres import" not in results.known:
            server.drop(again)
        of("postgres", "import", again, files)
    for step in list(STEPS)[2:]:
        of("sqlite", step, book)
        of("postgres", step, address)
    compare(found)
    return found


def compare(found):
    """Both stores gave the same answers."""
    for step, stores in found.items():
        if len(stores) == 2 and "answers" in stores["sqlite"]:
            one, other = stores["sqlite"]["answers"], stores["postgres"]["answers"]
            assert len(one) == len(other), step
            differing = [pair for pair in zip(one, other, strict=True) if abs(pair[0] - pair[1]) > 1e-9 * abs(pair[0])]
            assert not differing, (step, differing[:3])
    assert found["move"]["postgres"]["head"] == found["verify"]["sqlite"]["head"] == found["verify"]["postgres"]["head"]


def lines(found):
    """Rows of Markdown, a table for each size."""
    for pours, steps in found.items():
        yield f"\n{pours:,} pours\n\n| what | SQLite | PostgreSQL | ratio |\n|---|---|---|---|"
        for step, stores in steps.items():
            told = {store: cell(step, of) for store, of in stores.items()}
            weights = [weight(stores[store]) for store in ("sqlite", "postgres") if store in stores]
            ratio = f"{weights[1] / weights[0]:.1f}" if len(weights) == 2 and weights[0] else ""
            yield f"| {step} | {told.get('sqlite', '')} | {told.get('postgres', '')} | {ratio} |"


def weight(of):
    """What a ratio is of: MB, median, or seconds on the clock."""
    return of.get("mb") or of.get("median_ms") or of["s"]


def cell(step, of):
    if "mb" in of:
        return f"{of['mb']:,.0f} MB"
    if "median_ms" in of:
        kept = f"; kept {of['kept_median_ms']:.2f} / {of['kept_p99_ms']:.1f} ms" if "kept_median_ms" in of else ""
        bare_one = f"; {of['median_ms'] / of['bare_median_ms']:.1f} times a bare one" if "bare_median_ms" in of else ""
        sent = f"; {of['statements']} statements" if "statements" in of else ""
        return f"{of['median_ms']:.2f} / {of['p99_ms']:.1f} ms{kept}{bare_one}{sent}"
    server = f" + {of['server_s']:.1f} s of the server's" if of.get("server_s") else ""
    return f"{of['s']:.1f} s; {of['used_s']:.1f} s of the processor{server}; {of['peak_mb']:.0f} MB"


def main(words=None):
    given = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    given.add_argument("pours", nargs="+", type=lambda text: int(float(text)))
    given.add_argument("--folder", type=Path, required=True)
    given.add_argument("--asked", type=int, default=200)
    given.add_argument("--server")
    given.add_argument("--imports", action="store_true")
    words = given.parse_args(words)
    words.folder.mkdir(parents=True, exist_ok=True)
    server = servers.GivenServer(words.server) if words.server else KeptServer(words.folder / "server")
    try:
        found = measured(words.pours, words.folder, words.asked, server, imports=words.imports)
    finally:
        if not words.server:
            server.stop()
    day = f"{datetime.now(UTC):%Y-%m-%d}"
    text = f"Both stores, {day}; median / 99th percentile of {words.asked}, and each step's own\n" + "\n".join(
        lines(found)
    )
    (words.folder / f"scale-{day}.json").write_text(json.dumps(found, indent=1))
    (words.folder / f"scale-{day}.md").write_text(f"{text}\n")
    print(text)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        step, address, asked, other = sys.argv[2:]
        print(json.dumps(STEPS[step](address, int(asked), other)))
    else:
        main()
