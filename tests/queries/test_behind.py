"""The casks behind a glass, however it was filled: scaled up, compared, labelled and printed as the trace says.

By hand where a number stands, else held to the trace itself, which walks another way.
"""

import pytest
from house import House
from hypothesis import given
from hypothesis import strategies as st

from pourbook import Recipe, RecipePart
from pourbook.actions.happening import Happening
from pourbook.codes.identifiers import kind_of
from pourbook.errors import NotThere, Refused, ToConfirm, Unknown
from pourbook.paperwork.bench_sheet_of import bench_sheet_of
from pourbook.paperwork.label_of import label_of
from pourbook.quantities import read_amount
from pourbook.queries.traces.behind import BLENDS, behind, parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.batch_plan import Wanted, batch_plan
from pourbook.queries.trials.comparison import compare

CASKS = ("C1", "C2", "C3")
HUNDRED_LITRES = Wanted(read_amount("100 l"))


@pytest.fixture
def bench():
    """Three casks of the same spirit, so that volumes add up as masses do."""
    with House() as house:
        for cask in CASKS:
            house.cask(cask, "200 l", "60")
        yield house


def pulled(house, blend, wanted=HUNDRED_LITRES):
    """Litres to pull, by the source's short name."""
    names = {identifier: name for name, identifier in house.ids.items()}
    found = {}
    for pull in batch_plan(house.book, blend, wanted).plan.pulls:
        source = names.get(pull.source, pull.source)
        found[source] = found.get(source, 0.0) + pull.volume_ml / 1000
    return found


def test_a_vial_topped_up_from_a_second_cask_scales_to_both(bench):
    """150 and 50 mL in the vial: three parts of the first cask and one of the second."""
    bench.draw("C1", "V1", "150 ml")
    bench.pour("C2", "V1", "50 ml")
    bench.pour("V1", "T1", "80 ml")
    bench.draw("C3", "V2", "100 ml")
    bench.pour("V2", "T1", "20 ml")
    assert pulled(bench, bench.id("T1")) == pytest.approx({"C1": 60, "C2": 20, "C3": 20}, abs=0.001)


def test_a_glass_made_from_a_glass_scales_to_its_casks(bench):
    """A trial in a trial, and a vial decanted into a vial, are looked through."""
    bench.draw("C1", "V1", "100 ml")
    bench.draw("C2", "V2", "100 ml")
    bench.pour("V1", "T1", "30 ml")
    bench.pour("V2", "T1", "30 ml")
    bench.pour("V2", "V3", "40 ml")
    bench.pour("T1", "T2", "50 ml")
    bench.pour("V3", "T2", "25 ml")
    assert pulled(bench, bench.id("T2")) == pytest.approx({"C1": 100 / 3, "C2": 200 / 3}, abs=0.001)


def test_a_diluted_vial_brings_its_water(bench):
    """Water in the glass is water in the batch; named casks take the place of the spirit alone."""
    bench.draw("C1", "V1", "60 ml")
    bench.water("V1", "40 ml")
    bench.pour("V1", "T1", "50 ml")
    assert pulled(bench, bench.id("T1")) == pytest.approx({"C1": 60, "water": 40}, abs=0.001)
    named = Wanted(read_amount("100 l"), uses={bench.id("V1"): [bench.id("C2"), bench.id("C3")]})
    assert pulled(bench, bench.id("T1"), named) == pytest.approx({"C2": 30, "C3": 30, "water": 40}, abs=0.01)


def test_what_was_spilled_in_between_changes_nothing_but_the_rest(bench):
    """Half of the first pour was tasted before the second came: the glass is two thirds of the second."""
    bench.draw("C1", "V1", "100 ml")
    bench.draw("C2", "V2", "100 ml")
    bench.pour("V1", "T1", "40 ml")
    bench.lose("T1", "20 ml", disposition="tasting")
    bench.pour("V2", "T1", "40 ml")
    assert pulled(bench, bench.id("T1")) == pytest.approx({"C1": 100 / 3, "C2": 200 / 3}, abs=0.001)


def test_a_recipe_on_casks_scales_before_anything_was_poured(bench):
    """By the recipe's name, or by the trial that has only been composed."""
    parts = (RecipePart(bench.id("C1"), "3"), RecipePart(bench.id("C2"), "1"))
    bench.record(Recipe("Ash", parts))
    bench.record(bench.opening("T1", follows="Ash", total="100 ml"))
    by_hand = pytest.approx({"C1": 75, "C2": 25}, abs=0.001)
    assert pulled(bench, "Ash") == by_hand
    assert pulled(bench, bench.id("T1")) == by_hand
    with pytest.raises(Unknown):
        batch_plan(bench.book, "Oak", HUNDRED_LITRES)


def test_a_recipe_is_not_overwritten_unasked(bench):
    """A trial composed under the name of a recipe with other parts asks, and says what would change."""
    first = [RecipePart(bench.id("C1"), "3"), RecipePart(bench.id("C2"), "1")]
    other = [RecipePart(bench.id("C1"), "1"), RecipePart(bench.id("C3"), "1")]
    how, total = Happening("M. Aldane"), read_amount("100 ml")
    bench.book.write_recipe(how, "Ash", first)
    assert bench.book.compose_trial(how, total, "Ash", [part._replace(parts=f"{part.parts}0") for part in first])
    with pytest.raises(ToConfirm, match=r"C-000001-H: 75\.00 → 50\.00 %; C-000002-F: 25\.00 → 0 %; C-000003-D: 0 → 50"):
        bench.book.compose_trial(how, total, "Ash", other)
    assert [float(part) for part in bench.book.recipe_card("Ash").fractions.values()] == [0.75, 0.25]
    bench.book.compose_trial(how._replace(confirm=True), total, "Ash", other)
    assert [float(part) for part in bench.book.recipe_card("Ash").fractions.values()] == [0.5, 0.5]


def test_a_bought_sample_asks_which_casks_stand_in(bench):
    """No cask is behind it: the remedy names the option that says one."""
    bench.fill("V1", "200 ml", "60")
    bench.pour("V1", "T1", "50 ml")
    with pytest.raises(NotThere, match=r"V-000001-R needs 100\.00 l") as refused:
        pulled(bench, bench.id("T1"))
    assert "--use" in refused.value.remedy
    stand_in = Wanted(read_amount("100 l"), uses={bench.id("V1"): [bench.id("C3")]})
    assert pulled(bench, bench.id("T1"), stand_in) == pytest.approx({"C3": 100}, abs=0.001)


def test_two_vials_of_one_cask_are_no_difference(bench):
    """Trials, and the batch made from one, are compared by the casks in them."""
    for vial in ("V1", "V2"):
        bench.draw("C1", vial, "100 ml")
    bench.draw("C2", "V3", "100 ml")
    for vial, trial in (("V1", "T1"), ("V2", "T2")):
        bench.pour(vial, trial, "30 ml")
        bench.pour("V3", trial, "10 ml")
    bench.pour("C1", "B1", "75 l")
    bench.pour("C2", "B1", "25 l")
    for second in ("T2", "B1"):
        found = compare(bench.book, bench.id("T1"), bench.id(second))
        assert {one.component for one in found.differences} == {bench.id("C1"), bench.id("C2")}
        assert [one.change for one in found.differences] == pytest.approx([0, 0], abs=1e-5)


def test_label_and_bench_sheet_name_both_casks(bench):
    """What a hand reads on the vial is what the trace says."""
    for cask, ref in (("C1", "Q 31"), ("C2", "Q 40")):
        bench.facts(cask, ref=ref)
    bench.draw("C1", "V1", "150 ml")
    bench.pour("C2", "V1", "50 ml")
    bench.record(Recipe("Ash", (RecipePart(bench.id("V1"), "1"),)))
    bench.record(bench.opening("T1", follows="Ash", total="100 ml"))
    assert label_of(bench.book, bench.id("V1")).ref == "Q 31 + Q 40"
    assert bench_sheet_of(bench.book, bench.id("T1")).rows[0].what == "from Q 31 + Q 40"


GLASS = st.sampled_from(["V1", "V2", "V3", "T1", "T2"])
POURS = st.lists(st.tuples(st.sampled_from(CASKS) | GLASS, GLASS, st.integers(5, 60)), min_size=1, max_size=25)


@given(POURS)
def test_shares_are_those_of_the_trace(pours):
    """Casks filled once: whatever was poured from glass to glass, both ways agree, and nothing is missing."""
    with House() as house:
        for cask, strength in zip(CASKS, ("63", "58", "50"), strict=True):
            house.cask(cask, "200 l", strength)
        for source, target, ml in pours:
            has_enough = source in house.ids and house.held(source).mass_mg > ml * 1000
            if source != target and has_enough:
                house.pour(source, target, f"{ml} ml")
        for glass in [name for name in house.ids if name[0] in "VT" and house.held(name).mass_mg]:
            trace = trace_back(house.book, house.id(glass), by="mass")
            casks = {one.item.id: one.share for one in trace.items if kind_of(one.item.id) == "cask"}
            found = {one.source: one.share for one in behind(house.book.store, house.id(glass))}
            assert found == pytest.approx(casks, abs=1e-9)
            assert sum(found.values()) == pytest.approx(1)
            parts = parts_of(house.book.store, house.id(glass), BLENDS)
            assert {part.source for part in parts} == found.keys()


def test_nothing_is_behind_what_was_never_filled(bench):
    """A refusal, as the trace gives one."""
    bench.record(bench.opening("V1"))
    with pytest.raises(Refused, match="nothing was ever poured"):
        behind(bench.book.store, bench.id("V1"))
