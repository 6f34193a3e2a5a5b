"""How long it takes to find tasting notes by what they say, by the number of notes in the book.

PYTHONPATH=src python tests/benchmarks/tasting_search.py [NOTES]

Notes are made up: 2,000 casks, five people, some twenty words of forty on four stages, two free words at each. Seconds
are of the processor, in this process, the book open; every note that answers is read.
"""

import random
import sys
import tempfile
import time
from pathlib import Path

from pourbook import Book, Draft, Item
from pourbook.book.entries import STAGES, Stage, Taste
from pourbook.book.recording import record_in_order
from pourbook.codes.identifiers import is_issued, write
from pourbook.queries.tastings.search import Asked, tastings

WORDS = [f"{first}{second}" for first in ("pe", "oa", "ra", "mi", "fo") for second in "abcdefgh"]
FREE = [f"{first}{second}ly" for first in ("shy", "long", "short", "round") for second in "pqrstuvw"]
PEOPLE = ("Isla Farrow", "M. Aldane", "Tomas Reeve", "P. Hask", "R. Toller")
ASKED = {
    "a word at a stage, every note": Asked("peb finish"),
    "three words": Asked("peb oac longply"),
    "an intensity and a person": Asked(judged=("peb>=5",), assessor="P. Hask", stage="nose"),
    "a score": Asked(score=(99, 100)),
    "an item": Asked(item="C000001H"),
}


def made(count):
    """So many notes."""
    chance = random.Random(1887)
    casks = [write("cask", number) for number in range(1, 2800) if is_issued("cask", number)][:2000]
    yield from (Draft(Item(cask, {}), 0, "M. Aldane") for cask in casks)
    for moment in range(count):
        stages = {stage: _stage(chance) for stage in STAGES}
        score = str(chance.randint(0, 100))
        yield Draft(Taste(chance.choice(casks), chance.choice(PEOPLE), stages=stages, score=score), moment, "M. Aldane")


def _stage(chance):
    words = {word: str(chance.randint(0, 5)) for word in chance.sample(WORDS, 5)}
    return Stage(" ".join(chance.sample(FREE, 2)), words)


def main(count):
    """Print a line for each question."""
    with tempfile.TemporaryDirectory() as folder, Book.create(Path(folder, "book"), house="Quillmere") as book:
        begun = time.process_time()
        with book.writing():
            record_in_order(book.store, made(count), 10**15)
        size = Path(folder, "book").stat().st_size / 1e6
        print(f"{count} notes recorded in {time.process_time() - begun:.1f} s, {size:.0f} MB")
        for what, asked in ASKED.items():
            begun = time.process_time()
            found = sum(1 for _ in tastings(book, asked))
            print(f"{what}: {found} in {time.process_time() - begun:.3f} s")
            begun = time.process_time()
            list(tastings(book, asked, 100))
            print(f"    the last hundred: {time.process_time() - begun:.3f} s")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
