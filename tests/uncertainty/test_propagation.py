"""A value with its sources: against an independent library, against worked arithmetic, and as it is written."""

import math
import operator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import covariance_matrix, ufloat, umath

from pourbook.errors import OutOfRange
from pourbook.uncertainty.propagation import Uncertain, applied, propagated

# -- against the PyPI package `uncertainties` ------------------------------------------------

_OPERATIONS = {"+": operator.add, "-": operator.sub, "*": operator.mul, "/": operator.truediv}
_values = st.floats(1.0, 10.0)
_spreads = st.floats(0.001, 0.1)
_leaves = st.one_of(st.integers(0, 2), _values)


def _expressions(inner):
    """Two expressions and what is done with them; divided is by a variable or a number only."""
    return st.one_of(st.tuples(st.sampled_from("+-*"), inner, inner), st.tuples(st.just("/"), inner, _leaves))


def _evaluated(expression, variables):
    if isinstance(expression, tuple):
        operation, left, right = expression
        return _OPERATIONS[operation](_evaluated(left, variables), _evaluated(right, variables))
    return variables[expression] if isinstance(expression, int) else expression


@given(
    st.recursive(_leaves, _expressions, max_leaves=8),
    st.tuples(_values, _values, _values),
    st.tuples(_spreads, _spreads, _spreads),
)
def test_any_expression_agrees_with_an_independent_library(expression, values, spreads):
    """Sums, differences, products and quotients in which the same variables come again and again."""
    ours = _evaluated(expression, [Uncertain(v, {name: u}) for v, u, name in zip(values, spreads, "abc", strict=True)])
    theirs = _evaluated(expression, [ufloat(v, u) for v, u in zip(values, spreads, strict=True)])
    if isinstance(ours, Uncertain):
        assert ours.value == pytest.approx(theirs.nominal_value, rel=1e-12, abs=1e-12)
        assert ours.standard == pytest.approx(theirs.std_dev, rel=1e-9, abs=1e-12)


@given(_values, _values, _spreads, _spreads)
def test_any_function_agrees_with_an_independent_library(one, two, first, second):
    """Central differences over one standard uncertainty: the third order is all that is missed."""

    def function(x, y, library):
        return library.exp(-0.1 * x) * y / library.sqrt(x + y)

    ours = applied(
        lambda x, y: function(x, y, math), Uncertain(one, {"a": first}), Uncertain(two, {"a": -first, "b": second})
    )
    a, b = ufloat(0.0, first), ufloat(0.0, second)
    theirs = function(one + a, two - a + b, umath)
    assert ours.value == pytest.approx(theirs.nominal_value)
    assert ours.standard == pytest.approx(theirs.std_dev, rel=0.01)


def test_covariances_agree_with_an_independent_library():
    """What two values share is seen by both in the same way, in sum and in difference."""
    shared, own, other = ufloat(0.0, 0.3), ufloat(2.0, 0.1), ufloat(5.0, 0.2)
    first, second = own + shared, other + 2 * shared
    ours_first = Uncertain(2.0, {"own": 0.1, "shared": 0.3})
    ours_second = Uncertain(5.0, {"other": 0.2, "shared": 0.6})
    matrix = covariance_matrix([first, second])
    in_sum, in_difference = (ours_first + ours_second).standard, (ours_first - ours_second).standard
    assert (in_sum**2 - in_difference**2) / 4 == pytest.approx(matrix[0][1])


# -- against worked arithmetic -----------------------------------------------------------------


def test_ten_resistors_compared_with_one_standard():
    """GUM 5.2.2, example: ten of 1000 Ω in series, each known to 100 mΩ through one standard.

    All share the one error, so it is 10 x 0.1 = 1 Ω; as if independent it would be 0.32 Ω, which
    the GUM calls incorrect (read as two public texts quote it).
    """
    resistors = [Uncertain(1000.0, {"standard": 0.1}) for _ in range(10)]
    assert sum(resistors, start=Uncertain(0.0)).shown(coverage_factor=1) == "10000.0 ± 1.0 (standard)"
    apart = [Uncertain(1000.0, {f"standard {number}": 0.1}) for number in range(10)]
    assert sum(apart, start=Uncertain(0.0)).shown(coverage_factor=1) == "10000.00 ± 0.32 (standard)"


def test_a_calibration_standard_of_cadmium():
    """EURACHEM/CITAC Guide CG 4, example A1, table A1.1 (read): 1002.7 mg/L with a standard uncertainty of 0.9.

    c = 1000 m P / V, m = 100.28 ± 0.05 mg, P = 0.9999 ± 0.000058, V = 100 ± 0.07 mL.
    """
    mass, purity, volume = (
        Uncertain(100.28, {"balance": 0.05}), Uncertain(0.9999, {"purity": 5.8e-5}), Uncertain(100.0, {"flask": 0.07}),
    )  # fmt: skip
    strength = 1000 * mass * purity / volume
    assert f"{strength.value:.1f}" == "1002.7"
    assert f"{strength.standard:.1f}" == "0.9"


def test_every_order_of_operands():
    """By hand at x = 2 ± 0.1: 6 - x, 6 / x, x - 6, 6 x, -x and x / 4."""
    x = Uncertain(2.0, {"x": 0.1})
    found = {
        (6 - x).value: (6 - x).sources["x"], (6 / x).value: (6 / x).sources["x"], (x - 6).value: (x - 6).sources["x"],
        (6 * x).value: (6 * x).sources["x"], (-x).value: (-x).sources["x"], (x / 4).value: (x / 4).sources["x"],
    }  # fmt: skip
    assert found == pytest.approx({4.0: -0.1, 3.0: -0.15, -4.0: 0.1, 12.0: 0.6, -2.0: -0.1, 0.5: 0.025})


def test_a_slope_known_from_the_formula():
    """The area of a square of 3 ± 0.01: 9 ± 2 x 3 x 0.01."""
    side = Uncertain(3.0, {"rule": 0.01})
    assert propagated(9.0, (6.0, side)).standard == pytest.approx((side * side).standard) == pytest.approx(0.06)


def test_at_the_edge_of_a_domain_one_side_serves():
    """A function that refuses on one side still has its slope; one that refuses on both is refused."""

    def half(low, high, value):
        if not low <= value <= high:
            raise OutOfRange("outside")
        return value / 2

    at_edge = Uncertain(1.0, {"x": 0.1})
    assert applied(lambda x: half(0, 1, x), at_edge).standard == pytest.approx(0.05)
    assert applied(lambda x: half(1, 2, x), at_edge).standard == pytest.approx(0.05)
    with pytest.raises(OutOfRange):
        applied(lambda x: half(1, 1, x), at_edge)


def test_what_is_not_finite_is_refused():
    """A figure without an end is no figure."""
    with pytest.raises(OutOfRange):
        Uncertain(math.nan)
    with pytest.raises(OutOfRange):
        Uncertain(1.0, {"x": math.inf})


# -- as it is written -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "spread", "written"),
    [
        (46.0481, 0.119, "46.05 ± 0.12"),
        (46.045, 0.115, "46.05 ± 0.12"),  # both halves go up
        (46.0481, 0.0995, "46.05 ± 0.10"),  # rounding adds a digit, and the place follows
        (46.0481, 0.0994, "46.048 ± 0.099"),
        (181_030.0, 523.0, "181030 ± 520"),
        (181_034.9, 5230.0, "181000 ± 5200"),
        (-0.04, 1.2, "0.0 ± 1.2"),
        (0.000123, 0.0000045, "0.0001230 ± 0.0000045"),
        (7.5, 0.0, "7.5"),
    ],
)
def test_two_digits_of_uncertainty_and_the_value_to_the_same_place(value, spread, written):
    """Rounded half up, never with more digits than the uncertainty allows."""
    assert Uncertain(value, {"x": spread}).shown(coverage_factor=1).removesuffix(" (standard)") == written


def test_decimal_comma_and_expanded_uncertainty():
    """A factor other than one is said, in the house's way of writing."""
    figure = Uncertain(46.0481, {"x": 0.119})
    assert figure.shown(",") == "46,05 ± 0,24 (k = 2)"
    assert figure.shown(",", coverage_factor=2.5) == "46,05 ± 0,30 (k = 2,5)"


@given(st.floats(-1e6, 1e6), st.floats(1e-6, 1e5))
def test_what_is_written_holds_what_is_meant(value, spread):
    """Read back, both numbers differ from what was meant by no more than half of the last digit."""
    written, _, written_spread = (
        Uncertain(value, {"x": spread}).shown(".", 1).removesuffix(" (standard)").partition(" ± ")
    )
    digits = written_spread.replace(".", "").lstrip("0")
    assert len(digits.rstrip("0")) <= 2
    last = 10 ** (math.floor(math.log10(float(written_spread)) + 1e-12) - 1)
    assert abs(float(written_spread) - spread) <= last * 0.500001
    assert abs(float(written) - value) <= last * 0.500001


def test_the_budget_adds_up_to_all_of_it():
    """Shares of the variance, the largest first; a source without a share is left out."""
    figure = Uncertain(1.0, {"a": 0.3, "b": -0.4, "c": 0.0})
    assert figure.budget() == [("b", pytest.approx(0.64)), ("a", pytest.approx(0.36))]
    assert Uncertain(1.0).budget() == []
