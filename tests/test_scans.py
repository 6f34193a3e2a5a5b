"""Whatever a scanner sends: what is recognised, what is put right, what is asked, what is refused."""

import contextlib
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.codes.gs1 import GS
from pourbook.codes.identifiers import KINDS, hyphened, is_issued, write
from pourbook.codes.keyboards import retyped, swapped
from pourbook.codes.scans import described, parse
from pourbook.errors import Ambiguous, Malformed, Mistyped, PourbookError

CASK, VIAL, LOT = "C000123Y", "V000001R", "L000001C"
ITEM, LOT_OF_ITEM = "0109521234005674", "0109521234005674" + "10L26-118"
UNIT = "00095212340000000013"

identifiers = (
    st.tuples(st.sampled_from(sorted(KINDS)), st.integers(1, 10**7))
    .filter(lambda named: is_issued(*named))
    .map(lambda named: write(*named))
)


# -- identifiers -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "C000123Y", "C-000123-Y", "c-000123-y", " C 000123 Y ", "C–000123–Y", "]d1C000123Y", "]C0C000123Y",
        "]Q1c000123y", "\x02C000123Y\x03", "C000123Y\r\n", "\ufeffC000123Y", "C000123Y\x00",
    ],
)  # fmt: skip
def test_identifiers_in_any_dress(text):
    """With hyphens or without, in either case, with the prefix of any symbology, framed by control characters."""
    scan = parse(text)
    assert (scan.kind, scan.id, scan.slip) == ("id", CASK, "")


@pytest.mark.parametrize(
    ("text", "slip"),
    [
        ("C/000123/Y", "look-alike characters"),  # a hyphen from a German scanner on an American keyboard
        ("C'000123'Y", "look-alike characters"),  # an American one on an Italian, Spanish or Swiss keyboard
        ("C+000123+Y", "look-alike characters"),  # on a Scandinavian one
        ("COOO123Y", "look-alike characters"),
        ("CO00I23Y", "look-alike characters"),
        ("Cß000123ßZ", "German keyboard layout"),
        ('C)ààà&é")Y', "French keyboard layout"),
        ("C000123YC000123Y", "scanned more than once"),
        ("C000123Y\tC000123Y", "scanned more than once"),
    ],
)
def test_slips_that_can_be_told_apart_are_put_right(text, slip):
    """The check character agrees, and nothing else can have been meant; what was put right is said."""
    scan = parse(text)
    assert (scan.id, scan.slip) == (CASK, slip)


def test_letters_for_digits_never_make_another_identifier():
    """I, L and O are never given out as check characters, so that there, too, they can only be digits."""
    for number in range(1, 400):
        if is_issued("vial", number):
            right = write("vial", number)
            for wrong in {right.replace("0", "O"), right.replace("1", "I"), right.replace("1", "L")}:
                assert parse(wrong).id == right


def test_letters_swapped_by_a_layout_are_only_asked():
    """Y for Z agrees with the check character once in 37 by chance, so it is a question and no answer."""
    with pytest.raises(Mistyped) as refusal:
        parse("C000123Z")
    assert "is mistyped" in refusal.value.message
    assert refusal.value.remedy.startswith("does the keyboard swap letters? then C-000123-Y was meant")


def test_a_mistyped_identifier_that_no_layout_explains_gets_no_question():
    """Nothing is guessed at."""
    with pytest.raises(Mistyped) as refusal:
        parse("C000132Y")
    assert "?" not in refusal.value.remedy


@given(identifiers, st.integers(0, 40), st.sampled_from("0123456789ABCDEFGHJKMNPQRSTVWXYZ"))
def test_one_wrong_character_is_never_another_identifier(identifier, place, wrong):
    """Whatever is put right, it is never put right into something else."""
    place %= len(identifier)
    mistyped = identifier[:place] + wrong + identifier[place + 1 :]
    if mistyped != identifier:
        with contextlib.suppress(Mistyped, Ambiguous):
            assert parse(mistyped).id in ("", identifier)


@given(identifiers)
def test_each_layout_gives_the_identifier_back(identifier):
    """Typed with hyphens by an American scanner on a German keyboard."""
    german = hyphened(identifier).translate(str.maketrans("-YZ", "ßZY"))
    assert parse(german).id == identifier


# -- GS1 ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "]C1" + LOT_OF_ITEM, "]d2" + LOT_OF_ITEM, "]Q3" + LOT_OF_ITEM, "]e0" + LOT_OF_ITEM, LOT_OF_ITEM,
        GS + LOT_OF_ITEM, "(01)09521234005674(10)L26-118", "(01) 0952 1234 0056 74 (10) L26-118",
        "https://id.gs1.org/01/09521234005674/10/L26-118", "]Q1https://id.gs1.org/01/9521234005674/10/L26-118",
        "HTTPS://ID.GS1.ORG/01/09521234005674/10/L26-118",
    ],
)  # fmt: skip
def test_a_gtin_with_its_lot_in_any_dress(text):
    """As an element string with each GS1 prefix or none, with brackets, as a link."""
    scan = parse(text)
    assert (scan.kind in ("gs1", "link"), scan.gtin, scan.lot) == (True, "09521234005674", "L26-118")
    assert described(scan) == "GTIN 9521234005674, lot L26-118"


SEPARATORS = ["\x1d", "␝", "↔", "<GS>", "{GS}", "[GS]", "<gs>", "{FNC1}", "\\x1d", "\\u001d", "^]", "~", "|", "^"]


@pytest.mark.parametrize("separator", SEPARATORS)
@pytest.mark.parametrize("prefix", ["]C1", "]d2", ""])
def test_separators_and_their_stand_ins(prefix, separator):
    """ASCII 29 itself, its picture, the glyph it has in code page 437, words and signs (common practice, no source)."""
    scan = parse(prefix + LOT_OF_ITEM + separator + "37" + "6")
    assert [tuple(element) for element in scan.elements][1:] == [("10", "L26-118"), ("37", "6")]


@pytest.mark.parametrize(
    ("text", "gtin", "sscc"),
    [
        ("]E09521234005674", "09521234005674", ""),
        ("]E412345670", "00000012345670", ""),
        ("9521234005674", "09521234005674", ""),
        ("9 521234 005674", "09521234005674", ""),
        ("614141777778", "00614141777778", ""),  # GS1's own example; no GTIN-12 has the prefix 952
        ("12345670", "00000012345670", ""),
        ("095212340000000013", "", "095212340000000013"),
        (UNIT, "", "095212340000000013"),
        ("]C1" + UNIT, "", "095212340000000013"),
        ("(00)095212340000000013", "", "095212340000000013"),
        ("https://id.gs1.org/00/095212340000000013", "", "095212340000000013"),
        ("]C1" + UNIT + "02095212340056743760" + GS + "10A", "09521234005674", "095212340000000013"),
    ],
)
def test_keys_alone(text, gtin, sscc):
    """GTIN of any length and SSCC, with their identifiers or as bare digits."""
    scan = parse(text)
    assert (scan.gtin, scan.sscc) == (gtin, sscc)


def test_caps_lock_is_seen_by_the_prefix():
    """`]c1` is no prefix of a code of letters: everything was typed with the lock on."""
    scan = parse(("]C1" + ITEM + "10ab-C").swapcase())
    assert (scan.symbology, scan.lot, scan.slip) == ("]C1", "ab-C", "caps lock")
    assert parse("]E0" + LOT_OF_ITEM.swapcase()).lot == "L26-118"


def test_a_layout_that_gives_itself_away_is_undone_as_a_whole():
    """German: `]` arrives as +, `:` as Ö, `/` as a hyphen and a hyphen as ß; no GS1 code holds ß or Ö."""
    assert parse("+C1" + ITEM + "10L26ß118").lot == "L26-118"
    assert parse("httpsÖ--id.gs1.org-01-09521234005674-10-ZEß1").lot == "YE-1"
    assert parse("httpsM!!id:gs&:org!à&!àç(é&é\"'àà(-è'!&à!Lé-)&&_").lot == "L26-118"


def test_identifiers_of_the_house_in_codes_that_go_outside():
    """Under (240) or a company's own (91), or in a link of the house."""
    assert parse("]C1" + ITEM + "240" + LOT).id == LOT
    assert parse("]d2" + ITEM + "91" + LOT).id == LOT
    assert parse(f"https://quillmere.example/{LOT}")[:3] == ("link", "", LOT)


@pytest.mark.parametrize("address", [
    "https://station.quillmere.example/item/C-000123-Y", "HTTPS://STATION.QUILLMERE.EXAMPLE/ITEM/C000123Y",
    "http://192.168.1.40:8321/item/c000123y?from=paper", "https://[fe80::1]:8321/item/C000123Y/", "]Q1http://h/item/C000123Y",
    "https://h/item/C%2D000123%2DY#top", "httpsÖ--h.example-item-C000123Z",
])  # fmt: skip
def test_the_address_of_an_item_is_that_item_whatever_the_host(address):
    assert (parse(address).kind, parse(address).id) == ("link", "C000123Y")


def test_a_mistyped_address_of_an_item_is_refused():
    with pytest.raises(Mistyped, match="check character"):
        parse("https://h/item/C000123Z")
    assert parse("https://h/item/anything").id == ""


@pytest.mark.parametrize(
    "text",
    ["9521234005675", "]E09521234005675", "0109521234005675", "(01)09521234005675", "095212340000000014",
     "00095212340000000014", "https://id.gs1.org/01/09521234005675", "]C1" + UNIT[:-1] + "4", "]E412345671"],
)  # fmt: skip
def test_a_wrong_check_digit_is_refused(text):
    """Wherever the key stands."""
    with pytest.raises(Mistyped, match="is mistyped"):
        parse(text)


@pytest.mark.parametrize("text", ["]C1hello", "]d2" + LOT_OF_ITEM + "1" * 20, "(77)1", "]C1" + ITEM + "11261399"])
def test_a_gs1_code_that_is_none_is_refused(text):
    """Its prefix or brackets say what it wants to be."""
    with pytest.raises(Malformed, match=r"is mistyped|is unknown"):
        parse(text)


# -- several codes, and none ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "names"),
    [
        (CASK + VIAL, "2 codes, C-000123-Y and V-000001-R"),
        (f"{CASK}\n{VIAL}", "2 codes, C-000123-Y and V-000001-R"),
        (f"{CASK} {VIAL}", "2 codes, C-000123-Y and V-000001-R"),
        (f"{CASK}, {VIAL}; {LOT}", "3 codes, C-000123-Y, V-000001-R and L-000001-C"),
        ("C-000123-YV-000001-R", "2 codes, C-000123-Y and V-000001-R"),
        (CASK + "V000001X", "2 codes, C-000123-Y and 'V000001X'"),
        (LOT + "9521234005674", "2 codes, L-000001-C and GTIN 9521234005674"),
        ("9521234005674" * 1 + "9521234000006", "2 codes, GTIN 9521234005674 and GTIN 9521234000006"),
        ("]C1" + ITEM + "]C1" + UNIT, "2 codes, GTIN 9521234005674 and SSCC 095212340000000013"),
        (LOT + "https://id.gs1.org/" + "01/09521234005674", "2 codes, L-000001-C and GTIN 9521234005674"),
    ],
)
def test_codes_run_together_are_named_and_refused(text, names):
    """Two labels scanned as one line: which of them was meant cannot be told."""
    with pytest.raises(Ambiguous) as refusal:
        parse(text)
    assert f"is ambiguous: it holds {names}" in refusal.value.message
    assert "\n" not in refusal.value.message


@pytest.mark.parametrize(
    "text", ["Row 3/12", "]C0Row 3/12", "20261105", "10ABC", "L", "C12", "hello world", "4711", "https"]
)
def test_what_is_no_code_is_unknown_and_not_refused(text):
    """It may be a name of the house; only a book can tell."""
    scan = parse(text)
    assert (scan.kind, scan.id, scan.gtin, scan.text) == ("unknown", "", "", text.removeprefix("]C0"))


@pytest.mark.parametrize("text", ["", " ", "\r\n", GS, "\x02\x03"])
def test_nothing_is_refused(text):
    """An empty line is no scan."""
    with pytest.raises(Malformed, match="nothing was scanned"):
        parse(text)


@given(st.text(max_size=60) | st.text("]C1dQ30123456789()VL-ßà&é\x1d~|", max_size=60))
def test_any_text_is_answered_or_refused(text):
    """Nothing that a scanner may send makes the reader fail."""
    with contextlib.suppress(PourbookError):
        assert parse(text).kind in ("id", "gs1", "link", "unknown")


# -- keyboards -----------------------------------------------------------------------------------


def test_layouts_are_undone_only_where_they_give_themselves_away():
    """Plain letters and digits are the same on all of them, but for those that are swapped."""
    assert list(retyped("C000123Y-/")) == []
    assert dict(retyped("ßZ")) == {"German keyboard layout": "-Y"}
    assert swapped("C000123X") == ()
    assert swapped("C0001WZY") == ("C0001WYZ", "C0001ZWY")


@pytest.mark.parametrize(
    "text",
    [
        "C000123Y" * 37 + "x?!",  # was tried in every way of parting it
        "C000123YV000001R" * 260,
        "9521234005674" * 330,
        "0" * 4_296,
        "(01)" * 1_000,
        "https://a/" + "01/" * 1_400,
        "]C1" * 1_400,
        "C000123Y\n" * 400,
        "\x1d10" * 1_400,
    ],
    ids=lambda text: text[:9].strip(),
)
def test_a_long_scan_is_answered_at_once_and_briefly(text):
    """No scan takes long, goes deep, or comes back whole."""
    started, said = time.process_time(), ""
    try:
        parse(text)
    except PourbookError as refusal:
        said = refusal.message
    assert len(said) < 1_000
    assert time.process_time() - started < 0.5


def test_what_no_symbol_holds_is_no_scan():
    """4,296 letters and digits are the most of a QR Code, version 40-L (ISO/IEC 18004; read in a reader's manual)."""
    with pytest.raises(Malformed, match="4297 characters were scanned; no code has more than 4296"):
        parse("A" * 4_297)
    assert parse("A" * 4_296).kind == "unknown"


def test_many_codes_run_together_are_counted_and_some_named():
    """The refusal names ten of them."""
    with pytest.raises(Ambiguous, match=r"it holds 40 codes, C-000123-Y, .* and 30 more"):
        parse("C000123YV000001R" * 20)
