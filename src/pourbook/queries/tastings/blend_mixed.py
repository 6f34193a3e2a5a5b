"""What parts of what stands on the table would make, before a guest's blend is composed; nothing is recorded."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.mixing import mix
from pourbook.alcoholometry.volumes import strength_20c
from pourbook.bench.bounds import Stands, stands
from pourbook.bench.house_rules import Broken
from pourbook.bench.trials import WATER, laid_out
from pourbook.queries.tastings.blending_card import OnTable, Table
from pourbook.queries.traces.behind import Part
from pourbook.queries.trials.bounds_kept import bounded_by
from pourbook.queries.trials.rules_kept import rules_of_parts

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Mixed", "PartMixed", "mixed"]


class PartMixed(NamedTuple):
    """A component in the mix.

    Attributes:
        on_table: the component.
        parts: of the whole.
        fraction: of the whole, 0 to 1, by volume as poured.
        volume_ml: to pour.
        stands: where that is of its bounds.
    """

    on_table: OnTable
    parts: int
    fraction: float
    volume_ml: float
    stands: Stands


class Mixed(NamedTuple):
    """What parts make.

    Attributes:
        rows: by component, as they stand on the table.
        whole: sum of the parts.
        strength_20c: % vol at 20 °C; None where nothing is in it.
        broken: rules of the house that it breaks.
    """

    rows: tuple[PartMixed, ...]
    whole: int
    strength_20c: float | None
    broken: tuple[Broken, ...]

    @property
    def is_within(self) -> bool:
        """Whether every part is within its bounds."""
        return bool(self.whole) and all(row.stands == "within" for row in self.rows)


def mixed(book: "BookCore", table: Table, parts: Mapping[str, int]) -> Mixed:
    """What so many parts of each component make; a component that is not named has none."""
    whole = sum(parts.get(one.part.component, 0) for one in table.components)
    rows = tuple(_row(one, parts.get(one.part.component, 0), whole, table.total_ml) for one in table.components)
    poured = [(row.on_table.part.component, str(row.parts)) for row in rows if row.parts]
    if not poured:
        return Mixed(rows, 0, None, ())
    holds = {one.part.component: one.liquid for one in table.components if one.part.component != WATER}
    liquids = [pour.liquid for pour in laid_out(poured, table.total_ml, holds)]
    recipe = tuple(one.part for one in table.components)
    bounded = bounded_by(recipe, book.settings["decimal_mark"], water_is_computed=False)
    names = ((row.on_table.part.component, row.volume_ml) for row in rows if row.parts)
    of_rows = [Part(name, name, ml) for name, ml in names]
    return Mixed(rows, whole, strength_20c(mix(liquids)), rules_of_parts(book, bounded, of_rows))


def _row(one: OnTable, parts: int, whole: int, total_ml: float) -> PartMixed:
    fraction = parts / whole if whole else 0.0
    where = stands(fraction, float(one.bounds.low), float(one.bounds.high))
    return PartMixed(one, parts, fraction, fraction * total_ml, where)
