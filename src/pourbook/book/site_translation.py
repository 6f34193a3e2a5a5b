"""An entry of a site as the group has it: a pure function of that entry and of what all sites' journals say together.

Numbers of entries become the group's, wherever a body names one. An identifier or a name that an earlier site has too
becomes one of its own, and every item gets the fact `site`. Settings are those of the first site: others keep theirs
under `settings_there`. A despatch to a site fills a consignment and a receipt empties it; the rest is what the site
recorded.

>>> hold = {"kind": "hold", "number": 12, "happened": "2026-05-01T00:00:00Z", "who": "M. Aldane",
...     "body": {"item": "C000001H", "held": 1, "recall": 9}}
>>> there = translated(hold, Site(2, "Loch End"), Together())
>>> there["number"], there["body"]["recall"], there["site"], there["site_number"]
(12002, 9002, 'Loch End', 12)
"""

from collections.abc import Mapping
from typing import Any, NamedTuple

from pourbook.book.consignments import Consignment
from pourbook.book.site_numbers import group_number
from pourbook.liquid import Liquid
from pourbook.times import written

__all__ = ["NAMING", "Renamed", "Site", "Together", "of_consignments", "translated"]

_Entry = dict[str, Any]

_REFERENCES = {"void": ("entry",), "hold": ("recall", "tasting"), "release": ("recall",)}
"""Kind to the members of its body that hold the number of an entry."""

_IN_A_PAPER = ("recall", "entries")
"""Likewise of the facts of a paper."""

NAMING = {"recipe": "name", "component": "name", "session": "name", "blending": "name", "stocktake": "name"}
"""Kind to the member that gives something a name which other entries use."""

_NAMED = frozenset((
    "name", "revised_from", "component", "stands_for", "session", "stocktake", "follows", "plan", "blending", "chosen",
))  # fmt: skip
"""Members, of bodies and of facts, that hold such a name."""


_OF_A_SITE = ("site", "numbers")


class Site(NamedTuple):
    """A site by its code in the group, and its name."""

    code: int
    name: str


class Renamed(NamedTuple):
    """Identifiers and names of a site that an earlier site has too, to those they have in the group."""

    ids: Mapping[str, str] = {}
    names: Mapping[str, str] = {}


class Together(NamedTuple):
    """What all sites' journals say together, as far as it changes an entry.

    Attributes:
        renamed: by code of the site.
        opening: number of an entry to the consignments it is the first despatch of, with their facts.
        sent: (entry, line) to the consignment that the line fills.
        received: (entry, line) to the consignment that it empties, what that is gauged to just before (None
            for no gauge), and whether it takes all.
        moments: number of an entry to the moment that it has in the group, where that is not the site's own.
        overdrawn: (entry, line) that take more than is there once all is put together.
    """

    renamed: Mapping[int, Renamed] = {}
    opening: Mapping[int, tuple[tuple[str, Mapping[str, str]], ...]] = {}
    sent: Mapping[tuple[int, int], str] = {}
    received: Mapping[tuple[int, int], tuple[str, Liquid | None, bool]] = {}
    moments: Mapping[int, int] = {}
    overdrawn: frozenset[tuple[int, int]] = frozenset()


def of_consignments(consignments: tuple[Consignment, ...], names: Mapping[int, str]) -> Together:
    """What consignments change in entries; `names` are those of the sites, by code."""
    opening: dict[int, tuple[tuple[str, Mapping[str, str]], ...]] = {}
    sent: dict[tuple[int, int], str] = {}
    received: dict[tuple[int, int], tuple[str, Liquid | None, bool]] = {}
    for one in consignments:
        first = one.despatches[0]
        ends = {"site": names[first.site], "to_site": names[first.other]}
        facts = {"ref": first.document, "name": f"{names[first.site]} to {names[first.other]}", **ends}
        opening[first.entry] = (*opening.get(first.entry, ()), (one.id, facts))
        sent |= {(leg.entry, leg.line): one.id for leg in one.despatches}
        for delivery in one.deliveries:
            last = len(delivery.receipts) - 1
            for place, leg in enumerate(delivery.receipts):
                gauged = None if place else delivery.liquid
                received[leg.entry, leg.line] = (one.id, gauged, place == last)
    return Together(opening=opening, sent=sent, received=received)


def translated(entry: Mapping[str, Any], site: Site, together: Together) -> _Entry:
    """The entry as the group has it."""
    number, kind = group_number(entry["number"], site.code), entry["kind"]
    new = together.renamed.get(site.code)
    body = _referring(kind, _renamed(entry["body"], new) if new else entry["body"], site.code)
    if kind == "pour":
        body = _poured(body, number, together)
    elif kind == "item":
        body = {**body, "facts": {**body["facts"], "site": site.name}}
    elif kind == "house":
        body = _settled(body["settings"], site.code)
    found = {**entry, "number": number, "body": body, "site": site.name, "site_number": entry["number"]}
    if "replaces" in entry:
        found["replaces"] = group_number(entry["replaces"], site.code)
    if number in together.moments:
        found |= {"happened": written(together.moments[number]), "happened_there": entry["happened"]}
    return found


def _renamed(value: Any, new: Renamed, under: str = "") -> Any:  # noqa: ANN401 (whatever JSON can hold)
    """A body with its identifiers, and with names where a name can stand, as the group has them."""
    if isinstance(value, str):
        return new.ids.get(value) or (new.names.get(value) if under in _NAMED else None) or value
    if isinstance(value, dict):
        return {name: _renamed(inner, new, name) for name, inner in value.items()}
    return [_renamed(inner, new, under) for inner in value] if isinstance(value, list) else value


def _referring(kind: str, body: _Entry, code: int) -> _Entry:
    """A body with the numbers of other entries as the group has them."""
    if kind == "paper":
        facts = {
            name: group_number(value, code) if name in _IN_A_PAPER and isinstance(value, int) else value
            for name, value in body["facts"].items()
        }
        return {**body, "facts": facts}
    names = _REFERENCES.get(kind, ())
    return {name: group_number(value, code) if name in names else value for name, value in body.items()}


def _poured(body: _Entry, number: int, together: Together) -> _Entry:
    code = number % 1000
    lines = [
        _line({**line, "recall": group_number(line["recall"], code)} if "recall" in line else line, number, i, together)
        for i, line in enumerate(body["lines"])
    ]
    opens = [{"item": item, "facts": dict(facts)} for item, facts in together.opening.get(number, ())]
    return {**body, "lines": lines, **({"opens": opens} if opens else {})}


def _settled(settings: Mapping[str, str], code: int) -> _Entry:
    """Settings of the first site are the group's, but for its name and its numbers; the rest stays the site's own."""
    ours = {name: value for name, value in settings.items() if code == 1 and name not in _OF_A_SITE}
    there = {name: value for name, value in settings.items() if name not in ours}
    return {"settings": ours} | ({"settings_there": there} if there else {})


def _line(line: _Entry, number: int, index: int, together: Together) -> _Entry:
    at = number, index
    if at in together.overdrawn:
        line = {**line, "beyond": 1, "overdrawn": 1}
    if at in together.sent:
        return {**line, "to": together.sent[at]}
    if at in together.received:
        consignment, gauged, is_last = together.received[at]
        line = {**line, "from": consignment}
        return line | ({"gauged": list(gauged)} if gauged else {}) | ({"all": 1} if is_last else {})
    return line
