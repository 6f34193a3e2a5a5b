"""From bottles backwards: bottles and losses are the batch at bottling strength, and the casks give no less."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c, volume_ml
from pourbook.batches.bottles_wanted import BottlesWanted, Filled
from pourbook.batches.scale_up import BatchPart, scaled, scaled_to
from pourbook.errors import Malformed, OutOfRange
from pourbook.quantities import read_amount

C1, C2, B1 = "C000001H", "C000002F", "B000001Y"

sizes = st.sampled_from(("50 ml", "20 cl", "70 cl", "700 ml", "1 l"))
losses = st.one_of(
    st.none(),
    st.decimals(0, 20, places=1),
    st.integers(1, 30).map(lambda litres: read_amount(f"{litres} l")),
)


@given(
    bottles=st.lists(st.tuples(st.integers(1, 900), sizes), min_size=1, max_size=3),
    lost=losses,
    strengths=st.tuples(st.floats(50, 65), st.floats(50, 65)),
    fraction=st.floats(0.01, 0.99),
    heel_l=st.one_of(st.none(), st.floats(1, 20)),
    to=st.floats(37.5, 49),
)
def test_bottles_and_losses_are_the_batch(bottles, lost, strengths, fraction, heel_l, to):
    """Number times size and what is lost are its volume at 20 °C, within a millilitre and never less."""
    wanted = BottlesWanted(tuple(Filled(count, read_amount(size)) for count, size in bottles), lost).checked()
    ml_by_hand = sum(count * float(read_amount(size).volume_ml) for count, size in bottles)
    if isinstance(lost, Decimal):
        ml_by_hand *= 1 + float(lost) / 100
    elif lost:
        ml_by_hand += float(lost.volume_ml)
    heel = (B1, heel_l * 1000) if heel_l and heel_l * 1000 < ml_by_hand / 2 else None
    holds = {cask: liquid_of_volume(3_000_000, strength) for cask, strength in zip((C1, C2), strengths, strict=True)}
    holds[B1] = liquid_of_volume(30_000, 60.0)
    parts = BatchPart(C1, (C1,), fraction), BatchPart(C2, (C2,), 1 - fraction)
    plan = scaled_to(
        float(wanted.needed_ml), lambda total_ml: scaled(parts, total_ml, holds, heel, to), heel[1] if heel else 0.0
    )
    assert 0 <= volume_ml(plan.whole) - ml_by_hand + 1e-6 <= 1
    assert strength_20c(plan.whole) == pytest.approx(to, abs=0.0005)
    assert sum(pull.liquid.mass_mg for pull in plan.pulls) == plan.whole.mass_mg


def test_400_bottles_by_hand():
    """400 bottles of 70 cl are 280 l; 4 % of that is 11.2 l; so 291.2 l are needed."""
    wanted = BottlesWanted((Filled(400, read_amount("70 cl")),), Decimal(4))
    assert (wanted.filled_ml, wanted.lost_ml, wanted.needed_ml) == (280_000, 11_200, 291_200)


@pytest.mark.parametrize(
    ("wanted", "refusal"),
    [
        (BottlesWanted(()), Malformed),
        (BottlesWanted((Filled(0, read_amount("700 ml")),)), Malformed),
        (BottlesWanted((Filled(10, read_amount("700 g")),)), Malformed),
        (BottlesWanted((Filled(10, read_amount("700 ml")),), read_amount("2 kg")), Malformed),
        (BottlesWanted((Filled(10, read_amount("700 ml")),), Decimal(100)), OutOfRange),
        (BottlesWanted((Filled(10, read_amount("700 ml")),), Decimal(-1)), OutOfRange),
    ],
)
def test_what_is_no_bottle_and_no_loss_is_refused(wanted, refusal):
    """Before anything is planned."""
    with pytest.raises(refusal):
        wanted.checked()


def test_no_losses_are_none():
    """What is filled is what is needed."""
    wanted = BottlesWanted((Filled(3, read_amount("700 ml")),))
    assert (wanted.lost_ml, wanted.needed_ml) == (Fraction(0), 2100)
