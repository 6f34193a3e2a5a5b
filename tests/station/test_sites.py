"""What goes to another site of the house, and comes from one, in the forms of a station."""

import shutil

import pytest
from command import Desk, here
from site_houses import Sites
from stations import Caller, browsing, running

PARTIAL = {"HX-Request": "true"}


@pytest.fixture(scope="module")
def desk(demo, tmp_path_factory):
    """The demo house as site QUAY."""
    book = tmp_path_factory.mktemp("site") / "quay.pourbook"
    shutil.copy(demo, book)
    desk = Desk(book, here)
    desk.does("settings --set site=quay --set numbers=1-99999")
    return desk


@pytest.fixture(scope="module")
def station(desk):
    with running(desk.book) as station:
        yield station


@pytest.fixture(scope="module")
def caller(station):
    return Caller(station.url)


def last_lines(desk):
    return desk.asks("journal --limit 1")["entries"][-1]["body"]["lines"]


def test_spirit_is_sent_to_another_site(desk, caller):
    """Its form asks for a customer or a site; bottles go to customers alone."""
    cask = desk.asks("cask 'Q 900' --fill '200 l' --strength 60 --in-wood 0")["id"]
    page = caller.get(f"/item/{cask}/despatch").text
    assert 'name="site"' in page
    assert 'name="site"' not in caller.get("/item/L0000038/despatch").text
    form = {"amount": "50 l", "site": "stills", "document": ""}
    refused = caller.post(f"/item/{cask}/despatch", form, headers=PARTIAL)
    assert "no document is named for what goes between site QUAY and site STILLS" in refused.text
    assert caller.post(f"/item/{cask}/despatch", {**form, "document": "MD 1"}).status_code == 303
    assert last_lines(desk)[0]["facts"] == {"customer": "STILLS", "document": "MD 1", "site": "STILLS"}
    assert "was left empty" in caller.post(f"/item/{cask}/despatch", {"amount": "50 l"}, headers=PARTIAL).text


def test_a_document_that_was_misread_is_put_right(desk, caller):
    """In the entry itself, where it has one; first it is shown what would change."""
    cask = desk.asks("cask 'Q 902' --fill '200 l' --strength 60 --in-wood 0")["id"]
    filled = desk.asks("journal --limit 1")["entries"][-1]["number"]
    assert 'name="document"' not in caller.get(f"/journal/{filled}").text
    caller.post(f"/item/{cask}/despatch", {"amount": "50 l", "site": "stills", "document": "MD 7"})
    sent = desk.asks("journal --limit 1")["entries"][-1]["number"]
    assert 'name="document"' in caller.get(f"/journal/{sent}").text
    right = {"document": "MD 17", "reason": "misread"}
    assert "What would change" in caller.post(f"/journal/{sent}/replace", right).text
    assert last_lines(desk)[0]["facts"]["document"] == "MD 7"
    assert caller.post(f"/journal/{sent}/replace", right | {"sure": "yes"}).status_code == 303
    assert last_lines(desk)[0]["facts"] == {"customer": "STILLS", "document": "MD 17", "site": "STILLS"}


def test_spirit_is_received_from_another_site(desk, caller):
    """The form of a filling names the site and its document."""
    cask = desk.asks("cask 'Q 901'")["id"]
    assert 'name="from_site"' in caller.get(f"/item/{cask}").text
    form = {"amount": "90 l", "strength": "60", "in_wood": "8 y", "from_site": "stills", "document": "MD 2"}
    assert caller.post(f"/item/{cask}/fill", form).status_code == 303
    facts = last_lines(desk)[0]["facts"]
    assert (facts["from_site"], facts["document"], facts["in_wood"]) == ("STILLS", "MD 2", "8 y")
    assert "from site STILLS" in caller.get(f"/item/{cask}/trace").text


_TOPS = """form => [...document.querySelectorAll(form + " .together")].flatMap(one => {
    const rows = new Map();
    for (const field of one.querySelectorAll(".field:not(.tick)")) {
        const foot = field.querySelector("label").getBoundingClientRect().bottom;
        rows.set(Math.round(field.getBoundingClientRect().top), [...(rows.get(Math.round(
            field.getBoundingClientRect().top)) ?? []), Math.round(foot)]);
    }
    return [...rows.values()].map(tops => Math.max(...tops) - Math.min(...tops));
})"""
"""Of each row of a form, how far apart its labels end."""


@pytest.mark.parametrize("language", ["en-GB", "de-DE"])
@pytest.mark.parametrize(("width", "scheme"), [(1280, "light"), (1280, "dark"), (360, "dark")])
def test_forms_between_sites_stand_straight(desk, station, chromium, language, width, scheme):
    """Labels of two lines push no field out of its row, a tick's words stand beside it, all fits a phone."""
    cask = desk.asks("cask --fill '200 l' --strength 60 --in-wood 0")["id"]
    look = {"viewport": {"width": width, "height": 900}, "color_scheme": scheme, "locale": language}
    with browsing(chromium, station.url, **look) as watched:
        for address, form in ((f"/item/{cask}/despatch", "#despatch"), (f"/item/{cask}", "#fill")):
            watched.goto(address)
            page = watched.page
            page.evaluate("document.querySelectorAll('main details').forEach(one => one.open = true)")
            page.locator(form).wait_for()
            assert set(page.evaluate(_TOPS, form)) == {0}
            box, words = (page.locator(f"{form} .tick {part}").first.bounding_box() for part in ("input", "label"))
            assert box["width"] == 26
            assert words["x"] >= box["x"] + box["width"]
            assert page.evaluate("document.documentElement.scrollWidth") == width
        assert watched.errors == []


def test_a_house_without_sites_is_not_asked(caller_of_the_demo):
    assert 'name="site"' not in caller_of_the_demo.get("/item/C000002F/despatch").text
    assert 'name="from_site"' not in caller_of_the_demo.get("/item/C000002F").text
    assert 'name="by_site"' not in caller_of_the_demo.get("/account").text


@pytest.fixture
def caller_of_the_demo(demo, tmp_path):
    shutil.copy(demo, tmp_path / "demo.pourbook")
    with running(tmp_path / "demo.pourbook") as station:
        yield Caller(station.url)


def test_the_account_of_a_group_is_grouped_by_site(tmp_path):
    """Its figures are those of the command; a book of one site has nothing to group so."""
    with Sites(tmp_path) as sites:
        sites["A"].cask("C1", "600 l", "63.5", at="2026-05-01")
        sites["B"].cask("C2", "200 l", "60", at="2026-05-01")
        sites.join()
    asked = "/account?first=2026-01-01&last=2026-12-31"
    with running(sites.path("G")) as station:
        group = Caller(station.url)
        page = group.get(f"{asked}&by_site=yes").text
        assert 'name="by_site"' in page
        rows = group.get(f"{asked.replace('/account', '/account.csv')}&by_site=yes").text
    told = here(
        "account",
        "--from",
        "2026-01-01",
        "--to",
        "2026-12-31",
        "--group-by",
        "site",
        "--csv",
        tmp_path / "own.csv",
        book=sites.path("G"),
    ).done()
    assert rows == (tmp_path / "own.csv").read_text("utf-8"), told.err
    assert {"A", "B"} <= {line.split(",")[0] for line in rows.splitlines()}
