"""The balances of the house as a page reads them: which there are, and what one shows now."""

from collections.abc import Collection
from typing import TYPE_CHECKING

from starlette.responses import Response

from pourbook.errors import PourbookError, Unknown
from pourbook.gauging.balance_lines import balance_addresses
from pourbook.station.asked import NotFound
from pourbook.station.balances import Balances
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.station.balances import Weight

__all__ = ["routes", "scales_of"]

routes = Routes()

_BALANCES = Balances()
"""Of the whole station: a line to a balance is opened once."""


def scales_of(visit: Visit) -> Collection[str]:
    """Names of the balances that the house has set."""
    return balance_addresses(visit.book.settings)


@routes.page("/balance/{name}/now", polls=True)
def weight_now(visit: Visit) -> Response:
    """What a balance shows: a part of a page that asks again and again."""
    weight: Weight | None = None
    refusal = None
    try:
        weight = _BALANCES.weight_now(visit.path["name"], visit.book.settings)
    except Unknown as error:
        raise NotFound(error.message, error.remedy) from error
    except PourbookError as error:
        refusal = error
    return visit.fragment("pouring/weight.html", weight=weight, refusal=refusal)
