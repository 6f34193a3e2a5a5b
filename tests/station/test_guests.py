"""A blending session with guests at the station: composed by touch, poured, tasted blind, chosen; and twenty phones."""

import re
import shutil
from concurrent.futures import ThreadPoolExecutor

import pypdfium2
import pytest
from axe import looked_over, violations
from phones import links, phone
from stations import Caller, browsing, make_accounts, running

from pourbook import Book
from pourbook.book.sessions import key_to, session_named
from pourbook.codes.identifiers import hyphened
from pourbook.queries.tastings.search import Asked
from pourbook.queries.trials.trial_plan import plan_of

GUESTS = ("Una Brill", "Piers Holt", "Tomas Reeve")
TWENTY = tuple(f"Guest {number}" for number in range(1, 21))


@pytest.fixture(scope="module")
def house(demo, tmp_path_factory):
    """A station with accounts; three vials, and the recipe of what stands on the table."""
    from command import Desk, here

    path = tmp_path_factory.mktemp("guests") / "quillmere.pourbook"
    shutil.copy(demo, path)
    make_accounts(path)
    desk = Desk(path, here)
    vials = [
        desk.asks(f"draw '{cask}' '700 ml' --ref '{ref}'")["id"]
        for cask, ref in (("Q 106", "X 1"), ("Q 205", "X 2"), ("Q 204", "X 3"))
    ]
    desk.does("recipe 'On the table' --part 'X 1=70 in 50..90' --part 'X 2=25 in 5..40' --part 'X 3=5 in 0..15'")
    with running(path) as station:
        station.vials, station.desk = vials, desk
        yield station


def opened(house, host, name, guests=GUESTS):
    """A blending session by its number."""
    host.get("/blendings/new")
    form = {"name": name, "recipe": "On the table", "guests": "\n".join(guests), "total": "40 ml", "strength": "21"}
    done = host.post("/blendings/new", form | {"confirm": "yes"})
    assert done.status_code == 303, done.text
    return int(done.headers["location"].split("/")[2])


def host_of(house):
    return Caller(house.url).sign_in("blender")


def poured(house, trial):
    """A blend poured as it was composed."""
    with Book.open(house.book) as book:
        pours = [(one.component, one.volume_ml) for one in plan_of(book.store, trial).pours]
    typed = " ".join(f"{component} '{ml:.3f} ml'" for component, ml in pours)
    house.desk.does(f"pour {trial} {typed}")


def test_a_blend_is_composed_by_steps_within_bounds(house):
    host = host_of(house)
    number = opened(house, host, "Steps")
    guest = phone(house, links(host, number, "blending")["Una Brill"])
    page = guest.get("/guest").text
    assert [int(parts) for parts in re.findall(r'<output class="target">(\d+)</output>', page)] == [70, 25, 5]
    assert "within the rules of the table" in page
    third = house.vials[2]
    for _ in range(3):
        mixed = guest.post("/guest/parts", {"step": f"{third} +5"}, headers={"HX-Request": "true"}).text
    assert re.findall(r'<output class="target">(\d+)</output>', mixed) == ["70", "25", "20"]
    assert "too much" in mixed
    refused = guest.post("/guest/compose", {"called": "Too bold"})
    assert refused.status_code == 422
    assert "nearest allowed" in refused.text
    for _ in range(2):
        guest.post("/guest/parts", {"step": f"{third} -5"})
    assert guest.post("/guest/parts", {"step": "V000001R +5"}).status_code == 422
    assert guest.post("/guest/parts", {"step": f"{third} +500"}).status_code == 422
    assert guest.post("/guest/compose", {"called": ""}).status_code == 422
    assert guest.post("/guest/compose", {"called": "Harbour light"}).status_code == 303
    assert guest.post("/guest/compose", {"called": "Another"}).status_code == 409
    assert guest.post("/guest/parts", {"step": f"{third} +1"}).status_code == 409
    progress = host.get(f"/blending/{number}/progress").text
    assert "Next to pour" in progress
    assert "Harbour light" in progress
    with Book.open(house.book) as book:
        own = book.blending_card("Steps").guests[0]
        assert (own.guest, own.name) == ("Una Brill", "Harbour light")


def test_a_guest_sees_only_their_own(house):
    host = host_of(house)
    number = opened(house, host, "Own alone")
    seats = links(host, number, "blending")
    una, piers = phone(house, seats["Una Brill"]), phone(house, seats["Piers Holt"])
    assert una.post("/guest/compose", {"called": "Una's secret"}).status_code == 303
    assert "Una&#39;s secret" in una.get("/guest").text
    assert "secret" not in piers.get("/guest").text
    for path in ("/", "/blendings", f"/blending/{number}", f"/blending/{number}/links", "/trials"):
        assert piers.get(path).status_code in (303, 403), path
    assert piers.get("/guest/card").status_code == 404
    assert piers.post("/guest/send").status_code == 404


def test_an_evening_from_the_table_to_the_cards(house, chromium):
    """Three guests: composed, poured, tasted blind, closed, chosen; one of the phones in a browser at 360 px."""
    host = host_of(house)
    number = opened(house, host, "Evening")
    seats = links(host, number, "blending")
    others = {name: phone(house, seats[name]) for name in GUESTS[1:]}
    small = {"viewport": {"width": 360, "height": 740}, "has_touch": True}
    with browsing(chromium, house.url, **small) as watched:
        page = watched.page
        watched.goto(seats["Una Brill"])
        page.tap("#join button[type=submit]")
        page.wait_for_selector("#mix")
        page.locator("#mix button", has_text="+5").nth(2).tap()
        page.wait_for_selector("#mix output:text-is('10')")
        page.wait_for_selector('#mix button[name="step"][value$="+5"]:focus')  # keys go on from there
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        page.fill("#f-called", "Heather in rain")
        page.tap("#compose button[type=submit]")
        page.wait_for_selector("text=It waits to be poured.")
        for place, (name, guest) in enumerate(others.items()):
            guest.post("/guest/parts", {"step": f"{house.vials[1]} +{(1, 5)[place]}"})
            assert guest.post("/guest/compose", {"called": f"Blend of {name}"}).status_code == 303
        with Book.open(house.book) as book:
            blends = {one.guest: one.trial for one in book.blending_card("Evening").guests}
        for trial in blends.values():
            poured(house, trial)
        tasting = host.post(f"/blending/{number}/taste", {"confirm": "yes"})
        assert tasting.status_code == 303, tasting.text
        session = tasting.headers["location"]
        page.wait_for_selector("ol.glasses")
        host.post(f"{session}/pour", {"confirm": "yes"})
        with Book.open(house.book) as book:
            key, _ = key_to(book.store, session_named(book.store, "Evening"))
        ranks = dict(zip(blends.values(), (1, 2, 3), strict=True))
        for flight in key[1:]:
            guest = others[flight.assessor]
            for glass in flight.glasses:
                guest.post(f"/guest/glass/{glass.code}", {"score": str(90 - ranks[glass.item])})
            places = {f"place.{glass.code}": str(ranks[glass.item]) for glass in flight.glasses}
            assert guest.post("/guest/send", places).status_code == 303
            assert hyphened(flight.glasses[0].item) not in guest.get("/guest").text
        page.locator("text=Taste this one").first.tap()
        for glass in key[0].glasses:
            page.wait_for_selector(f"h1:has-text('{glass.code}')")
            page.fill("#f-score", str(90 - ranks[glass.item]))
            page.tap("#glass > p.row button[type=submit]")
        page.wait_for_selector("#send")
        for glass in key[0].glasses:
            page.select_option(f"#place-{glass.code}", str(ranks[glass.item]))
        page.tap("#send > p.row button[type=submit]")
        page.wait_for_selector("text=Everything is sent and sealed")
        assert host.post(f"/blending/{number}/choose").status_code == 409
        assert host.post(f"{session}/close").status_code == 303
        page.wait_for_selector("text=The session is closed")
        assert host.post(f"/blending/{number}/choose").status_code == 303
        page.reload()
        page.wait_for_selector("text=Yours was chosen")
        assert page.locator("svg.qr").count() == 1
        watched.clean()
    own = next(iter(others.values())).get("/guest/card").content  # one card, of the four on the host's sheet
    assert own.startswith(b"%PDF-")
    assert text_of(own).count("composed by") == 1
    assert "Chosen: Heather in rain" in host.get(f"/blending/{number}").text
    assert host.post(f"/blending/{number}/cards").content.startswith(b"%PDF-")


def test_twenty_guests_score_at_once_and_nothing_is_lost(house):
    """Each on their own phone, all at the same time: every ballot is in, as it was sent."""
    host = host_of(house)
    host.get("/sessions/new")
    form = {"name": "Twenty", "amount": "5 ml", "glass": house.vials, "assessor": TWENTY, "confirm": "yes"}
    done = host.post("/sessions/new", form)
    assert done.status_code == 303, done.text
    number = int(done.headers["location"].rpartition("/")[2])
    seats = links(host, number)
    with Book.open(house.book) as book:
        key, _ = key_to(book.store, session_named(book.store, "Twenty"))

    def taste(place):
        flight = key[place]
        guest = phone(house, seats[flight.assessor])
        for turn, glass in enumerate(flight.glasses):
            assert guest.post(f"/guest/glass/{glass.code}", {"score": f"{place + 40 + turn}"}).status_code == 303
        return guest.post("/guest/send").status_code

    with ThreadPoolExecutor(20) as phones:
        assert list(phones.map(taste, range(20))) == [303] * 20
    assert "Every ballot is in." in host.get(f"/session/{number}/progress").text
    wanted = {glass.code: place + 40 + turn for place, one in enumerate(key) for turn, glass in enumerate(one.glasses)}
    with Book.open(house.book) as book:
        assert {one.note.code: one.note.score for one in book.tastings(Asked(session="Twenty"))} == wanted
        assert not book.verify().faults


def test_an_auditor_reads_a_blending_session_and_changes_nothing(house):
    auditor, host = Caller(house.url).sign_in("auditor"), host_of(house)
    number = opened(house, host, "Audited")
    for path in ("/blendings", "/blendings/new", f"/blending/{number}", f"/blending/{number}/links"):
        page = auditor.get(path)
        assert page.status_code == 200
        assert "/join/" not in page.text
    for deed in ("taste", "choose", "free", "cards", "sheets"):
        assert auditor.post(f"/blending/{number}/{deed}").status_code == 403


def test_pages_of_hosts_and_guests_are_for_everybody(house, chromium):
    """By axe, wide and light, on a phone and dark."""
    host = host_of(house)
    number = opened(house, host, "For everybody")
    own = f"/blending/{number}"
    wide, small = ("/blendings", own, "/sessions"), (own, f"{own}/links")
    assert looked_over(chromium, house.url, wide, small, role="blender") == {}
    guest = phone(house, links(host, number, "blending")["Una Brill"])
    cookie = {"name": "pourbook-guest", "value": guest.client.cookies["pourbook-guest"], "url": house.url}
    for scheme in ("light", "dark"):
        size = {"width": 360, "height": 740}
        with browsing(chromium, house.url, viewport=size, color_scheme=scheme, bypass_csp=True) as watched:
            watched.page.context.add_cookies([cookie])
            watched.goto("/guest")
            assert watched.page.inner_text("h1") == "For everybody"
            assert violations(watched.page) == []


def text_of(pdf):
    """All that stands on a paper."""
    document = pypdfium2.PdfDocument(pdf)
    try:
        return "".join(page.get_textpage().get_text_bounded() for page in document)
    finally:
        document.close()
