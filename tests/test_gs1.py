"""GS1 keys, element strings and links, against published values and against another parser (biip).

`gs1_check_digits.csv` and `gs1_element_strings.csv` name the source of each row;
`gs1_application_identifiers.csv` was made from the GS1 Barcode Syntax Dictionary
(github.com/gs1/gs1-syntax-dictionary, ff2eb4b, Apache-2.0).
"""

import csv
import re
from pathlib import Path

import pytest
from biip.gs1_digital_link_uris import GS1DigitalLinkURI
from biip.gs1_messages import GS1Message
from biip.gtin import Gtin
from biip.sscc import Sscc
from hypothesis import given
from hypothesis import strategies as st

from pourbook.codes.application_identifiers import named, starting
from pourbook.codes.check_digits import check_digit, check_pair
from pourbook.codes.digital_link import checked_resolver, is_link, link_of, read_link
from pourbook.codes.gs1 import (
    GS,
    Element,
    as_gtin,
    check_partners,
    checked_gtin,
    checked_prefix,
    checked_sscc,
    element_string,
    gtin_of,
    gtin_spellings,
    interpretation,
    made,
    number_in_sscc,
    numbers_of,
    read_bracketed,
    read_elements,
    shown_gtin,
    sscc_of,
)
from pourbook.codes.lot_marks import lot_number, printed, same
from pourbook.errors import Malformed, Mistyped, OutOfRange

HERE = Path(__file__).parent


def rows(name):
    """The rows of a file of published values."""
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


CHECKS = rows("gs1_check_digits.csv")
STRINGS = [row | {"scan_data": row["scan_data"].replace("<GS>", GS)} for row in rows("gs1_element_strings.csv")]
IDENTIFIERS = rows("gs1_application_identifiers.csv")

digits = st.text("0123456789", min_size=1, max_size=17)
prefixes = st.text("0123456789", min_size=4, max_size=12)


# -- check digits --------------------------------------------------------------------------


@pytest.mark.parametrize("row", CHECKS, ids=lambda row: f"{row['kind']} {row['input']}")
def test_check_digits_are_those_published(row):
    """GTIN, SSCC and GLN by modulo 10; the pair of the Global Model Number."""
    made_here = check_digit if row["scheme"] == "GS1 mod 10" else check_pair
    assert made_here(row["input"]) == row["check"], row["source"]


@given(digits)
def test_every_wrong_digit_is_caught(text):
    """Any one digit of any other: the check digit no longer agrees (weights 1 and 3 have inverses modulo 10)."""
    whole = text + check_digit(text)
    for place in range(len(whole)):
        for wrong in "0123456789":
            other = whole[:place] + wrong + whole[place + 1 :]
            assert (check_digit(other[:-1]) == other[-1]) == (other == whole)


@given(digits)
def test_a_swap_of_neighbours_is_caught_unless_they_differ_by_five(text):
    """The weights differ by 2, so 2 x 5 goes unseen and nothing else (GS1 General Specifications, by arithmetic)."""
    whole = text + check_digit(text)
    for place in range(len(whole) - 1):
        one, two = whole[place], whole[place + 1]
        other = whole[:place] + two + one + whole[place + 2 :]
        seen = check_digit(other[:-1]) != other[-1]
        assert seen == (abs(int(one) - int(two)) not in (0, 5))


# -- keys ------------------------------------------------------------------------------------


@given(prefixes, st.integers(0, 10**8 - 1), st.sampled_from("012345678"))
def test_a_gtin_made_here_is_one_elsewhere(prefix, reference, indicator):
    """biip takes it, with the same check digit; any spelling of it reads as the same 14 digits."""
    room = 12 - len(prefix)
    made_here = gtin_of(prefix, str(reference)[:room] or "0", indicator) if room else gtin_of(prefix, "", indicator)
    assert made_here[0] + made_here[1 : 1 + len(prefix)] == indicator + prefix
    assert str(Gtin.parse(made_here).check_digit) == made_here[-1]
    assert {checked_gtin(spelling) for spelling in gtin_spellings(made_here)} == {made_here}
    assert checked_gtin(shown_gtin(made_here)) == made_here


@given(prefixes, st.data())
def test_an_sscc_made_here_is_one_elsewhere_and_no_two_are_alike(prefix, data):
    """biip takes it; the number is found in it again, so that two numbers never make the same SSCC."""
    number = data.draw(st.integers(0, numbers_of(prefix) - 1))
    sscc = sscc_of(prefix, number)
    assert str(Sscc.parse(sscc).check_digit) == sscc[-1]
    assert sscc[1 : 1 + len(prefix)] == prefix
    assert number_in_sscc(checked_sscc(sscc), prefix) == number


def test_keys_of_the_standards_examples():
    """GS1 EPCIS examples: SSCC 0614141.1234567890, GTIN 0614141.077777, GLN aside."""
    assert sscc_of("0614141", 1234567890) == "106141412345678908"
    assert gtin_of("0614141", "77777") == "00614141777778"
    assert sscc_of("4012345", 111) == "040123450000001112"  # EPCIS event hash reference


def test_a_prefix_gives_no_more_numbers_than_it_has():
    """Extension digit and serial reference together: 10 to the power of 17 less the length of the prefix."""
    assert numbers_of("952123456789") == 100_000
    assert sscc_of("952123456789", 99_999)[:1] == "9"
    with pytest.raises(OutOfRange, match="has no SSCC number 100000"):
        sscc_of("952123456789", 100_000)
    with pytest.raises(OutOfRange, match="leaves 5 digits"):
        gtin_of("9521234", "123456")


@pytest.mark.parametrize("text", ["", "952", "9521234567890", "95212A4", "９５２１２３４"])
def test_what_is_no_company_prefix_is_refused(text):
    """4 to 12 plain digits."""
    with pytest.raises(Malformed, match="is not a GS1 company prefix"):
        checked_prefix(text)


def test_keys_are_read_leniently_and_checked_strictly():
    """Blanks and hyphens do not count; the check digit does."""
    assert checked_gtin("9 521234 005674") == "09521234005674"
    assert checked_sscc("0952 1234 0000 0000 13") == "095212340000000013"
    with pytest.raises(Mistyped, match="GTIN '9521234005675' is mistyped"):
        checked_gtin("9521234005675")
    with pytest.raises(Malformed, match="is not a valid SSCC"):
        checked_sscc("9521234005674")
    assert (as_gtin("12345670"), as_gtin("20261105")) == ("00000012345670", "")
    assert shown_gtin("00000012345670") == "12345670"


# -- element strings ------------------------------------------------------------------------


@pytest.mark.parametrize("row", STRINGS, ids=lambda row: row["interpretation"])
def test_published_element_strings(row):
    """Read from a scan and from brackets alike, written back to the letter, and read alike by biip."""
    elements = read_elements(row["scan_data"])
    assert elements == read_bracketed(row["interpretation"])
    assert element_string(elements) == row["scan_data"]
    assert interpretation(elements).replace(" ", "") == row["interpretation"]
    assert elements == by_biip(row["scan_data"])


def by_biip(text):
    """The elements as another parser reads them."""
    return tuple(Element(found.ai.ai, found.value) for found in GS1Message.parse(text).element_strings)


@pytest.mark.parametrize(
    "row", [row for row in STRINGS if row["digital_link"]], ids=lambda row: row["digital_link"].removeprefix("https://")
)
def test_published_links(row):
    """A link says what the element string says, and is written back to the letter."""
    elements = read_elements(row["scan_data"])
    found = read_link(row["digital_link"])
    assert sorted(found) == sorted(elements)
    assert link_of(elements, "https://id.gs1.org") == row["digital_link"]
    other = GS1DigitalLinkURI.parse(row["digital_link"])
    assert sorted(found) == sorted(Element(one.ai.ai, one.value) for one in other.element_strings)


lots = st.text(
    "!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz", min_size=1, max_size=20
)
ours = st.builds(
    lambda prefix, number, day, lot, count: (
        Element("00", sscc_of(prefix, number)),
        Element("02", gtin_of(prefix, "")),
        Element("11", day),
        Element("37", str(count)),
        Element("10", lot),
    ),
    prefixes,
    st.integers(0, 99_999),
    st.dates().map(lambda day: day.strftime("%y%m%d")),
    lots,
    st.integers(1, 10**8 - 1),
)


@given(ours, st.randoms())
def test_what_is_written_is_read_back(elements, chance):
    """In any order, by us and by biip; as a link, too, whatever characters a lot number holds."""
    shuffled = list(elements)
    chance.shuffle(shuffled)
    text = element_string(shuffled)
    assert read_elements(text) == by_biip(text) == tuple(shuffled)
    link = link_of(shuffled, "https://id.example/a")
    assert link.isascii()
    assert sorted(read_link(link)) == sorted(elements)


def test_a_separator_stands_only_where_it_must():
    """After a value of open length that is not the last (GS1 General Specifications, as the dictionary marks it)."""
    elements = read_bracketed("(10)L26-118(01)09521234005674(37)6")
    assert element_string(elements) == "10L26-118" + GS + "0109521234005674" + "376"
    assert read_elements(GS + "0109521234005674" + GS + "37" + "6" + GS) == read_bracketed("(01)09521234005674(37)6")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0109521234005675", "its check digit does not agree"),
        ("010952123400567", "13 of 14 characters"),
        ("11261305", "no such day"),
        ("11260229", "no such day"),
        ("7006260200", "no such day"),
        ("10" + "A" * 21, "more than 20 characters"),
        ("10L26 118", "' ' is not allowed"),
        ("10", "nothing"),
        ("37" + "1A", "'A' is not allowed"),
        ("8013" + "1987654Ad4X4bL5ttr2310c2L", "its check characters do not agree"),
        ("77123", "begins no GS1 element"),
        ("", "no GS1 element"),
    ],
)
def test_element_strings_that_cannot_be(text, said):
    """Each is refused with what is wrong."""
    with pytest.raises(Malformed, match=re.escape(said)):
        read_elements(text)


def test_day_zero_and_leap_days_can_be():
    """Day 00 is the whole month, 29 February is a day in 2028 (the dictionary's yymmd0 and yymmdd)."""
    assert read_elements("11261100" + "13280229")[1].value == "280229"
    assert made("7006", "280229").value == "280229"


# -- the table of application identifiers -------------------------------------------------------


@pytest.mark.parametrize("row", IDENTIFIERS, ids=lambda row: row["ai"])
def test_the_table_agrees_with_the_dictionary(row):
    """Title, length, separator, partners and part in a link of each, and of both ends of a range."""
    for ai in row["ai"].split("-"):
        rule = named(ai)
        assert rule.title == row["title"] or (row["ai"] == "91-99" and rule.title == "INTERNAL")
        assert rule.fixed == (row["separator"] == "no")
        assert [part.most for part in rule.parts if not part.optional] == required_lengths(row["format"])
        assert {"+".join(partners) for partners in rule.needs} == set(filter(None, row["needs_one_of"].split(",")))
        assert set(rule.never) == {other for other in row["never_with"].split(",") if other and other[-1] != "n"}
        assert (rule.qualifiers is not None) == row["digital_link_role"].startswith("primary key")


def required_lengths(format_):
    """The lengths of the parts that are not in brackets; (8003) begins with a zero of its own."""
    lengths = [int(length) for length in re.findall(r"(?<!\[)[NXY](?:\.\.)?(\d+)", format_)]
    return [14] if format_.startswith("N1 N13") else lengths


def test_no_identifier_begins_another():
    """So that an element string can be read from the left."""
    known = [
        f"{number:0{length}d}" for length in (2, 3, 4) for number in range(10**length) if named(f"{number:0{length}d}")
    ]
    assert len(known) > 500
    assert all(starting(ai + "0").ai == ai for ai in known)


def test_partners():
    """(37) needs (00) with (02); (02) may not stand beside (01); (10) needs an item (the dictionary)."""
    check_partners(read_bracketed("(00)095212340000000013(02)09521234005674(37)6(10)L26-118"))
    check_partners(read_bracketed("(01)09521234005674(11)261105(10)L26-118"))
    for text, said in [
        ("(02)09521234005674(37)6", r"\(37\) COUNT stands alone"),
        ("(10)L26-118", r"\(10\) BATCH/LOT stands alone"),
        ("(00)095212340000000013(01)09521234005674(02)09521234005674(37)6", "may not stand beside"),
    ]:
        with pytest.raises(Malformed, match=said):
            check_partners(read_bracketed(text))


# -- links ------------------------------------------------------------------------------------


def test_links_of_any_host_and_spelling_are_read():
    """Capitals, ports, a path before the key, a GTIN without its zero, further questions, percent signs."""
    lot = read_link("HTTP://Shop.example:8080/a/b/01/9521234005674/10/L%2F1?17=270101&lang=pl#top")
    assert lot == read_bracketed("(01)09521234005674(10)L/1(17)270101")


@pytest.mark.parametrize(
    "link",
    [
        "https://id.gs1.org/01/09520123456788/10/A/22/2A",  # qualifiers in the wrong order: the dictionary's example
        "https://id.gs1.org/01/09520123456788/22/2A/235/T",  # two sequences at once
        "https://id.gs1.org/10/L26-118",
        "https://quillmere.example/01",
        "https://quillmere.example",
    ],
)
def test_what_is_no_digital_link_has_no_elements(link):
    """It is a link all the same."""
    assert is_link(link)
    assert read_link(link) == ()


def test_a_link_with_a_wrong_check_digit_is_refused():
    """A key in a link is checked as anywhere else."""
    with pytest.raises(Mistyped, match="its check digit does not agree"):
        read_link("https://id.gs1.org/01/09520123456789")


def test_links_that_cannot_be_written():
    """Without a key there is none; a resolver is an address without a stroke at its end."""
    with pytest.raises(Malformed, match="must begin with a key"):
        link_of(read_bracketed("(10)L26-118"), "https://id.gs1.org")
    assert checked_resolver("https://quillmere.example/gs1") == "https://quillmere.example/gs1"
    for text in ("quillmere.example", "https://quillmere.example/", "https://", "https://a b"):
        with pytest.raises(Malformed, match="cannot begin a link"):
            checked_resolver(text)


# -- lot marks ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("mark", "on_the_bottle"),
    [
        ("26-118", "L26-118"),
        ("L26-118", "L26-118"),
        ("l 7", "l 7"),
        ("Lot 7", "Lot 7"),
        ("Batch 7", "Batch 7"),
        ("", ""),
    ],
)
def test_an_l_stands_before_the_mark_unless_it_speaks_for_itself(mark, on_the_bottle):
    """Directive 2011/91/EU, article 4."""
    assert printed(mark) == on_the_bottle


def test_lot_numbers():
    """What symbols carry under (10): at most 20 characters of set 82, no blanks."""
    assert lot_number("Lot 26/118") == "Lot26/118"
    assert same("l26-118", "26-118")
    assert not same("26-118", "26-119")
    for mark in ("Ł26", "L" + "1" * 20, ""):
        with pytest.raises(Malformed, match="cannot be a GS1 lot number"):
            lot_number(mark)
