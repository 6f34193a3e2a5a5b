"""The dossier in three forms at once, by the command: the same figures, and the book held against each of them."""

import json
import sqlite3

import pytest
from chains import NAMES, hashed
from command import Desk, here

from pourbook.errors import Refused
from pourbook.paperwork.paper_compared import _differing
from pourbook.words.paper_figures import Notation


@pytest.fixture
def made(vatted_book, tmp_path):
    """The three files, and what the command said."""
    files = {form: tmp_path / f"dossier.{form}" for form in ("pdf", "html", "json")}
    outputs = [word for path in files.values() for word in ("-o", path)]
    return files, here("dossier", "Lot 24-1", *outputs, "--json", book=vatted_book).done().json


def test_one_entry_records_all_three(made, vatted_book):
    files, told = made
    assert len(told["entries"]) == 1
    assert told["file"] == ", ".join(map(str, files.values()))
    assert all(path.exists() for path in files.values())
    assert files["pdf"].read_bytes().startswith(b"%PDF-")


def test_html_has_the_figures_of_the_json(made):
    """Shares, masses and litres of the document, rounded as paper rounds, stand in the page."""
    files, told = made
    document, page = json.loads(files["json"].read_text("utf-8")), files["html"].read_text("utf-8")
    assert told["dossier"] == document
    notation = Notation()
    for origin in document["origins"]:
        for text in (notation.percent(origin["share"], 4), notation.kg(origin["mass_mg"])):
            assert f">{text}</td>" in page
    for edge in document["flow"]["edges"]:
        if edge["ml"]:
            assert f">{notation.fixed(edge['ml'] / 1000, 3)}</td>" in page
    assert f"<code>{document['heads'][-1]}</code>" in page


def test_each_form_vouches_for_the_history_behind_it(made, vatted_book):
    files, told = made
    for form in ("json", "html"):
        ran = here("verify", "--against", files[form], "--json", book=vatted_book).done()
        assert ran.json["against"]["agreed"] == told["at_entry"]
        assert ran.json["against"]["heads"] == len(told["dossier"]["heads"])


def test_a_book_rewritten_behind_the_dossier_is_caught_and_roughly_placed(made, vatted_book):
    """The chain is computed anew after the change; the heads the dossier carries enclose it."""
    from pourbook.book.journal import GENESIS, chain

    files, told = made
    changed = next(gauge["entry"] for gauge in told["dossier"]["gauges"])
    with sqlite3.connect(vatted_book) as connection:
        connection.execute(
            "UPDATE entry SET bytes = replace(bytes, 'dip rod 2', 'dip rod 3') WHERE number = ?", (changed,)
        )
        head, coded = GENESIS, hashed(connection.execute(NAMES))
        for number, text in connection.execute("SELECT number, bytes FROM entry ORDER BY number").fetchall():
            head = chain(head, coded(text).encode())
            connection.execute("UPDATE entry SET hash = ? WHERE number = ?", (head, number))
    connection.close()
    ran = here("verify", "--against", files["json"], "--json", book=vatted_book)
    against = ran.json["against"]
    assert (ran.status, ran.json["faults"]) == (1, [])
    assert against["agreed"] < changed <= against["differs"]
    assert against["differs"] - against["agreed"] <= 4


# -- a paper that comes back -----------------------------------------------------------------


def changed_paper(files, change):
    """The dossier as JSON with something else in it: its path."""
    document = json.loads(files["json"].read_text("utf-8"))
    change(document)
    files["json"].write_text(json.dumps(document), "utf-8")
    return files["json"]


def test_a_dossier_says_what_the_book_said(made, vatted_book):
    """Of every field; nothing was recorded since but the paper itself."""
    ran = here("verify", "--against", made[0]["json"], "--json", book=vatted_book).done()
    assert ran.json["paper"] | {"text": ""} == {
        "lot": made[1]["id"], "entry": made[1]["at_entry"], "agrees": True, "then": [], "since": [],
        "withdrawn": [], "text": "",
    }  # fmt: skip


@pytest.mark.parametrize("people", ["codes", "names"])
def test_a_withdrawal_makes_no_earlier_dossier_false(vatted_book, tmp_path, people):
    """Their initials, or names, are told as what cannot be compared; whatever else differs is found as before."""
    desk, path = Desk(vatted_book, here), tmp_path / "d.json"
    dossier = desk.asks(f"dossier 'Lot 24-1' --people {people} -o {path}")["dossier"]
    who = next(one["id"] or one["name"] for one in dossier["people"] if people == "names" or "/" in one["id"])
    name = next(one["who"] for one in desk.asks("journal --names")["entries"] if one["kind"] == "pour")
    desk.does(f"person '{name}' --withdraw --confirm")
    ran = here("verify", "--against", path, "--json", book=vatted_book)
    assert (ran.status, ran.json["paper"]["then"], ran.json["paper"]["since"]) == (0, [], [])
    assert who in ran.json["paper"]["withdrawn"]
    assert (
        f"cannot be compared: {', '.join(ran.json['paper']['withdrawn'])}" in desk.does(f"verify --against {path}").out
    )
    paper = json.loads(path.read_text("utf-8"))
    paper["strength_vol"] += 0.1
    path.write_text(json.dumps(paper), "utf-8")
    (difference,) = here("verify", "--against", path, "--json", book=vatted_book).json["paper"]["then"]
    assert difference["place"] == "strength vol"


def test_somebody_without_a_name_has_a_code_that_says_so(vatted_book, tmp_path):
    desk = Desk(vatted_book, here)
    name = next(one["who"] for one in desk.asks("journal --names")["entries"] if one["kind"] == "pour")
    desk.does(f"person '{name}' --withdraw --confirm")
    ids = [one["id"] for one in desk.asks(f"dossier 'Lot 24-1' -o {tmp_path / 'd.json'}")["dossier"]["people"]]
    assert [one for one in ids if one.startswith("unnamed/")]
    assert not [one for one in ids if one.startswith("UP")]


def test_figures_that_are_shown_alike_do_not_differ():
    assert list(_differing({"litres": 16931.7766000001}, {"litres": 16931.7766000002})) == []
    assert [one.place for one in _differing({"litres": 16931.7766}, {"litres": 16931.7767})] == ["litres"]


CHANGES = {
    "strength vol": lambda paper: paper.update(strength_vol=paper["strength_vol"] + 0.1),
    "upstream": lambda paper: paper["upstream"][0].update(on_hand_l=1.0),
    "origins": lambda paper: paper["origins"][0].update(share=0.5),
    "corrections": lambda paper: paper["corrections"].pop(),
    "people": lambda paper: paper["people"][0].update(part="nothing"),
    "despatches": lambda paper: paper["despatches"][0].update(bottles=1),
}


@pytest.mark.parametrize("part", CHANGES)
def test_any_figure_that_differs_is_named(made, vatted_book, part):
    """Contents, origins, shares, corrections: the head alone agrees with all of them."""
    path = changed_paper(made[0], CHANGES[part])
    ran = here("verify", "--against", path, "--json", book=vatted_book)
    assert ran.status == 1
    assert ran.json["against"]["agrees"]
    (difference,) = ran.json["paper"]["then"]
    assert difference["place"].split(",")[0] == part
    said = here("verify", "--against", path, book=vatted_book).out
    assert f"{difference['place']}: {difference['before']} on the paper, {difference['after']} in the book" in said


def test_what_was_recorded_since_is_named_and_no_fault(made, vatted_book):
    here("loss", "Row 4/02", "1 l", "--kind", "leak", "--confirm", book=vatted_book).done()
    ran = here("verify", "--against", made[0]["json"], "--json", book=vatted_book).done()
    assert ran.json["paper"]["then"] == []
    places = {one["place"] for one in ran.json["paper"]["since"]}
    assert "losses, leak, entries" in places
    assert any(place.startswith("upstream, ") for place in places)
    assert "changed in the book since then:" in here("verify", "--against", made[0]["json"], book=vatted_book).out


def test_a_head_beyond_the_end_is_told_as_such(made, vatted_book):
    """The book lost its end, or is another one: not that one entry differs."""
    last = made[1]["at_entry"] + 1
    ran = here("verify", "--against", f"{last + 10}:{'ab' * 32}", "--json", book=vatted_book)
    assert ran.status == 1
    assert ran.json["against"]["beyond"] == last + 10
    text = ran.json["against"]["text"]
    assert text.startswith(f"the book ends at entry {last}, before entry {last + 10}, which the evidence vouches for")


def test_the_symbol_of_a_dossier_is_known_when_it_is_read(made, vatted_book):
    """By its text, and by a camera from the paper; with a book, whether that still holds the history."""
    files, told = made
    head = f"pourbook:head:{told['at_entry']}:{told['dossier']['imprint']['head_hash']}"
    ran = here("scan", head, "--json", book=vatted_book).done()
    assert ran.json["kind"] == "journal hash"
    assert f"the history up to entry {told['at_entry']} is unchanged" in ran.json["state"]
    assert f"the journal hash of entry {told['at_entry']}" in here("scan", head).done().out
    other = head[:-4] + ("0000" if not head.endswith("0000") else "1111")
    assert "the histories differ" in here("scan", other, book=vatted_book).out
    seen = here("read", files["pdf"], "--json", book=vatted_book).done().json["codes"]
    assert [one["kind"] for one in seen if head in one["text"]] == ["journal hash"]


def test_a_lot_whose_only_filling_was_voided_says_so(vatted, tmp_path):
    """Not that nothing was ever poured into it."""
    house = vatted
    number = house.pour("B1", "L3", 1000, verb="bottle", at="2024-06-02").numbers[-1]
    (voided,) = house.void(number, at="2024-06-03").numbers
    with pytest.raises(Refused, match=rf"the only pour into L-000003-8 was voided: entry {number}, by entry {voided}"):
        house.book.trace_back(house.id("L3"))
