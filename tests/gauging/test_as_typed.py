"""What was typed stands in the journal as it was typed, and is read again from there without the house's settings."""

import pytest
from command import Desk, here
from hypothesis import given
from hypothesis import strategies as st

from pourbook.gauging.as_typed import amount_again, kept_amount, kept_strength, strength_again
from pourbook.quantities import UNITS, read_amount, read_strength

NUMBERS = st.decimals("0.001", "99", places=3).map(str)


@given(NUMBERS, st.sampled_from(["", *UNITS, "ML", " Gallons"]), st.sampled_from(sorted(UNITS)), st.sampled_from(".,"))
def test_an_amount_is_read_again_as_it_was(number, unit, default, mark):
    """Whatever the house's unit and decimal mark were, the journal's text alone gives the same amount."""
    amount = read_amount(f"{number} {unit}".replace(".", mark), default, mark)
    again = amount_again(kept_amount(amount))
    assert (again.value, again.unit) == (amount.value, amount.unit)
    assert kept_amount(amount).startswith(number.replace(".", mark))


@given(NUMBERS, st.sampled_from(["", "%", " % vol", " abv 60F", " proof"]), st.sampled_from(["vol20", "vol60f"]))
def test_a_strength_is_read_again_as_it_was(number, scale, default):
    """A percentage leaves its reference temperature to the house; in the journal it stands beside it."""
    strength = read_strength(f"{number}{scale}", default)
    assert strength_again(kept_strength(strength))[1:] == strength[1:]


def test_a_house_with_a_decimal_comma_finds_what_it_typed(tmp_path):
    """Typed with a comma, shown with a comma in the journal and the trace, and derived anew from that."""
    desk = Desk(tmp_path / "q.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set decimal_mark=,")
    desk.does("cask 'Row 1' --fill '198,5 l' --strength '62,50 %'")
    desk.does("draw 'Row 1' '250 ml' --returned '49,5' --ref sample")
    number = desk.asks("journal-hash")["entries"]
    lines = [entry["body"]["lines"][0] for entry in desk.asks("journal")["entries"] if entry["kind"] == "pour"]
    assert lines[0]["typed"] == {"amount": "198,5 l", "strength": "62,50 %"}
    assert (lines[1]["typed"]["amount"], lines[1]["facts"]["returned"]) == ("200.5 ml", "49,5"), (
        "the difference is nobody's writing"
    )
    assert "fill: 198,5 l" in desk.does("journal").out
    assert desk.asks("trace sample")["pours"][0]["typed"] == "198,5 l, 62,50 %"
    before = desk.asks("show sample")["volume_ml_20c"]
    desk.does(f"replace {number} --rederive --reason 'derived anew'")
    assert desk.asks("show sample")["volume_ml_20c"] == pytest.approx(before, abs=0.002)
