"""A light start: what a scan, a trace or a record does not need is not loaded.

Each test starts a fresh interpreter; the command runs in it exactly as from a shell, and what it
loaded is read afterwards.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from house import House

from pourbook.book.entries import Stage, Taste

HEAVY = {
    "PIL", "barcode", "highspy", "matplotlib", "numpy", "openpyxl", "pandas", "pypdfium2", "qrcode", "reportlab",
    "scipy", "sqlite_utils", "zxingcpp",
}  # fmt: skip

NOT_TO_SHOW = {
    "bisect", "dataclasses", "pathlib", "pourbook.book.checked_facts", "pourbook.book.entries", "pourbook.cli.printing",
    "pourbook.quantities", "pourbook.queries.traces.qualifying_time",
}  # fmt: skip
"""What a cold `show` or `trace` was slowed by once: a fifth of its time."""

_RUN = """
import json, sys
before = set(sys.modules)
said = {}
def loaded():
    new = set(sys.modules) - before
    kept = ("bisect", "dataclasses", "pathlib")
    own = (name for name in new if name.split(".")[0] not in sys.stdlib_module_names)
    return sorted([*own, *(name for name in new if name in kept or "sqlite" in name)])
for arguments in json.loads(sys.argv[1]):
    sys.argv = ["pourbook", *arguments]
    from pourbook.cli.main import run
    try:
        run()
    except SystemExit as end:
        status = end.code
    said[" ".join(arguments)] = [status, loaded()]
print(json.dumps(said), file=sys.stderr)
"""


def loaded_by(*commands, book=None):
    """Each command, run one after the other in one fresh interpreter, with what was loaded by then.

    Python's own modules are left out, but for SQLite's and slow ones.
    """
    environment = os.environ | ({"POURBOOK_BOOK": str(book), "POURBOOK_WHO": "M. Aldane"} if book else {})
    ran = subprocess.run(
        [sys.executable, "-c", _RUN, json.dumps(commands)], capture_output=True, text=True, env=environment, check=True
    )
    said = json.loads(ran.stderr.splitlines()[-1])
    assert {command: status for command, (status, _) in said.items() if status} == {}, ran.stderr
    return {command: set(modules) for command, (_, modules) in said.items()}


def heavy(loaded):
    """Of what each command loaded, the libraries it should not have."""
    return {
        command: found
        for command, modules in loaded.items()
        if (found := HEAVY & {module.partition(".")[0] for module in modules})
    }


@pytest.fixture
def book(tmp_path):
    """A small book: two casks, a vial and a trial."""
    path = tmp_path / "quillmere.pourbook"
    with House(path) as house:
        house.open("C1", ref="Row 3/12")
        house.open("C2", ref="Row 4/02")
        house.cask("C1", "200 l", "63.5", spirit="malt spirit")
        house.cask("C2", "180 l", "58.2", spirit="grain spirit")
        house.draw("C1", "V1", "500 ml")
        house.pour("V1", "T1", "70 ml")
        house.record(Taste(house.id("C1"), "Isla Farrow", stages={"nose": Stage("", {"pear": "4"})}))
    return path


def test_importing_the_package_loads_nothing():
    """`import pourbook` loads itself and no other module of ours, nor any library."""
    code = "import sys; before = set(sys.modules); import pourbook; print(*set(sys.modules) - before)"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    foreign = {name for name in said.stdout.split() if name.partition(".")[0] not in sys.stdlib_module_names}
    assert foreign == {"pourbook"}


def test_help_opens_no_book():
    """The list of verbs needs neither a database nor any of the rooms but the command's own."""
    (modules,) = loaded_by(["--help"]).values()
    rooms = {name.split(".")[1] for name in modules if name.startswith("pourbook.")}
    assert rooms == {"cli", "errors", "texts"}
    assert "sqlite3" not in modules
    assert not heavy({"--help": modules})


def test_finding_and_tracing_stay_light(book):
    """Reading verbs load no library of numbers, tables, pictures or print."""
    commands = [
        ["show", "C-000001-H"],
        ["show", "Row 3/12", "--history", "--json"],
        ["stock"],
        ["trace", "T-000002-M"],
        ["trace", "C000001H", "--forward", "--by", "mass", "--json"],
        ["journal"],
        ["journal-hash"],
        ["revisions", "T-000002-M"],
        ["near", "T-000002-M"],
        ["shape", "C-000001-H"],
        ["blending", "show"],
        ["evaporation"],
        ["account", "--from", "2023-01-01", "--to", "2024-12-31", "--group-by", "kind"],
    ]
    assert heavy(loaded_by(*commands, book=book)) == {}


def test_tests_of_difference_stay_light():
    """They are sums of the binomial distribution, and orders are drawn: no library of numbers is loaded."""
    commands = [
        ["panel", "orders", "--products", "6", "--assessors", "12"],
        ["panel", "tetrad", "--d-prime", "1"],
        ["panel", "triangle", "--assessors", "30", "--correct", "16"],
    ]
    assert heavy(loaded_by(*commands)) == {}


def test_finding_needs_nothing_that_only_recording_needs(book):
    """A scan that asks does not load what records."""
    (modules,) = loaded_by(["show", "C-000001-H"], book=book).values()
    assert not modules & {"pourbook.book.recording", "pourbook.book.refold", "pourbook.book.verifying"}


def test_recording_stays_light(book):
    """Recording verbs, too: the bench does not wait."""
    commands = [
        ["cask", "Row 5/01", "--fill", "100 l", "--strength", "60"],
        ["gauge", "Row 5/01", "--amount", "99 l", "--strength", "59.9", "--temperature", "14"],
        ["draw", "Row 4/02", "300 ml"],
        ["recipe", "Ostrewick", "--part", "Row 3/12=3", "--part", "Row 4/02=1"],
        ["trial", "--recipe", "Ostrewick"],
        ["pour", "T-000002-M", "Row 4/02", "30 ml", "water", "5 ml"],
        ["compare", "T-000002-M", "T-000002-M"],
        ["batch", "Vatting 1"],
        ["scale-up", "T-000002-M", "--total", "20 l", "--to", "46", "--record"],
        ["note", "Row 3/12", "bung replaced"],
        ["move", "Row 3/12", "--to", "Row 9"],
        ["hold", "Row 3/12", "--reason", "cork taint suspected"],
        ["void", "9", "--reason", "rehearsed", "--dry-run"],
    ]
    assert heavy(loaded_by(*commands, book=book)) == {}


def test_a_model_without_a_picture_loads_no_plots():
    """Statistics need numbers, not drawings, tables or print."""
    table = Path(__file__).parent / "reference" / "mixtures" / "yarn.csv"
    (modules,) = loaded_by(["mixture", "fit", str(table), "--response", "y"]).values()
    assert {name.partition(".")[0] for name in modules} & HEAVY == {"numpy", "scipy"}


def test_what_only_reads_loads_nothing_that_records(book):
    """A cold `show` and `trace` stay below one and a half times a bare script (`start_up.py`).

    Of an item without tasting notes; those are read with the figures that were typed.
    """
    loaded = loaded_by(["show", "Row 4/02"], ["trace", "Row 4/02"], book=book)
    assert {command: modules & NOT_TO_SHOW for command, modules in loaded.items() if modules & NOT_TO_SHOW} == {}
