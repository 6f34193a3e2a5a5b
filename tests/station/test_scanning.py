"""Scans on pages of a running station: what they lead to, in order, in words and sounds; and a station that is away."""

import pytest
from command import here
from stations import PINS, Caller, browsing

CASK, VIAL, LOT = "C000001H", "V000001R", "L000001C"
SAID_WITHIN_MS = 2000
TONES = """
window.tones = [];
const real = AudioContext.prototype.createOscillator;
AudioContext.prototype.createOscillator = function () {
  const tone = real.call(this), start = tone.start;
  tone.start = (at) => { tones.push([tone.type, tone.frequency.value]); start.call(tone, at); };
  return tone;
};
"""


@pytest.fixture(scope="module")
def at_home(chromium, open_house):
    with browsing(chromium, open_house.url) as watched:
        watched.page.set_default_timeout(20_000)
        watched.page.add_init_script(TONES)
        yield watched
        watched.clean()


@pytest.fixture
def page(at_home):
    at_home.goto("/")
    return at_home.page


def outcome(page):
    return page.eval_on_selector("#heard", "region => region.dataset.outcome")


def until(page, expression):
    """Wait for it; a page of strict policy lets no driver evaluate it again and again by itself."""
    for _ in range(80):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never: {expression}")


def journal_head(caller):
    return caller.get("/healthz").text


@pytest.mark.parametrize(
    ("code", "enter"),
    [(CASK, True), ("c-000001-h", False), ("]d1C000001H", True), ("http://127.0.0.1/item/C-000001-H", True)],
)
@pytest.mark.parametrize("focus", ["#find", "a.house", "body"])
def test_a_known_code_leads_to_its_item_wherever_the_focus_is(at_home, page, code, enter, focus):
    page.focus(focus)
    at_home.scan(code, enter=enter)
    page.wait_for_url(f"**/item/{CASK}", wait_until="commit")
    assert "C-000001-H" in at_home.heard("good")


def test_a_code_that_nobody_knows_stays_here_and_changes_nothing(at_home, page, caller):
    page.fill("#find", "rum")
    before, head = page.url, journal_head(caller)
    at_home.scan("C000001J")  # its check character does not agree
    page.wait_for_selector('#heard[data-outcome="bad"]', timeout=SAID_WITHIN_MS)
    assert "check character" in page.inner_text("#heard")
    assert (page.url, page.input_value("#find"), journal_head(caller)) == (before, "rum", head)


def test_the_code_of_the_item_shown_is_a_repeat(at_home, page):
    at_home.goto(f"/item/{CASK}")
    at_home.scan("C-000001-H")
    page.wait_for_selector('#heard[data-outcome="repeat"]', timeout=SAID_WITHIN_MS)
    assert "shown already" in page.inner_text("#heard")
    assert page.url.endswith(f"/item/{CASK}")


def test_scans_that_come_fast_are_all_asked_about_in_their_order(at_home, page):
    asked = []
    page.on("request", lambda request: asked.append(request.url) if "/scan?" in request.url else None)
    for code in (CASK, VIAL, LOT):
        at_home.scan(code)
    page.wait_for_url(f"**/item/{LOT}", wait_until="commit")
    assert [url.split("code=")[1].split("&")[0] for url in asked] == [CASK, VIAL, LOT]


def test_in_a_task_each_scan_is_sent_to_it_in_order_and_the_page_stays(at_home, page):
    at_home.goto("/scanner")
    sent = []
    page.on("request", lambda request: sent.append(request.post_data) if request.method == "POST" else None)
    for code in (CASK, VIAL, LOT, "C000001J", CASK):
        at_home.scan(code)
    page.locator("#task", has_text=CASK).wait_for()
    page.wait_for_timeout(300)
    assert sent == [f"scan={code}" for code in (CASK, VIAL, LOT, "C000001J", CASK)]
    assert page.url.endswith("/scanner")
    assert outcome(page) == "good"


def test_a_scan_that_a_task_refuses_leaves_the_task_as_it_stands(chromium, open_house):
    refused = '<div class="refusal"><p class="said">C-000001-H is on hold</p><p class="remedy">release it</p></div>'
    with browsing(chromium, open_house.url) as watched:
        watched.goto("/scanner")
        watched.page.route(
            "**/scanner", lambda route: route.fulfill(status=409, body=refused, content_type="text/html")
        )
        stood = watched.page.inner_html("#task")
        watched.scan(CASK)
        assert watched.heard("bad") == "C-000001-H is on hold release it"
        assert watched.page.inner_html("#task") == stood


def test_a_bad_scan_in_a_task_is_heard_and_is_no_fault_of_the_page(at_home, page):
    """The task stands, with what was typed in it; a browser would log an answer of 4xx as an error."""
    at_home.goto("/trials/new")
    page.fill("[name=ref]", "Trial 26-Q")
    page.focus("[name=ref]")
    at_home.scan("C000001J")
    assert "check character" in at_home.heard("bad")
    assert page.input_value("[name=ref]") == "Trial 26-Q"
    assert page.query_selector("#task[data-task]")


def test_scans_of_a_task_that_was_left_are_told_and_not_sent_elsewhere(chromium, open_house):
    with browsing(chromium, open_house.url) as watched:
        watched.goto("/scanner")
        watched.page.route("**/scanner", lambda route: route.abort("connectionrefused"))
        watched.scan(CASK)
        watched.heard("bad")
        watched.goto("/camera")
        watched.page.locator("#heard", has_text=f"Not sent, scan again: {CASK}").wait_for()
        assert watched.page.url.endswith("/camera")


def test_a_badge_says_who_is_at_work_where_nobody_signs_in(at_home, page, open_house, caller):
    here("--book", open_house.book, "person", "Isla Farrow").done()
    isla = badge(caller, "Isla Farrow")
    at_home.scan(isla)
    page.wait_for_url(f"**/item/{isla}", wait_until="commit")
    assert "At work: Isla Farrow" in at_home.heard("good")
    assert "Isla Farrow" in page.inner_text(".who")


def test_a_badge_in_the_midst_of_a_task_changes_who_is_at_work_and_the_task_stays(at_home, page, open_house, caller):
    here("--book", open_house.book, "person", "Tam Orrock").done()
    tam = badge(caller, "Tam Orrock")
    at_home.goto("/trials/new")
    at_home.scan(tam)
    page.locator(".who", has_text="Tam Orrock").wait_for()
    assert "At work: Tam Orrock" in at_home.heard("good")
    assert page.url.endswith("/trials/new")


def test_after_the_pin_the_page_where_the_badge_was_scanned_comes_back(chromium, house_with_accounts, as_role):
    name, pin = PINS["technician"]
    isla = badge(as_role("manager"), name)
    with browsing(chromium, house_with_accounts.url, "blender") as watched:
        watched.goto("/trials/new")
        watched.scan(isla)
        watched.page.wait_for_url("**/sign-in?*", wait_until="commit")
        assert name in watched.heard("good")
        watched.page.fill("#f-pin", pin)
        watched.page.click("main button[type=submit]")
        watched.page.wait_for_url("**/trials/new", wait_until="commit")
        watched.page.locator(".who", has_text=name).wait_for()
        watched.clean()


def test_a_badge_asks_for_the_pin_where_people_sign_in(chromium, house_with_accounts, as_role):
    isla = badge(as_role("manager"), "Isla Farrow")
    with browsing(chromium, house_with_accounts.url) as watched:
        watched.goto("/sign-in")
        watched.scan(CASK)
        assert "Sign in first" in watched.heard("bad")
        watched.scan(isla)
        watched.page.wait_for_url(f"**/sign-in?name={isla}*", wait_until="commit")
        assert watched.page.input_value("#f-name") == isla
        assert "PIN" in watched.heard("good")
        watched.clean()


def test_without_a_session_no_code_but_a_badge_is_told(house_with_accounts, as_role):
    """Nor whether there is such a person: any badge leads to the PIN."""
    stranger = Caller(house_with_accounts.url)
    assert stranger.get(f"/scan?code={CASK}").json()["outcome"] == "bad"
    assert CASK not in stranger.get(f"/scan?code={CASK}").text
    assert stranger.get("/scan?code=P000099T").json()["outcome"] == "bad"  # no check character of a badge's
    known, unknown = badge(as_role("manager"), "Isla Farrow"), "P999999" + check("P999999")
    answers = [stranger.get(f"/scan?code={code}").json() for code in (known, unknown)]
    assert [answer["said"] for answer in answers] == ["Enter the PIN"] * 2


def badge(caller, name):
    """The identifier of a person in the book: it is what their badge holds."""
    answer = caller.get("/scan", params={"code": name}).json()
    assert answer["item"], answer
    return answer["item"]


def check(letter_and_digits):
    from pourbook.codes.identifiers import write

    return write("person", int(letter_and_digits[1:]))[-1]


# -- sounds --------------------------------------------------------------------------------


def test_good_bad_and_repeat_sound_different_and_can_be_muted(at_home, page):
    at_home.goto("/scanner")
    heard = {}
    for code, told in ((CASK, "good"), ("C000001J", "bad")):
        page.evaluate("tones.length = 0")
        at_home.scan(code)
        until(page, "tones.length > 0")
        heard[told] = page.evaluate("tones")
    at_home.goto(f"/item/{CASK}")
    at_home.scan(CASK)
    until(page, "tones.length > 0")
    heard["repeat"] = page.evaluate("tones")
    assert len({str(tones) for tones in heard.values()}) == 3
    assert len({tones[0][1] for tones in heard.values()}) == 3, "told apart by the first note"

    page.click("[data-mute]")
    at_home.goto("/scanner")
    assert page.get_attribute("[data-mute]", "aria-pressed") == "true"
    at_home.scan(CASK)
    at_home.heard("good")
    assert page.evaluate("tones") == []
    page.click("[data-mute]")


# -- a station that does not answer -----------------------------------------------------------


@pytest.mark.parametrize(("where", "address"), [("/", "**/scan?*"), ("/scanner", "**/scanner")])
def test_scans_while_the_station_is_away_are_kept_and_sent_when_it_answers(chromium, open_house, where, address):
    with browsing(chromium, open_house.url) as watched:
        page = watched.page
        watched.goto(where)
        for lost in (address, "**/healthz"):
            page.route(lost, lambda route: route.abort("connectionrefused"))
        watched.scan(CASK)
        assert CASK in watched.heard("bad")
        page.wait_for_selector("#away", state="visible")
        assert "does not answer" in page.inner_text("#away")
        watched.scan(VIAL)
        for lost in (address, "**/healthz"):
            page.unroute(lost)
        if where == "/":
            page.wait_for_url(f"**/item/{VIAL}", wait_until="commit")
        else:
            page.locator("#task", has_text=VIAL).wait_for()
        assert "V-000001-R" in watched.heard("good")
        page.wait_for_selector("#away", state="hidden")
