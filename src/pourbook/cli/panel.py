"""Verbs of a panel: orders and codes to serve in, and what tests of tasters prove. They need no book."""

import click

from pourbook.cli.door import Door, reading

__all__ = ["panel_verb"]

_TESTS = ("triangle", "duo-trio", "paired", "three-afc", "tetrad")


@click.group("panel")
def panel_verb() -> None:
    """Plan and judge tests of tasters.

    \b
    Example:
      pourbook panel orders --products 6 --assessors 12
    """


@panel_verb.command("orders", short_help="Orders of serving and blind codes.")
@click.option("--products", type=int, metavar="NUMBER", help="How many are served to everybody.")
@click.option("--test", type=click.Choice(_TESTS), help="Sets of glasses for a test of two products instead.")
@click.option("--assessors", type=int, required=True, metavar="NUMBER", help="How many taste.")
@click.option("--own-codes", is_flag=True, help="Codes of their own for each assessor; default: one set for all.")
@click.option("--seed", type=int, metavar="NUMBER", help="Draw the same again; default: drawn afresh.")
@reading
def _orders(
    door: Door, products: int | None, test: str | None, assessors: int, own_codes: bool, seed: int | None
) -> None:  # fmt: skip
    """Draw orders balanced for place and carry-over, and three-digit codes.

    Each product stands equally often in each place, and comes equally often directly after each other one
    (Williams squares), as nearly as the number of assessors lets it; the answer says how nearly. With --test,
    every glass has a code of its own, and the reference of a duo-trio is R.

    The answer is the key: keep it from whoever tastes.

    \b
    Example:
      pourbook panel orders --products 6 --assessors 12
      pourbook panel orders --products 5 --assessors 10 --own-codes --json
      pourbook panel orders --test triangle --assessors 18
    """
    import random

    from pourbook.documents.panels import orders_shown
    from pourbook.errors import Malformed
    from pourbook.panels.orders import draw_codes, serving_orders, set_orders

    chance = random.SystemRandom() if seed is None else random.Random(seed)  # noqa: S311 (that of a seed is known)
    draw = chance.randrange
    if test is not None and products is not None:
        raise Malformed("a test is of two products", "give --products or --test")
    if test is not None:
        orders = set_orders(test, assessors, draw)
    elif products is not None:
        orders = serving_orders(products, assessors, draw)
    else:
        raise Malformed("it is not said how many products are served", "give --products NUMBER, or --test")
    codes = draw_codes(len(orders[0]), assessors if own_codes or test else 1, draw)
    door.show(orders_shown(orders, codes, test))
