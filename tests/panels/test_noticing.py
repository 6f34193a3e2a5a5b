"""How large a difference a panel notices."""

import pytest

from pourbook.errors import OutOfRange
from pourbook.panels.d_prime import GUESSED
from pourbook.panels.discrimination import difference, planned
from pourbook.panels.noticing import noticed_d_prime


@pytest.mark.parametrize("method", GUESSED)
@pytest.mark.parametrize("power", [0.2, 0.5, 0.9])
def test_at_that_difference_it_is_found_as_often(method, power):
    """The power of the test at the answer is the chance that was asked for."""
    found = noticed_d_prime(method, 24, power=power)
    assert planned(difference(method, d_prime=found), 24).power == pytest.approx(power, abs=1e-9)


def test_more_assessors_notice_less():
    """Nor is a smaller risk free."""
    few, many = (noticed_d_prime("triangle", n) for n in (12, 48))
    assert many < few < noticed_d_prime("triangle", 12, alpha=0.01)


@pytest.mark.parametrize(("assessors", "power"), [(2, 0.5), (12, 0.0), (12, 1.0)])
def test_what_no_panel_can(assessors, power):
    """Too few to show anything, and certainty."""
    with pytest.raises(OutOfRange):
        noticed_d_prime("triangle", assessors, power=power)
