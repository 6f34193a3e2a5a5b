"""Labels as a reader meets them: printed with faults, and then seen tilted, out of focus, in bad light, on glass.

    seen = photograph(spoilt("5 % specks", dots, rng), dpi, "tilt ±30°", rng)

All of it is simulated: no printer, paper, glare or hand was used. The conditions are those of the
trial by which the symbols of the templates were chosen.
"""

import numpy as np
from PIL import Image, ImageFilter

PRINTED = ("dead dot", "5 % specks")
"""Faults of the print, dot by dot."""

SEEN = ("clean", "tilt ±30°", "blur 0.1 mm", "low contrast", "12 mm vial")
"""How a sound print is met."""

CONDITIONS = (*SEEN[:3], SEEN[3], *PRINTED, SEEN[4])

PX_PER_MM = 16
_WHITE = 255
_TILT_DEGREES = 30
_BLUR_MM = 0.1
_VIAL_MM = 12
_OFF_AXIS_DEGREES = 15  # a vial is turned until its symbol faces the reader, more or less
_SPECKS = 0.05
_GREY = (95, 150)  # ink and paper in bad light
_SHADE = 25
_NOISE = 4.0


def spoilt(condition, dots, rng):
    """A picture of printed dots with a fault of the print; unchanged when it is none."""
    dots = dots.copy()
    if condition == "dead dot":  # an element of the head that no longer prints: a white line along the feed
        inked = np.flatnonzero((dots < 128).any(axis=0))
        dots[:, rng.choice(inked)] = _WHITE
    elif condition == "5 % specks":
        specks = rng.random(dots.shape) < _SPECKS
        dots[specks] = _WHITE - dots[specks]
    return dots


def photograph(dots, dpi, condition, rng):
    """A picture of 16 pixels to the millimetre, as a camera near the label takes it, a little noisy."""
    scale = PX_PER_MM * 25.4 / dpi
    framed = Image.fromarray(np.pad(dots, round(1.5 * dpi / 25.4), constant_values=_WHITE))
    across = round(framed.width * scale + rng.random()), round(framed.height * scale + rng.random())
    picture = framed.resize(across, Image.Resampling.BOX if scale < 1 else Image.Resampling.BICUBIC)
    if condition == "12 mm vial":
        picture = wound(picture, _VIAL_MM, rng.uniform(-_OFF_AXIS_DEGREES, _OFF_AXIS_DEGREES))
    tilt = _TILT_DEGREES if condition == "tilt ±30°" else 3
    picture = picture.rotate(rng.uniform(-tilt, tilt), Image.Resampling.BICUBIC, expand=True, fillcolor=_WHITE)
    blur_mm = _BLUR_MM if condition == "blur 0.1 mm" else 0.03
    seen = np.asarray(picture.filter(ImageFilter.GaussianBlur(blur_mm * PX_PER_MM)), dtype=float)
    if condition == "low contrast":
        ink, paper = _GREY
        seen = ink + seen * (paper - ink) / _WHITE + np.linspace(-_SHADE, _SHADE, seen.shape[1])
    seen = seen + rng.normal(0, _NOISE, seen.shape)
    return np.ascontiguousarray(np.clip(seen, 0, 255).astype(np.uint8))


def wound(picture, diameter_mm, off_axis_degrees=0.0):
    """Seen on a cylinder whose axis lies across the picture: distances shrink towards its edges."""
    pixels, radius = np.asarray(picture), diameter_mm * PX_PER_MM / 2
    seen = np.arange(-int(radius * 0.95), int(radius * 0.95))
    around = radius * (np.arcsin(seen / radius) + np.radians(off_axis_degrees))
    lines = np.round(pixels.shape[0] / 2 + around).astype(int)
    return Image.fromarray(pixels[lines[(lines >= 0) & (lines < pixels.shape[0])]])
