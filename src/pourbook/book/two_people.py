"""The two-person rule: what needs a second person, and whether one agreed.

The setting `two_people` names what needs them: approval, destruction, void of what was despatched. Once it is set,
changing it needs two, too, and so does a new key while somebody else has one; whoever may end a key and add another
alone would be both persons, but each of these stands in the journal. A second person signs the entry with a key of
their own that the journal knows. At a station they sign in with their PIN instead: there the account stands for the
key, and the entry says so.

>>> needs(Deed("pour", destroys=True), ("destruction",), lambda _: False, lambda: False)
'a destruction'
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.coded_names import is_site
from pourbook.book.entries import Counted, Draft, Gauge, House, Key, Pour, Second, Void
from pourbook.book.items import text_listed
from pourbook.book.journal import GENESIS, canonical, lines_of, parsed
from pourbook.book.key_entries import SECOND_SIGNATURE
from pourbook.book.keys import KnownKey, known_keys
from pourbook.book.store import Store
from pourbook.codes.identifiers import readable
from pourbook.errors import Damaged, Refused
from pourbook.signing.seconds import second_message
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.rules import Case

__all__ = [
    "Deed", "Judged", "needs", "second_fields", "second_person_agrees", "sends_away", "two_people_problems",
    "was_despatched",
]  # fmt: skip


class Deed(NamedTuple):
    """What an entry does, as far as it may need two.

    Attributes:
        kind: of the entry.
        destroys: liquid is destroyed.
        approves: a batch or a lot is approved.
        names: settings that it changes.
        adds_key: a key is known from then on.
        undoes: number of the entry that it voids or replaces; 0 for none.
    """

    kind: str
    destroys: bool = False
    approves: bool = False
    names: tuple[str, ...] = ()
    adds_key: bool = False
    undoes: int = 0


def needs(
    deed: Deed, chosen: Iterable[str], was_despatched: Callable[[int], bool], others_have_keys: Callable[[], bool]
) -> str:
    """What of an entry needs two persons, in words; empty where nothing does."""
    if "approval" in chosen and deed.approves:
        return "an approval"
    if "destruction" in chosen and deed.destroys:
        return "a destruction"
    if "void" in chosen and deed.undoes and was_despatched(deed.undoes):
        return "the correction of a despatch"
    if chosen and "two_people" in deed.names:
        return "a change of who must agree"
    if chosen and deed.adds_key and others_have_keys():
        return "a new key"
    return ""


def _of_draft(draft: Draft) -> Deed:
    match draft.entry:
        case Pour() as pour:
            return Deed("pour", any(map(_destroys, (one.facts for one in pour.moves))), undoes=draft.replaces)
        case Gauge() as gauge:
            return Deed("gauge", _destroys(gauge.facts), undoes=draft.replaces)
        case Counted() as counted:
            return Deed("counted", counted.destroyed > 0)
        case House(settings):
            return Deed("house", names=tuple(settings))
        case Key() as key:
            return Deed("key", adds_key=not key.ended)
        case Void(number):
            return Deed("void", undoes=number)
        case entry:
            return Deed("", approves=bool(getattr(entry, "approved", False)))


def _of_entry(entry: Mapping[str, Any]) -> Deed:
    kind, body = entry["kind"], entry["body"]
    undoes = body["entry"] if kind == "void" else entry.get("replaces", 0)
    return Deed(
        kind,
        (kind in ("pour", "gauge") and any(_destroys(line.get("facts", {})) for line in lines_of(body)))
        or (kind == "counted" and bool(body.get("destroyed"))),
        kind == "approval" and bool(body.get("approved")),
        tuple(body["settings"]) if kind == "house" else (),
        kind == "key" and "ended" not in body,
        undoes if kind in ("pour", "gauge", "void") else 0,
    )  # fmt: skip


def _destroys(facts: Mapping[str, Any]) -> bool:
    return facts.get("disposition") == "destruction"


def was_despatched(store: Store, number: int) -> bool:
    """Whether the entry of a number sent something to a customer."""
    rows = store.query("SELECT bytes FROM entry WHERE number = ? AND kind = 'pour'", (number,))
    return any(sends_away(text) for (text,) in rows)


def sends_away(pour_text: str) -> bool:
    """Whether a pour, by its text, sent something to a customer."""
    return any(line["to"] == "despatch" for line in lines_of(parsed(pour_text)["body"]))


def _others(keys: Iterable[KnownKey], who: str) -> bool:
    """Whether anybody else has one of these keys, and could be the second person."""
    return any(lookup_form(one.holder) != lookup_form(who) for one in keys)


def _holding(store: Store) -> list[KnownKey]:
    return [one for one in known_keys(store) if not one.ended]


# -- before it is recorded -----------------------------------------------------------------


def second_person_agrees(case: "Case") -> None:
    """Where the house wants two persons, another than who did it agrees, with a key of theirs or by their account."""
    draft, store = case.draft, case.known.store
    chosen = text_listed(case.known.settings["two_people"])
    if not chosen and draft.second is None:
        return
    what = needs(_of_draft(draft), chosen, partial(was_despatched, store), lambda: _others(_holding(store), draft.who))
    if not what:
        return
    able = [one.holder for one in _holding(store) if _is_person(one.holder, case) and _others((one,), draft.who)]
    if draft.second is None:
        raise Refused(f"{what} needs a second person", f"give --second NAME and --second-key FILE{_who_can(able)}")
    _is_another(store, draft, draft.second)
    is_first_key = what == "a new key" and not able  # somebody must be the first person with a key
    if not _is_person(draft.second.who, case) and not is_first_key:
        raise Refused(
            f"'{draft.second.who}' is no person, and whoever holds that key may be '{draft.who}' again",
            f"name a person who signs with a key of their own{_who_can(able)}",
        )


def _is_person(holder: str, case: "Case") -> bool:
    """Whether it is neither the house nor a site."""
    form = lookup_form(holder)
    return form not in (lookup_form(case.known.settings["house"]), "thehouse") and not is_site(holder)


def _who_can(able: Iterable[str]) -> str:
    names = ", ".join(dict.fromkeys(map(readable, able)))
    return f"; keys are known of {names}" if names else "; nobody else has one: pourbook key add FILE --of NAME"


def _is_another(store: Store, draft: Draft, second: Second) -> None:
    if not second.who.strip() or lookup_form(second.who) == lookup_form(draft.who):
        raise Refused(f"'{second.who}' is no second person beside '{draft.who}'", "name somebody else")
    if second.signer is None:
        return
    known = {one.public: one for one in known_keys(store)}.get(second.signer.public)
    if known is None:
        raise Refused("the journal does not know the key of the second person", "add it first: pourbook key add")
    if lookup_form(known.holder) != lookup_form(second.who):
        raise Refused(f"that key is of '{known.holder}', not of '{second.who}'", "sign with a key of their own")
    if known.ended:
        raise Refused(f"this key was ended ({known.ended}) by entry {known.ended_entry}", "sign with the new one")


def second_fields(store: Store, draft: Draft, chosen: str) -> dict[str, Any]:
    """What the body of an entry says of the second person, but for the signature; nothing where it needs none."""
    second = draft.second
    if second is None or not needs(
        _of_draft(draft), text_listed(chosen), partial(was_despatched, store),
        lambda: _others(_holding(store), draft.who),
    ):  # fmt: skip
        return {}
    from pourbook.signing.fingerprints import fingerprint

    by = {"second_account": 1} if second.signer is None else {"second_key": fingerprint(second.signer.public)}
    return {"second": second.who, **by}


# -- afterwards ------------------------------------------------------------------------------


class Judged(NamedTuple):
    """A journal to be judged: a book's own, or that of a site as a group has it.

    Attributes:
        entries: number, text, what gives the text that was chained, and hash of each, in the order recorded.
        keys: all that it knows or knew.
        was_despatched: whether the entry of a number sent something to a customer.
    """

    entries: Iterable[tuple[int, str, Callable[[], str], bytes]]
    keys: Iterable[KnownKey]
    was_despatched: Callable[[int], bool]


def two_people_problems(journal: Judged) -> Iterator[tuple[int, str]]:
    """Numbers of such entries, and what is wrong with each.

    Each is judged by the keys and the setting that the journal had before it; a setting taken back later changes
    nothing.
    """
    chosen: tuple[str, ...] = ()
    previous = GENESIS
    keys = {one.fingerprint: one for one in journal.keys}
    for number, text, chained_text, entry_hash in journal.entries:
        try:
            entry = parsed(text)
            before = [one for one in keys.values() if one.entry < number and not 0 < one.ended_entry < number]
            what = needs(_of_entry(entry), chosen, journal.was_despatched, partial(_others, before, entry["who"]))
            known = {one.fingerprint: one for one in before}
            problem = _problem(entry, what, known, partial(_signed, previous, chained_text))
            if entry["kind"] == "house" and "two_people" in entry["body"]["settings"]:
                chosen = text_listed(entry["body"]["settings"]["two_people"])
        except (Damaged, ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
            problem = "it cannot be read"
        if problem:
            yield number, problem
        previous = entry_hash


def _signed(previous: bytes, chained_text: Callable[[], str]) -> bytes:
    """What a second person signed of an entry: its chained text, where references stand for names."""
    entry = parsed(chained_text())
    bare = {name: value for name, value in entry["body"].items() if name != SECOND_SIGNATURE}
    return second_message(previous, canonical({**entry, "body": bare}).decode())


def _problem(
    entry: Mapping[str, Any], what: str, keys: Mapping[str, KnownKey], signed: Callable[[], bytes]
) -> str:  # fmt: skip
    body = entry["body"]
    if what and "second" not in body:
        return f"{what} needed a second person, and nobody agreed"
    if "second_key" not in body:
        return ""
    from pourbook.signing.ed25519 import is_signed

    known = keys.get(body["second_key"])
    if known is None:
        return "the key of its second person was not known then, or had ended"
    if not is_signed(known.public, signed(), body.get(SECOND_SIGNATURE, "")):
        return "what its second person signed is not this entry"
    is_another = lookup_form(known.holder) != lookup_form(body["second"])
    return "the key of its second person is of somebody else" if is_another else ""
