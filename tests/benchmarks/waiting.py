"""How long a draw at another station waits while a history is imported, or tried as a dry run.

    python tests/benchmarks/waiting.py [POURS]

A process of its own draws a sample ten times a second, from a cask that was there before, as long as the import
lasts. Printed are the draws, their median, the two longest, and how much of the processor the import used at the
most while it kept others waiting: on a machine with other work, that figure is the one to compare.
"""

import multiprocessing
import statistics
import sys
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

sys.path.insert(0, str(Path(__file__).parent))
from house_files import write_house

from pourbook import Book
from pourbook.actions.casks import Filling, Sample, draw, take_in_cask
from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_history
from pourbook.book.store import Store
from pourbook.quantities import read_amount, read_strength

HOW = Happening("M. Aldane")
PAUSE_S = 0.1


def draw_until(path, cask, ready, enough, taken):
    """Draw again and again; the seconds that each draw took."""
    seconds = []
    with Book.open(path) as book:
        while not enough.is_set():
            begin = time.perf_counter()
            draw(book, HOW, cask, Sample(read_amount("1 ml")))
            seconds.append(time.perf_counter() - begin)
            ready.set()
            time.sleep(PAUSE_S)
    taken.send(seconds)


@contextmanager
def held(book):
    """The seconds of the processor used in each transaction of the book itself; those of copies keep nobody waiting."""
    used, own, plain = [0.0], book.store.connection, Store.transaction

    @contextmanager
    def timed(store):
        is_own = store.connection is own and not store.is_writing
        begin = time.process_time()
        with plain(store):
            yield
        if is_own:
            used.append(time.process_time() - begin)

    with mock.patch.object(Store, "transaction", timed):
        yield used


def beside(book, path, cask, act):
    """Act while another process draws; what to print of both."""
    ready, enough = multiprocessing.Event(), multiprocessing.Event()
    ours, theirs = multiprocessing.Pipe()
    station = multiprocessing.Process(target=draw_until, args=(path, cask, ready, enough, theirs))
    station.start()
    ready.wait()
    begin = time.perf_counter()
    with held(book) as used:
        act(book)
    took = time.perf_counter() - begin
    enough.set()
    seconds = sorted(ours.recv())
    station.join()
    median, (second, longest) = statistics.median(seconds), seconds[-2:]
    return (
        f"{took:.1f} s; {len(seconds)} draws, median {1000 * median:.0f} ms,"
        f" longest {longest:.2f} and {second:.2f} s; others kept out for {max(used):.2f} s of the processor"
    )


def main():
    pours = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    with tempfile.TemporaryDirectory() as folder:
        files = Path(folder, "files")
        files.mkdir()
        write_house(files, pours, 1)
        path = Path(folder, "quillmere.pourbook")
        with Book.create(path, house="Quillmere") as book:
            filling = Filling(read_amount("200 l"), read_strength("63.5"))
            cask = take_in_cask(book, HOW, {"ref": "Row 1"}, filling).item.id
            for name, act in (
                ("nothing else", lambda _: time.sleep(5)),
                ("a dry run", lambda book: import_history(book, HOW._replace(dry_run=True), files)),
                ("the import", lambda book: import_history(book, HOW, files)),
            ):
                print(f"{pours} pours, {name}: {beside(book, path, cask, act)}", flush=True)


if __name__ == "__main__":
    main()
