"""One request, as the function that answers it sees it: who asks, what was typed, and how to answer."""

import json
from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any, Protocol
from urllib.parse import quote

from starlette.responses import JSONResponse, RedirectResponse, Response

from pourbook.actions.happening import Happening
from pourbook.codes.identifiers import kind_of, read
from pourbook.errors import Malformed, PourbookError, Unknown
from pourbook.house_style import HouseStyle
from pourbook.station.asked import NotFound
from pourbook.station.guard import csrf_of

if TYPE_CHECKING:
    from gettext import NullTranslations

    from pourbook.book.consequences import Recorded
    from pourbook.book.entries import Second
    from pourbook.station.asked import Asked, House, Person
    from pourbook.whole_book import Book

__all__ = ["SAID", "NotFound", "Visit"]

SAID = "pourbook-said"
"""Name of the cookie that carries words to the page shown next."""


class Templates(Protocol):
    """What makes pages out of templates."""

    def render(self, visit: "Visit", template: str, values: Mapping[str, Any]) -> str:
        """The text of a template for one request."""

    def translations(self, language: str) -> "NullTranslations":
        """The catalogue of a language."""


class Visit:
    """One request: what is asked, by whom, and ways to answer.

    Attributes:
        book: every action and query.
        person: whoever asks.
        path: parts of the address by name.
        query: what stands behind the question mark.
        form: what was typed, by field; the last of several. `forms` has all of them.
        upload: the file that was sent, if the route takes one.
        method: GET or POST.
        is_partial: a part of a page is asked for, by the page itself.
        is_scan: that page sends on what was scanned in its task.
        house: what the station was started with.
        client: address of the machine that asks; `device` is what its browser calls itself.
        cookies: that it sent.
    """

    def __init__(self, book: "Book", person: "Person", house: "House", asked: "Asked", templates: Templates) -> None:
        self.book, self.person, self.house = book, person, house
        self._templates, self._asked = templates, asked
        self.path, self.query, self.upload = asked.path, asked.query, asked.upload
        # No page repeats a PIN.
        self.forms = {name: values for name, values in asked.forms.items() if name != "second_pin"}
        self.form = {name: values[-1] for name, values in self.forms.items()}
        self._second_pin = asked.forms.get("second_pin", [""])[-1]
        self.is_partial, self.is_scan = asked.is_partial, asked.is_scan
        self.address, self.origin, self.method = asked.address, asked.origin, asked.method
        self.client, self.device, self.cookies = asked.client, asked.device, asked.cookies

    # -- who, when and where ---------------------------------------------------------------

    @cached_property
    def style(self) -> HouseStyle:
        """How the house writes."""
        return HouseStyle(self.book.settings)

    @property
    def csrf(self) -> str:
        """What a form of this page must hold."""
        return csrf_of(self.book.beside.secret, self.person.token)

    @property
    def how(self) -> Happening:
        """The circumstances: whoever is signed in, now, here; a reason and a yes as far as the form has them."""
        when = self.typed("when")
        return Happening(
            self.person.name, self.style.moment(when) if when else None, self.house.name, self.typed("reason"),
            bool(self.typed("confirm")), login=self.person.name, second=self._second,
        )  # fmt: skip

    @property
    def wants_two(self) -> bool:
        """Whether the house wants a second person for anything."""
        return bool(self.book.settings["two_people"])

    @cached_property
    def _second(self) -> "Second | None":
        """The second person, whose account stands for their key."""
        who = self.typed("second")
        if not who and not self._second_pin:
            return None
        from pourbook.actions.accounts import second_person  # few deeds need one
        from pourbook.book.entries import Second

        if not who or not self._second_pin:
            raise Malformed(self.gettext("A second person has a name and a PIN."), self.gettext("fill in both"))
        return Second(second_person(self.book, who, self._second_pin, self.client))

    def may(self, *actions: str) -> bool:
        """Whether whoever asks may do all of these, for buttons that are shown or not."""
        from pourbook.actions.roles import roles_of

        return self.person.role in roles_of(*actions)

    # -- what was asked --------------------------------------------------------------------

    def typed(self, field: str) -> str:
        """What was typed into a field, without blanks around it; empty where nothing was."""
        return self.form.get(field, "").strip()

    def needed(self, field: str, called: str) -> str:
        """As `typed`; a field left empty is refused by the name that the page calls it."""
        if text := self.typed(field):
            return text
        raise Malformed(self.gettext("“{field}” was left empty").format(field=called), self.gettext("fill it in"))

    def item(self, *kinds: str, part: str = "item") -> str:
        """The identifier in the address, as the book writes it.

        Raises:
            NotFound: it is no identifier (400), or not in the book, or of another kind (404).
        """
        text = self.path[part]
        try:
            identifier = read(text)
        except PourbookError as error:
            raise NotFound(error.message, error.remedy, status=400) from error
        if identifier is None:
            raise NotFound(f"'{text}' is no identifier", "scan the label, or search for the name")
        try:
            found = self.book.find(identifier)
        except Unknown as error:
            raise NotFound(error.message, error.remedy) from error
        if kinds and kind_of(found) not in kinds:
            raise NotFound(f"'{text}' is a {kind_of(found)}", "")
        return found

    # -- words -----------------------------------------------------------------------------

    @property
    def language(self) -> str:
        """Language of the page by its code, such as en."""
        return self._asked.language

    def gettext(self, text: str) -> str:
        """A sentence in the language of whoever reads."""
        return self._templates.translations(self.language).gettext(text)

    def ngettext(self, one: str, many: str, count: int) -> str:
        """A sentence about a number of things."""
        return self._templates.translations(self.language).ngettext(one, many, count)

    # -- answers ---------------------------------------------------------------------------

    def page(self, template: str, /, status: int = 200, **values: Any) -> Response:  # noqa: ANN401 (values of a page)
        """A whole page."""
        response = Response(self.rendered(template, **values), status, media_type="text/html")
        if self._asked.said:
            response.delete_cookie(SAID, path="/")
        return response

    def fragment(self, template: str, /, status: int = 200, **values: Any) -> Response:  # noqa: ANN401
        """A part of a page, put in its place by the page."""
        return Response(self.rendered(template, **values), status, media_type="text/html")

    def rendered(self, template: str, /, **values: Any) -> str:  # noqa: ANN401
        """The text of a template."""
        return self._templates.render(self, template, values)

    def to(
        self, address: str, said: str = "", outcome: str = "good", *, recorded: "Recorded | None" = None
    ) -> Response:  # fmt: skip
        """On to another page of the station, which says these words, and whether what was `recorded` names nobody."""
        if recorded is not None and recorded.is_second_unneeded:
            unneeded = self.gettext("The house wants no second person for this, so the journal does not name one.")
            said = f"{said} {unneeded}"
        response: Response = RedirectResponse(address, 303)
        if self.is_partial:
            response = Response(status_code=204, headers={"HX-Redirect": response.headers["location"]})
        return self._with_said(response, said, outcome) if said else response

    def _with_said(self, response: Response, said: str, outcome: str) -> Response:
        """The response, with words for the page after it."""
        kept, is_secure = quote(json.dumps({"said": said[:900], "outcome": outcome})), self.house.is_encrypted
        response.set_cookie(SAID, kept, max_age=30, path="/", httponly=True, samesite="lax", secure=is_secure)
        return response

    def said_before(self) -> Mapping[str, str] | None:
        """What the page before this one had to say."""
        return self._asked.said

    @staticmethod
    def json(document: Any, status: int = 200) -> Response:  # noqa: ANN401 (whatever JSON can hold)
        """A document for a script of the page."""
        return JSONResponse(document, status, {"Content-Disposition": 'attachment; filename="answer.json"'})

    @staticmethod
    def file(content: bytes, name: str, media_type: str = "application/pdf") -> Response:
        """A file to be looked at or kept."""
        plain = "".join(letter if letter.isalnum() or letter in "-_." else "-" for letter in name if letter.isascii())
        shown = f"inline; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"
        return Response(content, media_type=media_type, headers={"Content-Disposition": shown})
