"""Bottling: bottles counted, liquid by mass.

>>> from pourbook.liquid import Liquid
>>> batch = Liquid(500_000_000, 190_000_000)
>>> bottled(batch, 700, 700.0).mass_mg
460183500
"""

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.bench.trials import liquid_of_volume
from pourbook.errors import Malformed, NotThere
from pourbook.liquid import Liquid
from pourbook.numerals import counted

__all__ = ["bottled"]


def bottled(batch: Liquid, count: int, size_ml: float) -> Liquid:
    """What `count` bottles hold, filled to their nominal content at 20 °C.

    Raises:
        Malformed: no bottles, or a size of zero.
        NotThere: the batch holds less.
    """
    if count < 1 or size_ml <= 0:
        raise Malformed(f"cannot fill {count} bottles of {size_ml:g} ml", "give --count and --size above zero")
    if not batch.mass_mg:
        raise NotThere("the batch is empty", "check the identifier")
    needed, held = count * size_ml, volume_ml(batch)
    # Within the book's own tolerance the pour itself decides; far beyond it the count is wrong.
    if needed > held * 1.005:
        are = "is" if count == 1 else "are"
        raise NotThere(
            f"{counted(count, 'bottle')} of {size_ml:g} ml {are} {needed / 1000:.1f} l;"
            f" the batch holds {held / 1000:.1f} l",
            "check count and size, or gauge the batch; a wrong count is voided: pourbook void",
        )
    return batch.scaled(liquid_of_volume(size_ml, batch).mass_mg * count)
