"""Drawing with wet hands: scans advance the task, a list is shared, and a restart goes on in mid-task."""

import re
import shutil
from html import unescape

import pytest
import zxingcpp
from axe import looked_over
from command import here
from stations import PINS, Caller, browsing, make_accounts, running

from pourbook.labels.raster import pictures

CASK, OTHER, BATCH, USED = "C000002F", "C0000059", "B000004S", "V000001R"
PARTIAL = {"HX-Request": "true"}


def draw(caller, **sent):
    """One step of the task, as the page sends it."""
    return caller.post("/draw/scan", sent, headers=PARTIAL)


def heard(answer):
    """What the live region says: outcome and words."""
    found = re.search(r'id="heard"[^>]*data-outcome="(\w+)"[^>]*>(.*?)</div>', answer.text, re.DOTALL)
    return found[1], unescape(found[2]).strip()


def show(item, station):
    """An item as the command knows it."""
    return here("show", item, "--json", book=station.book).done().json


def set_aside(count, station):
    """Identifiers of vials' labels printed ahead."""
    return here("reserve", "vial", str(count), book=station.book).done().out.split()


@pytest.fixture
def bench(as_role, house_with_accounts):
    """A technician with nothing in hand."""
    caller = as_role("technician")
    caller.post("/draw/scan", {"line": "done"})
    return caller


def test_cask_label_amount_and_reading(bench, house_with_accounts):
    """Each step is good and says what comes next; the strength read counts for the cask, too."""
    station = house_with_accounts
    (label,) = set_aside(1, station)
    assert heard(draw(bench, scan="C-000005-9"))[0] == "good"
    assert heard(draw(bench, scan=label))[0] == "good"
    outcome, said = heard(draw(bench, amount="150 ml", temperature="13", strength="62.0"))
    assert outcome == "good", said
    assert label in said
    vial, cask = show(label, station), show(OTHER, station)
    assert vial["volume_ml_20c"] == pytest.approx(150.8, abs=0.5)  # 150 ml at 13 °C are more at 20 °C
    assert [one["strength_20c"] for one in (vial, cask)] == pytest.approx([62.0, 62.0], abs=0.01)
    entry = (
        here("journal", "--kind", "pour", "--limit", "1", "--json", "--names", book=station.book)
        .done()
        .json["entries"][-1]
    )
    assert entry["who"] == PINS["technician"][0]


def test_the_next_number_and_the_usual_amount(bench, house_with_accounts):
    """Without a label the next number is taken; the amount typed last stands in the field."""
    draw(bench, scan=CASK)
    answer = draw(bench, amount="120")
    assert heard(answer)[0] == "good"
    assert 'value="120 ml"' in answer.text or 'value="120 l"' in answer.text
    vial = re.search(r"V-\d{6}-[0-9A-Z]", heard(answer)[1])[0]
    assert show(vial, house_with_accounts)["facts"]["name"] == show(CASK, house_with_accounts)["facts"]["wood"]


def test_what_is_scanned_twice_is_a_repeat(bench, house_with_accounts):
    """The cask in hand, the label that waits, the vial just drawn: nothing changes."""
    (label,) = set_aside(1, house_with_accounts)
    draw(bench, scan=CASK)
    assert heard(draw(bench, scan=CASK))[0] == "repeat"
    draw(bench, scan=label)
    assert heard(draw(bench, scan=label))[0] == "repeat"
    draw(bench, amount="20 ml")
    before = show(CASK, house_with_accounts)["mass_mg"]
    assert heard(draw(bench, scan=label))[0] == "repeat"
    assert show(CASK, house_with_accounts)["mass_mg"] == before


@pytest.mark.parametrize("code", ["C000002X", USED, "nothing goes by this", "P000002G", "2500", "60.3 ml", "501234567"])
def test_a_bad_scan_changes_nothing(bench, code):
    """Mistyped, in use, unknown, a badge, a barcode of figures: refused in words, and the cask stays in hand."""
    before = bench.get("/journal").text.count("<tr")
    draw(bench, scan=CASK)
    answer = draw(bench, scan=code)
    assert 400 <= answer.status_code < 500
    assert 'class="refusal' in answer.text
    assert "C-000002-F" in bench.get("/draw").text
    assert bench.get("/journal").text.count("<tr") == before


def test_a_figure_that_is_none_draws_nothing(bench, house_with_accounts):
    """All fields are read before the first is recorded."""
    draw(bench, scan=CASK)
    before = show(CASK, house_with_accounts)["mass_mg"]
    for sent in ({"strength": "strong"}, {"temperature": "warm"}, {"amount": "x"}):
        assert draw(bench, **({"amount": "20 ml"} | sent)).status_code == 422
    assert draw(bench, amount="").status_code == 422
    assert show(CASK, house_with_accounts)["mass_mg"] == before


def test_a_draw_is_undone(bench, house_with_accounts):
    """It is voided with what was read of it, and the cask has its spirit again."""
    before = show(CASK, house_with_accounts)["mass_mg"]
    draw(bench, scan=CASK)
    draw(bench, amount="30 ml")
    assert show(CASK, house_with_accounts)["mass_mg"] < before
    assert heard(draw(bench, line="undo"))[0] == "good"
    assert show(CASK, house_with_accounts)["mass_mg"] == before
    assert draw(bench, line="undo").status_code == 422


def test_two_people_have_each_their_own_cask(as_role, bench):
    """What is in hand is one's own; the same person at another screen goes on."""
    draw(bench, scan=CASK)
    blender = as_role("blender")
    draw(blender, scan=OTHER)
    assert "C-000002-F" in as_role("technician").get("/draw").text
    assert "C-000005-9" in blender.get("/draw").text
    draw(blender, line="done")


def test_a_label_alone_draws_the_usual_amount(bench, house_with_accounts):
    """Where that is chosen: a cask, and a label after the other."""
    labels = set_aside(2, house_with_accounts)
    draw(bench, scan=CASK)
    draw(bench, amount="25 ml")
    ways = {"label_alone": "yes", "template": "vial-roll-30x15", "printer": ""}
    assert bench.post("/draw/ways", ways).status_code == 303
    for label in labels:
        assert heard(draw(bench, scan=label))[0] == "good"
        assert show(label, house_with_accounts)["volume_ml_20c"] == pytest.approx(25, abs=0.1)
    bench.post("/draw/ways", {"template": "vial-roll-30x15"})


def decoded(pdf):
    """The texts of the symbols on the first page of a PDF."""
    picture = next(iter(pictures(pdf, 300.0)))
    return [code.text for code in zxingcpp.read_barcodes(picture)]


def test_the_label_of_a_vial_is_made_and_is_its_own(bench, as_role):
    """A PDF whose symbol, read by a decoder of others, says the vial; nobody else is given it."""
    draw(bench, scan=CASK)
    vial = re.search(r"V-\d{6}-[0-9A-Z]", heard(draw(bench, amount="40 ml"))[1])[0]
    made = bench.post("/draw/label", {}, headers=PARTIAL)
    address = re.search(r'href="(/labels/file/[^"]+)"', made.text)[1]
    pdf = bench.get(address)
    assert pdf.headers["content-type"] == "application/pdf"
    assert decoded(pdf.content) == [vial.replace("-", "")]
    assert as_role("manager").get(address).status_code == 404
    assert vial in bench.get("/labels/log").text


def test_labels_are_made_as_vials_are_drawn(bench, house_with_accounts):
    """Where that is chosen; a vial drawn into a label printed ahead has one."""
    bench.post("/draw/ways", {"prints": "yes", "template": "vial-roll-30x15"})
    draw(bench, scan=CASK)
    assert "/labels/file/" in draw(bench, amount="15 ml").text
    (label,) = set_aside(1, house_with_accounts)
    draw(bench, scan=label)
    assert "/labels/file/" not in draw(bench, amount="15 ml").text
    bench.post("/draw/ways", {"template": "vial-roll-30x15"})


# -- the list of a round -----------------------------------------------------------------


def listed(caller, text=None, **sent):
    """A new list, with a table where there is one."""
    files = {"table": ("round.csv", text.encode(), "text/csv")} if text is not None else {"table": ("", b"")}
    return caller.client.post("/draw/list", data=sent, files=files, headers={"X-CSRF-Token": caller.token})


@pytest.mark.parametrize(
    ("sent", "table"),
    [({"casks": "C-000002-F\nQ 106"}, None), ({}, "cask;note\nC000002F;bung\nQ 106;\n"), ({}, "C000002F\nQ 106\n")],
)
def test_a_list_from_names_or_a_table(bench, as_role, house_with_accounts, sent, table):
    """What is left is told to all who draw, whoever drew the rest."""
    other = show("Q 106", house_with_accounts)["id"]
    assert listed(bench, table, **sent).status_code == 303
    assert "2 of its casks are left" in bench.get("/draw").text
    blender = as_role("blender")
    draw(blender, scan=other)
    draw(blender, amount="10 ml")
    assert "1 of its casks is left" in bench.get("/draw").text
    draw(blender, line="done")
    bench.post("/draw/list/end", {})


def test_a_list_with_unknown_casks_is_refused_with_all_of_them(bench):
    """Each fault with its line; the list is not made."""
    answer = listed(bench, casks="Q 106\nnobody\nC000002X")
    assert answer.status_code == 422
    assert "2 casks were not found" in answer.text
    assert "row 2" in answer.text
    assert "row 3" in answer.text
    assert listed(bench).status_code == 422
    assert listed(bench, "\x00\x01\x02").status_code == 422
    assert listed(bench, "PK\x03\x04 no workbook").status_code == 422


def test_an_auditor_sees_the_list_and_draws_nothing(as_role):
    """The page is there; its forms are not."""
    auditor = as_role("auditor")
    page = auditor.get("/draw")
    assert page.status_code == 200
    assert 'data-task="' not in page.text
    for address in ("scan", "label", "ways", "list", "list/end"):
        assert auditor.post(f"/draw/{address}", {}).status_code == 403


def test_a_restart_goes_on_in_mid_task(demo, tmp_path):
    """What was in hand is kept beside the book."""
    book = tmp_path / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book) as station:
        draw(Caller(station.url).sign_in("technician"), scan=CASK)
    with running(book) as station:
        answer = draw(Caller(station.url).sign_in("technician"), amount="100 ml")
        assert heard(answer)[0] == "good"


@pytest.mark.usefixtures("bench")
def test_the_journey_of_a_technician(chromium, house_with_accounts):
    """Sign in, scan a cask, draw, print, scan the vial: by keys 4 ms apart, and by a finger."""
    with browsing(chromium, house_with_accounts.url, "technician") as watched:
        page = watched.page
        watched.goto("/draw")
        watched.scan("C-000002-F")
        assert "C-000002-F" in watched.heard("good")
        page.fill("#draw-amount", "60 ml")
        page.fill("#draw-temperature", "14")
        watched.scan("C000002F", enter=False)  # a silence ends it, too; the amount keeps its text
        watched.heard("repeat")
        assert page.input_value("#draw-amount") == "60 ml"
        page.click("text=Draw into the next number")
        page.wait_for_selector("text=Print its label")
        vial = re.search(r"V-\d{6}-[0-9A-Z]", watched.heard("good"))[0]
        page.click("text=Print its label")
        address = page.get_attribute("text=Open its label (PDF)", "href")
        pdf = page.request.get(f"{watched.url}{address}").body()
        assert decoded(pdf) == [vial.replace("-", "")]
        watched.goto("/")
        watched.scan(decoded(pdf)[0])
        page.wait_for_selector(f'body[data-item="{vial.replace("-", "")}"]')
        assert vial in page.inner_text("h1")
        watched.clean()


def test_a_round_goes_by_scanner_and_enter_alone(chromium, house_with_accounts, bench):
    """The amount has the keys after a scan, and whatever had them has them again after an answer."""
    draw(bench, scan=CASK)
    draw(bench, amount="10 ml")
    with browsing(chromium, house_with_accounts.url, "technician") as watched:
        page = watched.page
        watched.goto("/draw")
        watched.scan_until(OTHER, '#task:has-text("C-000005-9")')
        page.wait_for_selector("#draw-amount:focus")
        watched.press_by_hand("Enter")
        page.wait_for_selector('#heard:has-text("is drawn")')
        page.wait_for_selector("#draw-amount:focus")
        page.focus("text=Print its label")
        page.keyboard.press("Enter")
        page.wait_for_selector("text=Open its label (PDF)")
        page.wait_for_selector("#task :focus")
        watched.clean()


def test_the_page_can_be_used_by_everybody(chromium, house_with_accounts, bench):
    """By axe, with a cask in hand and a list, on a phone in the dark."""
    listed(bench, casks="Q 106")
    draw(bench, scan=CASK)
    draw(bench, amount="10 ml")
    assert looked_over(chromium, house_with_accounts.url, (), ("/draw",), role="technician") == {}
