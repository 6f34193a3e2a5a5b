"""Verbs of approval: what speaks for and against it, and the decision."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import AT, FORCE, PAPER, item_argument, second_options
from pourbook.cli.statements import CLAIMS, RULES
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.actions.approving import Wished

__all__ = ["approval_verb", "approve_verb"]

_BESIDE = click.option("--beside", metavar="ITEM", default="", help="A batch, lot or trial that it is to be like.")


def _wished(door: Door, beside: str, claims: tuple[str, ...], rules: str) -> "Wished":
    from pourbook.actions.approving import Wished
    from pourbook.queries.labels.statements_of import claims_typed

    return Wished(beside, claims_typed(door.style, "; ".join(claims)), rules)


@click.command("approval")
@item_argument("item")
@_BESIDE
@CLAIMS
@RULES
@AT
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print it as PDF, to be signed.")
@PAPER
@FORCE
@recording
def approval_verb(
    door: Door, item: str, beside: str, claims: tuple[str, ...], rules: str, at: str | None, output: Path | None,
    paper: str | None, *, force: bool,
) -> None:  # fmt: skip
    """Show what speaks for and against approving a batch or a lot, and how its approval stands.

    Beside the trial that it follows, and a reference: parts with their bounds, strength, age, what
    tasters found, tests of the two with their power, holds, strengths pending, rules of the house, and
    what the label is to say. Each is met, not met or unknown. Nothing is decided by it.

    \b
    Example:
      pourbook approval "Vatting 3"
      pourbook approval "Vatting 3" --beside "Vatting 2" --claim "age 12" -o approval.pdf
    """
    from pourbook.documents.approvals import approval_shown

    at_us = door.style.as_of(at)
    wished = _wished(door, beside, claims, rules)
    if output is None:
        case, stands = door.book.approval(item, *wished, at_us), door.book.approved(item, at_us)
        door.show(approval_shown(case, stands, door.style))
        return
    if at is not None:
        raise Malformed("a sheet to be signed is of now", "leave --at out, or -o")
    from pourbook.actions.print_paper import Output

    told = door.book.print_approval(door.how, item, wished, Output((output,), None, paper or "", force))
    door.show(approval_shown(told[0], told[1], door.style, told[2]))


@click.command("approve")
@item_argument("item")
@_BESIDE
@CLAIMS
@RULES
@click.option("--reject", is_flag=True, help="Reject it, with --reason.")
@second_options
@recording
def approve_verb(
    door: Door, item: str, beside: str, claims: tuple[str, ...], rules: str, *, reject: bool
) -> None:  # fmt: skip
    """Approve a batch or a lot, or reject it: with all that speaks for and against it kept as it is now.

    By --who. Asked where something is not met, or where that person poured it; refused on hold. A lot has
    the approval of the batch it was bottled from, unless it has one of its own. What is poured in
    afterwards ends it. Whether despatches wait for it is a setting (approval).

    \b
    Example:
      pourbook approve "Vatting 3" --who "Pankracy Wiżbor"
      pourbook approve "Vatting 3" --reject --reason "bitter; rest another month" --who "Pankracy Wiżbor"
      pourbook settings --set approval=needed --set pourer_approves=no
    """
    from pourbook.documents.approvals import decided_shown

    decide = door.book.reject if reject else door.book.approve
    door.show(decided_shown(decide(door.how, item, _wished(door, beside, claims, rules)), door.style))
