"""GS1 Digital Link: the same keys and values as a web address, for phones.

`https://id.gs1.org/01/09521234005674/10/L26-118?11=261105`: a primary key and its qualifiers in the
path, everything else behind the question mark. Addresses of any host are read, also with a path of
their own before the key; compressed ones are not.

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

__all__ = ["checked_resolver", "is_link", "link_of", "read_link"]

_LINK = re.compile(r"https?://([^/?#\s]+)(/[^?#\s]*)?(\?[^#\s]*)?(#\S*)?", re.IGNORECASE)
_RESOLVER = re.compile(r"https?://[A-Za-z0-9.-]+(:\d+)?(/[A-Za-z0-9._~-]+)*")
_PLAIN = re.compile(r"[^A-Za-z0-9._~-]")
_ESCAPED = re.compile(r"%([0-9A-Fa-f]{2})")


def is_link(text: str) -> bool:
    """Whether a text is a web address."""
    return _LINK.fullmatch(text) is not None


def checked_resolver(text: str) -> str:
    """The beginning of every link of a house: a host, perhaps with a path.

    Raises:
        Malformed: anything else.
    """
    if not _RESOLVER.fullmatch(text):
        raise Malformed(f"'{text}' cannot begin a link", "write it like https://id.gs1.org, no stroke at its end")
    return text


def read_link(text: str) -> tuple[Element, ...]:
    """The elements in a web address; none when it is no GS1 Digital Link.

    Raises:
        Malformed: a value in it cannot be.
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
    return tuple(made(ai, _filled(ai, value)) for ai, value in (*path, *_attributes(match[3] or "")))


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


def _attributes(query: str) -> list[tuple[str, str]]:
    pairs = (word.partition("=")[::2] for word in re.split("[&;]", query.removeprefix("?")))
    return [(ai, _unescaped(value)) for ai, value in pairs if named(ai)]


def _filled(ai: str, value: str) -> str:
    """Links may carry a GTIN without the zeros before it."""
    return value.zfill(14) if ai == "01" and len(value) in (8, 12, 13) else value


def link_of(elements: Iterable[Element], resolver: str) -> str:
    """The web address of elements.

    Args:
        elements: among them one primary key, the first one that is.
        resolver: where the link points, without a stroke at its end.

    Raises:
        Malformed: there is no primary key among them.
    """
    known = dict(elements)
    key = next((ai for ai in known if _is_key(ai)), None)
    if key is None:
        raise Malformed("no key that a link could begin with", "give a GTIN or an SSCC")
    path = max(_ways(key), key=lambda way: len(known.keys() & set(way)))
    in_path = [key, *(ai for ai in path if ai in known)]
    written = "".join(f"/{ai}/{_escaped(known[ai])}" for ai in in_path)
    rest = "&".join(f"{ai}={_escaped(value)}" for ai, value in known.items() if ai not in in_path)
    return f"{resolver}{written}{'?' if rest else ''}{rest}"


def _is_key(ai: str) -> bool:
    rule = named(ai)
    return rule is not None and rule.qualifiers is not None


def _ways(key: str) -> tuple[tuple[str, ...], ...]:
    rule = named(key)
    return (rule.qualifiers if rule else None) or ((),)


def _escaped(value: str) -> str:
    return _PLAIN.sub(lambda found: f"%{ord(found[0]):02X}", value)


def _unescaped(value: str) -> str:
    return _ESCAPED.sub(lambda found: chr(int(found[1], 16)), value)
