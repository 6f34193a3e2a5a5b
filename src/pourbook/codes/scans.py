r"""Whatever a scanner sends, told apart: our identifiers, GS1 codes, web addresses.

One parser knows the symbology prefixes of ISO/IEC 15424 (`]C1`), FNC1 as the group separator or as one
of the stand-ins that scanners type for it, GTIN, SSCC and element strings with and without brackets, GS1
Digital Links, and the slips of keyboards that are certain. Nothing is guessed: a mistyped code or
several codes run together are queried or refused.

>>> parse("]C10109521234005674" "10L26-118")[:5]
('gs1', ']C1', '', '09521234005674', 'L26-118')
>>> parse("c-000123-y").id, parse("Cß000123ßZ").slip
('C000123Y', 'German keyboard layout')
>>> parse("C000123YV000001R")
Traceback (most recent call last):
    ...
pourbook.errors.Ambiguous: 'C000123YV000001R' is ambiguous: it holds 2 codes, C-000123-Y and V-000001-R
>>> parse("C000123Z")
Traceback (most recent call last):
    ...
pourbook.errors.Mistyped: 'C000123Z' is mistyped: its check character does not agree
>>> parse("Row 3/12").kind
'unknown'
"""

import re
from collections.abc import Callable
from typing import NamedTuple

from pourbook.codes.application_identifiers import starting
from pourbook.codes.digital_link import is_link, item_addressed, read_link
from pourbook.codes.gs1 import (
    GS,
    Element,
    as_gtin,
    checked_gtin,
    checked_sscc,
    read_bracketed,
    read_elements,
    shown_gtin,
)
from pourbook.codes.identifiers import KINDS, hyphened, read, read_or_none
from pourbook.codes.keyboards import retyped, swapped
from pourbook.errors import Ambiguous, Malformed, Mistyped, PourbookError
from pourbook.texts import briefly

__all__ = ["MOST_SCANNED", "Scan", "described", "goods_words", "parse"]

MOST_SCANNED = 4_296
"""Characters of a scan: what the largest QR Code (version 40, level L) holds in letters and digits."""

_MOST_NAMED = 10
"""Codes run together that are named one by one."""


class Scan(NamedTuple):
    """What a scan says.

    Attributes:
        kind: `id`, `gs1`, `link`, `journal hash` (of a paper) or `unknown`.
        symbology: the prefix of ISO/IEC 15424 that came with it, or empty.
        id: our identifier in it, or empty.
        gtin: 14 digits, or empty; of a logistic unit, what it contains.
        lot: the lot number, or empty.
        sscc: 18 digits, or empty.
        elements: the GS1 elements in their order.
        slip: what was corrected in the text, or empty.
        text: the text as it was understood.
    """

    kind: str
    symbology: str = ""
    id: str = ""
    gtin: str = ""
    lot: str = ""
    sscc: str = ""
    elements: tuple[Element, ...] = ()
    slip: str = ""
    text: str = ""


_PREFIX = re.compile(r"\][A-Za-z][0-9A-Za-z]")
_GS1_PREFIXES = frozenset(("]C1", "]d2", "]Q3", "]e0", "]J1"))
_RETAIL_PREFIXES = frozenset(("]E0", "]E4"))
_MOST_RETAIL = 13
_OF_CAPS_LOCK = {prefix.swapcase(): prefix for prefix in _GS1_PREFIXES}
# Separators as scanners and wedges type them; none of the single ones can stand in a GS1 value.
_STAND_INS = re.compile(
    r"\u241d|\u2194|<(?:GS|FNC1)>|\{(?:GS|FNC1)\}|\[(?:GS|FNC1)\]|\\x1d|\\u001d|\^\]|[~|^]", re.IGNORECASE
)
_LOOK_ALIKE = "look-alike characters"
_NOISE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1c\x1e\x1f\ufeff]")
_BORDER = re.compile(r"[\r\n\t]+|(?<=.)(?=\][A-Za-z][0-9])|(?<=.)(?<!\][A-Za-z][0-9])(?=https?://)", re.IGNORECASE)
_KINDS = "".join(KINDS.values())
_LOOSE = re.compile(rf"([{_KINDS}])([-/'?)=+*_.: ]?)([0-9OIL]{{6,12}})\2([0-9A-Z])")
_LETTERS_FOR_DIGITS = str.maketrans("OIL", "011")
_ONE = re.compile(rf"[{_KINDS}]\d{{6,12}}[0-9A-Z]|00\d{{18}}|01\d{{14}}|\d{{13}}", re.IGNORECASE)
_IDENTIFIER = re.compile(rf"[{_KINDS}]\d{{6}}[0-9A-Z]", re.IGNORECASE)
_SEVERAL = re.compile(rf"({_IDENTIFIER.pattern}){{2,}}", re.IGNORECASE)
_BETWEEN = re.compile(r"[\s,;-]+")


def parse(text: str) -> Scan:
    """What a scanned or typed text says.

    Raises:
        Malformed: nothing at all, more than a symbol holds, or a malformed GS1 code.
        Mistyped: a check character or digit does not agree; the remedy asks where another keyboard explains it.
        Ambiguous: several codes run together; the message names them.
    """
    if len(text) > MOST_SCANNED:
        raise Malformed(
            f"{len(text)} characters were scanned; no code has more than {MOST_SCANNED}",
            "scan one label at a time, and look whether the scanner repeats",
        )
    cleaned = _NOISE.sub("", text).strip(" \t\r\n\u00a0")  # and not the separator, which is white to Python
    if not cleaned.strip(GS):
        raise Malformed("nothing was scanned", "scan it again, nearer and steadier")
    pieces = [piece for piece in _BORDER.split(cleaned) if piece.strip()]
    if len(pieces) > 1:
        return _only_one(cleaned, pieces)
    found = _recognised(cleaned)
    if found:
        return found
    pieces = _run_together(cleaned)
    if len(pieces) > 1:
        return _only_one(cleaned, pieces)
    symbology, body = _split(cleaned)
    return Scan("unknown", symbology, text=body)


def _recognised(text: str) -> Scan | None:
    """One code, if it is one; a certain slip of the keyboard is corrected."""
    for layout, meant in retyped(text):
        try:
            found = _code(meant)
        except Malformed:
            continue
        if found:
            return found._replace(slip=layout)
    return _code(text)


def _code(text: str) -> Scan | None:
    symbology, body = _split(text)
    if symbology in _OF_CAPS_LOCK and (symbology not in _RETAIL_PREFIXES or len(body) > _MOST_RETAIL):
        found = _code(text.swapcase())
        return found._replace(slip="caps lock") if found else None
    if symbology in _GS1_PREFIXES:
        return _of_elements(read_elements(_separated(body)), symbology, body)
    if symbology in _RETAIL_PREFIXES:
        return Scan("gs1", symbology, gtin=checked_gtin(body), text=body)
    for reader in _READERS:
        if found := reader(body):
            return found._replace(symbology=symbology, text=found.text or body)
    return None


def _split(text: str) -> tuple[str, str]:
    """The symbology prefix, which may be empty, and the rest."""
    prefix = _PREFIX.match(text)
    return (prefix[0], text[3:]) if prefix else ("", text)


# -- readers: each gives what it recognises, or None, or refuses what is certainly meant for it ------


def _identifier(text: str) -> Scan | None:
    try:
        identifier = read(text)
    except Mistyped as refusal:
        try:
            identifier = _loosely(text)
        except Mistyped:
            raise _asked(text, refusal) from None
        return Scan("id", id=identifier or "", slip=_LOOK_ALIKE, text=text)
    if identifier:
        return Scan("id", id=identifier, text=text)
    identifier = _loosely(text)
    return Scan("id", id=identifier, slip=_LOOK_ALIKE, text=text) if identifier else None


def _loosely(text: str) -> str | None:
    """An identifier with another character for the hyphen, or letters for digits (O, I and L are never issued)."""
    loose = _LOOSE.fullmatch(text.strip().upper())
    if loose is None:
        return None
    letter, _, digits, check = loose.groups()
    return read(letter + digits.translate(_LETTERS_FOR_DIGITS) + check.translate(_LETTERS_FOR_DIGITS))


def _asked(text: str, refusal: Mistyped) -> Mistyped:
    """The refusal, with a question where swapped letters would explain it."""
    for other in swapped(text.strip()):
        if meant := read_or_none(other):
            return Mistyped(
                refusal.message,
                f"does the keyboard swap letters? then {hyphened(meant)} was meant: compare it with the label",
            )
    return refusal


def _link(text: str) -> Scan | None:
    if not is_link(text):
        return None
    if addressed := item_addressed(text):
        return Scan("link", id=read(addressed) or "", text=text)  # a mistyped one is refused as one
    found = _of_elements(read_link(text), "", text)
    inside = re.split("[/?#]", text)
    return found._replace(kind="link", id=found.id or next(filter(None, map(read_or_none, inside)), ""))


def _elements(text: str) -> Scan | None:
    """Elements in brackets; or without a prefix, led by a key with a check digit or with separators."""
    if re.match(r"\(\d{2,4}\)", text):
        return _of_elements(read_bracketed(text), "", text)
    body = _separated(text)
    rule = starting(body.lstrip(GS))
    if rule is None or not (rule.checked or GS in text):
        return None
    if len(body.lstrip(GS)) < len(rule.ai) + rule.parts[0].least:
        return None
    return _of_elements(read_elements(body), "", body)


def _bare_digits(text: str) -> Scan | None:
    """A GTIN or SSCC as digits alone; eight digits may also be a date or a number of the house."""
    digits = text.replace(" ", "")
    if not (digits.isascii() and digits.isdigit()):
        return None
    if len(digits) == 18:
        return Scan("gs1", sscc=checked_sscc(digits), text=digits)
    if len(digits) in (12, 13, 14) or as_gtin(digits):
        return Scan("gs1", gtin=checked_gtin(digits), text=digits)
    return None


_READERS: tuple[Callable[[str], Scan | None], ...] = (_identifier, _link, _bare_digits, _elements)


def _separated(text: str) -> str:
    return _STAND_INS.sub(GS, text)


def _of_elements(elements: tuple[Element, ...], symbology: str, text: str) -> Scan:
    known = dict(elements)
    own = (value for ai, value in elements if ai == "240" or ai[0] == "9")
    return Scan(
        "gs1",
        symbology,
        next(filter(None, map(read_or_none, own)), ""),
        known.get("01") or known.get("02", ""),
        known.get("10", ""),
        known.get("00", ""),
        elements,
        text=text,
    )


# -- several codes in one text -------------------------------------------------------------------


def _run_together(text: str) -> list[str]:
    """The codes that make up a text without remainder; empty when none do."""
    bare = _BETWEEN.sub("", text)
    found = _parted(bare)
    return found if found or not _SEVERAL.fullmatch(bare) else _IDENTIFIER.findall(bare)


def _parted(text: str) -> list[str]:
    """The codes of a text, the shortest first where there is a choice; empty when there are none.

    From the end, each place is looked at once: the time grows with the length of the text, and no more.
    """
    next_from: dict[int, int] = {len(text): len(text)}  # where the rest can be parted: the end of its first code
    for start in range(len(text) - 8, -1, -1):
        for end in range(start + 8, min(len(text), start + 20) + 1):
            if end in next_from and _ONE.fullmatch(text, start, end) and _reads(text[start:end]):
                next_from[start] = end
                break
    pieces: list[str] = []
    start = 0
    while start < len(text) and start in next_from:
        pieces.append(text[start : next_from[start]])
        start = next_from[start]
    return pieces


def _reads(text: str) -> bool:
    try:
        return _code(text) is not None
    except Malformed:
        return False


def _only_one(text: str, pieces: list[str]) -> Scan:
    """The code that all pieces are: one label scanned twice."""
    if len(set(pieces)) == 1:
        return parse(pieces[0])._replace(slip="scanned more than once")
    names, visible = [_name(piece) for piece in pieces[:_MOST_NAMED]], " ".join(text.replace(GS, "<GS>").split())
    others = len(pieces) - _MOST_NAMED
    *most, last = names if others <= 0 else (*names, f"{others} more")
    raise Ambiguous(
        f"'{briefly(visible)}' is ambiguous: it holds {len(pieces)} codes, {', '.join(most)} and {last}",
        "scan them one after the other",
    )


def _name(piece: str) -> str:
    try:
        return described(parse(piece))
    except PourbookError:
        return f"'{piece}'"


def described(scan: Scan) -> str:
    """A scan in a few words, as people read it.

    >>> described(parse("(01)09521234005674(10)L26-118"))
    'GTIN 9521234005674, lot L26-118'
    """
    said = (
        scan.id and hyphened(scan.id),
        scan.sscc and f"SSCC {scan.sscc}",
        scan.gtin and f"GTIN {shown_gtin(scan.gtin)}",
        scan.lot and f"lot {scan.lot}",
    )
    return ", ".join(filter(None, said)) or f"'{scan.text}'"


def goods_words(text: str) -> str:
    """Dry goods as typed; a GS1 code on their carton as its GTIN and lot.

    >>> goods_words("natural stopper, lot K-78"), goods_words("]C1010952123400567410K-78")
    ('natural stopper, lot K-78', 'GTIN 09521234005674, lot K-78')
    """
    try:
        found = parse(text)
    except PourbookError:
        return text  # somebody's own words
    words = (f"{name} {value}" for name, value in (("GTIN", found.gtin), ("lot", found.lot)) if value)
    return ", ".join(words) or text
