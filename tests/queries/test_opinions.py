"""What was thought of blends: means over tasters, their doubt, and which is the best, as far as that may be said."""

from statistics import fmean, stdev

import pytest
from house import HOW, House
from hypothesis import given
from hypothesis import strategies as st

from pourbook.book.entries import Stage, Taste
from pourbook.queries.trials.opinions import CONFIDENCE, Mean, Opinion, best, opinion_of

stats = pytest.importorskip("scipy.stats")

TASTERS = ("Isla Farrow", "Tomas Reeve", "M. Aldane", "P. Wren")
scores = st.dictionaries(st.sampled_from(TASTERS), st.lists(st.integers(0, 100), min_size=1, max_size=3), min_size=2)


def scored(**values):
    """Blends by their scores: a list is one score of each taster in turn."""
    by_taster = {name: zip(TASTERS, given, strict=False) for name, given in values.items()}
    return {name: Opinion({who: (score,) for who, score in pairs}) for name, pairs in by_taster.items()}


@given(scores)
def test_every_taster_counts_once(given):
    """However many notes each wrote: mean and standard error of the mean (scipy.stats.sem) over tasters."""
    found = Opinion(given).score
    each = [fmean(one) for one in given.values()]
    assert found.mean == pytest.approx(fmean(each))
    assert found.error == pytest.approx(float(stats.sem(each)))
    assert (found.tasters, found.notes) == (len(given), sum(map(len, given.values())))


@given(st.lists(st.tuples(st.integers(0, 100), st.integers(0, 100)), min_size=2, max_size=4))
def test_the_interval_of_a_difference_is_that_of_paired_scores(pairs):
    """By those who tasted both: scipy.stats.ttest_rel and its interval."""
    first, second = zip(*pairs, strict=True)
    if stdev([one - other for one, other in pairs]) == 0:
        return
    found = best(scored(ash=first, elm=second))
    ash, elm = (first, second) if found.name == "ash" else (second, first)
    [other] = found.others
    low, high = stats.ttest_rel(ash, elm).confidence_interval(CONFIDENCE)
    assert (other.ahead - other.band, other.ahead + other.band) == pytest.approx((low, high), abs=1e-6)
    assert other.stands == ("ahead" if low > 0 else "not told apart")


def test_what_may_be_said_of_the_best():
    """Clearly ahead; too few who tasted both; nobody who did; and the next two alone."""
    clear = best(scored(ash=[80, 82, 79, 81], elm=[70, 72, 70, 71], oak=[60, 63, 60, 62], fir=[1, 1, 1, 1]))
    assert (clear.name, clear.by, clear.mean) == ("ash", "score", Mean(80.5, pytest.approx(0.6454972), 4, 4))
    assert [(one.name, one.stands) for one in clear.others] == [("elm", "ahead"), ("oak", "ahead")]
    single = best(scored(ash=[80], elm=[60, 70]))
    assert (single.name, single.others[0].stands) == ("elm", "too few notes to say"), "one person's 80 is not the best"
    apart = best({"ash": Opinion({"a": (80,), "b": (78,)}), "elm": Opinion({"c": (60,), "d": (64,)})})
    assert apart.others[0] == ("elm", 17.0, None, 0)
    only = best(scored(ash=[80]))
    assert (only.mean.error, only.others) == (None, ())
    assert best({"ash": Opinion(), "elm": Opinion(words="sharp")}) is None


def test_likings_count_where_nobody_gave_a_score():
    """The two scales are never mixed."""
    found = best({"ash": Opinion({}, {"a": (7,), "b": (8,)}), "elm": Opinion({}, {"a": (6,), "b": (5,)})})
    assert (found.name, found.by) == ("ash", "liking")
    assert best({"ash": Opinion({}, {"a": (9,)}), "elm": Opinion({"a": (10,)})}).name == "elm"


def test_a_single_friend_does_not_carry_a_blend():
    """Those who tasted both put the other ahead: the mean of one who tasted it alone is said to be behind."""
    found = best({
        "ash": Opinion({"a": (70,), "b": (71,), "c": (70,), "d": (100,)}),
        "elm": Opinion({"a": (74,), "b": (76,), "c": (74,)}),
    })  # fmt: skip
    assert (found.name, found.others[0].stands) == ("ash", "behind")


def test_the_notes_of_an_item_are_gathered():
    """A taster's own name in any spelling of case is one taster; words are the latest, of a tasting or any other."""
    with House() as house:
        house.cask("C1", "200 l", "60")
        house.pour("C1", "T1", "60 ml")
        notes = ("Isla Farrow", "80", "round"), ("isla farrow", "84", "longer"), ("T. Reeve", "70", "")
        for who, score, text in notes:
            note = Taste(house.id("T1"), who, text, {"nose": Stage("", {"pear": "4"})}, score=score)
            house.book.taste(HOW._replace(confirm=True), note)
        found = opinion_of(house.book, house.id("T1"))
        assert found.score == Mean(76.0, pytest.approx(6.0), 2, 3)
        assert found.words == "nose: pear 4"
        assert found.liking is None
