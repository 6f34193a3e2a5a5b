"""Texts of entries: what cannot be shown, or is too long, is refused at the door of the book, whoever asks."""

import pytest
from house import House, new_make

from pourbook import Draft, Facts, Gauge, Hold, Item, Move, Note, Pour, Recipe, RecipePart
from pourbook.book.rules import MOST_CHARACTERS, MOST_OF_A_TEXT
from pourbook.errors import Malformed
from pourbook.liquid import Liquid
from pourbook.texts import first_unprintable, visible

# Cc of Unicode, UAX #9 (LRE RLE PDF LRO RLO, LRI RLI FSI PDI), surrogates and noncharacters of The Unicode Standard.
HOSTILE = [
    "\0", "\a", "\b", "\t", "\n", "\r", "\x1b[2J", "\x7f", "\x85", "\x9b", "\u2028", "\u202a", "\u202b", "\u202c",
    "\u202d", "\u202e", "\u2066", "\u2067", "\u2068", "\u2069", "\ud800", "\udfff", "\ufdd0", "\ufffe", "\uffff",
    "\U0001fffe", "\U0010ffff",
]  # fmt: skip
SOUND = ["Źdźbło", "酒", "שלום", "😀", "a\u00a0b", "‰ ½ ″", "e\u0301", "\u200f", "\u2019"]


@pytest.fixture
def house():
    """A cask with spirit."""
    with House() as house:
        house.cask("C1", liquid=new_make(1000), at="2020-01-01")
        yield house


def drafts(cask, text):
    """A text in each place where an entry has one."""
    fill = Move("origin", cask, 1000, composition=Liquid(1000, 400))
    entries = (
        Note(cask, text),
        Facts(cask, {"place": text}),
        Facts(cask, {text: "1"}),
        Item("C000002F", {"name": text}),
        Recipe("R", (RecipePart(cask, "1", role=text),)),
        Recipe(text, (RecipePart(cask, "1"),)),
        Pour("fill", (fill._replace(facts={"spirit": text}),)),
        Pour(text, (fill,)),
        Gauge(cask, 10, None, facts={"document": text}),
        Gauge(cask, 10, None, reading={"dip": {"rod": text}}),
        Gauge(cask, 10, None, provisional=text),
    )
    plain = Hold(cask, held=True)
    yield from (Draft(entry, 1, "M. Aldane", "why") for entry in entries)
    yield Draft(plain, 1, text, "why")
    yield Draft(plain, 1, "M. Aldane", f"why{text}")
    yield Draft(plain, 1, "M. Aldane", "why", text)


@pytest.mark.parametrize("text", HOSTILE, ids=ascii)
def test_no_text_has_a_character_that_cannot_be_shown(house, text):
    """In every text of every entry; the refusal names the character and shows it as a mark."""
    before = house.book.head()
    number = f"U+{ord(text[0]):04X}"
    for draft in drafts(house.ids["C1"], f"a{text}b"):
        with pytest.raises(Malformed, match="cannot be shown") as refused:
            house.book.record(draft)
        assert number in refused.value.message
        assert f"<{number}>" in refused.value.message
        assert not first_unprintable(refused.value.message)
    assert house.book.head() == before


def test_a_line_break_has_a_remedy_of_its_own(house):
    """Whoever types a note of two lines is told to write one."""
    with pytest.raises(Malformed) as refused:
        house.book.record(Draft(Note(house.ids["C1"], "bung\nreplaced"), 1, "M. Aldane"))
    assert refused.value.remedy == "write it on one line, without tabs"


@pytest.mark.parametrize("text", SOUND, ids=ascii)
def test_what_people_write_is_recorded(house, text):
    """Any script, any sign, an accent by itself, a mark of direction."""
    house.book.record(Draft(Note(house.ids["C1"], text), 1, text, text, text))
    assert (first_unprintable(text), visible(text)) == ("", text)


def test_a_text_is_as_long_as_its_limit_and_no_longer(house):
    """The sentence names the limit."""
    cask = house.ids["C1"]
    cases = (
        (MOST_OF_A_TEXT, lambda text: Draft(Note(cask, text), 1, "M. Aldane")),
        (MOST_CHARACTERS["ref"], lambda text: Draft(Facts(cask, {"ref": text}), 1, "M. Aldane")),
        (MOST_CHARACTERS["name"], lambda text: Draft(Facts(cask, {"name": text}), 1, "M. Aldane")),
        (MOST_CHARACTERS["who"], lambda text: Draft(Note(cask, "x"), 1, text)),
        (MOST_CHARACTERS["where"], lambda text: Draft(Note(cask, "x"), 1, "M. Aldane", "", text)),
        (MOST_OF_A_TEXT, lambda text: Draft(Hold(cask, held=True), 1, "M. Aldane", text)),
    )
    for most, made in cases:
        house.book.record(made("x" * most))
        with pytest.raises(Malformed, match=f"has {most + 1} characters, and may have {most}: "):
            house.book.record(made("x" * (most + 1)))
