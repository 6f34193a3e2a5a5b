"""The text of a label template to a `Template`, or every fault in it with its line and remedy.

`template_form` says what a key may hold. `template_checks` checks what no table can say (text outside
the label, overlapping boxes, a symbol without its identifier in letters) once the values are read.

>>> from pourbook.errors import FaultsFound
>>> try:
...     read_template(b'name = "Tag"', "tag.toml")
... except FaultsFound as refusal:
...     print(refusal.faults[0])
tag.toml, row 1, name: 'Tag' cannot be the name of a template; use small letters, digits and hyphens
"""

import re
from collections.abc import Iterator
from difflib import get_close_matches
from typing import Any

from pourbook.errors import Fault
from pourbook.input_files import all_faults, toml_tables
from pourbook.labels.fitting import Style
from pourbook.labels.label_layout import Rule, SymbolField, Template, TextField
from pourbook.labels.media import Media, Roll, Sheet
from pourbook.labels.template_checks import Place, checks
from pourbook.labels.template_form import REQUIRED, ROLL, RULE, SHEET, SYMBOL, TEXT_FIELD, TOP, Table, Wrong

__all__ = ["read_template"]

Values = dict[str, Any]
Wrongs = list[tuple[Place, Wrong]]


def read_template(data: bytes, file: str) -> Template:
    """The template that a TOML file describes; the file must bear its name.

    Raises:
        FaultsFound: with all faults found.
    """
    text, document = toml_tables(data, file)
    wrongs: Wrongs = []
    made = _made(document, wrongs)
    if made:
        wrongs += checks(made, file)
        if not wrongs:
            return made
    raise all_faults(sorted(_faults(wrongs, text, file), key=lambda fault: (not fault.row, fault.row)))


def _faults(wrongs: Wrongs, text: str, file: str) -> Iterator[Fault]:
    """What is wrong, with the line where it is written, or where its table starts."""
    lines = dict(_lines(text))
    for place, wrong in wrongs:
        tried = (place, place._replace(key=""), Place(place.key, 1), Place(place.key))
        row = next((lines[known] for known in tried if known in lines), 0)
        column = " ".join(filter(None, (place.table, str(place.nth or ""), place.key)))
        yield Fault(file, row, column, wrong.value, wrong.problem, wrong.remedy)


def _lines(text: str) -> Iterator[tuple[Place, int]]:
    table, nth = "", 0
    seen: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if header := re.match(r"\s*(\[\[?)\s*([\w-]+)\s*\]", line):
            table = header[2]
            nth = seen[table] = seen.get(table, 0) + 1 if header[1] == "[[" else 0
            yield Place(table, nth), number
        elif key := re.match(r"\s*([\w-]+)\s*=", line):
            yield Place(table, nth, key[1]), number


def _made(document: Values, wrongs: Wrongs) -> Template | None:
    """The template, or None when a key was wrong."""
    top = _values(document, TOP, wrongs, Place(), beside=("media", "symbol", "field", "rule"))
    media = _media(document.get("media"), wrongs)
    symbols = _tables(document, "symbol", SYMBOL, wrongs)
    texts = _tables(document, "field", TEXT_FIELD, wrongs)
    rules = _tables(document, "rule", RULE, wrongs)
    if wrongs or not media:
        return None
    for values in (*symbols, *texts, *rules):
        values["box"], values["kinds"] = values.pop("box_mm"), values["kinds"] or top["kinds"]
    return Template(
        **top,
        media=media,
        symbols=tuple(SymbolField(**values) for values in symbols),
        fields=tuple(map(_text_field, texts)),
        rules=tuple(Rule(**values) for values in rules),
    )


def _text_field(values: Values) -> TextField:
    size_pt, least_pt = values.pop("size_pt"), values.pop("least_size_pt")
    style = Style(values.pop("face"), size_pt, least_pt or size_pt, values.pop("lines"), values.pop("trim"))
    return TextField(parts=values.pop("text"), style=style, **values)


def _values(found: object, form: Table, wrongs: Wrongs, place: Place, beside: tuple[str, ...] = ()) -> Values:
    """The values of one table by its form; wrong keys are recorded and left out."""
    if not isinstance(found, dict):
        wrongs.append((place, Wrong("", "is missing or not a table", f"write [{place.table}] with its keys below")))
        return {}
    for key in found.keys() - form.keys() - set(beside):
        known = (*form, *beside)
        near = get_close_matches(key, known, n=1)
        hint = f"did you mean '{near[0]}'? " if near else ""
        remedy = f"{hint}choose from: {', '.join(known)}"
        wrongs.append((place._replace(key=key), Wrong("", "is not a key of this table", remedy)))
    values: Values = {}
    for key, (check, default) in form.items():
        if key not in found and default is REQUIRED:
            wrongs.append((place._replace(key=key), Wrong("", "is missing", "add it")))
            continue
        try:
            values[key] = check(found[key]) if key in found else default
        except Wrong as wrong:
            wrongs.append((place._replace(key=key), wrong))
    return values


def _tables(document: Values, name: str, form: Table, wrongs: Wrongs) -> list[Values]:
    found = document.get(name, [])
    if not isinstance(found, list):
        wrongs.append((Place(name), Wrong("", "is a single table instead of a list", f"write [[{name}]]")))
        return []
    return [_values(each, form, wrongs, Place(name, nth)) for nth, each in enumerate(found, 1)]


def _media(found: object, wrongs: Wrongs) -> Media | None:
    made = Sheet if isinstance(found, dict) and found.get("form") == "sheet" else Roll
    before = len(wrongs)
    values = _values(found, SHEET if made is Sheet else ROLL, wrongs, Place("media"))
    values.pop("form", None)
    return None if len(wrongs) > before else made(**values)
