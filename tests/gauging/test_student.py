"""Student's t against published values."""

import pytest

from pourbook.errors import OutOfRange
from pourbook.uncertainty.student_t import t_quantile

# Two-sided 95 % and 99 % points: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2 (read in a copy that
# credits it). The row of 120 is not in it: not checked against a table.
PUBLISHED = [
    (0.95, 1, "12.706"), (0.95, 2, "4.303"), (0.95, 3, "3.182"), (0.95, 4, "2.776"), (0.95, 5, "2.571"),
    (0.95, 10, "2.228"), (0.95, 20, "2.086"), (0.95, 30, "2.042"), (0.95, 120, "1.980"),
    (0.99, 1, "63.657"), (0.99, 2, "9.925"), (0.99, 5, "4.032"), (0.99, 10, "3.169"), (0.99, 30, "2.750"),
]  # fmt: skip


@pytest.mark.parametrize(("confidence", "freedom", "printed"), PUBLISHED)
def test_quantiles_are_those_of_the_tables(confidence, freedom, printed):
    """Every published digit agrees."""
    assert f"{t_quantile(confidence, freedom):.3f}" == printed


@pytest.mark.parametrize(("confidence", "freedom"), [(0.0, 5), (1.0, 5), (1.2, 5), (0.95, 0), (0.95, -1)])
def test_what_is_no_confidence_is_refused(confidence, freedom):
    """A probability lies between none and all, and one degree of freedom is the least."""
    with pytest.raises(OutOfRange):
        t_quantile(confidence, freedom)
