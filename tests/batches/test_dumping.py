"""Casks dumped and measured in the vat: shares by hand, one difference, and the account of it."""

import pytest
from command import here
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c, volume_ml
from pourbook.batches.dumping import in_vat, shared_out
from pourbook.errors import OutOfRange, Refused
from pourbook.quantities import read_amount, read_strength

C1, C2 = "C000001H", "C000002F"
TWO = {C1: liquid_of_volume(100_000, 60.0), C2: liquid_of_volume(100_000, 60.0)}


def test_the_vat_differs_from_the_book_once_and_the_account_balances(tmp_path):
    """By hand: 200 l at 60 % vol are 120 LPA, 200 l at 50 % vol are 100: 0 l and 20 LPA went into the air."""
    book = tmp_path / "house.pourbook"
    here("create", book, "--house", "Quillmere").done()
    for name in ("M1", "M2"):
        here("cask", name, "--fill", "100 l", "--strength", "60", "--when", "2025-01-01", book=book).done()
    here("batch", "MB", "--when", "2025-01-01", book=book).done()
    vat = ("--total", "200 l", "--strength", "50", "--when", "2025-03-01")
    here("dump", "MB", "M1", "M2", *vat, book=book).done()
    period = ("--from", "2025-01-01", "--to", "2025-12-31")
    (group,) = here("account", *period, "--json", book=book).done().json["groups"]
    lines = {(line["side"], line["heading"]): line for line in group["lines"]}
    moved = {name: (round(line["lpa_l"], 3), round(line["bulk_l"], 3)) for name, line in lines.items()}
    assert moved["loss", "evaporation"] == (20.0, 0.0)
    assert moved["closing", ""] == (100.0, 200.0)
    assert ("loss", "operating loss") not in moved
    assert all(amounts == (0.0, 0.0) for (side, _), amounts in moved.items() if side in ("gain", "contraction"))
    assert here("verify", book=book).status == 0


def test_without_a_strength_each_cask_keeps_its_own(tmp_path):
    """A vat that measured a tenth less after seventeen months: each cask lost a tenth, and none of its strength."""
    book = tmp_path / "house.pourbook"
    here("create", book, "--house", "Quillmere").done()
    for name, strength in (("M1", "60"), ("M2", "50")):
        here("cask", name, "--fill", "100 kg", "--strength", strength, "--when", "2025-01-01", book=book).done()
    here("batch", "MB", "--when", "2025-01-01", book=book).done()
    here("dump", "MB", "M1", "M2", "--total", "180 kg", "--when", "2026-06-01", book=book).done()
    shown = {name: here("show", name, "--at", "2026-02-01", "--json", book=book).done().json for name in ("M1", "M2")}
    vat = here("show", "MB", "--json", book=book).done().json
    assert vat["mass_mg"] == 180_000_000
    assert vat["ethanol_mg"] == pytest.approx(0.9 * sum(one["ethanol_mg"] for one in shown.values()), abs=2)


def test_solids_keep_their_mass_where_the_vat_was_read():
    """One litre in a hundred less, a true strength below that of the book: 200 g of solids stay 200 g."""
    casks = {C1: liquid_of_volume(100_000, 60.0, extract_g_per_l=2.0), C2: TWO[C2]}
    whole = in_vat(read_amount("198 l"), read_strength("59"), 20.0, casks)
    assert whole.extract_mg == casks[C1].extract_mg == pytest.approx(200_000, abs=1)
    assert strength_20c(whole) == pytest.approx(59.0, abs=0.001)
    assert volume_ml(whole) == pytest.approx(198_000, rel=1e-5)
    assert shared_out(whole, casks)[C2].extract_mg == 0


@given(
    st.lists(st.tuples(st.integers(1_000, 500_000), st.integers(40, 70)), min_size=1, max_size=4),
    st.integers(50, 110),
    st.integers(35, 60),
)
def test_shares_add_to_what_the_vat_measured(casks, litres_in_100, strength):
    """Liquid and alcohol to the milligram, whatever each cask gave."""
    holds = {f"C{number}": liquid_of_volume(ml, float(percent)) for number, (ml, percent) in enumerate(casks)}
    litres = sum(ml for ml, _ in casks) * litres_in_100 / 100_000
    whole = in_vat(read_amount(f"{litres:.3f} l"), read_strength(str(strength)), 20.0, holds)
    shares = shared_out(whole, holds)
    for part, amount in enumerate(whole):
        assert sum(share[part] for share in shares.values()) == amount


def test_what_cannot_be_is_refused():
    """Nothing in any cask; a vat so strong that the stronger cask would have to be more than pure alcohol."""
    with pytest.raises(Refused, match="empty"):
        in_vat(read_amount("200 l"), None, 20.0, {C1: TWO[C1].scaled(0)})
    uneven = {C1: liquid_of_volume(100_000, 95.0), C2: liquid_of_volume(100_000, 5.0)}
    with pytest.raises(OutOfRange, match="C-000001-H would have held more alcohol"):
        shared_out(in_vat(read_amount("200 l"), read_strength("70"), 20.0, uneven), uneven)
