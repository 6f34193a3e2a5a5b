"""The page that shows what a scanner sends: its keys, how long between them, what ends them, and what to set."""

import pytest
from stations import browsing

SHOWN_AFTER_MS = 900

SENDS = """async ([keys, ms, caps]) => {
  for (const [key, code] of keys) {
    const shiftKey = /^[A-Z]$/.test(key) && !caps;
    const about = { key, code, shiftKey, modifierCapsLock: caps, bubbles: true, cancelable: true };
    document.body.dispatchEvent(new KeyboardEvent("keydown", about));
    document.body.dispatchEvent(new KeyboardEvent("keyup", about));
    const until = performance.now() + ms;
    while (performance.now() < until) await new Promise((go) => setTimeout(go));
  }
}"""


@pytest.fixture(scope="module")
def at_scanner(chromium, open_house):
    with browsing(chromium, open_house.url) as watched:
        yield watched
        watched.clean()


def american(text):
    """Keys of a US keyboard as a browser names them (W3C UI Events code values): letters, digits, hyphen."""
    named = {"-": "Minus"}
    return [
        ("Enter", "Enter") if sign == "\r" else (sign, named.get(sign) or f"{kind_of_key(sign)}{sign.upper()}")
        for sign in text
    ]


def kind_of_key(sign):
    return "Digit" if sign.isdigit() else "Key"


def german(text):
    """The same keys on a German keyboard: Y and Z change places, and the hyphen's key gives an eszett."""
    arrives = {"Y": "Z", "Z": "Y", "-": "ß"}
    return [[arrives.get(key, key), code] for key, code in american(text)]


@pytest.mark.parametrize(
    ("keys", "ms", "caps", "advised"),
    [
        (american("C000001H\r"), 4, False, {"well"}),
        (american("C000001H"), 4, False, {"endless"}),
        (american("C000001H\r\r"), 4, False, {"twice"}),
        (american("C000001H\r"), 60, False, {"slow"}),
        (american("C00\r"), 4, False, {"short"}),
        (german("C-000003-Y\r"), 4, False, {"layout"}),
        (american("c000001h\r"), 4, True, {"caps"}),
    ],
    ids=["well", "no end", "two ends", "slow", "short", "German keyboard", "caps lock"],
)
def test_it_says_what_to_set(at_scanner, keys, ms, caps, advised):
    page = at_scanner.page
    at_scanner.goto("/scanner")
    page.evaluate(SENDS, [keys, ms, caps])
    page.wait_for_timeout(SHOWN_AFTER_MS)
    shown = page.eval_on_selector_all("[data-when]:not([hidden])", "lines => lines.map((line) => line.dataset.when)")
    assert set(shown) == advised
    assert len(page.query_selector_all("[data-keys] tr")) == len(keys)


def test_it_shows_each_key_and_what_was_put_right(at_scanner):
    page = at_scanner.page
    at_scanner.goto("/scanner")
    page.evaluate(SENDS, [german("V-000001-R\r"), 4, False])
    page.locator("#task", has_text="German keyboard layout").wait_for()
    page.wait_for_timeout(SHOWN_AFTER_MS)
    assert "V-000001-R" in at_scanner.heard("good")
    row = page.locator("[data-keys] tr").nth(1)
    assert row.locator("td").all_inner_texts()[:3] == ["2", "ß", "-"]
    assert "10 keys" in page.inner_text("[data-figures]")
    assert "ended by Enter" in page.inner_text("[data-figures]")
