"""Doors are thin: SQL stays in the book, the command stays in its room, and a verb is one call.

Everything here reads the source; what it finds is named with its module.
"""

import ast
import re
from pathlib import Path

import pytest

import pourbook

SOURCE = Path(pourbook.__file__).parent
TREES = {str(path.relative_to(SOURCE)): ast.parse(path.read_text("utf-8")) for path in sorted(SOURCE.rglob("*.py"))}
_SQL = re.compile(r"^\s*(SELECT|INSERT|UPDATE|DELETE|WITH|CREATE|PRAGMA|BEGIN|COMMIT|ROLLBACK|SAVEPOINT)\b")
_TRANSACTIONS = {"writing", "undone", "transaction", "snapshot", "record", "record_many"}


def sql_in(tree):
    """Text that begins like a statement of SQL, docstrings aside."""
    spoken = {id(node.body[0].value) for node in ast.walk(tree) if _has_docstring(node)}
    return [
        node.value.strip()[:60]
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant)
        and isinstance(node.value, str)
        and id(node) not in spoken
        and _SQL.match(node.value)
        and node.value.lstrip()[:6].isupper()
        and " " in node.value.strip()
    ]


def _has_docstring(node):
    return isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and ast.get_docstring(node) is not None


def attributes_in(tree, names):
    """Calls and look-ups of these attributes."""
    return [
        f"{node.attr} (line {node.lineno})"
        for node in ast.walk(tree)
        if isinstance(node, ast.Attribute) and node.attr in names
    ]


def offenders(find, inside=None, outside=None):
    """Each module in which something was found, in one room or outside another."""
    return {
        name: found
        for name, tree in TREES.items()
        if (inside is None or name.startswith(inside))
        and (outside is None or not name.startswith(outside))
        and (found := find(tree))
    }


def test_sql_stays_in_the_book():
    """One room knows that there are tables."""
    assert offenders(sql_in, outside="book/") == {}


def test_the_command_stays_in_its_room():
    """Nothing below a door knows click."""

    def imports_click(tree):
        return [
            node.lineno
            for node in ast.walk(tree)
            if (isinstance(node, ast.Import) and any(alias.name == "click" for alias in node.names))
            or (isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] == "click")
        ]

    assert offenders(imports_click, outside="cli/") == {}


def test_no_verb_touches_the_store():
    """A verb asks queries and calls actions; it never sees a table."""
    assert offenders(lambda tree: attributes_in(tree, {"store"}), inside="cli/") == {}


def test_no_verb_has_a_transaction_of_its_own():
    """What belongs together is kept together by an action, for every door alike."""
    assert offenders(lambda tree: attributes_in(tree, _TRANSACTIONS), inside="cli/") == {}


@pytest.mark.parametrize("text", ['x = "SELECT 1 FROM entry"', 'f"DELETE FROM {table} WHERE a"'])
def test_sql_is_seen(text):
    """The reader above finds what it should."""
    assert sql_in(ast.parse(text))


def test_prose_is_not_taken_for_sql():
    """A sentence that begins with such a word is none."""
    assert not sql_in(ast.parse('x = "Update the printer, then try again"'))
