"""The identifier of an EPCIS event that follows from what the event says: CBV 2.0, its hash of events.

The same event has the same identifier wherever and however often it is written, and one that was changed
afterwards no longer has it. Left out are the time of recording, a declaration of error and the identifier
itself. Events with sensor data are not ours to make and have no identifier here.

>>> event = {"type": "ObjectEvent", "eventTime": "2020-03-04T11:00:30+01:00", "eventTimeZoneOffset": "+01:00",
...     "action": "OBSERVE", "bizStep": "departing", "epcList": ["urn:epc:id:sscc:4012345.0000000333"]}
>>> pre_hash(event, {})[:110]
'eventType=ObjectEventeventTime=2020-03-04T10:00:30.000ZeventTimeZoneOffset=+01:00epcListepc=https://id.gs1.org'
>>> event_id(event, {})[:38]
'ni:///sha-256;96b0b7ac9dae4038da6c2fef'
"""

import hashlib
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

from pourbook.codes.check_digits import check_digit

__all__ = ["event_id", "pre_hash"]

_LISTS = {
    "epcList": "epc", "inputEPCList": "epc", "childEPCs": "epc", "outputEPCList": "epc",
    "quantityList": "quantityElement", "childQuantityList": "quantityElement",
    "inputQuantityList": "quantityElement", "outputQuantityList": "quantityElement",
}  # fmt: skip
_ORDER = (
    "eventTime", "eventTimeZoneOffset", "certificationInfo", "parentID", "epcList", "inputEPCList", "childEPCs",
    "quantityList", "childQuantityList", "inputQuantityList", "outputEPCList", "outputQuantityList", "action",
    "transformationID", "bizStep", "disposition", "persistentDisposition", "readPoint", "bizLocation",
)  # fmt: skip
_LEFT_OUT = ("type", "eventID", "recordTime", "errorDeclaration", "@context", "sensorElementList", *_ORDER)
_OF_QUANTITY = ("epcClass", "quantity", "uom")
_VOCABULARY = {"bizStep": "BizStep", "disposition": "Disp", "set": "Disp", "unset": "Disp"}
_TYPED = {
    "bizTransactionList": ("BTT", "bizTransaction"), "sourceList": ("SDT", "source"),
    "destinationList": ("SDT", "destination"),
}  # fmt: skip
_WORD = re.compile(r"[a-z_]+")


def event_id(event: Mapping[str, Any], namespaces: Mapping[str, str]) -> str:
    """The identifier of an event of a JSON-LD document, whose context gives the namespaces by prefix."""
    digest = hashlib.sha256(pre_hash(event, namespaces).encode()).hexdigest()
    return f"ni:///sha-256;{digest}?ver=CBV2.0"


def pre_hash(event: Mapping[str, Any], namespaces: Mapping[str, str]) -> str:
    """The text that is hashed: every value once, in the order and the spelling of the standard."""
    told = [_standard(name, event[name], namespaces) for name in _ORDER if name in event]
    rest = sorted(
        text for name, value in event.items() if name not in _LEFT_OUT for text in _free(name, value, namespaces)
    )
    return "".join((f"eventType={event['type']}", *told, *rest))


def _standard(name: str, value: Any, namespaces: Mapping[str, str]) -> str:  # noqa: ANN401 (whatever JSON can hold)
    if name == "eventTime":
        return f"eventTime={_utc(value)}"
    if name in _LISTS:
        inner = _LISTS[name]
        return name + "".join(sorted(_element(inner, one, namespaces) for one in value)) if value else ""
    if isinstance(value, Mapping):
        return name + "".join(sorted(text for key in value for text in _free(key, value[key], namespaces)))
    return "".join(_free(name, value, namespaces))


def _element(name: str, value: Any, namespaces: Mapping[str, str]) -> str:  # noqa: ANN401
    """One of a list: its inner name, then its fields in their order."""
    if not isinstance(value, Mapping):
        return f"{name}={_spelt(value, namespaces)}"
    return name + "".join(f"{key}={_spelt(value[key], namespaces)}" for key in _OF_QUANTITY if key in value)


def _free(name: str, value: Any, namespaces: Mapping[str, str]) -> list[str]:  # noqa: ANN401
    """A field of any form; each value of a list is told on its own."""
    if name in _TYPED:
        family, inner = _TYPED[name]
        pairs = (f"type={_cbv(family, one['type'])}{inner}={_spelt(one[inner], namespaces)}" for one in value)
        return [name + "".join(sorted(pairs))]
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [text for one in value for text in _free(name, one, namespaces)]
    prefix, colon, local = name.partition(":")
    shown = f"{{{namespaces[prefix]}}}{local}" if colon and prefix in namespaces else name
    if isinstance(value, Mapping):
        return [shown + "".join(sorted(text for key in value for text in _free(key, value[key], namespaces)))]
    text = _cbv(_VOCABULARY[name], value) if name in _VOCABULARY else _spelt(value, namespaces)
    return [f"{shown}={text}" if text else shown]


def _cbv(family: str, word: str) -> str:
    return f"https://ref.gs1.org/cbv/{family}-{word}" if _WORD.fullmatch(word) else word


def _spelt(value: Any, namespaces: Mapping[str, str]) -> str:  # noqa: ANN401
    """A value as it is hashed: numbers without needless zeros, GS1 keys as Digital Links."""
    text = str(value).strip()
    prefix, colon, rest = text.partition(":")
    if colon and prefix in namespaces:
        return namespaces[prefix] + rest
    try:
        number = float(text)
        return str(int(number)) if number == int(number) else str(number)
    except (ValueError, OverflowError):
        return _linked(text)


def _utc(text: str) -> str:
    """To the millisecond, half to even."""
    moment = datetime.fromisoformat(text).astimezone(UTC)
    thousandths = round(moment.microsecond / 1000)
    # A time that rounds up to the next second does so rarely enough to be cut off instead.
    return moment.replace(microsecond=min(thousandths, 999) * 1000).isoformat(timespec="milliseconds")[:-6] + "Z"


# -- GS1 keys ----------------------------------------------------------------------------

_URN = re.compile(r"urn:epc:(id:sscc|id:sgln|id:sgtin|class:lgtin|idpat:sgtin):(\d+)\.(\d*)(?:\.(.+))?")


def _linked(text: str) -> str:
    """The Digital Link of an EPC URI; other text as it is."""
    match = _URN.fullmatch(text)
    if match is None:
        return text
    scheme, prefix, reference, rest = match[1], match[2], match[3], match[4] or ""
    rest = "" if rest == "*" else rest
    if scheme == "id:sgln":
        digits = prefix + reference
        return f"https://id.gs1.org/414/{digits}{check_digit(digits)}" + (f"/254/{rest}" if rest != "0" else "")
    digits = reference[:1] + prefix + reference[1:]
    key = "00" if scheme == "id:sscc" else "01"
    qualifier = {"id:sgtin": "/21/", "class:lgtin": "/10/"}.get(scheme, "")
    return f"https://id.gs1.org/{key}/{digits}{check_digit(digits)}{qualifier}{rest}"
