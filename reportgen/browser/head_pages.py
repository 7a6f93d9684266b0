"""What is done with a shift as a whole: the next one begun, another date, taken out, its revision left."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from starlette.routing import Route

from reportgen.browser.contract_views import next_day_begun
from reportgen.browser.desk import DAY_NAME, go_to, typed
from reportgen.browser.guard import RefusedError
from reportgen.browser.head_views import asked_about, date_of, dated
from reportgen.errors import ReportgenError
from reportgen.pipeline.shift_files import leave_revision, remove_shift

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable
    from pathlib import Path

    from starlette.requests import Request
    from starlette.responses import Response

    from reportgen.browser.desk import Desk


def routes(desk: Desk) -> list[Route]:
    """Return the addresses of what is done with a shift as a whole."""
    head = ShiftHead(desk)
    doings: dict[str, Callable[[Request], Awaitable[Response]]] = {
        "/next": head.following, "/shift/{day}/date": head.date, "/shift/{day}/remove": head.remove,
        "/shift/{day}/leave": head.leave,
    }  # fmt: skip
    return [Route(address, _said(desk, do), methods=["POST"]) for address, do in doings.items()]


def _said(desk: Desk, do: Callable[[Request], Awaitable[Response]]) -> Any:
    """Return what answers with the reason where something is refused."""

    async def answer(request: Request) -> Response:
        try:
            return await do(request)
        except ReportgenError as error:
            return desk.page("refused.html", {"refused": [desk.told(error)]})

    return answer


class ShiftHead:
    """What is done with the shifts of a folder."""

    def __init__(self, desk: Desk) -> None:
        self.desk = desk

    async def following(self, request: Request) -> Response:
        """Begin the shift after another."""
        given = await typed(request)
        if not DAY_NAME.match(given.get("day", "")):
            raise RefusedError(404, "no such page")
        asked = await self.desk.workers.quick(asked_about, self.desk.folder, self.desk.say.language, given)
        if asked is not None:
            return self.desk.page("dated.html", asked)
        day = self.desk.folder / f"{given['day']}.yaml"
        work = (next_day_begun, day, date_of(given), given.get("inspector") or None)
        return go_to(f"/shift/{await self.desk.workers.quick(*work)}")

    async def date(self, request: Request) -> Response:
        """Give a shift another date."""
        day, given = self.desk.day(request), await typed(request)
        found = await self.desk.workers.quick(dated, day, self.desk.say.language, given)
        if "name" not in found:
            return self.desk.page("dated.html", found)
        self._gone(day.stem)
        return go_to(f"/shift/{found['name']}")

    async def remove(self, request: Request) -> Response:
        """Take a shift out of the contract."""
        return await self._set_aside(request, remove_shift, "head.removed")

    async def leave(self, request: Request) -> Response:
        """Leave a revision that was begun."""
        return await self._set_aside(request, leave_revision, "head.left")

    async def _set_aside(self, request: Request, do: Callable[[Path], Path], word: str) -> Response:
        day = self.desk.day(request)
        kept = await self.desk.workers.quick(do, day)
        self._gone(day.stem)
        self.desk.note = self.desk.say(word, day=day.stem, file=kept.name)
        return go_to("/")

    def _gone(self, name: str) -> None:
        """Forget what was done to a file and prepared of it, as it lies elsewhere or says something else as a whole."""
        self.desk.forget(name)
        self.desk.prepared.pop(name, None)
        self.desk.brought.pop(name, None)
