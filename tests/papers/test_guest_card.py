"""Cards of a chosen blend: nothing on anything else, bars as long as their parts, one card for each guest."""

import pypdfium2
import pytest
from drawn_files import apart, rooms
from hypothesis import given
from hypothesis import strategies as st

from pourbook.papers.guest_card import CardGuest, CardPart, GuestCard, card_drawn, guest_cards
from pourbook.papers.marks import Outline
from pourbook.papers.page import PAPERS, Imprint

IMPRINT = Imprint("Quillmere Distillery", "2026-11-12 21:10 GMT", 1284, "9f3c" * 16)
names = st.text(st.sampled_from("abcdefgh Iij"), min_size=1, max_size=40).map(lambda text: f"S {text.strip()}")


def card_of(parts, guests, blend="Harbour light"):
    whole = sum(part for _, part in parts)
    told = tuple(CardPart(name, "Q 204 · first-fill chestnut barrel", part / whole) for name, part in parts)
    people = tuple(CardGuest(name, name[::-1], "1.5", "74") for name in guests)
    return GuestCard(IMPRINT, "Autumn", "2026-11-12", blend, "Isla Farrow", "46.1 % vol", told, people, "T-000004-H",
                     "T000004H", f"Autumn: {blend}", "Allergens: sulphites.")  # fmt: skip


@given(
    st.lists(st.tuples(names, st.integers(1, 100)), min_size=1, max_size=8),
    st.lists(names, min_size=2, max_size=16, unique=True),
    names,
    st.sampled_from(sorted(PAPERS)),
)
def test_nothing_lies_on_anything_else(parts, guests, blend, paper):
    values = card_of(parts, guests, blend)
    width, height = (side / 2 for side in PAPERS[paper])
    drawing = card_drawn(values, values.guests[-1], width, height)
    apart(drawing)
    bars = [mark for mark in drawing.marks if isinstance(mark, Outline) and mark.what == "part"]
    wholes = [mark for mark in drawing.marks if isinstance(mark, Outline) and mark.what == "whole"]
    for bar, whole, part in zip(bars, wholes, values.parts, strict=bool(bars)):
        lengths = [one.path[1][1] - one.path[0][1] for one in (bar, whole)]
        assert lengths[0] == pytest.approx(lengths[1] * part.fraction)
    said = [text for text, _ in rooms(drawing)]
    assert "T-000004-H" in said
    assert any("Taste little" in text for text in said)


@pytest.mark.parametrize(("guests", "pages"), [(2, 1), (4, 1), (5, 2)])
def test_every_guest_has_a_card_four_to_a_sheet(guests, pages):
    values = card_of([("S 1", 70), ("S 2", 30)], [f"Guest {number}" for number in range(guests)])
    for paper in PAPERS:
        with pypdfium2.PdfDocument(guest_cards(values, paper)) as document:
            texts = [page.get_textpage().get_text_bounded() for page in document]
        assert len(texts) == pages
        assert "".join(texts).count("composed by Isla Farrow") == guests
