"""A book moved from a file to a server and back, verified on both, beside its import: processor seconds and ratios.

    python tests/benchmarks/moving.py [POURS]

Seconds are of the client's processes alone; what the server used beside them is told where the system tells it.
"""

import os
import sys
import tempfile
from pathlib import Path

from house_files import write_house

from pourbook import Book
from pourbook.actions.happening import Happening

sys.path.append(str(Path(__file__).parents[1]))


def seconds():
    """Processor time of this process and of those that ended."""
    return sum(os.times()[:4])


def of_the_server(server):
    """Processor time of a server's processes, where the system tells."""
    found, tick = 0, os.sysconf("SC_CLK_TCK")
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = status.read_text().rpartition(")")[2].split()
        except OSError:
            continue
        if server.process.pid in (int(fields[1]), int(status.parent.name)):
            found += sum(map(int, fields[11:15]))
    return found / tick


def main(pours=20_000):
    """Import, move there, verify both, move back."""
    from servers import serving

    with tempfile.TemporaryDirectory() as folder, serving() as server:
        here, there, back = Path(folder, "here"), server.fresh(), Path(folder, "back")
        Path(folder, "house").mkdir()
        write_house(Path(folder, "house"), pours)
        how = Happening("M. Aldane", confirm=True)

        def moved(source, target):
            with Book.open(source) as book:
                return book.move_book(str(target)).head

        def verified(path):
            with Book.open(path) as book:
                found = book.verify()
                assert found.faults == ()
                return found.head

        def imported(path):
            with Book.create(path, house="Quillmere") as book:
                book.import_history(how, Path(folder, "house"))

        steps = (
            ("import into a file", lambda: imported(here)),
            ("import on a server", lambda: imported(server.fresh())),
            ("verify the file", lambda: verified(here)),
            ("move to a server", lambda: moved(here, there)),
            ("verify there", lambda: verified(there)),
            ("move back", lambda: moved(there, back)),
        )
        first, heads = None, set()
        print(f"{pours} pours; seconds of processor: the client, the server, the client as a ratio to the first")
        for name, step in steps:
            ours, theirs = seconds(), of_the_server(server)
            head = step()
            heads |= {head} if head else set()
            used, served = seconds() - ours, of_the_server(server) - theirs
            first = first or used
            print(f"{name:20} {used:8.1f} {max(served, 0):8.1f} {used / first:8.2f}")
        assert len(heads) == 1


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
