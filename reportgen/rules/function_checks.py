"""Checks on site of hygrometers, thermometers, barometers and conductivity meters: which readings a failed one reaches.

An entry that names no instrument may have been made with the one that failed. Readings of the conditions do not count
where others, taken then with an instrument that a check shows good, stand for them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.measurements import LOGS, TESTS
from reportgen.results import Amount, CheckResult, Outcome, Place
from reportgen.results.codes import records as codes
from reportgen.results.codes.equipment import NoneInDoubt
from reportgen.rules.checked_instruments import Checked, beyond_accuracy, checked, in_doubt, made_with
from reportgen.rules.covering import standing

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.results import Finding, Severity, Task
    from reportgen.rules.checked_instruments import Span
    from reportgen.rules.scene import JobView, SurfaceView

    Doubt = codes.TimesInDoubt | codes.TimesReplaced | codes.TestsInDoubt | NoneInDoubt


def function_checks(view: JobView) -> Outcome[CheckResult]:
    """Judge every check, and find the areas whose readings a failed one reaches."""
    made, doubts = checked(view), in_doubt(view)
    results = tuple(
        codes.FUNCTION.of(one.record.instrument, one.facts, one.verdict, view.printed(one.at)) for one in made
    )
    findings: list[Finding] = []
    todo: list[Task] = []
    for name in dict.fromkeys(one.record.instrument for one in made):
        own = [one for one in made if one.record.instrument == name]
        found = list(_reached(view, name, own, doubts.get(name, ())))
        findings += found
        if any(one.severity == "nonconformance" for one in found):
            todo.append(codes.CHECK_FUNCTION.due(own[0].facts.instrument, Place()))
    for more in beyond_accuracy(view):
        seen = more.check.facts
        beyond = codes.FunctionBeyond(seen.instrument, seen.seen, Amount.of(more.stated))
        findings.append(codes.FUNCTION_BEYOND.found(beyond, Place(time=view.printed(more.check.at))))
    return Outcome(results, tuple(findings), measure_next=tuple(todo))


def _reached(view: JobView, name: str, checks: Sequence[Checked], spans: Sequence[Span]) -> Iterator[Finding]:
    """State each failed check with what it puts in doubt, by area; alone where it reaches no reading."""
    failed = [one for one in checks if one.verdict == "does not conform"]
    told: set[Span] = set()
    reached = False
    for one in failed:
        span = next(span for span in spans if span[0] < one.at < span[1])
        if span in told:
            continue
        told.add(span)
        for area, doubt in _doubts(view, name, span):
            reached = True
            yield _failed(view, one, doubt, area)
    if failed and not reached:
        yield _failed(view, failed[0], NoneInDoubt(), None)


def _failed(view: JobView, one: Checked, doubt: Doubt, area: str | None) -> Finding:
    assert isinstance(one.facts.due, codes.Tolerated)  # noqa: S101 - else it did not fail
    facts = codes.FunctionFailed(one.facts.instrument, one.facts.seen, one.facts.due, doubt)
    harmless = isinstance(doubt, NoneInDoubt | codes.TimesReplaced)
    severity: Severity | None = "observation" if harmless else None
    return codes.FUNCTION_FAILED.found(facts, Place(area, time=view.printed(one.at)), severity=severity)


def _doubts(view: JobView, name: str, span: Span) -> Iterator[tuple[str, Doubt]]:
    """Yield by area what an instrument may have shown wrongly in a period."""
    kind = view.project.instruments[name].kind
    read = [one for one in standing(view) if made_with(one.record, name, kind)]
    used = ((one.at, one.areas) for one in read)
    for area, known in _times(view, span, (*used, *_logged(view, name, kind))).items():
        yield area, codes.TimesInDoubt(known)
    for area, known in _times(view, span, ((one.at, sorted(one.replaced)) for one in read)).items():
        yield area, codes.TimesReplaced(known)
    for each in view.areas:
        places = [place for surface in each.surfaces for place in _tests(view, surface, name, kind, span)]
        if places:
            yield each.id, codes.TestsInDoubt(tuple(dict.fromkeys(places)))


def _times(
    view: JobView, span: Span, used: Iterable[tuple[dt.datetime, Collection[str]]]
) -> dict[str, tuple[str, ...]]:
    """Return by area the times within a period at which something was read for it."""
    times: dict[str, dict[str, None]] = {}
    for at, area in ((at, area) for at, areas in used if span[0] < at < span[1] for area in areas):
        times.setdefault(area, {})[view.printed(at)] = None
    return {area: tuple(known) for area, known in times.items()}


def _logged(view: JobView, name: str, kind: str) -> Iterator[tuple[dt.datetime, Sequence[str]]]:
    """Yield when abrasive may have been measured with an instrument, and the areas blasted with it."""
    surfaces = [surface.record for area in view.areas for surface in area.surfaces]
    entries = [
        entry for log in LOGS if log.subject and kind in log.instruments for entry in log.entries_in(view.job.day)
    ]
    for entry in entries:
        if entry.conductivity is not None and entry.instrument in (None, name):
            blasted = dict.fromkeys(one.area for one in surfaces if one.blasted.abrasive == entry.abrasive)
            yield view.at(entry.time), tuple(blasted)


def _tests(view: JobView, surface: SurfaceView, name: str, kind: str, span: Span) -> Iterator[str]:
    """Yield the locations of the tests of a surface that were made with an instrument in a period, or may have been.

    A test without a time may have been made from the beginning of the blasting until the primer.
    """
    tests = [test for measured in TESTS if kind in measured.instruments for test in measured.entries_on(surface.record)]
    for test in (one for one in tests if one.instrument in (None, name)):
        first = last = None if test.time is None else view.at(test.time)
        if first is None or last is None:
            first, last = surface.blasted[0], surface.coated or max(view.shift[1], surface.blasted[0])
        if span[0] < last and first < span[1]:
            yield test.location
