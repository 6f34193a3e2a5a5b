"""Papers that are recorded as they are printed, sent to the browser."""

from typing import TYPE_CHECKING

from starlette.responses import Response

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Printed
    from pourbook.station.visit import Visit

__all__ = ["printed_file"]


def printed_file(visit: "Visit", printed: "Printed") -> Response:
    """The PDF of a paper, under the name that a file of it would have; of several, the first."""
    path, content = next(iter(printed.files.items()))
    return visit.file(content, path.name)
