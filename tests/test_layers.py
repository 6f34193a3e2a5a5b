"""Imports point one way, no two modules need each other, and most modules touch nothing outside themselves.

The tables below are the floor plan of the house; everything here reads the source against them.
"""

import ast
import re
import sys
import tomllib
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[1]
SOURCE = ROOT / "src" / "pourbook"

ROOMS = {
    "ground": (),
    "codes": ("ground",),
    "warehouse": ("ground",),
    "alcoholometry": ("ground",),
    "signing": ("ground",),
    "lineage": ("ground", "alcoholometry"),
    "uncertainty": ("ground", "alcoholometry"),
    "panels": ("ground",),
    "mixtures": ("ground",),
    "gauging": ("ground", "codes", "alcoholometry", "uncertainty"),
    "labels": ("ground", "codes"),
    "bench": ("ground", "codes", "alcoholometry", "uncertainty", "panels", "mixtures"),
    "planning": ("ground", "alcoholometry", "uncertainty"),
    "book": ("ground", "signing", "codes", "warehouse", "alcoholometry", "lineage", "gauging", "labels", "bench"),
    "batches": ("ground", "codes", "alcoholometry", "bench"),
    "queries": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "uncertainty", "panels", "mixtures", "gauging",
        "labels", "book", "bench", "planning", "batches", "warehouse",
    ),
    "words": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "uncertainty", "panels", "gauging", "labels", "book",
        "bench", "queries",
    ),
    "papers": ("ground", "signing", "codes", "lineage", "panels", "mixtures", "labels", "queries", "words"),
    "paperwork": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "labels", "book", "bench", "queries", "words",
        "papers", "warehouse",
    ),
    "exchange": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "panels", "gauging", "book", "queries", "words",
    ),
    "actions": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "uncertainty", "panels", "mixtures", "gauging",
        "labels", "book", "bench", "planning", "batches", "warehouse",
        "queries", "words", "papers", "paperwork", "exchange",
    ),
    "whole_book": ("ground", "lineage", "uncertainty", "gauging", "book", "queries", "actions"),
    "documents": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "uncertainty", "panels", "mixtures", "gauging",
        "labels", "book", "bench", "planning", "batches", "warehouse",
        "queries", "words", "papers", "paperwork", "exchange", "actions",
    ),
    "station": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "uncertainty", "panels", "mixtures", "gauging",
        "labels", "book", "bench", "planning", "batches", "warehouse",
        "queries", "words", "papers", "paperwork", "exchange", "actions", "documents", "whole_book",
    ),
    "cli": (
        "ground", "signing", "codes", "alcoholometry", "lineage", "uncertainty", "panels", "mixtures", "gauging",
        "labels", "book", "bench", "planning", "batches", "warehouse",
        "queries", "words", "papers", "paperwork", "exchange", "actions", "documents", "whole_book", "station",
    ),
    "command": ("cli",),
}  # fmt: skip
"""From the ground up: each room with the rooms below it that it may import."""

GROUND = (
    "consignments", "errors", "extracts", "house_style", "input_files", "liquid", "numerals", "one_file",
    "quantities", "shipped", "texts", "times", "typefaces",
)  # fmt: skip
WHOLE = ("", "whole_book", "signatures", "__main__")
"""`pourbook` itself, whose names are looked up when first used, its `Book`, and `python -m pourbook`."""

LIBRARIES = {
    "PIL": ("labels.",),
    "argon2": ("actions.pins",),
    "barcode": ("labels.symbols",),
    "click": ("cli.",),
    "cryptography": ("signing.", "station."),
    "highspy": ("planning.centring", "planning.solving"),
    "jinja2": ("station.",),
    "matplotlib": ("papers.plots.",),
    "numpy": ("panels.", "mixtures.", "papers.plots.", "planning."),
    "openpyxl": ("exchange.",),
    "pandas": ("queries.traces.trace_answer", "exchange."),
    "psycopg": (
        "book.beside_server",
        "book.postgres_connection",
        "book.postgres_defined",
        "book.postgres_errors",
        "book.postgres_store",
        "book.postgres_tables",
        "book.postgres_turns",
    ),
    "pypdfium2": ("labels.", "papers.letters"),
    "qrcode": ("labels.symbols",),
    "reportlab": ("typefaces", "labels.", "papers."),
    "scipy": ("panels.", "mixtures.", "papers.plots.", "planning.enough"),
    "sqlite_utils": ("book.sqlite_tables", "exchange."),
    "serial": ("station.balances",),
    "starlette": ("station.",),
    "uvicorn": ("station.",),
    "zxingcpp": ("labels.",),
}
"""What is not Python's own, and where alone it may be imported (a room ends in a full stop)."""

DISTRIBUTIONS = {
    "PIL": "pillow",
    "argon2": "argon2-cffi",
    "barcode": "python-barcode",
    "serial": "pyserial",
    "zxingcpp": "zxing-cpp",
}
"""Where a library is installed under another name."""

NOT_IMPORTED = frozenset(("python-multipart", "tzdata"))
"""Declared for others that import them: starlette reads forms with the one, Python zones on Windows with the other."""

OUTSIDE = {
    "actions.pins": "keeps back all but two who hash at once",
    "actions.tasting_session": "draws codes that nobody can foresee",
    "book.addresses": "reads an address from a file",
    "book.backup": "writes the copy",
    "book.beside_book": "draws tokens that nobody can foresee",
    "book.beside_file": "opens the file beside the book",
    "book.core": "its clock is the one on the wall unless another is given",
    "book.coded_names": "draws salts that nobody can foresee",
    "book.upgrading": "looks whether a copy lies beside the book",
    "book.done_again": "waits a moment, by chance",
    "book.explaining": "knows the errors of SQLite",
    "book.import_staging": "keeps rows in a file that nobody else sees",
    "book.postgres_connection": "connects to the server",
    "book.postgres_store": "talks to the server",
    "book.postgres_turns": "draws marks, and waits",
    "book.sqlite_connection": "opens the file",
    "book.sqlite_store": "looks for the file",
    "book.sqlite_tables": "talks to SQLite",
    "book.store": "opens a book on the engine that keeps it",
    "book.verifying_apart": "begins the other process, and is what it does",
    "input_files": "reads files",
    "labels.label_rules": "reads the rules that came along",
    "labels.label_printers": "sends bytes to a queue or an address",
    "labels.templates": "reads template files",
    "one_file": "writes files",
    "signing.key_files": "reads and writes keys",
    "shipped": "finds the folders that came along",
    "planning.solving": "reads the clock, to end in time",
    "times": "reads the clock",
    "typefaces": "reads font files",
    "documents.answer_schemas": "reads the schemas that came along",
    "exchange.": "reads and writes files",
    "station.certificates": "writes certificates, and asks which address this machine has",
    "station.balances": "listens to balances",
    "station.app": "is the door: answers what is asked of it",
    "station.jobs": "are threads",
    "station.pages.": "are what the door shows",
    "station.people": "makes the token of a browser",
    "station.results": "keeps files in memory for a while, under keys that nobody can guess",
    "station.serving": "listens",
    "station.templating": "reads the templates that came along",
    "station.visit": "writes addresses",
    "station.workers": "are threads",
    "cli.": "is the door",
    "__main__": "is the door",
}
"""Every module that reads or writes anything but its arguments. All others are pure."""

_WORLD = frozenset(
    ("asyncio", "getpass", "http", "locale", "logging", "os", "platform", "random", "secrets", "shutil", "signal",
     "socket", "sqlite3", "subprocess", "sys", "tempfile", "threading", "time", "urllib", "uuid")
)  # fmt: skip
_BUILT_IN = frozenset(("__import__", "eval", "exec", "input", "open", "print"))
_METHODS = frozenset(
    ("now", "open", "read_bytes", "read_text", "today", "utcnow", "write_bytes", "write_text")
)  # of datetime, date and Path


class Module(NamedTuple):
    """A module of ours: its name below the package, and its text as a tree."""

    name: str
    tree: ast.Module

    @property
    def room(self):
        if self.name in WHOLE:
            return "command" if self.name == "__main__" else "whole_book"
        return "ground" if self.name in GROUND else self.name.partition(".")[0]


def _name_of(path):
    return ".".join(path.relative_to(SOURCE).with_suffix("").parts).removesuffix("__init__").rstrip(".")


MODULES = [Module(_name_of(path), ast.parse(path.read_text("utf-8"))) for path in sorted(SOURCE.rglob("*.py"))]
_NAMES = {module.name for module in MODULES}


def imported(tree):
    """Every module imported anywhere in a tree, inside functions too, submodules resolved."""
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, "a relative import hides where it points"
            below = {f"{node.module}.{alias.name}" for alias in node.names}
            modules = {name for name in below if _ours(name) in _NAMES}
            found.update(modules)
            if len(modules) < len(node.names):
                found.add(node.module)
    return found


def _ours(name):
    return name.removeprefix("pourbook").removeprefix(".") if name.partition(".")[0] == "pourbook" else None


def own_imports(module):
    """The modules of ours that a module imports."""
    return {name for name in map(_ours, imported(module.tree)) if name is not None}


def _foreign(module):
    names = {name.partition(".")[0] for name in imported(module.tree) if _ours(name) is None}
    return names - sys.stdlib_module_names


def _within(name, places):
    return any(name == place or (place.endswith(".") and f"{name}.".startswith(place)) for place in places)


def touches_the_world(tree):
    """What in a tree reads or writes anything but its arguments."""
    found = {name for name in imported(tree) if name.partition(".")[0] in _WORLD}
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(name)) if name in _BUILT_IN:
                found.add(name)
            case ast.Call(func=ast.Attribute(attr=name)) if name in _METHODS:
                found.add(name)
            case ast.alias(name="now_us"):
                found.add("now_us")
    return found


def offenders(finds, modules=MODULES):
    """Each module in which something was found, with what was found."""
    return {module.name or "pourbook": found for module in modules if (found := finds(module))}


# -- the floor plan itself ---------------------------------------------------------------


def test_the_floor_plan_has_no_loop():
    """A room imports only rooms that stand above it in the table."""
    below = []
    for room, may_import in ROOMS.items():
        assert set(may_import) <= set(below), room
        below.append(room)


def test_the_floor_plan_and_the_source_name_the_same_rooms():
    """Every room of the plan has a module, and every module has a room."""
    assert {module.room for module in MODULES} == set(ROOMS)


def test_contributors_are_told_the_same_plan():
    """The table in DEVELOPERS.md names the same rooms, lower floors first, and the same ground floor."""
    rows = re.findall(r"^\| (\d+) \| (.*?) \|", (ROOT / "DEVELOPERS.md").read_text("utf-8"), re.MULTILINE)
    floors = [(int(floor), re.findall(r"`(\w+)/?`", names)) for floor, names in rows]
    assert sorted(floors[0][1]) == sorted(GROUND)
    floor_of = {"ground": 0} | {room: floor for floor, (room, *_) in floors[1:]}
    assert floor_of.keys() == ROOMS.keys() - {"whole_book", "command"}
    for room, floor in floor_of.items():
        assert all(floor_of[below] < floor for below in ROOMS[room] if below != "whole_book"), room


@pytest.mark.parametrize("name", ["labels", "papers"])
def test_what_is_printed_knows_no_book(name):
    """Labels and papers take plain values, so that they can be tried without a book."""
    assert "book" not in ROOMS[name]


# -- the source against the plan -----------------------------------------------------------


def test_imports_point_down():
    """A module imports from its own room and from rooms that its room may import."""
    rooms = {module.name: module.room for module in MODULES}

    def upward(module):
        allowed = {module.room, *ROOMS.get(module.room, ())}
        return {name for name in own_imports(module) if rooms.get(name) not in allowed}

    assert offenders(upward) == {}


def test_no_two_modules_need_each_other():
    """The modules can be put in an order in which each imports only earlier ones."""
    waiting = {module.name: own_imports(module) - {module.name} for module in MODULES}
    while ready := {name for name, needs in waiting.items() if not needs & waiting.keys()}:
        waiting = {name: needs for name, needs in waiting.items() if name not in ready}
    assert not waiting, f"a loop among {sorted(waiting)}"


def test_libraries_stay_in_their_rooms():
    """What is not Python's own is imported where the table says, and nowhere else."""

    def astray(module):
        return {name for name in _foreign(module) if not _within(module.name, LIBRARIES.get(name, ()))}

    assert offenders(astray) == {}


def test_every_library_is_used_and_declared():
    """The table, the imports and the dependencies of the package (with its extras) name the same libraries."""
    used = set().union(*map(_foreign, MODULES)) & LIBRARIES.keys()
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = project["optional-dependencies"]
    lines = [*project["dependencies"], *extras["postgres"], *extras["station"]]
    declared = {re.split(r"[^\w-]", line)[0] for line in lines}
    assert used == LIBRARIES.keys()
    assert {DISTRIBUTIONS.get(library, library.replace("_", "-")) for library in LIBRARIES} == declared - NOT_IMPORTED


def test_pure_modules_touch_nothing_outside():
    """No clock, chance, file, database, environment or screen: the answer follows from the arguments."""
    pure = [module for module in MODULES if not _within(module.name, OUTSIDE)]
    assert offenders(lambda module: touches_the_world(module.tree), pure) == {}


def test_what_is_said_to_touch_the_world_does():
    """The list of doors is no longer than it must be."""
    idle = {
        module.name
        for module in MODULES
        if module.name in OUTSIDE.keys() - {"__main__"}
        and not touches_the_world(module.tree)
        and "pathlib" not in imported(module.tree)
    }
    assert not idle


def test_the_doors_do_not_know_each_other():
    """One verb opens the station, as `open` begins a program; nothing else of the command knows of it."""
    assert offenders(lambda module: module.room == "cli" and {
        name for name in own_imports(module) if name.partition(".")[0] == "station"
    }).keys() <= {"cli.station"}  # fmt: skip


def test_one_place_ends_the_process_and_catches_everything():
    """Refusals become text and an exit status in `cli.main` only."""

    def ends_or_catches(module):
        return [node.lineno for node in ast.walk(module.tree) if _catches_all(node) or _ends_the_process(node)]

    assert offenders(ends_or_catches).keys() <= {"cli.main"}


def _catches_all(node):
    return isinstance(node, ast.ExceptHandler) and (node.type is None or _is_named(node.type, "Exception"))


def _ends_the_process(node):
    return isinstance(node, ast.Attribute) and node.attr in ("exit", "_exit") and _is_named(node.value, "sys")


def _is_named(node, name):
    return isinstance(node, ast.Name) and node.id == name


# -- the readers above see what they should --------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "import sqlite3",
        "def f():\n    from os import environ",
        "from datetime import datetime\nmoment = datetime.now()",
        "def f(path):\n    return path.read_text()",
        "text = open('casks.csv')",
        "import random",
    ],
)
def test_a_touch_of_the_world_is_seen(text):
    """Each way out that is closed to pure modules is noticed, inside functions too."""
    assert touches_the_world(ast.parse(text))


def test_an_import_inside_a_function_is_seen():
    """Imports are found wherever they stand, and submodules are told from names."""
    tree = ast.parse("def f():\n    from pourbook.book import items as reading\n    from pourbook.liquid import Liquid")
    assert imported(tree) == {"pourbook.book.items", "pourbook.liquid"}
