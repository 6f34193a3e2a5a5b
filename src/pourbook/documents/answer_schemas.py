"""The JSON schemas of answers (draft 2020-12), as `pourbook schema` publishes them.

One file for each answer under `schemas/`; what several share is in `_shared.json` and goes into
each schema that refers to it, so that every one is whole by itself.

>>> schema_of("journal-hash")["required"]
['entries', 'journal_hash']
"""

import json
from pathlib import Path
from typing import Any

from pourbook.documents.shown import Shown
from pourbook.errors import Unknown

__all__ = ["answers", "schema_of", "schema_shown"]

_FOLDER = Path(__file__).parent / "schemas"


def answers() -> list[str]:
    """Names of all answers with a schema: a verb, or a verb with the option that makes another answer of it."""
    return sorted(path.stem for path in _FOLDER.glob("[!_]*.json"))


def schema_shown(answer: str | None) -> Shown:
    """The schema of an answer, or the names of all that have one.

    Raises:
        Unknown: it has none.
    """
    if answer is None:
        return Shown({"answers": answers()}, tuple(answers()))
    found = schema_of(answer)
    return Shown(found, tuple(json.dumps(found, ensure_ascii=False, indent=2).splitlines()))


def schema_of(answer: str) -> dict[str, Any]:
    """The schema of an answer.

    Raises:
        Unknown: it has none.
    """
    if answer not in answers():
        raise Unknown(f"'{answer}' has no schema", f"choose one of: {', '.join(answers())}")
    own: dict[str, Any] = json.loads((_FOLDER / f"{answer}.json").read_text("utf-8"))
    shared = json.loads((_FOLDER / "_shared.json").read_text("utf-8"))
    found: dict[str, Any] = {}
    while more := {name: shared[name] for name in shared.keys() - found.keys() if _refers([own, found], name)}:
        found |= more
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **own, "$defs": found}


def _refers(schema: object, name: str) -> bool:
    return f'"#/$defs/{name}"' in json.dumps(schema)
