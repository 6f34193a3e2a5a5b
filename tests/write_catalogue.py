"""The catalogue of the station's words: what pages and handlers say, gathered from the source; and its translations.

    PYTHONPATH=src python tests/write_catalogue.py          # gathers, keeps what is translated, compiles
    PYTHONPATH=src python tests/write_catalogue.py --list   # tells what still lacks a translation

A house that wants another language adds an empty `locale/LANGUAGE/LC_MESSAGES/station.po`, runs the script,
translates what it finds there, and runs the script again.
"""

import ast
import io
import re
import sys
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from pourbook import errors

SOURCE = Path(__file__).resolve().parents[1] / "src" / "pourbook"
STATION = SOURCE / "station"
LOCALE = STATION / "locale"

_METHODS = [("pages/**.py", "python"), ("**.py", "python"), ("templates/**.html", "jinja2")]
_OPTIONS = {"templates/**.html": {"extensions": "jinja2.ext.do", "silent": "false", "trimmed": "true"}}
_REFUSING = {name for name in errors.__all__ if name not in ("Fault", "PourbookError", "answered")} | {"NotFound"}
_UNSEEN = (
    "alcoholometry", "cli", "exchange", "extracts.py", "input_files.py", "mixtures", "one_file.py", "panels",
    "shipped.py", "signing", "station", "typefaces.py",
)  # fmt: skip
"""Rooms whose sentences no page shows, and the station, which asks the catalogue itself."""
_SAYING = (
    "documents/stocktakes.py", "documents/warehouse.py", "documents/scans.py", "documents/packing.py",
    "gauging/slips.py",
)  # fmt: skip
"""Modules of which whatever they say is seen."""
COMMAND = r"\bpourbook |(?<![\w-])--\w"
"""What is typed into the command, which no page tells."""
_LEAST_LETTERS, _OF_QUESTIONS = 8, 5
"""A form of fewer would be taken for many another sentence."""
_KEYWORDS = {"_": None, "gettext": None, "ngettext": (1, 2)}


def gathered():
    """Every text that a page or a handler asks the catalogue for."""
    catalogue = Catalog(project="pourbook", charset="utf-8", header_comment="# Words of the station.")
    found = extract_from_dir(str(STATION), _METHODS, _OPTIONS, _KEYWORDS, comment_tags=())
    for file, _line, text, _comments, _context in sorted(found, key=lambda one: (str(one[0]), one[1])):
        catalogue.add(text, locations=[(file, None)])
    for form, file in sentences().items():
        catalogue.add(form, locations=[(file, None)])
    return catalogue


def sentences():
    """Forms of what the floors below say, `{0} holds {1}`: refusals, questions, words of papers and tasks."""
    found = {}
    for path in sorted(SOURCE.rglob("*.py")):
        room = path.relative_to(SOURCE).parts[0]
        if room in _UNSEEN:
            continue
        says_all = room == "words" or path.relative_to(SOURCE).as_posix() in _SAYING
        tree = ast.parse(path.read_text("utf-8"))
        refused = (part for form in (*_of_refusals(tree), *_of_tables(tree)) for part in _without_commands(form))
        for form in (*refused, *(_of_all(tree) if says_all else ())):
            letters = len(re.sub(r"\{\d+\}|[^A-Za-z]", "", form))
            least = _OF_QUESTIONS if form.endswith("?") else _LEAST_LETTERS
            if letters >= least and " " in form and not re.search(COMMAND, form):
                found.setdefault(form, path.relative_to(SOURCE).as_posix())
    return found


def _of_all(tree):
    """Every text of a module that says nothing else."""
    parts = {id(part) for node in ast.walk(tree) for part in _no_sentence(node)}
    yield from (_form(node) for node in ast.walk(tree) if id(node) not in parts)


def _of_refusals(tree):
    """What refusals and questions are made of, also where the text was given a name before."""
    everywhere = _given(tree.body)
    for scope in (tree, *(node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef))):
        names = everywhere if scope is tree else {**everywhere, **_given(ast.walk(scope))}
        for node in ast.walk(scope):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in _REFUSING:
                for said in (*node.args[:3], *(one.value for one in node.keywords)):
                    yield from _forms(said, names)


def _given(statements):
    """What each name is given in these statements, one by one or several at once."""
    names = {}
    for one in statements:
        if isinstance(one, ast.Assign):
            for target in one.targets:
                pairs = [(target, one.value)]
                if isinstance(target, ast.Tuple) and isinstance(one.value, ast.Tuple):
                    pairs = zip(target.elts, one.value.elts, strict=True)
                for name, value in pairs:
                    if isinstance(name, ast.Name):
                        names.setdefault(name.id, []).append(value)
    return names


def _forms(node, names):
    """The forms that a text may have: of a choice both, of a sum each part, of a name whatever it was given."""
    if isinstance(node, ast.IfExp):
        several = [node.body, node.orelse]
    elif isinstance(node, ast.BoolOp):
        several = node.values
    elif isinstance(node, ast.BinOp):
        several = [node.left, node.right]
    elif isinstance(node, ast.Name):
        several, names = names.get(node.id, ()), {name: one for name, one in names.items() if name != node.id}
    else:
        yield _form(node).strip("; ")
        return
    for one in several:
        yield from _forms(one, names)


_VAIN = ": nothing was recorded"
"""What the failures of an engine that `_IN_VAIN` names add while something is recorded."""


def _of_tables(tree):
    """Messages with a gap, and remedies, that stand at the ends of the rows of a table."""
    names = _given(tree.body)
    plain = {name: one.value for name, (one, *_) in names.items() if isinstance(one, ast.Constant)}
    in_vain = tuple(one.value for one in names["_IN_VAIN"][0].elts) if "_IN_VAIN" in names else ()
    for table in (one for (one, *_) in names.values() if isinstance(one, ast.Tuple)):
        for row in (row.elts for row in table.elts if isinstance(row, ast.Tuple) and len(row.elts) > 2):
            message, remedy = (_form(one, plain).replace("{}", "{0}") for one in row[-2:])
            if "{0}" in message:
                yield from (message, remedy)
                if row[0].value.startswith(in_vain):
                    yield message + _VAIN


def _without_commands(form):
    """Itself, or where something is typed into the command those parts of it that a page tells."""
    if not re.search(COMMAND, form):
        return [form]
    parts = [part for part in form.split("; ") if not re.search(COMMAND, part)]
    gaps = (count() for _ in parts)
    return [
        re.sub(r"\{\d+\}", lambda _, gap=gap: f"{{{next(gap)}}}", part) for part, gap in zip(parts, gaps, strict=True)
    ]


def _no_sentence(node):
    """Docstrings, types, and text that is a part of another."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        yield node.value
    if isinstance(node, (ast.arg, ast.AnnAssign, ast.FunctionDef)):  # a type in quotes
        yield from filter(None, (getattr(node, "annotation", None), getattr(node, "returns", None)))
    if isinstance(node, ast.JoinedStr):
        yield from (one for part in node.values for one in ast.walk(part))


def _form(node, plain=None):
    """Text with a numbered gap for each value; empty for what is no text.

    In a table a gap is `{}`, and names stand for the `plain` texts that they were given.
    """
    if plain and isinstance(node, ast.Name):
        return plain.get(node.id, "")
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value if "\n" not in node.value and (plain or "{" not in node.value) else ""
    if not isinstance(node, ast.JoinedStr):
        return ""
    gaps = count()
    return "".join(
        one.value if isinstance(one, ast.Constant)
        else (plain or {}).get(getattr(one.value, "id", "")) or f"{{{next(gaps)}}}"
        for one in node.values
    )  # fmt: skip


def translations():
    """The file of each language that the station has besides English."""
    return sorted(LOCALE.glob("*/LC_MESSAGES/station.po"))


def brought_up(path, found):
    """A translation with the texts there are now: those that are gone are dropped, new ones are empty."""
    old = Catalog(locale=path.parts[-3])
    if path.stat().st_size:
        with path.open("rb") as file:
            old = read_po(file, locale=path.parts[-3])
    new = Catalog(locale=path.parts[-3], project="pourbook", charset="utf-8", header_comment="# Words of the station.")
    for message in found:
        if not message.id:
            continue
        was = old.get(message.id)
        new.add(message.id, was.string if was is not None else "", locations=message.locations)
    new.revision_date = new.creation_date = None
    return new


def as_po(catalogue):
    """The file of a translation, without times, so that it changes only where words do."""
    out = io.BytesIO()
    write_po(out, catalogue, width=116, omit_header=False, include_lineno=False, sort_output=True)
    return re.sub(rb'"(?:POT-Creation-Date|PO-Revision-Date|Generated-By|Last-Translator)[^\n]*\n', b"", out.getvalue())


def as_mo(catalogue):
    """What gettext reads; without the times of making, so that it changes only where words do."""
    out = io.BytesIO()
    catalogue.creation_date = catalogue.revision_date = datetime(2026, 1, 1, tzinfo=UTC)
    write_mo(out, catalogue)
    return out.getvalue()


def lacking(catalogue):
    """Texts without a translation."""
    return [one.id for one in catalogue if one.id and not (one.string and all(one.string))]


def main():
    """Bring every translation up to date, or list what it lacks."""
    found = gathered()
    for path in translations():
        catalogue = brought_up(path, found)
        if "--list" in sys.argv:
            print(*lacking(catalogue), sep="\n")
            continue
        path.write_bytes(as_po(catalogue))
        with path.open("rb") as file:
            path.with_suffix(".mo").write_bytes(as_mo(read_po(file, locale=path.parts[-3])))
        print(f"{path.parts[-3]}: {len(catalogue)} texts, {len(lacking(catalogue))} to translate")


if __name__ == "__main__":
    main()
