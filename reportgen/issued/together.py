"""A report judged again beside reports of the same contract that it does not hold: of another folder, or issued since.

The days that the others hold take the place of earlier days in its folder, and the rules are the same. Nothing else of
the report changes; what it releases or closes by itself and no longer releases or closes then rests on steel that is
not shown to be reworked, or on what only the others say is open.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from functools import partial
from pathlib import PurePath
from typing import TYPE_CHECKING, NamedTuple

from reportgen.archival import read_attachments
from reportgen.errors import InputError, UsageError
from reportgen.formats import MANIFEST_NAME, by_path, issue_moment, read_manifest, required
from reportgen.issued.examination import in_child, not_upheld
from reportgen.issued.extraction import Recomputation
from reportgen.issued.slips import slips_among, with_slips
from reportgen.loader import job_from_files
from reportgen.loader.earlier import is_earlier, latest_revisions
from reportgen.rules import evaluate
from reportgen.words.told import plain_told, told, told_again, told_from_json, told_json, words_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Sequence

    from reportgen.issued.examination import Checks
    from reportgen.job import Job
    from reportgen.results import Evaluation, Finding
    from reportgen.words.told import Told


class Undone(NamedTuple):
    """What a report released or closed and would not beside the others: an area, or a nonconformance by number.

    ``why`` is what the rules then find.
    """

    area: str
    nonconformance: str
    why: tuple[Told, ...]


@dataclass(frozen=True, slots=True)
class SlipBeside:
    """A release slip against a report of its number: whether that holds it, and what it says otherwise.

    ``why`` follows upon the name of the report.
    """

    held: bool
    why: Told | None = None


def undone_together(pdf: bytes, others: Sequence[bytes], name: str, checks: Checks) -> list[Undone]:
    """Return what a report, called ``name``, would not release or close if it held the days of other reports.

    It is read in a child process with the limits of ``checks``.

    Raises:
        UsageError: it cannot be read within them.
    """
    scale = 1 + len(others)
    work = partial(_undone, pdf, others)
    answer = in_child(work, name, checks, scale)
    found = _read(answer)
    closed = {one.area for one in found if one.nonconformance}
    return [one for one in found if one.nonconformance or not closed & {one.area, ""}]


def undone_under(pdf: bytes, other: bytes, name: str, checks: Checks) -> list[Undone]:
    """Return what a report, called ``name``, would not release if it were judged by the limits of another one.

    Raises:
        UsageError: as ``undone_together``.
    """
    work = partial(_under, pdf, other)
    answer = in_child(work, name, checks, 2)
    return _read(answer)


def _read(answer: bytes) -> list[Undone]:
    return [Undone(area, name, tuple(map(told_from_json, why))) for area, name, why in json.loads(answer)]


def _written(found: Iterable[Undone]) -> bytes:
    told = [(one.area, one.nonconformance, [told_json(each) for each in one.why]) for one in found]
    return json.dumps(told).encode()


def _under(pdf: bytes, other: bytes) -> bytes:
    job, moment = _job_in(pdf)
    theirs, _ = _job_in(other)
    project = job.project.model_copy(update={"specification": theirs.project.specification})
    alone, under = (evaluate(one, at=moment) for one in (job, replace(job, project=project)))
    return _written(one for one in _undone_of(alone, under) if not one.nonconformance)


def slip_beside(slip: bytes, report: bytes, name: str, checks: Checks) -> SlipBeside:
    """Return how a release slip stands against a report of its number.

    Raises:
        UsageError: as ``undone_together``; or the slip is none that the report could hold.
    """
    answer = told_again(json.loads(in_child(partial(_slip_beside, slip, report, PurePath(name).name), name, checks, 2)))
    if "refused" in answer:
        raise UsageError(told_from_json(answer["refused"]))
    return SlipBeside(answer["held"], answer.get("why"))


def _slip_beside(slip: bytes, report: bytes, name: str) -> bytes:
    job, moment = _job_in(report)
    files = read_attachments(report)
    manifest = read_manifest(required(files, MANIFEST_NAME))
    others = slips_among(manifest, by_path(manifest, files)).values()
    try:
        beside = with_slips(job, {name: slip}, Recomputation)
    except ValueError as fault:
        return json.dumps({"refused": told_json(words_of(fault))}).encode()
    why = not_upheld(evaluate(beside, at=moment)).get(name)
    # a file that was stamped since begins with what was held
    held = any(slip.startswith(one) or one.startswith(slip) for one in others)
    return json.dumps(plain_told(SlipBeside(held, why))).encode()


def what_undone(one: Undone) -> Told:
    """Return what a report did, as the middle of a sentence about it."""
    return told("does-close", name=one.nonconformance) if one.nonconformance else told("does-release", area=one.area)


def which_of(others: Iterable[tuple[Told | str, bool]]) -> tuple[Told, ...]:
    """Name reports that another one did not hold, each with whether it was ``issued`` after that, or only not used."""
    said = {True: "beside-issued-after", False: "beside-not-built-upon"}
    return tuple(told(said[issued], what=title) for title, issued in others)


def _undone(pdf: bytes, others: Sequence[bytes]) -> bytes:
    job, moment = _job_in(pdf)
    days = [day for day, _ in map(_job_in, others)]
    alone = evaluate(job, at=moment)
    # the earlier days with the others, each as issued where it is the revision held or a later one
    own = {one.day.report.number: one for one in job.earlier}
    for one in days:
        report = one.day.report
        held = own.get(report.number)
        newer = held is None or held.day.report.revision <= report.revision
        if newer and report.number != job.day.report.number and is_earlier(one.day, job.day):
            own[report.number] = one
    together = evaluate(replace(job, earlier=latest_revisions(list(own.values()))), at=moment)
    return _written(_undone_of(alone, together))


def _undone_of(alone: Evaluation, otherwise: Evaluation) -> list[Undone]:
    """Return what an evaluation settles and the other one does not, with what was found there."""
    before = _settled(alone)
    new = [one for one in otherwise.findings if one not in alone.findings]
    return [
        Undone(area, nonconformance, _why(new, area, nonconformance))
        for (area, nonconformance), settled in _settled(otherwise).items()
        if before.get((area, nonconformance)) and not settled
    ]


def _why(found: Sequence[Finding], area: str, nonconformance: str) -> tuple[Told, ...]:
    """Return what was found of a nonconformance or, without one, of an area, each thing once."""
    if nonconformance:
        about = [one for one in found if one.nonconformance == nonconformance]
    else:
        about = [one for one in found if one.area in (None, area)]
    return tuple(dict.fromkeys(told("findings-told", what=(one,)) for one in about))


def _settled(evaluation: Evaluation) -> dict[tuple[str, str], bool]:
    """Return whether each nonconformance is closed, and each area released, by area and nonconformance."""
    closed = {(one.area or "", one.id): one.status == "closed" for one in evaluation.nonconformances}
    return closed | {(area.id, ""): area.decision == "release" for area in evaluation.areas}


def _job_in(pdf: bytes) -> tuple[Job, dt.datetime | None]:
    """Return the job that a report embeds, and when it was issued."""
    try:
        files = read_attachments(pdf)
        manifest = read_manifest(required(files, MANIFEST_NAME))
        named = by_path(manifest, files)
        return job_from_files(named, manifest.day), issue_moment(named)
    except (InputError, ValueError) as fault:
        raise UsageError(f"its embedded input cannot be read: {fault}") from fault
