"""A blind session at the station: planned, opened, printed, poured, tasted on phones, revealed, reported.

Until it is closed, no answer to anybody links a code with what is in the glass.
"""

import re
import shutil
from secrets import randbelow

import pytest
from command import Desk, here
from phones import links, phone
from stations import Caller, browsing, make_accounts, running

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.actions.tasting_session import open_session
from pourbook.book.sessions import key_to, session_named
from pourbook.codes.identifiers import hyphened
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.tastings.session_plan import Wish

PEOPLE = ("Isla Farrow", "Tomas Reeve", "Una Brill")
"""The first has an account, so that a session names her by her number; the others are names alone."""


@pytest.fixture(scope="module")
def house(demo, tmp_path_factory):
    """A station with accounts, and two vials of 200 ml in its book."""
    path = tmp_path_factory.mktemp("blind") / "quillmere.pourbook"
    shutil.copy(demo, path)
    make_accounts(path)
    desk = Desk(path, here)
    vials = [
        desk.asks(f"draw '{cask}' '200 ml' --ref '{ref}'")["id"] for cask, ref in (("Q 204", "X 1"), ("Q 106", "X 2"))
    ]
    with running(path) as station:
        station.vials = vials
        yield station


def as_role(house, role):
    return Caller(house.url).sign_in(role)


def plan(host, vials, people=PEOPLE, repeat=True):
    """What is planned: glasses by scan, one of them twice, and names."""
    host.get("/sessions/new")
    for vial in vials:
        assert 'data-outcome="good"' in host.post("/sessions/new/scan", {"scan": vial}).text
    if repeat:
        host.post("/sessions/new/change", {"line": "twice 1"})
    for name in people:
        assert 'data-outcome="good"' in host.post("/sessions/new/scan", {"scan": name, "as": "name"}).text


def opened(house, host, name, **asked):
    """A session that was opened, by its number."""
    plan(host, house.vials, repeat="test" not in asked)
    done = host.post("/sessions/new", {"name": name, "amount": "10 ml", "strength": "21"} | asked)
    assert done.status_code == 303, done.text
    return int(done.headers["location"].rpartition("/")[2])


def flights(house, name):
    """Which item is in which glass: what only the pour sheet may say."""
    with Book.open(house.book) as book:
        key, _ = key_to(book.store, session_named(book.store, name))
    return [one._replace(assessor=who) for one, who in zip(key, PEOPLE, strict=True)]


# -- planning ------------------------------------------------------------------------------


def test_what_is_planned_is_scanned_and_worked_out(house):
    host = as_role(house, "blender")
    plan(host, house.vials)
    assert 'data-outcome="repeat"' in host.post("/sessions/new/scan", {"scan": house.vials[0]}).text
    assert 'data-outcome="bad"' in host.post("/sessions/new/scan", {"scan": "C999999A"}).text
    page = host.get("/sessions/new").text
    assert page.count(hyphened(house.vials[1])) > page.count(hyphened(house.vials[0]))
    worked = host.post("/sessions/new/plan", {"amount": "10 ml", "strength": "21"}).text
    assert "3 glasses for each of 3" in worked
    assert "g of pure alcohol" in worked
    assert host.post("/sessions/new/change", {"line": "glasses 9"}).status_code == 422
    for _ in range(3):
        host.post("/sessions/new/change", {"line": "glasses 0"})
        host.post("/sessions/new/change", {"line": "assessors 0"})
    assert host.post("/sessions/new", {"name": "Nobody's"}).status_code == 422
    added = host.post("/sessions/new/scan", {"scan": "Wilhelmina Grau", "as": "name"}).text
    assert re.search(r'data-outcome="good"[^>]*>Wilhelmina Grau<', added), "a person is told by their name"


def test_who_may_open_no_session_is_offered_no_seat_of_it(house):
    assert "/sessions/new/scan" not in as_role(house, "technician").get("/sessions/new").text


def test_a_plan_is_each_persons_own(house):
    host, other = as_role(house, "blender"), as_role(house, "manager")
    plan(host, house.vials[:1], (), repeat=False)
    assert hyphened(house.vials[0]) not in other.get("/sessions/new").text
    host.post("/sessions/new/change", {"line": "glasses 0"})


# -- seats ---------------------------------------------------------------------------------


def test_a_seat_is_taken_once_and_freed_by_the_host(house):
    host = as_role(house, "blender")
    number = opened(house, host, "Seats")
    link = links(host, number)["Isla Farrow"]
    first, second = phone(house, link), Caller(house.url)
    assert "has joined as Isla Farrow already" in second.get(link).text
    assert second.post(link).status_code == 409
    assert second.get("/guest").status_code == 303
    assert "Isla Farrow" not in links(host, number)
    person = re.search(r'name="person" value="([^"]+)"', host.get(f"/session/{number}/links").text)[1]
    host.post(f"/session/{number}/free", {"person": person})
    assert first.get("/guest").status_code == 303
    assert second.get(link).status_code == 404
    fresh = links(host, number)["Isla Farrow"]
    assert fresh != link
    assert "Taste this one" in phone(house, fresh).get("/guest").text
    assert Caller(house.url).get("/join/session-1.0.0.abc").status_code == 404


def test_links_are_the_hosts_alone(house):
    host = as_role(house, "blender")
    number = opened(house, host, "Whose links")
    for role in ("auditor", "technician", "cellar"):
        page = as_role(house, role).get(f"/session/{number}/links")
        assert page.status_code == 200
        assert "/join/" not in page.text


def test_a_link_is_no_cookie(house):
    """What stands in a link is not what a phone holds."""
    host = as_role(house, "blender")
    number = opened(house, host, "No cookie")
    guest = Caller(house.url)
    guest.client.cookies.set("pourbook-guest", links(host, number)["Una Brill"].rpartition("/")[2])
    assert guest.get("/guest").status_code == 303


def test_a_guest_reaches_nothing_but_their_own_page(house):
    host = as_role(house, "blender")
    number = opened(house, host, "Own page")
    guest = phone(house, links(host, number)["Una Brill"])
    for path in ("/", "/sessions", f"/session/{number}", "/tastings", f"/session/{number}/links", "/journal"):
        assert guest.get(path).status_code in (303, 403, 404), path
    assert guest.post("/looks", {"language": "de", "back": "/guest"}).status_code == 303
    assert guest.post("/looks", {"csrf_token": "0" * 64}, headers={"X-CSRF-Token": ""}).status_code == 403
    other = flights(house, "Own page")[0].glasses[0].code
    assert guest.get(f"/guest/glass/{other}").status_code == 404
    assert guest.post(f"/guest/glass/{other}", {"score": "5"}).status_code == 404


# -- one glass after the other -------------------------------------------------------------


def test_ballots_are_kept_looked_back_at_sent_and_sealed(house):
    host = as_role(house, "blender")
    number = opened(house, host, "Look back", purpose="choose")
    guest = phone(house, links(host, number)["Isla Farrow"])
    codes = [glass.code for glass in flights(house, "Look back")[0].glasses]
    page = guest.get("/guest").text
    assert re.findall(r'class="target">(\d{3})<', page) == codes
    kept = guest.post(f"/guest/glass/{codes[0]}", {"nose.pear": "4", "score": "70"})
    assert kept.headers["location"] == f"/guest/glass/{codes[1]}"
    back = guest.get(f"/guest/glass/{codes[0]}").text
    assert re.search(r'name="nose.pear" value="4"[^>]* checked', back)
    guest.post(f"/guest/glass/{codes[0]}", {"nose.pear": "2", "score": "71"})
    progress = host.get(f"/session/{number}/progress").text
    assert "71" not in re.sub("[0-9a-f]{12,}", "", progress)  # tokens and versions are random digits
    assert "pear" not in progress
    sent = guest.post("/guest/send", {f"place.{codes[0]}": "2"})
    assert sent.status_code == 303
    assert guest.post(f"/guest/glass/{codes[0]}", {"score": "99"}).status_code == 409
    assert guest.get(f"/guest/glass/{codes[0]}").status_code == 303
    with Book.open(house.book) as book:
        (note,) = list(book.tastings(_of("Look back")))
        isla = session_named(book.store, "Look back").session.assessors[0]
    assert (note.note.code, note.note.score, note.note.rank, note.note.assessor) == (codes[0], 71.0, 2, isla)
    assert note.note.stages["nose"].words == {"pear": 2.0}
    assert guest.post(f"/guest/glass/{codes[1]}", {"score": "hello"}).status_code == 422
    assert guest.post(f"/guest/glass/{codes[1]}", {}).status_code == 422
    guest.post(f"/guest/glass/{codes[1]}", {"score": "700"})
    assert guest.post("/guest/send", {}).status_code == 422


def _of(session):
    from pourbook.queries.tastings.search import Asked

    return Asked(session=session)


def test_a_test_is_answered_by_the_glass_that_was_picked(house):
    host = as_role(house, "blender")
    number = opened(house, host, "Odd one", test="triangle", confirm="yes")
    seats = links(host, number)
    for flight in flights(house, "Odd one"):
        guest = phone(house, seats[flight.assessor])
        codes = [glass.code for glass in flight.glasses]
        items = [glass.item for glass in flight.glasses]
        odd = next(code for code, item in zip(codes, items, strict=True) if items.count(item) == 1)
        assert guest.post("/guest/send", {"pick": codes}).status_code == 422
        assert guest.post("/guest/send", {"pick": odd, "note": "Drier."}).status_code == 303
        assert "Everything is sent" in guest.get("/guest").text
    host.post(f"/session/{number}/close")
    report = host.get(f"/session/{number}/report").text
    assert "3 of 3 assessors were right" in report


# -- what is sealed ------------------------------------------------------------------------


def linked(text, key, called):
    """Codes that stand near what is in their glass."""
    return {
        glass.code
        for flight in key
        for glass in flight.glasses
        for name in (glass.item, hyphened(glass.item), called[glass.item])
        if near(glass.code, name, text) or near(name, glass.code, text)
    }


def near(first, then, text):
    """Whether one word follows another closely; a figure with decimals is no code."""
    one, other = (rf"(?<![\w.,-]){re.escape(word)}(?![\w-]|[.,]\d)" for word in (first, then))
    return first in text and then in text and re.search(f"{one}.{{0,160}}{other}", text, re.DOTALL) is not None


def every_get():
    """The path of every GET route that is listed, with the roles that it answers; of files that came along, none."""
    routes = here("station", "--routes", "--json").json["routes"]
    return {
        one["path"]: one["roles"] for one in routes if one["method"] == "GET" and not one["path"].startswith("/static/")
    }


def opened_with_high_codes(house, name):
    """A session whose codes are no numbers of entries, so that a code in a page is a code."""
    wish = Wish((*house.vials, house.vials[1]), PEOPLE, read_amount("10 ml"), read_strength("21"))
    with Book.open(house.book) as book:
        how = Happening("Pankracy Wiżbor")
        return open_session(book, how, name, wish, draw=lambda n: n - 1 - randbelow(min(n, 90))).recorded.numbers[0]


def test_nothing_says_what_is_sealed_before_the_close(house):
    """Every page of every role and guest, in its source: neither which code is which glass, nor the sealed text."""
    host = as_role(house, "blender")
    number = opened_with_high_codes(house, "Sealed evening")
    seats = links(host, number)
    phones = {name: phone(house, link) for name, link in seats.items()}
    key = flights(house, "Sealed evening")
    host.post(f"/session/{number}/pour")
    for flight in key:
        phones[flight.assessor].post(f"/guest/glass/{flight.glasses[0].code}", {"score": "66", "nose.pear": "1"})
        phones[flight.assessor].post("/guest/send")
    with Book.open(house.book) as book:
        session = session_named(book.store, "Sealed evening").session
        entries = number, book.head_number()
    called = dict(zip(house.vials, ("X 1", "X 2"), strict=True))
    filled = {
        "{item}": house.vials[:1], "{session}": [str(number)], "{entry}": [str(one) for one in entries],
        "{number}": [str(one) for one in entries],
        "{code}": [glass.code for glass in key[0].glasses], "{token}": ["session-1.0.0.x"],
    }  # fmt: skip
    code = key[0].glasses[0].code
    extra = ["/find?q=Sealed", "/tastings?session=Sealed+evening", f"/find?q={code}", f"/scan?code={code}",
             f"/scan?code=SESSION-{number}-{code}", f"/item/{house.vials[1]}",
             f"/item/{house.vials[1]}/history"]  # fmt: skip
    ways = every_get()
    asked = [
        (path.replace(hole, value), ways[path])
        for path in ways
        for hole in [next((one for one in filled if one in path), "")]
        for value in (filled[hole] if hole else [""])
        if path.replace(hole, value).count("{") == 0
    ]
    seen = 0
    staff = {role: as_role(house, role) for role in ("technician", "blender", "cellar", "auditor", "manager")}
    for role, who in (*staff.items(), *(("guest", one) for one in phones.values())):
        for path in (*(path for path, roles in asked if roles is None or role in roles), *extra):
            if path.endswith((".pdf", ".png", "/paper")) and role != "manager":
                continue  # papers are the same for everybody
            answer = who.get(path)
            assert answer.status_code < 500, (path, answer.text[:300])
            assert session.sealed[:40] not in answer.text, path
            assert linked(answer.text, key, called) == set(), path
            seen += answer.status_code == 200
    assert seen > 40
    revealed = host.post(f"/session/{number}/close", {"confirm": "yes"})
    assert revealed.status_code == 303
    assert linked(host.get(f"/session/{number}/report").text, key, called)
    assert hyphened(key[0].glasses[0].item) in phones[key[0].assessor].get("/guest").text


def test_the_pour_sheet_is_for_whoever_pours_and_does_not_taste(house):
    host = as_role(house, "blender")
    number = opened(house, host, "Who pours")
    sheet = host.post(f"/session/{number}/pour-sheet")
    assert sheet.content.startswith(b"%PDF-")
    taster = as_role(house, "technician")  # Isla Farrow, who tastes
    refused = taster.post(f"/session/{number}/pour-sheet", {"confirm": "yes"})
    assert refused.status_code == 409
    assert as_role(house, "auditor").post(f"/session/{number}/pour-sheet").status_code == 403
    for paper in ("labels", "ballots"):
        assert host.post(f"/session/{number}/{paper}").content.startswith(b"%PDF-")


# -- the whole of it in a browser ----------------------------------------------------------


def test_a_host_and_three_phones_from_the_plan_to_the_report(house, chromium):
    """At 360 px, by touch: scanned together, opened, joined by link, tasted, sent, closed, reported."""
    small = {"viewport": {"width": 360, "height": 740}, "has_touch": True}
    with browsing(chromium, house.url, "blender") as host:
        page = host.page
        host.goto("/sessions/new")
        for vial in house.vials:
            host.scan(vial)
            page.wait_for_selector(f"#task li:has-text('{hyphened(vial)}')")
        for name in PEOPLE:
            page.fill("#f-person", name)
            page.click("text=Add the person")
            page.wait_for_selector(f"#task li:has-text('{name}')")
        page.fill("#f-name", "On phones")
        page.fill("#f-strength", "21")
        page.click("text=Work it out")
        page.wait_for_selector("#plan table")
        page.click("#open > p.row:last-child button[type=submit]")
        page.wait_for_selector("h1:has-text('On phones')")
        home = page.url
        page.click("text=Links for phones")
        page.wait_for_selector("svg.qr")
        hrefs = page.eval_on_selector_all(".seats a", "all => all.map(one => one.href)")
        assert len(hrefs) == 3
        page.goto(home)
        for place, href in enumerate(hrefs):
            with browsing(chromium, house.url, **small) as guest:
                phone = guest.page
                phone.goto(href)
                phone.tap("#join button[type=submit]")
                phone.wait_for_selector("ol.glasses")
                for glass in range(2):
                    phone.locator("text=Taste this one").first.tap() if glass == 0 else None
                    phone.wait_for_selector("#glass")
                    nose = phone.locator("fieldset", has_text="Nose").first
                    nose.locator("summary", has_text="quince").first.tap()
                    nose.locator("label", has=phone.locator('input[name="nose.quince"][value="3"]')).tap()
                    phone.fill("#f-score", str(70 + place + glass))
                    assert phone.evaluate("document.documentElement.scrollWidth") <= 360
                    before = phone.url
                    phone.tap("#glass > p.row button[type=submit]")
                    phone.wait_for_function("before => location.href !== before", arg=before)
                phone.wait_for_selector("#send")
                phone.tap("#send > p.row button[type=submit]")
                phone.wait_for_selector("text=Everything is sent and sealed")
                guest.clean()
            page.wait_for_function(
                "n => document.querySelector('#progress').innerText.split('✓').length - 1 > n",
                arg=place,
            )
        page.wait_for_selector("text=Every ballot is in.")
        page.click("#close button[type=submit]")
        page.wait_for_selector("h1:has-text('what was found')")
        assert "the seal agrees" in page.inner_text("main")
        assert page.locator("table").count() == 2
        host.clean()
