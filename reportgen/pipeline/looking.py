"""Look: the day evaluated with a change that is not written yet, and what follows at the place it is about."""

from __future__ import annotations

import contextlib
import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from reportgen.errors import InputError, QuantityError, RangeError, ReportgenError, UsageError
from reportgen.intake.changes import Address, Change, Entry, OtherwiseError, changed, content_at
from reportgen.intake.sequence import SERIES
from reportgen.job import SiteClock, parse_clock
from reportgen.loader import load_job
from reportgen.loader.checks.times import ends_too_early
from reportgen.measurements import MEASUREMENTS
from reportgen.pipeline.as_issued import load
from reportgen.pipeline.checking import KEPT
from reportgen.pipeline.confirming import FLAG, record_of
from reportgen.register import REGISTER_NAME
from reportgen.results.codes.doubts import (
    APPARATUS_DOUBTFUL,
    ENTRY_DOUBTFUL,
    ENTRY_UNLIKELY,
    SERIES_TWICE,
    STEEL_DOUBTFUL,
    DoubtedEntry,
)
from reportgen.results.codes.profile import OUTSIDE_GRADE_RANGE
from reportgen.results.codes.records import HOLD_DOUBTFUL
from reportgen.results.facts import Place
from reportgen.rules import evaluate
from reportgen.rules.doubts import of_itself
from reportgen.rules.explain import tests_with_results
from reportgen.rules.scene import as_evaluated
from reportgen.rules.standing import standing
from reportgen.yamlsource import DayText, parse_yaml

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

    from reportgen.diagnostics import Diagnostic
    from reportgen.job import Job
    from reportgen.results import (
        AreaResult,
        Decision,
        Evaluation,
        Finding,
        LocationResult,
        SpotResult,
        Standing,
        Task,
        Verdict,
    )

DOUBTS: Final = frozenset(
    one.name
    for one in (ENTRY_DOUBTFUL, ENTRY_UNLIKELY, APPARATUS_DOUBTFUL, STEEL_DOUBTFUL, SERIES_TWICE, HOLD_DOUBTFUL)
)
"""Codes of findings that ask whether an entry is true, and are settled by ``confirmed: yes``."""
SINGLE: Final = frozenset({ENTRY_DOUBTFUL.name, ENTRY_UNLIKELY.name})
"""Those that are about one entry, wherever it was compared with others."""
_ASKED: Final = DOUBTS | {OUTSIDE_GRADE_RANGE.name}
_NUMBER: Final = re.compile(r"([+-]?[0-9]+),([0-9]+)(?=[^0-9,.][^,.]*\Z|\Z)", re.ASCII)
_TIMES: Final = frozenset({"time", "start", "end", "washed", "dust_removed", "coated", "asked", "released", "refused"})
_KEPT: Final = 64
_LONGEST_SHIFT: Final = 16
"""Hours [h] of a shift beyond which its times are asked about; no source: it is two shifts of eight hours."""


@dataclass(frozen=True, slots=True)
class AreaChanged:
    """An area of which more than the entry changed: verdict and decision before, and with the change."""

    area: str
    before: tuple[Verdict, Decision] | None
    now: tuple[Verdict, Decision] | None


@dataclass(frozen=True, slots=True)
class ShiftDoubt:
    """What other times of the shift would do: its ``hours`` where they are many, how many entries are ``moved``."""

    hours: int | None
    moved: int


@dataclass(frozen=True, slots=True)
class Look:
    """What follows from a change, as typed and not written yet; everything is of the tool's own evaluation.

    ``refused``: what the loader objects to because of it; then there is no result. ``asked``: findings that ask
    whether the entry is true before it is believed, and ``beside`` those that ask it of another entry, of which the
    change made an unlikely one; ``doubted`` is every entry that is asked about with the change, as far as its own flag
    settles it; ``outside_shift`` where it is a time before or after the shift, ``shift`` where it is
    one of the shift itself that makes it unusually long, or puts what is entered on another day or outside it.
    ``spot``, ``location`` and ``area`` are those of the place, ``result`` that of another kind of measurement: a
    reading of the conditions with dew point and margin, salts, dust, a check. ``wanted`` is what to measure next right
    there, such as the reading with the other grade (``read-other-grade``: facts name grade and reason). ``findings``
    are about the place; ``changed`` are the areas whose verdict or decision changes. ``standing`` is that of the day
    with the change, None where only the area was evaluated, or where something else keeps the day from being evaluated.
    ``elsewhere`` says what else is wrong; within entries it sets those aside. ``sha256`` is that of the day file as it
    is.
    """

    sha256: str
    refused: tuple[Diagnostic, ...] = ()
    asked: tuple[Finding, ...] = ()
    beside: tuple[Finding, ...] = ()
    doubted: tuple[Finding, ...] = ()
    outside_shift: bool = False
    shift: ShiftDoubt | None = None
    spot: SpotResult | None = None
    location: LocationResult | None = None
    area: AreaResult | None = None
    result: Any = None
    wanted: tuple[Task, ...] = ()
    findings: tuple[Finding, ...] = ()
    changed: tuple[AreaChanged, ...] = ()
    standing: Standing | None = None
    elsewhere: tuple[Diagnostic, ...] = ()


def look(
    day: Path, changes: Change | Sequence[Change], *, at: dt.datetime | None = None, whole: bool = True
) -> Look:  # fmt: skip
    """Evaluate a day with changes in memory; write nothing. An unfinished day is evaluated as far as it goes.

    What a change says stood there before does not matter: nothing is written. With ``whole`` set to False only the area
    of the change is evaluated: spot, location, and the area's numbers and findings of its own are the same, and nothing
    is said of decisions, of other areas or of the day.

    Raises:
        InputError: the day file cannot be read at all. UsageError: several entries are the one that is meant, or there
            is no such file.
    """
    try:
        before = day.read_bytes()
    except OSError as failure:
        raise UsageError(f"`{day}` cannot be read: {failure.strerror}") from None
    wanted = tuple(changes) if isinstance(changes, Sequence) else (changes,)
    text = DayText(before, str(day))
    clock = site_clock(day, text.data) if needs_clock(wanted) else None
    for one in with_inspected(text.data, wanted):
        try:
            changed(text, replace(one, before=content_at(text.data, one.at)), clock)
        except OtherwiseError:
            raise AssertionError("a place says what it says") from None
    return looked(day, text.encoded(), wanted, at=at, whole=whole, before=before)


def looked(
    day: Path,
    data: bytes,
    changes: Sequence[Change],
    *,
    at: dt.datetime | None = None,
    whole: bool = True,
    before: bytes | None = None,
) -> Look:
    """Return what follows from a content of a day file that came about by changes; ``before`` is the one as it is.

    Raises:
        InputError: it cannot be read at all.
    """
    before = day.read_bytes() if before is None else before
    sha256 = hashlib.sha256(before).hexdigest()
    place = changes[0].at
    rest: tuple[Diagnostic, ...] = ()
    try:
        if whole:
            job = load(day, content=data, typed=True)
        else:
            job = _of_area(load_job(day, with_earlier=False, content=data, typed=True), place)
        new, rest = _come_with(day, before, job.unread) if job.unread else ((), ())
        new = (*new, *_reversed_blasting(data, changes, job.clock))
        if new:
            return Look(sha256, refused=new, elsewhere=rest)
        evaluation = evaluate(job, at=at, kept=KEPT if whole else None)
    except InputError as failure:
        new, rest = _come_with(day, before, failure.diagnostics)
        return Look(sha256, refused=new, elsewhere=rest)
    except ReportgenError as failure:  # an entry that no rule can take
        return Look(sha256, refused=(_diagnostic(failure),))
    was = None
    if whole:
        was = _judged(day, before, at)
        _remember(_state_of(day, data, at), evaluation)  # what is written now is what the next entry is compared with
    alone = tuple(_asked_alone(job, data, evaluation, changes)) if whole else ()
    areas = {one.id: one for one in evaluation.areas}
    area = areas.get(place.named("area") or "")
    location = _location(area, place, job)
    spot = place.named("spot")
    return Look(
        sha256,
        asked=(*_asked(evaluation, was, place), *alone),
        doubted=(*dict.fromkeys(one for one in evaluation.findings if one.code in DOUBTS), *alone),
        outside_shift=any(_outside_shift(one, job.clock) for one in changes),
        shift=_shift_doubt(day, before, data, changes),
        spot=next((one for one in location.spots if one.id == spot), None) if location else None,
        location=location,
        area=area,
        result=_result(evaluation, place, job),
        wanted=tuple(one for one in evaluation.measure_next if _is_about(one.place, place)),
        findings=tuple(one for one in evaluation.findings if _is_about(one.place, place)),
        changed=() if was is None else _areas_changed(was[0], evaluation),
        standing=standing(job, evaluation) if whole else None,
        elsewhere=rest,
    )


def typed(text: str, unit: str | None = None) -> str:
    """Return what a person typed into a field for a number as the day file has it: digits kept, a point, its unit.

    >>> [typed(" 2,8 "), typed("64.50", "%"), typed("17 degC", "degC"), typed("1,2,3")]
    ['2.8', '64.50 %', '17 degC', '1,2,3']
    """
    number = " ".join(text.split())
    found = _NUMBER.match(number)
    number = number if found is None else f"{found[1]}.{found[2]}{number[found.end() :]}"
    return f"{number} {unit}" if unit is not None and number[-1:].isdigit() else number


def site_clock(day: Path, data: Mapping[str, Any]) -> SiteClock | None:
    """Return the clock of a shift from its day file as plain data; None where it, or the zone, cannot be told.

    Only what a log needs to stand in the order of its times; whatever is wrong is for the loader to say.
    """
    import datetime as dt

    try:
        report = data["report"]
        shift = [parse_clock(report["shift"][name]) for name in ("start", "end")]
        name = data["project"]
        project = parse_yaml((day.parent / name).read_bytes(), name).data["project"]
        times = [one for one in shift if isinstance(one, dt.time)]
        clock = SiteClock(dt.date.fromisoformat(report["date"]), times[0], times[1], project["time_zone"])
        clock.shift()
    except (LookupError, TypeError, ValueError, OSError, ReportgenError):
        return None
    return clock


def with_inspected(data: Mapping[str, Any], changes: Sequence[Change]) -> tuple[Change, ...]:
    """Return changes, and that an area of which one enters something is no longer listed as not inspected."""
    areas = dict.fromkeys(
        one.at.named("area") for one in changes
        if one.now is not None and isinstance(one.at.steps[0], Entry) and one.at.steps[0].of == "surfaces"
    )  # fmt: skip
    listed = (Address((Entry("not_inspected", (("area", area),)),)) for area in areas if area is not None)
    there = ((at, content_at(data, at)) for at in listed)
    return (*changes, *(Change(at, content, None) for at, content in there if content is not None))


def needs_clock(changes: Iterable[Change]) -> bool:
    """Whether one of some changes is of a log, which stands in the order of its times."""
    return any(isinstance(step, Entry) and step.of in SERIES for one in changes for step in one.at.steps)


# What is said of the place


def _entries(place: Address, job: Job) -> list[int]:
    """Return which entries of the day a place may be of; none while its own is set aside."""
    wanted = (place.named("area"), place.named("apparatus"), place.named("blasted.start"))
    stated = (
        (one.area, one.apparatus, f"{one.blasted.start:%H:%M}") for one in job.day.surfaces
    )  # fmt: skip
    return [
        index for index, one in enumerate(stated)
        if all(name in (None, value) for name, value in zip(wanted, one, strict=True))
    ]  # fmt: skip


def _location(area: AreaResult | None, place: Address, job: Job) -> LocationResult | None:
    """Return the location of a place, where its own entry has it; that of another is not what was typed."""
    if area is None or "profile" not in place.steps:
        return None
    name = place.named("location")
    own = [
        index for index in _entries(place, job) if any(reading.location == name for reading in job.readings[index])
    ]  # fmt: skip
    of_own = {job.day.surfaces[index].apparatus for index in own}
    found = [one for one in area.locations if own and one.id == name and (one.apparatus or None) in {None, *of_own}]
    return found[0] if len(found) == 1 else None


_CHECKED: Final = {"gauge_checks": "gauge", "tape_checks": "roll", "function_checks": "instrument"}
"""Logs of checks, and what in an entry names the subject of their results."""


def _result(evaluation: Evaluation, place: Address, job: Job) -> Any:
    """Return the result of a kind of measurement, or of a check, by the names of its place; None for none."""
    root, *rest = (step if isinstance(step, str) else step.of for step in place.steps)
    if root in _CHECKED:
        wanted = (place.named(_CHECKED[root]), place.named("time"))
        return next((one for one in evaluation.checks if (one.subject, one.time) == wanted), None)
    for kind in MEASUREMENTS:
        if kind.day_key == root:
            return _named_alike(getattr(evaluation, kind.key), place, ("time", "place", "apparatus"))
        if root == "surfaces" and kind.key in rest:
            results = _of_entry(kind, evaluation, place, job)
            return _named_alike(results, place, ("area", "location", "time"))
    return _named_alike(evaluation.coating_times, place, ("area",)) if rest == ["coated"] else None


def _of_entry(kind: Any, evaluation: Evaluation, place: Address, job: Job) -> list[Any]:
    """Return the results of a kind of measurement of the entry of an area that a place is of, not of another."""
    own = {id(job.day.surfaces[index]) for index in _entries(place, job)}
    every = tests_with_results(as_evaluated(job, evaluation), evaluation, place.named("area") or "")
    return [result for each, record, _, result in every if each is kind and id(record) in own]


def _named_alike(results: Sequence[Any], place: Address, names: Sequence[str]) -> Any:
    """Return the result whose names are those of a place, as far as both state them."""
    stated = {name: value for name in names if (value := _named(place, name)) is not None}
    fitting = [
        one for one in results
        if all(getattr(one, name, None) in (None, value) for name, value in stated.items())
    ]  # fmt: skip
    return fitting[0] if len(fitting) == 1 else None


def _named(place: Address, name: str) -> str | None:
    """Return what the entry of the surface, else of the log or test, says; a test of salts has an area of its own."""
    if name == "area":
        return place.named("area")
    last = next((step for step in reversed(place.steps) if isinstance(step, Entry)), None)
    return None if last is None else dict(last.names).get(name)


def _is_about(found: Place, place: Address) -> bool:
    """Whether something was found at a place: at its spot or location where it names one, else on its area or time."""
    area, location = place.named("area"), place.named("location")
    if area is not None:
        at = found.area == area and (location is None or found.location in (None, location))
        return at and (location is None or found.location is not None or place.named("spot") is None)
    time = place.named("time")
    return time is not None and found.time == time


def _asked(evaluation: Evaluation, was: _Judged | None, place: Address) -> tuple[Finding, ...]:
    """Return the doubts that came with the change, once each."""
    doubts = (one for one in evaluation.findings if one.code in _ASKED)
    if was is None:
        return tuple(one for one in doubts if _is_about(one.place, place))
    seen: dict[Any, Finding] = {}
    for one in doubts:
        if one not in was[1]:
            seen.setdefault((one.code, one.facts, one.place.location, one.place.spot, one.place.time), one)
    return tuple(seen.values())


def _asked_alone(job: Job, data: bytes, evaluation: Evaluation, changes: Sequence[Change]) -> Iterator[Finding]:
    """Yield the doubts about single values of entries that are not whole, and so not evaluated yet."""
    told = {
        (one.facts.entry.key, one.facts.value) for one in evaluation.findings if isinstance(one.facts, DoubtedEntry)
    }
    content = parse_yaml(data, "").data
    for change in changes:
        for block, field, text in _given(content, change):
            facts = of_itself(job.project, block, field, text)
            if facts is not None and (facts.entry.key, facts.value) not in told:
                place = {name: change.at.named(name) for name in ("area", "location", "time")}
                yield ENTRY_DOUBTFUL.found(facts, Place(**place))


def _given(content: Mapping[str, Any], change: Change) -> list[tuple[str, str, str]]:
    """Return block, field and text of what a change enters into an entry that nobody has confirmed."""
    record = record_of(change)
    if content_at(content, Address((*record, FLAG))) is not None:
        return []
    block = next((step.of for step in reversed(record) if isinstance(step, Entry)), "")
    given = change.now if isinstance(change.now, dict) else {str(change.at.steps[-1]): change.now}
    return [(block, field, text) for field, text in given.items() if isinstance(text, str)]


def _outside_shift(change: Change, clock: SiteClock) -> bool:
    """Whether a change writes a clock time before or after the shift, in a field or in an entry that it begins."""
    start, end = clock.shift()
    return change.at.steps[0] != "report" and any(
        not start <= at <= end for at in _instants(change.at.steps[-1], change.now, clock)
    )


def _shift_doubt(day: Path, before: bytes, data: bytes, changes: Sequence[Change]) -> ShiftDoubt | None:
    """Return what speaks against other times of the shift: clock times are told by them which day they are of."""
    if not any(one.at.steps[:2] == ("report", "shift") for one in changes):
        return None
    now = parse_yaml(data, "").data
    clock, was = site_clock(day, now), site_clock(day, parse_yaml(before, "").data)
    if clock is None:
        return None
    start, end = clock.shift()
    hours = round((end - start).total_seconds() / 3600)
    entered = {name: block for name, block in now.items() if name != "report"}
    moved = 0
    pairs = zip(_instants("", entered, was), _instants("", entered, clock), strict=False) if was else ()
    for old, new in pairs:
        outside = not start <= new <= end and was is not None and was.shift()[0] <= old <= was.shift()[1]
        moved += old != new or outside
    return ShiftDoubt(hours if hours > _LONGEST_SHIFT else None, moved) if hours > _LONGEST_SHIFT or moved else None


def _instants(name: Any, content: Any, clock: SiteClock) -> Iterator[dt.datetime]:
    """Yield the moments of the clock times that a content states, under the names of its fields."""
    if isinstance(content, dict):
        for key, value in content.items():
            yield from _instants(key, value, clock)
    elif isinstance(content, list):
        for value in content:
            yield from _instants(name, value, clock)
    elif name in _TIMES and isinstance(content, str):
        with contextlib.suppress(QuantityError, RangeError):
            yield clock.instant(parse_clock(content))


def _reversed_blasting(data: bytes, changes: Sequence[Change], clock: SiteClock) -> Iterator[Diagnostic]:
    """Yield what is wrong where blasting would end before it starts: said of the time that is typed.

    The loader says it of an entry that is whole; one that is being typed would wear it in whatever field comes last.
    """
    from reportgen.diagnostics import Diagnostic

    text = parse_yaml(data, "").data
    for change in changes:
        first = change.at.steps[0]
        if not isinstance(first, Entry) or first.of != "surfaces" or "blasted" not in change.at.steps:
            continue
        blasted = content_at(text, Address((first, "blasted")))
        times = [blasted.get(name) for name in ("start", "end")] if isinstance(blasted, dict) else []
        found = [next(_instants("time", one, clock), None) for one in times]
        if len(found) == 2 and found[0] is not None and found[1] is not None and found[1] <= found[0]:
            yield Diagnostic("JOB222", ends_too_early(str(times[1]), str(times[0])), (), "check the two times")


# What it was before

_Judged = tuple[dict[str, tuple["Verdict", "Decision"]], frozenset["Finding"]]
_judged_before: dict[tuple[Any, ...], _Judged] = {}


def _judged(day: Path, before: bytes, at: dt.datetime | None) -> _Judged | None:
    """Return verdicts, decisions and doubts of the day as it is; kept, because every key that is typed asks for them.

    None where it cannot be evaluated as it is.
    """
    key = _state_of(day, before, at)
    if key not in _judged_before:
        try:
            _remember(key, evaluate(load(day, content=before, typed=True), at=at, kept=KEPT))
        except ReportgenError:
            return None
    return _judged_before[key]


def _state_of(day: Path, content: bytes, at: dt.datetime | None) -> tuple[Any, ...]:
    """Return by what the evaluation of a day is told from another; the minute is fine enough to compare decisions."""
    return day, hashlib.sha256(content).digest(), _folder_as_is(day), at and at.replace(second=0, microsecond=0)


def _remember(key: tuple[Any, ...], evaluation: Evaluation) -> None:
    doubts = frozenset(one for one in evaluation.findings if one.code in _ASKED)
    while len(_judged_before) >= _KEPT:
        _judged_before.pop(next(iter(_judged_before)))
    _judged_before[key] = ({one.id: (one.verdict, one.decision) for one in evaluation.areas}, doubts)


def _folder_as_is(day: Path) -> tuple[Any, ...]:
    """Return by what one sees that a file beside the day file was saved."""
    beside = [*day.parent.glob("*.yaml"), day.parent / REGISTER_NAME]
    states = ((one.name, one.stat()) for one in sorted(beside) if one != day and one.exists())
    return tuple((name, state.st_mtime_ns, state.st_size) for name, state in states)


def _areas_changed(was: Mapping[str, tuple[Verdict, Decision]], evaluation: Evaluation) -> tuple[AreaChanged, ...]:
    is_now = {one.id: (one.verdict, one.decision) for one in evaluation.areas}
    names = dict.fromkeys((*was, *is_now))
    return tuple(
        AreaChanged(name, was.get(name), is_now.get(name)) for name in names if was.get(name) != is_now.get(name)
    )


# What is refused


def _come_with(
    day: Path, before: bytes, found: Sequence[Diagnostic]
) -> tuple[tuple[Diagnostic, ...], tuple[Diagnostic, ...]]:  # fmt: skip
    """Return the errors that came with a change, and those that the day had before."""
    old = _faults(day, before)
    errors = [one for one in found if one.severity == "error"]
    return tuple(one for one in errors if _said(one) not in old), tuple(one for one in errors if _said(one) in old)


def _faults(day: Path, before: bytes) -> set[tuple[str, str]]:
    """Return what is wrong with the day as it is: nobody is told of it as if it came with the change."""
    try:
        load(day, content=before)
    except InputError as failure:
        return {_said(one) for one in failure.diagnostics}
    return set()


def _said(one: Diagnostic) -> tuple[str, str]:
    return one.code, one.message


def _diagnostic(failure: ReportgenError) -> Diagnostic:
    from reportgen.diagnostics import Diagnostic

    return Diagnostic("", failure.message, (), failure.help_text)


# One area alone


def _of_area(job: Job, place: Address) -> Job:
    """Return a job as if nothing had been inspected but the area of a place, on which the numbers of no other bear."""
    area = place.named("area")
    if area is None:
        return job
    own = [index for index, one in enumerate(job.day.surfaces) if one.area == area]
    day = job.day.model_copy(update={"surfaces": [job.day.surfaces[index] for index in own]})
    return replace(job, day=day, readings=tuple(job.readings[index] for index in own))
