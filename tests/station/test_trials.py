"""Trials, recipes and components at the station: composed, revised, looked for, set side by side."""

import html
import re
from urllib.parse import quote

import pytest
from axe import looked_over
from bench_of_samples import Bench
from stations import Caller, running

from pourbook import Book
from pourbook.actions.happening import Happening
from pourbook.actions.pouring import pour
from pourbook.book.entries import RecipePart, Taste
from pourbook.quantities import read_amount
from pourbook.queries.trials.revised_parts import PartChange
from pourbook.queries.trials.trial_plan import planned_volumes

HOW = Happening("M. Aldane")


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    return Bench(tmp_path_factory.mktemp("trials") / "bench.pourbook")


@pytest.fixture(scope="module")
def station(bench):
    with running(bench.path) as found:
        yield found


@pytest.fixture(scope="module")
def blender(station):
    return Caller(station.url).sign_in("blender")


def said(answer):
    """What a page says, in plain words."""
    body = answer.text.partition("<main")[2].partition("<footer")[0] or answer.text
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", body)).split())


def row(component="", parts="", role="", ratio=""):
    return {"component": component, "parts": parts, "role": role, "ratio": ratio}


def form(*rows, **fields):
    """Fields of a form with a row for each part."""
    return {**{name: [one[name] for one in rows] for name in ("component", "parts", "role", "ratio")}, **fields}


def plan(bench, trial):
    """Volumes to pour of a trial, in ml."""
    with Book.open(bench.path) as book:
        return {name: round(ml, 1) for name, ml in planned_volumes(book, trial).items()}


def composed(answer):
    """The identifier of the trial that a form led to pouring."""
    assert answer.status_code == 303, said(answer)
    return re.fullmatch(r"/item/(T\w+)/pour", answer.headers["location"])[1]


# -- composing -------------------------------------------------------------------------------


def test_a_trial_of_its_own_parts(bench, blender):
    parts = row(bench["V1"], "3", "base"), row("S 2", "1"), row(), row()
    trial = composed(blender.post("/trials/new", form(*parts, total="80 ml", ref="T-1", name="for the panel")))
    assert plan(bench, trial) == {bench["V1"]: 60.0, bench["V2"]: 20.0}
    page = blender.get(f"/item/{trial}/pour")
    assert "Composed. Scan what to pour from." in page.text
    assert "T-1 · for the panel" in page.text


def test_a_trial_to_a_strength_has_its_water_worked_out(bench, blender):
    """60 % vol reduced to 40: the spirit is two thirds by alcohol, so some 66.1 ml of 100 (contraction)."""
    trial = composed(blender.post("/trials/new", form(row(bench["V1"], "1"), total="100 ml", to="40")))
    assert plan(bench, trial) == pytest.approx({bench["V1"]: 65.7, "water": 34.3}, abs=0.8)


def test_a_trial_from_a_recipe_on_components(bench, blender):
    assert blender.post("/components", {"name": "Rye base", "spirit": "rye", "bounds": "50..100"}).status_code == 303
    parts = row("Rye base", "9", "base"), row("water", "1")
    assert blender.post("/recipes/new", form(*parts, name="Autumn")).status_code == 303
    page = blender.get("/trials/new?recipe=Autumn")
    assert 'name="use Rye base"' in page.text
    assert bench["V3"][:7] in page.text.replace("-", ""), "the vial of that kind is offered"
    asked = blender.post("/trials/new", {"recipe": "Autumn", "total": "50 ml"})
    assert asked.status_code == 409, "the one vial of that kind is suggested, and a person says yes"
    trial = composed(blender.post("/trials/new", {"recipe": "Autumn", "total": "50 ml", "use Rye base": bench["V3"]}))
    assert plan(bench, trial) == {bench["V3"]: 45.0, "water": 5.0}
    wrong = blender.post("/trials/new", {"recipe": "Autumn", "total": "50 ml", "use Rye base": bench["V1"]})
    assert wrong.status_code == 409
    assert "spirit is 'malt spirit', not 'rye'" in said(wrong)


@pytest.mark.parametrize(
    "fields",
    [
        {},
        {"component": ["V1"], "parts": []},
        form(row("nothing at all", "1"), total="100 ml"),
        form(row("S 1", "many"), total="100 ml"),
        form(row("S 1", "1", "", "x"), total="100 ml"),
        form(row("S 1", "1"), total="a glass"),
        form(row("S 1", "1"), total="100 ml", to="99"),
        form(row("S 1", "1"), total="100 ml", revised_from="nobody"),
        form(row("S 1", "1"), total="1000 l"),
        form(row("S 1", "1"), total="100 ml", id="T999999"),
    ],
)
def test_what_cannot_be_composed_is_refused_and_nothing_is_recorded(bench, blender, fields):
    before = bench.entries()
    assert blender.post("/trials/new", fields).status_code in (400, 409, 422)
    assert bench.entries() == before


def test_a_scan_adds_a_part(bench, blender):
    answer = blender.post("/trials/new/scan", {"scan": bench["V1"]}, headers={"HX-Request": "true"})
    assert 'data-outcome="good"' in answer.text
    assert f'id="component-{bench["V1"]}"' in answer.text
    assert 'hx-swap-oob="beforeend:#parts"' in answer.text
    assert blender.post("/trials/new/scan", {"scan": "T999999"}, headers={"HX-Request": "true"}).status_code == 422


def test_ten_parts_more_and_the_rest_keeps_its_proportions(bench, blender):
    """60:40 with ten parts more of the first is 70:40; of 110 ml that is 70 and 40. Worked by hand."""
    first = bench.trial()
    page = blender.get(f"/item/{first}/revise?more={bench['V1']}&by=%2B10")
    assert 'value="+10"' in page.text
    changed = {"component": [bench["V1"], bench["V2"], ""], "by": ["10", "", ""], "total": "110 ml"}
    asked = blender.post(f"/item/{first}/revise", {**changed, "by": ["11", "", ""]})
    assert asked.status_code == 409, "71 parts leave the bounds of 50 to 70"
    second = composed(blender.post(f"/item/{first}/revise", changed))
    assert plan(bench, second) == {bench["V1"]: 70.0, bench["V2"]: 40.0}
    assert blender.post(f"/item/{first}/revise", {"component": [bench["V1"]], "by": [""]}).status_code == 422
    assert first[:7] in blender.get(f"/item/{second}/family").text


def test_what_follows_no_recipe_says_so_where_it_would_be_revised(open_house, caller):
    with Book.open(open_house.book) as book:
        imported = book.find("Trial 22-A")
    page = caller.get(f"/item/{imported}/revise")
    assert page.status_code == 200, "its own page leads there"
    assert "follows no recipe" in said(page)
    assert 'id="revise"' not in page.text


# -- looking for -----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def tried(bench):
    """A poured trial with a note, its revision poured with a score, and one more that nobody poured."""
    first = bench.trial()
    with Book.open(bench.path) as book:
        pour(book, HOW, first, [(bench["V1"], read_amount("60 ml")), (bench["V2"], read_amount("40 ml"))])
        book.note(HOW, first, "Short finish <b>bold</b>")
        second = book.revise_trial(HOW, first, [PartChange(bench["V2"], "+20")]).id
        pour(book, HOW, second, [(bench["V1"], read_amount("50 ml")), (bench["V2"], read_amount("50 ml"))])
        book.taste(HOW, Taste(second, assessor="Isla Farrow", score="84"))
    return first, second


def test_the_list_is_newest_first_and_searched(bench, blender, tried):
    first, second = tried

    def listed(query=""):
        return re.findall(r'<th scope="row"><a class="item" href="/item/(T\w+)"', blender.get(f"/trials?{query}").text)

    def found(query):
        return set(listed(query))

    assert listed() == sorted(listed(), reverse=True)

    assert found("word=short+finish") == {first}
    assert found("score=80..") == {second}
    assert found(f"having={quote('malt 55..65')}") >= {first}
    assert second not in found(f"having={quote('malt 55..65')}")
    assert found(f"family={first}") == {first, second}
    assert found("since=2001-01-01&until=2001-02-01") == set()
    assert "<b>bold" not in blender.get("/trials").text
    for wrong in ("score=high", "having=no+such+wood+5..6", "since=someday", "family=nobody", "after=x", "after=-1"):
        assert blender.get(f"/trials?{wrong}").status_code == 422, wrong


def test_a_long_list_goes_on_to_the_next_page(bench, blender):
    with Book.open(bench.path) as book:
        parts = (RecipePart(bench["V1"], "1"),)
        made = [book.compose_trial(HOW, read_amount("10 ml"), parts=parts).id for _ in range(51)]
    page = blender.get("/trials").text
    (further,) = re.findall(r'rel="next" href="([^"]+)"', page)
    assert made[0] not in page
    assert made[0] in blender.get(html.unescape(further)).text


def test_side_by_side_and_near(bench, blender, tried):
    first, second = tried
    page = said(blender.get(f"/compare?item={first}&item={second}"))
    assert "60.00" in page
    assert "−10.00" in page
    assert "84.0 (1)" in page
    assert said(blender.get(f"/item/{first}/near")).count("10.00") >= 1, "a tenth would have to be replaced"
    assert blender.get("/compare?item=nothing").status_code == 422
    assert blender.get(f"/compare?item={first}&item={second}&group_by=taste").status_code == 422
    assert blender.get("/compare").status_code == 200
    assert blender.get("/compare?" + "&".join(f"item={one}" for one in range(60))).status_code == 422


def test_the_family_is_a_picture_and_a_table(bench, blender, tried):
    _, second = tried
    page = blender.get(f"/item/{second}/family")
    assert page.text.count("<svg xmlns") == 1
    assert 'role="img" aria-labelledby="picture-title picture-description"' in page.text
    assert "Short finish &lt;b&gt;bold&lt;/b&gt;" in page.text
    assert "<b>bold" not in page.text
    assert "+10.00 " in said(page), "what changed at the step, in parts of a hundred"
    paper = blender.get(f"/item/{second}/family.pdf")
    assert paper.content.startswith(b"%PDF")


# -- recipes and components ------------------------------------------------------------------


def test_a_recipe_with_its_rules_and_the_trials_that_followed_it(bench, blender):
    name = 'Odd / name? & "quoted" <i>'
    parts = row(bench["V1"], "80 in 70..90", "base", "1"), row(bench["V2"], "20 fixed", "accent"), row()
    written = blender.post("/recipes/new", form(*parts, name=name))
    assert written.status_code == 303, said(written)
    page = blender.get(written.headers["location"])
    assert page.status_code == 200
    assert "<i>" not in page.text.partition("<main")[2]
    assert "70..90" in page.text
    assert "fixed" in page.text
    assert "No trial followed it yet." in page.text
    trial = composed(blender.post("/trials/new", {"recipe": name, "total": "50 ml"}))
    assert trial in blender.get(written.headers["location"]).text
    with Book.open(bench.path) as book:
        book.change_settings(HOW, {"most_of_one": "75"})
    assert "80.00 %" in said(blender.get(written.headers["location"])), "the rule that it breaks is told"
    revised = blender.get(f"/recipes/new?from={quote(name, safe='')}")
    assert "80 in 70..90" in revised.text
    assert blender.get("/recipes/nothing").status_code == 404
    assert blender.get("/recipes").status_code == 200


def test_a_component_says_what_is_of_its_kind_and_why_something_is_not(bench, blender):
    blender.post("/components", {"name": "Grain", "spirit": "grain", "min_age": "3"})
    page = blender.get(f"/components/Grain?item={bench['V1']}")
    assert bench["V2"] in page.text
    assert "spirit is &#39;malt spirit&#39;, not &#39;grain&#39;" in page.text
    assert "is of this kind" in said(blender.get(f"/components/Grain?item={bench['V2']}"))
    assert blender.get("/components/Grain?item=nothing").status_code == 422
    assert blender.get("/components/nothing").status_code == 404
    assert blender.post("/components", {"name": "Grain", "min_age": "old"}).status_code == 422
    changed = {"name": "Grain", "spirit": "grain", "gone": "yes"}
    assert blender.post("/components", changed).status_code == 409, "a change is asked about"
    assert blender.post("/components", {**changed, "confirm": "yes"}).status_code == 303
    assert "retired" in blender.get("/components").text


# -- who may ---------------------------------------------------------------------------------

PAGES = ("/trials", "/trials/new", "/recipes", "/recipes/new", "/components", "/compare")


def test_an_auditor_reads_all_and_changes_nothing(station, tried):
    auditor = Caller(station.url).sign_in("auditor")
    for path in (*PAGES, f"/item/{tried[0]}/family", f"/item/{tried[0]}/near", f"/item/{tried[0]}/revise"):
        page = auditor.get(path)
        assert page.status_code == 200, path
        assert 'method="post"' not in page.text.partition("<main")[2].partition("<footer")[0], path
    for path in ("/trials/new", "/recipes/new", "/components", f"/item/{tried[0]}/revise"):
        assert auditor.post(path, {"name": "x"}).status_code == 403, path


def test_a_technician_revises_but_composes_nothing(station, tried):
    technician = Caller(station.url).sign_in("technician")
    assert technician.post("/trials/new", form(row("S 1", "1"))).status_code == 403
    assert 'name="by"' in technician.get(f"/item/{tried[0]}/revise").text


def test_the_pages_are_accessible_in_both_lights_and_on_a_phone(station, chromium, tried):
    trial = tried[1]
    own = [f"/item/{trial}/{page}" for page in ("pour", "family", "near", "revise")]
    own += [f"/compare?item={tried[0]}&item={trial}", "/trials", "/trials/new", "/recipes/new", "/components/Grain"]
    assert looked_over(chromium, station.url, own, own, role="blender") == {}
