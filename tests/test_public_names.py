"""What is public is said, in order, and is there: `__all__` of every module and of the package."""

import ast
import subprocess
import sys
from importlib import import_module
from pathlib import Path

import pytest
from write_signatures import FILE, up_to_date

import pourbook

SOURCE = Path(pourbook.__file__).parent


def _module_name(path):
    return ".".join(("pourbook", *path.relative_to(SOURCE).with_suffix("").parts)).removesuffix(".__init__")


TREES = {
    _module_name(path): ast.parse(path.read_text("utf-8"))
    for path in sorted(SOURCE.rglob("*.py"))
    if path.name != "__main__.py"
}


def _assigned(tree, name):
    """The value that a module gives to a name, or None."""
    for node in tree.body:
        targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
        if any(isinstance(target, ast.Name) and target.id == name for target in targets):
            return ast.literal_eval(node.value)
    return None


def _only_a_docstring(tree):
    return all(isinstance(node, ast.Expr) for node in tree.body)


def _order(name):
    """Constants first, then classes, then functions; each by the alphabet."""
    return (0 if name.isupper() else 1 if name[0].isupper() else 2, name)


SPEAKING = {name: tree for name, tree in TREES.items() if not _only_a_docstring(tree)}
SAID = {name: _assigned(tree, "__all__") for name, tree in SPEAKING.items()}


def test_every_module_says_what_is_public():
    """Each module with code has `__all__`: constants, classes, functions, each without repetition, in order."""
    assert {name for name, said in SAID.items() if said is None} == set()
    assert {name: said for name, said in SAID.items() if said != sorted(set(said), key=_order)} == {}


@pytest.mark.parametrize("name", sorted(SPEAKING))
def test_every_public_name_exists(name):
    """What `__all__` promises can be had."""
    module = import_module(name)
    assert [public for public in SAID[name] if not hasattr(module, public)] == []


def test_what_other_modules_use_is_public():
    """A name that another module of ours imports is promised by the module it comes from."""
    broken = {
        f"{user}: from {node.module} import {alias.name}"
        for user, tree in SPEAKING.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and node.module in SAID
        for alias in node.names
        if f"{node.module}.{alias.name}" not in TREES and alias.name not in SAID[node.module]
    }
    assert broken == set()


def test_the_package_shows_what_it_promises():
    """`__all__` is what `dir` lists, each name leads somewhere, and any other name is refused."""
    assert dir(pourbook) == sorted(pourbook.__all__)
    for name in pourbook.__all__:
        assert getattr(pourbook, name).__name__ == name
    with pytest.raises(AttributeError, match="no attribute 'Bottle'"):
        _ = pourbook.Bottle


def test_a_star_import_brings_the_promised_names_only():
    """`from pourbook import *` in a fresh interpreter adds `__all__`, no more."""
    code = "before = set(globals()); from pourbook import *; print(*sorted(set(globals()) - before - {'before'}))"
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.split() == sorted(pourbook.__all__)


def test_a_type_checker_sees_every_action_and_query():
    """The signatures of `Book` are those that the tables say; else write them: tests/write_signatures.py."""
    text = FILE.read_text("utf-8")
    assert up_to_date(text) == text
    assert "        pour = pourbook.actions.pouring.pour\n" in text
