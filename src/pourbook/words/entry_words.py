"""An entry of the journal in words: in one line for a list, with all its lines for a paper or a table.

>>> entry = {"body": {"held": 0, "item": "C000001H"}, "reason": "laboratory: clean"}
>>> in_words(Logged(12, "hold", 0, 0, entry, ""))
'release C-000001-H; laboratory: clean'
>>> leak = {"from": "C000001H", "to": "loss", "mass": 250_000, "facts": {"disposition": "leak"}}
>>> line_in_words(leak, refs={"C000001H": "Row 3/12"})
'250.00 g from C-000001-H (Row 3/12) into loss; disposition leak'
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

from pourbook.book.journal import Logged, lines_of
from pourbook.book.kinds import KIND_OF_NAME, about, amount_of_line
from pourbook.codes.identifiers import hyphened, named, readable
from pourbook.signing.fingerprints import in_groups

__all__ = ["in_words", "line_in_words", "lines_in_words", "second_in_words", "who_in_words"]

_SHORT = 16
_Refs = Mapping[str, str]
_NO_REFS: _Refs = MappingProxyType({})


def in_words(entry: Logged, mark: str = ".") -> str:
    """What an entry says, in one line; masses that nobody typed are written with this decimal mark."""
    recorded = entry.entry
    said = KIND_OF_NAME[entry.kind].words(recorded["body"], mark)
    place = f"in place of {recorded['replaces']}" if "replaces" in recorded else ""
    second = second_in_words(recorded["body"])
    return "; ".join(part for part in (said, place, second, recorded.get("reason", "")) if part)


def second_in_words(body: Mapping[str, Any]) -> str:
    """The second person of an entry, and how they agreed; empty where it has none.

    >>> second_in_words({"second": "Isla Farrow", "second_account": 1})
    'second person Isla Farrow, signed in at the station'
    """
    if "second" not in body:
        return ""
    key = body.get("second_key", "")
    how = f"by key {in_groups(key[:_SHORT])}" if key else "signed in at the station"
    return f"second person {readable(body['second'])}, {how}"


def who_in_words(entry: Mapping[str, Any]) -> str:
    """Who recorded an entry, and under which login name where that is another."""
    who, login = (readable(entry.get(name, "")) for name in ("who", "login"))
    return f"{who} ({login})" if login not in ("", who) else who


def lines_in_words(entry: Logged, mark: str = ".", refs: _Refs = _NO_REFS) -> tuple[str, ...]:
    """All that an entry says, a text for each line of a pour; items also by their refs, as far as `refs` has them."""
    body = entry.entry["body"]
    if entry.kind == "pour":
        return tuple(f"{body['verb']}: {line_in_words(line, mark, refs, body['verb'])}" for line in lines_of(body))
    said, item = KIND_OF_NAME[entry.kind].words(body, mark), body.get("item", "")
    ref = refs.get(item, "")
    is_told = not ref or f"ref {ref}" in said
    return (said if is_told else said.replace(hyphened(item), f"{hyphened(item)} ({ref})", 1),)


def line_in_words(line: Mapping[str, Any], mark: str = ".", refs: _Refs = _NO_REFS, verb: str = "") -> str:
    """A line of a pour: how much, from where into what, and what was said of it; what its `verb` says is left out."""
    ends = (f"{named(end)} ({refs[end]})" if refs.get(end) else named(end) for end in (line["from"], line["to"]))
    words = (f"{word} {end}" for word, end in zip(("from", "into"), ends, strict=True) if end != verb)
    facts = {name: value for name, value in line.get("facts", {}).items() if name != "bottles"}
    recall = f"work of recall {line['recall']}" if "recall" in line else ""
    said = " ".join((amount_of_line(line, mark), *words))
    return "; ".join(part for part in (said, about(facts), recall) if part)
