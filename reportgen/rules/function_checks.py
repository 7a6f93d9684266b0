"""Checks on site of hygrometers, thermometers, barometers and conductivity meters: which readings a failed one reaches.

One that failed in an earlier report, and was not shown good since, reaches what is measured now. An entry that names no
instrument may have been made with the one that failed. What was measured does not count where something else, measured
in its place with an instrument that a check shows good, stands for it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.measurements import LOGS, TESTS
from reportgen.names import spelt_alike
from reportgen.results import CheckResult, Outcome, Place
from reportgen.results.codes import records as codes
from reportgen.results.codes.equipment import NoneInDoubt
from reportgen.rules.checked_instruments import (
    InstrumentCheck,
    beyond_accuracy,
    checked,
    doubts_of,
    good_checks,
    in_doubt,
    known_checks,
    made_with,
    may_be_in_doubt,
    shown_limit,
    time_of_test,
)
from reportgen.rules.covering import AT_ONCE, standing

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.measurements import Measurement
    from reportgen.results import Finding, Severity, Task
    from reportgen.rules.checked_instruments import Span
    from reportgen.rules.scene import JobView, SurfaceView

    Doubt = codes.TimesInDoubt | codes.TimesReplaced | codes.TestsInDoubt | codes.TestsReplaced | NoneInDoubt


def function_checks(view: JobView) -> Outcome[CheckResult]:
    """Judge every check, and find the areas whose readings a failed one reaches."""
    made, doubts = checked(view), in_doubt(view)
    results = tuple(
        codes.FUNCTION.of(one.record.instrument, one.facts, one.verdict, view.printed(one.at)) for one in made
    )
    findings: list[Finding] = []
    todo: list[Task] = []
    known = known_checks(view)
    # by whatever id an instrument was checked or used
    for names in dict.fromkeys(tuple(sorted(view.project.same_instrument(one.record.instrument))) for one in known):
        own = [one for one in known if one.record.instrument in names]
        found = list(_reached(view, names, own, doubts.get(names[0], ())))
        findings += found
        if any(one.severity == "nonconformance" for one in found):
            todo.append(codes.CHECK_FUNCTION.due(own[0].facts.instrument, Place()))
    for more in beyond_accuracy(view):
        seen = more.check.facts
        beyond = codes.FunctionBeyond(seen.instrument, seen.seen, shown_limit(more.stated))
        findings.append(codes.FUNCTION_BEYOND.found(beyond, Place(time=view.printed(more.check.at))))
    undecided = (
        codes.FUNCTION_UNDECIDED.at(
            codes.FunctionUndecided(one.facts.instrument, one.facts.seen), Place(time=view.printed(one.at))
        )
        for one in made if isinstance(one.facts.due, codes.NotTolerated)
    )  # fmt: skip
    return Outcome(results, tuple(findings), measure_next=tuple(todo), not_evaluated=tuple(undecided))


def _reached(
    view: JobView, names: Sequence[str], checks: Sequence[InstrumentCheck], spans: Sequence[Span]
) -> Iterator[Finding]:  # fmt: skip
    """State each failed check with what it puts in doubt, by area; alone where it reaches no reading."""
    failed = [one for one in checks if one.verdict == "does not conform"]
    told: set[Span] = set()
    reached = False
    for one in failed:
        span = next(span for span in spans if span[0] < one.at < span[1])
        if span in told:
            continue
        told.add(span)
        for area, doubt in _doubts_of(view, names, span):
            reached = True
            yield _failed(view, one, doubt, area)
    here = [one for one in failed if one.record in view.job.day.function_checks]
    if here and not reached:
        yield _failed(view, here[0], NoneInDoubt(), None)


def _failed(view: JobView, one: InstrumentCheck, doubt: Doubt, area: str | None) -> Finding:
    assert not isinstance(one.facts.due, codes.NotTolerated)  # noqa: S101 - else it did not fail
    facts = codes.FunctionFailed(one.facts.instrument, one.facts.seen, one.facts.due, doubt)
    harmless = isinstance(doubt, NoneInDoubt | codes.TimesReplaced | codes.TestsReplaced)
    severity: Severity | None = "observation" if harmless else None
    return codes.FUNCTION_FAILED.found(facts, Place(area, time=view.printed(one.at)), severity=severity)


def _doubts_of(view: JobView, names: Sequence[str], span: Span) -> Iterator[tuple[str, Doubt]]:
    """Yield what ``_doubts`` does, for each id of an instrument."""
    return (one for name in names for one in _doubts(view, name, span))


def _doubts(view: JobView, name: str, span: Span) -> Iterator[tuple[str, Doubt]]:
    """Yield by area what an instrument may have shown wrongly in a period, and what of it something else stands for."""
    times, tests = _shown_in(view, name, span), _tested_in(view, name, span)
    for facts, reached, replaced in (
        (codes.TimesInDoubt, times, False), (codes.TimesReplaced, times, True),
        (codes.TestsInDoubt, tests, False), (codes.TestsReplaced, tests, True),
    ):  # fmt: skip
        own = [(area, what) for area, what, instead in reached if instead is replaced]
        for area in dict.fromkeys(area for area, _ in own):
            yield area, facts(tuple(dict.fromkeys(what for one, what in own if one == area)))


def _shown_in(view: JobView, name: str, span: Span) -> list[tuple[str, str, bool]]:
    """Return areas for which an instrument may have been read in a period, when, and whether another stands for it."""
    kind = view.project.instruments[name].kind
    read = [one for one in standing(view) if not one.known and made_with(view, one.record, name)]
    used = [(one.at, area, False) for one in read for area in one.areas]
    used += [(one.at, area, True) for one in read for area in sorted(one.replaced)]
    used += _logged(view, name, kind)
    return [(area, view.printed(at), instead) for at, area, instead in used if span[0] < at < span[1]]


def _tested_in(view: JobView, name: str, span: Span) -> list[tuple[str, str, bool]]:
    """Return areas tested with an instrument in a period, or perhaps, where, and whether another test stands for it."""
    kind = view.project.instruments[name].kind
    surfaces = [(area.id, surface) for area in view.areas for surface in area.surfaces]
    return [(area, *one) for area, surface in surfaces for one in _tests(view, surface, name, kind, span)]


def _logged(view: JobView, name: str, kind: str) -> Iterator[tuple[dt.datetime, str, bool]]:
    """Yield when abrasive may have been measured with an instrument, and the areas blasted with it.

    And whether another check, of what was used there and by a good meter, stands for it.
    """
    logs = [log.entries_in(view.job.day) for log in LOGS if log.subject and kind in log.instruments]
    measured = [(one, log) for log in logs for one in log if one.conductivity is not None]
    for entry, log in ((one, log) for one, log in measured if one.instrument in (None, name)):
        instead: dict[str, bool] = {}
        for surface in _blasted_with(view, entry):
            stood_for = any(_stands_for(view, surface, other, entry, kind) for other in log)
            instead[surface.record.area] = instead.get(surface.record.area, True) and stood_for
        yield from ((view.at(entry.time), area, stood_for) for area, stood_for in instead.items())


def _blasted_with(view: JobView, check: Any) -> list[SurfaceView]:
    """Return the surfaces that were blasted with the abrasive of a check, by its apparatus where it names one."""
    named = check.apparatus
    every = (surface for area in view.areas for surface in area.surfaces)
    own = (one for one in every if named is None or spelt_alike(named, one.record.apparatus))
    return [one for one in own if one.record.blasted.abrasive == check.abrasive]


def _stands_for(view: JobView, surface: SurfaceView, other: Any, check: Any, kind: str) -> bool:
    """Whether another check of the abrasive stands for one in doubt, for what a surface was blasted with.

    It is a later one, before the blasting or at about the same time: of one before nobody knows that the abrasive was
    not replaced since. It names its apparatus where several blast with the abrasive.
    """
    if other.conductivity is None or other.method != check.method or not _is_good(view, other, kind):
        return False
    users = _blasted_with(view, other)
    sole = other.apparatus is not None or all(
        spelt_alike(one.record.apparatus, surface.record.apparatus) for one in users
    )
    first, then, start = view.at(check.time), view.at(other.time), surface.blasted[0]
    return surface in users and sole and first <= then and (then <= start or then - first <= AT_ONCE)


def _is_good(view: JobView, entry: Any, kind: str) -> bool:
    """Whether an entry of a log was made with an instrument that a check shows good, and that is not in doubt then."""
    return entry.instrument in good_checks(view) and not doubts_of(view)(entry.instrument, kind, view.at(entry.time))


def _tests(view: JobView, surface: SurfaceView, name: str, kind: str, span: Span) -> Iterator[tuple[str, bool]]:
    """Yield the locations of the tests of a surface that were made with an instrument in a period, or may have been.

    And whether another test there, of the same and by an instrument that a check shows good, stands for it.
    """
    for measured in (one for one in TESTS if kind in one.instruments):
        tests = measured.entries_on(surface.record)
        own = [
            one for one in tests if one.instrument in (None, name) and _within(span, time_of_test(view, surface, one))
        ]
        proven = [one for one in tests if one.instrument in good_checks(view)]
        good = [one for one in proven if not may_be_in_doubt(view, surface, measured, one)]
        yield from ((test.location, any(_measures_the_same(measured, one, test) for one in good)) for test in own)


def _within(span: Span, when: Span) -> bool:
    return span[0] < when[1] and when[0] < span[1]


def _measures_the_same(kind: Measurement[Any, Any, Any], one: Any, other: Any) -> bool:
    """Whether two tests are of one location, and their results follow from the same values."""
    given = [[getattr(each, name) is None for name in kind.depends_on] for each in (one, other)]
    return one.location == other.location and given[0] == given[1]
