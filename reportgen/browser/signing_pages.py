"""The pages on which a report is looked at, signed, opened and verified, and a revision is begun."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from reportgen.browser.desk import DAY_NAME, FIELD_LIMIT, go_to, typed
from reportgen.browser.guard import RefusedError
from reportgen.browser.report_views import (
    compare_view,
    countersigned,
    countersigned_copies,
    countersigner_of,
)
from reportgen.browser.sight import seen
from reportgen.browser.signing_views import (
    entries_put_back,
    identities,
    identity_made,
    inspector_of,
    issued_file,
    page_image,
    pages_view,
    report_image,
    report_view,
    revision_begun,
    signed,
    verified,
)
from reportgen.checker import checker_page
from reportgen.errors import InputError, ReportgenError
from reportgen.pipeline.preparing import StaleError

if TYPE_CHECKING:
    from pathlib import Path

    from starlette.datastructures import FormData
    from starlette.requests import Request

    from reportgen.browser.desk import Desk

MOST_ROOTS = 8


@dataclass(slots=True)
class Looked:
    """What was prepared for a day, and which of its pages were drawn and have been on the screen."""

    view: dict[str, Any]
    drawn: set[int] = field(default_factory=set)
    seen: set[int] = field(default_factory=set)

    @property
    def state(self) -> dict[str, Any]:
        """What the page says of it."""
        count = self.view.get("pages", 0)
        left = [number for number in range(1, count + 1) if number not in self.seen]
        return {**self.view, "seen": sorted(self.seen), "left": left}


def margin_of_day(day: Path, language: str) -> dict[str, Any]:
    """Return head and margin of a day's page."""
    return seen(day, language).common("pages")


class SigningPages:
    """Pages and signature, and issued reports."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    async def look(self, request: Request) -> Response:
        """Show what is to be signed, prepared anew unless a page of it is asked for."""
        day = self.desk.day(request)
        number = request.query_params.get("page", "")
        held = self.desk.prepared.get(day.stem)
        if held is None or not number.isdigit():
            held = self.desk.prepared[day.stem] = Looked(
                await self.desk.workers.slow(pages_view, day, self.desk.say.language)
            )
        try:
            common = await self.desk.workers.quick(margin_of_day, day, self.desk.say.language)
        except InputError:
            return RedirectResponse(f"/shift/{day.stem}", 303)
        page = int(number) if number.isdigit() else 1
        return self.desk.page("pages.html", {**common, **held.state, "page": page, "base": "base.html", "last": None})

    async def image(self, request: Request) -> Response:
        """Draw a page of what was prepared."""
        day, number, sha256 = self.desk.day(request), int(request.path_params["number"]), request.path_params["sha256"]
        data = await self.desk.workers.slow(page_image, day, sha256, number)
        held = self.desk.prepared.get(day.stem)
        if held is not None and held.view.get("sha256") == sha256:
            held.drawn.add(number)
        return Response(data, media_type="image/png")

    async def on_screen(self, request: Request) -> Response:
        """Note that a page has been on the screen, down to its end."""
        day, given = self.desk.day(request), await typed(request)
        held, number = self.desk.prepared.get(day.stem), given.get("page", "")
        if held is None or held.view.get("sha256") != given.get("sha256") or not number.isdigit():
            raise RefusedError(404, "no such page")
        if int(number) in held.drawn:
            held.seen.add(int(number))
        return self.desk.page("sign.html", {**held.state, "page": int(number), "day": day.stem})

    async def sign(self, request: Request) -> Response:
        """Sign and issue what was looked at."""
        day = self.desk.day(request)
        async with request.form(max_files=1, max_fields=4, max_part_size=FIELD_LIMIT) as form:
            passphrase, sha256 = form.get("passphrase"), form.get("sha256")
            identity = await identity_of(form)
        held = self.desk.prepared.get(day.stem)
        if held is None or held.state["left"] or held.view.get("sha256") != sha256:
            return self.no([self.desk.say("sign.not-seen")])
        if not identity or not isinstance(passphrase, str) or not passphrase:
            return self.no([self.desk.say("sign.needs")])
        try:
            number, revision = await self.desk.workers.slow(signed, day, sha256, identity, passphrase)
        except StaleError as error:
            self.desk.prepared.pop(day.stem, None)
            view = {"pages": held.view["pages"], "day": day.stem, "seen": [], "left": [1], "again": True}
            return self.desk.page("stale.html", {**view, "refused": [self.desk.told(error)]})
        except ReportgenError as error:
            return self.no([self.desk.told(error)])
        self.desk.prepared.pop(day.stem, None)
        self.desk.forget(day.stem)
        return go_to(f"/report/{number}/{revision}")

    async def identity(self, request: Request) -> Response:
        """Make an identity for the inspector."""
        day, given = self.desk.day(request), await typed(request)
        made = await self._made(given, inspector_of, day)
        if not isinstance(made, str):
            return made
        held = self.desk.prepared.get(day.stem)
        if held is None:
            return go_to(f"/shift/{day.stem}/pages")
        held.view |= await self.desk.workers.slow(identities, self.desk.folder, made)  # what was seen stays seen
        page = given.get("page", "")
        return go_to(f"/shift/{day.stem}/pages?page={page if page.isdigit() else 1}")

    async def own_identity(self, request: Request) -> Response:
        """Make an identity for somebody whose signature an issued report awaits."""
        (number, revision), given = _named(request), await typed(request)
        made = await self._made(given, countersigner_of, self.desk.folder, number, revision, given.get("field", ""))
        return go_to(f"/report/{number}/{revision}") if isinstance(made, str) else made

    async def _made(self, given: dict[str, str], whose: Any, *of: Any) -> str | Response:
        """Return for whom an identity was made, or what refuses it."""
        passphrase = given.get("passphrase", "")
        if not passphrase or passphrase != given.get("again"):
            return self.no([self.desk.say("sign.passphrases")])
        try:
            name, organisation = await self.desk.workers.quick(whose, *of)
            await self.desk.workers.slow(identity_made, self.desk.folder, name, organisation, passphrase)
        except ReportgenError as error:
            return self.no([self.desk.told(error)])
        return str(name)

    async def report(self, request: Request) -> Response:
        """Show an issued report."""
        number, revision = _named(request)
        view = await self.desk.workers.slow(report_view, self.desk.folder, self.desk.say.language, number, revision)
        head = {
            "body": view.pop("body"), "what": self.desk.say("head.issued", number=number, revision=revision),
            "links": [{"to": "/", "name": self.desk.say("nav.contract"), "here": False},
                      {"to": f"/report/{number}/{revision}", "name": self.desk.say("nav.report"), "here": True}],
        }  # fmt: skip
        page = request.query_params.get("page", "1")
        view["checker_sha256"] = hashlib.sha256(await self.desk.workers.quick(checker_page)).hexdigest()
        return self.desk.page("report.html", {**view, "head": head, "page": int(page) if page.isdigit() else 1})

    async def report_page(self, request: Request) -> Response:
        """Draw a page of an issued report."""
        number, revision = _named(request)
        data = await self.desk.workers.slow(
            report_image, self.desk.folder, number, revision, int(request.path_params["page"])
        )
        return Response(data, media_type="image/png")

    async def download(self, request: Request) -> Response:
        """Give an issued report out as it is."""
        number, revision = _named(request)
        file, _ = await self.desk.workers.quick(issued_file, self.desk.folder, number, revision)
        headers = {"content-disposition": f'attachment; filename="{file.name}"'}
        return Response(file.read_bytes(), media_type="application/pdf", headers=headers)

    async def checker(self, _: Request) -> Response:
        """Give the page out with which anyone can check a report, to be handed over in another way than the report."""
        headers = {"content-disposition": 'attachment; filename="check.html"'}
        return Response(await self.desk.workers.quick(checker_page), media_type="text/html", headers=headers)

    async def proof(self, request: Request) -> Response:
        """Verify an issued report."""
        number, revision = _named(request)
        async with request.form(max_files=MOST_ROOTS + 1, max_fields=4, max_part_size=FIELD_LIMIT) as form:
            roots, policy = await files_of(form, "trust"), await files_of(form, "policy")
        work = (self.desk.folder, self.desk.say.language, number, revision, roots)
        try:
            view = await self.desk.workers.slow(verified, *work, next(iter(policy.values()), b""))
        except ReportgenError as error:
            return self.no([self.desk.told(error)])
        return self.desk.page("proof.html", view)

    async def copy(self, request: Request) -> Response:
        """Give the copy of an issued report out that has the most signatures."""
        number, revision = _named(request)
        file, _ = await self.desk.workers.quick(issued_file, self.desk.folder, number, revision)
        copies = countersigned_copies(file)
        if not copies:
            raise RefusedError(404, "no such page")
        headers = {"content-disposition": f'attachment; filename="{copies[-1].name}"'}
        return Response(copies[-1].read_bytes(), media_type="application/pdf", headers=headers)

    async def countersign(self, request: Request) -> Response:
        """Add a signature to an issued report, in a copy beside it."""
        number, revision = _named(request)
        async with request.form(max_files=1, max_fields=6, max_part_size=FIELD_LIMIT) as form:
            identity = await identity_of(form)
            passphrase, reason, place = (str(form.get(name, "")).strip() for name in ("passphrase", "reason", "place"))
        if not identity or not passphrase:
            return self.no([self.desk.say("sign.needs")])
        if not reason or not place:
            return self.no([self.desk.say("countersign.needs")])
        work = (self.desk.folder, number, revision, identity, passphrase, reason, place)
        try:
            await self.desk.workers.slow(countersigned, *work)
        except ReportgenError as error:
            return self.no([self.desk.told(error)])
        return go_to(f"/report/{number}/{revision}")

    async def compare(self, request: Request) -> Response:
        """Show what differs between two revisions, or between one and the day file."""
        number, first = _named(request)
        second = request.path_params["second"]
        if second != "now" and not (second.isascii() and second.isdigit() and len(second) < 4):
            raise RefusedError(404, "no such page")
        other = None if second == "now" else int(second)
        view = await self.desk.workers.slow(
            compare_view, self.desk.folder, self.desk.say.language, number, first, other
        )  # fmt: skip
        head = {
            "body": view.pop("body"), "what": number,
            "links": [{"to": "/", "name": self.desk.say("nav.contract"), "here": False},
                      {"to": f"/report/{number}/{first}", "name": self.desk.say("nav.report"), "here": False}],
        }  # fmt: skip
        return self.desk.page("compare.html", {**view, "head": head})

    async def revise(self, request: Request) -> Response:
        """Begin a revision, or put the entries back."""
        day, given = self.desk.day(request), await typed(request)
        try:
            if "put-back" in given:
                await self.desk.workers.quick(entries_put_back, day)
            else:
                await self.desk.workers.quick(revision_begun, day, given.get("reason", ""))
        except ReportgenError as error:
            return self.no([self.desk.told(error)])
        self.desk.forget(day.stem)
        return go_to(f"/shift/{day.stem}")

    def no(self, why: list[str]) -> Response:
        """Say why not, beside what was pressed."""
        return self.desk.page("refused.html", {"refused": why})


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of pages and signature, and of issued reports."""
    pages = SigningPages(desk)
    return [
        Route("/shift/{day}/pages", pages.look, methods=["GET"]),
        Route("/shift/{day}/pages/{sha256:str}/{number:int}.png", pages.image, methods=["GET"]),
        Route("/shift/{day}/pages/seen", pages.on_screen, methods=["POST"]),
        Route("/shift/{day}/pages/sign", pages.sign, methods=["POST"]),
        Route("/shift/{day}/pages/identity", pages.identity, methods=["POST"]),
        Route("/shift/{day}/revision", pages.revise, methods=["POST"]),
        Route("/check.html", pages.checker, methods=["GET"]),
        Route("/report/{number}/{revision:int}", pages.report, methods=["GET"]),
        Route("/report/{number}/{revision:int}/{page:int}.png", pages.report_page, methods=["GET"]),
        Route("/report/{number}/{revision:int}/report.pdf", pages.download, methods=["GET"]),
        Route("/report/{number}/{revision:int}/countersigned.pdf", pages.copy, methods=["GET"]),
        Route("/report/{number}/{revision:int}/identity", pages.own_identity, methods=["POST"]),
        Route("/report/{number}/{revision:int}/countersign", pages.countersign, methods=["POST"]),
        Route("/compare/{number}/{revision:int}/{second}", pages.compare, methods=["GET"]),
        Route("/report/{number}/{revision:int}/proof", pages.proof, methods=["POST"]),
    ]


async def identity_of(form: FormData) -> bytes | str:
    """Return the identity file that was chosen, or the name of one that was made here; empty for none."""
    file = form.get("identity")
    chosen = b"" if file is None or isinstance(file, str) else await file.read()
    return chosen or str(form.get("made", ""))


def _named(request: Request) -> tuple[str, int]:
    number = request.path_params["number"]
    if not DAY_NAME.match(number):
        raise RefusedError(404, "no such page")
    return number, int(request.path_params["revision"])


async def files_of(form: FormData, field: str) -> dict[str, bytes]:
    """Return the files of a field by their names."""
    files = [one for one in form.getlist(field) if not isinstance(one, str)]
    found = {one.filename or "": await one.read() for one in files}
    return {name: data for name, data in found.items() if data}
