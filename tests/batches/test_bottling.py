"""Bottles counted, liquid by mass."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.batches.bottling import bottled
from pourbook.errors import Malformed, NotThere
from pourbook.liquid import Liquid

BATCH = Liquid(500_000_000, 190_000_000, 1_200_000)


@given(st.integers(1, 700), st.sampled_from([50.0, 200.0, 500.0, 700.0]))
def test_bottles_hold_their_content_of_the_batch(count, size_ml):
    """So many times the nominal content at 20 °C, each bottle the same, of the batch's composition."""
    liquid = bottled(BATCH, count, size_ml)
    # A bottle is a whole number of milligrams, so each may be half a milligram off.
    assert volume_ml(liquid) == pytest.approx(count * size_ml, abs=count * 0.0007 + 0.002)
    assert liquid.mass_mg % count == 0
    assert liquid.ethanol_mg == pytest.approx(BATCH.ethanol_mg * liquid.mass_mg / BATCH.mass_mg, abs=1)


@pytest.mark.parametrize(("count", "size_ml"), [(0, 700.0), (-3, 700.0), (10, 0.0)])
def test_bottles_of_nothing_are_refused(count, size_ml):
    """No bottle, or a bottle that holds nothing."""
    with pytest.raises(Malformed, match="bottles of"):
        bottled(BATCH, count, size_ml)


def test_more_bottles_than_liquid_are_refused():
    """The sentence says what the bottles hold and what is there."""
    held_l = volume_ml(BATCH) / 1000
    with pytest.raises(NotThere, match=f"1000 bottles of 700 ml are 700.0 l; the batch holds {held_l:.1f} l"):
        bottled(BATCH, 1000, 700.0)


def test_an_empty_batch_fills_no_bottle():
    """Not even one."""
    with pytest.raises(NotThere, match="empty"):
        bottled(Liquid(0, 0), 1, 700.0)
