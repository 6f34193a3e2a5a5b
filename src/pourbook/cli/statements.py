"""The verb of what may stand on a label: statements."""

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import AT, item_argument

__all__ = ["CLAIMS", "RULES", "statements_verb"]

RULES = click.option(
    "--rules", metavar="RULES", default="", help="eu, us, uk, or rules of the house; default: its own."
)
CLAIMS = click.option(
    "--claim", "claims", multiple=True, metavar="TEXT", help="What the label is to say: 'age 12'; may be repeated."
)


@click.command("statements")
@item_argument("item")
@RULES
@click.option("--strength", metavar="STRENGTH", help="On the label; that of a lot is known.")
@click.option("--size", metavar="VOLUME", help="Of a bottle; that of a lot is known.")
@CLAIMS
@AT
@reading
def statements_verb(
    door: Door, item: str, rules: str, strength: str | None, size: str | None, claims: tuple[str, ...], at: str | None
) -> None:  # fmt: skip
    """Show what may stand on the label of a batch or a lot: allowed, not allowed, or what cannot be said, and why.

    Strength, age, vintage, single cask, finish, colouring, net contents and so on, each as a computed
    fact with what it rests on and its rule. What the label is to say comes first: facts of ITEM say so
    (claims, labelled_strength, size_ml), and --claim. Rules that nobody read in their source are marked
    UNVERIFIED. Check with your authority.

    \b
    Example:
      pourbook statements L-000001-C
      pourbook statements "Vatting 3" --rules uk --strength 46 --size "700 ml" --claim "age 12" --claim "single cask"
      pourbook settings --set label.harbour.based_on=eu --set label.harbour.strength.tolerance_vol=0.2
      pourbook statements L-000001-C --rules harbour --json
    """
    from pourbook.documents.statements import statements_shown
    from pourbook.queries.labels.statements_of import claims_typed

    told = claims_typed(door.style, "; ".join(claims), strength or "", size or "")
    door.show(statements_shown(door.book.statements_of(item, told, rules, door.style.as_of(at)), door.style))
