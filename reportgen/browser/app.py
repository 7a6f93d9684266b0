"""The addresses, and what answers when something goes wrong: what a person can do, and nothing of ourselves."""

from __future__ import annotations

import sys
import traceback
from importlib import resources
from pathlib import PurePosixPath
from typing import TYPE_CHECKING, Final

from starlette.applications import Starlette
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route

from reportgen.browser import contract_pages, head_pages, office_pages, shift_pages, signing_pages, terms_pages
from reportgen.browser.desk import DAY_NAME, Desk
from reportgen.browser.guard import RefusedError
from reportgen.errors import ReportgenError

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.requests import Request

    from reportgen.browser.guard import Keys
    from reportgen.browser.workers import Workers

_STATIC: Final = {
    "open.css": ("reportgen.browser", "static", "text/css"),
    "open.js": ("reportgen.browser", "static", "text/javascript"),
    "icon.svg": ("reportgen.browser", "static", "image/svg+xml"),
    "htmx.min.js": ("reportgen.browser", "static", "text/javascript"),
    "ReportSans-Regular.ttf": ("reportgen.pdf", "data/fonts", "font/ttf"),
    "ReportSans-SemiBold.ttf": ("reportgen.pdf", "data/fonts", "font/ttf"),
    "ReportSans-Italic.ttf": ("reportgen.pdf", "data/fonts", "font/ttf"),
}
"""Everything that is no page: package, folder and type. The fonts are those of the report."""


def pages(folder: Path, workers: Workers, keys: Keys, *, language: str | None = None) -> Starlette:
    """Return the application that shows a contract folder; ``Guard`` stands before it."""
    desk = Desk(folder, workers, keys, language)
    made = Starlette(
        routes=[
            Route("/static/{name}", _static),
            Route("/favicon.ico", _icon),
            *contract_pages.routes(desk),
            *terms_pages.routes(desk),
            *office_pages.routes(desk),
            *signing_pages.routes(desk),
            *head_pages.routes(desk),
            *shift_pages.routes(desk),
        ],
        exception_handlers={RefusedError: _refused, ReportgenError: _failed, Exception: _fault},
    )
    made.state.desk = desk
    return made


async def _static(request: Request) -> Response:
    name = request.path_params["name"]
    if name not in _STATIC:
        raise RefusedError(404, "no such page")
    package, folder, kind = _STATIC[name]
    return Response(resources.files(package).joinpath(folder, name).read_bytes(), media_type=kind)


async def _icon(_: Request) -> Response:
    icon = resources.files("reportgen.browser").joinpath("static/icon.svg")
    return Response(icon.read_bytes(), media_type="image/svg+xml")


async def _refused(_: Request, error: Exception) -> Response:
    assert isinstance(error, RefusedError)  # noqa: S101 - it is registered for no other
    return PlainTextResponse(error.why, error.status)


async def _failed(request: Request, error: Exception) -> Response:
    """Say what went wrong: on a page that leads on where one was asked for, else in a line."""
    assert isinstance(error, ReportgenError)  # noqa: S101 - it is registered for no other
    if request.method == "GET" and not PurePosixPath(request.url.path).suffix[1:].isalpha():
        return _in_its_frame(request, error)
    return PlainTextResponse(f"{error.message}. {error.help_text or ''}".strip(), 422)


def _in_its_frame(request: Request, error: ReportgenError) -> Response:
    desk: Desk = request.app.state.desk
    links = [{"to": "/", "name": desk.say("nav.contract"), "here": False}]
    day = request.path_params.get("day", "")
    if DAY_NAME.match(day):
        links.append({"to": f"/shift/{day}", "name": desk.say("nav.shift"), "here": False})
    head = {"body": "reportgen", "what": day, "links": links}
    answer = desk.page("failed.html", {"head": head, "text": desk.told(error), "links": links})
    answer.status_code = 422
    return answer


async def _fault(_: Request, error: Exception) -> Response:
    """Answer a bug of ours: where it is goes to the window of the program, without any value that was sent."""
    sys.stderr.write(f"reportgen: internal error ({type(error).__name__}). This is a bug of the program:\n")
    told = getattr(error, "__notes__", None) or traceback.format_tb(error.__traceback__)
    sys.stderr.write("".join(told))
    return PlainTextResponse("a bug of reportgen; the window of the program says where", 500)
