"""GS1 Digital Link: the same keys and values as a web address, for phones.

`https://id.gs1.org/01/09521234005674/10/L26-118?11=261105`: a primary key and its qualifiers in the
path, everything else after the question mark. Any host is read, also with a path of its own before
the key; compressed links are not.

>>> elements = read_link("https://example.com/shop/01/09521234005674/10/L26-118?11=261105&lang=pl")
>>> [element.ai for element in elements]
['01', '10', '11']
>>> link_of(elements, "https://id.gs1.org")
'https://id.gs1.org/01/09521234005674/10/L26-118?11=261105'
>>> read_link("https://example.com/about/us")
()
"""

import re
from collections.abc import Iterable, Sequence
from itertools import pairwise

from pourbook.codes.application_identifiers import Rule, named
from pourbook.codes.gs1 import Element, made
from pourbook.errors import Malformed

__all__ = ["checked_resolver", "is_link", "item_address", "item_addressed", "link_of", "read_link"]

_LINK = re.compile(r"https?://([^/?#\s]+)(/[^?#\s]*)?(\?[^#\s]*)?(#\S*)?", re.IGNORECASE)
_ITEM = re.compile(r"https?://[^/?#\s]+/item/([^/?#\s]+)/?([?#]\S*)?", re.IGNORECASE)
_RESOLVER = re.compile(r"https?://[A-Za-z0-9.-]+(:\d+)?(/[A-Za-z0-9._~-]+)*")
_PLAIN = re.compile(r"[^A-Za-z0-9._~-]")
_ESCAPED = re.compile(r"%([0-9A-Fa-f]{2})")


def is_link(text: str) -> bool:
    """Whether a text is a web address."""
    return _LINK.fullmatch(text) is not None


def checked_resolver(text: str) -> str:
    """The beginning of every link of a house: a host, perhaps with a path; else `Malformed`."""
    if not _RESOLVER.fullmatch(text):
        raise Malformed(f"'{text}' cannot begin a link", "write it like https://id.gs1.org, without a trailing slash")
    return text


def item_address(station: str, identifier: str) -> str:
    """The lasting address of an item at a house's station.

    >>> item_address("https://station.quillmere.example", "C000123Y")
    'https://station.quillmere.example/item/C000123Y'
    """
    return f"{station}/item/{identifier}"


def item_addressed(text: str) -> str:
    """What a web address names as an item, whatever its host, since a station may move; empty where it names none.

    >>> item_addressed("http://192.168.1.40:8321/item/C%2D000123%2DY?from=paper")
    'C-000123-Y'
    """
    found = _ITEM.fullmatch(text)
    return _unescaped(found[1]) if found else ""


def read_link(text: str) -> tuple[Element, ...]:
    """The elements in a web address; none when it is no GS1 Digital Link.

    Raises:
        Malformed: it holds an impossible value.
        Mistyped: a check digit does not agree.
    """
    match = _LINK.fullmatch(text)
    if match is None:
        return ()
    segments = [_unescaped(segment) for segment in (match[2] or "").strip("/").split("/")]
    key = _key_at(segments)
    if key is None:
        return ()
    path = zip(segments[key::2], segments[key + 1 :: 2], strict=True)
    pairs = (word.partition("=")[::2] for word in re.split("[&;]", (match[3] or "").removeprefix("?")))
    attributes = ((ai, _unescaped(value)) for ai, value in pairs if named(ai))
    return tuple(made(ai, _filled(ai, value)) for ai, value in (*path, *attributes))


def _key_at(segments: Sequence[str]) -> int | None:
    """Where the primary key stands: the rest are pairs of its own qualifiers, in their order."""
    for start in range(len(segments) % 2, len(segments), 2):
        rule = named(segments[start])
        if rule and _qualified(rule, segments[start + 2 :: 2]):
            return start
    return None


def _qualified(rule: Rule, found: Sequence[str]) -> bool:
    """Whether these qualifiers may follow a key, in this order."""
    return any(
        set(found) <= set(way) and all(way.index(one) < way.index(other) for one, other in pairwise(found))
        for way in rule.qualifiers or ()
    )


def _filled(ai: str, value: str) -> str:
    """Links may carry a GTIN without its leading zeros."""
    return value.zfill(14) if ai == "01" and len(value) in (8, 12, 13) else value


def link_of(elements: Iterable[Element], resolver: str) -> str:
    """The web address of elements, led by the first primary key among them; without one it is `Malformed`.

    `resolver` is where the link points, without a trailing slash.
    """
    known = dict(elements)
    key = next((ai for ai in known if _ways(ai) is not None), None)
    if key is None:
        raise Malformed("a link must begin with a key", "give a GTIN or an SSCC")
    path = max(_ways(key) or ((),), key=lambda way: len(known.keys() & set(way)))
    in_path = [key, *(ai for ai in path if ai in known)]
    written = "".join(f"/{ai}/{_escaped(known[ai])}" for ai in in_path)
    rest = "&".join(f"{ai}={_escaped(value)}" for ai, value in known.items() if ai not in in_path)
    return f"{resolver}{written}{'?' if rest else ''}{rest}"


def _ways(key: str) -> tuple[tuple[str, ...], ...] | None:
    rule = named(key)
    return rule.qualifiers if rule else None


def _escaped(value: str) -> str:
    return _PLAIN.sub(lambda found: f"%{ord(found[0]):02X}", value)


def _unescaped(value: str) -> str:
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), value)
