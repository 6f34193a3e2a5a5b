"""Strengths that the laboratory has still to read: one mark wherever they show, and what its reading settles."""

import pytest
from command import here

THEN = ("--when", "2024-01-01")


@pytest.fixture
def book(tmp_path):
    """A cask filled at an expected 63 % vol, beside one that was read; a vial of each and a trial of the first."""
    path = tmp_path / "house.pourbook"
    here("create", path, "--house", "Quillmere").done()
    fill = ("--strength", "63", "--in-wood", "0", *THEN)
    here("cask", "Q 1", "--fill", "200 l", "--pending", *fill, book=path).done()
    here("cask", "Q 2", "--fill", "200 l", *fill, book=path).done()
    for number in (1, 2):
        here("draw", f"Q {number}", "200 ml", "--ref", f"S {number}", "--when", "2024-01-10", book=path).done()
    here("trial", "--part", "S 1=1", "--total", "100 ml", "--ref", "Trial 1", book=path).done()
    return path


def test_a_pending_strength_bears_one_mark_wherever_it_shows(book):
    """Show, stock, trace, draw, trial, pour, scale up, gauge: of what came of it, and of nothing else."""
    for words in (
        ("show", "S 1"), ("trace", "S 1"), ("trial", "--part", "S 1=1", "--part", "S 2=1", "--total", "10 ml"),
        ("pour", "Trial 1", "S 1", "5 ml"), ("scale-up", "Trial 1", "--total", "5 l"), ("fill", "Q 1", "1 l",
        "--strength", "60"), ("gauge", "Q 1", "--strength", "62"),
    ):  # fmt: skip
        assert "% vol (pending)" in here(*words, book=book).done().out, words
    assert "(pending)" in here("draw", "S 1", "5 ml", book=book).done().err
    stock = here("stock", book=book).done().out.splitlines()
    assert {line.split(" · ")[1].rstrip() for line in stock if "(pending)" in line} >= {"S 1"}
    assert any("(pending)" in line for line in stock if line.startswith("C-000001-H · Q 1 "))
    assert not any("(pending)" in line for line in stock if " Q 2 " in line or " S 2 " in line)
    assert here("show", "S 1", "--json", book=book).done().json["pending"]
    assert here("show", "S 2", "--json", book=book).done().json["pending"] == []
    rows = {row["ref"]: row["pending"] for row in here("stock", "--json", book=book).done().json["items"]}
    assert (bool(rows["Q 1"]), bool(rows["Q 2"])) == (True, False)
    assert "(pending)" not in here("draw", "Q 2", "5 ml", book=book).done().err


def test_the_laboratory_s_figure_of_a_sample_settles_the_filling(book):
    """By hand: 200 l were 62.4 % vol and not 63, so 124.8 l of pure alcohol came in; nothing is pending any more."""
    ran = here("gauge", "S 1", "--strength", "62.4", "--for-source-cask", "--dry-run", book=book).done()
    assert "settled" in ran.err
    assert here("show", "Q 1", "--json", book=book).json["pending"]
    here("gauge", "S 1", "--strength", "62.4", "--for-source-cask", "--reason", "report 2041", book=book).done()
    for item in ("Q 1", "S 1"):
        found = here("show", item, "--json", book=book).done().json
        assert found["pending"] == []
        assert found["strength_20c"] == pytest.approx(62.4, abs=1e-4)
    trace = here("trace", "Q 1", "--json", book=book).done().json
    (origin,) = trace["origins"]
    period = ("--from", "2024-01-01", "--to", "2024-12-31")
    (group,) = here("account", *period, "--json", book=book).done().json["groups"]
    lines = {(line["side"], line["heading"]): line["lpa_l"] for line in group["lines"]}
    assert lines["in", "received"] == pytest.approx(124.8 + 126.0, abs=0.001)
    assert lines.get(("loss", "evaporation"), 0.0) == pytest.approx(0.0, abs=0.001)
    journal = here("journal", "--json", book=book).done().json["entries"]
    entry = next(entry for entry in journal if entry["number"] == origin["entry"])
    assert (entry["reason"], entry["replaces"] > 0) == ("report 2041", True)
    assert here("verify", book=book).status == 0


def test_a_sample_of_years_later_settles_nothing_and_says_what_would(book):
    """The wood has changed it: the cask is gauged, and the filling stays pending until somebody says what it was."""
    vial = here("draw", "Q 1", "100 ml", "--when", "2026-01-10", book=book).done().id
    ran = here("gauge", vial, "--strength", "61.4", "--for-source-cask", book=book).done()
    assert "still pending; settle it: pourbook replace" in ran.err
    assert here("show", "Q 1", "--json", book=book).done().json["pending"]
