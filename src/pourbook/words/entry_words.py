"""An entry of the journal in one line, whatever its kind: what was moved, measured, set or corrected, and why.

>>> from pourbook.book.logged import Logged
>>> entry = {"body": {"held": 0, "item": "C000001H"}, "reason": "laboratory: clean"}
>>> in_words(Logged(12, "hold", 0, 0, entry, ""))
'release C-000001-H; laboratory: clean'
"""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, kind_of, readable
from pourbook.numerals import counted
from pourbook.words.figure_words import in_grams, named, several

if TYPE_CHECKING:
    from pourbook.book.logged import Logged

__all__ = ["in_words"]

_Body = Mapping[str, Any]
_READ = ("typed", "strength", "reading", "extract_read")


def in_words(entry: "Logged", mark: str = ".") -> str:
    """What an entry says, in one line; masses that nobody typed are written with this decimal mark."""
    recorded = entry.entry
    body = recorded["body"]
    measured = _MEASURED.get(entry.kind)
    said = measured(body, mark) if measured else _SAID[entry.kind](body)
    place = f"in place of {recorded['replaces']}" if "replaces" in recorded else ""
    reason = recorded.get("reason") or body.get("reason") or ""
    return "; ".join(part for part in (said, place, reason) if part)


def _pour(body: _Body, mark: str) -> str:
    line, *more = body["lines"]
    rest = f" and {len(more)} more" if more else ""
    return f"{body['verb']}: {_amount(line, mark)} from {named(line['from'])} into {named(line['to'])}{rest}"


def _amount(line: _Body, mark: str) -> str:
    if "bottles" in line:
        return counted(int(line["bottles"]), "bottle")
    return line.get("typed") or ("all" if "all" in line else in_grams(line["mass"], mark))


def _gauge(body: _Body, mark: str) -> str:
    read = [str(body[name]) for name in _READ if name in body]
    if "mass" in body and "typed" not in body:
        read.insert(0, in_grams(body["mass"], mark))
    return f"gauge {hyphened(body['item'])} {', '.join(read)}".rstrip()


def _about(body: _Body) -> str:
    facts = ((name.replace("_", " "), readable(str(value))) for name, value in body.items())
    return ", ".join(f"{name} {value}" if value else f"no {name} any more" for name, value in facts)


def _of_item(word: str, body: _Body) -> str:
    said = _about(body["facts"])
    return f"{word} {hyphened(body['item'])}" + (f": {said}" if said else "")


def _packed(body: _Body) -> str:
    units = counted(len(body["ssccs"]), body["unit"])
    return f"packed {units} of {counted(body['bottles'], 'bottle')} of {hyphened(body['item'])}"


def _paper(body: _Body) -> str:
    stopped = " (stopped half-way)" if "stopped" in body["facts"] else ""
    return f"{body['paper']}: {several(body['items'])}{stopped}"


def _recall(body: _Body) -> str:
    held = f"{len(body['held'])} put on hold" if body["held"] else "none put on hold"
    return f"{'drill' if body['drill'] else 'recall'}: {counted(len(body['items']), 'item')} affected, {held}"


def _imported(body: _Body) -> str:
    return f"imported {', '.join(body['files'])}: {counted(body['items'], 'item')}, {counted(body['pours'], 'pour')}"


def _recipe(body: _Body) -> str:
    parts = ", ".join(f"{part['parts']} {named(part['component'])}" for part in body["parts"])
    before = f", revised from {body['revised_from']}" if "revised_from" in body else ""
    return f"recipe {body['name']}: {parts}{before}"


def _declared(body: _Body) -> str:
    lines = counted(len(body["lines"]), "figure")
    return f"declared: {lines} of {body['from'][:10]} to {body['to'][:10]}, rounded {body['rule']}"


_MEASURED: Mapping[str, Callable[[_Body, str], str]] = {"pour": _pour, "gauge": _gauge}
"""Kinds with amounts, which are written with a decimal mark."""

_SAID: Mapping[str, Callable[[_Body], str]] = {
    "house": lambda body: f"house: {_about(body['settings'])}",
    "item": lambda body: _of_item(kind_of(body["item"]), body),
    "facts": lambda body: _of_item("facts", body),
    "hold": lambda body: f"{'hold' if body['held'] else 'release'} {hyphened(body['item'])}",
    "note": lambda body: f"note {hyphened(body['item'])}: {body['text']}",
    "recipe": _recipe,
    "reserve": lambda body: f"reserve {several(body['items'])}",
    "packed": _packed,
    "paper": _paper,
    "imported": _imported,
    "close": lambda _: "close: nothing may happen before",
    "declared": _declared,
    "recall": _recall,
    "release": lambda body: f"release of recall {body['recall']}: {several(body['items']) or 'nothing released'}",
    "void": lambda body: f"void of entry {body['entry']}",
}
"""What an entry of every other kind says."""
