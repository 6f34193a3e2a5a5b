"""Rules of contents against the tables of the laws they name, and lots at the edges of their plans."""

from math import sqrt

import pytest

from pourbook.book.settings import CONTENTS_RULES as NAMES
from pourbook.gauging.average_contents import CONTENTS_RULES, EU, UK, US, judged, spread
from pourbook.uncertainty.student_t import t_quantile

# gov.uk, "Weights and measures: the law", packaged goods (read): quantity, tolerable negative error in ml
TOLERABLE = [(5, 0.5), (50, 4.5), (100, 4.5), (200, 9), (250, 9), (300, 9), (350, 10.5), (500, 15), (700, 15),
             (1_000, 15), (1_750, 26.3), (3_000, 45), (10_000, 150), (15_000, 150), (20_000, 200)]  # fmt: skip


@pytest.mark.parametrize(("nominal_ml", "error_ml"), TOLERABLE)
def test_the_tolerable_negative_error_is_that_of_the_table(nominal_ml, error_ml):
    """The same in Directive and Regulations; percentages are rounded up to the tenth of a ml."""
    assert EU.tolerable_ml(nominal_ml) == UK.tolerable_ml(nominal_ml) == pytest.approx(error_ml, abs=1e-9)


def test_the_error_of_a_size_of_spirits_between_is_rounded_up():
    """375 ml: 3 % are 11.25 ml."""
    assert UK.tolerable_ml(375) == 11.3


# SI 2006/659, schedule 2, 4.5 and 4.6 (read): size of the sample, factor of the standard deviation
@pytest.mark.parametrize(("sample", "factor"), [(30, 0.503), (50, 0.379), (20, 0.640)])
def test_the_mean_may_be_lower_by_the_printed_factor(sample, factor):
    """t of 0.995 on one side over the root of the sample."""
    assert t_quantile(0.99, sample - 1) / sqrt(sample) == pytest.approx(factor, abs=0.0005)
    contents = [700.0 + (1 if place % 2 else -1) for place in range(sample)]
    found = judged(UK, 700.0, 400, contents)
    assert found.least_mean_ml == pytest.approx(700 - factor * spread(contents)[1], abs=0.001)


# SI 2006/659, schedule 2, 3.5 (read): least group, sample, acceptance, rejection
@pytest.mark.parametrize(
    ("bottles", "sample", "accepted"), [(100, 50, 3), (500, 50, 3), (501, 80, 5), (3_200, 80, 5), (3_201, 125, 7)]
)
def test_a_lot_passes_with_as_many_defective_bottles_as_the_plan_accepts(bottles, sample, accepted):
    """And not with one more. 684 ml lack 16, which is more than 15 and less than 30; the mean is kept up."""

    def lot(defective):
        return judged(UK, 700.0, bottles, [684.0] * defective + [703.0] * (sample - defective))

    assert (lot(accepted).result, lot(accepted).defective) == ("passes", accepted)
    assert (lot(accepted + 1).result, lot(accepted + 1).fails_by) == ("fails", ("defective",))
    assert judged(UK, 700.0, bottles, [703.0] * (sample - 1)).result == "measure more"


def test_a_double_plan_asks_for_a_second_sample_between_its_numbers():
    """From memory, as the rule says: 30 bottles, then 60 in all."""
    first = [684.0] * 2 + [704.0] * 28
    assert (judged(EU, 700.0, 400, first).result, judged(EU, 700.0, 400, first).needed) == ("measure more", 60)
    assert judged(EU, 700.0, 400, [*first, *[704.0] * 30]).result == "passes"
    assert judged(EU, 700.0, 400, [*first, *[684.0] * 3, *[704.0] * 27]).fails_by == ("defective",)
    assert judged(EU, 700.0, 400, [684.0] * 3 + [704.0] * 27).result == "fails"
    assert judged(EU, 700.0, 400, [704.0] * 30).result == "passes"


def test_no_bottle_may_lack_twice_the_error_however_many_were_measured():
    """Rule 3 of gov.uk (read): none short by more than twice the tolerable negative error."""
    found = judged(UK, 700.0, 400, [669.9])
    assert (found.result, found.fails_by, found.inadequate) == ("fails", ("inadequate",), 1)
    assert judged(UK, 700.0, 400, [670.0]).fails_by == ()


def test_a_lot_of_fewer_than_a_hundred_is_measured_whole():
    """SI 2006/659, schedule 2, 2.8, 3.6 and 4.7 (read): all of them, 5 % defective, the mean not below the label."""
    assert judged(UK, 700.0, 60, [700.0] * 59).result == "measure more"
    assert judged(UK, 700.0, 60, [700.0] * 60).result == "passes"
    assert judged(UK, 700.0, 60, [684.0] * 3 + [701.0] * 57).result == "passes"
    assert judged(UK, 700.0, 60, [684.0] * 4 + [702.0] * 56).fails_by == ("defective",)
    assert judged(UK, 700.0, 60, [699.9] * 60).fails_by == ("mean",)


# 27 CFR 19.356(b) (read): size, per cent over or under
@pytest.mark.parametrize(("nominal_ml", "percent"), [(50, 4.5), (100, 4.5), (101, 3), (375, 3), (376, 2), (750, 2),
                                                     (999, 2), (1_000, 1.5), (1_750, 1.5)])  # fmt: skip
def test_the_us_rule_holds_on_both_sides(nominal_ml, percent):
    """One bottle beyond is one too many, over as well as under."""
    most = nominal_ml * percent / 100
    for contents in (nominal_ml - most, nominal_ml + most):
        assert judged(US, nominal_ml, 400, [contents, nominal_ml]).result == "passes"
    for contents in (nominal_ml - most - 0.01, nominal_ml + most + 0.01):
        assert judged(US, nominal_ml, 400, [contents, nominal_ml]).fails_by == ("defective",)
    counted = judged(US, nominal_ml, 400, [nominal_ml + 1, nominal_ml + 1, nominal_ml - 1])
    assert (counted.over, counted.under) == (2, 1)


def test_the_setting_knows_every_rule():
    """It has its names apart, so that few verbs load the rules."""
    assert {"", *CONTENTS_RULES} == {*NAMES}


def test_the_spread_is_that_of_the_statistics_module():
    """Python's own."""
    from statistics import fmean, stdev

    contents = [701.2, 699.8, 700.4, 698.1, 702.9]
    assert spread(contents) == pytest.approx((fmean(contents), stdev(contents)))
    assert spread([700.0]) == (700.0, None)
