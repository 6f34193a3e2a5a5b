"""What was typed and not recorded yet: it stays through a reload and a lost station, and goes when it is recorded."""

import re
from pathlib import Path

import pytest

STATIC = Path(__file__).parents[2] / "src/pourbook/station/static"
FORM = """<!doctype html><meta charset=utf-8><title>form</title><meta name=csrf-token content=abc>
<script src="/vendor/htmx/htmx.min.js" defer></script><script src="/htmx-hooks.js" defer></script>
<script src="/keep.js" defer></script>
<p id=away hidden data-words="The station does not answer."></p><div id=heard>{said}</div>
<form id=part hx-post="/record" hx-target="find .answer"><input name=amount data-keep value="{value}">
<input name=note>
<input name=row data-keep><input name=row data-keep><div class=answer></div><button id=record>Record</button></form>
<form id=whole method=post action="/sent"><input name=age data-keep="C000001H age"><button id=send>Send</button>
</form>"""


class Station:
    """What the pretend station answers, and what it was sent."""

    def __init__(self):
        self.status, self.sent, self.said, self.value, self.is_away = 200, [], "", "", False

    def answer(self, route):
        path = re.sub(r"^http://[^/]+|\?.*", "", route.request.url)
        if self.is_away:
            route.abort("connectionrefused")
        elif path == "/record":
            self.sent.append((route.request.post_data, route.request.headers.get("x-csrf-token")))
            route.fulfill(status=self.status, body="<p>told</p>", content_type="text/html")
        elif path.endswith(".js"):
            route.fulfill(body=(STATIC / path[1:]).read_text(), content_type="text/javascript")
        elif path == "/healthz":
            route.fulfill(body="ok")
        else:
            route.fulfill(body=FORM.format(said=self.said, value=self.value), content_type="text/html; charset=utf-8")


@pytest.fixture
def station():
    return Station()


@pytest.fixture
def page(chromium, station):
    context = chromium.new_context()
    page = context.new_page()
    page.route("http://127.0.0.1/**", station.answer)
    page.goto("http://127.0.0.1/")
    yield page
    context.close()


def amount(page):
    return page.input_value("[name=amount]")


def test_what_was_typed_stays_through_a_reload(page):
    page.fill("[name=amount]", "12,5 ml")
    page.fill("[name=note]", "not kept")
    page.reload()
    assert (amount(page), page.input_value("[name=note]")) == ("12,5 ml", "")


def test_rows_of_one_name_keep_apart(page):
    page.locator("[name=row]").nth(1).fill("8 ml")
    page.reload()
    assert [row.input_value() for row in page.locator("[name=row]").all()] == ["", "8 ml"]


def test_it_goes_when_it_is_recorded(page, station):
    page.fill("[name=amount]", "12,5 ml")
    page.click("#record")
    page.locator(".answer", has_text="told").wait_for()
    assert station.sent == [("amount=12%2C5%20ml&note=&row=&row=", "abc")], "with the token of the page"
    page.reload()
    assert amount(page) == ""


def test_it_stays_when_it_is_refused(page, station):
    station.status = 422
    page.fill("[name=amount]", "12,5 ml")
    page.click("#record")
    page.wait_for_timeout(300)
    page.reload()
    assert amount(page) == "12,5 ml"


def test_it_stays_when_nobody_answers_and_the_page_says_so_until_somebody_does(page, station):
    page.fill("[name=amount]", "12,5 ml")
    station.is_away = True
    page.click("#record")
    page.locator("#away", has_text="does not answer").wait_for()
    station.is_away = False
    page.wait_for_selector("#away", state="hidden")
    page.reload()
    assert amount(page) == "12,5 ml"


def test_what_the_page_says_itself_is_no_typing(page, station):
    page.fill("[name=amount]", "12,5 ml")
    page.fill("[name=amount]", "")
    page.reload()
    assert amount(page) == ""
    station.value = "20 ml"
    page.reload()
    assert amount(page) == "20 ml"


@pytest.mark.parametrize(("said", "left"), [("", "12"), ('<p data-outcome="good">', "")])
def test_a_form_that_leads_back_to_its_page_is_recorded_if_the_page_says_so(page, station, said, left):
    """As a form without htmx is answered: by a page, which may be the form again, refused."""
    page.fill("[name=age]", "12")
    page.evaluate("document.getElementById('whole').action = '/'")
    if said:
        station.said = "<script>document.currentScript.parentNode.dataset.outcome = 'good'</script>"
    page.click("#send")
    page.wait_for_load_state()
    page.reload()
    assert page.input_value("[name=age]") == left
    page.goto("http://127.0.0.1/elsewhere")
    assert page.input_value("[name=age]") == left, "named by what it is about, not by its page"
