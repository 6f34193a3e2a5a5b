"""The journal: what was recorded, by whom and why; what an entry changed; and how one is put right."""

from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import urlencode

from starlette.responses import Response

from pourbook.book.kinds import KIND_OF_NAME
from pourbook.book.search import Wanted
from pourbook.errors import Malformed, OutOfRange
from pourbook.station.routing import Routes
from pourbook.station.typed import celsius_typed, readings_typed, strength_typed
from pourbook.station.visit import NotFound, Visit

if TYPE_CHECKING:
    from pourbook.actions.correcting import Corrected, Correction
    from pourbook.liquid import Liquid
    from pourbook.queries.journal.entry_card import EntryCard

__all__ = ["number_in", "routes"]

routes = Routes()

_FIELDS = ("kind", "who", "where", "item", "since", "until", "first", "last")
_MOST_PRINTED = 2_000
"""Entries on one paper; the command prints more."""

_NONE = 1 << 62


class _Narrowed(NamedTuple):
    """What is asked of the journal: the fields as typed, what they mean, and the item as it was named."""

    typed: dict[str, str]
    which: Wanted
    item: str | None

    def to(self, **more: str) -> str:
        """These fields and others, as they stand behind a question mark."""
        return urlencode(self.typed | more)


def _narrowed(visit: Visit) -> _Narrowed:
    typed = {name: text for name in _FIELDS if (text := visit.query.get(name, "").strip())}
    kind = typed.get("kind", "").lower()
    if kind and kind not in KIND_OF_NAME:
        raise Malformed(f"'{kind}' is not a kind of entry", f"kinds are: {', '.join(KIND_OF_NAME)}")
    since = visit.style.moment(typed["since"]) if "since" in typed else None
    first, last = _number(typed.get("first", "1")), _number(typed.get("last", str(_NONE)))
    which = Wanted(
        first, last, kind, typed.get("who", ""), typed.get("where", ""), since, visit.style.as_of(typed.get("until"))
    )
    return _Narrowed(typed, which, typed.get("item"))


def _number(text: str) -> int:
    if not text.isdecimal() or len(text) > len(str(_NONE)) or int(text) > _NONE:
        raise Malformed(f"'{text}' is not the number of an entry", "write digits")
    return int(text)


def number_in(visit: Visit) -> int:
    """The number of an entry in the address.

    Raises:
        NotFound: it is none (400), or the journal has no such entry.
    """
    text = visit.path["number"]
    if not text.isdecimal() or len(text) > len(str(_NONE)):
        raise NotFound(f"'{text}' is not the number of an entry", "", status=400)
    if not 1 <= int(text) <= visit.book.head_number():
        raise NotFound(visit.gettext("the journal has no such entry"), "")
    return int(text)


@routes.page("/journal")
def listed(visit: Visit) -> Response:
    """Entries, the newest first; a number leads to its entry."""
    if number := visit.query.get("number", "").strip():
        return visit.to(f"/journal/{_number(number)}")
    narrowed = _narrowed(visit)
    before = visit.query.get("before", "")
    page = visit.book.journal_page(narrowed.which, narrowed.item, _number(before) if before else None)
    return visit.page(
        "journal/list.html", page=page, asked=narrowed, before=before, printed=_MOST_PRINTED, **_words(visit),
        kinds=(("", visit.gettext("any")), *((name, name) for name in sorted(KIND_OF_NAME))),
    )  # fmt: skip


@routes.page("/journal.pdf")
def paper(visit: Visit) -> Response:
    """The entries asked for on paper, each with its hash."""
    from pourbook.paperwork.journal_paper_of import journal_printed

    narrowed = _narrowed(visit)
    entries = list(visit.book.entries_listed(narrowed.which, narrowed.item, _MOST_PRINTED + 1))
    if len(entries) > _MOST_PRINTED:
        told = visit.gettext("more than {most} entries at once").format(most=_MOST_PRINTED)
        raise OutOfRange(told, visit.gettext("give a first and a last entry, or days"))
    words = [f"{name} {text}" for name, text in narrowed.typed.items() if name not in ("first", "last")]
    return visit.file(journal_printed(visit.book, entries, words).pdf, "journal.pdf")


@routes.page("/journal/{number}")
def entry(visit: Visit) -> Response:
    """One entry: what it says, what it changed, its circumstances, its hash, and what became of it."""
    number = number_in(visit)
    card = visit.book.entry_card(number)
    has_document = any("document" in line.get("facts", {}) for line in card.entry.entry["body"].get("lines", ()))
    return visit.page(
        "journal/entry.html", card=card, lines=_said(visit, card), kept=_kept(visit, card),
        last=visit.book.head_number(), has_document=has_document,
        can_go=KIND_OF_NAME[card.entry.kind].can_be_corrected and not card.entry.gone, **_words(visit),
    )  # fmt: skip


def _words(visit: Visit) -> dict[str, Any]:
    """How a template says what an entry is, who recorded it, and a body of liquid."""
    from pourbook.alcoholometry.volumes import strength_20c, volume_ml
    from pourbook.words.entry_words import in_words, who_in_words
    from pourbook.words.figure_words import in_litres, strength_words

    mark = visit.style.mark

    def liquid(held: "Liquid") -> str:
        if not held.mass_mg:
            return visit.gettext("nothing")
        return f"{in_litres(volume_ml(held), mark)}, {strength_words(strength_20c(held), mark, ())}"

    return {
        "said": lambda entry: in_words(entry, mark), "who": lambda entry: who_in_words(entry.entry), "liquid": liquid,
    }  # fmt: skip


def _said(visit: Visit, card: "EntryCard") -> tuple[str, ...]:
    from pourbook.words.entry_words import lines_in_words, second_in_words

    told = lines_in_words(card.entry, visit.style.mark, {one.item: one.called for one in card.items})
    return tuple(filter(None, (*told, second_in_words(card.entry.entry["body"]))))


def _kept(visit: Visit, card: "EntryCard") -> str:
    """The bytes that its hash is of, as text; nothing while they hold what is sealed."""
    from pourbook.book.coded_names import Names, coded_since
    from pourbook.book.journal import canonical
    from pourbook.book.sessions import session_named

    told = card.entry
    if told.kind == "session" and session_named(visit.book.store, told.entry["body"]["name"]).is_open:
        return ""
    text, store = canonical(told.entry).decode("utf-8", "replace"), visit.book.store
    return Names(store).coded(text) if told.number >= coded_since(store) else text


# -- putting right --------------------------------------------------------------------------


@routes.deed("/journal/{number}/void", "void")
def void(visit: Visit) -> Response:
    """Void an entry; first it is shown what that would change."""
    number = number_in(visit)
    is_sure = bool(visit.typed("sure"))
    visit.needed("reason", visit.gettext("Reason"))
    done = visit.book.void(visit.how._replace(dry_run=not is_sure), number)
    if is_sure:
        return visit.to(f"/journal/{number}", visit.gettext("Voided; it stays readable."), recorded=done.recorded)
    return _shown_first(visit, done, visit.gettext("Void it"))


@routes.deed("/journal/{number}/replace", "replace")
def replace(visit: Visit) -> Response:
    """Record an entry again with what was right; first it is shown what that would change."""
    number = number_in(visit)
    is_sure = bool(visit.typed("sure"))
    visit.needed("reason", visit.gettext("Reason"))
    done = visit.book.replace(visit.how._replace(dry_run=not is_sure), number, _right(visit))
    if is_sure:
        stands = done.recorded.numbers[-1 - len(done.recorded.held)]
        said = visit.gettext("Entry {new} stands in place of entry {old}.").format(new=stands, old=number)
        return visit.to(f"/journal/{stands}", said, recorded=done.recorded)
    return _shown_first(visit, done, visit.gettext("Replace it"))


def _right(visit: Visit) -> "Correction":
    from pourbook.actions.correcting import Correction

    amount, line = visit.typed("amount"), visit.typed("line") or "1"
    if not line.isdecimal() or len(line) > 6:
        raise Malformed(f"'{line}' is not the number of a line", "write digits")
    instruments = [one for name in visit.typed("instrument").split(",") if (one := name.strip())]
    return Correction(
        int(line), visit.style.amount_or_all(amount, allow_zero=True) or "all" if amount else None,
        strength_typed(visit), celsius_typed(visit) if visit.typed("temperature") else None,
        visit.typed("source") or None, visit.typed("target") or None, bool(visit.typed("rederive")),
        readings_typed(visit)._replace(amount=None, true=None, temperature_c=20.0), instruments, visit.typed("kind"),
        visit.typed("document"),
    )  # fmt: skip


def _shown_first(visit: Visit, done: "Corrected", words: str) -> Response:
    """What a correction would change, with the button that does it."""
    show = visit.fragment if visit.is_partial else visit.page
    template = "journal/would.html" if visit.is_partial else "journal/would_page.html"
    return show(template, done=done, words=words, number=number_in(visit), **_words(visit))


# -- closing a period -----------------------------------------------------------------------


@routes.page("/close")
def closing(visit: Visit) -> Response:
    """What closing a period means, and up to when it was closed last."""
    last = visit.book.journal_page(Wanted(kind="close"), most=5)
    return visit.page("journal/close.html", closes=last.entries)


@routes.deed("/close", "close_period")
def close(visit: Visit) -> Response:
    """Nothing more is recorded as having happened before a moment."""
    from pourbook.times import minute

    visit.needed("when", visit.gettext("Closed up to"))
    visit.needed("reason", visit.gettext("Reason"))
    done = visit.book.close_period(visit.how)
    when = minute(done.until_us, visit.style.zone)
    return visit.to("/close", visit.gettext("Closed up to {when}.").format(when=when))
