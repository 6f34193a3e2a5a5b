"""Papers of a tasting session: what stands on them, and whether a ballot that was filled in by hand still reads.

Ballots are filled in by a script that draws strokes, and photographed by `photographs`: simulated, no pen, paper or
camera was used.
"""

import io
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
from photographs import photograph
from PIL import Image, ImageDraw

from pourbook.labels.decoding import codes_in
from pourbook.papers.ballots import BallotForm, Ballots, Own, Scale, ballots
from pourbook.papers.page import Imprint
from pourbook.papers.pour_sheet import Poured, PourSheet, Tray, pour_sheet

IMPRINT = Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16)
FORM = BallotForm(Scale(0, 5), Scale(1, 9), Scale(0, 100))
OWN = (
    Own("Isla Farrow", ("417", "582", "930", "268", "745", "639")),
    Own("Tomas Reeve", ("147", "385", "290", "628", "475", "369")),
)
BALLOTS = Ballots(IMPRINT, "Autumn flight", "SESSION-31", "SESSION31", FORM, OWN, seal="ab12" * 16)
DPI = 300


def pages(pdf):
    with pypdfium2.PdfDocument(pdf) as document:
        return [page.get_textpage().get_text_bounded() for page in document]


def filled(picture, rng):
    """The page with strokes of a pen: ticks, a line of writing over each rule, a slip that touches the margin."""
    drawn = ImageDraw.Draw(picture)
    width, height = picture.size
    for _ in range(60):  # all that is written stands right of the codes and their marks
        x, y = rng.integers(round(0.22 * width), width - 90), rng.integers(round(0.25 * height), height - 90)
        points = [(x + 9 * step, y + int(rng.integers(-14, 14))) for step in range(9)]
        drawn.line([tuple(map(int, point)) for point in points], fill=40, width=5)
    return picture


@pytest.mark.parametrize("condition", ["clean", "tilt ±30°", "blur 0.1 mm", "low contrast"])
def test_a_ballot_that_was_filled_in_and_photographed_still_says_its_codes(condition):
    """Every code of the page, with the session that it is of."""
    rng = np.random.default_rng(11)
    with pypdfium2.PdfDocument(ballots(BALLOTS)) as document:
        picture = filled(document[0].render(scale=DPI / 72, grayscale=True).to_pil(), rng)
    codes = [f"SESSION31-{code}" for code in OWN[0].codes[:3]]
    third = picture.height // 4
    read = set()
    for place in range(3):  # a photograph of each glass, as somebody takes it who scans ballots
        top = round((0.24 + 0.215 * place) * picture.height)
        glass = np.asarray(picture.crop((0, top, round(0.55 * picture.width), top + third)))
        taken = io.BytesIO()
        Image.fromarray(photograph(glass, DPI, condition, rng)).save(taken, "PNG")
        read |= {one.text.removeprefix("]d1") for one in codes_in(taken.getvalue(), "ballot.png")}
    assert set(codes) <= read


def test_a_ballot_begins_on_a_page_of_its_own():
    """Two assessors, six glasses each: each has a first page with the head, and names stand by every glass."""
    said = pages(ballots(BALLOTS))
    firsts = [text for text in said if "Take the glasses in this order, 1 to 6." in text]
    assert [one for own in OWN for one in firsts if own.assessor in one] == firsts
    assert all(len({own.assessor for own in OWN if own.assessor in text}) == 1 for text in said)


@pytest.mark.parametrize(
    ("form", "asked"),
    [
        (FORM._replace(asks="Which glass is the odd one?", picks=1), "Tick 1 glass; if you are not sure, guess."),
        (FORM._replace(intensity=Scale(0, 100)), "write how strong it is"),
        (FORM, "tick how strong it is, 0 to 5"),
    ],
)
def test_a_ballot_asks_what_is_asked(form, asked):
    """Of a test one tick; of a long scale a figure; of a short one a box to tick."""
    text = " ".join(pages(ballots(replace(BALLOTS, form=form, rest_min=2)))[0].split())
    assert asked in text
    assert "rest 2 minutes" in text
    assert "does not drive" in text


def test_many_glasses_and_long_names_fit():
    """26 glasses, letters that are not Latin, a name as long as a name may be."""
    own = Own("Żółć " + "Wojciechowska-Brzęczyszczykiewicz " * 4, tuple(str(code) for code in range(201, 227)))
    said = pages(ballots(replace(BALLOTS, own=(own,))))
    assert all(any(code in text for text in said) for code in own.codes)


def test_the_pour_sheet_says_what_goes_where_and_that_it_is_sealed():
    """Volumes in all are those of a glass times the glasses; more than six glasses go on in another row."""
    items = (Poured("V-000001-R", "S 1", 8, 5.25, 9.83, 60.0), Poured("V-000002-P", "S 2", 4, 15.0, 0.0, 18.0))
    glasses = tuple((str(200 + place), "V-000001-R", "S 1") for place in range(8))
    trays = (Tray("Isla Farrow", glasses),)
    sheet = PourSheet(
        IMPRINT, "Autumn flight", "SESSION-31", "SESSION31", items, trays, "2026-03-14", "15 ml", "9f3c" * 16
    )
    text = " ".join("\n".join(pages(pour_sheet(sheet))).split())
    assert "SEALED" in text
    assert "42.0" in text
    assert "78.6" in text  # 8 x 5.25 and 8 x 9.83
    assert all(code in text for code, *_ in glasses)
    assert "none" in text
