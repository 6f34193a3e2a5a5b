"""Letters as outlines: those of the faces by another reader of them, and a picture that needs no typeface."""

import re
import xml.etree.ElementTree as ET
from io import BytesIO
from itertools import pairwise

import pytest
from PIL import ImageFont

from pourbook import typefaces
from pourbook.papers.cells import Type
from pourbook.papers.flow.flow_paper import flow_document
from pourbook.papers.flow.flow_values import Flow, FlowEdge, FlowItem
from pourbook.papers.letters import _outline, defined, drawn, placed_words
from pourbook.papers.page import Title

SVG = "{http://www.w3.org/2000/svg}"
EM = 1000


def loops(path):
    """The corners of each closed outline, curves as sixteen chords each."""
    for loop in path.split("Z")[:-1]:
        points = []
        for word, numbers in re.findall(r"([Mlq])([^Mlq]*)", loop):
            values = [int(number) for number in re.findall(r"-?\d+", numbers)]
            pairs = list(zip(values[::2], values[1::2], strict=True))
            if word == "M":
                points.append(pairs[0])
                continue
            x, y = points[-1]
            if word == "l":
                points.append((x + pairs[0][0], y + pairs[0][1]))
            else:
                (a, b), (c, d) = pairs
                parts = [part / 16 for part in range(1, 17)]
                points += [(x + 2 * t * (1 - t) * a + t * t * c, y + 2 * t * (1 - t) * b + t * t * d) for t in parts]
        yield points


def area(points):
    return sum(x * other_y - other_x * y for (x, y), (other_x, other_y) in pairwise([*points, points[0]])) / 2


@pytest.mark.parametrize("face", [typefaces.TEXT, typefaces.SEMIBOLD])
@pytest.mark.parametrize("character", "IaBgż8%·Ω")
def test_an_outline_covers_what_freetype_draws_of_the_letter(face, character):
    """FreeType, by Pillow, at a thousand dots to the em: the same size, and as many black dots as it encloses.

    Of letters whose loops do not overlap, so that their areas add up.
    """
    found = list(loops(_outline(face, character)))
    font = ImageFont.truetype(BytesIO(typefaces.content_of(face)), EM, layout_engine=ImageFont.Layout.BASIC)
    mask = font.getmask(character, mode="L")
    covered = sum(mask) / 255
    assert abs(sum(map(area, found))) == pytest.approx(covered, rel=0.01)
    left, top, right, bottom = mask.getbbox()
    xs, ys = zip(*(point for points in found for point in points), strict=True)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((right - left, bottom - top), abs=2)


def test_letters_stand_as_far_apart_as_on_paper():
    line = placed_words(0, 0, "Lot 26-1 → Ψ", Type(typefaces.TEXT, 7, 8.2))
    assert line.width_pt == pytest.approx(typefaces.width_pt("Lot 26-1 → Ψ", typefaces.TEXT, 7), rel=1e-12)
    places = [float(x) * 7 / EM for x in re.findall(r' x="(-?\d+)"', drawn(line))]
    expected = [typefaces.width_pt(line.text[:n], typefaces.TEXT, 7) for n, c in enumerate(line.text) if c != " "]
    assert places == pytest.approx(expected, abs=0.5 * 7 / EM)


def test_a_letter_is_defined_once_for_each_face_it_is_used_in():
    faces = (typefaces.TEXT, typefaces.SEMIBOLD)
    lines = [placed_words(0, 0, text, Type(face, 7, 9)) for text in ("aa", "a→") for face in faces]
    assert re.findall(r'id="([\w-]+)"', defined(lines)) == ["ss-2192", "ss-61", "sssb-2192", "sssb-61"]


def test_a_picture_needs_no_typeface(imprint, greek, polish):
    """Every text is without ink, and every letter of it stands below it as a use of a letter that the file defines."""
    items = (FlowItem("c", "cask", (greek, "酒"), own_ml=230.0), FlowItem("l", "lot", (polish,)))
    flow = Flow("back", "l", items, (FlowEdge("c", "l", 230.0),))
    root = ET.fromstring(flow_document(flow, imprint, Title("Flow of pure alcohol", "L-000005-4", "L0000054")))
    texts = [text for group in root.iter(f"{SVG}g") if group.get("fill") == "none" for text in group]
    assert texts == list(root.iter(f"{SVG}text"))
    assert {element.get("font-family") for element in root.iter()} <= {None, "sans-serif"}
    assert list(root.iter(f"{SVG}style")) == list(root.iter(f"{SVG}image")) == []
    defined_names = {path.get("id") for path in root.iter(f"{SVG}path") if path.get("id")}
    used = [use.get("href").removeprefix("#") for use in root.iter(f"{SVG}use")]
    assert set(used) == defined_names
    inked = [character for text in texts for character in text.text or "" if not character.isspace()]
    assert sorted(chr(int(name.partition("-")[2], 16)) for name in used) == sorted(inked)
    assert "□" in inked
