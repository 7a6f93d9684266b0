"""Checks on site of hygrometers, thermometers, barometers and conductivity meters: which readings a failed one reaches.

As with a gauge, what an instrument showed between two good checks with a failed one in is in doubt. An entry that names
no instrument may have been made with the one that failed.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.job.recorded import TOLERATED
from reportgen.measurements import LOGS, TESTS
from reportgen.results import Amount, CheckResult, Outcome, Place, Word
from reportgen.results.codes import records as codes
from reportgen.results.codes.equipment import InstrumentNamed, NoneInDoubt
from reportgen.rules.covering import standing
from reportgen.rules.gauges import spans_in_doubt
from reportgen.units import kind_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator, Sequence

    from reportgen.job import Condition, FunctionCheck, Instrument
    from reportgen.results import Finding, Severity, Task, Verdict
    from reportgen.rules.scene import JobView, SurfaceView
    from reportgen.units import Quantity

    _Span = tuple[dt.datetime, dt.datetime]

_SHOWN_IN: Final = {
    "hygrometer": "humidity", "psychrometer": "wet_bulb", "surface thermometer": "steel", "air thermometer": "air",
    "barometer": "pressure",
}  # fmt: skip
"""Kind of instrument → field of a reading of the conditions that it shows."""


@dataclass(frozen=True, slots=True)
class _Checked:
    """One check, when it was made, and how it is judged."""

    record: FunctionCheck
    at: dt.datetime
    facts: codes.FunctionChecked
    verdict: Verdict


def function_checks(view: JobView) -> Outcome[CheckResult]:
    """Judge every check, and find the areas whose readings a failed one reaches."""
    checked = [_checked(view, one) for one in view.job.day.function_checks]
    results = tuple(
        codes.FUNCTION.of(one.record.instrument, one.facts, one.verdict, view.printed(one.at)) for one in checked
    )
    findings: list[Finding] = []
    todo: list[Task] = []
    for name in dict.fromkeys(one.record.instrument for one in checked):
        own = sorted((one for one in checked if one.record.instrument == name), key=lambda one: one.at)
        found = list(_reached(view, name, own))
        findings += found
        if any(one.severity == "nonconformance" for one in found):
            todo.append(codes.CHECK_FUNCTION.due(own[0].facts.instrument, Place()))
    return Outcome(results, tuple(findings), measure_next=tuple(todo))


def good_checks(view: JobView) -> frozenset[str]:
    """Return the instruments with a check of the day that shows them good."""
    checked = (_checked(view, one) for one in view.job.day.function_checks)
    return frozenset(one.record.instrument for one in checked if one.verdict == "conforms")


def _checked(view: JobView, record: FunctionCheck) -> _Checked:
    """Judge one check: what was shown against the reference, within the tolerance or the instrument's accuracy."""
    instrument = view.project.instruments[record.instrument]
    named = InstrumentNamed(record.instrument, Word("instrument-kind", instrument.kind), instrument.serial)
    seen = codes.FunctionSeen(Amount.of(record.reference), Amount.of(record.shown), record.against)
    stated = record.tolerance or _own_accuracy(record, instrument)
    at = view.at(record.time)
    if stated is None:
        return _Checked(record, at, codes.FunctionChecked(named, seen, codes.NotTolerated()), "inconclusive")
    unit = record.reference.unit
    off = abs(record.shown.in_unit(unit) - record.reference.exact)
    kind = kind_of(stated.unit)
    if kind == "share" and record.kind == "conductivity":
        allowed = abs(record.reference.exact) * stated.in_unit("%") / 100
    elif record.kind == "temperature":
        allowed = stated.in_unit(f"delta_{unit}")
    else:
        allowed = stated.in_unit(unit)
    due = codes.Tolerated(Amount.of(stated))
    return _Checked(
        record, at, codes.FunctionChecked(named, seen, due),
        "conforms" if off <= Fraction(allowed) else "does not conform",
    )  # fmt: skip


def _own_accuracy(record: FunctionCheck, instrument: Instrument) -> Quantity | None:
    """Return the accuracy of an instrument where it is one of what was checked."""
    stated = instrument.accuracy
    return stated if stated is not None and kind_of(stated.unit) in TOLERATED[record.kind] else None


def _reached(view: JobView, name: str, checks: Sequence[_Checked]) -> Iterator[Finding]:
    """State each failed check with what it puts in doubt, by area; alone where it reaches no reading."""
    spans = spans_in_doubt((one.at, one.verdict) for one in checks)
    failed = [one for one in checks if one.verdict == "does not conform"]
    told: set[_Span] = set()
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


def _failed(
    view: JobView, one: _Checked, doubt: codes.TimesInDoubt | codes.TestsInDoubt | NoneInDoubt, area: str | None
) -> Finding:  # fmt: skip
    assert isinstance(one.facts.due, codes.Tolerated)  # noqa: S101 - else it did not fail
    facts = codes.FunctionFailed(one.facts.instrument, one.facts.seen, one.facts.due, doubt)
    severity: Severity | None = "observation" if isinstance(doubt, NoneInDoubt) else None
    return codes.FUNCTION_FAILED.found(facts, Place(area, time=view.printed(one.at)), severity=severity)


def _doubts(
    view: JobView, name: str, span: _Span
) -> Iterator[tuple[str, codes.TimesInDoubt | codes.TestsInDoubt]]:  # fmt: skip
    """Yield by area what an instrument may have shown wrongly in a period."""
    kind = view.project.instruments[name].kind
    times: dict[str, dict[str, None]] = {}
    used = (
        (at, areas) for at, areas in (*_read(view, name, kind), *_logged(view, name, kind)) if span[0] < at < span[1]
    )
    for at, area in ((at, area) for at, areas in used for area in areas):
        times.setdefault(area, {})[view.printed(at)] = None
    yield from ((area, codes.TimesInDoubt(tuple(known))) for area, known in times.items())
    for each in view.areas:
        places = [place for surface in each.surfaces for place in _tests(view, surface, name, kind, span)]
        if places:
            yield each.id, codes.TestsInDoubt(tuple(dict.fromkeys(places)))


def _read(view: JobView, name: str, kind: str) -> Iterator[tuple[dt.datetime, Sequence[str]]]:
    """Yield when the conditions may have been read with an instrument, and the areas whose work that stands for."""
    yield from ((one.at, one.areas) for one in standing(view) if _made_with(one.record, name, kind))


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


def _made_with(record: Condition, name: str, kind: str) -> bool:
    """Whether a reading of the conditions was made with an instrument, or may have been."""
    if record.instruments:
        return name in record.instruments
    return kind in _SHOWN_IN and getattr(record, _SHOWN_IN[kind]) is not None


def _tests(view: JobView, surface: SurfaceView, name: str, kind: str, span: _Span) -> Iterator[str]:
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
