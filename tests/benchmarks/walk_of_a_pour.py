"""One pour from the command to the disk and back into a trace: every function of ours on the way, in order.

Prints each function when it is entered for the first time, file by file, and how many there were. Modules
and classes being made are not counted.

    python tests/benchmarks/walk_of_a_pour.py
"""

import inspect
import io
import os
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pourbook
from pourbook.cli import main

SOURCE = str(Path(pourbook.__file__).parent) + os.sep
STEPS = (("pour", "Trial 1", "S 1", "10 ml"), ("trace", "Trial 1"))


def run(*words):
    """A command in this process, its output thrown away."""
    sys.argv = ["pourbook", *words]
    with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()) as err:
        status = main._run()
    if status:
        raise SystemExit(err.getvalue())


def walked(words):
    """File and function, in the order in which they were first entered."""
    found = {}

    def note(frame, event, _):
        code = frame.f_code
        if event == "call" and code.co_filename.startswith(SOURCE) and code.co_flags & inspect.CO_OPTIMIZED:
            name = code.co_qualname if hasattr(code, "co_qualname") else code.co_name
            if "<" not in name.rpartition(".")[2]:
                found.setdefault((code.co_filename.removeprefix(SOURCE), name))

    sys.setprofile(note)
    try:
        run(*words)
    finally:
        sys.setprofile(None)
    return list(found)


def walk():
    """Make a small house, then walk."""
    with tempfile.TemporaryDirectory() as folder:
        book = os.path.join(folder, "quillmere.pourbook")
        os.environ |= {"POURBOOK_BOOK": book, "POURBOOK_WHO": "M. Aldane"}
        run("create", book, "--house", "Quillmere")
        run("cask", "Q 1", "--fill", "200 l", "--strength", "61", "--spirit", "malt spirit", "--in-wood", "0")
        run("draw", "Q 1", "200 ml", "--ref", "S 1")
        run("trial", "--part", "S 1=1", "--total", "100 ml", "--ref", "Trial 1")
        return [step for words in STEPS for step in walked(words)]


if __name__ == "__main__":
    steps = list(dict.fromkeys(walk()))
    last = ""
    for file, name in steps:
        if file != last:
            print(f"\n{file}", end=":")
            last = file
        print(f" {name}", end="")
    print(f"\n\n{len({file for file, _ in steps})} files, {len(steps)} functions")
