"""Labels from a page: the same runs as the command's, kept for whoever asked, and read by another decoder."""

import re

import pytest
import zxingcpp
from axe import looked_over
from command import here
from pretend_printer import PretendPrinter

from pourbook.labels.raster import pictures

CASK, VIAL, LOT = "C000002F", "V000002P", "L0000038"
PARTIAL = {"HX-Request": "true"}


def decoded(pdf):
    """The texts of the symbols of a PDF, page by page."""
    return [code.text for picture in pictures(pdf, 300.0) for code in zxingcpp.read_barcodes(picture)]


def made(caller, **sent):
    """A run from the form; its page and its files."""
    answer = caller.post("/labels/print", sent)
    assert answer.status_code == 303, answer.text
    page = caller.get(answer.headers["location"])
    return page, [caller.get(address).content for address in re.findall(r'href="(/labels/file/[^"]+)"', page.text)]


def test_labels_of_named_items(as_role, house_with_accounts):
    """Every symbol on the page reads as its item; the run is in the journal as of who made it."""
    page, (pdf,) = made(as_role("technician"), items=f"C-000002-F\n{VIAL}", template="sheet-a4-65-38x21")
    assert sorted(decoded(pdf)) == [CASK, VIAL]
    run = here("print-log", "--json", book=house_with_accounts.book).done().json["runs"][-1]
    assert (run["ids"], run["who"], run["readback"]) == ([CASK, VIAL], "Isla Farrow", "passed")
    assert f"{run['entry']}" in page.text


def test_labels_of_items_chosen(as_role):
    """All vials of a cask, as the command selects them."""
    _, (pdf,) = made(as_role("cellar"), kind="vial", from_item=CASK, template="vial-roll-30x15")
    assert decoded(pdf)
    assert all(text.startswith("V") for text in decoded(pdf))


def test_numbers_are_set_aside_and_printed_ahead(as_role):
    """What is scanned in the cellar afterwards."""
    technician = as_role("technician")
    answer = technician.post("/labels/numbers", {"kind": "vial", "count": "3"})
    page = technician.get(answer.headers["location"])
    assert re.search(r'name="reserved"[^>]*checked', page.text)
    sent = {"kind": "vial", "reserved": "yes", "unprinted": "yes", "template": "vial-roll-30x15"}
    _, (pdf,) = made(technician, **sent)
    assert len(set(decoded(pdf))) == 3
    assert technician.post("/labels/print", sent, headers=PARTIAL).status_code == 409  # none is left without a label
    assert "3" in technician.get("/labels/numbers").text


@pytest.mark.parametrize(
    "sent",
    [
        {"template": "vial-roll-30x15"},
        {"template": "no-such", "items": CASK},
        {"template": "vial-roll-30x15", "items": CASK},
        {"template": "cask-head-100x70", "items": "C000002X"},
        {"template": "cask-head-100x70", "items": CASK, "copies": "1000000"},
        {"template": "cask-head-100x70", "items": CASK, "copies": "two"},
        {"template": "cask-head-100x70", "items": CASK, "printer": "none of ours"},
        {"template": "cask-head-100x70", "items": CASK, "kind": "cask"},
        {"template": "cask-head-100x70", "rest_of": "1"},
        {"template": "../../pyproject", "items": CASK},
    ],
)
def test_what_cannot_be_printed_is_refused(as_role, sent):
    """In words, and nothing is recorded."""
    answer = as_role("technician").post("/labels/print", sent, headers=PARTIAL)
    assert 400 <= answer.status_code < 500
    assert 'class="refusal' in answer.text


@pytest.mark.parametrize(
    "sent", [{"copies": "999999999"}, {"numbered": "999999999"}, {"numbered": "9", "numbers": "9" * 5000}]
)
def test_a_run_has_an_end(as_role, sent):
    """A slip of the finger is no run of a thousand million labels, which no machine has the memory for."""
    answer = as_role("technician").post("/labels/print", {"items": LOT, "template": "lot-carton-roll-100x60"} | sent)
    assert answer.status_code in (400, 422), answer.text[:300]


def test_labels_out_of_date_are_printed_again_by_one_button(as_role, house_with_accounts):
    """Each by the template that it had; afterwards none is left."""
    manager = as_role("manager")
    made(manager, items=CASK, template="cask-head-100x70")
    here("set", CASK, "wood=rum barrel", book=house_with_accounts.book).done()
    page = manager.get("/labels/outdated")
    assert f'value="{CASK}"' in page.text
    assert "rum barrel" in page.text
    assert ">label out of date<" in manager.get(f"/item/{CASK}").text
    answer = manager.post("/labels/outdated", {"item": CASK, "reason": "label out of date"})
    assert "/labels/made" in answer.headers["location"]
    assert f'value="{CASK}"' not in manager.get("/labels/outdated").text
    assert ">label out of date<" not in manager.get(f"/item/{CASK}").text


def test_labels_go_to_a_printer(as_role, house_with_accounts):
    """Entered by a manager; what was sent is told, and stands in the log."""
    with PretendPrinter() as pretend:
        manager = as_role("manager")
        entered = {"name": "bench", "dpi": "203.2", "address": pretend.address}
        assert as_role("technician").post("/labels/printers", entered).status_code == 403
        assert manager.post("/labels/printers", entered).status_code == 303
        assert "bench" in manager.get("/labels/printers").text
        test_page = manager.get("/labels/printers/test.pdf?name=bench")
        assert test_page.content.startswith(b"%PDF")
        page, files = made(as_role("technician"), items=VIAL, template="vial-roll-30x15", printer="bench")
        assert files == []
        assert "bench" in page.text
        assert len(pretend.labels) == 1
    assert manager.post("/labels/printers/forget", {"name": "bench"}).status_code == 303
    assert "<h2>bench" not in manager.get("/labels/printers").text
    assert manager.get("/labels/printers/test.pdf?name=bench").status_code == 404


def test_every_template_has_its_picture(caller):
    """Listed, and shown as it looks; a name is looked up among those there are."""
    listed = caller.get("/labels/templates").text
    names = re.findall(r'href="/labels/templates/([^"]+)"', listed)
    assert len(names) == len(here("templates", "--json").done().json["templates"])
    for name in names:
        picture = caller.get(f"/labels/templates/{name}/look.png")
        assert (picture.headers["content-type"], picture.content[:4]) == ("image/png", b"\x89PNG")
        assert caller.get(f"/labels/templates/{name}").status_code == 200
    assert caller.get("/labels/templates/..%2Fpyproject/look.png").status_code == 404


def test_an_auditor_reads_the_log_and_prints_nothing(as_role):
    """Every page is there; a file is given to whoever made it."""
    auditor = as_role("auditor")
    for page in ("", "/outdated", "/numbers", "/templates", "/log", "/log?item=C000002F", "/printers", "/made"):
        answer = auditor.get(f"/labels{page}")
        assert answer.status_code == 200
        assert 'action="/labels' not in answer.text
    for deed in ("print", "outdated", "numbers", "printers", "printers/test", "printers/forget"):
        assert auditor.post(f"/labels/{deed}", {}).status_code == 403
    assert auditor.get("/labels/file/nothing").status_code == 404


def test_pages_can_be_used_by_everybody(chromium, open_house):
    """By axe, every form open; a phone scrolls them one way only."""
    dark = ("/labels/log", "/labels/templates/vial-roll-30x15")
    assert looked_over(chromium, open_house.url, ("/labels",), dark) == {}


def test_a_qr_code_holds_the_lasting_address_where_it_fits(as_role, house_with_accounts):
    """A telephone lands on the item, the station takes it for the item; a small label keeps the bare identifier."""
    station = "https://station.quillmere.example"
    here("settings", "--set", f"station_address={station}", book=house_with_accounts.book).done()
    technician = as_role("technician")
    _, (head,) = made(technician, items=CASK, template="cask-head-100x70")
    assert f"{station}/item/{CASK}" in decoded(head)
    _, (small,) = made(technician, items=CASK, template="sheet-a4-65-38x21")
    assert decoded(small) == [CASK]
    found = technician.client.get("/scan", params={"code": f"{station}/item/{CASK}", "here": ""}).json()
    assert (found["outcome"], found["item"]) == ("good", CASK)
    drawing = technician.post("/draw/scan", {"scan": f"{station}/item/{CASK}"}, headers=PARTIAL)
    assert 'data-outcome="good"' in drawing.text
    here("settings", "--set", "station_address=", book=house_with_accounts.book).done()
