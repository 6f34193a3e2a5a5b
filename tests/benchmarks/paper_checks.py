"""What it costs to verify what a dossier rests on, beside making the dossier itself.

    python tests/benchmarks/paper_checks.py                  # the demo house
    python tests/benchmarks/paper_checks.py POURS [FOLDER]   # a made-up house of so many pours

Processor time in one process, of every lot (at most a hundred, picked at random, always the same ones).
"""

import random
import statistics
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "src"))
from mock_recall import made

from pourbook import Book
from pourbook.book.lineages import behind
from pourbook.book.verifying_a_part import verify_part
from pourbook.codes.identifiers import key_of
from pourbook.paperwork.dossier_of import dossier_of

MOST = 100


def taken(of):
    """The seconds of the processor that a call took, in milliseconds."""
    begun = time.process_time()
    of()
    return (time.process_time() - begun) * 1000


def main():
    """Median and maximum of both."""
    pours = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(sys.argv[2] if len(sys.argv) > 2 else scratch)
        with Book.open(made(folder, pours)) as book:
            lots = [view.id for view in book.stock() if view.kind == "lot"]
            lots = random.Random(1).sample(lots, min(MOST, len(lots)))
            checks, papers, sizes = [], [], []
            for lot in lots:
                items = behind(book.store, key_of(lot))
                sizes.append(len(items))
                checks.append(taken(lambda items=items: verify_part(book.store, items)))
                papers.append(taken(lambda lot=lot: dossier_of(book, lot)))
            print(f"{book.head()[0]} entries, {len(lots)} lots of {min(sizes)} to {max(sizes)} items")
            for name, found in (("verified", checks), ("values of the dossier", papers)):
                print(f"{name}: median {statistics.median(found):.1f} ms, at most {max(found):.1f} ms")


if __name__ == "__main__":
    main()
