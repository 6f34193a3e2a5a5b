"""A house's whole history from two tables: what there is (`items`), and what was poured (`pours`).

| items      | a row is an item                        | pours         | a row is a pour                         |
|------------|-----------------------------------------|---------------|-----------------------------------------|
| ref        | the house's own name                    | source        | a ref or identifier; origin, water,     |
| kind       | cask, vial, trial, batch, lot …         |               | additive, return                        |
| made       | when; else its first pour               | target        | a ref or identifier; loss, despatch;    |
| name       | and wood, capacity_l, spirit, place,    |               | gauge, where the row is a measurement   |
|            | note; previous, owner, tare_kg          | quantity      | how much, or `all`                      |
|            |                                         | unit          | ml, l, gal; g, kg, lb; kg air: a weighing |
|            |                                         | strength      | from an origin; else read just before   |
|            |                                         | temperature_c | of a volume; 20 °C when blank           |
|            |                                         | happened      | a time; without an offset, house time   |
|            |                                         | by, reason    | who, and why                            |

Rows may stand in any order; equal times, and rows with a day alone, keep that of the file. Further
columns of pours may be there: spirit, distiller, distilled, wood_days (time in wood earned before;
without the column an origin is new spirit, a blank is unknown), disposition, document, customer,
cost; received (what arrived, in the unit of the row); ethanol_mg and extract_mg (the composition of
the amount, instead of a strength). Figures are working figures; the legal gauge follows the local
authority and licensed practice.

>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> from pourbook import Book
>>> with TemporaryDirectory() as folder, Book.create(":memory:", house="Quillmere") as book:
...     _ = Path(folder, "items.csv").write_text("ref,kind\\nrow 1,cask\\nsample,vial\\n")
...     _ = Path(folder, "pours.csv").write_text(
...         "source,target,quantity,unit,strength,happened,by\\n"
...         "origin,row 1,200,l,63.5,2015-03-01,M. Aldane\\n"
...         "row 1,sample,100,ml,,2024-07-01 09:30,M. Aldane\\n"
...     )
...     import_history(book, folder)[:3]
(2, 2, 5)
"""

import json
from collections.abc import Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from pourbook.book.entries import SOURCES, TARGETS, Draft, Gauge, Imported, Item, Move, Pour
from pourbook.book.reading import facts as facts_of
from pourbook.errors import Fault, InTheWay, NotThere, OutOfRange, PeriodClosed, PourbookError, Unknown
from pourbook.exchange.columns import Cells, Faults, Readers
from pourbook.exchange.intake import Progress, TakenIn, record_all, refuse_known
from pourbook.exchange.staging import StagedPour, Staging
from pourbook.exchange.tables import Columns, Source, digests, read_table, tables_in
from pourbook.identifiers import KINDS, hyphened, is_issued, key_of, kind_of, refuse_as_ref, write
from pourbook.liquid import Liquid
from pourbook.quantities import Amount
from pourbook.times import DAY_US, is_date_only

if TYPE_CHECKING:
    from pourbook.book.book import Book

__all__ = ["import_history"]

_VERBS = {
    ("cask", "cask"): "rack",
    ("cask", "batch"): "dump",
    ("batch", "batch"): "heel",
    ("batch", "cask"): "fill",
}
_VERB_OF_SOURCE = {"origin": "fill", "water": "reduce", "return": "return"}
_VERB_OF_TARGET = {"loss": "dispose", "despatch": "despatch", "vial": "draw", "lot": "bottle"}
_HINTS = 200
