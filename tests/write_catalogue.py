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
_SAYING = ("documents/stocktakes.py", "documents/warehouse.py", "documents/scans.py", "documents/packing.py")
COMMAND = r"\bpourbook |(?<![\w-])--\w"
"""What is typed into the command, which no page tells."""
_LEAST_LETTERS = 8
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
        parts = {id(part) for node in ast.walk(tree) for part in _no_sentence(node)}
        for node in ast.walk(tree):
            if id(node) in parts:
                continue
            named = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
            for said in node.args[:3] if named in _REFUSING else [node] if says_all else ():
                form = _form(said)
                letters = len(re.sub(r"\{\d+\}|[^A-Za-z]", "", form))
                if letters >= _LEAST_LETTERS and " " in form and not re.search(COMMAND, form):
                    found.setdefault(form, path.relative_to(SOURCE).as_posix())
    return found


def _no_sentence(node):
    """Docstrings, types, and text that is a part of another."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        yield node.value
    if isinstance(node, (ast.arg, ast.AnnAssign, ast.FunctionDef)):  # a type in quotes
        yield from filter(None, (getattr(node, "annotation", None), getattr(node, "returns", None)))
    if isinstance(node, ast.JoinedStr):
        yield from (one for part in node.values for one in ast.walk(part))


def _form(node):
    """Text with a numbered gap for each value; empty for what is no text."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value if "\n" not in node.value and "{" not in node.value else ""
    if not isinstance(node, ast.JoinedStr):
        return ""
    gaps = count()
    return "".join(one.value if isinstance(one, ast.Constant) else f"{{{next(gaps)}}}" for one in node.values)


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
