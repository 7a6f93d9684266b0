"""The pages of the engineer and the auditor: file reports, audit a folder."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from starlette.responses import Response
from starlette.routing import Route

from reportgen.browser.desk import FIELD_LIMIT, go_to, told
from reportgen.browser.guard import RefusedError
from reportgen.browser.office_views import FILED_NAME, audit_view, audited, file_view, filed, submittal_file
from reportgen.browser.signing_pages import identity_of
from reportgen.errors import ReportgenError

if TYPE_CHECKING:
    from starlette.datastructures import FormData
    from starlette.requests import Request

    from reportgen.browser.desk import Desk

_MOST_ROOTS = 8


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of filing and of an audit."""
    office = Office(desk)
    return [
        Route("/file", office.file, methods=["GET"]),
        Route("/file", office.filed, methods=["POST"]),
        Route("/file/{name}", office.submittal, methods=["GET"]),
        Route("/audit", office.audit, methods=["GET"]),
        Route("/audit", office.audited, methods=["POST"]),
    ]


class Office:
    """Reports filed in one submittal, and a folder audited."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._reasons: list[dict[str, Any]] = []

    async def file(self, _: Request) -> Response:
        """Show what there is to file, and what is missing or open."""
        view = await self.desk.workers.slow(file_view, self.desk.folder, self.desk.say.language)
        head = {"body": view.pop("body"), "what": view.pop("what"), "links": self._links("file")}
        return self.desk.page("file.html", {**view, "head": head})

    async def filed(self, request: Request) -> Response:
        """Enclose the reports in one signed file."""
        async with request.form(max_files=_MOST_ROOTS + 1, max_fields=12, max_part_size=FIELD_LIMIT) as form:
            identity, roots = await identity_of(form), await _roots(form)
            given = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
        passphrase = given.pop("passphrase", "")
        if not identity or not passphrase:
            return self.desk.page("refused.html", {"refused": [self.desk.say("sign.needs")]})
        work = (self.desk.folder, self.desk.say.language, identity, passphrase, given, roots)
        try:
            view = await self.desk.workers.slow(filed, *work)
        except ReportgenError as error:
            return self.desk.page("refused.html", {"refused": [told(self.desk.say, error)]})
        return self.desk.page("filed.html", view)

    async def submittal(self, request: Request) -> Response:
        """Give a submittal out as it was made."""
        name = request.path_params["name"]
        if not FILED_NAME.match(name):
            raise RefusedError(404, "no such page")
        data = await self.desk.workers.quick(submittal_file, self.desk.folder, name)
        headers = {"content-disposition": f'attachment; filename="{name}"'}
        return Response(data, media_type="application/pdf", headers=headers)

    async def audit(self, request: Request) -> Response:
        """Show the last audit of the folder, and the answer to one question."""
        given = request.query_params
        asked = tuple(given.get(name, "").strip()[:200] for name in ("verdict", "ask", "value"))
        work = (self.desk.folder, self.desk.say.language, *asked, self._reasons)
        try:
            view = await self.desk.workers.slow(audit_view, *work)
        except ReportgenError as error:
            raise RefusedError(404, error.message) from None
        head = {"body": "reportgen", "what": view["folder"], "links": self._links("audit")}
        return self.desk.page("audit.html", {**view, "head": head})

    async def audited(self, request: Request) -> Response:
        """Audit the folder."""
        async with request.form(max_files=_MOST_ROOTS, max_fields=4, max_part_size=FIELD_LIMIT) as form:
            roots, quick = await _roots(form), form.get("quick") == "yes"
        try:
            self._reasons = await self.desk.workers.slow(partial(audited, quick=quick), self.desk.folder, roots)
        except ReportgenError as error:
            return self.desk.page("refused.html", {"refused": [told(self.desk.say, error)]})
        return go_to("/audit")

    def _links(self, here: str) -> list[dict[str, Any]]:
        return [
            {"to": to, "name": self.desk.say(f"nav.{name}"), "here": name == here}
            for name, to in (("contract", "/"), ("file", "/file"), ("audit", "/audit"))
        ]


async def _roots(form: FormData) -> list[bytes]:
    files = [one for one in form.getlist("trust") if not isinstance(one, str)]
    return [data for data in [await one.read() for one in files] if data]
