"""The printed account, read back by programs that did not write it."""

from dataclasses import replace
from fractions import Fraction

import pypdfium2
import pytest
import zxingcpp

from pourbook.book.as_known_then import Corrected
from pourbook.papers.account_paper import AccountPaper, account_paper
from pourbook.papers.page import CAUTION, Imprint
from pourbook.queries.accounts.account import Account, GroupAccount, Line
from pourbook.queries.accounts.declared import Declaration
from pourbook.queries.accounts.quantity import Quantity
from pourbook.queries.accounts.sample_movements import Sampled
from pourbook.times import house_zone, read_time

IMPRINT = Imprint("Quillmere Distillery", "2026-01-03 10:32 GMT", 1284, "9f3c" * 16)
ZONE = house_zone("UTC")
OWNERS = [(f"Owner {number}",) for number in range(40)]


def moment(text):
    return read_time(text, ZONE)


def quantity(lpa_l, bulk_l):
    """So many litres, pure alcohol to the milligram: 789.2391 kg/m³ (OIML R 22, 20 °C)."""
    return Quantity(0, round(float(lpa_l) * 789_239.1), 0, round(bulk_l * 1_000_000))


def lines(lpa):
    """An account that opens with so much and loses some; each line with what was declared, to a tenth."""
    return (
        (Line("opening", "", quantity(lpa, 2 * lpa), 3), f"{lpa}.0", f"{2 * lpa}.0"),
        (Line("adjustment", "", quantity(Fraction(-1, 3), Fraction(-2, 3)), 1), "-0.3", "-0.7"),
        (Line("loss", "evaporation", quantity(Fraction(1, 8), Fraction(1, 4)), 12), "0.1", "0.3"),
        (Line("contraction", "", quantity(0, Fraction(7, 1000)), 1), "0.0", "0.0"),
        (
            Line("closing", "", quantity(lpa - Fraction(11, 24), 2 * lpa - Fraction(277, 300)), 3),
            f"{lpa}.5",
            f"{lpa}.1",
        ),
    )


def grouped(group, lpa):
    return GroupAccount(group, tuple(line for line, _, _ in lines(lpa)))


def account(groups):
    """An account by owner with so many groups."""
    every = {(): lines(groups * 100), **{OWNERS[number]: lines(100 + number) for number in range(groups)}}
    told = {
        (group, line.side, line.heading): (of_lpa, of_bulk)
        for group, own in every.items()
        for line, of_lpa, of_bulk in own
    }
    whole = Account(
        moment("2025-01-01"),
        moment("2026-01-01"),
        ("owner",),
        tuple(grouped(OWNERS[number], 100 + number) for number in range(groups)),
        grouped((), groups * 100),
        1200,
        (Corrected(77, "gauge", moment("2024-11-18 10:17"), 1190, "replaced", "misread the dip rod", "M. Aldane"),),
        (),
        (7,),
        tuple(
            Sampled(
                moment("2025-03-05 10:00"), 90 + number, "sent", "V000005J", "despatch",
                quantity(Fraction(3, 20), Fraction(1, 4)), "Ferrow Laboratory", "analysis", f"S {number}", "",
                "Zofia Żelazna",
            )
            for number in range(groups)
        ),
    )  # fmt: skip
    declaration = Declaration(1201, moment("2026-01-02 09:00"), "M. Aldane", "half-up 0.1", told, 0)
    return AccountPaper(IMPRINT, whole, declaration, ZONE, {"V000005J": {"ref": "S 26-01"}})


def read(pdf):
    """The text of each page, spaces made plain."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_range().replace("\xa0", " ") for page in document]


def test_every_figure_is_printed_with_what_was_declared_and_the_difference():
    """Three digits of the exact figure, those of the rule, four of the difference; rounded half up."""
    text = "\n".join(read(account_paper(account(2))))
    for figures in ("100.000 100.0 0.0000", "−0.333 −0.3 0.0333", "12 0.125 0.1 −0.0250", "0.250 0.3 0.0500"):
        assert figures in text
    told = ("Owner 1", "Total, all groups", "prior-period adjustment", "misread the dip rod", "Provisional: strengths")
    for words in told:
        assert words in text
    assert "Zofia Żelazna" in " ".join(text.split())


def test_a_house_may_write_a_comma():
    """Everywhere, and in what was declared."""
    text = "\n".join(read(account_paper(replace(account(1), imprint=replace(IMPRINT, decimal_mark=",")))))
    assert "12 0,125 0,1 −0,0250" in text
    assert "0.125" not in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_long_account_goes_on_over_pages(paper):
    """Every page names the period and its number and carries the caution; no group is lost."""
    pages = read(account_paper(account(40), paper))
    assert len(pages) > 5
    for number, page in enumerate(pages, 1):
        assert "2025-01-01/2025-12-31" in page
        assert f"page {number} of {len(pages)}" in page
        assert CAUTION[:40] in page
    text = "\n".join(pages)
    assert all(f"Owner {number}" in text for number in range(40))
    assert text.count("evaporation") >= 41


def test_an_account_of_the_house_alone_has_no_groups():
    """One table, under its heading; what there is nothing of is said to be none."""
    whole = account(0).account._replace(by=(), total=grouped((), 100), adjusting=(), samples=())
    bare = replace(account(0), account=whole, declaration=None)
    text = "\n".join(read(account_paper(bare)))
    assert "All groups" not in text
    assert "Total, all groups" not in text
    assert "Samples and destructions: none" in text
    assert "Corrections made since" not in text
    assert "half-up" not in text


def test_the_symbol_says_the_period():
    """As an interval, without hyphens."""
    with pypdfium2.PdfDocument(account_paper(account(1))) as document:
        picture = document[0].render(scale=200 / 72, grayscale=True).to_numpy().squeeze()
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == ["20250101/20251231"]


def test_a_name_that_no_face_sets_has_a_square():
    """The paper is there all the same."""
    whole = account(1).account._replace(groups=(grouped(("Owner \U0001f943",), 1),))
    assert account_paper(replace(account(1), account=whole)).startswith(b"%PDF")


def test_equal_values_give_equal_bytes():
    """So that a paper can be made again and compared."""
    assert account_paper(account(2)) == account_paper(account(2))
