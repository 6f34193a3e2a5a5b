"""Who may do what at the station: every action of the book is in the table, and the roles are what they are called."""

import pytest

from pourbook.actions.roles import ALL_ROLES, ROLES, may, roles_of
from pourbook.whole_book import ACTIONS


def test_every_action_has_its_roles():
    """None is forgotten, none is made up."""
    assert ROLES.keys() == {name for names in ACTIONS.values() for name in names}


def test_the_manager_may_do_everything_and_the_auditor_changes_nothing():
    """The auditor reads; papers that are recorded when they are printed are a change, too."""
    assert all(may("manager", action) for action in ROLES)
    assert not [action for action in ROLES if may("auditor", action)]


def test_roles_are_told_in_one_order_and_once():
    """So that tables of routes can be compared."""
    for action, roles in ROLES.items():
        assert roles == tuple(role for role in ALL_ROLES if role in roles), action
        assert roles_of(action) == roles


@pytest.mark.parametrize(
    ("role", "does", "does_not"),
    [
        ("technician", ("draw", "pour", "gauge", "taste", "label_run", "hold", "void"), ("release", "approve", "dump")),
        ("blender", ("compose_trial", "approve", "release", "recall", "open_session"), ("despatch", "make_account")),
        ("cellar", ("dump", "rack", "bottle", "despatch", "end_stocktake", "pour"), ("approve", "release", "recall")),
        ("auditor", (), ("note", "print_dossier", "backup")),
    ],
)
def test_a_role_does_its_own_work(role, does, does_not):
    """As a house would share it out: common practice, no source."""
    assert all(may(role, action) for action in does)
    assert not any(may(role, action) for action in does_not)


def test_several_actions_ask_for_whoever_may_do_all():
    """A page that does two things is for those who may do both; one that does none is for all."""
    assert roles_of("draw", "release") == ("blender", "manager")
    assert roles_of() == ALL_ROLES
