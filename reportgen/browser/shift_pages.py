"""The pages of a shift, and what is written on them."""

from __future__ import annotations

import hashlib
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from starlette.responses import Response
from starlette.routing import Route

from reportgen.browser.area_views import area_view
from reportgen.browser.changing import Answer, entered, looked_at, photo_added
from reportgen.browser.checks_views import checks_view
from reportgen.browser.contents import diagnostic_text
from reportgen.browser.desk import FIELD_LIMIT, go_to, typed
from reportgen.browser.guard import RefusedError
from reportgen.browser.record_views import nonconformances_view, photo_bytes, photos_view
from reportgen.browser.sheet_views import PAPERS, brought_in, brought_view, sheet_pdf, sheet_view
from reportgen.browser.shift_views import shift_view
from reportgen.errors import InputError, MachineError, ReportgenError

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Mapping

    from starlette.requests import Request

    from reportgen.browser.desk import Desk

_SHOWN = 12
DRAWN: Final = {"HX-Retarget": "#main", "HX-Reswap": "outerMorph"}
"""Headers of an answer that draws the page again as it stands now."""


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of a shift."""
    pages: dict[str, tuple[str, Callable[[Request], tuple[Any, ...]]]] = {
        "/shift/{day}": ("shift.html", lambda _: (shift_view,)),
        "/shift/{day}/checks": ("checks.html", lambda _: (checks_view,)),
        "/shift/{day}/area/{area}": ("area.html", _area),
        "/shift/{day}/nonconformances": ("nonconformances.html", lambda _: (nonconformances_view,)),
        "/shift/{day}/sheet": ("sheet.html", lambda _: (sheet_view,)),
        "/shift/{day}/photos": ("photos.html", lambda one: (photos_view, one.query_params.get("area", ""))),
    }
    found = []
    for address, (template, view) in pages.items():
        show = _shown(desk, template, view)
        found += [
            Route(address, show, methods=["GET"]),
            Route(f"{address}/write", _written(desk, show), methods=["POST"]),
            Route(f"{address}/look", _looked(desk), methods=["POST"]),
        ]
    found.append(Route("/shift/{day}/photo/{number}.jpg", _photo(desk), methods=["GET"]))
    found.append(Route("/files/shift/{day}/photo", _photo_added(desk), methods=["POST"]))
    sheet = Sheet(desk)
    found.append(Route("/shift/{day}/sheet.pdf", sheet.printed, methods=["GET"]))
    found.append(Route("/files/shift/{day}/sheet", sheet.brought, methods=["POST"]))
    found.append(Route("/shift/{day}/sheet/take", sheet.taken, methods=["POST"]))
    return found


class Sheet:
    """The field sheet of a day, out and in."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    async def printed(self, request: Request) -> Response:
        """Give the sheet out, to print or to fill in."""
        day, given = self.desk.day(request), request.query_params
        areas = (given["area"],) if given.get("area") else ()
        paper = given.get("paper", PAPERS[0])
        if paper not in PAPERS:
            raise RefusedError(404, "no such page")
        try:
            data = await self.desk.workers.slow(sheet_pdf, day, paper, areas)
        except InputError as error:
            return unreadable(self.desk, error, day.name)
        headers = {"content-disposition": f'attachment; filename="{day.stem}-sheet.pdf"'}
        return Response(data, media_type="application/pdf", headers=headers)

    async def brought(self, request: Request) -> Response:
        """Show what a filled sheet or a table would change."""
        day = self.desk.day(request)
        async with request.form(max_files=1, max_fields=2, max_part_size=FIELD_LIMIT) as form:
            file, area = form.get("file"), str(form.get("area", ""))
            if file is None or isinstance(file, str) or not file.filename:
                return self.desk.page("refused.html", {"refused": [self.desk.say("sheet.none")]})
            data, name = await file.read(), file.filename
        try:
            view = await self.desk.workers.slow(brought_view, day, self.desk.say.language, data, name, area)
        except ReportgenError as error:
            return self.desk.page("refused.html", {"refused": [self.desk.told(error)]})
        self.desk.brought[day.stem] = (data, name, area)
        return self.desk.page("brought.html", {**view, "day": day.stem})

    async def taken(self, request: Request) -> Response:
        """Take in what was shown."""
        day, given = self.desk.day(request), await typed(request)
        data, name, area = self.desk.brought.get(day.stem, (b"", "", ""))
        if hashlib.sha256(data).hexdigest() != given.get("sha256"):
            return self.desk.page("refused.html", {"refused": [self.desk.say("sheet.none")]})
        work = partial(brought_in, overwrite=given.get("overwrite") == "yes")
        try:
            view, wrote = await self.desk.workers.slow(
                work, day, self.desk.say.language, data, name, area, given.get("seen", "")
            )
        except ReportgenError as error:
            return self.desk.page("refused.html", {"refused": [self.desk.told(error)]})
        self.desk.brought.pop(day.stem, None)
        self.desk.wrote(day.stem, view, wrote)
        return go_to(f"/shift/{day.stem}")


def _photo(desk: Desk) -> Any:
    async def photo(request: Request) -> Response:
        number = request.path_params["number"]
        try:
            data = await desk.workers.slow(photo_bytes, desk.day(request), number)
        except (LookupError, ValueError, TypeError):
            raise RefusedError(404, "no such photo") from None
        return Response(data, media_type="image/jpeg")

    return photo


def _photo_added(desk: Desk) -> Any:
    async def add(request: Request) -> Response:
        day = desk.day(request)
        async with request.form(max_files=1, max_fields=8, max_part_size=FIELD_LIMIT) as form:
            file = form.get("file")
            given = {name: value for name, value in form.items() if isinstance(value, str)}
            if file is None or isinstance(file, str) or not file.filename:
                return desk.page("refused.html", {"refused": [desk.say("photo.none")]})
            if not given.get("surface"):
                return desk.page("refused.html", {"refused": [desk.say("photo.which")]})
            data, name = await file.read(), file.filename
        try:
            answer = await desk.workers.slow(photo_added, day, desk.say.language, data, name, given)
        except ReportgenError as error:
            return desk.page("refused.html", {"refused": [desk.told(error)]})
        if answer.what != "wrote":
            return desk.page(
                "refused.html",
                {
                    "link": answer.view.get("link"),
                    "refused": answer.view.get("refused") or answer.view.get("why") or [desk.say("conflict.title")],
                },
            )
        desk.wrote(day.stem, answer.view, answer.wrote)
        return go_to(f"/shift/{day.stem}/photos")

    return add


def _area(request: Request) -> tuple[Any, ...]:
    given = request.query_params
    return (
        area_view,
        request.path_params["area"],
        given.get("apparatus", ""),
        given.get("location", ""),
        given.get("roll", ""),
        given.get("entry", ""),
        getattr(request.state, "onward", ""),
    )


def _shown(desk: Desk, template: str, view: Callable[[Request], tuple[Any, ...]]) -> Any:
    """Return what answers with a page; with ``part`` its main part and margin alone, as after something was written."""

    async def show(request: Request, *, part: bool = False, **headers: str) -> Response:
        day, (work, *more) = desk.day(request), view(request)
        try:
            found = await desk.workers.quick(work, day, desk.say.language, *more)
        except InputError as error:
            return unreadable(desk, error, day.name)
        base = "part.html" if part else "base.html"
        return desk.page(template, {**found, "last": desk.last(day.stem), "base": base}, headers=headers)

    return show


def unreadable(desk: Desk, error: InputError, name: str) -> Response:
    """Return the page that says what is wrong with a file, so that a person can mend it."""
    wrong = [
        {"file": one.spans[0].file, "line": one.spans[0].line, "text": diagnostic_text(desk.say, one)}
        for one in error.diagnostics if one.severity == "error"
    ]  # fmt: skip
    links = [{"to": "/", "name": desk.say("nav.contract"), "here": False}]
    head = {"body": "reportgen", "what": name, "links": links}
    return desk.page(
        "unreadable.html", {"head": head, "wrong": wrong[:_SHOWN], "more": len(wrong) - _SHOWN, "file": name}
    )


def _written(desk: Desk, show: Any) -> Any:
    redrawn: Callable[..., Awaitable[Response]] = partial(show, part=True)

    async def write(request: Request) -> Response:
        day, given = desk.day(request), await typed(request)
        of = given.get("of", "")
        if "keep" in given:
            desk.keep(day.stem, of)
            return await redrawn(request, **DRAWN)
        try:
            answer: Answer = await desk.workers.quick(
                entered, day, desk.say.language, given, desk.to_undo(day.stem, of)
            )
        except InputError as error:
            lines = [
                f"{one.spans[0].line}: {diagnostic_text(desk.say, one)}"
                for one in error.diagnostics
                if one.severity == "error"
            ]
            return desk.page(
                "refused.html", {"refused": [desk.say("write.unreadable", line=lines[0] if lines else "")]}
            )
        except ReportgenError as error:
            return _not_written(desk, day.stem, given, error)
        if answer.what != "wrote" or answer.wrote is None:
            return desk.page(f"{answer.what}.html", answer.view)
        desk.wrote(day.stem, answer.view, answer.wrote, of)
        if answer.view.get("go"):
            return go_to(f"/shift/{day.stem}/{answer.view['go']}")
        request.state.onward = given.get("onward", "")
        return await redrawn(request, **DRAWN)

    return write


def _not_written(desk: Desk, day: str, given: Mapping[str, str], error: ReportgenError) -> Response:
    """Say why nothing was written; an undo that is refused may be left out, else no other is ever reached."""
    of = given.get("of", "")
    keep = "undo" in given and not isinstance(error, MachineError) and desk.to_undo(day, of) is not None
    return desk.page("refused.html", {"refused": [desk.told(error)], "keep": keep, "of": of})


def _looked(desk: Desk) -> Any:
    async def look(request: Request) -> Response:
        day, given = desk.day(request), await typed(request)
        try:
            view = await desk.workers.quick(looked_at, day, desk.say.language, given)
        except ReportgenError:
            view = {"location": None, "light": None, "value": "", "text": "", "strip": None}
        return desk.page("looked.html", {**view, "field": given.get("field", "")})

    return look
