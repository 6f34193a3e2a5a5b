"""The shape of the source: short files, short functions, frozen values, a docstring on all that is public.

Limits follow the habits the project took on; a file that needs more says so here.
"""

import ast
import statistics
from pathlib import Path

import pourbook

SOURCE = Path(pourbook.__file__).parent
FILES = {str(path.relative_to(SOURCE)): path.read_text("utf-8") for path in sorted(SOURCE.rglob("*.py"))}
TREES = {name: ast.parse(text) for name, text in FILES.items()}

MOST_LINES = 400
LONGER: dict[str, int] = {}
"""Files that may be longer, each with its own limit; none is."""
MOST_IN_A_FUNCTION = 60
MEDIAN_FUNCTION = 12
UNITS = ("c", "g", "kg", "l", "mg", "ml", "mm", "pt", "us")


def _functions(tree):
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)]


def _lines_of(function):
    """Lines from `def` to the end, the docstring not counted."""
    first = function.body[0]
    documented = ast.get_docstring(function, clean=False) is not None
    docstring = first.end_lineno - first.lineno + 1 if documented else 0
    return function.end_lineno - function.lineno + 1 - docstring


def _public(tree, within=""):
    """Public classes, functions and methods, with their names."""
    for node in tree.body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
            yield within + node.name, node
            if isinstance(node, ast.ClassDef):
                yield from _public(node, f"{within}{node.name}.")


def _dataclass_decorators(tree):
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef):
            for decorator in node.decorator_list:
                if "dataclass" in ast.unparse(decorator):
                    yield node.name, ast.unparse(decorator)


def test_files_are_short():
    """A file is read in one sitting."""
    too_long = {
        name: len(text.splitlines())
        for name, text in FILES.items()
        if len(text.splitlines()) > LONGER.get(name, MOST_LINES)
    }
    assert too_long == {}


def test_the_exceptions_are_needed():
    """A file that has become short again loses its exception."""
    assert {name for name in LONGER if len(FILES[name].splitlines()) <= MOST_LINES} == set()


def test_functions_are_short():
    """No function fills a screen, and most are a few lines."""
    lines = {
        (name, function.name): _lines_of(function) for name, tree in TREES.items() for function in _functions(tree)
    }
    assert {where: count for where, count in lines.items() if count > MOST_IN_A_FUNCTION} == {}
    assert statistics.median(lines.values()) < MEDIAN_FUNCTION


def test_dataclasses_are_frozen():
    """A value does not change under its readers."""
    thawed = {
        (name, class_)
        for name, tree in TREES.items()
        for class_, decorator in _dataclass_decorators(tree)
        if "frozen=True" not in decorator or "slots=True" not in decorator
    }
    assert thawed == set()


def test_every_module_opens_with_what_it_is_for():
    """Each file has a docstring."""
    assert [name for name, tree in TREES.items() if not ast.get_docstring(tree)] == []


def test_everything_public_is_explained():
    """Each public class, function and method has a docstring."""
    silent = [
        f"{name}: {what}" for name, tree in TREES.items() for what, node in _public(tree) if not ast.get_docstring(node)
    ]
    assert silent == []


def test_every_field_of_a_value_is_explained():
    """The docstring of a value of three fields or more speaks of each of them."""
    silent = [
        f"{name}: {class_.name}.{field}"
        for name, tree in TREES.items()
        for class_ in ast.walk(tree)
        if isinstance(class_, ast.ClassDef) and not class_.name.startswith("_") and _is_value(class_)
        for field in _fields(class_)
        if len(_fields(class_)) > 2 and field not in _own_docstrings(class_) and not _spoken_of(field, class_)
    ]
    assert silent == []


def _spoken_of(field, class_):
    said = (ast.get_docstring(class_) or "").lower()
    return all(word in said for word in field.split("_") if word not in UNITS)


def _is_value(class_):
    named = any(ast.unparse(base) == "NamedTuple" for base in class_.bases)
    return named or any("dataclass" in ast.unparse(decorator) for decorator in class_.decorator_list)


def _fields(class_):
    return [node.target.id for node in class_.body if isinstance(node, ast.AnnAssign) and node.simple]


def _own_docstrings(class_):
    """Fields that are followed by a string of their own."""
    return {
        node.target.id
        for node, after in zip(class_.body, class_.body[1:], strict=False)
        if isinstance(node, ast.AnnAssign) and isinstance(after, ast.Expr)
    }
