"""The bench in a real browser: a blender composes, pours by scan, pours too much, revises and compares; a technician
pours on a telephone-sized screen, by scan and by touch."""

import re

import pytest
from axe import violations
from bench_of_samples import Bench
from stations import browsing, running

from pourbook.codes.identifiers import hyphened


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    return Bench(tmp_path_factory.mktemp("journeys") / "bench.pourbook")


@pytest.fixture(scope="module")
def station(bench):
    with running(bench.path) as found:
        yield found


def type_amount(page, text):
    """Typed into its field, and sent."""
    page.fill("#f-amount", text)
    page.click("#amount-form button")


def told(page, words, outcome="good"):
    """Once these words are heard, met so."""
    page.wait_for_selector(f'#heard[data-outcome="{outcome}"]:has-text("{words}")')


def target(page):
    """What is still to be poured of what is in hand."""
    return page.inner_text("#task .target")


def test_a_blender_composes_pours_revises_and_compares(bench, station, chromium):
    with browsing(chromium, station.url, "blender") as watched:
        page = watched.page
        page.click("nav >> text=Trials")
        page.click("text=Compose a trial")
        page.wait_for_selector("#task")
        for vial, parts in (("V1", "60 in 50..70"), ("V2", "40")):
            watched.scan_until(hyphened(bench[vial]), f"#parts-{bench[vial]}")
            page.fill(f"#parts-{bench[vial]}", parts)
        told(page, "Added as a part")
        page.fill("#f-name", "first")
        page.click("text=Compose, and pour it")
        page.wait_for_url("**/pour")
        first = re.search(r"/item/(T\w+)/pour", page.url)[1]

        watched.scan(bench["V1"])
        told(page, "pour 60.0 ml")
        assert target(page) == "60.0 ml"
        type_amount(page, "66 ml")
        told(page, "6.0 ml too much", "bad")
        assert re.search(r"In proportion again with\s+44\.0 ml", page.inner_text(".over"))
        assert violations(page) == []
        page.click("text=Undo the last pour")
        told(page, "taken back")

        watched.scan(bench["V3"])
        told(page, "is not in the recipe", "bad")
        assert page.url.endswith(f"/item/{first}/pour")
        watched.scan(bench["V1"])
        watched.heard("good")
        page.wait_for_selector("#f-amount")
        page.fill("#f-amount", "60")
        with page.expect_response(f"**/item/{first}/pour"):
            watched.scan(bench["V1"], enter=False)
        assert page.input_value("#f-amount") == "60", "a scan is no typing, and what was typed stays"
        type_amount(page, "60 ml")
        told(page, "as planned")
        watched.scan(bench["V2"])
        told(page, "pour 40.0 ml")
        type_amount(page, "40 ml")
        told(page, "as planned")
        page.click("#task >> text=Done")
        page.wait_for_selector("#task >> text=All of it was poured.")

        page.click("text=Revise it")
        page.fill("#by-2", "+10")
        page.click("text=Compose the revised trial, and pour it")
        page.wait_for_url(lambda url: url.endswith("/pour") and first not in url)
        second = re.search(r"/item/(T\w+)/pour", page.url)[1]
        for vial, amount in (("V1", "54.55"), ("V2", "45.45")):
            watched.scan(bench[vial])
            page.wait_for_selector(f"[data-source={bench[vial]}]")
            type_amount(page, amount)
            told(page, "as planned")
        page.click("text=Its family")
        assert "+5.45" in page.inner_text("main"), "40 of 100 parts became 50 of 110"
        watched.goto("/trials")
        for trial in (first, second):
            page.check(f"input[value={trial}]")
        page.click("text=Show the marked ones side by side")
        assert "60.00" in page.inner_text("main")
        watched.clean()


def test_a_technician_pours_on_a_small_screen(bench, station, chromium):
    trial = bench.trial()
    with browsing(chromium, station.url, "technician", viewport={"width": 360, "height": 740}) as watched:
        page = watched.page
        watched.goto(f"/item/{trial}")
        page.click(f"a[href='/item/{trial}/pour']")
        page.click("summary")
        page.click("text=Balance, not tared")
        told(page, "empty glass first")
        type_amount(page, "182.40")
        told(page, "begins at 182.40 g")
        watched.scan(f"{station.url}/item/{bench['V1']}")
        page.wait_for_selector(f"[data-source={bench['V1']}]")
        assert page.inner_text("#task .until").startswith("until the balance shows")
        until = target(page).removesuffix(" g")
        assert page.evaluate("document.documentElement.scrollWidth") == 360
        assert violations(page) == []
        small = page.evaluate(
            "[...document.querySelectorAll('main button, main input:not([type=hidden]):not([type=checkbox])')]"
            ".filter(one => one.checkVisibility() && one.getBoundingClientRect().height < 44).map(one => one.outerHTML)"
        )
        assert small == [], "nothing smaller than a gloved finger"
        type_amount(page, until)
        told(page, "as planned")
        watched.scan(trial)
        told(page, "is what is poured into", "repeat")
        page.click("table tr:nth-child(2) button")
        page.wait_for_selector(f"[data-source={bench['V2']}]")
        type_amount(page, target(page).removesuffix(" g"))
        told(page, "as planned")
        page.click("#task >> text=Done")
        page.wait_for_selector("#task >> text=All of it was poured.")
        watched.clean()


def test_a_restart_of_the_station_in_mid_pour_keeps_what_is_in_hand(bench, chromium):
    trial = bench.trial()
    with running(bench.path) as first, browsing(chromium, first.url, "technician") as watched:
        watched.goto(f"/item/{trial}/pour")
        watched.scan(bench["V2"])
        watched.page.wait_for_selector(f"[data-source={bench['V2']}]")
    with running(bench.path) as second, browsing(chromium, second.url, "technician") as watched:
        watched.goto(f"/item/{trial}/pour")
        assert target(watched.page) == "40.0 ml"
        type_amount(watched.page, "40")
        told(watched.page, "as planned")
        watched.clean()
