"""A revision that leaves out what failed or was in doubt, and releases or withdraws by that: it is refused."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import Diagnostic, Span
from reportgen.measurements import LOGS, TESTS
from reportgen.names import full_title, spelt_alike
from reportgen.results.codes.follow_up import RAISED_IN_ERROR, FoundNoMore
from reportgen.rules.anew import may_hide
from reportgen.rules.left_out import Absent, Judged, absent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from reportgen.job import Job

    Before = Callable[[str, int], Sequence[Judged]]
    """The reports of a number before a revision, oldest first."""

_CALLED: Final = {
    "reading": "readings", "comparison": "visual comparison", "gauge_checks": "check of a gauge",
    "tape_checks": "check of tape", "function_checks": "check of an instrument",
    **{kind.key: kind.noun for kind in TESTS}, **{kind.log or kind.key: kind.noun for kind in LOGS},
}  # fmt: skip
_NAMED: Final = 6
_REMEDY: Final = (
    "enter it as it was, or as it was put right; what cannot be entered any more is left to a nonconformance that stays"
    " open, and to a later report"
)


def left_out(own: Judged, before: Before, span: Span) -> Iterator[Diagnostic]:
    """Yield what stands against a report: what a revision of it, or of one before, leaves out and builds upon."""
    yield from _released(own, before, span)
    yield from _withdrawn(own, before, span)


def _released(own: Judged, before: Before, span: Span) -> Iterator[Diagnostic]:
    report = own.job.day.report
    released = {one.id for one in own.evaluation.areas if one.decision == "release"}
    if report.revision == 0 or not released:
        return
    found: dict[str, dict[str, None]] = {}
    gone = (
        (one, then)
        for then in before(report.number, report.revision)
        for finding in then.against
        for one in absent(finding, then.job, own.job)
    )
    for one, then in gone:
        for area in released if one.area is None else released & {one.area}:
            found.setdefault(area, {})[_called(one, then.job, own.job)] = None
    for area, missing in sorted(found.items()):
        sentence = f"{full_title(report)} releases {area} without what failed or was in doubt: {_listed([*missing])}"
        yield Diagnostic("JOB258", sentence, (span,), _REMEDY)


def _withdrawn(own: Judged, before: Before, span: Span) -> Iterator[Diagnostic]:
    """Yield each nonconformance that is closed as raised in error though a revision lacks what it was written on."""
    for finding in own.evaluation.findings:
        if finding.code != RAISED_IN_ERROR.name:
            continue
        number = finding.facts.report if isinstance(finding.facts, FoundNoMore) else own.job.day.report.number
        revision = _revision(own, number)
        named = set(getattr(finding.facts, "findings", ()))
        missing = {
            _called(one, then.job, revision): None
            for then in before(number, revision.day.report.revision)
            for each in then.against
            if not named.isdisjoint({each.code} | may_hide(each)) and finding.area in (None, each.area)
            for one in absent(each, then.job, revision, same_blasting=True)
        }
        if missing:
            name = getattr(finding.facts, "nonconformance", "")
            sentence = (
                f"{name} is not to be closed as raised in error: {full_title(revision.day.report)} does not have"
                f" what failed or was in doubt: {_listed([*missing])}"
            )
            yield Diagnostic("JOB258", sentence, (span,), _REMEDY)


def _revision(own: Judged, number: str) -> Job:
    """Return the last revision of a number, as a report has it: itself, or an earlier day."""
    return next((one for one in own.job.earlier if one.day.report.number == number), own.job)


def _called(one: Absent, before: Job, own: Job) -> str:
    """Return what is left out of a report, as whoever writes a day file calls it, and of which revision that is."""
    of = f"(revision {before.day.report.revision})"
    if one.apparatus is None:
        return f"a {_CALLED[str(one.series)]} {of}"
    if one.series is None:
        return f"the entry of {one.apparatus} on {one.area} {of}"
    parts = _parts(one, before, own) if one.series == "reading" else []
    which = f", {_listed(parts)}," if parts else ""
    return f"{_CALLED[one.series]} at {one.location}{which} of {one.area}, {one.apparatus} {of}"


def _parts(one: Absent, before: Job, own: Job) -> list[str]:
    """Return which readings at a location are gone, by spot and roll of tape, where others of it are there."""
    stood, here = _readings_at(one, before), _readings_at(one, own)
    gone = sorted((stood - here).elements(), key=str) if here else []
    return [f"spot {spot}" + ("" if roll is None else f" on {roll}") for spot, roll in gone]


def _readings_at(one: Absent, job: Job) -> Counter[tuple[str | None, str | None]]:
    """Return spot and roll of tape of each reading at the location of what is left out."""
    entries = zip(job.day.surfaces, job.readings, strict=True)
    return Counter(
        (each.spot, each.roll) for record, readings in entries
        if record.area == one.area and spelt_alike(record.apparatus, str(one.apparatus))
        for each in readings if each.location == one.location
    )  # fmt: skip


def _listed(names: Sequence[str]) -> str:
    more = [f"{len(names) - _NAMED} more"] if len(names) > _NAMED else []
    return "; ".join([*names[:_NAMED], *more])
