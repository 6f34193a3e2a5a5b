"""What is under suspicion, in words for a screen and a paper.

>>> from pourbook.times import house_zone
>>> in_words(Suspect("water", "Spring 4", 0), {}, house_zone("UTC"))
"water 'Spring 4', from 1970-01-01 00:00"
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from pourbook.book.recall_scope import Suspect
from pourbook.book.trade_numbers import Unit
from pourbook.codes.gs1 import sscc_ranges
from pourbook.codes.identifiers import hyphened, kind_of, read
from pourbook.errors import PourbookError
from pourbook.times import minute

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.queries.recalls.recalls import Times

__all__ = ["NO_CONTACT", "SIDES", "in_words", "taken", "target_words", "time_words", "units_words"]

NO_CONTACT = "no contact on record"
"""Where nobody stated whom to call."""

SIDES = {
    "from_outside": "received from outside",
    "from_unaffected": "from unaffected liquid",
    "transfer_in": "transfer in",
    "gained": "gained: gauges, transfers",
    "returned": "returned by customers",
    "on_hand": "on hand",
    "internal_transfer": "transfer out",
    "to_unaffected": "left before, or below the threshold",
    "despatched": "despatched",
    "lost": "lost: losses, gauges, transfers",
}
"""Sides of a balance in the words of the trade."""

_TOUCHED = {"instrument": "all gauged with ", "person": "all poured by ", "place": "all that lay at "}


def in_words(suspect: Suspect, names: Mapping[str, str], zone: "tzinfo") -> str:
    """One suspect, with its window in house time; `names` are of items, instruments …, by identifier."""
    ends = {"from": suspect.from_us, "until": suspect.to_us}
    window = "".join(f", {word} {minute(end, zone)}" for word, end in ends.items() if end is not None)
    return _TOUCHED.get(suspect.kind, "") + _subject(suspect, names) + window


def _subject(suspect: Suspect, names: Mapping[str, str]) -> str:
    if suspect.kind == "time":
        return "every pour"
    try:
        identifier = read(suspect.name)
    except PourbookError:
        identifier = None
    if identifier is None:
        word = "" if suspect.kind in _TOUCHED else f"{suspect.kind.replace('_', ' ')} "
        return f"{word}entry {suspect.name}" if suspect.is_entry else f"{word}'{suspect.name}'"
    name = names.get(identifier, "")
    return f"{kind_of(identifier)} {hyphened(identifier)}{f' ({name})' if name else ''}"


def taken(microseconds: int) -> str:
    """A time taken, in words.

    >>> taken(3_725_400_000), taken(2_340_000)
    ('1 h 2 min 5 s', '2.34 s')
    """
    seconds = microseconds / 1e6
    if seconds < 60:
        return f"{seconds:.2f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return (f"{hours} h " if hours else "") + f"{minutes} min {rest} s"


def time_words(times: "Times", zone: "tzinfo") -> str:
    """How long a recall took, from the first suspicion where somebody stated it."""
    since = "its beginning" if times.suspected_us is None else "the first suspicion"
    said = f"from {since} ({minute(times.start_us, zone)}): all found in {taken(times.to_found_us)}"
    return said if times.to_held_us is None else f"{said}, all on hold in {taken(times.to_held_us)}"


def target_words(times: "Times") -> str:
    """Whether a recall was done within the hours of its target; empty without one."""
    return f"{times.within_h} h: {'met' if times.is_within else 'not met'}" if times.within_h else ""


def units_words(units: Sequence[Unit]) -> str:
    """Cases and pallets by their serial numbers; consecutive ones as a range."""
    of_kind = {kind: [unit.sscc for unit in units if unit.unit == kind] for kind in ("case", "pallet")}
    return ", ".join(f"{kind} {numbers}" for kind, ssccs in of_kind.items() for numbers in sscc_ranges(ssccs))
