"""The printed account, read back by programs that did not write it."""

from dataclasses import replace
from fractions import Fraction

import pypdfium2
import pytest
import zxingcpp

from pourbook.errors import Malformed
from pourbook.papers.account_paper import account_paper
from pourbook.papers.account_values import Account, AccountCorrection, AccountGroup, AccountLine, AccountSample
from pourbook.papers.dossier.dossier_rows import Named
from pourbook.papers.page import CAUTION, Imprint

IMPRINT = Imprint("Quillmere Distillery", "2026-01-03 10:32 GMT", 1284, "9f3c" * 16)


def lines(lpa):
    """An account that opens with so much, loses some, and was declared to a tenth."""
    return (
        AccountLine("opening", "", 3, Fraction(lpa), Fraction(2 * lpa), f"{lpa}.0", f"{2 * lpa}.0"),
        AccountLine("adjustment", "", 1, Fraction(-1, 3), Fraction(-2, 3), "-0.3", "-0.7"),
        AccountLine("loss", "evaporation", 12, Fraction(1, 8), Fraction(1, 4), "0.1", "0.3"),
        AccountLine("contraction", "", 1, Fraction(0), Fraction(7, 1000), "0.0", "0.0"),
        AccountLine("closing", "", 3, lpa - Fraction(11, 24), 2 * lpa - Fraction(277, 300), f"{lpa}.5", f"{2 * lpa}.1"),
    )


def account(groups):
    """An account by owner with so many groups."""
    return Account(
        IMPRINT,
        "2025-01-01/2025-12-31",
        "20250101/20251231",
        "2025-01-01 00:00",
        "2026-01-01 00:00",
        "owner",
        "closed by entry 1200",
        "entry 1201, 2026-01-02 09:00, by M. Aldane, rounded half-up 0.1 L",
        "It is not the return itself.",
        ("the laboratory has still to read the strengths of entries 7.",),
        tuple(AccountGroup(f"Owner {number}", lines(100 + number)) for number in range(groups)),
        AccountGroup("", lines(groups * 100)),
        (AccountCorrection(77, "2024-11-18 10:17", "gauge, replaced", 1190, "misread the dip rod", "M. Aldane"),),
        (),
        tuple(
            AccountSample(
                "2025-03-05 10:00", 90 + number, "sent", Named("V-000005-J", "S 26-01"), Named("", "despatch"),
                Fraction(3, 20), Fraction(1, 4), "Ferrow Laboratory", "analysis", f"S {number}", "", "Zofia Żelazna",
            )
            for number in range(groups)
        ),
    )  # fmt: skip


def read(pdf):
    """The text of each page, spaces made plain."""
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_range().replace("\xa0", " ") for page in document]


def test_every_figure_is_printed_with_what_was_declared_and_the_difference():
    """Three digits of the exact figure, those of the rule, four of the difference; rounded half up."""
    text = "\n".join(read(account_paper(account(2))))
    for figures in ("100.000 100.0 0.0000", "−0.333 −0.3 0.0333", "12 0.125 0.1 −0.0250", "0.250 0.3 0.0500"):
        assert figures in text
    for words in ("Owner 1", "All together", "earlier periods", "misread the dip rod", "Provisional: the laboratory"):
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
    bare = replace(account(0), by="", total=AccountGroup("", lines(100)), declared="", adjusting=(), samples=())
    text = "\n".join(read(account_paper(bare)))
    assert "All groups" not in text
    assert "All together" not in text
    assert "Samples and destructions: none" in text
    assert "Corrections made since" not in text
    assert "half-up" not in text


def test_the_symbol_says_the_period():
    """As an interval, without hyphens."""
    with pypdfium2.PdfDocument(account_paper(account(1))) as document:
        picture = document[0].render(scale=200 / 72, grayscale=True).to_numpy().squeeze()
    assert [code.text for code in zxingcpp.read_barcodes(picture)] == ["20250101/20251231"]


def test_a_name_that_cannot_be_printed_is_refused():
    """Before there is a page."""
    with pytest.raises(Malformed):
        account_paper(replace(account(1), groups=(AccountGroup("Owner \U0001f943", lines(1)),)))


def test_equal_values_give_equal_bytes():
    """So that a paper can be made again and compared."""
    assert account_paper(account(2)) == account_paper(account(2))
