"""One search: by identifier, ref, lot mark, fact, name and note; the best first; nothing sealed comes out by it."""

import pytest
from command import Desk, here

from pourbook import Book, Draft, Item


@pytest.fixture
def desk(tmp_path):
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does(
        "cask 'Q 31' --wood 'virgin chestnut' --previous 'red wine' --place 'Row 3/12' --fill '200 l' --strength 60"
    )
    desk.does("cask 'Q 310' --wood oak --place 'Row 4/1'")
    desk.does("cask 'Étang 7' --wood cherry")
    desk.does("note 'Q 310' 'a hoop of chestnut'")
    return desk


def found(desk, text):
    """Kind, ref and where it matched, of everything found."""
    return [(one["kind"], one["name"].split(" · ")[0], one["matched"]) for one in desk.asks(f"find {text}")["found"]]


def test_a_ref_is_found_exactly_then_by_how_it_begins_then_by_a_word_of_it(desk):
    assert found(desk, "q31") == [("item", "Q 31", "ref"), ("item", "Q 310", "ref")]
    assert found(desk, "7") == [("item", "Étang 7", "ref")]
    assert found(desk, "310") == [("item", "Q 310", "ref")]


@pytest.mark.parametrize("text", ["étang", "ÉTANG", "tang"])
def test_letters_beyond_ascii_are_found_in_either_case(desk, text):
    assert found(desk, text) == [("item", "Étang 7", "ref")]


@pytest.mark.parametrize("text", ["C-000001-H", "c000001h", "C0000", "c-000001"])
def test_an_identifier_is_found_from_its_beginning(desk, text):
    assert ("item", "Q 31") in [one[:2] for one in found(desk, text)]


def test_a_number_alone_is_of_an_identifier(desk):
    assert found(desk, "000001") == [("item", "Q 31", "identifier")]


def test_facts_are_found_by_words_and_notes_after_them(desk):
    assert found(desk, "chestnut") == [("item", "Q 31", "wood"), ("note", "Q 310", "note")]
    assert found(desk, "nut") == [("item", "Q 31", "wood"), ("note", "Q 310", "note")]
    assert found(desk, "wine") == [("item", "Q 31", "previous")]
    assert found(desk, "'row 4'") == [("item", "Q 310", "place")]


def test_of_several_words_all_must_be_said(desk):
    assert found(desk, "chestnut row") == [("item", "Q 31", "wood")]
    assert found(desk, "hoop chestnut") == [("note", "Q 310", "note")]
    assert found(desk, "chestnut cherry") == []
    assert desk.does("find chestnut cherry").out == "nothing is called 'chestnut cherry' or says so\n"


@pytest.mark.parametrize("text", ["100%", "Q_31", "!", "'\"'", "(", "%"])
def test_signs_are_signs_and_no_pattern(desk, text):
    assert found(desk, text) == []


def test_an_earlier_name_is_told_as_one(desk):
    desk.does("set 'Q 310' ref='Q 400'")
    (one,) = desk.asks("find 'Q 310'")["found"]
    assert (one["name"].split(" · ")[0], one["text"], one["former"]) == ("Q 400", "Q 310", True)
    assert "ref, formerly" in desk.does("find 'Q 310'").out


def test_names_of_recipes_and_sessions(desk):
    desk.does("draw 'Q 31' '100 ml' --ref S1")
    desk.does("draw 'Q 31' '100 ml' --ref S2")
    desk.does("recipe 'Autumn base' --part 'Q 31=1'")
    desk.does("session open 'Autumn panel' --glass S1 --glass S2 --assessor 'Isla Farrow' --amount '5 ml'")
    assert found(desk, "autumn") == [("recipe", "Autumn base", "name"), ("session", "Autumn panel", "name")]


def test_a_tasting_note_is_found_by_its_words(desk):
    desk.does("taste 'Q 31' 'waxy and long' --nose 'pear 3'")
    assert found(desk, "waxy") == found(desk, "pear") == [("tasting", "Q 31", "tasting")]


def test_a_glass_under_its_code_is_not_named(desk):
    """The ballot is found by its words, and says neither the item nor the code."""
    for n in (1, 2):
        desk.does(f"draw 'Q 31' '100 ml' --ref S{n}")
    desk.does("session open Blind --glass S1 --glass S2 --assessor 'Isla Farrow' --amount '5 ml'")
    form = desk.book.parent / "form.csv"
    desk.does(f"session ballot Blind --write-form {form}")
    lines = form.read_text("utf-8").splitlines()
    head = lines[0].split(",")
    place = head.index("nose") if "nose" in head else len(head) - 1
    row = lines[1].split(",")
    row[place] = "zesty"
    form.write_text("\n".join((lines[0], ",".join(row))) + "\n", "utf-8")
    desk.does(f"session ballot Blind {form}")
    (one,) = desk.asks("find zesty")["found"]
    assert (one["kind"], one["id"], one["name"]) == ("tasting", None, "")


def test_no_more_than_asked_for_and_no_more_than_a_field_bears(desk):
    assert len(desk.asks("find q --limit 1")["found"]) == 1
    ran = desk(f"find {'x' * 201}")
    assert ran.status == 1
    assert "between one and 200 characters" in ran.err


def test_the_newest_of_many_come_first():
    """Of 60 casks of one wood, the last 20."""
    book = Book.create(":memory:", house="Quillmere")
    with book.writing():
        for _ in range(60):
            book.record(Draft(Item(book.next_id("cask"), {"wood": "ash"}), 0, "M. Aldane"))
    hits = book.find_all("ash")
    numbers = [int(hit.item[1:-1]) for hit in hits]
    assert len(hits) == 20
    assert numbers == sorted(numbers, reverse=True)
    assert numbers[0] >= 60
