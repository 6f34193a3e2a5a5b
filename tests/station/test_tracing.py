"""Traces at the station: every figure is the book's, every share can be followed down to entries, nothing is changed.

Shares and sums are compared with `Book.trace_back` of the same book and, of one share, worked out again from what the
page prints, as a person would with a calculator (as `tests/cli/test_auditor.py` does for the command).
"""

import re
from html import unescape

import pytest
from axe import looked_over
from house import House, new_make
from stations import Caller, browsing, running

from pourbook import Book
from pourbook.codes.identifiers import hyphened

LOT, CASK = "L0000038", "C000001H"
"""Lot 2026-1 of the sample house, and the cask Q 101 that is behind 3.16 % of it."""


@pytest.fixture(scope="module")
def book(open_house):
    with Book.open(open_house.book) as book:
        yield book


def rows(page, caption):
    """The rows of the table in the region of that name, each cell as its words."""
    region = re.search(rf'aria-label="{re.escape(caption)}">(.*?)</table>', page, re.DOTALL)[1]
    body = region.partition("<tbody>")[2]
    found = re.findall(r"<tr.*?</tr>", body, re.DOTALL)
    cells = (re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.DOTALL) for row in found)
    return [[unescape(" ".join(re.sub(r"<[^>]*>", "", cell).split())) for cell in row] for row in cells]


def shown(share):
    return f"{share * 100:.2f}" if share >= 5e-5 or share == 0 else "<0.01"


@pytest.mark.parametrize("by", ["alcohol", "mass", "volume"])
def test_every_origin_and_cask_stands_there_with_the_share_of_the_book(caller, book, by):
    """On each basis."""
    page = caller.get(f"/item/{LOT}/trace", params={"by": by}).text
    trace = book.trace_back(LOT, by)
    assert [row[3] for row in rows(page, "Where it came from")] == [shown(one.share) for one in trace.origins]
    items = rows(page, "Items of the trace")
    assert [row[0].split()[0] for row in items] == [hyphened(one.item.id) for one in trace.items]
    assert [row[1] for row in items] == [shown(one.share) for one in trace.items]
    pours = rows(page, "Pours on the way")
    assert [(row[6], int(row[8])) for row in pours] == [(one.who, one.entry) for one in trace.pours]


def test_a_heel_through_three_batches_by_hand(tmp_path):
    """900 of a cask and a heel of 100 each time: L3 is 0.01 C1, 0.09 C2, 0.9 C3, as in `tests/lineage/test_by_hand`."""
    with House(tmp_path / "heels.pourbook") as house:
        for number in (1, 2, 3):
            house.cask(f"C{number}", liquid=new_make(1000), at=f"2010-01-0{number}", spirit=f"s{number}")
        house.pour("C1", "B1", 1000, at="2018-01-01")
        house.pour("B1", "L1", 900, at="2018-01-02")
        for number in (2, 3):
            house.pour(f"B{number - 1}", f"B{number}", verb="heel", at=f"{2017 + number}-01-01")
            house.pour(f"C{number}", f"B{number}", 900, at=f"{2017 + number}-01-02")
            house.pour(f"B{number}", f"L{number}", 900, at=f"{2017 + number}-01-03")
        ids = {hyphened(house.id(name)): name for name in ("C1", "C2", "C3", "B1", "B2", "B3")}
        lot = house.id("L3")
    with running(tmp_path / "heels.pourbook") as station:
        page = Caller(station.url).get(f"/item/{lot}/trace").text
    shares = {ids[row[0].split()[0]]: row[1] for row in rows(page, "Items of the trace")}
    assert shares == {"C1": "1.00", "C2": "9.00", "C3": "90.00", "B1": "1.00", "B2": "10.00", "B3": "100.00"}
    assert [row[3] for row in rows(page, "Where it came from")] == ["1.00", "9.00", "90.00"]


def test_where_a_cask_went_and_what_of_each_is_left(caller, book):
    """Forward: part of all ever poured in, part of what is there now."""
    page = caller.get(f"/item/{CASK}/trace", params={"direction": "forward"}).text
    trace = book.trace_forward(CASK)
    items = rows(page, "Items of the trace")
    assert [row[1] for row in items] == [shown(one.share) for one in trace.items]
    assert [row[2] for row in items] == ["–" if one.share_now is None else shown(one.share_now) for one in trace.items]


def test_a_share_can_be_worked_out_again_from_its_page(caller, book):
    """Each step's sum gives its part; the last gives the share of the book; every entry in it is a link."""
    page = caller.get(f"/item/{LOT}/why", params={"of": CASK}).text
    parts = []
    for sum_ in re.findall(r'<p class="sum">(.*?)</p>', page):
        terms, total, said = re.fullmatch(r"\((.+)\) / (\S+) = <strong>(\S+)</strong>", sum_).groups()
        products = [term.split(" × ") for term in terms.split(" + ")]
        parts.append(sum(float(weight) * float(part) for weight, part in products) / float(total))
        assert parts[-1] == pytest.approx(float(said), rel=1e-12)
    share = next(one.share for one in book.trace_back(LOT).items if one.item.id == CASK)
    assert parts[-1] == pytest.approx(share, abs=1e-12)
    steps = book.why(LOT, CASK).steps
    for number, step in enumerate(steps, start=1):
        listed = [int(row[2]) for row in rows(page, f"Step {number}") if len(row) == 6]
        assert listed == [term.entry for term in step.terms]


def test_every_share_of_a_trace_leads_to_its_reason(caller):
    """Those of origins, of items, and forward: none leads nowhere."""
    for direction in ("back", "forward"):
        page = caller.get(f"/item/{LOT if direction == 'back' else CASK}/trace", params={"direction": direction}).text
        addresses = {unescape(found) for found in re.findall(r'href="(/item/\w+/why\?of=[^"]+)"', page)}
        assert len(addresses) > 5
        for address in sorted(addresses):
            answer = caller.get(address)
            assert answer.status_code == 200, address


def test_the_entries_behind_volume_strength_age_and_cost(caller, book):
    """By the journal: bottled in entry 117, sent in 118; the youngest spirit gives the age."""
    page = caller.get(f"/item/{LOT}/why", params={"figure": "volume"}).text
    assert [(row[0], row[2], row[5]) for row in rows(page, "Entries behind it")] == [
        ("117", "bottle", "294.00 l"), ("118", "despatch", "210.00 l"),
    ]  # fmt: skip
    trace = book.trace_back(LOT)
    ages = rows(caller.get(f"/item/{LOT}/why", params={"figure": "age"}).text, "Time in wood of each spirit")
    assert len(ages) == sum(one.ethanol_mg > 0 for one in trace.origins)
    assert ages[0][4] == "7 years 12 days"
    costs = rows(caller.get(f"/item/{LOT}/why", params={"figure": "cost"}).text, "Cost of each spirit")
    litres = trace.held.ethanol_mg / 789.2391 / 1000 / 0.483  # of 48.3 % vol; density of ethanol: OIML R 22
    assert sum(float(row[5]) for row in costs) / litres == pytest.approx(trace.cost_per_litre, abs=0.01)


def test_a_trace_is_of_a_moment_where_one_is_asked_for(caller, book):
    """What happened later is not in it; before there was anything, that is said."""
    page = caller.get(f"/item/{LOT}/trace", params={"at": "2026-07-01"}).text
    assert "as of 2026-07-01" in page
    assert "294.00 l" in page, "nothing was sent yet"
    before = caller.get(f"/item/{LOT}/trace", params={"at": "2020-01-01"})
    assert (before.status_code, "<h1>Trace of L-000003-8" in before.text) == (200, True)
    assert caller.get(f"/item/{LOT}/trace", params={"at": "yesterday week"}).status_code == 422
    assert caller.get(f"/item/{LOT}/trace", params={"by": "taste"}).status_code == 422


def test_the_picture_links_its_places_and_stands_as_a_table_beside_it(caller):
    """Every item of the picture leads to its own trace; the table has every ribbon."""
    page = caller.get(f"/item/{LOT}/trace").text
    svg = page[page.index("<svg xmlns") : page.index("</svg>", page.index("<svg xmlns"))]
    linked = set(re.findall(r'<a href="/item/(\w+)/trace', svg))
    assert {LOT, CASK, "B000004S"} <= linked
    assert len(rows(page, "The picture as a table")) > len(linked)
    paper = caller.get(f"/item/{LOT}/flow.pdf")
    assert (paper.headers["content-type"], paper.content[:5]) == ("application/pdf", b"%PDF-")


def test_a_dossier_is_a_page_a_pdf_and_a_document(caller, book):
    """They say the same, of the same state of the book; looking at them records nothing."""
    head = book.head()
    page = caller.get(f"/item/{LOT}/dossier").text
    assert "L26-175" in page, "the lot mark"
    assert f"Journal at entry {head[0]}, {head[1][:16]}" in page
    assert caller.get(f"/item/{LOT}/dossier.pdf").content[:5] == b"%PDF-"
    told = caller.get(f"/item/{LOT}/dossier.json").json()
    assert (told["code"], told["imprint"]["head_hash"]) == (LOT, head[1])
    assert caller.get(f"/item/{CASK}/dossier").status_code == 404
    assert book.head() == head


def test_a_dossier_that_leaves_the_house_is_in_the_journal(house_with_accounts, as_role):
    """Printed by who may, with the bytes that went out; an auditor only looks."""
    printed = as_role("blender").post(f"/item/{LOT}/dossier", {"people": "codes"})
    assert (printed.status_code, printed.content[:5]) == (200, b"%PDF-"), printed.text
    with Book.open(house_with_accounts.book) as book:
        (last,) = book.entries_listed(last=1)
        assert (last.kind, last.entry["body"]["paper"], last.entry["who"]) == ("paper", "dossier", "Pankracy Wiżbor")
    auditor = as_role("auditor")
    assert auditor.get(f"/item/{LOT}/dossier").status_code == 200
    assert "Print it to leave the house" not in auditor.get(f"/item/{LOT}/dossier").text
    assert auditor.post(f"/item/{LOT}/dossier").status_code == 403


@pytest.mark.parametrize("address", ["trace", "why", "why?figure=age", "flow", "flow.pdf", "uncertainty", "dossier"])
def test_what_is_not_there_is_said(caller, address):
    """400 for what is no identifier, 404 for one that the book does not have."""
    assert caller.get(f"/item/L-000003-9/{address}").status_code == 400
    assert caller.get(f"/item/L000099A/{address}").status_code in (400, 404)


def test_reasons_of_nothing_are_refused(caller):
    """A share of what is not in it, an entry that brought nothing, a figure that there is not."""
    for asked in ("of=entry 1", "of=T000005G", "of=nonsense", "of=12&direction=forward"):
        assert 400 <= caller.get(f"/item/{LOT}/why?{asked}").status_code < 500, asked
    assert caller.get(f"/item/{LOT}/why?figure=taste").status_code == 404


def test_an_item_is_named_to_be_traced(caller):
    """By its reference, its name or its code."""
    answer = caller.get("/trace", params={"item": "Lot 2026-1", "direction": "back"})
    assert (answer.status_code, answer.headers["location"]) == (303, f"/item/{LOT}/trace?direction=back")
    assert caller.get("/trace", params={"item": "no such thing"}).status_code == 422


# -- the auditor's journey, in a browser ---------------------------------------------------------


def test_the_auditor_follows_a_bottle_to_a_cask_and_a_cask_to_its_bottles(chromium, house_with_accounts):
    """Scan a lot, trace it, touch a share, go on from the suspect cask, take the dossier, verify: nothing changes."""
    with Book.open(house_with_accounts.book) as book:
        head, share = book.head(), next(one.share for one in book.trace_back(LOT).items if one.item.id == CASK)
    with browsing(chromium, house_with_accounts.url, "auditor") as watched:
        page = watched.page
        watched.scan(hyphened(LOT))
        page.wait_for_url(f"**/item/{LOT}")
        watched.goto(f"/item/{LOT}/trace")
        page.click(f'[aria-label="Items of the trace"] tr:has(a[href="/item/{CASK}"]) a:has-text("{shown(share)}")')
        assert page.inner_text("h1") == f"Why {shown(share)} %"
        last = page.locator(".sum strong").last.inner_text()
        assert float(last) == pytest.approx(share, abs=1e-12)
        page.go_back()
        page.locator(f'svg a[href^="/item/{CASK}/trace"]').press("Enter")
        page.wait_for_url(f"**/item/{CASK}/trace**")
        page.click("text=Trace it forward")
        assert hyphened(LOT) in page.inner_text('[aria-label="Items of the trace"]')
        watched.goto(f"/item/{LOT}/dossier")
        paper = page.request.get(watched.url + page.get_attribute("a:has-text('As PDF')", "href"))
        assert (paper.status, paper.body()[:5]) == (200, b"%PDF-")
        watched.goto("/verify")
        watched.scan("pourbook:head:{}:{}".format(*head))
        watched.heard("good")
        page.click("main button:has-text('Verify the book')")
        page.wait_for_selector(f"text=The history up to entry {head[0]} is unchanged.", timeout=60_000)
        assert page.locator("main form[method=post]").count() == 0
        watched.clean()
    with Book.open(house_with_accounts.book) as book:
        assert book.head() == head


def test_pages_of_lineage_and_of_the_book_can_be_used_by_everybody(chromium, open_house):
    """By axe, every form open; a phone scrolls them one way only."""
    account = "/account?first=2024-01-01&last=2024-12-31&by_kind=yes"
    light = (f"/item/{LOT}/trace", f"/item/{LOT}/why?of={CASK}", "/journal/117", account, "/verify")
    dark = (
        f"/item/{CASK}/trace?direction=forward", f"/item/{LOT}/why?figure=age", f"/item/{LOT}/dossier", "/backup",
        f"/affected?item={CASK}", "/evaporation", "/journal",
    )  # fmt: skip
    assert looked_over(chromium, open_house.url, light, dark) == {}
