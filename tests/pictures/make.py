"""Make the README's picture from a fresh demo: a label, the bench sheet, the dossier, a trace.

    python tests/pictures/make.py

Everything shown is what the demo printed; nothing is drawn by hand.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

import pypdfium2
from PIL import Image, ImageDraw, ImageFont

HERE = Path(__file__).parent
FONT = HERE.parents[1] / "src" / "pourbook" / "fonts" / "DejaVuSansMono.ttf"
PAPER, INK, GROUND, SCREEN = "white", "#1d1d1f", "#e9e4da", "#16191d"


def page(path: Path, number: int, width: int) -> Image.Image:
    """A page of a PDF at a width in pixels."""
    document = pypdfium2.PdfDocument(path)
    sheet = document[number]
    scale = width / sheet.get_width()
    image: Image.Image = sheet.render(scale=scale * 2).to_pil().convert("RGB")
    document.close()
    return image.resize((width, round(image.height * width / image.width)), Image.Resampling.LANCZOS)


def terminal(lines: list[str], width: int) -> Image.Image:
    """Lines as a terminal shows them."""
    size = 15
    font = ImageFont.truetype(str(FONT), size)
    step = round(size * 1.36)
    image = Image.new("RGB", (width, step * len(lines) + 36), SCREEN)
    draw = ImageDraw.Draw(image)
    for number, line in enumerate(lines):
        colour = "#9fd3a8" if line.startswith("$") else "#e8e6e1"
        draw.text((20, 18 + number * step), line, font=font, fill=colour)
    return image


def framed(image: Image.Image) -> Image.Image:
    """With a hairline, so that white paper stands off."""
    box = Image.new("RGB", (image.width + 2, image.height + 2), "#b9b2a4")
    box.paste(image, (1, 1))
    return box


def main() -> None:
    """One picture, kept beside this script."""
    with tempfile.TemporaryDirectory() as folder:
        run = [sys.executable, "-m", "pourbook"]
        told = subprocess.run([*run, "demo"], cwd=folder, capture_output=True, text=True, check=True).stdout
        lot = next(line.split()[-2] for line in told.splitlines() if line.startswith("Go on with"))
        house = Path(folder, "quillmere")
        trace = subprocess.run(
            [*run, "--book", str(house / "quillmere.pourbook"), "trace", lot],
            capture_output=True, text=True, check=True,
        ).stdout.splitlines()  # fmt: skip
        papers = [page(house / "bench-sheet.pdf", 0, 620), page(house / "dossier.pdf", 0, 620)]
        labels = [page(house / "vial-labels.pdf", 0, 420), page(house / "carton-label.pdf", 0, 420)]
    screen = terminal([f"$ pourbook trace {lot}", *trace], 830)
    height = max(paper.height for paper in papers) + 60
    labels_height = sum(label.height + 22 for label in labels)
    height = max(height, screen.height + 60, labels_height)
    whole = Image.new("RGB", (30 + 830 + 24 + 622 + 24 + 622 + 30, height + 30 + labels[1].height + 24), GROUND)
    whole.paste(framed(screen), (30, 30))
    whole.paste(framed(papers[0]), (884, 30))
    whole.paste(framed(papers[1]), (1530, 30))
    below = 30 + max(screen.height, *(paper.height for paper in papers)) + 24
    whole.paste(framed(labels[0]), (30, below))
    whole.paste(framed(labels[1]), (480, below))
    whole = whole.crop((0, 0, whole.width, below + max(label.height for label in labels) + 30))
    whole.save(HERE / "first-screen.png", optimize=True)


if __name__ == "__main__":
    main()
