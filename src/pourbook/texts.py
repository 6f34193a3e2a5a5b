r"""Text from outside: characters that cannot stand in it, and how such text is shown all the same.

A control character moves the cursor of a terminal, ends a line of a table or turns the direction of reading, so that
something else is seen than what was recorded. What no face shows is written as its number.

>>> visible("bung \x1b[2J ok"), first_unprintable("L\u202e62")
('bung <U+001B>[2J ok', 'U+202E')
>>> briefly("5" * 4000, 40)
'55555555555555555555 … (4000 characters)'
>>> lookup_form(" Q  204") == lookup_form("q204"), lookup_form("Row 1 12"), lookup_form("Row 11 2")
(True, 'row1 12', 'row11 2')
"""

import json
import re
from json.encoder import encode_basestring

__all__ = [
    "MOST_SHOWN", "UNPRINTABLE", "briefly", "first_unprintable", "in_json", "indented", "lookup_form", "said",
    "shortened_references", "visible",
]  # fmt: skip

MOST_SHOWN = 300
"""Characters of a text typed or scanned that a refusal repeats."""

# Control characters (Unicode general category Cc), lone surrogates, noncharacters (The Unicode Standard, 23.7), line
# and paragraph separators, and the embeddings, overrides and isolates of bidirectional text (UAX #9, 2.1 to 2.4).
UNPRINTABLE = (
    "[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef"
    + "".join(chr(plane + last) for plane in range(0, 0x110000, 0x10000) for last in (0xFFFE, 0xFFFF))
    + "]"
)
"""One of them, as a regular expression."""

_UNPRINTABLE = re.compile(UNPRINTABLE)
_REFERENCE = re.compile(r"\bperson:([A-Z2-7]{6})[A-Z2-7]{20}\b")
"""What stands in the chain for a person's name, wherever nobody knows the name (any more)."""
_ABOVE_ASCII = re.compile(UNPRINTABLE.replace("\x00-\x1f", ""))
_SPACE = re.compile(r"(?<![0-9]) | (?![0-9])")
"""A space that does not keep two digits apart."""
_OTHER_NUMBERS = ("<super>", "<sub>", "<fraction>")
# No sentence of ours has such a word, nor so much between two of its quotation marks.
_LONG = re.compile(rf"'[^']{{1000,}}'|[^\s']{{{MOST_SHOWN},}}")


def first_unprintable(text: str) -> str:
    """The number of the first character that cannot stand in a text, as Unicode writes it; empty where all can."""
    if text.isascii() and text.isprintable():
        return ""
    found = _UNPRINTABLE.search(text)
    return f"U+{ord(found[0]):04X}" if found else ""


def visible(text: str) -> str:
    """The text with a visible mark for each character that cannot stand in one, and nobody by a whole reference."""
    text = shortened_references(text) if "person:" in text else text
    return _UNPRINTABLE.sub(lambda found: f"<U+{ord(found[0]):04X}>", text)


def shortened_references(text: str) -> str:
    """The text with what stands in the chain for a person who is unnamed as people read it.

    >>> shortened_references("recorded by Isla Farrow, person:5MEY674VAR57PXLPJVPTDYWWSC")
    'recorded by Isla Farrow, unnamed person 5MEY67'
    """
    return _REFERENCE.sub(r"unnamed person \1", text)


def in_json(document: str) -> str:
    """Text of a JSON document, the same said with an escape for each character above ASCII that cannot stand in a text.

    >>> in_json('{"note": "L\u202e62"}')
    '{"note": "L\\\\u202e62"}'
    """
    return _ABOVE_ASCII.sub(lambda found: _escaped(found[0]), document)


def indented(value: object, margin: str = "\n") -> str:
    """As `json.dumps(value, ensure_ascii=False, indent=2)`, which takes five times as long; `margin` begins a line.

    >>> print(indented({"parts": [1, 0.5], "name": "brûlé"}))
    {
      "parts": [
        1,
        0.5
      ],
      "name": "brûlé"
    }
    """
    inner = margin + "  "
    if isinstance(value, str):
        return encode_basestring(value)
    if isinstance(value, dict) and value:
        # `json` itself writes names that are no text, as numbers may be
        named = ((name if isinstance(name, str) else json.dumps(name), one) for name, one in value.items())
        members = (f"{encode_basestring(name)}: {indented(one, inner)}" for name, one in named)
        return f"{{{inner}{f',{inner}'.join(members)}{margin}}}"
    if isinstance(value, list | tuple) and value:
        return f"[{inner}{f',{inner}'.join([indented(one, inner) for one in value])}{margin}]"
    return json.dumps(value)


def _escaped(character: str) -> str:
    units = character.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[place]:02x}{units[place + 1]:02x}" for place in range(0, len(units), 2))


def briefly(text: str, most: int = MOST_SHOWN) -> str:
    """The text, or its beginning and its length where it is longer than so many characters."""
    told = f" … ({len(text)} characters)"
    return text if len(text) <= most else text[: most - len(told)] + told


def said(text: str) -> str:
    """A sentence with what it quotes made visible and short, whatever was typed."""
    return _LONG.sub(_shortened, visible(text))


def _shortened(found: "re.Match[str]") -> str:
    quoted = found[0].startswith("'")
    inner = found[0][1:-1] if quoted else found[0]
    return f"'{briefly(inner)}'" if quoted else briefly(inner)


def lookup_form(text: str) -> str:
    """A name as it is looked up: without case and spacing, in Unicode's compatibility form (UAX #15, NFKC).

    Digits that stood apart stay apart, and signs that would make another number of it (², ½) stay as they are.

    >>> lookup_form("Ｑ\u00a0２０４"), lookup_form("STRAẞE 1²")
    ('q204', 'strasse1²')
    """
    if not text.isascii():
        import unicodedata  # few names need it

        text = unicodedata.normalize("NFC", "".join(map(_compatible, unicodedata.normalize("NFC", text).casefold())))
    return _SPACE.sub("", " ".join(text.lower().split()))


def _compatible(character: str) -> str:
    import unicodedata

    if unicodedata.category(character) == "Cf":  # such as a joiner of no width
        return ""
    is_other_number = unicodedata.decomposition(character).startswith(_OTHER_NUMBERS)
    return character if is_other_number else unicodedata.normalize("NFKC", character).casefold()
