"""The journal as people read it: every kind of entry in one line, with its reason."""

import json
from pathlib import Path

import pytest
from command import Desk, here

from pourbook.book.journal import Logged
from pourbook.words.entry_words import in_words

GOLDEN = Path(__file__).parents[1] / "book" / "golden_journal.jsonl"


def logged(line):
    """An entry of the golden journal, which has every kind in every shape."""
    entry = json.loads(line)
    return Logged(entry["number"], entry["kind"], 0, 0, entry, "")


ENTRIES = [logged(line) for line in GOLDEN.read_text("utf-8").splitlines()]


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda entry: f"{entry.number}-{entry.kind}")
def test_every_entry_can_be_said_in_one_line(entry):
    """What it was, its reason, no identifier without hyphens, nothing in bare milligrams."""
    said = in_words(entry)
    assert entry.entry.get("reason", "") in said
    assert " mg" not in said
    assert "\n" not in said
    body = entry.entry["body"]
    if "item" in body:
        assert f"{body['item'][0]}-{body['item'][1:-1]}-{body['item'][-1]}" in said


def said_of(kind, **body):
    return in_words(Logged(9, kind, 0, 0, {"body": body}, ""), ",")


def test_a_hold_and_its_end_differ():
    """Held and let go again."""
    assert said_of("hold", item="C000001H", held=1) == "hold C-000001-H"
    assert said_of("hold", item="C000001H", held=0) == "release C-000001-H"


def test_facts_say_what_was_set_and_what_ended():
    """A new value, a fact that ended, and an item that is named by its identifier."""
    said = said_of("facts", item="T000002M", facts={"wood": "chestnut", "spirit": "", "revised_from": "T000003K"})
    assert said == "facts T-000002-M: wood chestnut, spirit no longer stated, revised from T-000003-K"


def test_a_stocktake_says_where_and_what_was_found():
    """Begun and ended; a scan with its place, one that nobody can read, one that nobody knows."""
    assert said_of("stocktake", name="May", place="Row 3") == "stocktake May begun: Row 3"
    extra = [{"item": "C000001H", "seen_at": "Row 4"}]
    ended = said_of("stocktake", name="May", ended=1, found=["C000002F"], extra=extra, unknown=["40", "41"])
    assert ended == "stocktake May ended: 1 found, 2 unknown, 1 item elsewhere than in the book"
    assert said_of("seen", stocktake="May", item="C000001H", place="Row 3") == "seen C-000001-H at Row 3: stocktake May"
    unread = said_of("seen", stocktake="May", place="Row 3", illegible=1)
    assert unread == "seen a label at Row 3 (illegible): stocktake May"
    assert said_of("seen", stocktake="May", code="40") == "seen unknown code '40': stocktake May"


def test_an_import_names_its_files():
    """The files, and how much came in."""
    assert said_of("imported", files={"casks.csv": "11"}, items=1, pours=2) == "imported casks.csv: 1 item, 2 pours"


def test_the_ends_of_a_pour_are_said_once():
    """What the verb says is not said again; how it was lost and to whom it went are."""

    def told(verb, source, target, **facts):
        line = {"from": source, "to": target, "mass": 1, "typed": {"amount": "2 l"}, "facts": facts}
        return said_of("pour", verb=verb, lines=[line])

    assert told("loss", "C000001H", "loss", disposition="leak") == "loss: 2 l from C-000001-H (leak)"
    assert told("despatch", "L000001C", "despatch", customer="Ferrow") == "despatch: 2 l from L-000001-C (Ferrow)"
    assert told("reduce", "water", "B000001Y") == "reduce: 2 l of water into B-000001-Y"
    assert told("fill", "origin", "C000001H") == "fill: 2 l into C-000001-H"
    assert told("draw", "C000001H", "V000001R") == "draw: 2 l from C-000001-H into V-000001-R"


def test_amounts_are_in_the_units_of_the_trade():
    """Bottles by their number, what was typed as it was typed, else grams or kilograms with the house's mark."""

    def poured(**line):
        return said_of("pour", verb="pour", lines=[{"from": "B000001Y", "to": "L000001C", **line}]).split(" from ")[0]

    assert poured(mass=64_000_000, facts={"bottles": 80}) == "pour: 80 bottles"
    assert poured(mass=90_115, typed={"amount": "100 ml"}) == "pour: 100 ml"
    assert poured(mass=149_320) == "pour: 149,32 g"
    assert poured(mass=149_200_000) == "pour: 149,200 kg"
    assert poured(all=1) == "pour: all"


def test_the_journal_of_a_house_that_declared_its_figures(tmp_path):
    """Declared figures, a hold, its end and their reasons stand in the list; --at leaves out what happened later."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set zone=UTC")
    desk.does("cask 'Row 1/01' --fill '200 l' --strength 63.5 --spirit malt --when 2019-03-01")
    desk.does("close --when 2020-01-01 --reason 'stock-take'")
    desk.does("account --from 2019-01-01 --to 2019-12-31 --declare 'half-up 0.1'")
    desk.does("hold 'Row 1/01' --reason 'leak suspected'")
    desk.does("release 'Row 1/01' --reason 'stave driven tight'")
    said = desk.does("journal").out
    assert "declared: " in said
    assert "hold C-000001-H; leak suspected" in said
    assert "release C-000001-H; stave driven tight" in said
    by_then = desk.asks("journal --at 2020-01-01")["entries"]
    assert [entry["kind"] for entry in by_then] == ["item", "pour", "close"]
