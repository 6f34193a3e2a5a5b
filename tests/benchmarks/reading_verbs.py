"""Every verb that reads, each as a process of its own, in books of several sizes: which of them grow with the book.

    python tests/benchmarks/reading_verbs.py FOLDER [--pours 10000 100000 1000000] [--only WORD] [--source SRC]

Makes `house-POURS.pourbook` in FOLDER where it is not there yet. Prints seconds of the processor (user and system), on
the clock, and the peak of memory. The last column says how much longer it took in the largest book than in the
smallest. It fails nobody; a verb that should follow its answer and has a large figure there does not. `--source` runs
another version of the program.
"""

import argparse
import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[2] / "src"))
from house_files import write_house

from pourbook.codes.identifiers import of_key

OURS = Path(__file__).parents[2] / "src"


class Ran(NamedTuple):
    """A process at its end: seconds of the processor, on the clock, MB at the peak, whether it succeeded."""

    used: float
    clock: float
    peak_mb: float
    done: bool


def ran(source, book, words):
    """The command with these words on that book; its answer is thrown away."""
    environment = os.environ | {"POURBOOK_BOOK": str(book), "POURBOOK_WHO": "M. Aldane", "PYTHONPATH": str(source)}
    begin = time.perf_counter()
    process = subprocess.Popen(
        [sys.executable, "-m", "pourbook", *map(str, words)], env=environment, stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
    )  # fmt: skip
    said = process.stderr.read()
    _, status, used = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        print(" ".join(map(str, words)), said.decode(), file=sys.stderr)
    clock = time.perf_counter() - begin
    return Ran(used.ru_utime + used.ru_stime, clock, used.ru_maxrss / 1024, process.returncode == 0)


def make_book(source, folder, pours):
    """A made-up house of so many pours; what its import took is printed."""
    path = folder / f"house-{pours}.pourbook"
    if not path.exists():
        files = folder / f"files-{pours}"
        files.mkdir(parents=True, exist_ok=True)
        write_house(files, pours)
        ran(source, path, ("create", path, "--house", "Quillmere"))
        took = ran(source, path, ("import", "history", files, "--confirm"))
        size = path.stat().st_size / 1e6
        print(f"import of {pours}: {took.used:.1f} s, {took.peak_mb:.0f} MB at the peak; a book of {size:.0f} MB")
    return path


def picked(path):
    """Items of the house to ask about: of each kind the one in the middle; a day in the middle of its life, and one
    early one, when little was there."""
    with sqlite3.connect(f"file:{path}?mode=ro", uri=True) as book:
        middle = {}
        for kind in ("cask", "vial", "trial", "batch", "lot"):
            keys = [key for (key,) in book.execute("SELECT key FROM item WHERE kind = ? ORDER BY key", (kind,))]
            middle[kind] = of_key(keys[len(keys) // 2])
            middle[f"next {kind}"] = of_key(keys[len(keys) // 2 + 1])
        (last,) = book.execute("SELECT max(number) FROM entry").fetchone()
    return middle | {"last": last}


def questions(of, scratch):
    """Every verb that reads, by what it is asked."""
    cask, lot, trial = of["cask"], of["lot"], of["trial"]
    return {
        "journal-hash": ("journal-hash",),
        "settings": ("settings",),
        "show CASK": ("show", cask),
        "show LOT --history": ("show", lot, "--history"),
        "scan LOT": ("scan", lot),
        "trace LOT": ("trace", lot),
        "trace CASK --forward": ("trace", cask, "--forward"),
        "trace VIAL": ("trace", of["vial"]),
        "affected --item CASK": ("affected", "--item", cask),
        "recall --list": ("recall", "--list"),
        "trial --list --limit 100": ("trial", "--list", "--limit", "100"),
        "trial --list": ("trial", "--list"),
        "recipe --list": ("recipe", "--list"),
        "reserve --list": ("reserve", "--list"),
        "compare TRIAL TRIAL": ("compare", trial, of["next trial"]),
        "revisions TRIAL": ("revisions", trial),
        "near TRIAL": ("near", trial),
        "near TRIAL, trials": ("near", trial, "--kind", "trial"),
        "near TRIAL, trials by kind": ("near", trial, "--kind", "trial", "--group-by", "kind"),
        "trial --list --with": ("trial", "--list", "--with", "chestnut 30..32", "--limit", "100"),
        "evaporation CASK": ("evaporation", cask),
        "evaporation": ("evaporation",),
        "print-log": ("print-log",),
        "label VIAL": (
            "label", of["vial"], "--template", "vial-roll-30x15", "-o", scratch / "label.pdf", "--force", "--dry-run",
        ),
        "label --kind lot --unprinted --since": (
            "label", "--kind", "lot", "--unprinted", "--since", "2019-12-29", "--template", "vial-roll-30x15",
            "-o", scratch / "labels.pdf", "--force", "--dry-run",
        ),
        "dossier LOT": ("dossier", lot, "-o", scratch / "dossier.json", "--force", "--dry-run"),
        "account of a month": ("account", "--from", "2005-01-01", "--to", "2005-01-31"),
        "account of half a year": ("account", "--from", "2005-01-01", "--to", "2005-06-30"),
        "journal --item CASK": ("journal", "--item", cask),
        "journal --from LAST": ("journal", "--from", of["last"] - 50),
        "journal --at": ("journal", "--at", "1990-01-15"),
        "journal --limit 100": ("journal", "--limit", "100"),
        "journal --kind imported": ("journal", "--kind", "imported"),
        "journal --who": ("journal", "--who", "P. Hask", "--limit", "100"),
        "journal": ("journal",),
        "journal --json": ("journal", "--json"),
        "stock --kind batch": ("stock", "--kind", "batch"),
        "stock --kind cask": ("stock", "--kind", "cask"),
        "stock --kind cask --place": ("stock", "--kind", "cask", "--place", "row 7"),
        "stock --at --kind cask": ("stock", "--at", "2005-06-30", "--kind", "cask"),
        "stock --at": ("stock", "--at", "2005-06-30"),
        "stock --limit 100": ("stock", "--limit", "100"),
        "stock": ("stock",),
        "stock --json": ("stock", "--json"),
        "export stock": ("export", "stock"),
        "export journal": ("export", "journal"),
        "export pours": ("export", "pours"),
        "export history": ("export", "history", "-o", scratch / "history", "--force"),
        "export graphml LOT": ("export", "graphml", lot),
        "checkup": ("checkup",),
        "verify": ("verify",),
        "backup": ("backup", scratch / "backup.pourbook"),
    }  # fmt: skip


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("folder", type=Path)
    parser.add_argument("--pours", type=int, nargs="+", default=[10_000, 100_000, 1_000_000])
    parser.add_argument("--only", action="append", help="Only questions that begin so; may be repeated.")
    parser.add_argument("--source", type=Path, default=OURS)
    chosen = parser.parse_args()
    chosen.folder.mkdir(parents=True, exist_ok=True)
    books = {pours: make_book(chosen.source, chosen.folder, pours) for pours in chosen.pours}
    found = {pours: picked(book) for pours, book in books.items()}
    heads = "".join(f"{pours:>30,}" for pours in books)
    print(f"{'s of the processor, s, MB':40}{heads}   growth")
    with tempfile.TemporaryDirectory(dir=chosen.folder) as scratch:
        for name in questions(found[chosen.pours[0]], Path(scratch)):
            if chosen.only and not any(name.startswith(word) for word in chosen.only):
                continue
            taken = []
            for pours, book in books.items():
                taken.append(ran(chosen.source, book, questions(found[pours], Path(scratch))[name]))
                Path(scratch, "backup.pourbook").unlink(missing_ok=True)
            cells = "".join(
                f"{one.used:13.2f} {one.clock:8.2f} {one.peak_mb:6.0f} {' !'[not one.done]}" for one in taken
            )
            print(f"{name:40}{cells}   {taken[-1].used / taken[0].used:6.1f}", flush=True)


if __name__ == "__main__":
    main()
