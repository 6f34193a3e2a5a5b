"""An EPCIS 2.0 document read: JSON-LD into events, every fault listed by event and JSON path.

Events that were declared erroneous are read and then left out.

>>> faults = Faults()
>>> read_document("tanker.jsonld", b'{"type": "EPCISDocument", "epcisBody": []}', faults, now_us=0)
Document(sender='', events=(), withdrawn=())
>>> faults.check("document")
Traceback (most recent call last):
    ...
pourbook.errors.FaultsFound: 4 faults found in the document: nothing was recorded
"""

import json
import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Any, NamedTuple, NoReturn

from pourbook.errors import Malformed
from pourbook.exchange.epcis.epcis_event import Event, EventReader, Place
from pourbook.exchange.tables.columns import Faults

__all__ = ["MOST_DEPTH", "Document", "depth", "read_document"]

MOST_DEPTH = 64
"""Brackets within brackets: an event with all that EPCIS 2.0 has for it stands some ten deep."""


class Document(NamedTuple):
    """Its sender, the events that count in the order they happened, and the shipping events withdrawn as errors."""

    sender: str
    events: tuple[Event, ...]
    withdrawn: tuple[Event, ...]


def read_document(file: str, content: bytes, faults: Faults, now_us: int) -> Document:
    """The events of a document; those with faults, which are listed, are left out.

    Raises:
        Malformed: it is not JSON.
    """
    document = _parsed(file, content)
    namespaces = _namespaces(document.get("@context")) if isinstance(document, dict) else {}
    raw = _events(Place(file, faults), document)
    reader = EventReader(file, faults, now_us, namespaces)
    found = [event for index, one in enumerate(raw) if (event := reader.event(index, one))]
    _check_once(file, faults, raw)
    wrong = {one["eventID"] for one in raw if isinstance(one, dict) and "errorDeclaration" in one and "eventID" in one}
    declared = {number for number, one in enumerate(raw, 1) if isinstance(one, dict) and "errorDeclaration" in one}
    counting = [event for event in found if event.number not in declared and not (event.id and event.id in wrong)]
    withdrawn = tuple(event for event in found if event not in counting and event.step == "shipping")
    sender = document.get("sender", "") if isinstance(document, dict) else ""
    return Document(str(sender), tuple(sorted(counting, key=lambda event: event.happened_us)), withdrawn)


def _parsed(file: str, content: bytes) -> Any:  # noqa: ANN401 (whatever JSON can hold)
    remedy = "ask the sender for EPCIS 2.0 in JSON-LD"
    try:
        if (deep := depth(content)) > MOST_DEPTH:
            raise Malformed(f"'{file}' is nested {deep} deep, and may be {MOST_DEPTH}", remedy)
        return json.loads(content.decode("utf-8-sig"), parse_float=Decimal, parse_constant=_no_number)
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise Malformed(f"'{file}' is not JSON: {error.msg} at {where}", remedy) from error
    except (ValueError, RecursionError) as error:
        what = "not UTF-8" if isinstance(error, UnicodeDecodeError) else str(error)
        raise Malformed(f"'{file}' is not JSON: {what}", remedy) from error


def depth(content: bytes) -> int:
    """How deep brackets stand within brackets, before anything is made of them.

    >>> depth(b'{"a": [[1], ["[[["]]}')
    3
    """
    deepest = now = 0
    for bracket in re.findall(rb"[\[\]{}]", re.sub(rb'"(?:[^"\\]|\\.)*"', b"", content)):
        now += 1 if bracket in b"[{" else -1
        deepest = max(deepest, now)
    return deepest


def _no_number(text: str) -> NoReturn:
    raise ValueError(f"{text} is not a number")


def _namespaces(context: object) -> dict[str, str]:
    parts = context if isinstance(context, list) else [context]
    return {
        prefix: uri for part in parts if isinstance(part, dict) for prefix, uri in part.items() if isinstance(uri, str)
    }


def _events(at: Place, document: object) -> list[Any]:
    if not isinstance(document, dict) or document.get("type") != "EPCISDocument":
        kind = document.get("type") if isinstance(document, dict) else document
        at.fault(".type", kind, "is not an EPCISDocument", "ask the sender for an EPCIS 2.0 document in JSON-LD")
        return []
    if str(document.get("schemaVersion")).split(".")[0] != "2":
        at.fault(".schemaVersion", document.get("schemaVersion"), "is not EPCIS 2", "ask the sender for version 2.0")
    if "@context" not in document:
        at.fault("['@context']", None, "is missing", "ask the sender for the JSON-LD context")
    if not isinstance(document.get("creationDate"), str):
        at.fault(".creationDate", document.get("creationDate"), "is not a time", "ask the sender")
    body = document.get("epcisBody")
    events = body.get("eventList") if isinstance(body, dict) else None
    if not isinstance(events, list):
        at.fault(".epcisBody.eventList", events, "is not a list of events", "ask the sender for the events")
        return []
    return events


def _check_once(file: str, faults: Faults, events: Iterable[Any]) -> None:
    """Each identifier stands for one event; only an event and its declaration of error share one."""
    first: dict[tuple[str, bool], int] = {}
    for index, one in enumerate(events):
        if isinstance(one, dict) and isinstance(one.get("eventID"), str):
            before = first.setdefault((one["eventID"], "errorDeclaration" in one), index)
            if before != index:
                problem = f"is also the identifier of event {before + 1}"
                Place(file, faults, index).fault(".eventID", one["eventID"], problem, "ask the sender which is right")
