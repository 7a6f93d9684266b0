"""Instruments, tape and people on the date of the reading: calibration, expiry, unused tape, certificate."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from reportgen.measurements import MEASUREMENTS
from reportgen.metrology.tape import UPPER, unused_tape_range
from reportgen.results import Amount, CheckResult, Outcome, Place, Word
from reportgen.results.codes import equipment as codes

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping

    from reportgen.job import TapeCheck
    from reportgen.results import Finding, LeftOut, Severity, Task, Verdict
    from reportgen.rules.scene import JobView, SurfaceView

_Use = tuple[str, str | None, dt.date, "Severity | None"]
"""Instrument, area it was used on (None: the whole report), date, and what its fault weighs where not the usual."""


def calibrations(view: JobView) -> Outcome[CheckResult]:
    """Compare the date of every use of an instrument with the date its calibration falls due."""
    uses = dict.fromkeys(instrument_uses(view))
    results: dict[tuple[str, dt.date], CheckResult] = {}
    findings: list[Finding] = []
    left_out: dict[LeftOut, None] = {}
    for instrument_id, area, date, severity in uses:
        instrument = view.project.instruments[instrument_id]
        due = instrument.calibration_due
        named = codes.InstrumentNamed(instrument_id, Word("instrument-kind", instrument.kind), instrument.serial)
        if due is None:
            left_out[codes.CALIBRATION_UNDATED.at(codes.CalibrationUndated(named))] = None
            continue
        verdict: Verdict = "conforms" if date <= due else "does not conform"
        facts = codes.Calibration(named, date.isoformat(), due.isoformat())
        results[instrument_id, date] = codes.CALIBRATION.of(instrument_id, facts, verdict)
        if verdict != "conforms":
            findings.append(codes.CALIBRATION_OVERDUE.found(facts, Place(area), severity=severity))
    return Outcome(tuple(results.values()), tuple(findings), not_evaluated=tuple(left_out))


def instrument_uses(view: JobView) -> Iterator[_Use]:
    """Yield each instrument with the area and the date of its use.

    That of a reading of the conditions concerns the areas the reading covers; that of a check of the abrasive, those
    blasted with it.
    """
    for condition in view.job.day.conditions:
        date = view.local(view.at(condition.time)).date()
        for instrument in condition.instruments:
            yield from _uses(view, instrument, view.places.covered(condition), date)
    for area in view.areas:
        for surface in area.surfaces:
            yield from _surface_uses(view, surface)
    for check in view.job.day.abrasive_checks:
        if check.instrument is not None:
            blasted = {one.area for one in view.job.day.surfaces if one.blasted.abrasive == check.abrasive}
            yield from _uses(view, check.instrument, blasted, view.local(view.at(check.time)).date())


def _uses(view: JobView, instrument: str, areas: Collection[str] | None, date: dt.date) -> Iterator[_Use]:
    """Yield a use for each inspected area among some, one for the report where that is all of them.

    Where no inspected area is among them, or where nobody can say (None), the report bears it: without consequence in
    the first case, as nothing depends on it.
    """
    inspected = [area.id for area in view.areas if areas is None or area.id in areas]
    if len(inspected) in (0, len(view.areas)):
        yield instrument, None, date, None if inspected else "observation"
    else:
        yield from ((instrument, area, date, None) for area in inspected)


def _surface_uses(view: JobView, surface: SurfaceView) -> Iterator[_Use]:
    """Yield the gauge on every date of its readings, and the instruments of the tests."""
    area, day = surface.record.area, view.local(surface.blasted[1]).date()
    if surface.record.profile is not None:
        times = dict.fromkeys(reading.time for reading in surface.readings)
        for date in dict.fromkeys(_date(view, time, day) for time in times) or [day]:
            yield surface.record.profile.gauge, area, date, None
    tests = [test for kind in MEASUREMENTS if kind.instruments for test in kind.entries_on(surface.record)]
    for test in tests:
        if test.instrument is not None:
            yield test.instrument, area, day if test.time is None else view.local(view.at(test.time)).date(), None


def _date(view: JobView, time: str | None, otherwise: dt.date) -> dt.date:
    return otherwise if time is None else view.local(view.at_text(time)).date()


def tapes(view: JobView) -> Outcome[CheckResult]:
    """Judge the rolls used: expiry on the date of the reading, and the thickness of unused tape."""
    uses = _roll_uses(view)
    results = [_tape_result(view, check) for check in view.job.day.tape_checks]
    findings = [*_expired(view, uses), *_thickness_findings(view, uses)]
    checked = {check.roll for check in view.job.day.tape_checks}
    todo: list[Task] = []
    for roll, areas in uses.items():
        # the published range is one of extra coarse tape; a check of another grade could not be judged
        if roll not in checked and view.project.tape_rolls[roll].grade == UPPER:
            facts = codes.TapeRollNamed(roll)
            findings.extend(codes.TAPE_UNCHECKED.found(facts, Place(area)) for area in areas)
            todo.append(codes.MEASURE_UNUSED_TAPE.due(facts, Place(next(iter(areas)))))
    left_out = tuple(
        codes.EXPIRY_NOT_STATED.at(codes.TapeRollNamed(roll))
        for roll in uses
        if view.project.tape_rolls[roll].expires is None
    )
    unknown = tuple(
        codes.RANGE_NOT_PUBLISHED.at(
            codes.TapeOfGrade(check.roll, Word("tape-grade", view.project.tape_rolls[check.roll].grade))
        )
        for check in view.job.day.tape_checks
        if _range(view, check) is None
    )
    return Outcome(tuple(results), tuple(findings), measure_next=tuple(todo), not_evaluated=(*left_out, *unknown))


def _roll_uses(view: JobView) -> dict[str, dict[str, set[dt.date]]]:
    """Return roll → area → dates of its readings."""
    uses: dict[str, dict[str, set[dt.date]]] = {}
    for area in view.areas:
        for surface in area.surfaces:
            day = view.local(surface.blasted[1]).date()
            seen = dict.fromkeys((reading.roll, reading.time) for reading in surface.readings)
            for roll, time in seen:
                if roll is not None:
                    uses.setdefault(roll, {}).setdefault(area.id, set()).add(_date(view, time, day))
    return uses


def _expired(view: JobView, uses: Mapping[str, Mapping[str, set[dt.date]]]) -> Iterator[Finding]:
    for roll, areas in uses.items():
        expires = view.project.tape_rolls[roll].expires
        for area, dates in areas.items():
            last = max(dates)
            if expires is not None and last > expires:
                lot = view.project.tape_rolls[roll].lot
                yield codes.TAPE_EXPIRED.found(
                    codes.TapeExpired(roll, lot, last.isoformat(), expires.isoformat()), Place(area)
                )


def _range(view: JobView, check: TapeCheck) -> tuple[codes.UnusedTapeRange, bool] | None:
    """Return the published range and whether the thickness lies in it; None for a grade without one."""
    if view.project.tape_rolls[check.roll].grade != UPPER:
        return None
    lowest, highest = unused_tape_range(view.project.instruments[check.gauge].unit or "")
    thickness = check.thickness.in_unit(lowest.unit)
    within = lowest.exact <= thickness <= highest.exact
    return codes.UnusedTapeRange(Amount.of(lowest), Amount.of(highest)), within


def _tape_result(view: JobView, check: TapeCheck) -> CheckResult:
    judged = _range(view, check)
    verdict: Verdict = "not evaluated"
    if judged is not None:
        verdict = "conforms" if judged[1] else "does not conform"
    facts = codes.TapeChecked(Amount.of(check.thickness), codes.NoTapeRange() if judged is None else judged[0])
    return codes.TAPE.of(check.roll, facts, verdict, view.printed(view.at(check.time)))


def _thickness_findings(view: JobView, uses: Mapping[str, Mapping[str, set[dt.date]]]) -> Iterator[Finding]:
    for check in view.job.day.tape_checks:
        judged = _range(view, check)
        if judged is not None and not judged[1]:
            facts = codes.TapeOutside(check.roll, Amount.of(check.thickness), judged[0])
            time = view.printed(view.at(check.time))
            for area in uses.get(check.roll, {}):
                yield codes.TAPE_OUTSIDE.found(facts, Place(area, time=time))
            if check.roll not in uses:
                yield codes.TAPE_OUTSIDE.found(facts, Place(time=time), severity="observation")


def certificates(view: JobView) -> Outcome[CheckResult]:
    """Compare the certificates of the inspector, and of whoever took the readings of a surface, with the date."""
    takers: dict[str, list[str]] = {}
    for area in view.areas:
        for surface in area.surfaces:
            taker = surface.record.inspector
            if taker is not None and taker != view.job.day.report.inspector:
                takers.setdefault(taker, []).append(area.id)
    own = _certificate(view, view.job.day.report.inspector, [None])
    return Outcome.joined((own, *(_certificate(view, one, dict.fromkeys(areas)) for one, areas in takers.items())))


def _certificate(view: JobView, person_id: str, areas: Iterable[str | None]) -> Outcome[CheckResult]:
    """Compare a person's certificate with the date of the report, for the areas that rest on it (None: all)."""
    person = view.project.people[person_id]
    expires, last = person.certificate_expires, max(view.date, view.local(view.shift[1]).date())
    if person.certificate is None:
        return Outcome(not_evaluated=(codes.CERTIFICATE_NOT_STATED.at(codes.PersonNamed(person.name)),))
    if expires is None:
        return Outcome(not_evaluated=(codes.CERTIFICATE_UNDATED.at(codes.PersonNamed(person.name)),))
    facts = codes.Certificate(person.name, person.certificate, expires.isoformat(), last.isoformat())
    verdict: Verdict = "conforms" if last <= expires else "does not conform"
    findings = (
        () if verdict == "conforms" else tuple(codes.CERTIFICATE_EXPIRED.found(facts, Place(one)) for one in areas)
    )
    return Outcome((codes.CERTIFICATE.of(person.name, facts, verdict),), findings)
