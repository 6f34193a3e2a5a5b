"""The GS1 application identifiers: what may follow each, and what each needs beside it.

The facts are those of the GS1 Barcode Syntax Dictionary (github.com/gs1/gs1-syntax-dictionary,
Apache-2.0, GS1 AISBL), in its own notation: `N` digits, `X` and `Y` characters of the standard's sets
82 and 39, a length or the longest length, optional parts in brackets, a star where no separator
follows. Of identifiers that a spirits house never writes only the length is kept.

>>> rule = starting("10ABC123")
>>> rule.ai, rule.title, rule.fixed, rule.problem("ABC 123")
('10', 'BATCH/LOT', False, "' ' is not allowed in it")
>>> starting("77") is None
True
"""

import re
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from typing import NamedTuple

from pourbook.codes.check_digits import check_digit, check_pair

__all__ = ["Part", "Rule", "named", "starting"]

_TABLE = """
00 * N18,csum | SSCC | link
01 * N14,csum | GTIN | link=22,10,21/235 never=255,37
02 * N14,csum | CONTENT | needs=37 never=01,03
03 * N14,csum | MTO GTIN | never=01,02,37
10 X..20 | BATCH/LOT | needs=01,02,03,8006,8026
11 * N6,yymmd0 | PROD DATE | needs=01,02,03,8006,8026
12 * N6,yymmd0 | DUE DATE | needs=8020
13 * N6,yymmd0 | PACK DATE | needs=01,02,03,8006,8026
15 * N6,yymmd0 | BEST BEFORE or BEST BY | needs=01,02,03,8006,8026
16 * N6,yymmd0 | SELL BY | needs=01,02,03,8006,8026
17 * N6,yymmd0 | USE BY or EXPIRY | needs=01,02,03,255,8006,8026
20 * N2 | VARIANT | needs=01,02,03,8006,8026
21 X..20 | SERIAL | needs=01,03,8006 never=235
22 X..20 | CPV | needs=01
235 X..28 | TPX | needs=01
240 X..30 | ADDITIONAL ID | needs=01,02,03,8006,8026
241 X..30 | CUST. PART No. | needs=01,02,03,8006,8026
242 N..6 | MTO VARIANT
243 X..20 | PCN
250 X..30 | SECONDARY SERIAL
251 X..30 | REF. TO SOURCE | needs=01,03,8006
253 N13,csum [X..17] | GDTI | link
254 X..20 | GLN EXTENSION COMPONENT | needs=414
255 N13,csum [N..12] | GCN | link
30 N..8 | VAR. COUNT | needs=01,02
3100-3105 * N6 | NET WEIGHT (kg) | needs=01,02
3150-3155 * N6 | NET VOLUME (l) | needs=01,02
3160-3165 * N6 | NET VOLUME (m³) | needs=01,02
3200-3205 * N6 | NET WEIGHT (lb) | needs=01,02
3300-3305 * N6 | GROSS WEIGHT (kg) | needs=00,01
3350-3355 * N6 | VOLUME (l), log | needs=00,01
3570-3575 * N6 | NET VOLUME (oz) | needs=01,02
3110-3115 3120-3125 3130-3135 3140-3145 3210-3215 3220-3225 3230-3235 3240-3245 3250-3255 * N6 | MEASURE
3260-3265 3270-3275 3280-3285 3290-3295 3310-3315 3320-3325 3330-3335 3340-3345 3360-3365 * N6 | MEASURE
3370-3375 3400-3405 3410-3415 3420-3425 3430-3435 3440-3445 3450-3455 3460-3465 3470-3475 * N6 | MEASURE
3480-3485 3490-3495 3500-3505 3510-3515 3520-3525 3530-3535 3540-3545 3550-3555 3560-3565 * N6 | MEASURE
3600-3605 3610-3615 3620-3625 3630-3635 3640-3645 3650-3655 3660-3665 3670-3675 3680-3685 * N6 | MEASURE
3690-3695 * N6 | MEASURE
37 N..8 | COUNT | needs=00+02,00+8026
3900-3909 N..15 | AMOUNT
3910-3919 N3 N..15 | AMOUNT
3920-3929 N..15 | PRICE
3930-3939 N3 N..15 | PRICE
3940-3943 N4 | PRCNT OFF
3950-3955 N6 | PRICE/UoM
400 X..30 | ORDER NUMBER
401 X..30 | GINC | link
402 N17,csum | GSIN | link
403 X..30 | ROUTE | needs=00
410 * N13,csum | SHIP TO LOC
411 * N13,csum | BILL TO
412 * N13,csum | PURCHASE FROM
413 * N13,csum | SHIP FOR LOC
414 * N13,csum | LOC No. | link=254/7040
415 * N13,csum | PAY TO | needs=8020 link=8020
416 * N13,csum | PROD/SERV LOC
417 * N13,csum | PARTY | link=7040
420 X..20 | SHIP TO POST | never=421
421 N3 X..9 | SHIP TO POST | never=4307
422 N3 | ORIGIN | needs=01,02,03,8006,8026 never=426
423 N3 [N3] [N3] [N3] [N3] | COUNTRY - INITIAL PROCESS | needs=01,02,03 never=426
425 N3 [N3] [N3] [N3] [N3] | COUNTRY - DISASSEMBLY
424 N3 | COUNTRY - PROCESS
426 N3 | COUNTRY - FULL PROCESS | needs=01,02,03
427 X..3 | ORIGIN SUBDIVISION | needs=01+422,02+422,03+422
4300-4301 4310-4311 4320 X..35 | TRANSPORT
4302-4306 4312-4316 X..70 | TRANSPORT
4307 4317 X2 | TRANSPORT
4308 4319 X..30 | TRANSPORT
4309 N20 | TRANSPORT
4318 X..20 | TRANSPORT
4321-4323 N1 | TRANSPORT
4324-4325 N10 | TRANSPORT
4326 N6,yymmdd | REL DATE
4330-4333 N6 [X1] | TEMPERATURE
7001 N13 | NSN
7002 X..30 | CUT
7003 N6,yymmdd N4 | EXPIRY TIME
7004 N..4 | ACTIVE POTENCY
7005 X..12 | CATCH AREA
7006 N6,yymmdd | FIRST FREEZE DATE
7007 N6,yymmdd [N6,yymmdd] | HARVEST DATE | needs=01,02
7008 X..3 | AQUATIC SPECIES
7009 X..10 | FISHING GEAR TYPE
7010 X..2 | PROD METHOD
7011 N6,yymmdd [N4] | TEST BY DATE
7020-7022 X..20 | REFURBISHMENT
7023 X..30 | GIAI - ASSEMBLY
7030 N3 X..27 | PROCESSOR # 0 | needs=01,02
7031-7039 N3 X..27 | PROCESSOR
7040 N1 X3 | UIC+EXT
710-717 X..20 | NHRN
7230-7239 X2 X..28 | CERT
7240 X..20 | PROTOCOL
7241 N2 | AIDC MEDIA TYPE
7242 X..25 | VCN
8001 N14 | DIMENSIONS
8002 X..20 | CMT No.
8003 N14,csum [X..16] | GRAI | link
8004 X..30 | GIAI | link=7040
8005 N6 | PRICE PER UNIT
8006 N14,csum N4 | ITIP | link=22,10,21 never=01,03,37
8007 X..34 | IBAN
8008 N6,yymmdd N2 [N2] [N2] | PROD TIME | needs=01,02,03
8009 X..50 | OPTSEN
8010 Y..30 | CPID | link=8011
8011 N..12 | CPID SERIAL | needs=8010
8012 X..20 | VERSION | needs=01,03,8006
8013 X..25,csumalpha | GMN | link
8017-8018 N18,csum | GSRN | link=8019
8019 N..10 | SRIN
8020 X..25 | REF No. | needs=415
8026 N14,csum N4 | ITIP CONTENT | needs=37 never=02,03,8006
8030 X..90 | DIGSIG
8110 8112 X..70 | COUPON
8111 N4 | POINTS
8200 X..70 | PRODUCT URL | needs=01
90 X..30 | INTERNAL
91-99 X..90 | INTERNAL
"""

_SPEC = re.compile(r"\[?([NXY])(\.\.)?(\d+)(?:,(\w+))?\]?")
_CHARACTERS = {
    "N": re.compile(r"[0-9]*"),
    "X": re.compile(r"""[!"%&'()*+,\-./0-9:;<=>?A-Z_a-z]*"""),
    "Y": re.compile(r"[#\-/0-9A-Z]*"),
}


class Part(NamedTuple):
    """One component of what follows an application identifier.

    Attributes:
        characters: `N`, `X` or `Y`.
        least: fewest characters.
        most: most characters.
        check: the content check of the dictionary, or empty.
        optional: whether it may be left out.
    """

    characters: str
    least: int
    most: int
    check: str
    optional: bool


class Rule(NamedTuple):
    """What the standard says of one application identifier.

    Attributes:
        ai: the identifier.
        title: its data title.
        parts: the components of its value.
        fixed: whether its length is fixed, so that no separator follows it.
        needs: partners of which one must be there; each a set that must be there together.
        never: identifiers that may not stand beside it.
        qualifiers: for a primary key of a Digital Link, the sequences of qualifiers that may follow it; else None.
    """

    ai: str
    title: str
    parts: tuple[Part, ...]
    fixed: bool
    needs: tuple[tuple[str, ...], ...] = ()
    never: tuple[str, ...] = ()
    qualifiers: tuple[tuple[str, ...], ...] | None = None

    @property
    def most(self) -> int:
        """The most characters that may follow it."""
        return sum(part.most for part in self.parts)

    @property
    def checked(self) -> bool:
        """Whether a check digit guards its value."""
        return any(part.check == "csum" for part in self.parts)

    def problem(self, value: str) -> str:
        """What is wrong with a value, or nothing."""
        at = 0
        for part in self.parts:
            piece = value[at : at + part.most]
            if not piece and part.optional:
                break
            if problem := _problem(part, piece):
                return problem
            at += len(piece)
        return f"more than {self.most} characters" if at < len(value) else ""


def _problem(part: Part, piece: str) -> str:
    good = _CHARACTERS[part.characters].match(piece)
    end = good.end() if good else 0
    if end < len(piece):
        return f"'{piece[end]}' is not allowed in it"
    if len(piece) < part.least:
        return f"{len(piece)} of {part.least} characters" if piece else "nothing"
    return _CHECKS[part.check](piece) if part.check else ""


def _wrong_pair(piece: str) -> str:
    return "" if len(piece) > 2 and check_pair(piece[:-2]) == piece[-2:] else "its check characters do not agree"


def _no_date(piece: str) -> str:
    """What is wrong with a date YYMMDD; February has 29 days in years divisible by four."""
    year, month, day = int(piece[:2]), int(piece[2:4]), int(piece[4:6])
    longest = (31, 28 if year % 4 else 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    return "" if 1 <= month <= 12 and 1 <= day <= longest[month - 1] else "no such day"


_CHECKS: dict[str, Callable[[str], str]] = {
    "csum": lambda piece: "" if check_digit(piece[:-1]) == piece[-1] else "its check digit does not agree",
    "csumalpha": _wrong_pair,
    "yymmdd": _no_date,
    "yymmd0": lambda piece: _no_date(piece[:4] + "01" if piece[4:] == "00" else piece),  # day 00: the whole month
}


@cache
def _rules() -> dict[str, Rule]:
    found = {}
    for line in _TABLE.strip().splitlines():
        form, title, *more = (field.strip() for field in line.split("|"))
        words = form.split()
        parts = tuple(_part(word) for word in words if word[0] in "NXY[")
        partners = _partners(more[0] if more else "")
        for ai in _identifiers(word for word in words if word[0].isdigit()):
            found[ai] = Rule(ai, title, parts, "*" in words, *partners)
    return found


def _part(word: str) -> Part:
    match = _SPEC.fullmatch(word)
    assert match
    characters, up_to, length, check = match.groups()
    return Part(characters, 1 if up_to else int(length), int(length), check or "", word[0] == "[")


def _identifiers(words: Iterable[str]) -> Iterator[str]:
    for word in words:
        first, _, last = word.partition("-")
        yield from (str(ai).zfill(len(first)) for ai in range(int(first), int(last or first) + 1))


def _partners(text: str) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...], tuple[tuple[str, ...], ...] | None]:
    said = dict(word.partition("=")[::2] for word in text.split())
    needs = tuple(tuple(one.split("+")) for one in said.get("needs", "").split(",") if one)
    never = tuple(filter(None, said.get("never", "").split(",")))
    ways = tuple(tuple(filter(None, way.split(","))) for way in said["link"].split("/")) if "link" in said else None
    return needs, never, ways


def named(ai: str) -> Rule | None:
    """The rule of an application identifier; None if GS1 has no such one."""
    return _rules().get(ai)


def starting(text: str) -> Rule | None:
    """The rule of the application identifier that begins a text, or None."""
    rules = _rules()
    return next((rules[text[:length]] for length in (2, 3, 4) if text[:length] in rules), None)
