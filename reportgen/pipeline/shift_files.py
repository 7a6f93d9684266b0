"""Day files as files: when the next shift may be, another date of one, one that is taken out, a revision that is left.

Nothing is deleted: what leaves its place lies under a name that says what it was and when, in the folder ``set-aside``.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen import atomicfile
from reportgen.diagnostics import Phrase
from reportgen.errors import UsageError
from reportgen.intake.changes import Address, Change, content_at
from reportgen.pipeline.as_issued import Folder
from reportgen.pipeline.clock import now
from reportgen.pipeline.revising import put_back
from reportgen.pipeline.writing import alone, file_now, made_in, put_in_place, refuse_issued
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path
    from typing import Any

    from reportgen.register import Report

SET_ASIDE: Final = "set-aside"
"""Folder of the contract for day files that were taken out and revisions that were left."""
_COMMENT: Final = re.compile(rb"(?m)^#.*$")
_FAR: Final = 31
"""Days from today beyond which a date is asked about; no source: a month, so that last week's paper is not."""
_DATE: Final = Address(("report", "date"))


@dataclass(frozen=True, slots=True)
class DateDoubt:
    """Why a date of a shift is asked about: it lies before a shift that was issued, or ``days`` from today."""

    number: str | None
    issued: dt.date | None
    days: int | None


def date_doubt(
    folder: Path, date: dt.date, *, number: str | None = None, at: dt.datetime | None = None
) -> DateDoubt | None:  # fmt: skip
    """Return why a date of a shift is asked about before it is written; None for one that is not.

    ``number`` is the report whose own date it is to be.
    """
    days = (date - (at or now()).date()).days
    issued = [(dt.date.fromisoformat(one.date), name) for name, one in Folder(folder).latest.items() if name != number]
    later = max((one for one in issued if date < one[0]), default=None)
    if later is None and abs(days) <= _FAR:
        return None
    return DateDoubt(later and later[1], later and later[0], days if abs(days) > _FAR else None)


def move_shift(day: Path, date: dt.date) -> Path:
    """Give a shift that was not issued another date; return its file, which is called by the date where it was.

    Raises:
        IssuedError: it was issued. UsageError: it was signed for, or there is a shift of that date already.
        InputError, MachineError: as ``write_entry``.
    """
    with alone(day):
        before = file_now(day)
        plain = parse_yaml(before, day.name).data
        refuse_issued(day, before)
        _refuse_signed(day, plain)
        was = content_at(plain, _DATE)
        target = day.with_name(day.name.replace(str(was), date.isoformat(), 1))
        _, _, data = made_in(day, before, [Change(_DATE, was, date.isoformat())])
        if target != day and target.exists():
            raise UsageError(
                Phrase("there is a shift of {date} already; nothing was changed", date=date.isoformat()),
                help_text="give that one another date first",
            )
        # comments of a starter file name it
        data = _COMMENT.sub(lambda line: line[0].replace(day.name.encode(), target.name.encode()), data)
        put_in_place(day, before, data)
        _rename(day, target)
    return target


def remove_shift(day: Path) -> Path:
    """Take a shift that nobody signed out of the contract; return where its file lies now.

    Raises:
        UsageError: it was issued, or signed for. InputError, MachineError: as ``write_entry``.
    """
    with alone(day):
        _refuse_signed(day, parse_yaml(file_now(day), day.name).data)
        kept = _name_for(day, "removed")
        _rename(day, kept)
    return kept


def leave_revision(day: Path) -> Path:
    """Leave a revision that was begun and not issued; what was issued stands again. Return where its file lies now.

    Raises:
        UsageError: none was begun, or the report as issued is not at hand. MachineError: the disk failed.
    """
    before = file_now(day)
    plain = parse_yaml(before, day.name).data
    latest, revision = _latest(day, plain), str(content_at(plain, Address(("report", "revision"))))
    if latest is None or not revision.isdecimal() or int(revision) <= latest.revision:
        raise UsageError(
            Phrase("`{name}` is of no revision that was begun and not issued", name=day.name),
            help_text="there is nothing to leave",
        )
    kept = _name_for(day, f"revision-{revision}-left")
    atomicfile.write_new(kept, before)
    try:
        put_back(day)
    except BaseException:
        atomicfile.remove(kept)
        raise
    return kept


def _latest(day: Path, plain: Mapping[str, Any]) -> Report | None:
    return Folder(day.parent).latest.get(str(content_at(plain, Address(("report", "number")))))


def _refuse_signed(day: Path, plain: Mapping[str, Any]) -> None:
    """Refuse where something was signed for the shift: its report, or a release slip.

    Raises:
        UsageError: naming which.
    """
    number = str(content_at(plain, Address(("report", "number"))))
    if _latest(day, plain) is not None:
        raise UsageError(
            Phrase("{number} was issued: its shift keeps its date and its file", number=number),
            help_text="a correction is a new revision",
        )
    if any(one.number == number for one in Folder(day.parent).slips):
        raise UsageError(
            Phrase("a release slip was signed for {number}: its shift keeps its date and its file", number=number),
            help_text="issue the report of the slip",
        )


def _name_for(day: Path, why: str) -> Path:
    """Return a free name among what was set aside, which says why and when; its folder is there."""
    folder = day.parent / SET_ASIDE
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise atomicfile.refusal(error, folder) from error
    names = (
        f"{day.stem}-{why}-{now():%Y%m%dT%H%M%SZ}{again}{day.suffix}"
        for again in ("", *map("-{}".format, range(1, 1000)))
    )
    return next(path for path in map(folder.joinpath, names) if not path.exists())


def _rename(day: Path, target: Path) -> None:
    try:
        day.rename(target)
        atomicfile.sync_folder(target.parent)
    except OSError as error:
        raise atomicfile.refusal(error, target) from error
