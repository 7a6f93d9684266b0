"""The pages of the engineer and the auditor: file reports, audit a folder."""

from __future__ import annotations

import contextlib
import os
import tempfile
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import Response
from starlette.routing import Route

from reportgen.browser.contents import objection_text
from reportgen.browser.desk import FIELD_LIMIT, go_to
from reportgen.browser.guard import RefusedError
from reportgen.browser.office_views import FILED_NAME, audit_view, audited, file_view, filed, submittal_file
from reportgen.browser.signing_pages import MOST_ROOTS, files_of, identity_of
from reportgen.errors import ReportgenError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from starlette.requests import Request

    from reportgen.browser.desk import Desk

_MOST_REPORTS = 2000


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of filing and of an audit."""
    office = Office(desk)
    return [
        Route("/file", office.file, methods=["GET"]),
        Route("/file", office.filed, methods=["POST"]),
        Route("/file/{name}", office.submittal, methods=["GET"]),
        Route("/audit", office.audit, methods=["GET"]),
        Route("/audit", office.audited, methods=["POST"]),
        Route("/audit/progress", office.progress, methods=["GET"]),
        Route("/audit/audit.pdf", office.audit_pdf, methods=["GET"]),
    ]


class Office:
    """Reports filed in one submittal, and a folder audited."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk
        self._told: dict[str, Any] = {"reasons": [], "policy": "", "pdf": b""}
        self._counting: Path | None = None

    async def file(self, _: Request) -> Response:
        """Show what there is to file, and what is missing or open."""
        view = await self.desk.workers.slow(file_view, self.desk.folder, self.desk.say.language)
        head = {"body": view.pop("body"), "what": view.pop("what"), "links": self._links("file")}
        return self.desk.page("file.html", {**view, "head": head})

    async def filed(self, request: Request) -> Response:
        """Enclose the reports in one signed file."""
        fields = 12 + _MOST_REPORTS
        async with request.form(max_files=MOST_ROOTS + 2, max_fields=fields, max_part_size=FIELD_LIMIT) as form:
            identity, roots = await identity_of(form), await files_of(form, "trust")
            policy = next(iter((await files_of(form, "policy")).values()), b"")
            chosen = [one for one in form.getlist("report") if isinstance(one, str)]
            given = {name: value.strip() for name, value in form.items() if isinstance(value, str)}
        passphrase = given.pop("passphrase", "")
        if not identity or not passphrase or not chosen:
            why = self.desk.say("sign.needs" if chosen else "file.choose")
            return self.desk.page("refused.html", {"refused": [why]})
        work = (self.desk.folder, self.desk.say.language, identity, passphrase, given, chosen, roots, policy)
        try:
            view = await self.desk.workers.slow(filed, *work)
        except ReportgenError as error:
            return self.desk.page("refused.html", {"refused": [self.desk.told(error)]})
        found = [(one, objection_text(self.desk.say, one)) for one in view["notices"]]
        notices = [{"text": self.desk.within(text), "translated": text != one} for one, text in found]
        return self.desk.page("filed.html", {**view, "notices": notices})

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
        work = (self.desk.folder, self.desk.say.language, *asked, self._told)
        try:
            view = await self.desk.workers.slow(audit_view, *work)
        except ReportgenError as error:
            raise RefusedError(404, error.message) from None
        head = {"body": "reportgen", "what": view["folder"], "links": self._links("audit")}
        return self.desk.page("audit.html", {**view, "head": head})

    async def audited(self, request: Request) -> Response:
        """Audit the folder, by the policy of whoever audits where one is given."""
        async with request.form(max_files=MOST_ROOTS + 1, max_fields=4, max_part_size=FIELD_LIMIT) as form:
            roots, policy = await files_of(form, "trust"), await files_of(form, "policy")
            quick = form.get("quick") == "yes"
        if self._counting is not None:
            return self.desk.page("refused.html", {"refused": [self.desk.say("audit.runs")]})
        with self._counted() as count:
            work = partial(audited, quick=quick, policy=next(iter(policy.values()), b""), count=count)
            try:
                self._told = await self.desk.workers.slow(work, self.desk.folder, self.desk.say.language, roots)
            except ReportgenError as error:
                return self.desk.page("refused.html", {"refused": [self.desk.told(error)]})
        return go_to("/audit")

    async def progress(self, _: Request) -> Response:
        """Say how far the audit is that runs; nothing where none does."""
        if self._counting is None:
            return Response("", media_type="text/plain")
        done, __, count = self._counting.read_text("ascii").partition(" ")
        said = self.desk.say("audit.progress", done=done, count=count) if count else self.desk.say("audit.begun")
        return Response(said, media_type="text/plain")

    async def audit_pdf(self, _: Request) -> Response:
        """Give the last audit out as a PDF."""
        if not self._told["pdf"]:
            raise RefusedError(404, "no such page")
        headers = {"content-disposition": 'attachment; filename="audit.pdf"'}
        return Response(self._told["pdf"], media_type="application/pdf", headers=headers)

    @contextlib.contextmanager
    def _counted(self) -> Iterator[Path]:
        """Yield the file into which the worker writes how far it is; it is there while an audit runs."""
        descriptor, name = tempfile.mkstemp(prefix="reportgen-")
        os.close(descriptor)
        self._counting = Path(name)
        try:
            yield self._counting
        finally:
            self._counting = None
            Path(name).unlink(missing_ok=True)

    def _links(self, here: str) -> list[dict[str, Any]]:
        return [
            {"to": to, "name": self.desk.say(f"nav.{name}"), "here": name == here}
            for name, to in (("contract", "/"), ("file", "/file"), ("audit", "/audit"))
        ]
