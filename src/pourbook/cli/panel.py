"""Verbs of a panel: orders and codes to serve in, and what tests of tasters prove. They need no book."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import options, share
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.panels.discrimination import Tested

__all__ = ["panel_verb"]

_TESTS = {
    "triangle": "three glasses, two of them alike: which is the odd one?",
    "duo-trio": "a reference and two glasses: which of the two is like the reference?",
    "paired": "two glasses: which has more of something?",
    "three-afc": "three glasses, two of them alike: which one has more of something?",
    "tetrad": "four glasses, two of each: which two belong together?",
}
"""The tests, and what each asks."""


@click.group("panel")
def panel_verb() -> None:
    """Plan and judge tests of tasters.

    \b
    Example:
      pourbook panel orders --products 6 --assessors 12
      pourbook panel triangle --d-prime 1 --power 0.8
      pourbook panel triangle --assessors 30 --correct 16
      pourbook panel rank ranks.csv
      pourbook panel agreement scores.csv --scale 0..100
    """


# -- orders ----------------------------------------------------------------------------


@panel_verb.command("orders", short_help="Orders of serving and blind codes.")
@click.option("--products", type=int, metavar="NUMBER", help="How many are served to everybody.")
@click.option("--test", type=click.Choice(list(_TESTS)), help="Sets of glasses for a test of two products instead.")
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
    codes = draw_codes(len(orders[0]), assessors if own_codes or test else 1, draw, may_return=True)
    door.show(orders_shown(orders, codes, test))


# -- difference and likeness -----------------------------------------------------------

_test_options = options(
    click.option(
        "--assessors", type=int, metavar="NUMBER", help="How many answer, once each; without it: how many must."
    ),
    click.option("--correct", type=int, metavar="NUMBER", help="Right answers; without it: what the test can show."),
    click.option(
        "--alpha", default="5 %", metavar="RISK", help="Of saying so where it is not so: 0.05, or '5 %', the default."
    ),
    click.option("--similarity", is_flag=True, help="Is it shown that they are alike? Default: that they differ."),
    click.option("--pd", metavar="SHARE", help="A difference that so many tell, all others guessing: 0.3, or '30 %'."),
    click.option("--d-prime", metavar="NUMBER", help="A difference by its d'; default, but for --similarity: 1."),
    click.option("--power", metavar="SHARE", help="How often it is to be shown where it is so; default: 0.8."),
    click.option("--two-sided", is_flag=True, help="Either product may have more; of a paired test."),
)
_HELP = """{name}: {asks}

    A difference (--pd or --d-prime) is the one that the power is reckoned for; with --similarity, it is the
    limit within which they count as alike. p-values are exact, limits of d' those of Clopper and Pearson (95 %).
    A test that shows no difference does not show that they are alike.

    \b
    Example:
      pourbook panel {verb} --d-prime 1 --power 0.8
      pourbook panel {verb} --assessors 30
      pourbook panel {verb} --assessors 30 --correct 16 --json
      pourbook panel {verb} --assessors 72 --correct 30 --similarity --pd 0.3
"""


def _test_verb(verb: str) -> click.Command:
    def judge(
        door: Door, assessors: int | None, correct: int | None, power: str | None, **size: Any  # noqa: ANN401 (as click hands them over)
    ) -> None:  # fmt: skip
        from pourbook.documents.panels import judged_shown, needed_shown, planned_shown
        from pourbook.panels.discrimination import judged, needed, planned

        test = _tested(door, verb, **size)
        if assessors is None:
            if correct is not None:
                raise Malformed("it is not said how many assessors answered", "give --assessors NUMBER")
            door.show(
                needed_shown(test, needed(test, share(power or "80 %", "--power", door.style.number)), door.style)
            )
        elif power is not None:
            raise Malformed("the power follows from the number of assessors", "leave --power or --assessors out")
        elif correct is None:
            door.show(planned_shown(test, planned(test, assessors), door.style))
        else:
            door.show(judged_shown(test, judged(test, assessors, correct), door.style))

    name = verb.capitalize().replace("Three-afc", "3-AFC")
    judge.__doc__ = _HELP.format(name=f"{name} test", asks=_TESTS[verb], verb=verb)
    summary = f"{name} test: plan it, or judge it."
    return click.command(verb, short_help=summary)(_test_options(reading(judge)))


def _tested(
    door: Door, method: str, alpha: str, similarity: bool, pd: str | None, d_prime: str | None, two_sided: bool
) -> "Tested":
    from pourbook.panels.discrimination import difference, likeness

    risk = share(alpha, "--alpha", door.style.number)
    size = None if d_prime is None else float(door.style.number(d_prime))
    apart = None if pd is None else share(pd, "--pd", door.style.number)
    if not similarity:
        return difference(
            method, risk, d_prime=1.0 if apart is None and size is None else size, pd=apart, is_two_sided=two_sided
        )
    if two_sided:
        raise Malformed("a test of likeness has one side", "leave --two-sided or --similarity out")
    if apart is None and size is None:
        raise Malformed("it is not said how far apart is still alike", "give --pd, such as 0.3, or --d-prime")
    return likeness(method, risk, d_prime=size, pd=apart)


for _verb in _TESTS:
    panel_verb.add_command(_test_verb(_verb))


@panel_verb.command("repeated", short_help="A test that each assessor answered several times.")
@click.argument("file", metavar="FILE")
@click.option("--test", type=click.Choice(list(_TESTS)), required=True, help="Which test it was.")
@click.option(
    "--alpha", default="5 %", metavar="RISK", help="Of saying so where it is not so: 0.05, or '5 %', the default."
)
@reading
def _repeated(door: Door, file: str, test: str, alpha: str) -> None:
    """Judge a test of difference that each assessor answered several times.

    FILE is a table with the columns assessor, correct and answers (right ones, and all), or - for standard
    input. Answers of one assessor go together; so d' is that of a model in which assessors differ
    (beta-binomial), and its limits are wider than if all answers came from as many persons.

    \b
    Example:
      pourbook panel repeated answers.csv --test tetrad
      pourbook panel repeated answers.csv --test triangle --alpha 0.01 --json
    """
    from pourbook.documents.panels import repeated_shown
    from pourbook.exchange.intake.panel_table import repeated_in
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.panels.discrimination import difference
    from pourbook.panels.repeated_answers import repeated_answers

    asked = difference(test, share(alpha, "--alpha", door.style.number), d_prime=1.0)
    counts = repeated_in(one_table(file, "answers"), door.style.mark)
    door.show(repeated_shown(asked, repeated_answers(test, list(counts.values())), door.style))


# -- ranks and scores --------------------------------------------------------------------


@panel_verb.command("rank", short_help="Do ranked products differ, and which?")
@click.argument("file", metavar="FILE")
@click.option(
    "--expected", metavar="PRODUCTS", help="Order expected before, lowest rank first; default: as in the file."
)
@click.option(
    "--alpha", default="5 %", metavar="RISK", help="Of saying so where it is not so: 0.05, or '5 %', the default."
)
@reading
def _rank(door: Door, file: str, expected: str | None, alpha: str) -> None:
    """Compare products that every assessor put in order: Friedman, all pairs, and Page for an expected order.

    FILE is a table with the columns assessor, product and rank (1 is first; products in one place share it), or
    - for standard input. Every assessor ranks every product once.

    \b
    Example:
      pourbook panel rank ranks.csv
      pourbook panel rank ranks.csv --expected "light, middle, heavy" --json
    """
    from pourbook.documents.rankings import ranking_shown
    from pourbook.exchange.intake.panel_table import ranks_in
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.panels.ranking import page, ranking

    products, ranks = ranks_in(one_table(file, "ranks"), door.style.mark)
    found = ranking(products, list(ranks.values()), share(alpha, "--alpha", door.style.number))
    order = products if expected is None else [name.strip() for name in expected.split(",")]
    follows = page(products, found.ranks, order)
    door.show(ranking_shown(found, follows, door.style, is_order_of_file=expected is None))


@panel_verb.command("agreement", short_help="How far assessors agree, and how each scores.")
@click.argument("file", metavar="FILE")
@click.option(
    "--scale", metavar="LOW..HIGH", help="The scale of the scores; default: from the lowest to the highest given."
)
@reading
def _agreement(door: Door, file: str, scale: str | None) -> None:
    """Show how far assessors agree, how well each says the same again, and how each uses the scale.

    FILE is a table with the columns assessor, product and score, or - for standard input. A product that an
    assessor scored again, hidden, has a row for each time.

    \b
    Example:
      pourbook panel agreement scores.csv
      pourbook panel agreement scores.csv --scale 0..100 --json
    """
    from pourbook.documents.rankings import agreement_shown
    from pourbook.exchange.intake.panel_table import scores_in
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.panels.agreement import agreement

    found = agreement(scores_in(one_table(file, "scores"), door.style.mark), _bounds(door, scale))
    door.show(agreement_shown(found, door.style))


def _bounds(door: Door, text: str | None) -> tuple[float, float] | None:
    if text is None:
        return None
    low, dots, high = text.partition("..")
    if not dots:
        raise Malformed(f"'{text}' is no scale", "write its lowest and its highest score: 0..100")
    return float(door.style.number(low)), float(door.style.number(high))
