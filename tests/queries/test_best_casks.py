"""Which casks stand behind the blends liked best, by hand and by the real command.

That a blend's score is all its casks' is common sense, no source; Student's t as in `uncertainty/student_t.py`.
"""

from statistics import fmean

import pypdfium2
import pytest
from command import Desk, here
from hypothesis import given
from hypothesis import strategies as st

from pourbook.queries.casks.best import Blend, behind_best

T_1DF, T_2DF = 12.706, 4.303
"""Student's t for 95 %, two-sided: Abramowitz and Stegun, table 26.10."""


def of(rows, name):
    return next(one for one in rows if one.name == name)


def test_a_mean_is_weighted_by_share_and_tasters_count_once():
    """A taster who writes three notes says no more than one who writes one."""
    rows = behind_best(
        [
            Blend({"C1": 0.9, "C2": 0.1}, {"Isla": (90.0, 80.0, 85.0), "Tomas": (75.0,)}),
            Blend({"C1": 0.3, "C2": 0.7}, {"Isla": (60.0,)}),
        ]
    )
    assert of(rows, "C1").mean == pytest.approx((0.9 * 80 + 0.3 * 60) / 1.2)
    assert of(rows, "C2").mean == pytest.approx((0.1 * 80 + 0.7 * 60) / 0.8)
    assert (of(rows, "C1").notes, of(rows, "C1").tasters, of(rows, "C1").blends) == (5, 2, 2)


def test_what_stands_out_is_judged_by_each_tasters_own_mean():
    """One who scores all high, or tasted only one blend, moves nothing; by hand, for three tasters."""
    gave = ({"a": (90.0,), "b": (70.0,), "c": (60.0,)}, {"a": (84.0,), "b": (62.0,), "c": (56.0,), "d": (99.0,)})
    rows = behind_best([Blend({"C1": 0.8, "C2": 0.2}, gave[0]), Blend({"C1": 0.1, "C2": 0.9}, gave[1])])
    # Each put the first above the second by 6, 8 and 4, so above their own mean by half of it.
    each = [half * (0.8 - 0.1) / 0.9 for half in (3, 4, 2)]
    found = of(rows, "C1")
    assert found.ahead == pytest.approx(fmean(each))
    spread = (0.7 / 0.9) * 1.0  # of 3, 4 and 2 the standard deviation is 1
    assert found.band == pytest.approx(T_2DF * spread / 3**0.5, rel=1e-3)
    assert found.stands == "ahead"
    assert of(rows, "C2").stands == "behind"
    # The plain mean of the second is higher, since one who scores high tasted that alone; it does not go first for it.
    assert of(rows, "C2").mean > of(rows, "C1").mean
    assert rows[0].name == "C1"


@pytest.mark.parametrize(
    "gave",
    [
        ({"a": (90.0,)}, {"a": (60.0,)}),  # a single taster
        ({"a": (90.0,)}, {"b": (60.0,)}),  # nobody tasted both
    ],
)
def test_too_few_notes_are_said_to_be_too_few(gave):
    """However far apart they are."""
    rows = behind_best([Blend({"C1": 0.9, "C2": 0.1}, gave[0]), Blend({"C1": 0.2, "C2": 0.8}, gave[1])])
    assert {one.stands for one in rows} == {"too few notes to say"}


def test_a_cask_of_a_single_blend_is_not_told_from_the_others_in_it():
    """Two tasters scored two blends, but this cask is in one of them alone."""
    gave = {"a": (90.0,), "b": (80.0,)}, {"a": (60.0,), "b": (55.0,)}
    rows = behind_best([Blend({"C1": 0.5, "C3": 0.5}, gave[0]), Blend({"C1": 1.0}, gave[1])])
    assert of(rows, "C3").stands == "too few notes to say"
    assert of(rows, "C1").band == pytest.approx(T_1DF * (12.5 - 6.25 - 5) / 1.5 / 2, rel=1e-3)


@given(
    st.lists(
        st.tuples(st.floats(0.05, 0.95), st.dictionaries(st.sampled_from("abcd"), st.floats(0, 100), min_size=1)),
        min_size=1, max_size=6,
    )
)  # fmt: skip
def test_a_mean_lies_among_the_blends_and_equal_scores_tell_nothing_apart(told):
    """Whatever the shares."""
    blends = [Blend({"C1": part, "C2": 1 - part}, {who: (score,) for who, score in of.items()}) for part, of in told]
    means = [fmean(fmean(one) for one in blend.gave.values()) for blend in blends]
    for row in behind_best(blends):
        assert min(means) - 1e-6 <= row.mean <= max(means) + 1e-6
    same = [blend._replace(gave=dict.fromkeys(blend.gave, (50.0,))) for blend in blends]
    assert {row.stands for row in behind_best(same)} <= {"not told apart", "too few notes to say"}


@pytest.fixture
def bench(tmp_path):
    """Three casks by two coopers; two trials of them, scored by two tasters; a lot from the better one."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    for ref, told in (
        ("Q 1", "--wood oak --cooper Brindle --previous 'red wine, 2001-2009' --previous 'fortified wine, 2010-2014'"),
        ("Q 2", "--wood oak --cooper Brindle --previous rum"),
        ("Q 3", "--wood chestnut --cooper Marrow"),
    ):
        desk.does(f"cask '{ref}' {told} --fill '200 l' --strength 60 --when 2016-03-01")
    for ref, parts in (("T 1", ("Q 1=8", "Q 2=1", "Q 3=1")), ("T 2", ("Q 1=1", "Q 2=1", "Q 3=8"))):
        desk.does(f"trial --ref '{ref}' --total '1 l' {' '.join(f'--part {one!r}' for one in parts)}")
        amounts = " ".join(f"'{one[:3]}' '{one[4:]}00 ml'" for one in parts)
        desk.does(f"pour '{ref}' {amounts}")
    for who, scores in (("Isla Farrow", (88, 70)), ("Tomas Reeve", (80, 63))):
        for ref, score in zip(("T 1", "T 2"), scores, strict=True):
            desk.does(f"taste '{ref}' noted --score {score} --by '{who}'")
    return desk


def test_casks_coopers_and_previous_contents_behind_the_best(bench):
    """By cask, by cooper, by what they held last before they came here, without its years."""
    first = bench.asks("casks --best")["rows"][0]
    assert (first["called"], first["blends"], first["notes"], first["stands"]) == ("Q 1 · oak", 2, 4, "ahead")
    # 0.8 of a blend scored 84 and 0.1 of one scored 66.5.
    assert first["mean"] == pytest.approx((0.8 * 84 + 0.1 * 66.5) / 0.9)
    coopers = {row["name"]: row["stands"] for row in bench.asks("casks --best --told-by cooper")["rows"]}
    assert coopers == {"Brindle": "ahead", "Marrow": "behind"}
    previous = [row["name"] for row in bench.asks("casks --best --told-by previous")["rows"]]
    assert previous == ["fortified wine", "rum", ""]
    out = bench.does("casks --best --told-by previous").out
    assert "not recorded" in out
    assert "nobody" not in out
    assert "no trial, batch or lot was given a liking" in bench.does("casks --best --by liking").out


def test_options_that_do_not_go_together_are_refused(bench):
    """The list of casks in the house and that of those behind blends are two questions."""
    assert "--best is of all casks" in bench("casks --best --wood oak").err
    assert "give --best, too" in bench("casks --told-by wood").err


def test_a_passport_says_what_was_thought_of_what_a_cask_gave(bench, tmp_path):
    """Of each trial, batch and lot by its own notes; on screen, as a document and on paper."""
    (fill,) = bench.asks("provenance 'Q 1'")["fills"]
    gave = {one["ref"]: one["score"] and round(one["score"]["mean"], 1) for one in fill["gave"]}
    assert gave == {"T 1": 84.0, "T 2": 66.5}
    assert "score 84.0 ± 4.0 (2)" in bench.does("provenance 'Q 1'").out
    bench.does(f"provenance 'Q 1' -o {tmp_path}/cask.pdf")
    text = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(tmp_path / "cask.pdf"))
    assert "score 84.0" in text
    bench.does("taste 'T 1' 'again, no score' --by 'Una Brill'")
    assert bench.asks("provenance 'Q 1' --at 2016-12-31")["fills"][0]["gave"] == []


def test_a_passport_says_what_was_approved(bench):
    """Of batches and lots; a lot stands as its batch does, and a rejection is told as one."""
    for name, said in (("Vatting 1", "--confirm"), ("Vatting 2", "--reject --reason bitter")):
        bench.does(f"batch '{name}'")
        bench.does(f"pour '{name}' 'Q 1' '20 l' 'Q 3' '2 l'")
        bench.does(f"approve '{name}' --who 'Una Brill' {said}")
    bench.does("bottle 'Vatting 1' --count 10 --size '700 ml' --ref 'Lot 1'")
    (fill,) = bench.asks("provenance 'Q 1'")["fills"]
    approvals = {one["ref"]: one["approval"] for one in fill["gave"] if one["kind"] != "trial"}
    assert approvals == {"Vatting 1": "approved", "Vatting 2": "rejected", "Lot 1": "approved"}
    assert "rejected" in bench.does("provenance 'Q 1'").out
