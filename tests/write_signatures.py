"""Write the signatures of `Book` for type checkers from the tables of `whole_book.py`; a test holds them up to date.

PYTHONPATH=src python tests/write_signatures.py
"""

import re
from pathlib import Path

from pourbook import whole_book

FILE = Path(whole_book.__file__).with_name("signatures.py")
IMPORTS = re.compile(r"(?<=^if TYPE_CHECKING:\n)(?:    import pourbook\..*\n)*", re.MULTILINE)
SIGNATURES = re.compile(r"(?<=^    if TYPE_CHECKING:\n)(?:        \w+ = pourbook\..*\n)*", re.MULTILINE)


def up_to_date(text):
    """The module with an import for each module of its tables, and a line for each name."""
    where = {
        name: f"pourbook.{room}.{module}"
        for room, table in (("actions", whole_book.ACTIONS), ("queries", whole_book.QUERIES))
        for module, names in table.items()
        for name in names
    }
    imports = "".join(f"    import {module}\n" for module in sorted(set(where.values())))
    signatures = "".join(f"        {name} = {module}.{name}\n" for name, module in sorted(where.items()))
    return SIGNATURES.sub(signatures, IMPORTS.sub(imports, text))


if __name__ == "__main__":
    FILE.write_text(up_to_date(FILE.read_text("utf-8")), "utf-8")
