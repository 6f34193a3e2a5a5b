"""Where the label templates and the sample data are found, installed or not.

Both live once, at the top of the source tree. In an installed wheel they lie inside the
package; in a source tree or an editable install they lie beside `src`.

>>> shipped("label_templates").is_dir()
True
"""

from pathlib import Path

from pourbook.errors import StoreError

__all__ = ["shipped"]

_PACKAGE = Path(__file__).resolve().parent


def shipped(name: str) -> Path:
    """The folder `name` that came with pourbook: 'label_templates' or 'sample_data'.

    Raises:
        StoreError: the folder is in neither place, so the installation is not whole.
    """
    places = (_PACKAGE / "_shipped" / name, _PACKAGE.parents[1] / name)
    for place in places:
        if place.is_dir():
            return place
    raise StoreError(
        f"the folder '{name}' is missing from this installation; looked in {' and '.join(map(str, places))}",
        "install pourbook again",
    )
