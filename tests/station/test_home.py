"""The first page and the one search."""

from command import here


def test_today_shows_what_is_begun(caller, open_house):
    """A trial that is composed and not poured, and a stocktake under way; each leads to its task."""
    trial = here("trial", "--part", "S 26-01=50", "--part", "S 26-02=50", "--total", "20 ml", "--recipe", "A new one",
                 book=open_house.book).done().id  # fmt: skip
    here("stocktake", "open", "Year end", book=open_house.book).done()
    page = caller.get("/").text
    assert f'href="/item/{trial}/pour"' in page
    assert 'href="/stocktakes"' in page
    assert "Year end" in page


def test_a_code_leads_to_its_item(caller):
    """In any form; whatever else is searched for."""
    for code in ("C-000016-3", "c0000163"):
        assert caller.get("/find", params={"q": code}).headers["location"] == "/item/C0000163"


def test_words_find_what_says_them(caller):
    """Refs by their beginning, words in facts, recipes; what nobody said is said to be nowhere."""
    assert "/item/C0000163" in caller.get("/find?q=mulberry").text
    assert "/recipes/Ostrewick%2026" in caller.get("/find?q=ostrewick").text
    assert "Nothing goes by" in caller.get("/find?q=zyzzyva").text


def test_what_is_typed_is_shown_as_text(caller):
    """A search for a tag is no tag."""
    page = caller.get("/find", params={"q": "<script>alert(1)</script>"}).text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page
