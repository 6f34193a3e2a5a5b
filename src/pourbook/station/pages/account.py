"""The account of a period, the entries behind its figures, its declaration; and what casks lose in a year."""

from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple
from urllib.parse import urlencode

from starlette.responses import Response

from pourbook.errors import Malformed
from pourbook.queries.accounts.account import Period
from pourbook.station.pages.printed import printed_file
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.queries.accounts.declared import Rounding

__all__ = ["routes"]

routes = Routes()

_GROUPINGS = ("owner", "duty", "warehouse", "kind", "spirit", "site")
_MOST = 500


class _Asked(NamedTuple):
    """A period as it was typed, and the groupings that were chosen."""

    first: str
    last: str
    by: tuple[str, ...]

    @property
    def narrowing(self) -> str:
        """As it stands behind a question mark."""
        return urlencode([("first", self.first), ("last", self.last), *((f"by_{one}", "yes") for one in self.by)])


def _asked(typed: "Mapping[str, str]") -> _Asked:
    by = tuple(one for one in _GROUPINGS if typed.get(f"by_{one}"))
    return _Asked(typed.get("first", "").strip(), typed.get("last", "").strip(), by)


def _period(visit: Visit, asked: _Asked) -> Period:
    if not asked.first or not asked.last:
        raise Malformed(visit.gettext("a period has a first and a last day"), visit.gettext("give both"))
    return Period(visit.style.moment(asked.first), visit.style.end(asked.last), asked.by)


def _words(visit: Visit) -> dict[str, Any]:
    this_year = datetime.fromtimestamp(visit.book.clock() / 1e6, visit.style.zone).year
    return {
        "years": [(year, _Asked(f"{year}-01-01", f"{year}-12-31", ()).narrowing)
                  for year in range(this_year, this_year - 3, -1)],
        "groupings": (
            ("owner", visit.gettext("owner")), ("duty", visit.gettext("duty status")),
            ("warehouse", visit.gettext("warehouse")), ("kind", visit.gettext("kind")),
            ("spirit", visit.gettext("spirit")),
            *([("site", visit.gettext("site"))] if visit.book.is_group else ()),  # in all other books it says nothing
        ),
        "sides": {
            "opening": visit.gettext("opening"), "adjustment": visit.gettext("prior-period adjustment"),
            "in": visit.gettext("in"), "gain": visit.gettext("gains"), "out": visit.gettext("out"),
            "loss": visit.gettext("losses"), "contraction": visit.gettext("contraction"),
            "closing": visit.gettext("closing"),
        },
    }  # fmt: skip


@routes.page("/account")
def account(visit: Visit) -> Response:
    """Opening, in, gains, out, losses by disposition, closing; and what was declared of it."""
    from pourbook.queries.accounts.declared import figures
    from pourbook.words.account_words import declared_text, period_text

    asked = _asked(visit.query)
    if not (asked.first or asked.last):
        return visit.page("account/account.html", asked=asked, answer=None, **_words(visit))
    answer = visit.book.account(_period(visit, asked))
    found, declaration = answer
    zone = visit.style.zone
    groups = [(group.group, [one for one in figures(group, declaration) if one.is_seen])
              for group in ((*found.groups, found.total) if found.by else found.groups)]  # fmt: skip
    return visit.page(
        "account/account.html", asked=asked, answer=answer, groups=groups[:_MOST],
        period=period_text(found.start_us, found.end_us, zone),
        declared=declared_text(declaration, zone) if declaration else "", **_words(visit),
    )  # fmt: skip


@routes.page("/account/entries")
def behind(visit: Visit) -> Response:
    """The entries that add up to a figure."""
    from pourbook.queries.accounts.entries_behind import read_wanted

    asked = _asked(visit.query)
    wanted, group = visit.query.get("figure", "all"), visit.query.get("group", "")
    found = visit.book.account_entries(_period(visit, asked), read_wanted(wanted, group))
    return visit.page(
        "account/entries.html", asked=asked, wanted=wanted, group=group, found=found, most=_MOST, **_words(visit)
    )  # fmt: skip


@routes.page("/account.pdf")
def paper(visit: Visit) -> Response:
    """The account on paper, to look at; nothing is recorded."""
    from pourbook.paperwork.papers_looked_at import account_copy

    answer = visit.book.account(_period(visit, _asked(visit.query)))
    return visit.file(account_copy(visit.book, answer, visit.person.name), "account.pdf")


@routes.page("/account.csv")
def csv_file(visit: Visit) -> Response:
    """Its lines for a spreadsheet."""
    from pourbook.documents.accounts import csv_bytes, table

    answer = visit.book.account(_period(visit, _asked(visit.query)))
    return visit.file(csv_bytes(*table(answer)), "account.csv", "text/csv")


@routes.deed("/account/print", "print_period")
def printed(visit: Visit) -> Response:
    """Print it to leave the house; declare it first where a rounding rule is given: both, or nothing."""
    from pourbook.actions.print_paper import Output

    rule = _rule(visit) if visit.typed("rule") else None
    made = visit.book.print_period(visit.how, _period(visit, _asked(visit.form)), Output(), rule)
    assert made.printed is not None
    return printed_file(visit, made.printed)


@routes.deed("/account/declare", "declare")
def declare(visit: Visit) -> Response:
    """Freeze the figures of a closed period, each rounded by a rule."""
    asked = _asked(visit.form)
    visit.book.declare(visit.how, _period(visit, asked), _rule(visit))
    return visit.to(f"/account?{asked.narrowing}", visit.gettext("Declared: the figures stay as they are."))


def _rule(visit: Visit) -> "Rounding":
    from pourbook.queries.accounts.declared import read_rule

    return read_rule(visit.needed("rule", visit.gettext("Rounded by")), visit.style.mark)


# -- evaporation ----------------------------------------------------------------------------


@routes.page("/evaporation")
def evaporation(visit: Visit) -> Response:
    """What casks lose in a year, by their gauges, and what each should hold on a day."""
    from pourbook.documents.gauges import unexpected_words
    from pourbook.words.figure_words import give_or_take

    on, at = visit.query.get("on", "").strip(), visit.query.get("at", "").strip()
    cask, first = visit.query.get("cask", "").strip(), visit.query.get("from", "0")
    begins = int(first) if first.isdecimal() and len(first) < 12 else 0
    answer = visit.book.evaporation(
        [cask] if cask else (), visit.style.as_of(on or None), visit.style.as_of(at or None)
    )
    mark = visit.style.mark
    return visit.page(
        "account/evaporation.html", on=on, at=at, cask=cask, answer=answer, first=begins, most=100,
        casks=answer.casks[begins : begins + 100], band=lambda one, times=1: give_or_take(one, mark, times),
        far=lambda outside: unexpected_words(outside, visit.style),
    )  # fmt: skip
