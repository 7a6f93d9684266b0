"""Checks of the gauges: pre-set or zero, and shim, before and after the readings; which readings are in doubt."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.measurements.uncertain import share_of
from reportgen.metrology.plausibility import dial_doubt, reference_doubt
from reportgen.metrology.tape import film_thickness
from reportgen.references import table
from reportgen.results import Amount, CheckResult, Finding, LeftOut, Outcome, Place, Word
from reportgen.results.codes import equipment as codes
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Sequence

    from reportgen.job import GaugeCheck, Instrument, Project
    from reportgen.metrology.plausibility import Doubt
    from reportgen.results import Severity, Verdict
    from reportgen.rules.readings import MeasuredLocation, MeasuredSurface
    from reportgen.rules.scene import JobView, SurfaceView

_TOLD: Final[
    dict[bool, tuple[type[codes.GaugeSeen | codes.PlateSeen], type[codes.GaugeNotTried | codes.PlateNotTried]]]
] = {
    False: (codes.GaugeSeen, codes.GaugeNotTried), True: (codes.PlateSeen, codes.PlateNotTried),
}  # fmt: skip
"""What is told of a check, and of one that tried nothing, on the flat plate of a depth micrometer or not."""
_EVER: Final = (dt.datetime.min.replace(tzinfo=dt.UTC), dt.datetime.max.replace(tzinfo=dt.UTC))


@dataclass(frozen=True, slots=True)
class GaugeState:
    """One check: when, whether it passed, and how far the gauge was off in its own unit (None: nothing was tried).

    ``film`` is what the pre-set says of readings: ``subtracted`` or ``included``; None without a pre-set. ``more`` is
    by how much more than at zero it may be off where it was off most. ``asked`` where what it showed at rest or on the
    shim is to be looked at again: that says nothing of the gauge until it is confirmed. ``shim_counts`` is whether it
    says by how much the gauge errs on a shim, ``beyond`` whether it was confirmed to be so far off that it fails the
    gauge and is no error of a reading: ``deviation`` holds none of that.
    """

    at: dt.datetime
    verdict: Verdict
    deviation: Fraction | None
    seen: codes.GaugeSeen | codes.GaugeNotTried | codes.PlateSeen | codes.PlateNotTried
    film: str | None = None
    more: Fraction = Fraction(0)
    asked: bool = False
    shim_counts: bool = False
    beyond: bool = False

    @property
    def complete(self) -> bool:
        """Whether it was made as it should be, whatever is asked about it."""
        return self.asked or self.verdict != "inconclusive"


@dataclass(frozen=True, slots=True)
class GaugeProof:
    """All checks of one gauge in order of time; ``doubts`` are the periods between good checks with a failed one in.

    ``earlier`` are those of each earlier report on steel that is entered again, with the end of its shift: readings
    whose time is not recorded may be of that report.
    """

    gauge: str
    states: tuple[GaugeState, ...]
    doubts: tuple[tuple[dt.datetime, dt.datetime], ...]
    earlier: tuple[tuple[dt.datetime, GaugeState], ...] = ()

    def contradicting(
        self, film: str, taken: tuple[dt.datetime, dt.datetime], *, certain: bool = True
    ) -> GaugeState | None:
        """Return a good check beside readings of this time whose pre-set says something else of the film.

        Where the time is not ``certain``, only when no check from before it until after it agrees.
        """
        every = [*(state for end, state in self.earlier if taken[0] <= end), *self.states]
        known = [state for state in every if state.film is not None and state.verdict != "does not conform"]
        known.sort(key=lambda state: state.at)
        before = [state for state in known if state.at <= taken[0]][-1:]
        after = [state for state in known if state.at >= taken[1]][:1]
        within = [] if certain else [state for state in known if taken[0] < state.at < taken[1]]
        others = [state for state in (*before, *within, *after) if state.film != film]
        agreeing = len(before) + len(within) + len(after) - len(others)
        return None if not others or (agreeing and not certain) else others[0]

    @property
    def largest_deviation(self) -> Fraction | None:
        """Largest deviation seen, in the gauge's unit, for the uncertainty budget."""
        good = (state for _, state in self.earlier if state.verdict == "conforms")  # after another it was set anew
        deviations = (state.deviation for state in (*good, *self.states))
        return max((abs(one) for one in deviations if one is not None), default=None)

    @property
    def shim_tried(self) -> bool:
        """Whether any check was made on a shim."""
        return any(
            isinstance(state.seen, codes.GaugeSeen | codes.PlateSeen) and state.seen.shim is not None
            for state in self._every
        )

    @property
    def shim_counts(self) -> bool:
        """Whether any check says by how much the gauge errs on a shim."""
        return any(state.shim_counts for state in self._every)

    @property
    def _every(self) -> tuple[GaugeState, ...]:
        return (*(state for _, state in self.earlier), *self.states)

    @property
    def untried(self) -> Iterator[str]:
        """What no complete check of the shift tried: the rest, as its gauge has one, and the shim."""
        seen = [one.seen for one in self.states if isinstance(one.seen, codes.GaugeSeen | codes.PlateSeen)]
        if seen and all(isinstance(one, codes.GaugeSeen) and one.preset is None for one in seen):
            yield "pre-set"
        if seen and all(isinstance(one, codes.PlateSeen) and one.zero is None for one in seen):
            yield "zero"
        if seen and not self.shim_tried:
            yield "shim"

    def doubted(self, taken: tuple[dt.datetime, dt.datetime]) -> bool:
        """Whether any reading taken in this time lies between a good check and a failed one."""
        return self.doubted_by(taken) is not None

    def doubted_by(self, taken: tuple[dt.datetime, dt.datetime]) -> GaugeState | None:
        """Return the first failed check with no good one between it and some reading taken in this time."""
        spans = [span for span in self.doubts if span[0] < taken[1] and taken[0] < span[1]]
        failed = (state for state in self._every if state.verdict == "does not conform")
        return next((state for state in failed if any(start < state.at < end for start, end in spans)), None)

    def reaching(self, times: Collection[tuple[dt.datetime, dt.datetime]]) -> GaugeProof:
        """Return it less the failed checks that put no reading taken at some times in doubt.

        The good ones around those say how far the gauge was off then; what it showed before or after says nothing.
        """
        spans = [one for one in self.doubts if any(one[0] < end and start < one[1] for start, end in times)]
        states = (
            state for state in self.states
            if state.verdict != "does not conform" or any(start < state.at < end for start, end in spans)
        )  # fmt: skip
        return replace(self, states=tuple(states))

    def checked_before(self, at: dt.datetime) -> bool:
        """Whether there is a complete check at or before an instant."""
        known = [*self.states, *(state for end, state in self.earlier if at <= end)]
        return any(state.complete and state.at <= at for state in known)

    def checked_after(self, at: dt.datetime) -> bool:
        """Whether there is a complete check at or after an instant; of an earlier report for one of its own shift."""
        known = [*self.states, *(state for end, state in self.earlier if at <= end)]
        return any(state.complete and state.at >= at for state in known)


def gauge_proofs(view: JobView) -> dict[str, GaugeProof]:
    """Judge every gauge check of the shift and return the proof of each gauge, also of one without any check."""
    checks: dict[str, list[GaugeState]] = {
        surface.profile.gauge: [] for surface in view.job.day.surfaces if surface.profile is not None
    }
    for check in view.job.day.gauge_checks:
        checks.setdefault(check.gauge, []).append(_state(view, check))
    earlier = _checked_earlier(view)
    return {gauge: _proof(gauge, states, earlier.get(gauge, ())) for gauge, states in checks.items()}


def _checked_earlier(view: JobView) -> dict[str, tuple[tuple[dt.datetime, GaugeState], ...]]:
    """Return by gauge the checks of each earlier report that enters a surface of this day, with its shift's end."""
    found: dict[str, tuple[tuple[dt.datetime, GaugeState], ...]] = {}
    for stood in view.before:
        if any(surface.blasted[1] <= view.shift[0] and stood.enters(surface) for surface in view.surfaces):
            for check in stood.view.job.day.gauge_checks:
                known = (stood.view.shift[1], _state(stood.view, check))
                found[check.gauge] = (*found.get(check.gauge, ()), known)
    return found


def _proof(gauge: str, states: list[GaugeState], earlier: tuple[tuple[dt.datetime, GaugeState], ...]) -> GaugeProof:
    own = tuple(sorted(states, key=lambda state: state.at))
    ordered = sorted((*own, *(state for _, state in earlier)), key=lambda state: state.at)
    return GaugeProof(gauge, own, spans_in_doubt((state.at, state.verdict) for state in ordered), earlier)


def spans_in_doubt(checks: Iterable[tuple[dt.datetime, Verdict]]) -> tuple[tuple[dt.datetime, dt.datetime], ...]:
    """Return the periods between good checks of an instrument with a failed one in, in order of time."""
    known = list(checks)
    good = [at for at, verdict in known if verdict == "conforms"]
    doubts = {
        (
            max((at for at in good if at < failed), default=_EVER[0]),
            min((at for at in good if at > failed), default=_EVER[1]),
        )
        for failed, verdict in known
        if verdict == "does not conform"
    }
    return tuple(sorted(doubts))


def _state(view: JobView, check: GaugeCheck) -> GaugeState:
    """Judge one check: pre-set or zero within the gauge's limits of error, shim within these and its own.

    The shim's own error is the same in every check on it: it excuses none that is apart from another by more than the
    gauge's limits of error.
    """
    at = view.at(check.time)
    clean = Word("anvils", check.clean)
    told, nothing = _TOLD[check.tip is not None]
    parts, film = _tried(view, check)
    if not parts:
        return GaugeState(at, "inconclusive", None, nothing(clean))
    seen = told(clean, None if check.at_rest is None else Amount.of(check.at_rest))
    if check.shim is not None and check.shim_reading is not None:
        seen = replace(seen, shim=Amount.of(check.shim), shim_reading=Amount.of(check.shim_reading))
    known = [one for one in parts if not one.unlikely]
    asked = len(known) < len(parts) and not check.confirmed
    verdict = _verdict(check, known if asked else parts, asked=asked)
    worst = max(known, key=lambda one: abs(one.deviation), default=None)
    deviation, more = (None, Fraction(0)) if worst is None else (worst.deviation, worst.more)
    return GaugeState(
        at, verdict, deviation, seen, film, more, asked and check.clean != "not checked",
        any(one.on_shim for one in known), not asked and known != parts and verdict == "does not conform",
    )  # fmt: skip


def _tried(view: JobView, check: GaugeCheck) -> tuple[list[_Part], str | None]:
    """Return what a check tried, at rest and on a shim, and what the first says of the film."""
    allowed = _allowed(view.project.instruments[check.gauge])
    preset, film = _preset_deviation(view, check)
    unlikely = preset_doubt(view, check) is not None
    parts = [] if preset is None else [_Part(preset, allowed, unlikely=unlikely)]
    if check.shim is not None and check.shim_reading is not None:
        more = _share_of(view.project.instruments[check.gauge], check.shim)
        own, limit = _on_shim(view, check, allowed + more)
        parts.append(_Part(own, limit, more, unlikely=shim_doubt(check) is not None, on_shim=True))
    return parts, None if unlikely else film


class _Part(NamedTuple):
    """How far a gauge was off at rest or on a shim, how far it may be there, and by how much more than at zero.

    ``unlikely`` where that is mostly a slip.
    """

    deviation: Fraction
    limit: Fraction
    more: Fraction = Fraction(0)
    unlikely: bool = False
    on_shim: bool = False


def _verdict(check: GaugeCheck, parts: Sequence[_Part], *, asked: bool) -> Verdict:
    """Judge what a check tried; the rest of it may be ``asked`` about."""
    if check.clean == "not checked":
        return "inconclusive"
    if any(abs(one.deviation) > one.limit for one in parts):
        return "does not conform"
    return "inconclusive" if asked else "conforms"


def shim_doubt(check: GaugeCheck) -> Doubt | None:
    """Return the doubt about what a check read on its shim, confirmed or not."""
    if check.shim is None or check.shim_reading is None:
        return None
    return reference_doubt(check.shim_reading, check.shim)


def preset_doubt(view: JobView, check: GaugeCheck) -> Doubt | None:
    """Return the doubt about what a check read at rest on a dial, confirmed or not."""
    if check.preset is None:
        return None
    return dial_doubt(check.preset, dial_presets(view.project, check.gauge, _films(view)))


def dial_presets(project: Project, gauge: str, films: Iterable[tuple[str, str]]) -> list[Quantity]:
    """Return what the dial of a gauge should show at rest; none of a gauge that has no film to take off.

    Parameters:
        project: the project file.
        gauge: its id there.
        films: gauge and film of each series of readings, ``subtracted`` or ``included``.
    """
    known = project.instruments.get(gauge)
    if known is None or known.unit is None or known.kind != "thickness gauge":
        return []
    unit = known.unit
    return [Quantity(one, unit) for one in _presets({film for name, film in films if name == gauge}, unit)]


def _films(view: JobView) -> list[tuple[str, str]]:
    """Return gauge and film of each series of readings."""
    profiles = (surface.profile for surface in view.job.day.surfaces)
    return [(one.gauge, one.film) for one in profiles if one is not None]


def _on_shim(view: JobView, check: GaugeCheck, allowed: Fraction) -> tuple[Fraction, Fraction]:
    """Return how far the gauge was off on the shim of a check, and how far it may be [gauge's unit]."""
    gauge = view.project.instruments[check.gauge]
    unit = gauge.unit or ""
    same = [one for one in view.job.day.gauge_checks if one.gauge == check.gauge]
    read = [
        (one.shim.in_unit(unit), one.shim_reading.in_unit(unit))
        for one in (check, *same)
        if one.shim is not None and one.shim_reading is not None and (one is check or shim_doubt(one) is None)
    ]
    own, *others = (reading - nominal for nominal, reading in read if nominal == read[0][0])
    if gauge.shim_accuracy is None or any(abs(own - other) > allowed for other in others):
        return own, allowed
    return own, allowed + gauge.shim_accuracy.in_unit(unit)


def _share_of(gauge: Instrument, shim: Quantity) -> Fraction:
    """Return what a gauge may be off on a shim beyond its limits of error at zero [its unit]."""
    return (share_of(gauge.accuracy_of_reading) or Fraction(0)) * shim.in_unit(gauge.unit or "")


def _allowed(gauge: Instrument) -> Fraction:
    """Limits of error in the gauge's unit, never less than one digit, by which a dial may flicker.

    Without any on record, the gauge must show what it should but for that digit.
    """
    stated = _limits_of_error(gauge) or gauge.resolution
    return Fraction(0) if stated is None else stated.in_unit(gauge.unit or "")


def _limits_of_error(gauge: Instrument) -> Quantity | None:
    """Return the limits of error at zero, or one digit where that is more; None without any: a U does not bound it.

    A share of the reading is nothing there, and the record has the digit then.
    """
    if gauge.accuracy is None or gauge.resolution is None:
        return gauge.resolution if gauge.accuracy_of_reading is not None else gauge.accuracy
    return max(gauge.accuracy, gauge.resolution, key=lambda one: one.in_unit(gauge.unit or ""))


def _preset_deviation(view: JobView, check: GaugeCheck) -> tuple[Fraction | None, str | None]:
    """How far the pre-set is from the nearest value that the dial should show, and what that says of the film.

    A depth micrometer should show zero, and says nothing of a film. The distance is in the gauge's own unit, whatever
    unit the check is written in.
    """
    unit = view.project.instruments[check.gauge].unit or ""
    if check.zero is not None:
        return check.zero.in_unit(unit), None
    if check.preset is None:
        return None, None
    nominal = _presets({film for gauge, film in _films(view) if gauge == check.gauge}, unit)
    shown_as = check.preset.in_unit(unit)
    nearest = min(nominal, key=lambda value: abs(shown_as - value))
    return shown_as - nearest, nominal[nearest]


def _presets(films: Collection[str], unit: str) -> dict[Fraction, str]:
    """Pre-sets that a dial should show [unit], with what each says of the film.

    Zero with the film included; else minus the film, as dials without minus show it; where readings are taken in both
    ways, either.
    """
    film = film_thickness(unit).exact
    dials = [Fraction(row["dial"]) for row in table("tape-gauge").rows if row["unit"] == unit]
    included = {Fraction(0): "included"}
    subtracted = dict.fromkeys((-film, *(dial - film for dial in dials)), "subtracted")
    return (included if "included" in films else {}) | (subtracted if set(films) != {"included"} else {})


def reading_time(view: JobView, surface: SurfaceView, location: MeasuredLocation) -> tuple[dt.datetime, dt.datetime]:
    """Return the time in which a location may have been read: as recorded, else from blasting until the primer."""
    if location.taken is not None:
        return location.taken
    start = surface.blasted[1]
    return start, max(start, surface.coated or view.shift[1])


def gauge_checks(
    view: JobView, surfaces: Sequence[MeasuredSurface], proofs: dict[str, GaugeProof]
) -> Outcome[CheckResult]:
    """Report every check, the areas that lack one around their readings, and those that a failed one reaches."""
    results = tuple(
        codes.GAUGE.of(
            proof.gauge, codes.GaugeChecked(state.seen, _due(view, proof.gauge)), state.verdict, view.printed(state.at)
        )
        for proof in proofs.values() for state in proof.states
    )  # fmt: skip
    findings = [finding for proof in proofs.values() for finding in _drift(view, proof)]
    for measured in (one for one in surfaces if not one.compared):
        findings.extend(_area_findings(view, measured, proofs[measured.gauge_id]))
    reached = {finding.code for finding in findings}
    if "gauge-check-failed" not in reached:
        findings.extend(
            _failed(view, proof.gauge, state, codes.NoneInDoubt())
            for proof in proofs.values() for state in proof.states if state.verdict == "does not conform"
        )  # fmt: skip
    gaps = tuple(_untried(view, surfaces, proofs))
    return Outcome(results, tuple(findings), not_evaluated=gaps)


def _untried(
    view: JobView, surfaces: Iterable[MeasuredSurface], proofs: dict[str, GaugeProof]
) -> Iterator[LeftOut]:  # fmt: skip
    """Yield what no check of the shift tried on the gauges that were read with, and what U lacks by that."""
    for name in dict.fromkeys(one.gauge_id for one in surfaces if not one.compared and one.locations):
        facts = (codes.GaugePartUntried(name, Word("gauge-part", part)) for part in proofs[name].untried)
        yield from map(codes.PART_UNTRIED.at, facts)
        gauge = view.project.instruments[name]
        known = gauge.accuracy is not None or gauge.accuracy_of_reading is not None
        if known and proofs[name].shim_counts and gauge.shim_accuracy is None:
            yield codes.SHIM_ERROR.at(codes.ShimErrorUnknown(name))
        yield from _beyond(view, proofs[name]) if known else ()


def _beyond(view: JobView, proof: GaugeProof) -> Iterator[LeftOut]:
    """Yield the checks that fail a gauge by so much that U holds none of it."""
    for state in proof.states:
        if state.beyond and isinstance(state.seen, codes.GaugeSeen | codes.PlateSeen):
            yield codes.CHECK_BEYOND.at(codes.CheckBeyond(proof.gauge, state.seen, view.printed(state.at)))


def _due(view: JobView, gauge_id: str) -> codes.GaugeDue | codes.PlateDue:
    gauge = view.project.instruments[gauge_id]
    stated, shim, digit = _limits_of_error(gauge), gauge.shim_accuracy, gauge.resolution
    limits: codes.LimitsOfError | codes.NoLimitsOfError
    limits = codes.NoLimitsOfError(None if digit is None else Amount.of(digit))
    if stated is not None:
        share = gauge.accuracy_of_reading
        limits = codes.LimitsOfError(
            Amount.of(stated), None if shim is None else Amount.of(shim), None if share is None else Amount.of(share)
        )
    if gauge.kind == "depth micrometer":
        return codes.PlateDue(limits)
    return codes.GaugeDue(Amount.of(film_thickness(gauge.unit or "")), limits)


def _area_findings(view: JobView, measured: MeasuredSurface, proof: GaugeProof) -> list[Finding]:
    """Findings about the checks around the readings of one surface."""
    if not measured.locations:
        return []
    area = measured.surface.record.area
    times = [reading_time(view, measured.surface, location) for location in measured.locations]
    first = min(start for start, _ in times)
    # the latest time that is certain: an unrecorded one may have been right after blasting
    pairs = zip(times, measured.locations, strict=True)
    last = max(end if location.taken else start for (start, end), location in pairs)
    untimed = any(one.taken is None for one in measured.locations)
    checked = _checked_around(measured, proof, first, last)
    findings = []
    for side, which, at, known in (
        ("before", "first", first, checked[0]),
        ("after", "last", last, checked[1]),
    ):  # fmt: skip
        if not known:
            early = untimed and at == measured.surface.blasted[1] < view.shift[0]
            told = (Word("check-side", side), Word("check-reading", which), view.printed(at) if early else None)
            facts = codes.GaugeUnchecked(proof.gauge, *told)
            findings.append(codes.GAUGE_UNCHECKED.found(facts, Place(area, time=view.printed(at))))
    findings.extend(_contradicted(view, measured, proof, (first, max(end for _, end in times))))
    findings.extend(_doubted(view, measured, proof, times))
    return findings


def _checked_around(
    measured: MeasuredSurface, proof: GaugeProof, first: dt.datetime, last: dt.datetime
) -> tuple[bool, bool]:  # fmt: skip
    """Return whether a gauge was checked before and after its readings; nobody asks while their time is not known."""
    untimed = any(one.taken is None for one in measured.locations)
    unknown = untimed and not measured.surface.record.steel_known
    return unknown or proof.checked_before(first), unknown or proof.checked_after(last)


def _doubted(
    view: JobView, measured: MeasuredSurface, proof: GaugeProof, times: Sequence[tuple[dt.datetime, dt.datetime]]
) -> Iterator[Finding]:
    """Yield the checks that a gauge failed, each with the locations that it puts in doubt."""
    doubted: dict[GaugeState, list[str]] = {}
    for location, time in zip(measured.locations, times, strict=True):
        if (failed := proof.doubted_by(time)) is not None:
            doubted.setdefault(failed, []).append(location.id)
    area = measured.surface.record.area
    for failed, names in doubted.items():
        yield _failed(view, proof.gauge, failed, codes.InDoubt(tuple(names)), area)


def _contradicted(
    view: JobView, measured: MeasuredSurface, proof: GaugeProof, taken: tuple[dt.datetime, dt.datetime]
) -> list[Finding]:
    """Find a pre-set beside the readings that says something else of the film than their record."""
    film = measured.record.film
    certain = all(location.taken is not None for location in measured.locations)
    if not measured.on_tape or (other := proof.contradicting(film, taken, certain=certain)) is None:
        return []
    assert isinstance(other.seen, codes.GaugeSeen)  # noqa: S101 - a pre-set says so
    facts = codes.FilmContradicted(Word("film-recorded", film), proof.gauge, other.seen)
    place = Place(measured.surface.record.area, time=view.printed(other.at))
    return [codes.FILM_CONTRADICTED.found(facts, place)]


def _failed(
    view: JobView, gauge: str, failed: GaugeState, doubt: codes.InDoubt | codes.NoneInDoubt, area: str | None = None
) -> Finding:
    """State a failed check; one that reaches no reading is worth knowing, without consequence for an area."""
    assert isinstance(failed.seen, codes.GaugeSeen | codes.PlateSeen)  # noqa: S101 - one that showed nothing did not fail
    facts = codes.GaugeFailed(gauge, failed.seen, _due(view, gauge), doubt)
    severity: Severity | None = "observation" if isinstance(doubt, codes.NoneInDoubt) else None
    return codes.GAUGE_FAILED.found(facts, Place(area, time=view.printed(failed.at)), severity=severity)


def _drift(view: JobView, proof: GaugeProof) -> list[Finding]:
    """Find two checks one after the other that differ by more than the gauge's limits of error."""
    gauge = view.project.instruments[proof.gauge]
    stated = _limits_of_error(gauge)
    known = [(state, state.deviation) for state in proof.states if state.deviation is not None]
    findings = []
    for (before, start), (after, end) in pairwise(known):
        moved = abs(end - start)
        more = max(before.more, after.more)
        if stated is not None and moved > _allowed(gauge) + more:
            unit = gauge.unit or ""
            drift = Amount(rounded(moved, 2), unit)
            limit = Amount.of_number(_allowed(gauge) + more, unit, stated.places + 2) if more else Amount.of(stated)
            facts = codes.GaugeMoved(proof.gauge, drift, view.printed(before.at), limit)
            findings.append(codes.GAUGE_MOVED.found(facts, Place(time=view.printed(after.at))))
    return findings
