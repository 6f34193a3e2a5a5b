"""Accounts of the house's people, and signing in.

Every change of an account is a note about the person in the journal. Accounts themselves, and who is signed in, stand
beside the book (`book.beside_book`).

>>> from pourbook import Book
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> make_account(book, how, "Isla Farrow", "manager", "482913").person
'P000002G'
>>> sign_in(book, "isla farrow", "482913").role
'manager'
"""

from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.new_item import new_item
from pourbook.actions.pins import hashed, is_pin
from pourbook.actions.roles import ALL_ROLES
from pourbook.book.account_rules import (
    CLOSED_US,
    MOST_FAILURES,
    closed_until,
    is_first_tried,
    last_manager,
    may_try,
    weak_pin,
)  # fmt: skip
from pourbook.book.beside_book import AccountRow
from pourbook.book.entries import Item, Note
from pourbook.book.names import with_ref
from pourbook.codes.identifiers import kind_of
from pourbook.errors import Ambiguous, Malformed, Refused, Unknown
from pourbook.queries.people.accounts import has_accounts, holding, name_of, person_called
from pourbook.queries.people.signed_in import Session, sign_ins, signed_in
from pourbook.texts import briefly, lookup_form, visible

if TYPE_CHECKING:
    from pourbook.book.beside_book import FailedFor
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Entry

__all__ = [
    "AccountChanged", "SignedIn", "change_own_pin", "change_pin", "change_role", "end_account", "lock", "make_account",
    "revoke", "second_person", "set_account", "sign_in", "sign_out", "unlock",
]  # fmt: skip


_What = Literal["made", "changed", "ended"]


class AccountChanged(NamedTuple):
    """The account of a `person` (identifier, `name`, `role`) that was made, changed or ended, and what was recorded.

    `is_easy` says that its new PIN is among the first that anybody would try.
    """

    person: str
    name: str
    role: str
    what: _What
    recorded: "Recorded"
    is_easy: bool = False


class SignedIn(NamedTuple):
    """Whoever signed in: their `token`, which they alone have, `person` (identifier), `name` and `role`."""

    token: str
    person: str
    name: str
    role: str


# -- accounts ----------------------------------------------------------------------------


def make_account(
    book: "BookCore",
    how: Happening,
    name: str,
    role: str,
    pin: str,
    *,
    is_first: bool = False,
    takes_easy: bool = False,
) -> AccountChanged:
    """Make an account of a person, who is entered if they are new; with `is_first`, only where the house has none yet.

    `takes_easy` takes a PIN that anybody would try first, too.

    Raises:
        Malformed: no such role, or a PIN that is none.
        Refused: they have an account; or the house has one, and this was to be the first.
    """
    _check_role(role)
    if weak := weak_pin(pin, name, takes_easy=takes_easy):
        raise weak
    pin_hash = hashed(pin)
    with how.transaction(book):
        if is_first and has_accounts(book):
            raise Refused("the house has accounts already", "sign in; a manager makes yours")
        person = person_called(book, name)
        if account := holding(book, person):
            raise Refused(
                f"'{name_of(book, account)}' has an account already, as {account.role}", "change its role or PIN"
            )
        entering = [] if person else [_newcomer(book, name)]
        row = AccountRow(person or entering[0].id, name, role, pin_hash, book.clock())
        return _kept(book, how, row, "made", *entering, Note(row.person, f"account made: {role}"))


def _newcomer(book: "BookCore", name: str) -> Item:
    if len([one for one in with_ref(book.store, name) if kind_of(one) == "person"]) > 1:
        raise Ambiguous(f"several people are called '{name}'", "give the identifier on the badge")
    return Item(new_item(book, "person"), {"ref": name})


def change_role(book: "BookCore", how: Happening, person: str, role: str) -> AccountChanged:
    """Give a person (by name or badge) another role; it holds at once, wherever they are signed in.

    Raises:
        Malformed: no such role.
        Unknown: they have no account.
        Refused: they are the last manager.
    """
    return set_account(book, how, person, role)


def change_pin(book: "BookCore", how: Happening, person: str, pin: str) -> AccountChanged:
    """Give a person (by name or badge) another PIN; all their sign-ins end.

    Raises:
        Malformed: a PIN that is none.
        Unknown: they have no account.
    """
    return set_account(book, how, person, pin=pin)


def end_account(book: "BookCore", how: Happening, person: str) -> AccountChanged:
    """End the account of a person (by name or badge), and all their sign-ins. A new one can be made later.

    Raises:
        Unknown: they have no account.
        Refused: they are the last manager.
    """
    with how.transaction(book):
        row = _of(book, person)
        if refusal := last_manager(book.beside.accounts(), row.person):
            raise refusal
        return _kept(book, how, row._replace(ended_us=book.clock()), "ended", Note(row.person, "account ended"))


def set_account(
    book: "BookCore", how: Happening, person: str, role: str | None = None, pin: str | None = None, *,
    takes_easy: bool = False,
) -> AccountChanged:  # fmt: skip
    """Change role, PIN or both of a person who has an account; make one, of both, for one who has none.

    `takes_easy` takes a PIN that anybody would try first, too.

    Raises:
        Malformed: no such role, or a PIN that is none.
        Unknown: they have no account, and not both were given.
        Refused: they are the last manager.
    """
    known = holding(book, person_called(book, person))
    is_easy = pin is not None and is_first_tried(pin)
    if known is None and role and pin:
        return make_account(book, how, person, role, pin, takes_easy=takes_easy)._replace(is_easy=is_easy)
    if role is not None:
        _check_role(role)
    if pin is not None and (weak := weak_pin(pin, known.name if known else person, takes_easy=takes_easy)):
        raise weak
    pin_hash = None if pin is None else hashed(pin)
    with how.transaction(book):
        row = _of(book, person)
        if role not in (None, "manager") and (refusal := last_manager(book.beside.accounts(), row.person)):
            raise refusal
        changed = row._replace(role=role or row.role, pin_hash=pin_hash or row.pin_hash)
        said = ", ".join([*([f"role {role}"] if role else []), *(["PIN changed"] if pin else [])])
        return _kept(book, how, changed, "changed", Note(row.person, f"account: {said}"))._replace(is_easy=is_easy)


def change_own_pin(
    book: "BookCore", how: Happening, token: str, old: str, new: str, address: str = ""
) -> AccountChanged:
    """Change one's own PIN, knowing the old one; one's other sign-ins end.

    Raises:
        Malformed: a PIN that is none.
        Refused: nobody is signed in with this token, the old PIN is wrong, or too many attempts failed.
    """
    account = _account_behind(book, token)
    _try(book, account.person, address, old, account.pin_hash)
    if weak := weak_pin(new, account.name):
        raise weak
    pin_hash, kept = hashed(new), book.beside.sign_in_of(token)
    with how.transaction(book):
        changed = _of(book, account.person)._replace(pin_hash=pin_hash)
        said = Note(account.person, "account: PIN changed")
        return _kept(book, how, changed, "changed", said, keeps=kept.number if kept else 0)


def _kept(
    book: "BookCore", how: Happening, row: AccountRow, what: _What, *entries: "Entry", keeps: int = 0
) -> AccountChanged:
    """Record the change in the journal and keep the account; where the PIN changed or it ended, so do sign-ins."""
    recorded = how.record(book, *entries)
    before = book.beside.account(row.person)
    if not recorded.is_dry_run:
        with book.beside.transaction():
            book.beside.keep_account(row)
            if before is None or before.pin_hash != row.pin_hash or row.ended_us is not None:
                book.beside.end_sign_ins(one.number for one in book.beside.sign_ins(row.person) if one.number != keeps)
                book.beside.forget_failures("name", row.person)
    return AccountChanged(row.person, name_of(book, row), row.role, what, recorded)


def _check_role(role: str) -> None:
    if role not in ALL_ROLES:
        raise Malformed(f"there is no role '{role}'", f"choose from: {', '.join(ALL_ROLES)}")


def _of(book: "BookCore", person: str) -> AccountRow:
    row = holding(book, person_called(book, person))
    if row is None:
        raise Unknown(f"'{person}' has no account", "make one: give a role and a PIN")
    return row


# -- signing in --------------------------------------------------------------------------


def sign_in(book: "BookCore", name: str, pin: str, address: str = "", device: str = "") -> SignedIn:
    """Sign a person in, by name or badge, and PIN.

    Raises:
        Refused: name and PIN do not belong together, whether or not anybody is called so; or too many attempts failed.
    """
    if not has_accounts(book):
        raise Refused("nobody has an account yet", "make the manager's first")
    person = person_called(book, name)
    account = holding(book, person)
    _try(book, person or lookup_form(name)[:200], address, pin, account.pin_hash if account else None)
    assert account is not None
    _sweep(book)
    token = book.beside.begin_sign_in(account.person, address, briefly(visible(device), 200))
    return SignedIn(token, account.person, name_of(book, account), account.role)


def second_person(book: "BookCore", name: str, pin: str, address: str = "") -> str:
    """What somebody is called who agrees by name or badge, and PIN, without being signed in. Raises as `sign_in`."""
    person = person_called(book, name)
    account = holding(book, person)
    _try(book, person or lookup_form(name)[:200], address, pin, account.pin_hash if account else None)
    assert account is not None
    return name_of(book, account)


def sign_out(book: "BookCore", token: str) -> None:
    """End a sign-in; its token stands for nobody from now on."""
    row = book.beside.sign_in_of(token)
    book.beside.end_sign_ins([row.number] if row else [])


def revoke(book: "BookCore", person: str, number: int | None = None) -> int:
    """End a person's sign-ins wherever they are, or one of theirs; how many ended."""
    ended = [one.number for one in book.beside.sign_ins(person) if number in (None, one.number)]
    book.beside.end_sign_ins(ended)
    return len(ended)


def lock(book: "BookCore", token: str) -> None:
    """Lock a screen: nothing is done with this sign-in until the PIN was given."""
    if row := book.beside.sign_in_of(token):
        book.beside.seen(row.number, locked=True)


def unlock(book: "BookCore", token: str, pin: str, address: str = "") -> Session:
    """Open a locked screen again.

    Raises:
        Refused: nobody is signed in with this token, the PIN is wrong, or too many attempts failed.
    """
    account = _account_behind(book, token)
    _try(book, account.person, address, pin, account.pin_hash)
    if row := book.beside.sign_in_of(token):
        book.beside.seen(row.number, locked=False)
    if session := signed_in(book, token):
        return session
    raise _nobody()


def _account_behind(book: "BookCore", token: str) -> AccountRow:
    session = signed_in(book, token, is_used=False)
    account = holding(book, session.person) if session else None
    if account is None:
        raise _nobody()
    return account


def _nobody() -> Refused:
    return Refused("nobody is signed in here any more", "sign in again")


def _try(book: "BookCore", name: str, address: str, pin: str, kept: str | None) -> None:
    """Take one attempt, by a name and from an address. It counts as failed until it succeeded: many at once do, too."""
    keys: list[tuple[FailedFor, str]] = [("name", name)]
    if address:
        keys.append(("address", _network(address)))
    beside = book.beside
    with beside.transaction():
        closed = (closed_until(beside.failures(kind, key), MOST_FAILURES[kind]) for kind, key in keys)
        if refusal := may_try(book.clock(), *closed):
            raise refusal
        for kind, key in keys:
            beside.keep_failure(kind, key)
    if not is_pin(pin, kept):
        raise Refused("name and PIN do not belong together", "check both, and type them again")
    with beside.transaction():
        beside.forget_failures("name", name)
        if address:
            beside.forget_failures("address", _network(address), only_last=True)


def _network(address: str) -> str:
    """What one sender can be told by: an IPv4 address, or the first half of an IPv6 one, as it may choose the rest."""
    from ipaddress import IPv6Address, IPv6Network, ip_address

    try:
        read = ip_address(address)
    except ValueError:
        return address
    if isinstance(read, IPv6Address):
        return str(read.ipv4_mapped or IPv6Network((read, 64), strict=False))
    return str(read)


def _sweep(book: "BookCore") -> None:
    """Forget sign-ins that are over, and failures that count no more."""
    over = {one.number for one in book.beside.sign_ins()} - {one.number for one in sign_ins(book)}
    book.beside.end_sign_ins(over)
    book.beside.forget_failures_before(book.clock() - 2 * CLOSED_US)
