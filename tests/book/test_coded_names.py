"""Names and the references that stand for them: one text into the other, and what the chain says of a lost name."""

import json
import subprocess
import sys

import pytest
from command import here
from eventful import eventful_book
from hypothesis import given
from hypothesis import strategies as st

from pourbook.book.coded_names import Names, put_names, readable_names, reference_of
from pourbook.book.journal import canonical, parsed, written_entries
from pourbook.codes.identifiers import KINDS

names = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12).filter(lambda name: name != "pourbook")


@st.composite
def entries(draw):
    """Entries in which people stand wherever they can, under names with every sign."""
    name = lambda: draw(names)  # noqa: E731
    body = draw(
        st.sampled_from(
            [
                lambda: {"assessor": name(), "item": "C000001H", "text": name()},
                lambda: {"assessors": [name(), name()], "flights": [{"assessor": name(), "glasses": []}]},
                lambda: {"guests": [name()], "name": name()},
                lambda: {"facts": {"name": name(), "note": name(), "ref": name()}, "item": "P000002G"},
                lambda: {"item": "P000002G", "text": name()},
                lambda: {"scope": [{"kind": "person", "name": name()}, {"kind": "water", "name": "spring"}]},
                lambda: {"lines": [{"facts": {"contact": name(), "witness": name()}, "from": "C000001H"}]},
                lambda: {"settings": {"approvers": name(), "contact": name()}},
                lambda: {"fingerprint": "ab", "holder": name()},
            ]
        )
    )()
    told = {"body": body, "happened": "2020-01-01T00:00:00Z", "kind": draw(st.sampled_from(["note", "pour"]))}
    told |= {"number": 7, "recorded": "2020-01-01T00:00:00Z", "who": name()}
    if body.get("lines"):
        told["kind"] = "pour"
    elif told["kind"] == "pour":
        told["kind"] = "note"
    return told | ({"login": name()} if draw(st.booleans()) else {})


@given(entries())
def test_one_text_becomes_the_other_and_back(entry):
    """Canonical both; coded again nothing changes; what was named is named no more, and comes back to the letter."""
    text, found = canonical(entry).decode(), {}

    def code(name, item):
        if name.startswith("person:"):
            return name
        reference = reference_of("5a", name, item)
        found[reference] = name
        return reference

    coded = put_names(text, code)
    assert canonical(parsed(coded)).decode() == coded
    assert put_names(coded, code) == coded
    assert readable_names(coded, found) == text
    told = json.loads(coded)
    assert told["who"].startswith("person:")
    assert all(one.startswith("person:") for one in _people(told["body"]))


def _people(body):
    """Whoever stands in a body, told apart by hand."""
    yield from body.get("assessors", [])
    yield from body.get("guests", [])
    yield from (flight["assessor"] for flight in body.get("flights", []))
    yield from (one["name"] for one in body.get("scope", []) if one["kind"] == "person")
    places = [body, body.get("settings", {}), *(line["facts"] for line in body.get("lines", []))]
    yield from (
        place[name]
        for place in places
        for name in ("assessor", "contact", "witness", "approvers", "holder")
        if name in place
    )
    if body.get("item", "")[:1] == KINDS["person"]:
        yield from body.get("facts", {}).values()
        yield from filter(None, [body.get("text")])


def test_a_name_with_another_reference_and_a_lost_one_are_named():
    """The table of names lies outside the chain, and the chain holds what it must be."""
    for damage in (
        "DELETE FROM person_name WHERE name = 'Isla Farrow'",
        "UPDATE person_name SET salt = '00' WHERE name = 'Isla Farrow'",
    ):
        with eventful_book() as house:
            house.book.store.execute(damage)
            (fault, *_) = house.book.verify().faults
            assert fault.file == "journal"
            assert "is not what was recorded" in fault.problem
            assert "table of names" in fault.problem


def test_another_name_in_bytes_and_table_does_not_fit_the_chain():
    """Whoever gives a deed to somebody else must find a salt for it: 130 bits."""
    with eventful_book() as house:
        store = house.book.store
        row = store.query("SELECT reference, salt FROM person_name WHERE name = 'Isla Farrow'")[0]
        store.execute("UPDATE person_name SET name = 'Tom Other' WHERE reference = ?", (row[0],))
        store.execute("UPDATE entry SET bytes = replace(bytes, 'Isla Farrow', 'Tom Other')")
        assert "is not made of it" in house.book.verify().faults[0].problem
        store.execute(
            "UPDATE person_name SET reference = ? WHERE name = 'Tom Other'", (reference_of(row[1], "Tom Other"),)
        )
        assert "its hash differs" in house.book.verify().faults[0].problem


def test_two_books_give_the_same_person_unlike_references(tmp_path):
    """Salts are drawn, 16 bytes each: nobody recognises a name by what stands for it."""
    references = []
    for number in (1, 2):
        path = tmp_path / f"{number}.pourbook"
        for words in (("create", str(path), "--house", "Quillmere"), ("location", "Row 1", "--who", "Isla Farrow")):
            book = () if words[0] == "create" else ("--book", str(path))
            subprocess.run([sys.executable, "-m", "pourbook", *book, *words], check=True, capture_output=True)
        entry = here("journal", "--limit", "1", "--json", book=path).done().json["entries"][0]
        references.append(entry["who"])
    assert references[0] != references[1]


def test_every_name_of_a_book_has_its_row():
    """Nothing in a journal names anybody whom the table does not know."""
    with eventful_book() as house:
        coded = Names(house.book.store).coded
        assert all("Isla Farrow" not in coded(text) for _, text in written_entries(house.book.store))


@pytest.mark.parametrize("who", ["P000002G", "pourbook", "person:JUGCYWD3C3ZDCQFTQ3UW5TOODU"])
def test_what_is_no_name_stays(who):
    """A badge's number, the program itself, and a reference."""
    with eventful_book() as house:
        text = canonical({"body": {}, "happened": "x", "kind": "note", "number": 1, "who": who}).decode()
        assert Names(house.book.store).coded(text) == text
