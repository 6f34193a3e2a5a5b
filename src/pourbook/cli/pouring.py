"""Pours into one item: what is recorded, what is said of it, and how it stands beside the plan."""

from functools import cached_property
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed
from pourbook.words.figure_words import in_litres, named

if TYPE_CHECKING:
    from pourbook.book.entries import Move
    from pourbook.quantities import Amount, Strength
    from pourbook.queries.trials.targets import Plan, Target

__all__ = ["OUTSIDE", "Pouring"]

OUTSIDE = ("water", "additive", "origin")
"""Words for sources that are no items."""


class Pouring:
    """Pours into one target.

    Attributes:
        door: the book and the options of the verb.
        target: identifier of the item poured into.
        temperature_c: of every volume.
    """

    def __init__(
        self,
        door: Door,
        target: str,
        *,
        strength: "Strength | None",
        temperature_c: float,
        received: "Amount | None",
        facts: dict[str, str],
        redistilled: bool = False,
    ) -> None:
        self.door = door
        self.target = target
        self.temperature_c = temperature_c
        self._strength = strength
        self._received = received
        self._about = facts
        self._redistilled = redistilled

    # -- pours -----------------------------------------------------------------------------

    def all_at_once(self, pours: list[tuple[str, str]]) -> None:
        """Pours named on the command: one entry, all or nothing."""
        from pourbook.book.entries import Pour

        if self._received is not None and len(pours) > 1:
            raise Malformed("--received with several sources", "pour them one by one")
        moves = tuple(self._move(self.named(source), self.door.amount_or_all(amount)) for source, amount in pours)
        recorded = self.door.record(Pour("pour", moves))
        self.door.tell(recorded, self.state(), id=self.target, **self.facts())
        for target in self.targets():
            if target.over_ml:
                click.echo(self.beside_plan(target), err=True)

    def pour(self, source: str, amount: "Amount | None") -> None:
        """Record one pour; say what the blend is then, and how it stands beside the plan."""
        from pourbook.book.entries import Pour

        self.door.record(Pour("pour", (self._move(source, amount),)))
        click.echo(self.state(), err=True)
        for line in self.plan_of(source):
            click.echo(line, err=True)

    def named(self, text: str) -> str:
        """The source of this name; a word for outside stands for itself."""
        word = text.strip().lower()
        return word if word in OUTSIDE else self.door.book.find(text)

    def _move(self, source: str, amount: "Amount | None") -> "Move":
        from pourbook.book.entries import Move

        if amount is None and source in OUTSIDE:
            raise Malformed(f"'all' of {source} is no amount", "write how much: 12.5 ml")
        return Move(
            source,
            self.target,
            amount,
            self._strength,
            self.temperature_c,
            received=self._received,
            redistilled=self._redistilled,
            facts=self._about,
        )

    # -- what it is now --------------------------------------------------------------------

    def facts(self) -> dict[str, Any]:
        """What the target holds, as JSON."""
        view = self.door.book.show(self.target)
        return {
            "mass_mg": view.holding.mass_mg,
            "volume_ml_20c": view.volume_ml_20c,
            "strength_20c": view.strength_20c,
        }

    def state(self) -> str:
        """What the target holds, in words."""
        return f"{hyphened(self.target)} {self._holds(self.target, 'is')}"

    def said_of(self, source: str) -> str:
        """What a glass holds, in words."""
        return f"{hyphened(source)} {self.door.book.show(source).ref}".strip() + f" {self._holds(source, 'holds')}"

    def _holds(self, item: str, verb: str) -> str:
        view, mark = self.door.book.show(item), self.door.decimal_mark
        if not view.holding.mass_mg:
            return "is empty"
        return f"{verb} {in_litres(view.volume_ml_20c, mark)} at {self.door.strength_shown(view)}"

    def cost_and_age(self) -> str:
        """What the blend costs and how old it is, in words; empty while there is none."""
        from pourbook.cli.blends import blend_words
        from pourbook.queries.traces.blend import blend_of

        is_there = self.door.book.show(self.target).holding.ethanol_mg
        return blend_words(self.door, blend_of(self.door.book, self.target)) if is_there else ""

    # -- beside the plan -------------------------------------------------------------------

    @cached_property
    def _plan(self) -> "Plan | None":
        from pourbook.queries.trials.targets import plan_to_pour

        return plan_to_pour(self.door.book.store, self.target)

    def targets(self) -> "tuple[Target, ...]":
        """Every component of the plan beside what was poured of it; nothing where there is no plan."""
        from pourbook.book.items import ledger
        from pourbook.codes.identifiers import key_of

        if self._plan is None:
            return ()
        book = self.door.book
        is_begun = ledger(book.store, key_of(self.target))
        return tuple(self._plan.targets(book.trace_back(self.target) if is_begun else None))

    def plan_of(self, source: str) -> tuple[str, ...]:
        """How a source stands beside the plan, in a line; no line where there is no plan."""
        component = self._plan.component_of(source) if self._plan else source
        return tuple(self.beside_plan(target) for target in self.targets() if target.component == component)

    def beside_plan(self, target: "Target") -> str:
        """A component beside its plan, in words; a warning where it is more."""
        mark = self.door.decimal_mark
        name, poured, planned = (
            named(target.component),
            in_litres(target.poured_ml, mark),
            in_litres(target.planned_ml, mark),
        )
        if not target.planned_ml and target.poured_ml:
            return f"warning: {poured} of {name}, which the recipe of {hyphened(self.target)} has not"
        if target.over_ml:
            over = in_litres(target.over_ml, mark)
            return f"warning: {poured} of {name} in all, {over} more than planned ({planned})"
        if target.to_go_ml:
            return f"{name}: {poured} of {planned} poured, {in_litres(target.to_go_ml, mark)} to go"
        return f"{name}: {poured} of {planned} poured, as planned"
