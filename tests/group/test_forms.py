"""A journal hashed anew whose entries no program of ours wrote: the join names site, entry and what is wrong."""

import copy
import json
import re

import pytest
from golden_books import golden_book
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Book
from pourbook.actions.joining import join
from pourbook.book.entries import House as Settings
from pourbook.book.entry_forms import misshapen
from pourbook.book.journal import GENESIS, canonical, chain
from pourbook.book.kinds import KIND_OF_NAME
from pourbook.errors import Damaged, PourbookError
from pourbook.exchange.output.entries_export import write_entries

HUGE = 2**60


@pytest.fixture(scope="module")
def exported(tmp_path_factory):
    """What a site exports whose book has every kind of entry: the first line, the entries, the last line."""
    folder = tmp_path_factory.mktemp("site")
    house = golden_book(folder / "a.pourbook")
    house.record(Settings({"site": "A", "numbers": "1-99999"}))
    with (folder / "a.jsonl").open("w", encoding="utf-8") as file:
        write_entries(house.book, file, names=True)
    house.book.close()
    begin, *entries, end = map(json.loads, (folder / "a.jsonl").read_text("utf-8").splitlines())
    return begin, entries, end


def written(path, exported, entries):
    """The file with these entries, whose hashes lead to its end."""
    begin, _, end = exported
    head, texts = GENESIS, [canonical(entry).decode() for entry in entries]
    for text in texts:
        head = chain(head, text.encode())
    end = end | {"end": len(texts), "number": len(texts), "head": head.hex()}
    path.write_text("".join(f"{line}\n" for line in (json.dumps(begin), *texts, json.dumps(end))), "utf-8")
    return path


def places(value, path=()):
    """Where something stands in a value: every member and every element, with the way to it."""
    named = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in named:
        yield (*path, key)
        yield from places(inner, (*path, key))


def at(value, path):
    for key in path:
        value = value[key]
    return value


def put(entry, path, value):
    """The entry with another value in that place; None takes it away."""
    entry = copy.deepcopy(entry)
    *way, last = path
    if value is None:
        del at(entry, way)[last]
    else:
        at(entry, way)[last] = value
    return entry


# -- what is never written -------------------------------------------------------------------


def test_all_that_is_written_has_its_form(exported):
    _, entries, _ = exported
    assert {entry["kind"] for entry in entries} == set(KIND_OF_NAME)
    assert [misshapen(entry) for entry in entries if misshapen(entry)] == []


@pytest.mark.parametrize("kind", sorted(KIND_OF_NAME))
def test_nothing_stands_in_the_place_of_something_else(exported, kind):
    """Whatever is no set of names becomes one, a set becomes a list, a number becomes too large, wherever it stands."""
    for entry in (one for one in exported[1] if one["kind"] == kind):
        for path in places(entry):
            value = at(entry, path)
            assert misshapen(put(entry, path, [] if isinstance(value, dict) else {})), path
            if isinstance(value, int) and path != ("number",):
                assert misshapen(put(entry, path, HUGE)), path
            if isinstance(value, str) and path[-1] == "item":
                assert misshapen(put(entry, path, "C000001Z")), path


@pytest.mark.parametrize("kind", sorted(KIND_OF_NAME))
def test_nothing_unknown_is_said_and_nothing_needed_left_out(exported, kind):
    entry = next(one for one in exported[1] if one["kind"] == kind)
    for path in (("frobnicated",), ("body", "frobnicated")):
        assert misshapen(put(entry, path, 1)) == f"'{'.'.join(path)}' has no place there"
    for name in ("body", "happened", "recorded", "who", "kind"):
        assert misshapen(put(entry, (name,), None))
    for path in (("who",), ("kind",), ("happened",)):
        assert misshapen(put(entry, path, 7))


@pytest.mark.parametrize(
    ("kind", "change", "problem"),
    [
        ("note", {"kind": "nota"}, "'kind' is none that pourbook knows"),
        ("note", {"who": 7}, "'who' is not text"),
        ("note", {"who": " "}, "'who' names nobody"),
        ("gauge", {"body": {"item": "P000002G", "mass": 1}}, "'body.item' holds no liquid"),
        ("note", {"happened": "2026-5-1"}, "'happened' is not a moment as the journal writes it"),
        ("facts", {"body": {"item": "C000001H", "facts": ["ref"]}}, "'body.facts' is not a set of named values"),
        ("hold", {"body": {"item": "C800000014004R", "held": 1}}, "'body.item' is not an identifier that a site gives"),
        ("void", {"body": {"entry": 99}}, "entry 99 cannot be taken back"),
        ("void", {"body": {"entry": 1}}, "entry 1 cannot be taken back"),
        ("note", {"body": {"item": "C000001H", "text": "a\0b"}}, "which no table keeps"),
    ],
)
def test_the_site_its_own_number_and_what_is_wrong_are_told(exported, tmp_path, kind, change, problem):
    entries = copy.deepcopy(exported[1])
    entry = next(one for one in entries if one["kind"] == kind)
    entry |= change
    with pytest.raises(Damaged) as refusal:
        join(str(tmp_path / "g.pourbook"), [str(written(tmp_path / "a.jsonl", exported, entries))])
    assert f"entry {entry['number']} of site A is not made as such an entry is: " in refusal.value.message
    assert problem in refusal.value.message
    assert "ask the site for its entries again" in refusal.value.remedy
    assert not (tmp_path / "g.pourbook").exists()


def test_a_line_says_all_that_it_needs(exported):
    pour = next(one for one in exported[1] if one["kind"] == "pour" and one["body"]["lines"][0]["from"] == "origin")
    line = ("body", "lines", 0)
    assert misshapen(put(pour, (*line, "ethanol"), None)) == "'body.lines[0].ethanol' is missing"
    assert misshapen(put(pour, (*line, "to"), "loss")) == "'body.lines[0]' leads nowhere"
    assert misshapen(put(pour, (*line, "mass"), 1)) == "'body.lines[0]' has amounts that cannot be"
    assert misshapen(put(pour, ("body", "lines"), [])) == "'body.lines' are none, or too many"


# -- what only the whole journal shows ---------------------------------------------------------


def renumbered(entries):
    return [entry | {"number": number} for number, entry in enumerate(entries, 1)]


def again(entries, kind):
    return copy.deepcopy(next(one for one in entries if one["kind"] == kind))


@pytest.mark.parametrize(
    ("added", "told"),
    [
        (("item",), "entry {end} of site A is not made as such an entry is: entry 2 opened C-000001-H already"),
        (("void",), "entry {end} of site A is not made as such an entry is: entry 16 cannot be taken back"),
        (
            ("gauge",),
            "the journal of site A cannot be followed beyond its entry {end}: C-000001-H is empty in the book",
        ),
    ],
)
def test_what_cannot_follow_is_told_with_the_sites_own_number(exported, tmp_path, added, told):
    entries = [*copy.deepcopy(exported[1]), *(again(exported[1], kind) for kind in added)]
    if added == ("gauge",):
        read = {"fraction": 5, "density": 9, "book_density": 9}
        entries[-1] |= {"happened": "1999-01-01T00:00:00Z", "body": {"item": "C000001H", **read}}
    with pytest.raises(Damaged) as refusal:
        join(str(tmp_path / "g.pourbook"), [str(written(tmp_path / "a.jsonl", exported, renumbered(entries)))])
    assert told.format(end=len(entries)) in refusal.value.message
    assert "ask the site" in refusal.value.remedy
    assert "restore" not in refusal.value.remedy
    assert not (tmp_path / "g.pourbook").exists()


def test_a_pour_into_what_nobody_opened_is_told(exported, tmp_path):
    entries = copy.deepcopy(exported[1])
    pour = next(one for one in entries if one["kind"] == "pour")
    pour["body"]["lines"][0]["to"] = "C000077E"
    with pytest.raises(Damaged, match=f"entry {pour['number']} of site A .*: no entry before it opened C-000077-E"):
        join(str(tmp_path / "g.pourbook"), [str(written(tmp_path / "a.jsonl", exported, entries))])


# -- whatever else somebody writes -------------------------------------------------------------

_TEXTS = ("", "x", "C000001H", "V000099R", "water", "loss", "2026-01-01T00:00:00Z")
_ANYTHING = st.sampled_from((None, *_TEXTS, 0, 1, -1, 7, HUGE)) | st.just([]) | st.just(["x"]) | st.just({"x": "y"})


@given(st.data())
def test_a_mutated_journal_is_refused_by_its_entry_or_is_a_sound_group(exported, tmp_path_factory, data):
    entries = copy.deepcopy(exported[1])
    index = data.draw(st.integers(0, len(entries) - 1), "entry")
    path = data.draw(st.sampled_from(sorted(places(entries[index]), key=str)), "place")
    changed = entries[index] = put(entries[index], path, data.draw(_ANYTHING, "instead"))
    folder = tmp_path_factory.mktemp("mutated")
    group = folder / "g.pourbook"
    try:
        join(str(group), [str(written(folder / "a.jsonl", exported, entries))])
    except PourbookError as refusal:
        said = refusal.message
    else:
        said = ""
    if said:
        assert re.search(r"site A.* entry \d|entry \d+ of site A", said) or changed["kind"] == "house", said
        assert not group.exists()
        return
    with Book.open(group) as book:
        assert book.verify().faults == ()
        assert len(list(book.entries_listed())) == len(entries)
