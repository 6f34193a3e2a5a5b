"""Templates of the pages: figures and times as the house writes them, words in the language of whoever reads."""

import gettext
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from hashlib import sha256
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, pass_context

from pourbook.codes.identifiers import hyphened, is_identifier, kind_of
from pourbook.station.sentences import Forms
from pourbook.station.typed import with_unit
from pourbook.texts import shortened_references
from pourbook.words.figure_words import in_litres, percent, strength_words

if TYPE_CHECKING:
    from jinja2.runtime import Context

    from pourbook.station.visit import Visit

__all__ = ["LANGUAGES", "STATIC", "Templates"]

_HERE = Path(__file__).resolve().parent
_FONTS = _HERE.parent / "fonts"
_LOCALE = _HERE / "locale"

LANGUAGES = {"en": "English", "de": "Deutsch"}
"""Languages of the pages, each by its own name."""


def _static_files() -> dict[str, Path]:
    own = {path.relative_to(_HERE / "static").as_posix(): path for path in (_HERE / "static").rglob("*")}
    fonts = {f"fonts/{path.name}": path for path in _FONTS.glob("*.ttf")}
    return {name: path for name, path in (own | fonts).items() if path.is_file()}


STATIC = _static_files()
"""Files that are served as they are, by the name in their address: nothing else can be asked for."""


@lru_cache(maxsize=256)
class _Whole:
    """A text of which everything is shown, with what stands in the chain for people: a hash is worked out from it."""

    __slots__ = ("_text",)

    def __init__(self, text: str) -> None:
        self._text = text

    def __html__(self) -> str:
        return escape(self._text)


def _finalized(value: object) -> object:
    """A value as it is shown: nobody by the whole of what stands in the chain for them."""
    if not isinstance(value, str) or "person:" not in value:
        return value
    return type(value)(shortened_references(value))


def _address_of(name: str) -> str:
    """The address of a file; it changes with what is in it, so that no browser keeps an old one."""
    return f"/static/{name}?v={sha256(STATIC[name].read_bytes()).hexdigest()[:12]}"


class Templates:
    """The templates and their language."""

    def __init__(self, addresses: Iterable[str]) -> None:
        """`addresses` of pages there are, so that none is led to that is not."""
        told = {"static": _address_of, "static_files": STATIC, "languages": LANGUAGES}
        told |= {"addresses": frozenset(addresses)}
        self._in = {language: self._environment(language, told) for language in LANGUAGES}

    def _environment(self, language: str, told: Mapping[str, Any]) -> Environment:
        """One for each language: an overlay would share the words of the language that was installed last."""
        environment = Environment(
            loader=FileSystemLoader(_HERE / "templates"), autoescape=True, trim_blocks=True, lstrip_blocks=True,
            undefined=StrictUndefined, extensions=["jinja2.ext.i18n", "jinja2.ext.do"], finalize=_finalized,
        )  # fmt: skip
        environment.globals.update(told)
        environment.filters.update(
            hyphened=hyphened, kind=kind_of, is_identifier=is_identifier, litres=_litres, percent=_percent,
            strength=_strength, figure=_figure, day=_day, moment=_moment, named=_named, told=_told, advice=_advice,
            called=_called, age=_age, exactly=_exactly, with_unit=with_unit, whole=_Whole,
        )  # fmt: skip
        environment.install_gettext_translations(self.translations(language), newstyle=True)  # type: ignore[attr-defined]
        return environment

    @staticmethod
    @lru_cache
    def translations(language: str) -> gettext.NullTranslations:
        """The catalogue of a language; English needs none."""
        return gettext.translation("station", _LOCALE, [language], fallback=True)

    def render(self, visit: "Visit", template: str, values: Mapping[str, Any]) -> str:
        """The text of a template for one request."""
        environment = self._in.get(visit.language) or self._in["en"]
        return environment.get_template(template).render(visit=visit, style=visit.style, person=visit.person, **values)


def _of(context: "Context") -> "Visit":
    visit: Visit = context["visit"]
    return visit


@pass_context
def _litres(context: "Context", volume_ml: float) -> str:
    return in_litres(volume_ml, _of(context).style.mark)


@pass_context
def _percent(context: "Context", share: float | None) -> str:
    return percent(share, _of(context).style.mark)


@pass_context
def _strength(context: "Context", strength_20c: float | None, pending: Any = ()) -> str:  # noqa: ANN401
    return strength_words(strength_20c, _of(context).style.mark, pending)


@pass_context
def _figure(context: "Context", value: float | None, digits: int = 2) -> str:
    return "–" if value is None else _of(context).style.shown(value, digits)


@pass_context
def _day(context: "Context", moment_us: int) -> str:
    from pourbook.times import day_shown

    return day_shown(moment_us, _of(context).style.zone)


@pass_context
def _moment(context: "Context", moment_us: int) -> str:
    from pourbook.times import minute

    return minute(moment_us, _of(context).style.zone)


@pass_context
def _told(context: "Context", sentence: str) -> str:
    """A sentence of the book's, in the language of whoever reads, with its items named as people know them."""
    visit = _of(context)
    return _named(context, _forms(visit.language).told(sentence))


@pass_context
def _advice(context: "Context", remedy: str) -> str:
    """What to do next, without what is typed into the command: a page has its own forms for that."""
    if not _COMMAND.search(remedy) and (whole := _told(context, remedy)) != remedy:
        return whole
    parts = [part for part in remedy.split("; ") if not _COMMAND.search(part)]
    return "; ".join(_told(context, part) for part in parts)


_COMMAND = re.compile(r"\bpourbook |(?<![\w-])--\w")


@lru_cache
def _forms(language: str) -> Forms:
    """Forms of sentences in a language; English needs none."""
    known = getattr(Templates.translations(language), "_catalog", {})
    return Forms({form: told for form, told in known.items() if isinstance(form, str) and form and form != told})


@pass_context
def _named(context: "Context", sentence: str) -> str:
    """A sentence with its items named as people know them."""
    from pourbook.queries.items.called import named_in

    return named_in(_of(context).book, sentence)


@pass_context
def _called(context: "Context", item: str) -> str:
    """What people call an item, beside its identifier; empty for what is no item."""
    return _named(context, hyphened(item)).partition(" · ")[2] if is_identifier(item) else ""


@pass_context
def _age(context: "Context", wood: Any) -> str:  # noqa: ANN401 (a WoodTime, an Age or None)
    """A time in wood, in completed years and days."""
    from pourbook.lineage.ages import Age, age_of

    visit = _of(context)
    age = wood if isinstance(wood, Age) else age_of(wood, visit.style.zone)
    if age is None:
        return visit.gettext("unknown")
    years = visit.ngettext("%(count)s year", "%(count)s years", age.years) % {"count": age.years}
    return f"{years} {visit.ngettext('%(count)s day', '%(count)s days', age.days) % {'count': age.days}}"


@pass_context
def _exactly(context: "Context", value: float) -> str:
    """A figure with every digit that it has, to be worked with."""
    return str(value).replace(".", _of(context).style.mark)
