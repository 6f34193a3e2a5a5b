"""Pictures as they are read back from their files."""

import re
import xml.etree.ElementTree as ET
from itertools import combinations

import pypdfium2
import pytest

from pourbook import typefaces
from pourbook.papers.marks import Words

HAIR = 0.02
SVG = "{http://www.w3.org/2000/svg}"


def svg_paths(text):
    """Class to the numbers of every path of the picture, in order."""
    picture = next(ET.fromstring(text).iter(f"{SVG}g"))
    return [
        (path.get("class"), [float(n) for n in re.findall(r"-?\d+\.?\d*", path.get("d"))])
        for path in picture.iter(f"{SVG}path")
    ]


def pdf_points(pdf):
    """The points of every path on the first page that is as wide as it is drawn, and the height of the page."""
    raw = pypdfium2.raw
    with pypdfium2.PdfDocument(pdf) as document:
        page = document[0]
        found = []
        for path in page.get_objects([raw.FPDF_PAGEOBJ_PATH]):
            points = []
            for index in range(raw.FPDFPath_CountSegments(path)):
                x, y = raw.c_float(), raw.c_float()
                raw.FPDFPathSegment_GetPoint(raw.FPDFPath_GetPathSegment(path, index), x, y)
                matrix = path.get_matrix()
                points.append(matrix.on_point(x.value, y.value))
            found.append(points)
        return found, page.get_height()


def same_outlines(expected, svg, pdf):
    """Read back from both files: every corner of every outline, but for where the picture stands on its page."""
    in_svg = svg_paths(svg)
    assert [what for what, _ in in_svg] == [mark.what for mark in expected]
    in_pdf, height = pdf_points(pdf)
    origin = None
    drawn = [corners_of(numbers) for _, numbers in in_svg]
    for first in range(len(in_pdf) - len(in_svg) + 1):
        some = in_pdf[first : first + len(in_svg)]
        if all(len(points) >= len(corners) for points, corners in zip(some, drawn, strict=True)):
            break
    for corners, points in zip(drawn, in_pdf[first:], strict=False):
        moved = [(x, height - y) for x, y in points[: len(corners)]]
        origin = origin or (moved[0][0] - corners[0][0], moved[0][1] - corners[0][1])
        for (x, y), (other_x, other_y) in zip(corners, moved, strict=True):
            assert (other_x - origin[0], other_y - origin[1]) == pytest.approx((x, y), abs=0.01)


def corners_of(numbers):
    """Pairs of numbers."""
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def rooms(drawing):
    """Where the ink of every line of words is."""
    for mark in drawing.marks:
        if isinstance(mark, Words):
            size = mark.type.size_pt
            right = mark.x + typefaces.width_pt(mark.text, mark.type.face, size)
            yield mark.text, (mark.x, mark.y - 0.74 * size, right, mark.y + 0.22 * size)


def apart(drawing):
    """No words lie on others, or leave the drawing."""
    found = list(rooms(drawing))
    for text, (left, top, right, foot) in found:
        assert left >= -HAIR, text
        assert right <= drawing.width + HAIR, text
        assert top >= -HAIR, text
        assert foot <= drawing.height + HAIR, text
    for (text, one), (other_text, other) in combinations(found, 2):
        across = min(one[2], other[2]) - max(one[0], other[0])
        down = min(one[3], other[3]) - max(one[1], other[1])
        assert across <= HAIR or down <= 0.3, (text, other_text)
