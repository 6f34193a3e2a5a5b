"""The book as a script or a notebook uses it: every action and every query on one object.

>>> from pourbook import Book
>>> from pourbook.actions.casks import Filling
>>> from pourbook.actions.happening import Happening
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> how = Happening("M. Aldane")
>>> filling = Filling(read_amount("200 l"), read_strength("63.5"))
>>> _ = book.take_in_cask(how, {"ref": "Row 3/12", "wood": "virgin chestnut"}, filling)
>>> [(origin.how, origin.share) for origin in book.trace_back("Row 3/12").origins]
[('origin', 1.0)]
"""

from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

from pourbook.book.core import BookCore

__all__ = ["ACTIONS", "QUERIES", "Book"]

ACTIONS = {
    "casks": ("draw", "fill", "take_in_cask"),
    "composing": ("compose_trial", "write_recipe"),
    "correcting": ("close_period", "replace", "void"),
    "declare": ("declare", "print_period"),
    "enter_printer": ("enter_printer", "forget_printer"),
    "entering": ("enter",),
    "gauge": ("gauge",),
    "house_settings": ("change_settings",),
    "importing": ("import_casks", "import_epcis", "import_gauges", "import_history"),
    "item_facts": ("hold", "move_items", "note", "release", "set_facts"),
    "lab_reading": ("gauge_for_source",),
    "label_run": ("label_run",),
    "leaving": ("despatch", "lose", "take_back"),
    "trade_numbers": ("number_cases", "number_pallets", "set_gtin"),
    "pouring": ("pour",),
    "print_paper": ("print_dossier", "print_sheet"),
    "recall": ("recall", "release_recall"),
    "reserve": ("reserve",),
    "safekeeping": ("backup", "repair"),
    "vats": ("bottle", "dump", "open_batch", "scale_up"),
}
"""Whatever is done, by the module of `pourbook.actions` that does it; each takes the circumstances first."""

QUERIES = {
    "gauges.cask_evaporation": ("evaporation",),
    "gauges.uncertainty_through_pours": ("uncertainty",),
    "items.item_card": ("item_card",),
    "journal.entries_listed": ("entries_listed",),
    "labels.print_log": ("print_log", "reserved"),
    "traces.trace": ("shares", "trace_back", "trace_forward"),
    "trials.batch_plan": ("batch_plan",),
    "trials.comparison": ("compare",),
    "trials.revisions": ("revisions",),
    "trials.trial_plan": ("recipe_card",),
}
"""Whatever is asked, by the module of `pourbook.queries` that answers."""

_RENAMED = {
    "pouring_session": ("pourbook.actions.pouring_session", "PouringSession"),
    "why": ("pourbook.queries.traces.why", "why_share"),
    "account": ("pourbook.queries.accounts.declared", "account_of_period"),
    "label_strength": ("pourbook.queries.gauges.label_strength_of", "label_strength_of"),
}
_OF_THE_STORE = {
    "affected": ("pourbook.queries.recalls.recalls", "finding"),
    "recall_compared": ("pourbook.queries.recalls.recalls", "recall_compared"),
    "recalls": ("pourbook.queries.recalls.recalls", "recalls"),
}
_WHERE = {
    **{name: (f"pourbook.actions.{module}", name) for module, names in ACTIONS.items() for name in names},
    **{name: (f"pourbook.queries.{module}", name) for module, names in QUERIES.items() for name in names},
    **_RENAMED,
    **_OF_THE_STORE,
}


class Book(BookCore):
    """One house's record.

    Open it with `Book.open(path)`, preferably in a `with` statement; make one with `Book.create`. Every name of
    `ACTIONS` and `QUERIES` is a method: the function of that name, with this book as its first argument. A
    module is loaded when it is first asked for.
    """

    def __getattr__(self, name: str) -> Callable[..., Any]:
        """An action or a query, bound to this book."""
        if name not in _WHERE:
            raise AttributeError(f"a book has no '{name}'")
        module, function = _WHERE[name]
        return partial(getattr(import_module(module), function), self.store if name in _OF_THE_STORE else self)

    def __dir__(self) -> list[str]:
        return sorted({*super().__dir__(), *_WHERE})
