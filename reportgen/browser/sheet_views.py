"""The field sheet of a day: to print, and to bring in filled, or a table, with what it would change shown first."""

from __future__ import annotations

import hashlib
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reportgen.browser.contents import objection_text
from reportgen.browser.sight import seen
from reportgen.browser.texts import texts
from reportgen.errors import UsageError

if TYPE_CHECKING:
    from reportgen.intake import Intake
    from reportgen.pipeline.writing import Wrote

PAPERS = ("a4", "letter")


def sheet_view(day: Path, language: str) -> dict[str, Any]:
    """Return what the page of the sheet shows.

    Raises:
        InputError: the day file cannot be used.
    """
    sight = seen(day, language)
    plans = [plan for structure in sight.project.structures for plan in structure.areas]
    return sight.common("sheet") | {"areas": [(plan.id, plan.name) for plan in plans], "papers": PAPERS}


def sheet_pdf(day: Path, paper: str, areas: tuple[str, ...]) -> bytes:
    """Return the field sheet of a day as a PDF with fields; nothing is written into the folder.

    Raises:
        InputError, UsageError: as ``write_sheet``.
    """
    from reportgen.pipeline.onsite import write_sheet

    with tempfile.TemporaryDirectory(prefix="reportgen-") as folder:
        out = Path(folder) / "sheet.pdf"
        write_sheet(day, out, areas=areas, paper=paper)
        return out.read_bytes()


def brought_view(day: Path, language: str, source: bytes, name: str, area: str) -> dict[str, Any]:
    """Return what a filled sheet or a table would change in a day file; nothing is written.

    Raises:
        InputError, UsageError: as ``take_in``.
    """
    outcome = _taken(day, source, name, area, overwrite=False)
    say = texts(language)
    lists = {
        "added": list(outcome.added), "removed": list(outcome.removed),
        "different": [
            say("sheet.stays", name=one.name, present=one.present, came=one.came) for one in outcome.differences
        ],
        "refused": [
            say("sheet.refused-one", place=one.place, value=one.value,
                why=objection_text(say, one.message, one.help_text))
            for one in outcome.refused
        ],
        "doubted": [f"{one.told.replace('`', '')}: {one.message}" for one in outcome.doubted],
        "missing": list(outcome.missing), "notes": list(outcome.notes),
    }  # fmt: skip
    before = day.read_bytes()
    return {
        "name": name, "already": outcome.already, "count": len(outcome.added),
        "lists": [{"key": key, "lines": lines} for key, lines in lines_of(lists)],
        "changes": outcome.data != before, "differs": bool(outcome.differences),
        "sha256": hashlib.sha256(source).hexdigest(), "seen": hashlib.sha256(before).hexdigest(),
    }  # fmt: skip


def lines_of(lists: dict[str, list[str]]) -> list[tuple[str, list[str]]]:
    """Return the lists that say something, in their order."""
    return [(key, lines) for key, lines in lists.items() if lines]


def _taken(day: Path, source: bytes, name: str, area: str, *, overwrite: bool) -> Intake:
    from reportgen.pipeline.onsite import take_in

    return take_in(source, name, day, area=area or None, overwrite=overwrite, write=False)


def brought_in(
    day: Path, language: str, source: bytes, name: str, area: str, saw: str, *, overwrite: bool
) -> tuple[dict[str, Any], Wrote]:  # fmt: skip
    """Bring a filled sheet or a table into a day file as it was shown; return what the margin says, and the writing.

    Raises:
        UsageError: the day file is not the one that was shown (``saw``), or was issued. As ``brought_view``.
    """
    from reportgen.pipeline.writing import refuse_issued, replace_whole

    before = day.read_bytes()
    if hashlib.sha256(before).hexdigest() != saw:
        raise UsageError("the day file was changed since this was shown", help_text="bring the file in once more")
    refuse_issued(day, before)
    outcome = _taken(day, source, name, area, overwrite=overwrite)
    wrote = replace_whole(day, outcome.data, seen=saw)
    time = seen(day, language).local.strftime("%H:%M:%S")
    text = texts(language)("sheet.taken", name=name, count=len(outcome.added), time=time)
    return {"text": text, "undo": True}, wrote
