"""Plots of models: the same bytes again, no date, words and figures that can be found."""

import subprocess
import sys
from itertools import pairwise
from xml.etree import ElementTree as ET

import pypdfium2
import pytest
from command import here
from tasted import FOLDER

ASKED = ("mixture", "fit", FOLDER / "yarn.csv", "--response", "y", "--model", "quadratic")
REGION = ("mixture", "fit", FOLDER / "four_component_region.csv", "--response", "y")


@pytest.mark.parametrize("suffix", ["svg", "pdf", "png"])
@pytest.mark.parametrize("kind", ["traces", "contours"])
def test_the_same_glasses_make_the_same_bytes(tmp_path, kind, suffix):
    """In another process, with another order of sets: nothing of the day or the machine goes in."""
    first, second = tmp_path / f"first.{suffix}", tmp_path / f"second.{suffix}"
    here(*ASKED, f"--{kind}", first).done()
    code = f"import sys; sys.argv = {['pourbook', *map(str, ASKED), f'--{kind}', str(second)]!r}\n"
    subprocess.run(
        [sys.executable, "-c", f"{code}from pourbook.cli.main import run\nrun()"], check=True, capture_output=True,
        env={"PYTHONHASHSEED": "7", "PYTHONPATH": ":".join(sys.path), "HOME": str(tmp_path)},
    )  # fmt: skip
    assert first.read_bytes() == second.read_bytes()


def test_a_pdf_says_what_it_shows(tmp_path):
    """Words are text in our own typefaces, and can be searched."""
    here(*REGION, "--model", "quadratic", "--contours", tmp_path / "c.pdf", "--over", "x1,x2,x3").done()
    with pypdfium2.PdfDocument(tmp_path / "c.pdf") as pdf:
        said = pdf[0].get_textpage().get_text_bounded()
    assert "x1 75 %" in said
    assert "held: x4 5.5 %" in said
    assert b"SourceSans3" in (tmp_path / "c.pdf").read_bytes()
    assert b"CreationDate" not in (tmp_path / "c.pdf").read_bytes()


def test_figures_on_an_axis_are_evenly_apart(tmp_path):
    """A step of a quarter, written to the tenth, would not be."""
    path = tmp_path / "flight.csv"
    path.write_text("ash,birch,pear\n1,0,2\n0,1,3.1\n1,1,2.4\n1,2,2.9\n2,1,2.2\n", "utf-8")
    here("mixture", "fit", path, "--response", "pear", "--traces", tmp_path / "t.pdf").done()
    with pypdfium2.PdfDocument(tmp_path / "t.pdf") as pdf:
        said = pdf[0].get_textpage().get_text_bounded().splitlines()
    ticks = [float(line) for line in said if "." in line]
    assert len(ticks) > 3
    assert len({round(after - before, 6) for before, after in pairwise(ticks)}) == 1


def test_an_svg_is_whole_by_itself(tmp_path):
    """Letters are outlines; it says no date."""
    here(*ASKED, "--traces", tmp_path / "t.svg").done()
    text = (tmp_path / "t.svg").read_text("utf-8")
    ET.fromstring(text)
    assert "<text" not in text
    assert "dc:date" not in text


def test_a_name_with_any_character_is_set(tmp_path):
    """What no typeface has is a square; a dollar begins no formula."""
    path = tmp_path / "flight.csv"
    path.write_text("ash,酒$a$,pear\n1,0,2\n0,1,4\n1,1,6\n1,2,5\n2,1,4\n", "utf-8")
    ran = here("mixture", "fit", path, "--response", "pear", "--traces", tmp_path / "t.pdf").done()
    assert ran.err == f"written: {tmp_path / 't.pdf'}\n"
    with pypdfium2.PdfDocument(tmp_path / "t.pdf") as pdf:
        assert "□$a$" in pdf[0].get_textpage().get_text_bounded()


def test_glasses_too_few_to_judge_are_drawn_without_a_band(tmp_path):
    """The curve passes through them; nothing is known of its doubt."""
    path = tmp_path / "flight.csv"
    path.write_text("a,b,c,pear\n1,0,0,2\n0,1,0,4\n0,0,1,6\n", "utf-8")
    files = tmp_path / "t.svg", tmp_path / "c.svg"
    here("mixture", "fit", path, "--response", "pear", "--traces", files[0], "--contours", files[1]).done()
    assert all(file.stat().st_size > 1000 for file in files)


REFUSED = [
    ("a form that is none", ("--traces", "t.gif"), "'t.gif' is not a picture known here"),
    ("three of four", ("--contours", "c.svg"), "'x1,x2,x3,x4' are not three components"),
    ("one twice", ("--contours", "c.svg", "--over", "x1,x2,x2"), "are not three components"),
    ("one that is none", ("--contours", "c.svg", "--over", "x1,x2,oak"), "choose from: x1, x2, x3, x4"),
]


@pytest.mark.parametrize(("options", "said"), [pytest.param(*rest, id=name) for name, *rest in REFUSED])
def test_what_cannot_be_drawn(tmp_path, monkeypatch, options, said):
    """Refused before anything is written."""
    monkeypatch.chdir(tmp_path)
    ran = here(*REGION, *options)
    assert ran.status == 1
    assert said in ran.err
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_there_stays(tmp_path):
    """Unless --force says otherwise."""
    (tmp_path / "t.svg").write_text("mine")
    assert "already exists" in here(*ASKED, "--traces", tmp_path / "t.svg").err
    here(*ASKED, "--traces", tmp_path / "t.svg", "--force").done()
    assert (tmp_path / "t.svg").read_text("utf-8") != "mine"
