"""A mock recall as a person does it: from "this cask is suspect" to held, printed and balanced, by the command alone.

    python tests/benchmarks/mock_recall.py                  # the demo house
    python tests/benchmarks/mock_recall.py POURS [FOLDER]   # a made-up house of so many pours

Each command runs in a process of its own, from a cold start to its end; the clock is the one on the wall. What is
suspect is picked by how much it reaches: a cask that reached little, one in the middle, the one that reached most.
"""

import json
import os
import random
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1] / "src"))
from house_files import write_house

from pourbook import Book
from pourbook.book.lineages import downstream
from pourbook.codes.identifiers import hyphened, of_key

SAMPLED = 60
"""Casks among which the three are picked."""


def run(book, *words):
    """The command's standard output, and the seconds it took."""
    environment = os.environ | {"POURBOOK_BOOK": str(book), "POURBOOK_WHO": "Maud Aldane"}
    environment["PYTHONPATH"] = str(Path(__file__).parents[2] / "src")
    begin = time.perf_counter()
    ran = subprocess.run(
        [sys.executable, "-m", "pourbook", *map(str, words)], env=environment, capture_output=True, text=True
    )
    taken = time.perf_counter() - begin
    if ran.returncode:
        sys.exit(ran.stderr)
    return ran.stdout, taken


def made(folder, pours):
    """The book of a house: the demo's, or one made up and taken in."""
    if not pours:
        run("none", "demo", folder / "quillmere")
        return folder / "quillmere" / "quillmere.pourbook"
    path = folder / "house.pourbook"
    if not path.exists():
        (folder / "files").mkdir(exist_ok=True)
        write_house(folder / "files", pours)
        run(path, "create", path, "--house", "Quillmere")
        print(f"taken in: {run(path, 'import', 'history', folder / 'files')[1]:.0f} s", flush=True)
    return path


def suspects(path):
    """Three casks, by how many states they reach."""
    with Book.open(path) as book:
        casks = [key for (key,) in book.store.query("SELECT DISTINCT item FROM state") if of_key(key)[0] == "C"]
        reach = []
        for key in random.Random(1).sample(casks, min(SAMPLED, len(casks))):
            states = [state for (state,) in book.store.query("SELECT id FROM state WHERE item = ?", (key,))]
            reach.append((len(downstream(book.store, states).lineage.order), key))
        reach.sort()
        return [hyphened(of_key(reach[place][1])) for place in (len(reach) // 10, len(reach) // 2, -1)]


def recalled(path, folder, cask):
    """One recall from the suspicion to the report, checked and ended; a line of figures."""
    report = folder / f"recall-{cask}.pdf"
    words = ("--item", cask, "--mock", "--reason", "mock recall", "--hold", "-o", report, "--force")
    _, asked = run(path, "affected", "--item", cask)
    said, taken = run(path, "recall", *words, "--json")
    document = json.loads(said)
    figures = document["figures"]
    if figures["unexplained_mg"] or figures["unexplained_ethanol_mg"] or report.stat().st_size < 1000:
        sys.exit("the report does not balance, or was not printed")
    shown, looked = run(path, "recall", "--show", document["recall"], "--json")
    if json.loads(shown)["differs"]:
        sys.exit("the figures differ from those found a moment ago")
    _, ended = run(path, "recall", "--release", document["recall"], "--reason", "mock recall")
    print(
        f"{cask}: {figures['items']:6} items ({figures['lots']} lots, {figures['items_on_hand']} held)"
        f"  asked {asked:.2f} s  recalled, held, printed {taken:.2f} s"
        f"  shown again {looked:.2f} s  released {ended:.2f} s  report {report.stat().st_size / 1024:.0f} KB",
        flush=True,
    )


def found_by_words(path):
    """What begins with words, a person or a window, and so reads the journal once."""
    with Book.open(path) as book:
        (last,) = book.store.query("SELECT max(happened) FROM entry WHERE kind = 'pour'")[0]
        who = book.store.query("SELECT json_extract(bytes, '$.who') FROM entry WHERE kind = 'pour' LIMIT 1")[0][0]
        day = time.strftime("%Y-%m-%d", time.gmtime(last / 1e6 - 60 * 86_400))
    for words in (("--by", who, "--from", day), ("--from", day)):
        _, taken = run(path, "affected", *words, "--json")
        print(f"affected {' '.join(words)}: {taken:.2f} s", flush=True)


def main():
    pours = int(sys.argv[1]) if len(sys.argv) > 1 else 0
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(sys.argv[2]) if len(sys.argv) > 2 else Path(temporary)
        path = made(folder, pours)
        _, bare = run(path, "journal-hash")
        print(f"{pours or 'demo'}: a command that asks for the head alone takes {bare:.2f} s")
        for cask in suspects(path):
            recalled(path, folder, cask)
        found_by_words(path)
    print(f"peak memory of a command: {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
