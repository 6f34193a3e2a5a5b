"""A dossier as of a moment, and one as the book knew it after an entry: by comparison with papers printed then."""

import json

import pytest
from command import here
from house import moment
from recorded_lot import packed_lot, sent

from pourbook.book.as_it_stood import AsOf
from pourbook.errors import Refused, Unknown
from pourbook.papers.dossier.dossier_html import dossier_page
from pourbook.papers.dossier.dossier_json import document
from pourbook.papers.dossier.dossier_paper import dossier
from pourbook.paperwork.dossier_of import dossier_of

MARCH = "2024-03-31 23:59"


def told(book, lot, as_of=None, leaving=("imprint", "known_at", "at", "at_utc")):
    values = dossier_of(book, lot, "codes", as_of) if as_of else dossier_of(book, lot)
    return {name: value for name, value in document(values).items() if name not in leaving}


@pytest.fixture
def then():
    """What the dossier said in March, where the journal ended, and the house as it is after June, with a correction."""
    with packed_lot(2) as house:
        lot = house.id("L1")
        said, entry = told(house.book, lot), house.book.head()[0]
        sent(house)
        house.note("C1", "a late note on an early day", at="2024-02-03")
        house.facts("L1", owner="Ashgrove Merchants", at="2024-06-20")
        yield said, entry, house, lot


def test_as_known_after_an_entry_it_says_what_the_paper_said_then(then):
    """Every row and every head; not the note, though it is of an earlier day."""
    said, entry, house, lot = then
    assert told(house.book, lot, AsOf(known=entry)) == said
    assert told(house.book, lot) != said


def test_as_of_a_moment_it_has_what_happened_until_then_whenever_it_was_recorded(then):
    """The note on an early day is in it; despatches and the new owner are not."""
    said, _, house, lot = then
    found = told(house.book, lot, AsOf(at_us=moment(MARCH)))
    assert "a late note on an early day" in [row["text"] for row in found["remarks"]]
    for name in ("heads", "remarks", "people"):
        had, has = said.pop(name), found.pop(name)
        assert had != has
    assert found == said


def test_before_the_lot_was_entered_the_paper_is_refused_with_what_to_give_instead(then):
    """Not that it is not in the book: today it is."""
    _, _, house, lot = then
    with pytest.raises(Refused, match="not yet in the book at entry 1") as refused:
        dossier_of(house.book, lot, as_of=AsOf(known=1))
    assert "give an entry after" in refused.value.remedy


def test_both_together(then):
    said, entry, house, lot = then
    early = AsOf(moment("2024-03-06 12:00"), entry)
    found = told(house.book, lot, early)
    assert (found["gtin"], said["gtin"]) == ("", "9521234005674")
    assert found["origins"] == said["origins"]


def test_the_paper_says_plainly_which_it_is(then, tmp_path):
    _, entry, house, lot = then
    values = dossier_of(house.book, lot, "codes", AsOf(moment(MARCH), entry))
    page = dossier_page(values)
    assert "The lot as it stood at 2024-04-01 00:59 BST: what happened later is not in it." in page
    assert f"As known at entry {entry} of the journal: what was recorded since is not in it." in page
    assert f"As of 2024-04-01 00:59 BST. As known at entry {entry}, 2024-03-07" in page
    assert values.imprint.entries == entry
    assert dossier(values) == dossier(dossier_of(house.book, lot, "codes", AsOf(moment(MARCH), entry)))


def test_a_lot_before_it_was_filled_and_an_entry_that_is_not_there_are_refused(then):
    _, _, house, lot = then
    with pytest.raises(Refused, match="nothing had been poured into L-000001-C by 2024-03-05"):
        dossier_of(house.book, lot, "codes", AsOf(moment("2024-03-05")))
    with pytest.raises(Unknown, match="the journal has no entry 9999"):
        dossier_of(house.book, lot, "codes", AsOf(known=9999))
    with pytest.raises(Unknown, match="the journal has no entry 0"):
        dossier_of(house.book, lot, "codes", AsOf(known=0))


@pytest.mark.parametrize("form", [("--at", MARCH), ("--as-known-at", "29"), ("--at", MARCH, "--as-known-at", "29")])
def test_such_a_paper_is_compared_as_of_its_own_moment(tmp_path, form):
    """By the command: it agrees; a figure that was changed is named; what was recorded since is no fault."""
    path, paper = tmp_path / "quillmere.pourbook", tmp_path / "dossier.json"
    with packed_lot(2, path) as house:
        assert house.book.head()[0] == 29
        lot = house.id("L1")
        sent(house)
    here("dossier", lot, *form, "-o", paper, book=path).done()
    ran = here("verify", "--against", paper, "--json", book=path).done()
    assert ran.json["paper"]["agrees"]
    assert ran.json["against"]["agrees"]
    said = json.loads(paper.read_text("utf-8"))
    assert said["despatches"] == []
    said["lpa_l"] += 0.5
    paper.write_text(json.dumps(said), "utf-8")
    ran = here("verify", "--against", paper, "--json", book=path)
    assert ran.status == 1
    assert [one["place"] for one in ran.json["paper"]["then"]] == ["lpa l"]
