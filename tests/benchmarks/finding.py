"""How long it takes to find an item by its ref, exactly, in another case, and not at all.

    python tests/benchmarks/finding.py 1000000

opens that many casks in a book of its own and asks for 500 of them each way; processor time of one question in ms.
"""

import random
import sys
import tempfile
import time
from contextlib import suppress
from itertools import islice
from pathlib import Path

from pourbook import Book, Draft, Item
from pourbook.book.recording import record_in_order
from pourbook.codes.identifiers import is_issued, write
from pourbook.errors import Unknown


def main(items: int) -> None:
    """Build the book, and print a line for each way of asking."""
    with tempfile.TemporaryDirectory() as folder, Book.create(Path(folder) / "h.pourbook", house="Quillmere") as book:
        numbers = (number for number in range(1, items * 5 // 4) if is_issued("cask", number))
        with book.writing():
            drafts = (
                Draft(Item(write("cask", number), {"ref": f"Q {number}"}), 0, "M. Aldane")
                for number in islice(numbers, items)
            )
            record_in_order(book.store, drafts, 0)
        ((count,),) = book.store.query("SELECT count(*) FROM item")
        drawn = random.Random(1).sample(range(2, items), 500)
        for way, asked in (
            ("exactly", "Q {}"), ("in another case and spacing", "q{}"), ("with a key too many, suggested", "Q1{}"),
            ("nothing near", "warehouse nine {}"),
        ):  # fmt: skip
            took = [_milliseconds(book, asked.format(number)) for number in drawn]
            took.sort()
            print(f"{count} items, {way}: median {took[250]:.3f} ms, 99th percentile {took[495]:.3f} ms")


def _milliseconds(book: Book, text: str) -> float:
    start = time.process_time()
    with suppress(Unknown):
        book.find(text)
    return 1000 * (time.process_time() - start)


if __name__ == "__main__":
    main(int(sys.argv[1]))
