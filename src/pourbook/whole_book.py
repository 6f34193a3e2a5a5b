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
from typing import TYPE_CHECKING, Any

from pourbook.book.core import BookCore
from pourbook.book.done_again import done_again

if TYPE_CHECKING:
    from pourbook.signatures import Offered
else:
    Offered = object

__all__ = ["ACTIONS", "QUERIES", "Book"]

ACTIONS = {
    "accounts": ("change_pin", "change_role", "end_account", "make_account", "revoke", "set_account"),
    "bottling_run": ("add_to_bottling", "begin_bottling", "change_vat", "end_bottling", "measure_fills"),
    "approving": ("approve", "print_approval", "reject"),
    "casks": ("draw", "fill", "take_in_cask", "take_in_sample"),
    "components": ("write_component",),
    "composing": ("compose_trial", "revise_trial", "write_recipe"),
    "composing_flight": ("compose_flight",),
    "correcting": ("close_period", "replace", "void"),
    "declare": ("declare", "print_period"),
    "enter_printer": ("enter_printer", "forget_printer"),
    "entering": ("enter",),
    "gauge": ("gauge",),
    "guest_blending": ("choose_blend", "compose_blend", "open_blending", "taste_blends"),
    "guest_papers": ("print_guest_cards", "print_guest_sheets"),
    "house_settings": ("change_settings",),
    "importing": ("import_casks", "import_epcis", "import_gauges", "import_history", "import_words"),
    "keys": ("add_key", "end_key"),
    "item_facts": ("hold", "move_items", "note", "release", "set_facts"),
    "lab_reading": ("gauge_for_source",),
    "label_run": ("label_run",),
    "leaving": ("despatch", "lose", "take_back"),
    "trade_numbers": ("number_cases", "number_pallets", "set_gtin"),
    "packing": ("stack",),
    "pouring": ("pour",),
    "planning": ("keep_new_plan", "plan_and_open"),
    "print_paper": ("print_dossier", "print_provenance", "print_sheet"),
    "racking": ("rack",),
    "recall": ("recall", "release_recall"),
    "reducing": ("add_water", "plan_reduction"),
    "reserve": ("reserve",),
    "run_sheet": ("print_run_sheet",),
    "safekeeping": ("backup", "move_book", "repair"),
    "ballots": ("take_ballot", "take_ballots"),
    "stocktaking": ("end_stocktake", "open_stocktake", "print_stocktake"),
    "session_papers": ("print_ballots", "print_glass_labels", "print_pour_sheet", "print_session_report"),
    "tasting_session": ("close_session", "open_session", "pour_session"),
    "tasting": ("taste", "write_word"),
    "tolerances": ("keep_tolerance",),
    "withdrawing": ("withdraw_person",),
    "vats": ("bottle", "dump", "open_batch", "plan_batch", "scale_up"),
}
"""Whatever is done, by the module of `pourbook.actions` that does it; each takes the circumstances first."""

QUERIES = {
    "people.accounts": ("accounts", "has_accounts"),
    "people.signed_in": ("sign_ins", "signed_in"),
    "bottling.run": ("bottling_run", "bottling_runs"),
    "casks.best": ("best_casks",),
    "approvals.approval": ("approval",),
    "approvals.approved": ("approved",),
    "casks.choosing": ("casks",),
    "casks.provenance": ("provenance",),
    "casks.sampling_list": ("sampling_list",),
    "gauges.cask_evaporation": ("evaporation",),
    "gauges.gauge_history": ("gauge_history",),
    "gauges.uncertainty_through_pours": ("uncertainty",),
    "groups.differences": ("differences",),
    "groups.joined": ("sites",),
    "items.due": ("due",),
    "items.finding": ("find_all",),
    "items.item_card": ("item_card",),
    "items.under_way": ("under_way",),
    "items.item_history": ("item_history",),
    "items.of_kind": ("of_kind",),
    "journal.entries_listed": ("entries_listed",),
    "journal.signed_heads": ("countersigned_head", "signed_head"),
    "journal.entry_card": ("entry_card", "journal_page"),
    "labels.print_log": ("print_log", "reserved"),
    "labels.statements_of": ("statements_of",),
    "plans.again": ("plan_again",),
    "plans.planned": ("candidates", "plan"),
    "plans.recipe_of_batch": ("recipe_of_batch",),
    "plans.repeats": ("repeats",),
    "tastings.notes": ("notes_of",),
    "tastings.search": ("notes_around", "tastings"),
    "tastings.blending_card": ("blending_card", "blendings_listed"),
    "tastings.shape": ("shape",),
    "tastings.tasted_blends": ("tasted_blend", "tasted_blends"),
    "tastings.words": ("words",),
    "tastings.session_card": ("session_card", "sessions_listed"),
    "tastings.session_plan": ("session_plan",),
    "tastings.session_report": ("session_report",),
    "plans.ahead": ("ahead",),
    "plans.sure": ("how_sure_of_batch", "how_sure_of_plan"),
    "traces.trace": ("shares", "trace_back", "trace_forward"),
    "trials.batch_plan": ("batch_plan",),
    "trials.components": ("component_card", "components", "misfits", "qualifying"),
    "trials.comparison": ("compare",),
    "trials.family": ("family",),
    "trials.flight_plan": ("flight_plan",),
    "trials.near": ("near",),
    "trials.reducing": ("reducing",),
    "trials.trial_list": ("recipes", "trials"),
    "trials.trial_plan": ("recipe_card",),
    "warehouse.reach": ("reach",),
    "warehouse.stocktake": ("stocktake_card", "stocktakes_listed"),
}
"""Whatever is asked, by the module of `pourbook.queries` that answers."""

_RENAMED = {
    "packing_by_scan": ("pourbook.actions.packing", "PackingByScan"),
    "pouring_session": ("pourbook.actions.pouring_session", "PouringSession"),
    "sampling_round": ("pourbook.actions.sampling_round", "SamplingRound"),
    "stocktake_round": ("pourbook.actions.stocktaking", "StocktakeRound"),
    "why": ("pourbook.queries.traces.why", "why_share"),
    "account": ("pourbook.queries.accounts.declared", "account_of_period"),
    "account_entries": ("pourbook.queries.accounts.entries_behind", "entries_behind"),
    "label_strength": ("pourbook.queries.gauges.label_strength_of", "label_strength_of"),
}
_OF_THE_STORE = {
    "known_keys": ("pourbook.book.keys", "known_keys"),
    "affected": ("pourbook.queries.recalls.recalls", "finding"),
    "recall_compared": ("pourbook.queries.recalls.recalls", "recall_compared"),
    "called": ("pourbook.queries.items.called", "called"),
    "recalls": ("pourbook.queries.recalls.recalls", "recalls"),
}
_DONE = frozenset(name for names in ACTIONS.values() for name in names)
_WHERE = {
    **{name: (f"pourbook.actions.{module}", name) for module, names in ACTIONS.items() for name in names},
    **{name: (f"pourbook.queries.{module}", name) for module, names in QUERIES.items() for name in names},
    **_RENAMED,
    **_OF_THE_STORE,
}


class Book(BookCore, Offered):
    """One house's record.

    Open it with `Book.open(path)`, preferably in a `with` statement; make one with `Book.create`. Every name of
    `ACTIONS` and `QUERIES` is a method: the function of that name, with this book as its first argument. A
    module is loaded when it is first asked for. An action that others got in the way of is done again as a whole.
    """

    def __getattr__(self, name: str) -> Callable[..., Any]:
        """An action or a query, bound to this book."""
        if name not in _WHERE:
            raise AttributeError(f"a book has no '{name}'")
        module, function = _WHERE[name]
        called = getattr(import_module(module), function)
        if name in _DONE:
            return partial(done_again, self, called, self)
        return partial(called, self.store if name in _OF_THE_STORE else self)

    def __dir__(self) -> list[str]:
        return sorted({*super().__dir__(), *_WHERE})
