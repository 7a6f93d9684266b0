"""The terms of the contract by form: fields of the project file, and entries that are added to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.routing import Route

from reportgen.browser.contents import diagnostic_text
from reportgen.browser.desk import go_to, typed
from reportgen.browser.shift_pages import DRAWN, unreadable
from reportgen.browser.terms_views import field_refused, terms_entered, terms_view
from reportgen.errors import InputError, ReportgenError
from reportgen.pipeline.terms import PROJECT_NAME

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response

    from reportgen.browser.desk import Desk


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of the terms."""
    terms = TermsPages(desk)
    return [
        Route("/terms", terms.show, methods=["GET"]),
        Route("/terms/write", terms.write, methods=["POST"]),
        Route("/terms/add", terms.add, methods=["POST"]),
        Route("/terms/field", terms.field, methods=["POST"]),
    ]


class TermsPages:
    """The page of the terms, and what is written on it."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    async def show(self, request: Request, *, part: bool = False, **headers: str) -> Response:
        """Show the terms, or the main part and margin alone, as after something was written."""
        del request
        try:
            view = await self.desk.workers.quick(terms_view, self.desk.folder, self.desk.say.language)
        except InputError as error:
            return unreadable(self.desk, error, PROJECT_NAME)
        self.desk.contract_language = view.pop("language")
        links = [{"to": "/", "name": self.desk.say("nav.contract"), "here": False},
                 {"to": "/terms", "name": self.desk.say("nav.terms"), "here": True}]  # fmt: skip
        head = {"body": view.pop("body"), "what": view.pop("what"), "links": links}
        base = "part.html" if part else "base.html"
        shown = {**view, "head": head, "last": self.desk.last(PROJECT_NAME), "base": base}
        return self.desk.page("terms.html", shown, headers=headers)

    async def write(self, request: Request) -> Response:
        """Write a field of the project file, or take back what was written last."""
        given = await typed(request)
        if "keep" in given:
            self.desk.keep(PROJECT_NAME, given.get("of", ""))
            return await self.show(request, part=True, **DRAWN)
        what, view = await self._entered(request, given)
        if what != "wrote":
            return self.desk.page(f"{what}.html", view)
        return await self.show(request, part=True, **DRAWN)

    async def add(self, request: Request) -> Response:
        """Add an entry to the project file."""
        given = await typed(request)
        what, view = await self._entered(request, given)
        if what == "wrote":
            return go_to("/terms")
        if what == "conflict":
            return self.desk.page("refused.html", {"refused": [self.desk.say("terms.there", where=view["where"])]})
        return self.desk.page(f"{what}.html", view)

    async def field(self, request: Request) -> Response:
        """Say of a field of a form, when it is left, why it cannot stand; nothing where it can."""
        given = await typed(request)
        why = field_refused(self.desk.say, given, request.query_params.get("asked", ""))
        return self.desk.page("refused.html", {"refused": [why] if why else []})

    async def _entered(self, request: Request, given: dict[str, str]) -> tuple[str, dict[str, Any]]:
        del request
        of = given.get("of", "")
        try:
            what, view, wrote = await self.desk.workers.quick(
                terms_entered, self.desk.folder, self.desk.say.language, given, self.desk.to_undo(PROJECT_NAME, of)
            )
        except InputError as error:
            lines = [f"{one.spans[0].line}: {diagnostic_text(self.desk.say, one)}" for one in error.diagnostics]
            return "refused", {"refused": lines[:1]}
        except ReportgenError as error:
            keep = "undo" in given and self.desk.to_undo(PROJECT_NAME, of) is not None
            return "refused", {"refused": [self.desk.told(error)], "keep": keep, "of": of}
        if what == "wrote":
            self.desk.wrote(PROJECT_NAME, view, wrote, of)
        return what, view
