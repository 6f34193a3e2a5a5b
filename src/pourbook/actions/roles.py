"""Who may do what: the roles of a house, and for every action those who may do it at the station.

The command asks for no role: whoever can open the book's file may do all with it.

>>> roles_of("draw"), roles_of("draw", "taste_blends")
(('technician', 'blender', 'cellar', 'manager'), ('blender', 'manager'))
>>> may("auditor", "note"), may("cellar", "dump")
(False, True)
"""

from typing import Literal, get_args

__all__ = ["ALL_ROLES", "ROLES", "Role", "may", "roles_of"]

Role = Literal["technician", "blender", "cellar", "auditor", "manager"]

ALL_ROLES: tuple[Role, ...] = get_args(Role)
"""An auditor reads everything and changes nothing; a manager may do everything."""

_HANDS: tuple[Role, ...] = ("technician", "blender", "cellar")
_BENCH: tuple[Role, ...] = ("technician", "blender")
_BLENDING: tuple[Role, ...] = ("blender",)
_BATCHES: tuple[Role, ...] = ("blender", "cellar")
_CELLAR: tuple[Role, ...] = ("cellar",)
_HOUSE: tuple[Role, ...] = ()

_ALLOWED: tuple[tuple[tuple[Role, ...], str], ...] = (
    # Whoever has a glass, a vial or a cask in hand writes down what they did, and stops what looks wrong.
    (_HANDS, "draw enter gauge gauge_for_source hold label_run lose move_items note pour print_provenance print_sheet"),
    (_HANDS, "replace reserve take_in_sample taste void"),
    # At the bench, under a recipe that stands: another glass of it, glasses poured and ballots gathered for a session.
    (_BENCH, "pour_session print_ballots print_glass_labels print_guest_sheets print_pour_sheet revise_trial"),
    (_BENCH, "take_ballot take_ballots"),
    # What a blend is, who tastes it, and what is good enough to leave the house.
    (_BLENDING, "approve choose_blend close_session compose_blend compose_flight compose_trial keep_tolerance"),
    (_BLENDING, "open_blending open_session plan_and_open plan_batch print_approval print_dossier print_guest_cards"),
    (_BLENDING, "print_session_report recall reject release release_recall scale_up taste_blends write_component"),
    (_BLENDING, "write_recipe write_word"),
    # A batch is a blender's on paper and the cellar's in wood and steel.
    (_BATCHES, "keep_new_plan open_batch plan_reduction set_facts"),
    (
        _CELLAR,
        "add_to_bottling add_water begin_bottling bottle change_vat despatch dump end_bottling end_stocktake fill",
    ),
    (_CELLAR, "measure_fills number_cases number_pallets open_stocktake print_run_sheet print_stocktake rack set_gtin"),
    (_CELLAR, "stack take_back take_in_cask"),
    # What the house answers for, and what cannot be taken back.
    (_HOUSE, "add_key backup change_pin change_role change_settings close_period declare end_account end_key"),
    (_HOUSE, "enter_printer forget_printer import_casks import_epcis import_gauges import_history import_words"),
    (_HOUSE, "make_account move_book print_period repair revoke set_account withdraw_person"),
)

ROLES: dict[str, tuple[Role, ...]] = {
    action: (*roles, "manager") for roles, actions in _ALLOWED for action in actions.split()
}
"""Roles that may do it, by the name of the action."""


def roles_of(*actions: str) -> tuple[Role, ...]:
    """The roles that may do all of these actions, in the order of `ALL_ROLES`; of none, every role."""
    return tuple(role for role in ALL_ROLES if all(role in ROLES[action] for action in actions))


def may(role: str, action: str) -> bool:
    """Whether a role may do an action."""
    return role in ROLES[action]
