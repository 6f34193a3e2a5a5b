"""Models from the book's own tasting notes, and what may drift kept as the tolerance of a trial."""

import numpy as np
import pypdfium2
import pytest
from command import Desk, here
from house import House
from tasted import glasses

from pourbook.actions.composing import TrialFacts, compose_trial
from pourbook.actions.happening import Happening
from pourbook.book.entries import RecipePart, Stage, Taste
from pourbook.mixtures.models import fit
from pourbook.quantities import read_amount

jsonschema = pytest.importorskip("jsonschema")

CASKS = {"base": "ash", "chestnut": "chestnut", "heather": "heather"}
FLIGHT = [
    (95, 5, 0), (75, 25, 0), (85, 3, 12), (65, 25, 10), (65, 23, 12), (93, 3, 4), (85, 15, 0), (75, 13, 12),
    (70, 24, 6), (80, 14, 6),
]  # fmt: skip
LEVELS = {"Isla Farrow": 0.4, "Maud Aldane": -0.3, "Tomas Reeve": -0.1}


def found_by(at, who):
    """What was found in a glass: known figures with small errors that are always the same."""
    base, chestnut, heather = FLIGHT[at]
    error = 0.2 * np.sin(7 * at + 3 * list(LEVELS).index(who))
    return round(1.5 + 0.012 * base - 0.03 * chestnut + 0.08 * heather + LEVELS[who] + error, 2)


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    """Ten trials of three casks, composed and poured; three assessors wrote a note on each."""
    path = tmp_path_factory.mktemp("bench") / "quillmere.pourbook"
    how = Happening("M. Aldane")
    with House(path) as house:
        for at, (ref, wood) in enumerate(CASKS.items()):
            house.open(f"C{at}", ref=ref, wood=wood)
            house.cask(f"C{at}", "200 l", "60", spirit="malt spirit")
            house.draw(f"C{at}", f"V{at}", "2 l")
        house.book.write_word(how, "pear", {"also": ("poire",)})
        for at, parts in enumerate(FLIGHT):
            wanted = [RecipePart(house.id(f"V{one}"), str(part)) for one, part in enumerate(parts) if part]
            about = TrialFacts(ref=f"Trial {at}")
            trial = compose_trial(house.book, how, read_amount("100 ml"), parts=wanted, about=about).id
            house.ids[f"T{at}"] = trial
            for one, part in enumerate(parts):
                if part:
                    house.pour(f"V{one}", f"T{at}", f"{part} ml")
            for who in LEVELS:
                nose = {"nose": Stage("", {"Pears": str(found_by(at, who))}), "finish": Stage("", {"pear": "0.1"})}
                house.book.taste(how, Taste(trial, who, stages=nose, score=str(70 + at)))
        house.book.taste(how, Taste("Trial 1", "Isla Farrow", text="nothing of fruit"))
        house.book.taste(how, Taste("base", "Isla Farrow", score="60"))
    return Desk(path, here)


def test_notes_of_the_book_are_fitted_as_a_table_is(desk):
    """By casks, each assessor with a level of their own; the strongest stage counts, and silence says nothing."""
    answer = desk.asks("mixture fit --trials all --response poire --of 'Trial 9'")
    rows = [(parts, found_by(at, who), who) for at, parts in enumerate(FLIGHT) for who in LEVELS]
    table = fit(glasses("abc", *zip(*rows, strict=True)), "linear")
    assert answer["components"] == ["C000001H", "C000002F", "C000003D"]
    assert list(answer["coefficients"].values()) == pytest.approx(table.coefficients, rel=1e-4)
    assert answer["glasses"] == 30
    assert answer["assessors"]["count"] == 3
    assert list(answer["predicted"]["blend"].values()) == pytest.approx([0.80, 0.14, 0.06], abs=1e-5)
    said = desk.does("mixture fit --trials all --response pear")
    assert "note: left out: 1 note that says nothing of pear" in said.err


def test_parts_may_be_told_apart_by_wood(desk):
    """And some trials alone may be asked about."""
    answer = desk.asks("mixture fit --trials all --response score --group-by wood --without-water")
    assert set(answer["components"]) == {"ash", "chestnut", "heather"}
    some = desk.asks("mixture fit --trials 'Trial 0,Trial 1,Trial 2,Trial 3' --response score --group-by wood")
    assert some["glasses"] == 12


def test_a_stage_is_asked_about(desk):
    """At the finish everybody found the same."""
    answer = desk.asks("mixture fit --trials all --response pear --stage finish")
    assert answer["r2"] is None


def test_how_far_parts_may_drift_is_kept_and_scaling_up_warns(desk):
    """From notes to bounds of the trial's own glasses; a batch that leaves them is told, and one within is not."""
    asked = "mixture drift --trials all --response pear --of 'Trial 9' --d-prime 1"
    plan = desk.asks(asked)
    heather = next(one for one in plan["parts"] if one["component"] == "C000003D")
    assert heather["cautious"]["low"] < 0.06 < heather["cautious"]["high"]
    assert not desk.asks("show 'Trial 9'")["facts"].get("tolerance")
    assert "warning" not in desk.does("scale-up 'Trial 9' --total '20 l'").err
    kept = desk.asks(f"{asked} --keep")
    jsonschema.validate(kept, desk.asks("schema mixture-drift-kept"))
    assert len(kept["entries"]) == 2
    bounds = {one["component"]: one["bounds"] for one in kept["bounds"]}
    low, high = map(float, bounds["V000003N"].split(".."))
    limits = 100 * heather["cautious"]["low"], 100 * heather["cautious"]["high"]
    assert (low, high) == pytest.approx(limits, abs=0.002)  # four digits, and what the pipette gave
    assert desk.asks("show 'Trial 9'")["facts"]["tolerance"] == kept["tolerance"]
    assert "warning" not in desk.does("scale-up 'Trial 9' --total '20 l'").err
    desk.does("cask more --fill '100 l' --strength 60")
    desk.does("batch heel")
    desk.does("pour heel heather '5 l'")
    warned = desk.does("scale-up 'Trial 9' --total '20 l' --heel 'heel=all'").err
    assert "warning: V-000003-N" in warned
    assert "above its bounds" in warned


def test_bounds_of_the_recipe_stay_where_they_are_narrower(desk):
    """A blender's own bounds are no wider than before."""
    desk.does("trial --part V-000001-R=80 --part V-000002-P=14 --part 'V-000003-N=6 in 5.9..6.1' --ref narrow")
    kept = desk.asks("mixture drift --trials all --response pear --of narrow --d-prime 1 --keep")
    assert {one["component"]: one["bounds"] for one in kept["bounds"]}["V000003N"] == "5.900..6.100"
    desk.does("set narrow tolerance='no such recipe'")
    desk.does("pour narrow V-000001-R '80 ml' V-000002-P '10 ml' V-000003-N '10 ml'")
    assert "above its bounds of 5.90 to 6.10 %" in desk.does("show narrow").err + desk.does("show narrow").out


def test_a_recipe_on_kinds_keeps_its_tolerance(desk):
    """Written on components, tried with vials of theirs; its parts stay as they were typed."""
    for name, wood in (("Ground", "ash"), ("Accent", "chestnut"), ("Top", "heather")):
        desk.does(f"component {name} --wood {wood}")
    desk.does("recipe Ostrewick --part Ground=40 --part Accent=7 --part Top=3")
    asked = "mixture drift --trials all --group-by component --response pear --of Ostrewick --d-prime 1"
    found = {one["component"]: one for one in desk.asks(asked)["parts"]}
    assert found["Top"]["fraction"] == pytest.approx(0.06)
    assert "is in the book with other parts" in desk(f"{asked} --keep").err
    kept = desk.asks(f"{asked} --keep --confirm")
    jsonschema.validate(kept, desk.asks("schema mixture-drift-kept"))
    assert (kept["id"], kept["tolerance"]) == (None, "Ostrewick")
    parts = {one["component"]: one for one in desk.asks("recipe Ostrewick")["parts"]}
    assert [one["parts"] for one in parts.values()] == ["40", "7", "3"]
    low, high = map(float, parts["Top"]["bounds"].split(".."))
    assert (low, high) == pytest.approx([50 * found["Top"]["cautious"][end] for end in ("low", "high")], abs=0.002)
    assert 50 * found["Top"]["cautious"]["low"] <= low < 3 < high <= 50 * found["Top"]["cautious"]["high"]


def test_casks_are_named_as_people_know_them(desk, tmp_path):
    """In every line and picture; scripts get identifiers."""
    said = desk.does(f"mixture fit --trials all --response pear --model quadratic --traces {tmp_path / 't.pdf'}").out
    assert "C-000001-H · base" in said
    assert "C-000001-H*C-000002-F" in said
    assert "C-000003-D · heather" in desk.does("mixture drift --trials all --response pear --noticed-by 12").out
    with pypdfium2.PdfDocument(tmp_path / "t.pdf") as pdf:
        assert "C-000001-H\r\nbase · ash" in pdf[0].get_textpage().get_text_bounded()


def test_a_rehearsal_keeps_nothing(desk):
    """--dry-run shows what would be kept."""
    ran = desk.does("mixture drift --trials all --response pear --of 'Trial 8' --noticed-by 12 --keep --dry-run")
    assert "kept of" in ran.out
    assert "dry run" in ran.err
    assert "tolerance" not in desk.asks("show 'Trial 8'")["facts"]


REFUSED = [
    ("mixture fit --response pear", "name a FILE of glasses, or --trials of the book"),
    ("mixture fit --trials all --response plum", "says anything of 'plum'"),
    ("mixture fit --trials all --response pear --stage tail", "'tail' is not a stage"),
    ("mixture fit --trials all --response pear --at base=70 --at oak=3", "oak"),
    ("mixture fit --trials all --response pear --of 'Trial 77'", "Trial 77"),
    ("mixture drift --trials all --response pear --of 'Trial 9'", "give --noticed-by N or --d-prime NUMBER"),
    ("mixture drift --trials all --response pear --noticed-by 12 --keep", "a tolerance is that of a trial or recipe"),
    ("mixture drift --trials all --response pear --noticed-by 2", "2 assessors cannot show a difference"),
    ("mixture drift --trials all --response pear --d-prime 0", "a d' of 0"),
    ("mixture drift --trials all --response pear --group-by spirit --d-prime 1", "of one spirit"),
    ("mixture drift --trials 'Trial 0,Trial 1' --response pear --model quadratic --d-prime 1", "too few glasses"),
]


@pytest.mark.parametrize(("line", "said"), REFUSED)
def test_what_cannot_be_asked(desk, line, said):
    """One sentence, and nothing recorded."""
    before = desk.asks("journal-hash")
    ran = desk(line)
    assert ran.status == 1
    assert said in ran.err
    assert desk.asks("journal-hash") == before


def test_the_next_trial_is_proposed_from_notes_on_the_same_casks(desk):
    """Within ten parts of what was tasted; what rises with heather alone has most, and the line composes it."""
    answer = desk.asks("mixture next --after 'Trial 9' --wish 'pear more' --glasses 2")
    jsonschema.validate(answer, here("schema", "mixture-next-trial").done().json)
    assert (answer["notes"], answer["left_out"]) == (30, 0)
    first = answer["glasses"][0]["parts"]
    vials = ["V000001R", "V000002P", "V000003N"]
    assert list(first) == vials
    assert first["V000003N"] > 12
    for glass in answer["glasses"]:
        assert 55 <= glass["parts"]["V000001R"] <= 100
        assert glass["parts"]["V000003N"] <= 22
    composed = desk.does(answer["glasses"][0]["compose"].removeprefix("pourbook ") + " --total '40 ml' --dry-run")
    assert "40" in composed.out
    said = desk.does("mixture next --after 'Trial 9' --wish 'pear more'")
    assert "from 30 tasting notes; parts are of a hundred" in said.out
    assert "pourbook trial --revised-from" in said.out


def test_the_next_trial_keeps_to_bounds_and_to_what_the_house_knows(desk):
    """Bounds of the recipe hold; stock of the casks can be wished for; what nobody noted is refused."""
    desk.does("trial --revised-from 'Trial 9' --part V-000001-R=80 --part V-000002-P=14 "
              "--part 'V-000003-N=6 in 4..8' --ref 'Trial B' --total '100 ml'")  # fmt: skip
    answer = desk.asks("mixture next --after 'Trial B' --wish 'pear more' --glasses 3")
    assert all(4 <= glass["parts"]["V000003N"] <= 8 for glass in answer["glasses"])
    refused = desk("mixture next --after 'Trial B' --wish 'tar more'")
    assert (refused.status, "says anything of 'tar'" in refused.err) == (1, True)
    refused = desk("mixture next --after 'Trial B' --wish 'stock more'")
    assert "nothing that is tasted is wished for" in refused.err
    refused = desk("mixture next --after 'Trial B' --wish 'pear more' --wish 'cost less'")
    assert "the cost of V-000001-R" in refused.err
    assert "is not known" in refused.err
