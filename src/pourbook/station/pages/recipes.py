"""Recipes with the rules of the house, and components: the kinds of spirit that recipes are written on."""

from itertools import islice
from typing import Any
from urllib.parse import quote

from starlette.responses import Response

from pourbook.codes.identifiers import kind_of, readable
from pourbook.errors import Malformed, PourbookError, Unknown
from pourbook.queries.trials.family import relatives
from pourbook.queries.trials.rules_kept import rules_of_recipe
from pourbook.queries.trials.trial_list import trial_lines
from pourbook.station.pages.trials import parts_typed
from pourbook.station.routing import Routes
from pourbook.station.visit import NotFound, Visit
from pourbook.words.tried_words import mean_words

__all__ = ["routes"]

routes = Routes()

_A_PAGE = 100
_FEW = 20
_ROWS = 6
_FIELDS = ("spirit", "wood", "previous", "role", "bounds")


@routes.page("/recipes")
def recipes(visit: Visit) -> Response:
    """Every recipe as it stands, by name."""
    return visit.page("recipes/recipes.html", cards=visit.book.recipes())


@routes.page("/recipes/new")
def new_recipe(visit: Visit) -> Response:
    """The form for a recipe; of one that it is revised from, with its parts."""
    before = _card(visit, visit.query["from"]) if visit.query.get("from") else None
    parts = list(before.recipe.parts) if before else []
    names = [one.name for one in visit.book.components() if not one.gone]
    rows = [*parts, *[None] * max(2, _ROWS - len(parts))]
    return visit.page("recipes/new.html", before=before, rows=rows, components=names)


@routes.deed("/recipes/new", "write_recipe")
def recipe_written(visit: Visit) -> Response:
    """Write it."""
    name = visit.needed("name", visit.gettext("Name"))
    before, by = visit.typed("revised_from"), visit.typed("by")
    written = visit.book.write_recipe(visit.how, name, parts_typed(visit), before, by)
    return visit.to(_address("recipes", written.recipe.name), visit.gettext("Written."))


@routes.page("/recipes/{name:path}")
def recipe(visit: Visit) -> Response:
    """A recipe: parts, bounds, the rules of the house, and the trials that followed it."""
    card = _card(visit, visit.path["name"])
    name = readable(card.recipe.name)
    rules, broken = rules_of_recipe(visit.book, card)
    lines = trial_lines(visit.book, reversed(relatives(visit.book, card.recipe.name)))
    followed = (one for one in lines if readable(one.view.facts.get("follows", "")) == name)
    return visit.page(
        "recipes/recipe.html", card=card, rules=rules, broken=broken, followed=tuple(islice(followed, _FEW)),
        kinds=frozenset(one.name for one in visit.book.components()), mean_words=mean_words,
    )  # fmt: skip


def _card(visit: Visit, name: str) -> Any:  # noqa: ANN401 (a RecipeCard)
    try:
        return visit.book.recipe_card(name)
    except Unknown as error:
        raise NotFound(error.message, error.remedy) from error


def _address(room: str, name: str) -> str:
    return f"/{room}/{quote(name, safe='')}"


# -- components --------------------------------------------------------------------------


@routes.page("/components")
def components(visit: Visit) -> Response:
    """Kinds of spirit, and the form for another."""
    return visit.page("recipes/components.html", kinds=visit.book.components())


@routes.deed("/components", "write_component")
def component_written(visit: Visit) -> Response:
    """Write a component, or change the fields of one."""
    name = visit.needed("name", visit.gettext("Name"))
    changed: dict[str, Any] = {field: visit.typed(field) for field in _FIELDS}
    least, most = (_years(visit, field) for field in ("min_age", "max_age"))
    changed |= {"min_age": least or 0, "max_age": most, "gone": bool(visit.typed("gone"))}
    written = visit.book.write_component(visit.how, name, changed)
    return visit.to(_address("components", written.component.name), visit.gettext("Written."))


def _years(visit: Visit, field: str) -> int | None:
    text = visit.typed(field)
    if text and (not text.isdecimal() or len(text) > 3):
        said = visit.gettext("'{text}' is no number of years").format(text=text)
        raise Malformed(said, visit.gettext("write whole years in wood: 8"))
    return int(text) if text else None


@routes.page("/components/{name:path}")
def component(visit: Visit) -> Response:
    """A component: what is of its kind now, and why an item is not."""
    try:
        card = visit.book.component_card(visit.path["name"])
    except Unknown as error:
        raise NotFound(error.message, error.remedy) from error
    asked, refusal, misfits = visit.query.get("item", "").strip(), None, None
    if asked:
        try:
            asked = visit.book.find(asked)
            misfits = visit.book.misfits(card.component, asked) if kind_of(asked) in ("cask", "vial") else None
        except PourbookError as error:
            refusal = error
    return visit.page(
        "recipes/component.html", 200 if refusal is None else 422, card=card, qualifying=card.qualifying[:_A_PAGE],
        asked=asked, misfits=misfits, refusal=refusal,
    )  # fmt: skip
