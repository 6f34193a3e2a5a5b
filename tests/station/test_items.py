"""An item at its lasting address, and what is done with it there: the same entries as the command makes."""

import re
import shutil
from html import unescape

import pytest
from axe import looked_over
from command import here
from stations import PINS

from pourbook import Book
from pourbook.actions.happening import Happening

CASK, BATCH, TRIAL, LOT, VIAL = "C000002F", "B000004S", "T000003K", "L0000038", "V000001R"
PARTIAL = {"HX-Request": "true"}


def shown(book, item=CASK):
    """An item as the command knows it."""
    return here("show", item, "--history", "--json", book=book).done().json


def last_entry(book):
    """The latest entry of the journal."""
    return here("journal", "--limit", "1", "--json", "--names", book=book).done().json["entries"][-1]


def words(answer):
    """What stands on a page, without its marks."""
    text = re.sub(r"<(script|style)[^>]*>.*?</\1>", "", answer.text, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


@pytest.mark.parametrize("text", ["C000002F", "C-000002-F", "c-000002-f", "c000002f"])
def test_an_item_has_one_lasting_address(caller, text):
    """Hyphens or not, any case: what is on paper for years leads here."""
    page = caller.get(f"/item/{text}")
    assert page.status_code == 200
    assert 'data-item="C000002F"' in page.text
    assert "C-000002-F" in re.search(r"<h1>.*?</h1>", page.text, re.DOTALL)[0]


@pytest.mark.parametrize(("text", "status"), [("C000002X", 400), ("C000999", 404), ("C000099X", 404), ("nothing", 404)])
def test_what_is_no_item_is_not_found(caller, text, status):
    """A mistyped check character is malformed; a number that nobody took is not there."""
    from pourbook.codes.identifiers import write

    text = write("cask", 4000) if text == "C000099X" else text
    page = caller.get(f"/item/{text}")
    assert page.status_code == status
    assert "<h1>" in page.text


@pytest.mark.parametrize("item", [CASK, BATCH, TRIAL, LOT, VIAL])
def test_a_page_has_the_figures_of_the_command(caller, open_house, item):
    """Contents, strength and history are those that `pourbook show` answers."""
    page, known = words(caller.get(f"/item/{item}")), shown(open_house.book, item)
    litres = known["volume_ml_20c"]
    told = f"{litres:.1f} ml" if litres < 1000 else f"{litres / 1000:.2f} l"
    assert told in page
    assert f"{known['strength_20c']:.2f}" in page
    for row in known["history"]:
        assert str(row["entry"]) in page


def test_parts_of_a_trial_stand_as_bar_and_figure(caller, open_house):
    """Each part that was poured has its share, and names what it came from."""
    page, known = caller.get(f"/item/{TRIAL}"), shown(open_house.book, TRIAL)
    assert len(known["made_of"]) > 2
    for part in known["made_of"]:
        assert f'href="/item/{part["component"]}"' in page.text
        assert f"{part['fraction'] * 100:.2f}" in words(page)
    assert page.text.count('class="bar"') >= len(known["made_of"])


def test_every_page_of_a_history_goes_on_where_the_one_before_ended(caller, open_house):
    """The latest first; a cursor, and nothing twice."""
    with Book.open(open_house.book) as book:
        for number in range(55):
            book.note(Happening("M. Aldane"), VIAL, f"looked at, {number}")
    first = caller.get(f"/item/{VIAL}/history")
    before = re.search(r"\?before=(\d+)", first.text)[1]
    second = caller.get(f"/item/{VIAL}/history?before={before}")
    assert "looked at, 54" in first.text
    assert "looked at, 4<" not in first.text
    assert "looked at, 4 " in words(second)
    assert "looked at, 5 " not in words(second)
    assert caller.get(f"/item/{VIAL}/history?before=x").status_code == 400


# -- deeds -------------------------------------------------------------------------------


def test_a_note_is_that_of_whoever_is_signed_in(as_role, house_with_accounts):
    """And is escaped wherever it is shown."""
    technician = as_role("technician")
    answer = technician.post(f"/item/{CASK}/note", {"text": "<script>alert(1)</script> dry", "subject": "inspection"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/item/{CASK}")
    entry = last_entry(house_with_accounts.book)
    assert (entry["who"], entry["body"]["subject"]) == (PINS["technician"][0], "inspection")
    page = technician.get(f"/item/{CASK}").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt; dry" in page


def test_a_hold_needs_its_reason_and_stops_a_draw(as_role, house_with_accounts):
    """What is refused is said in the form; a blender ends the hold."""
    technician, blender = as_role("technician"), as_role("blender")
    refused = technician.post(f"/item/{BATCH}/hold", {"reason": ""}, headers=PARTIAL)
    assert 400 <= refused.status_code < 500
    assert 'class="refusal' in refused.text
    technician.post(f"/item/{BATCH}/hold", {"reason": "haze in the sample"})
    assert "on hold" in words(technician.get(f"/item/{BATCH}"))
    assert technician.post(f"/item/{BATCH}/release", {"reason": "clear"}).status_code == 403
    assert f'action="/item/{BATCH}/release"' not in technician.get(f"/item/{BATCH}").text
    assert f'action="/item/{BATCH}/release"' in blender.get(f"/item/{BATCH}").text
    blender.post(f"/item/{BATCH}/release", {"reason": "clear again"})
    assert last_entry(house_with_accounts.book)["body"] == {"item": BATCH, "held": 0}


def test_only_facts_that_were_changed_are_set(as_role, house_with_accounts):
    """The form holds all facts; what stays as it was is no entry."""
    cellar = as_role("cellar")
    page = cellar.get(f"/item/{CASK}").text
    fields = dict(re.findall(r'name="((?:fact|was)-[a-z_]+)" (?:type="text" )?value="([^"]*)"', page))
    assert fields["fact-wood"] == fields["was-wood"]
    cellar.post(f"/item/{CASK}/facts", fields | {"fact-toast": "medium", "fact-capacity_l": "201"})
    assert last_entry(house_with_accounts.book)["body"]["facts"] == {"toast": "medium", "capacity_l": "201"}
    nothing = cellar.post(f"/item/{CASK}/facts", fields, headers=PARTIAL)
    assert nothing.status_code == 422
    assert "no fact was changed" in nothing.text


def test_a_gauge_by_weight_is_the_entry_of_the_command(as_role, house_with_accounts, tmp_path):
    """Every reading goes through the same action, so the bodies are equal."""
    book = tmp_path / "same.pourbook"
    shutil.copy(house_with_accounts.book, book)
    readings = {"gross": "70 kg", "tare": "42,0", "hydrometer": "59.8", "sample_temperature": "14"}
    said = as_role("technician").post(f"/item/{CASK}/gauge", readings | {"tare": "42.0"}, headers=PARTIAL)
    if said.status_code == 409:  # far from the book: a person answers
        readings |= {"confirm": "yes", "kind": "leak"}
        said = as_role("technician").post(f"/item/{CASK}/gauge", readings | {"tare": "42.0"})
    assert said.status_code in (204, 303), said.text
    here(
        "gauge", CASK, "--gross", "70 kg", "--tare", "42.0", "--hydrometer", "59.8", "--sample-temperature", "14",
        "--kind", "leak", "--confirm", book=book,
    ).done()  # fmt: skip
    ours, theirs = last_entry(house_with_accounts.book)["body"], last_entry(book)["body"]
    assert ours.pop("facts", {}) == theirs.pop("facts", {})
    assert ours == theirs


def test_an_unlikely_gauge_is_asked_about_in_its_form(as_role, house_with_accounts):
    """Nothing is recorded before the yes, and the yes is a button of the same form."""
    technician, before = as_role("technician"), last_entry(house_with_accounts.book)["number"]
    lacking = technician.post("/item/C0000139/gauge", {"amount": "20 l"}, headers=PARTIAL)
    assert (lacking.status_code, 'name="confirm"' in lacking.text) == (409, False)  # it must say where it went first
    asked = technician.post("/item/C0000139/gauge", {"amount": "20 l", "kind": "leak"}, headers=PARTIAL)
    assert asked.status_code == 409
    assert 'name="confirm"' in asked.text
    assert last_entry(house_with_accounts.book)["number"] == before
    technician.post("/item/C0000139/gauge", {"amount": "20 l", "kind": "leak", "confirm": "yes"})
    assert last_entry(house_with_accounts.book)["number"] == before + 1


def test_a_loss_a_filling_and_a_move(as_role, house_with_accounts):
    """Each is told on the page that comes next, and is in the journal."""
    technician, cellar = as_role("technician"), as_role("cellar")
    technician.post(f"/item/{VIAL}/loss", {"amount": "2 ml", "kind": "spill"})
    line = last_entry(house_with_accounts.book)["body"]["lines"][0]
    assert (line["from"], line["to"], line["facts"]["disposition"]) == (VIAL, "loss", "spill")
    cellar.post(f"/item/{BATCH}/fill", {"amount": "3 l", "strength": "60", "in_wood": "0", "pending": "yes"})
    assert last_entry(house_with_accounts.book)["body"]["verb"] == "fill"
    assert "pending" in words(cellar.get(f"/item/{BATCH}"))
    moved = technician.post(f"/item/{CASK}/move", {"place": "Warehouse 9"})
    assert moved.status_code == 303
    assert "It lies here now: Warehouse 9" in words(technician.get(f"/item/{CASK}"))
    assert technician.post(f"/item/{BATCH}/fill", {"amount": "3 l", "strength": "60"}).status_code == 403


def test_a_sample_read_stands_for_its_cask(as_role, house_with_accounts):
    """With the tick, the vial's strength gauges what it was drawn from, as of the draw."""
    technician = as_role("technician")
    vial = here("draw", CASK, "100 ml", book=house_with_accounts.book).done().out.split()[0]
    said = technician.post(f"/item/{vial}/gauge", {"strength": "62.4", "for_source": "yes", "confirm": "yes"})
    assert said.status_code == 303, said.text
    assert shown(house_with_accounts.book)["strength_20c"] == pytest.approx(62.4, abs=0.01)


def test_an_auditor_sees_no_form_and_may_do_nothing(as_role):
    """But every figure and the whole history."""
    auditor = as_role("auditor")
    page = auditor.get(f"/item/{CASK}").text
    assert f'action="/item/{CASK}/' not in page
    assert "History" in page
    for deed in ("note", "hold", "release", "facts", "move", "gauge", "loss", "fill"):
        assert auditor.post(f"/item/{CASK}/{deed}", {"text": "x", "reason": "x"}).status_code == 403


# -- what comes into the book ------------------------------------------------------------


def test_a_cask_is_entered_filled_or_empty(as_role, house_with_accounts):
    """By the cellar; the page of the new cask comes next."""
    cellar = as_role("cellar")
    sent = {"ref": "Q 400", "wood": "rum barrel", "capacity_l": "200", "previous": "red wine, 2009-2014\nrum",
            "amount": "198 l", "strength": "63.5", "in_wood": "0", "owner": "Quillmere"}  # fmt: skip
    answer = cellar.post("/casks/new", sent)
    assert answer.status_code == 303, answer.text
    cask = answer.headers["location"].removeprefix("/item/")
    known = shown(house_with_accounts.book, cask)
    assert known["strength_20c"] == pytest.approx(63.5, abs=0.01)
    assert known["facts"]["previous"] == "red wine, 2009-2014; rum"
    empty = cellar.post("/casks/new", {"ref": "Q 401"}).headers["location"]
    assert "Nothing is in it" in words(cellar.get(empty))
    assert as_role("technician").post("/casks/new", sent).status_code == 403


def test_a_sample_from_outside_needs_its_supplier(as_role, house_with_accounts):
    """And shows where it came from."""
    technician = as_role("technician")
    sent = {"ref": "T 7", "amount": "200 ml", "strength": "61.2", "in_wood": "12 y", "supplier_ref": "7/14"}
    assert technician.post("/vials/new", sent, headers=PARTIAL).status_code == 422
    answer = technician.post("/vials/new", sent | {"supplier": "Tarn Bulk Spirit"})
    page = words(technician.get(answer.headers["location"]))
    assert "From outside supplier Tarn Bulk Spirit" in page
    assert "7/14" in page


def test_a_place_shows_what_lies_there_and_an_instrument_its_check(as_role):
    """People, places and instruments have their pages and lists, too."""
    technician = as_role("technician")
    place = technician.post("/house/new", {"kind": "place", "name": "Warehouse 1, row 4"}).headers["location"]
    cask = technician.post(f"/item/{CASK}/move", {"place": place.removeprefix("/item/")})
    assert cask.status_code == 303
    assert f'href="/item/{CASK}"' in technician.get(place).text
    assert f'href="{place}"' in technician.get(f"/item/{CASK}").text
    told = {"kind": "instrument", "name": "H-3", "instrument": "hydrometer", "mpe": "0.1", "due": "2020-03-01"}
    instrument = technician.post("/house/new", told).headers["location"]
    assert "check overdue" in words(technician.get(instrument))
    assert "H-3" in words(technician.get("/house/items/instruments"))
    person = technician.get("/house/items/people")
    assert PINS["technician"][0] in words(person)
    found = re.search(r'href="(/item/P[0-9A-Z]+)"[^<]*<svg.*?Isla Farrow', person.text, re.DOTALL)[1]
    assert "Recorded lately" in words(technician.get(found))
    assert technician.post("/house/new", {"kind": "cask", "name": "x"}).status_code == 422
    assert technician.get("/house/items/casks").status_code == 404


def test_pages_can_be_used_by_everybody(chromium, open_house):
    """By axe, every form open; a phone scrolls them one way only."""
    light, dark = (f"/item/{BATCH}", "/house/new"), (f"/item/{TRIAL}", "/casks/new")
    assert looked_over(chromium, open_house.url, light, dark) == {}
