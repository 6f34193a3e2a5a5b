"""Vial labels as readers meet them: few pictures here, many in tests/benchmarks/decode_rates.py."""

import numpy as np
import pytest
import zxingcpp
from photographs import photograph, spoilt

from pourbook.labels import labels_pdf
from pourbook.labels.raster import pictures
from pourbook.labels.templates import template, templates

VIALS = [shipped.name for shipped in templates() if shipped.kinds == ("vial",)]
PICTURES = 20


def read(picture):
    """The texts in a picture."""
    return {code.text for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.DataMatrix)}


@pytest.mark.parametrize("name", VIALS)
@pytest.mark.parametrize("condition", ["clean", "tilt ±30°", "blur 0.1 mm"])
def test_vial_labels_read_at_300_dpi(made, name, condition):
    """None of twenty fails, each with another identifier and another hand; the whole label is in the picture."""
    rng = np.random.default_rng(7)
    shipped = template(name)
    labels = [made("vial", int(number)) for number in rng.integers(1, 900_000, PICTURES)]
    seen = pictures(labels_pdf(labels, shipped, 300), 300)
    missed = [
        label.id
        for label, page in zip(labels, seen, strict=True)
        if read(photograph(np.asarray(page), 300, condition, rng)) != {label.code}
    ]
    assert missed == []


def test_the_conditions_are_earnest(made):
    """Twenty times as many specks leave nothing to read; a dead dot and bad light change the picture."""
    rng = np.random.default_rng(7)
    page = np.asarray(next(pictures(labels_pdf([made("vial")], template(VIALS[-1]), 300), 300)))
    sound = photograph(page, 300, "clean", np.random.default_rng(1))
    grey = photograph(page, 300, "low contrast", np.random.default_rng(1))
    assert np.ptp(grey) < 0.6 * np.ptp(sound)
    assert (spoilt("dead dot", page, rng) != page).any(axis=0).sum() == 1
    specks = spoilt("5 % specks", page, rng)
    assert (specks != page).mean() == pytest.approx(0.05, abs=0.005)
    for _ in range(20):
        specks = spoilt("5 % specks", specks, rng)
    assert read(photograph(specks, 300, "clean", rng)) == set()
