"""Tasting notes by touch, their search, the shape of a drink, and the words of the house."""

import re

import pytest
from axe import looked_over, violations
from stations import browsing


@pytest.fixture(scope="module")
def cask(demo):
    """A cask of the demo that has notes with intensities."""
    from pourbook import Book

    with Book.open(demo) as book:
        return next(one.note.item for one in book.tastings(_all()) if one.note.item and one.note.stages)


def _all():
    from pourbook.queries.tastings.search import Asked

    return Asked()


def test_notes_are_listed_and_found_by_words(caller):
    page = caller.get("/tastings").text
    assert "quince" in page
    assert '<li class="card">' in caller.get("/tastings?words=quince").text
    assert "No note answers that." in caller.get("/tastings?words=nothing+like+it").text
    refused = caller.get("/tastings?score=90..80")
    assert refused.status_code == 200
    assert "higher to the lower" in refused.text


def test_a_note_is_taken_by_touch_and_read_back(caller, cask):
    """The words of the list are fields of their own; free words and figures stand beside them."""
    page = caller.get(f"/item/{cask}/taste").text
    assert 'name="nose.pear"' in page
    done = caller.post(
        f"/item/{cask}/taste",
        {"nose.pear": "4", "nose.oak": "", "nose": "a little shy", "finish.oak": "3", "seconds": "25", "score": "82"},
    )
    assert (done.status_code, done.headers["location"]) == (303, f"/item/{cask}/taste")
    page = caller.get(f"/item/{cask}/taste").text
    assert "pear <strong>4</strong>" in page
    assert "a little shy" in page
    assert caller.get("/tastings?words=shy&score=82").text.count('class="card"') == 1


def test_what_cannot_be_taken_is_said(caller, cask):
    caller.get("/tastings")
    assert caller.post(f"/item/{cask}/taste", {"nose.pear": "9"}).status_code == 422
    assert caller.post(f"/item/{cask}/taste", {}).status_code == 422
    assert caller.post(f"/item/{cask}/taste", {"nose": "no such word 3"}).status_code == 409
    assert caller.get("/item/C999999A/taste").status_code in (400, 404)


def test_the_shape_is_a_picture_with_its_table(caller, cask):
    page = caller.get(f"/item/{cask}/shape").text
    assert page.count("<svg") > 1
    assert "The same in figures" in page
    assert "<style" not in page
    assert caller.get(f"/item/{cask}/shape/paper").content.startswith(b"%PDF-")
    assert caller.get(f"/item/{cask}/shape?words=nothing").status_code == 422


def test_a_word_is_written_changed_and_retired(caller):
    caller.get("/words")
    word = {"word": "rye bread", "group": "cereal", "also": "pumpernickel; rye"}
    assert caller.post("/words", word).status_code == 303
    shown = caller.get("/words?word=pumpernickel").text
    assert "Change “rye bread”" in shown
    assert 'value="pumpernickel; rye"' in shown
    caller.post("/words", {"word": "rye bread", "gone": "yes"})
    assert "is used no longer" in caller.get("/words").text
    assert "rye bread" not in caller.get("/words").text


def test_notes_come_in_pages(caller, cask):
    """More than a page of them: the older ones are one link away, and none is shown twice."""
    caller.get("/tastings")
    for number in range(62):
        caller.post(f"/item/{cask}/taste", {"note": f"many of them, note {number} of all."})
    first = caller.get("/tastings?words=many").text
    link = re.search(r'href="(/tastings\?words=many&amp;before=\d+)"', first)[1].replace("&amp;", "&")
    second = caller.get(link).text
    numbers = [re.findall(r"note (\d+) of all", page) for page in (first, second)]
    assert [len(one) for one in numbers] == [60, 2]
    assert set(numbers[0]) | set(numbers[1]) == {str(number) for number in range(62)}


def test_what_is_typed_is_no_markup(caller, cask):
    caller.get("/tastings")
    caller.post(f"/item/{cask}/taste", {"note": "<script>alert(1)</script>.", "missing": "<img src=x>."})
    assert "<script>alert" not in caller.get("/tastings").text
    assert "<img src=x" not in caller.get(f"/item/{cask}/taste").text
    assert "<script>" not in caller.get("/tastings?words=%22%3E%3Cscript%3E").text


def test_an_auditor_reads_and_notes_nothing(as_role, cask):
    auditor = as_role("auditor")
    for path in ("/tastings", "/words", f"/item/{cask}/taste", f"/item/{cask}/shape"):
        page = auditor.get(path)
        assert page.status_code == 200
        assert 'id="taste"' not in page.text
    assert auditor.post(f"/item/{cask}/taste", {"note": "mine."}).status_code == 403


def test_a_finger_touches_a_word_and_how_strong_it_is(chromium, open_house, cask):
    """At 360 px: one touch opens a word, a second says how strong it is; the keyboard does the same."""
    with browsing(chromium, open_house.url, viewport={"width": 360, "height": 740}, has_touch=True) as watched:
        page = watched.page
        watched.goto(f"/item/{cask}/taste")
        nose = page.locator("fieldset", has_text="Nose").first
        nose.locator("summary", has_text="pear").first.tap()
        nose.locator("label", has=page.locator('input[name="nose.pear"][value="4"]')).tap()
        word = page.locator("fieldset", has_text="Finish").first.locator("summary", has_text="oak").first
        word.focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Tab")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("ArrowRight")
        assert page.evaluate("document.documentElement.scrollWidth") <= 360
        page.locator("#taste button[type=submit]").first.click()
        page.wait_for_selector("text=The note is recorded.")
        assert "pear 4" in page.inner_text("main ul.notes > li:first-child")
        assert "oak 2" in page.inner_text("main ul.notes > li:first-child")
        watched.clean()


def test_pages_are_for_everybody(chromium, open_house, cask):
    """By axe, wide and light, on a phone and dark; of the many words of a note, the first is open."""
    wide, small = ("/tastings", f"/item/{cask}/shape"), ("/words", "/sessions/new", "/blendings/new")
    assert looked_over(chromium, open_house.url, wide, small) == {}
    size = {"width": 360, "height": 740}
    with browsing(chromium, open_house.url, viewport=size, color_scheme="dark", bypass_csp=True) as watched:
        watched.goto(f"/item/{cask}/taste")
        watched.page.locator("details.word > summary").first.click()
        assert violations(watched.page) == []
