"""Tasting notes and the house's words: what stands in the book is what was said of the glass, and no more."""

import pytest
from house import HOW, House
from hypothesis import given
from hypothesis import strategies as st

from pourbook.actions.tasting_session import open_session
from pourbook.book.entries import STAGES, Hold, Stage, Taste, Void, Word
from pourbook.book.entries import House as Settings
from pourbook.book.house_words import house_words, word_form
from pourbook.book.stage_text import read_stage, written_stage
from pourbook.book.tasting_notes import About, notes
from pourbook.book.verifying import repair
from pourbook.errors import Malformed, OutOfRange, Refused, ToConfirm
from pourbook.numerals import with_mark
from pourbook.quantities import read_amount
from pourbook.queries.tastings.session_plan import Wish

PEAR = Stage("a little shy", {"pear": "4"})


@pytest.fixture
def house():
    """A cask, its vial, and a place."""
    with House() as house:
        house.cask("C1", "200 l", "63.5")
        house.draw("C1", "V1", "100 ml")
        yield house


def note(house, **told):
    """A note on the cask by Isla Farrow."""
    return Taste(house.id("C1"), "Isla Farrow", **told)


def tables(house):
    """Every row of notes."""
    return [house.book.store.query(f"SELECT * FROM {table} ORDER BY 1, 2, 3") for table in ("tasting", "tasted_word")]


# -- what is typed at a stage -----------------------------------------------------------------


words = st.text(st.characters(categories=("Lu", "Ll"), max_codepoint=0x24F), min_size=1, max_size=12)
intensities = st.decimals(0, 5, places=1).map(str) | st.integers(0, 5).map(str)
frees = st.lists(words.map(lambda one: f"{one}."), max_size=3).map("; ".join)
stages = st.builds(Stage, frees, st.dictionaries(words, intensities, max_size=4))


@given(stages, st.sampled_from(".,"))
def test_a_stage_written_is_read_back_equal(stage, mark):
    """Whatever the words, whatever the decimal mark."""
    typed = Stage(stage.text, {word: with_mark(one, mark) for word, one in stage.words.items()})
    assert read_stage(written_stage(typed, mark), mark) == typed


@pytest.mark.parametrize(
    ("typed", "stage"),
    [
        ("pear 4", Stage("", {"pear": "4"})),
        ("ripe pear 4,oak 2", Stage("", {"ripe pear": "4", "oak": "2"})),
        ("pear: 4, oak=2.5", Stage("", {"pear": "4", "oak": "2.5"})),
        ("shy; pear 4, then open", Stage("shy, then open", {"pear": "4"})),
        (" long ,  dry ", Stage("long, dry", {})),
        ("like cask 12.", Stage("like cask 12.", {})),
        ("", Stage("", {})),
    ],
)
def test_what_a_blender_types_is_read(typed, stage):
    """A part that ends in a number is a word with its intensity; any other part is free words."""
    assert read_stage(typed) == stage


@pytest.mark.parametrize("typed", ["pear4", "4", "pear 4/5", "pear 1,5", "pear 4, pear 3", "shy, -3"])
def test_what_may_be_a_slip_is_refused(typed):
    """A number without its word, in another form, or a word twice, is never taken for free words."""
    with pytest.raises(Malformed):
        read_stage(typed)


def test_a_comma_between_digits_is_the_decimal_mark():
    """Where the house writes one."""
    assert read_stage("pear 1,5, oak 2", ",") == Stage("", {"pear": "1,5", "oak": "2"})


# -- a note in the book ------------------------------------------------------------------------


def test_a_note_is_read_back_as_it_was_written(house):
    """Every field, as a number where it is one."""
    whole = Taste(
        house.id("V1"), "Isla Farrow", "sweet", {"nose": PEAR, "finish": Stage("", {"oak": "2,5"})}, "46 % vol",
        "18.5 C", "20 ml", 25, "weight", "wood", "6,5", "82", (), "", "", blind=True,
    )  # fmt: skip
    house.record(whole)
    (found,) = notes(house.book.store, About(item=house.id("V1")))
    assert (found.item, found.assessor, found.who, found.text) == (house.id("V1"), "Isla Farrow", "M. Aldane", "sweet")
    assert {name: tuple(one) for name, one in found.stages.items()} == {
        "nose": ("a little shy", {"pear": 4.0}), "finish": ("", {"oak": 2.5}),
    }  # fmt: skip
    assert (found.strength_vol, found.temperature_c, found.amount_ml, found.finish_s) == (46.0, 18.5, 20.0, 25)
    assert (found.missing, found.too_much) == ("weight", "wood")
    assert (found.liking, found.score, found.blind) == (6.5, 82.0, True)


def test_a_blind_glass_is_named_by_session_and_code(house):
    """No item stands in the entry, nor in the tables."""
    wish = Wish((house.id("C1"), house.id("V1")), ("Isla Farrow",), read_amount("10 ml"))
    open_session(house.book, HOW, "Friday", wish, draw=lambda _count: 0)
    house.record(Taste("", "Isla Farrow", "sweet", session="Friday", code="102"))
    (found,) = notes(house.book.store, About(session="Friday"))
    assert (found.item, found.code) == ("", "102")
    assert house.book.verify().faults == ()


@pytest.mark.parametrize(
    ("told", "refusal", "why"),
    [
        ({}, Malformed, "is empty"),
        ({"stages": {"nose": Stage()}}, Malformed, "is empty"),
        ({"stages": {"tail": PEAR}}, Malformed, "'tail' is no stage"),
        ({"stages": {"nose": Stage("", {"pear": "6"})}}, OutOfRange, "nose: pear 6 is off the house's scale, 0 to 5"),
        ({"stages": {"nose": Stage("pear 4")}}, Malformed, "ends in a digit"),
        ({"score": "101"}, OutOfRange, "score 101 is off"),
        ({"liking": "0"}, OutOfRange, "liking 0 is off"),
        ({"finish_s": 0}, OutOfRange, "cannot stay 0 s"),
        ({"text": "sweet", "strength": "124 % vol"}, OutOfRange, "above 100"),
        ({"text": "sweet", "amount": "a sip"}, Malformed, "does not begin with a number"),
        ({"text": "sweet", "off_notes": ("sulphur",)}, Refused, "no fault on the house's list"),
        ({"text": "sweet\nand long"}, Malformed, "cannot be shown"),
    ],
)
def test_what_cannot_be_a_note_is_refused(house, told, refusal, why):
    """And nothing is recorded."""
    before = house.book.head()
    with pytest.raises(refusal, match=why):
        house.record(note(house, **told))
    assert house.book.head() == before


def test_a_note_says_what_was_tasted_and_by_whom(house):
    """An item that holds liquid, or a glass of a session; and a person."""
    place = house.book.enter(HOW, "place", "Warehouse 2").id
    for unsaid in (Taste("", "Isla Farrow", "sweet"), Taste("", "Isla Farrow", "sweet", session="Friday")):
        with pytest.raises(Malformed, match="what was tasted"):
            house.record(unsaid)
    with pytest.raises(Malformed, match="who tasted"):
        house.record(Taste(house.id("C1"), text="sweet"))
    with pytest.raises(Refused, match="holds no liquid"):
        house.record(Taste(place, "Isla Farrow", "sweet"))


@given(st.lists(st.tuples(st.sampled_from(("C1", "V1")), stages, st.sampled_from(STAGES)), min_size=1, max_size=6))
def test_tables_follow_from_the_journal(found):
    """Some notes voided, some replaced: what is rebuilt is what stood there."""
    with House() as house:
        house.open("C1", "V1")
        for item, stage, name in found:
            told = {"text": "there"} if stage == Stage() else {"stages": {name: stage}}
            number = house.record(Taste(house.id(item), "Isla Farrow", **told)).numbers[0]
            if len(stage.words) == 1:
                house.record(Void(number), reason="slip")
            elif len(stage.words) == 2:
                house.record(Taste(house.id(item), "Isla Farrow", "again"), replaces=number, reason="slip")
        before = tables(house)
        assert house.book.verify().faults == ()
        repair(house.book.store)
        assert tables(house) == before


def test_a_voided_note_is_found_nowhere(house):
    """Not by its item, not by its words; one that replaces it stands in its place."""
    first, second = (house.record(note(house, stages={"nose": PEAR})).numbers[0] for _ in range(2))
    house.record(Void(first), reason="another cask")
    house.record(note(house, text="plum"), replaces=second, reason="misheard", at="2024-05-01")
    (left,) = notes(house.book.store)
    assert left.text == "plum"
    assert house.book.store.query("SELECT word FROM tasted_word") == [("plum",)]
    assert house.book.verify().faults == ()


# -- the house's words -------------------------------------------------------------------------


def test_a_word_is_found_however_it_is_spelled(house):
    """Case, spacing, hyphens, a plural, and the other spellings that the house wrote down."""
    house.record(Word("ripe pear", also=("bosc",)), Word("cherry"))
    known = house_words(house.book.store)
    for typed in ("Ripe Pear", "ripe  pears", "ripe-pear", "Bosc"):
        assert known.find(typed).word == "ripe pear"
    assert known.find("Cherries").word == "cherry"
    assert known.find("pear") is None


def test_the_latest_entry_of_a_word_stands(house):
    """A void brings back the one before; a retired word is found no longer."""
    house.record(Word("pear", "a fruit"))
    later = house.record(Word("Pear", "ripe pears")).numbers[0]
    assert [one.definition for one in house_words(house.book.store).words] == ["ripe pears"]
    house.record(Void(later), reason="slip")
    assert [one.definition for one in house_words(house.book.store).words] == ["a fruit"]
    house.record(Word("pear", gone=True))
    assert house_words(house.book.store).find("pear") is None
    assert house.book.verify().faults == ()


def test_no_spelling_means_two_words(house):
    """Neither as a word nor as another spelling; a retired word frees its own."""
    house.record(Word("pear", also=("bosc",)))
    for other in (Word("bosc"), Word("quince", also=("Pears",))):
        with pytest.raises(Refused, match="means 'pear'"):
            house.record(other)
    house.record(Word("pear", gone=True))
    house.record(Word("bosc"))


@pytest.mark.parametrize("text", ["", "pear, ripe", "pear: ripe", "stage 2"])
def test_a_word_can_be_typed_before_an_intensity(house, text):
    """Else it could never be read back."""
    with pytest.raises(Malformed, match="cannot be a word"):
        house.record(Word(text))


def test_an_unknown_word_is_asked_about_where_there_is_a_list(house):
    """With the nearest, which is never taken; a house without a list writes any word."""
    strange = note(house, stages={"nose": Stage("", {"paer": "3"})})
    house.record(strange)
    house.record(Word("pear"))
    with pytest.raises(ToConfirm, match="'paer'") as asked:
        house.record(strange)
    assert "was it 'pear'?" in asked.value.remedy
    number = house.record(strange, confirmed=True).numbers[0]
    found = [one for one in notes(house.book.store) if one.entry == number]
    assert found[0].stages["nose"].words == {"paer": 3.0}


def test_scales_are_two_whole_numbers(house):
    """The least before the most."""
    house.record(Settings({"score_scale": "0..20"}))
    with pytest.raises(OutOfRange, match="0 to 20"):
        house.record(note(house, score="21"))
    for wrong in ("20", "9..1", "1..", "0..2.5"):
        with pytest.raises(Malformed, match="score_scale"):
            house.record(Settings({"score_scale": wrong}))


def test_a_scale_that_notes_were_judged_on_is_changed_with_a_yes(house):
    """They keep their figures; the same scale again, or another setting, is no change."""
    house.record(note(house, score="82"))
    house.record(Settings({"score_scale": "0..100", "zone": "UTC"}))
    with pytest.raises(ToConfirm, match="and keep their figures"):
        house.record(Settings({"score_scale": "0..20"}))
    house.record(Settings({"score_scale": "0..20"}), confirmed=True)
    assert next(notes(house.book.store)).score == 82.0


def test_a_hold_for_an_off_note_needs_no_other_reason(house):
    """It names its note."""
    house.record(Word("sulphur", off=True))
    number = house.record(note(house, off_notes=("sulphur",), text="struck match")).numbers[0]
    house.record(Hold(house.id("C1"), held=True, tasting=number))
    assert house.book.show(house.id("C1")).facts["held"] == "yes"


@pytest.mark.parametrize(
    ("text", "form"),
    [("Pears", "pear"), ("berries", "berry"), ("peaches", "peach"), ("grass", "grass"), ("glasses", "glass"),
     ("tomatoes", "tomato"), ("wax", "wax"), ("boxes", "box"), ("gas", "gas"), ("Crème brûlée", "crèmebrûlée")],
)  # fmt: skip
def test_a_plural_is_its_word(text, form):
    """English plurals by their endings (common usage, no source); what they leave need be no word, only the same."""
    assert word_form(text) == form
