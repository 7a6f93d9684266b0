"""What every page needs: the folder, the workers, the words, and how a page is answered."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.responses import HTMLResponse, Response

from reportgen.browser.contents import objection_text
from reportgen.browser.guard import RefusedError
from reportgen.browser.texts import texts
from reportgen.issued import shown_name

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from starlette.requests import Request

    from reportgen.browser.guard import Keys
    from reportgen.browser.texts import Texts
    from reportgen.browser.workers import Workers
    from reportgen.errors import ReportgenError
    from reportgen.pipeline.writing import Wrote

MOST_FIELDS: Final = 80
MOST_UNDONE: Final = 100
"""Changes of one file that can be taken back: each keeps the file before it."""
FIELD_LIMIT: Final = 16 << 10
DAY_NAME: Final = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,79}\Z")
"""Names of day files as an address may hold them: no separator, none hidden."""


@dataclass(slots=True)
class Desk:
    """One contract folder being worked on in a browser."""

    folder: Path
    workers: Workers
    keys: Keys
    language: str | None = None
    contract_language: str = "en"
    done: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    """What was written into each file, the last at the end, and what was said of it: for its undo."""
    _told: dict[str, dict[str, Any]] = field(default_factory=dict)
    _count: int = 0
    prepared: dict[str, Any] = field(default_factory=dict)
    """What was prepared to be signed, by its day file."""
    brought: dict[str, tuple[bytes, str, str]] = field(default_factory=dict)
    """Filled sheets and tables that were looked at and not taken in yet, by their day file: bytes, name, area."""

    note: str = ""
    """What the page of the contract says once: where something lies that was set aside."""

    @property
    def say(self) -> Texts:
        """The words of the pages."""
        return texts(self.language or self.contract_language)

    def day(self, request: Request) -> Path:
        """Return the day file that an address names; it need not be there.

        Raises:
            RefusedError: a name that is none.
        """
        name = request.path_params["day"]
        if not DAY_NAME.match(name) or name == "project":
            raise RefusedError(404, "no such page")
        return self.folder / f"{name}.yaml"

    def wrote(self, name: str, view: Mapping[str, Any], wrote: Wrote | None, of: str = "") -> None:
        """Keep what was written into a file, or forget what was taken back (``of``): ``view`` says which."""
        done = self.done.setdefault(name, [])
        if view["undo"]:
            self._count += 1
            kept = None if wrote is None else replace(wrote, look=None)
            done.append({"id": str(self._count), "wrote": kept, "text": view["text"]})
            del done[:-MOST_UNDONE]
        else:
            self._drop(name, of)
        self._told[name] = {"text": view["text"], "back": not view["undo"]}

    def to_undo(self, name: str, of: str = "") -> Wrote | None:
        """Return what is taken back from a file: what a page showed its undo beside (``of``), else the last.

        Another window may have written since: that is not what stands there. None where it was taken back already.
        """
        return next((one["wrote"] for one in reversed(self.done.get(name, [])) if of in ("", one["id"])), None)

    def _drop(self, name: str, of: str) -> None:
        done = self.done.get(name, [])
        at = next((at for at in reversed(range(len(done))) if of in ("", done[at]["id"])), None)
        if at is not None:
            del done[at]

    def keep(self, name: str, of: str = "") -> None:
        """Forget what was written into a file without taking it back; undo goes on with what was before it."""
        self._drop(name, of)
        self._told[name] = {"text": self.say("margin.kept"), "back": True}

    def last(self, name: str) -> dict[str, Any] | None:
        """Return what the margin says was done to a file last, and what undo takes back next."""
        if name not in self._told:
            return None
        told, done = self._told[name], self.done.get(name)
        return {
            "text": told["text"],
            "undo": done[-1]["id"] if done else "",
            "next": done[-1]["text"] if done and told["back"] else "",
        }

    def forget(self, name: str) -> None:
        """Forget what was done to a file: it was issued, or begun anew."""
        self.done.pop(name, None)
        self._told.pop(name, None)

    def noted(self) -> str:
        """Return what is said once, and is said no more then."""
        text, self.note = self.note, ""
        return text

    def told(self, error: ReportgenError) -> str:
        """Return a refusal in one line: what is wrong, and what to do instead."""
        diagnostics = getattr(error, "diagnostics", ())
        found = [(one.message, one.help_text) for one in diagnostics if one.severity == "error"][:3]
        texts_of = found or [(error.message, error.help_text)]
        return self.within("; ".join(objection_text(self.say, message, remedy) for message, remedy in texts_of))

    def within(self, text: str) -> str:
        """Return a sentence with files called as they lie in the folder: a page names no path of the machine."""
        return text.replace(f"{shown_name(self.folder)}/", "")

    def page(self, template: str, view: Mapping[str, Any], *, headers: Mapping[str, str] | None = None) -> HTMLResponse:
        """Return a page, or a part of one, of a view."""
        given = {"say": self.say, "key": self.keys.page, "language": self.say.language, **view}
        text = _environment().get_template(template).render(given)
        return HTMLResponse(_ADDRESS.sub(rf"\g<0>{self.keys.home}", text), headers=headers)


_ADDRESS: Final = re.compile(r'\b(?:href|src|action|data-hx-get|data-hx-post)="(?=/)')
"""Before an address of the folder in a page; no text has such a quotation mark, as templates escape it."""
_MADE: dict[str, Environment] = {}


def _environment() -> Environment:
    if not _MADE:
        _MADE["pages"] = Environment(
            loader=PackageLoader("reportgen.browser"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
    return _MADE["pages"]


def go_to(address: str) -> Response:
    """Return the answer by which a page goes on to another."""
    return Response(headers={"HX-Redirect": address})


async def typed(request: Request) -> dict[str, str]:
    """Return the fields of a form, each once, without control characters.

    Raises:
        RefusedError: a file among them, or a text that no field holds.
    """
    async with request.form(max_files=0, max_fields=MOST_FIELDS, max_part_size=FIELD_LIMIT) as form:
        found = {name: value for name, value in form.multi_items() if isinstance(value, str)}
    if any(len(value) > FIELD_LIMIT for value in found.values()):
        raise RefusedError(413, "larger than is taken here")
    return found
