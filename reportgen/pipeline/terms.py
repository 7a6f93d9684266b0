"""The terms of a contract changed after its days began, one entry of the project file at a time: first what follows.

A report that was issued keeps the project file that it was issued by, and is judged by it for ever. What is changed
holds for every day that was not issued yet, those that are entered already among them: which of their areas are decided
otherwise by it is said before it is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from reportgen.errors import InputError, ReportgenError
from reportgen.loader.assembly import load_project
from reportgen.loader.earlier import is_saved_copy
from reportgen.pipeline.as_issued import Folder, load
from reportgen.pipeline.revising import EntryDiffers, differences
from reportgen.pipeline.writing import Conflict, Wrote, alone, file_now, made_in, put, taken_back
from reportgen.rules import evaluate
from reportgen.yamlsource import parse_yaml

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.diagnostics import Diagnostic
    from reportgen.intake.changes import Change, Content
    from reportgen.results import AreaResult, Decision, Evaluation

PROJECT_NAME: Final = "project.yaml"


@dataclass(frozen=True, slots=True)
class DecidedOtherwise:
    """An area of a day that was not issued yet, and how it is decided: by the terms as they are, and as changed."""

    day: str
    area: str
    before: Decision | None
    after: Decision | None


@dataclass(frozen=True, slots=True)
class TermsObjection:
    """Changed terms that were not written: ``refused`` by the loader, or to be believed first for what ``follows``."""

    refused: tuple[Diagnostic, ...] = ()
    follows: tuple[DecidedOtherwise, ...] = ()


@dataclass(frozen=True, slots=True)
class TermsState:
    """How many reports were issued, and what the terms say otherwise than the last of them was issued by."""

    issued: int
    last: str | None
    differs: tuple[EntryDiffers, ...]


def write_terms(
    folder: Path,
    changes: Sequence[Change],
    *,
    seen: str | None = None,
    believed: bool = False,
    at: dt.datetime | None = None,
) -> Wrote | Conflict | TermsObjection:
    """Write changes into the project file, all or none; everything else of it stays to the byte.

    What makes the file, or a day that was not issued, one that cannot be used is refused. Where an area of such a day
    is decided otherwise by it, nothing is written unless that is ``believed``.

    Raises:
        InputError: the project file cannot be read. UsageError: it is written in a way that cannot be changed there.
        MachineError: the disk failed.
    """
    path = folder / PROJECT_NAME
    with alone(path):
        before = file_now(path)
        conflict, made, data = made_in(path, before, changes)
        if conflict is not None:
            return conflict
        objection = _objection(path, before, data, at)
        if objection.refused or (objection.follows and not believed):
            return objection
        return put(path, before, data, made, None, seen=seen)


def undo_terms(
    folder: Path, wrote: Wrote, over: Mapping[str, Content | None] | None = None
) -> Wrote | Conflict | TermsObjection:
    """Take back what was written into the project file; only what that makes unusable is refused.

    ``over`` as for ``undo``.

    Raises:
        InputError, UsageError, MachineError: as ``write_terms``.
    """
    return write_terms(folder, taken_back(wrote, over or {}), seen=wrote.sha256, believed=True)


def terms_state(folder: Path) -> TermsState:
    """Return what was issued under the terms of a contract, and how they differ from those of the last report.

    Raises:
        InputError, UsageError: the project file cannot be read.
    """
    known = Folder(folder)
    reports = list(known.issued.values())
    if not reports:
        return TermsState(0, None, ())
    last = reports[-1]
    digest = last.inputs.get(PROJECT_NAME)
    held = None if digest is None else known.content(digest)
    path = folder / PROJECT_NAME
    now = parse_yaml(file_now(path), str(path)).data
    differs = () if held is None else tuple(differences(parse_yaml(held, PROJECT_NAME).data, now))
    return TermsState(len(reports), last.number, differs)


def _objection(path: Path, before: bytes, data: bytes, at: dt.datetime | None) -> TermsObjection:
    try:
        load_project(path, data)
    except InputError as failure:
        return TermsObjection(tuple(one for one in failure.diagnostics if one.severity == "error"))
    refused: list[Diagnostic] = []
    follows: list[DecidedOtherwise] = []
    for day in not_issued(path.parent):
        was, is_now = (_evaluated(day, content, at) for content in (before, data))
        if isinstance(is_now, InputError):
            refused += _new_errors(was, is_now)
        elif not isinstance(was, InputError):
            follows += _decided_otherwise(day.stem, was, is_now)
    return TermsObjection(tuple(refused), tuple(follows))


def _new_errors(was: Evaluation | InputError, is_now: InputError) -> list[Diagnostic]:
    known = {one.message for one in was.diagnostics} if isinstance(was, InputError) else set()
    return [one for one in is_now.diagnostics if one.severity == "error" and one.message not in known]


def not_issued(folder: Path) -> Iterator[Path]:
    """Yield the day files of a contract that go by the terms as they will be."""
    issued = Folder(folder).as_issued
    for path in sorted(folder.glob("*.yaml")):
        if path.name == PROJECT_NAME or path.name in issued or is_saved_copy(path.name) or not path.is_file():
            continue
        yield path


def _evaluated(day: Path, project: bytes, at: dt.datetime | None) -> Evaluation | InputError:
    """Return a day evaluated by a content of the project file, or why it cannot be."""
    try:
        return evaluate(load(day, content=project, content_of=PROJECT_NAME), at=at)
    except InputError as failure:
        return failure
    except ReportgenError as failure:  # an entry that no rule can take
        from reportgen.diagnostics import Diagnostic

        return InputError([Diagnostic("", failure.message, (), failure.help_text)])


def _decided_otherwise(day: str, was: Evaluation, is_now: Evaluation) -> Iterator[DecidedOtherwise]:
    one, other = ({area.id: area for area in each.areas} for each in (was, is_now))
    for area in dict.fromkeys((*one, *other)):
        before, after = _decision(one.get(area)), _decision(other.get(area))
        if before != after:
            yield DecidedOtherwise(day, area, before, after)


def _decision(area: AreaResult | None) -> Decision | None:
    return None if area is None or area.not_inspected is not None else area.decision
