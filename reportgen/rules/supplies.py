"""Compressed air and abrasive: every check judged, and the checks that are missing before or while blasting."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from reportgen.results import CheckResult, MeasureNext
from reportgen.rules.outcome import Outcome, Place, found, shown
from reportgen.rules.scene import elapsed

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterator

    from reportgen.job import AbrasiveCheck, AirCheck
    from reportgen.job.project import AbrasiveLimits, CompressedAir
    from reportgen.results import Finding, Verdict
    from reportgen.rules.scene import JobView, SurfaceView
    from reportgen.units import Quantity


def air_checks(view: JobView) -> Outcome[CheckResult]:
    """Judge every blotter test, and find apparatus that blasted without one."""
    stated = view.specification.compressed_air
    checks = view.job.day.air_checks
    results = tuple(_air_result(view, check, stated) for check in checks)
    findings: list[Finding] = []
    todo: list[MeasureNext] = []
    for area in view.areas:
        for surface in area.surfaces:
            own = [check for check in checks if check.apparatus == surface.record.apparatus]
            findings.extend(_unclean_air(view, surface, own, stated))
            times = [view.at(check.time) for check in own if air_verdict(check, stated) != "inconclusive"]
            if stated is not None and (gap := _gap(view, surface, times, stated.interval)) is not None:
                observed = f"{surface.record.apparatus}: {gap}"
                findings.append(
                    found("air-check-missing", observed, air_words(stated), area=area.id, clause=stated.clause)
                )
                todo.append(MeasureNext(area.id, f"blotter test of {surface.record.apparatus}", air_words(stated)))
    left_out = () if stated is not None else ("compressed air: the contract states no test",)
    return Outcome(results, tuple(findings), measure_next=tuple(todo), not_evaluated=left_out)


def air_verdict(check: AirCheck, stated: CompressedAir | None) -> Verdict:
    """Judge one blotter test; one that was too short shows nothing when it stayed clean."""
    if check.result != "clean":
        return "does not conform"
    least = None if stated is None else stated.minimum_duration
    if least is not None and check.duration.in_unit(least.unit) < least.exact:
        return "inconclusive"
    return "conforms"


def air_words(stated: CompressedAir | None) -> str:
    """Return what is required of the compressed air, in words."""
    words = "no oil or water on the blotter"
    if stated is not None and stated.minimum_duration is not None:
        words += f" in {shown(stated.minimum_duration)} or more"
    words += ", before blasting"
    if stated is not None and stated.interval is not None:
        words += f" and every {shown(stated.interval)}"
    return words


def _air_result(view: JobView, check: AirCheck, stated: CompressedAir | None) -> CheckResult:
    observed = f"{check.result}, {shown(check.duration)}"
    return CheckResult(
        "air",
        check.apparatus,
        view.printed(view.at(check.time)),
        air_verdict(check, stated),
        observed,
        air_words(stated),
    )


def _unclean_air(
    view: JobView, surface: SurfaceView, checks: list[AirCheck], stated: CompressedAir | None
) -> Iterator[Finding]:  # fmt: skip
    """Yield tests that failed before the surface was finished and were not followed by a clean one before it began."""
    start, end = surface.blasted
    place: Place = {"area": surface.record.area, "clause": None if stated is None else stated.clause}
    failed = [check for check in checks if air_verdict(check, stated) == "does not conform"]
    clean = [view.at(check.time) for check in checks if air_verdict(check, stated) == "conforms"]
    for check in failed:
        at = view.at(check.time)
        mended = any(at <= again <= start for again in clean)
        if at <= end and not mended:
            observed = f"{check.apparatus} at {view.printed(at)}: {check.result}"
            yield found("air-not-clean", observed, air_words(stated), **place)


def _gap(view: JobView, surface: SurfaceView, times: list[dt.datetime], interval: Quantity | None) -> str | None:
    """Return in words when the surface was blasted without a check: none before, or the last too long ago."""
    start, end = surface.blasted
    before = [at for at in times if at <= start]
    if not before:
        return f"no check before {view.printed(start)}"
    if interval is None:
        return None
    marks = [max(before), *sorted(at for at in times if start < at < end), end]
    for earlier, later in pairwise(marks):
        if elapsed(earlier, later, interval.unit) > interval.exact:
            return f"no check between {view.printed(earlier)} and {view.printed(later)}"
    return None


def abrasive_checks(view: JobView) -> Outcome[CheckResult]:
    """Judge every check of the abrasive, and find abrasive that was used without the checks the contract asks for."""
    stated = view.specification.abrasive
    checks = view.job.day.abrasive_checks
    results = tuple(_abrasive_result(view, check, stated) for check in checks)
    if stated is None:
        return Outcome(results, not_evaluated=("abrasive: the contract states no limits",))
    findings: list[Finding] = []
    todo: list[MeasureNext] = []
    for area in view.areas:
        for surface in area.surfaces:
            place: Place = {"area": area.id, "clause": stated.clause}
            own = [check for check in checks if check.abrasive == surface.record.blasted.abrasive]
            for check in own:
                if abrasive_verdict(check, stated) == "does not conform":
                    observed = f"{view.printed(view.at(check.time))}: {_abrasive_observed(check)}"
                    findings.append(found("abrasive-not-clean", observed, abrasive_words(stated), **place))
            missing = _abrasive_missing(view, surface, own, stated)
            findings.extend(found("abrasive-check-missing", what, abrasive_words(stated), **place) for what in missing)
            todo.extend(MeasureNext(area.id, f"abrasive: {what}", abrasive_words(stated)) for what in missing)
    return Outcome(results, tuple(findings), measure_next=tuple(todo))


def abrasive_verdict(check: AbrasiveCheck, stated: AbrasiveLimits | None) -> Verdict:
    """Judge one check; a conductivity by another method than the contract's is not compared."""
    if stated is None:
        return "not evaluated"
    if check.oil not in (None, "none seen"):
        return "does not conform"
    if _comparable(check, stated) and check.conductivity is not None and stated.maximum_conductivity is not None:
        most = stated.maximum_conductivity
        return "conforms" if check.conductivity.in_unit(most.unit) <= most.exact else "does not conform"
    if check.conductivity is not None and stated.maximum_conductivity is not None:
        return "inconclusive"
    return "conforms" if check.oil is not None else "not evaluated"


def _comparable(check: AbrasiveCheck, stated: AbrasiveLimits) -> bool:
    return stated.conductivity_method is None or check.method == stated.conductivity_method


def abrasive_words(stated: AbrasiveLimits) -> str:
    """Return what is required of the abrasive, in words."""
    parts = []
    if stated.maximum_conductivity is not None:
        method = "" if stated.conductivity_method is None else f" by {stated.conductivity_method}"
        parts.append(f"conductivity at most {shown(stated.maximum_conductivity)}{method}")
    if stated.oil_free:
        parts.append("no oil in the vial test")
    if stated.interval is not None:
        parts.append(f"before blasting and every {shown(stated.interval)}")
    return ", ".join(parts) or "clean abrasive"


def _abrasive_observed(check: AbrasiveCheck) -> str:
    parts = [] if check.oil is None else [f"oil: {check.oil}"]
    if check.conductivity is not None:
        method = "" if check.method is None else f" by {check.method}"
        parts.append(f"{shown(check.conductivity)}{method}")
    return ", ".join(parts) or "nothing tested"


def _abrasive_result(view: JobView, check: AbrasiveCheck, stated: AbrasiveLimits | None) -> CheckResult:
    words = "no limits stated" if stated is None else abrasive_words(stated)
    return CheckResult(
        "abrasive", check.abrasive, view.printed(view.at(check.time)), abrasive_verdict(check, stated),
        _abrasive_observed(check), words,
    )  # fmt: skip


def _abrasive_missing(
    view: JobView, surface: SurfaceView, own: list[AbrasiveCheck], stated: AbrasiveLimits
) -> list[str]:  # fmt: skip
    """Return in words which required tests of the abrasive lack or came too late."""
    conducting = [check for check in own if check.conductivity is not None and _comparable(check, stated)]
    tests = (
        ("oil", stated.oil_free, [check for check in own if check.oil is not None]),
        ("conductivity", stated.maximum_conductivity is not None, conducting),
    )
    missing = []
    for name, needed, checks in tests:
        gap = _gap(view, surface, [view.at(check.time) for check in checks], stated.interval) if needed else None
        if gap is not None:
            missing.append(f"{name} of {surface.record.blasted.abrasive}: {gap}")
    return missing
