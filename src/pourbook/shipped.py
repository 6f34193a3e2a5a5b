"""Where the label templates and the sample data are found: in an installed wheel inside the package, else beside `src`.

>>> shipped("label_templates").is_dir()
True
"""

from pathlib import Path

from pourbook.errors import StoreError

__all__ = ["shipped"]

_PACKAGE = Path(__file__).resolve().parent


def shipped(name: str) -> Path:
    """The folder 'label_templates' or 'sample_data'; `StoreError` where the installation lacks it."""
    places = (_PACKAGE / "_shipped" / name, _PACKAGE.parents[1] / name)
    for place in places:
        if place.is_dir():
            return place
    searched = " and ".join(map(str, places))
    raise StoreError(f"this installation lacks the folder '{name}'; searched {searched}", "install pourbook again")
