"""What is a scan and what is typing: the script alone, before fields of every kind, with keys as a scanner types them.

Timings are those of scanners that act as keyboards (common practice, no source); hands are slower than 30 ms a key
but for two or three keys that are rolled over (own trial).
"""

import re
from pathlib import Path

import pytest
from stations import type_like_a_scanner

STATIC = Path(__file__).parents[2] / "src/pourbook/station/static"
PAGE = """<!doctype html><meta charset=utf-8><title>keys</title><script src="/scan.js"></script>
<form action="/sent"><input id=amount name=amount value="12.5"><input id=number type=number value="198.5">
<textarea id=words>a
b</textarea><select id=kind><option>vial<option>cask<option>Vat</select>
<input id=tick type=checkbox><button id=button>Record</button></form>
<div id=heard role=status data-away="{code}"></div>
<script src="/listen.js"></script>"""
LISTEN = """
window.codes = []; window.submits = 0; window.clicks = 0; window.changes = [];
window.addEventListener("scanned", (event) => { event.stopPropagation(); codes.push(event.detail.code); }, true);
document.addEventListener("submit", (event) => { event.preventDefault(); submits += 1; });
document.getElementById("button").addEventListener("click", () => { clicks += 1; });
document.addEventListener("change", (event) => changes.push([event.target.id, event.target.value]));
"""
FIELDS = """[...document.querySelectorAll("input, textarea, select")].map((field) => [field.value, field.checked])"""
BODIES = {"/": ("text/html", PAGE), "/listen.js": ("text/javascript", LISTEN)}


@pytest.fixture(scope="module")
def keys(chromium):
    """A page with fields of every kind; its script under the station's own policy, or nothing of it runs."""
    context = chromium.new_context()
    page = context.new_page()

    def answer(route):
        path = re.sub(r"^http://[^/]+|\?.*", "", route.request.url)
        kind, body = BODIES.get(path) or ("text/javascript", (STATIC / path[1:]).read_text())
        route.fulfill(body=body, content_type=kind, headers={"Content-Security-Policy": "script-src 'self'"})

    page.route("http://127.0.0.1/**", answer)
    yield page
    context.close()


@pytest.fixture(autouse=True)
def afresh(keys):
    keys.goto("http://127.0.0.1/")


def heard(page):
    page.wait_for_timeout(350)
    return page.evaluate("codes")


def scanned(page, code, *ends):
    """What was heard of a code that a scanner types, with the keys that end it."""
    type_like_a_scanner(page, [*code, *ends])
    return heard(page)


def typed(page, text, ms):
    """Keys so many milliseconds apart, as the page's own clock has them: a busy machine adds to what a driver waits."""
    page.evaluate(
        """async ([text, ms]) => {
          for (const key of text) {
            const field = document.activeElement;
            const down = new KeyboardEvent("keydown", { key, code: "Key" + key, bubbles: true, cancelable: true });
            if (field.dispatchEvent(down)) document.execCommand("insertText", false, key);
            const until = performance.now() + ms;
            while (performance.now() < until) await new Promise((go) => setTimeout(go));
          }
        }""",
        [text, ms],
    )


@pytest.mark.parametrize("end", [["Enter"], []], ids=["enter", "silence"])
@pytest.mark.parametrize("focus", ["amount", "number", "words", "kind", "tick", "button", ""])
def test_a_scan_lands_in_no_field(keys, focus, end):
    stood = keys.evaluate(FIELDS)
    if focus:
        keys.focus(f"#{focus}")
    assert scanned(keys, "V-000012-3e5", *end) == ["V-000012-3e5"]
    assert keys.evaluate(FIELDS) == stood
    assert keys.evaluate("[submits, clicks, document.activeElement.id]") == [0, 0, focus]


def test_the_caret_stays_in_the_midst_of_what_was_typed_and_typing_goes_on_there(keys):
    keys.focus("#amount")
    keys.evaluate("document.getElementById('amount').setSelectionRange(2, 2)")
    assert scanned(keys, "C000123Y", "Enter") == ["C000123Y"]
    keys.keyboard.press("7")
    assert keys.input_value("#amount") == "127.5"
    keys.focus("#button")
    assert keys.evaluate("changes") == [["amount", "127.5"]], "what a person typed before and after is still a change"


def test_what_was_selected_when_a_scan_came_is_not_lost(keys):
    keys.focus("#amount")
    keys.evaluate("document.getElementById('amount').select()")
    assert scanned(keys, "C000123Y", "Enter") == ["C000123Y"]
    field = "document.getElementById('amount')"
    assert keys.evaluate(f"[{field}.value, {field}.selectionStart, {field}.selectionEnd]") == ["12.5", 0, 4]


def test_scans_one_after_another_stay_apart(keys):
    codes = ["C000123Y", "V000012X", "L000001C"]
    type_like_a_scanner(keys, [key for code in codes for key in (*code, "Enter")])
    assert heard(keys) == codes


def test_tab_ends_a_scan_and_does_not_move_the_focus(keys):
    keys.focus("#amount")
    assert scanned(keys, "C000123Y", "Tab") == ["C000123Y"]
    assert keys.evaluate("document.activeElement.id") == "amount"


def test_a_carriage_return_with_a_line_feed_submits_nothing(keys):
    keys.focus("#amount")
    assert scanned(keys, "C000123Y", "Enter", "Enter") == ["C000123Y"]
    assert keys.evaluate("submits") == 0


def test_the_separator_of_gs1_comes_with_control(keys):
    type_like_a_scanner(keys, "]C110L26")
    keys.keyboard.press("Control+]")
    assert scanned(keys, "3712", "Enter") == ["]C110L26\x1d3712"]


@pytest.mark.parametrize("ms", [35, 45, 60, 90])
def test_fast_typing_is_no_scan(keys, ms):
    keys.focus("#amount")
    keys.evaluate("document.getElementById('amount').value = ''")
    typed(keys, "198.50 ml of it", ms)
    assert heard(keys) == []
    assert keys.input_value("#amount") == "198.50 ml of it"


def test_three_keys_rolled_over_are_typing(keys):
    keys.focus("#words")
    for burst in ("the", "ing", "and"):
        typed(keys, burst, 10)
        keys.wait_for_timeout(60)
    assert heard(keys) == []
    assert "theingand" in keys.input_value("#words")


def test_enter_after_typing_submits(keys):
    keys.focus("#amount")
    keys.keyboard.press("9")
    keys.keyboard.press("Enter")
    keys.wait_for_timeout(100)
    assert keys.evaluate("submits") == 1


def test_what_is_pasted_or_put_in_by_a_program_is_no_scan(keys):
    keys.focus("#amount")
    keys.keyboard.insert_text("C000123Y")
    assert heard(keys) == []
    assert "C000123Y" in keys.input_value("#amount")


def test_a_key_that_is_held_down_is_no_scan(keys):
    keys.focus("#amount")
    for _ in range(8):
        keys.keyboard.down("5")  # repeats, as long as it is not let go
    keys.keyboard.up("5")
    assert heard(keys) == []
    assert "55555555" in keys.input_value("#amount")


def test_an_input_method_that_composes_is_left_alone(keys):
    keys.focus("#words")
    keys.evaluate(
        """() => { for (const key of "nihaoa") {
            const down = { key, keyCode: 229, isComposing: true, bubbles: true, cancelable: true };
            document.activeElement.dispatchEvent(new KeyboardEvent("keydown", down));
        } }"""
    )
    assert heard(keys) == []


def test_a_scanner_that_stutters_at_first_is_still_one(keys):
    keys.focus("#amount")
    for part in ("C0", "00", "123Y"):
        typed(keys, part, 4)
        keys.wait_for_timeout(50)
    assert heard(keys) == ["C000123Y"]
    assert keys.input_value("#amount") == "12.5"


def test_a_scan_that_is_cut_by_a_page_that_leaves_goes_on_in_the_next(keys):
    type_like_a_scanner(keys, "C0001")
    keys.evaluate("location.assign('/?next')")
    keys.wait_for_url("**/?next")
    assert scanned(keys, "23Y", "Enter") == ["C000123Y"]
