"""Make the dossiers of lots from 1, 12 and 60 casks in a folder, in every form, and a picture of each page to look at.

python tests/pictures/dossiers.py FOLDER [CASKS …]
"""

import sys
from pathlib import Path

import pypdfium2

sys.path.insert(0, str(Path(__file__).parents[1]))

from recorded_lot import recorded_lot

from pourbook.actions.happening import Happening
from pourbook.actions.print_paper import Output
from pourbook.paperwork.flow_of import flow_picture

SCALE = 2.0
"""Dots to the point."""


def main(folder: Path, numbers: list[int]) -> None:
    """Print and picture the dossier of a lot from each number of casks."""
    folder.mkdir(parents=True, exist_ok=True)
    for casks in numbers:
        with recorded_lot(casks) as house:
            book, lot = house.book, house.id("L1")
            paths = tuple(folder / f"dossier-{casks}.{form}" for form in ("pdf", "html", "json"))
            printed = book.print_dossier(Happening("Maud Aldane"), lot, Output(paths, force=True))
            picture = flow_picture(book, book.trace_back(lot), as_pdf=False)
            (folder / f"flow-{casks}.svg").write_bytes(picture)
        print(f"{casks} casks: {pages(paths[0], folder)} pages", *printed.warnings)


def pages(pdf: Path, folder: Path) -> int:
    """Picture every page; how many there are."""
    with pypdfium2.PdfDocument(pdf) as document:
        for number, page in enumerate(document, start=1):
            page.render(scale=SCALE).to_pil().save(folder / f"{pdf.stem}-page-{number:02d}.png")
        return len(document)


if __name__ == "__main__":
    main(Path(sys.argv[1]), [int(number) for number in sys.argv[2:]] or [1, 12, 60])
