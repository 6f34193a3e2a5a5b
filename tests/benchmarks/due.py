"""How long it takes to ask what is due, beside how many labels were printed and how many are out of date.

    python tests/benchmarks/due.py 20000

fills that many casks, draws a vial from each, prints a label of each vial, and corrects ten of the fillings; processor
time in seconds.
"""

import sys
import tempfile
import time
from itertools import islice
from pathlib import Path

from pourbook import Book, Draft, Item, Move, Paper, Pour
from pourbook.book.label_prints import STRENGTHS
from pourbook.book.recording import record_in_order
from pourbook.codes.identifiers import is_issued, write
from pourbook.quantities import read_amount, read_strength

_A_RUN = 500


def main(casks: int) -> None:
    """Build the book, and print one line."""
    amounts, strength = (read_amount("200 l"), read_amount("200 ml")), read_strength("63.5")
    with tempfile.TemporaryDirectory() as folder, Book.create(Path(folder) / "h.pourbook", house="Quillmere") as book:
        pairs = list(zip(_ids("cask", casks), _ids("vial", casks), strict=True))
        with book.writing():
            record_in_order(book.store, _drafts(pairs, amounts, strength), 0)
        fillings = [number for (number,) in book.store.query("SELECT number FROM entry WHERE kind = 'pour' LIMIT 20")]
        wrong = [(number, pair) for number, pair in zip(fillings[::2], pairs, strict=False)]
        for number, (cask, _) in wrong:
            right = Pour("fill", (Move("origin", cask, amounts[0], read_strength("61")),))
            book.record(Draft(right, 0, "M. Aldane", reason="misread", replaces=number))
        start = time.process_time()
        found = book.due()
        took = time.process_time() - start
        print(f"{casks} casks, {casks} labels printed, {len(found.labels)} out of date: {took:.2f} s")


def _ids(kind: str, count: int) -> list[str]:
    issued = (number for number in range(1, 2 * count + 9) if is_issued(kind, number))
    return [write(kind, number) for number in islice(issued, count)]


def _drafts(pairs, amounts, strength):
    for cask, vial in pairs:
        for entry in (
            Item(cask, {"ref": f"Q {cask}"}), Item(vial, {}),
            Pour("fill", (Move("origin", cask, amounts[0], strength),)),
            Pour("draw", (Move(cask, vial, amounts[1]),)),
        ):  # fmt: skip
            yield Draft(entry, 0, "M. Aldane")
    vials = [vial for _, vial in pairs]
    for first in range(0, len(vials), _A_RUN):
        run = tuple(vials[first : first + _A_RUN])
        yield Draft(Paper("label", run, {STRENGTHS: "; ".join(["63.5 % vol"] * len(run))}), 0, "M. Aldane")


if __name__ == "__main__":
    main(int(sys.argv[1]))
