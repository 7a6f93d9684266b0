"""What must happen next: what closes nonconformances, what is to be done to the steel, measured or settled."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, NamedTuple

from reportgen.measurements import CODES
from reportgen.names import says_nothing
from reportgen.pdf.blocks import SectionTitle, running_text
from reportgen.pdf.styles import BOLD, DENSE, INK, MUTED, REGULAR
from reportgen.pdf.tables import Column, Row
from reportgen.pdf.textlines import Run, text_width
from reportgen.report.tables import END, cell, section, table
from reportgen.report.verdicts import DECISIONS, in_ranges, inspected_areas, told_of
from reportgen.results.codes import profile, records
from reportgen.results.codes.coating import COAT_BY, PREPARE_AGAIN
from reportgen.results.codes.equipment import GAUGE_FAILED, GaugeFailed
from reportgen.results.codes.follow_up import CLOSING, INSPECT_AGAIN, Uncovered
from reportgen.rules.owed import blastings
from reportgen.rules.primed_since import answered
from reportgen.rules.release import effect_of
from reportgen.rules.scene import JobView, at_hand
from reportgen.rules.surfaces_told import since_when
from reportgen.words.numbers import typeset

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from reportgen.pdf.flow import Flowable
    from reportgen.report.context import Context
    from reportgen.results import AreaResult, Finding, NonconformanceState, Task
    from reportgen.rules.owed import OneBlasting
    from reportgen.rules.scene import SurfaceView

_LINES_OF_IDS = 3  # of the areas of an action, as far as their column may grow
_OF_THE_STEEL = frozenset(
    one.name
    for one in (
        profile.READ_OTHER_GRADE, profile.READ_SPOT_AGAIN, profile.MEASURE_LOCATION_AGAIN, profile.MEASURE_SPOTS,
        records.MAKE_REPLICA_AGAIN,
    )
)  # fmt: skip
"""Things to measure that nobody need measure on steel which is prepared and inspected again."""
_OF_TELLING = frozenset({records.TOLD_RELEASED.name, records.TOLD_EARLY.name})


class Action(NamedTuple):
    """What must happen next: what, by whom, by when; whether it follows from the rules and nobody wrote it.

    ``stated`` is the corrective action that was written of a nonconformance which something else is to close.
    """

    what: str
    whom: str
    when: str
    derived: bool
    stated: str = ""


def actions(context: Context) -> dict[Action, list[str]]:
    """What must happen, with the areas it concerns: what closes nonconformances, then what else follows.

    What becomes of the steel comes before what is to be measured, settled or written.
    """
    found = _releases_to_take_back(context)
    closing, standing = list(_closing(context)), list(_standing(context))
    has_one = {area for areas in found.values() for area in areas}
    has_one |= {area for area, _ in closing if area} | {area for area, _, _ in standing}
    later = [*standing, *_left(context, has_one), *_late(context)]
    first = [(area, action) for area, action, of_steel in later if of_steel]
    for area, action in (*closing, *first, *((area, action) for area, action, of_steel in later if not of_steel)):
        _take(found, area, action)
    return found


def _left(context: Context, has_one: set[str]) -> Iterator[tuple[str, Action, bool]]:
    """What is no action yet: what is the same on several areas in one row, before the primer of those that are bare."""
    left = list(_unanswered(context, has_one))
    bare: dict[str, list[str]] = {}
    for area, what, again in left:
        if not again and _stands_bare(context, area):
            bare.setdefault(what, []).append(area)
    primed = {what for area, what, _ in left if area not in bare.get(what, [area])}
    for area, what, again in left:
        of = ", ".join(bare[what]) if what in primed else ""
        when = context.words("action.before-primer.of", areas=of) if of else None
        yield area, _action(context, what, (None, when), bare=what in bare or _stands_bare(context, area)), again


def _take(found: dict[Action, list[str]], area: str | None, action: Action) -> None:
    areas = found.setdefault(action, [])
    if area and area not in areas:
        areas.append(area)


def _action(
    context: Context, what: str, by: tuple[str | None, str | None] = (None, None), *, bare: bool, derived: bool = True,
    stated: str = "",
) -> Action:  # fmt: skip
    """Return an action, on steel that is bare or not; ``by`` says who is to do it, and by when."""
    words, (whom, when) = context.words, by
    when = when or words("action.before-primer" if bare else "action.no-date")
    return Action(what[:1].upper() + what[1:], whom or words("action.nobody"), when, derived, stated)


def _written(state: NonconformanceState) -> str:
    """The corrective action of a nonconformance; empty where what is written says nothing."""
    written = (state.corrective_action or "").rstrip(".")
    return "" if says_nothing(written) else written


def _closing(context: Context) -> Iterator[tuple[str | None, Action]]:
    """What closes each open nonconformance: as the inspector wrote it where that is rework, else a decision does.

    What is written alike of several stands once, with their numbers.
    """
    alike: dict[tuple[str, tuple[str | None, str | None], bool], list[NonconformanceState]] = {}
    tasks = [one for one in context.evaluation.measure_next if one.code in CLOSING]
    closing = {(getattr(one.facts, "nonconformance", None), one.area): one for one in tasks}
    for state in (one for one in context.evaluation.nonconformances if one.status == "open"):
        task, written = closing.get((state.id, state.area or "")), _written(state)
        bare, by = _stands_bare(context, state.area, state), (state.responsible, state.due)
        decides = getattr(task, "code", INSPECT_AGAIN.name) == INSPECT_AGAIN.name  # the rework, where it is done
        as_written = written and state.disposition == "rework" and decides
        if task is not None and not as_written:  # what is written decides nothing
            yield state.area, _action(context, context.said.task(task), by, bare=bare, stated=written)
        elif written:
            alike.setdefault((written, by, bare), []).append(state)
    for (written, by, bare), states in alike.items():
        named = ", ".join(dict.fromkeys(one.id for one in states))
        what = context.words("action.closes", what=written, id=named)
        yield from ((one.area, _action(context, what, by, bare=bare, derived=False)) for one in states)


def _to_take_back(context: Context, finding: Finding) -> str:
    """What somebody has to be told of a release that a finding is against; empty of any other."""
    words, area, at = context.words, finding.area or "", finding.place.time
    then = f": {words('action.stop.primed' if context.primed(area) else 'action.stop')}"
    released = any(one.id == area and one.decision == DECISIONS[0] for one in context.evaluation.areas)
    if isinstance(finding.facts, records.ToldEarly) and not released:  # said of the rest
        return words("action.told.since", area=area, to=finding.facts.to, time=at)
    if isinstance(finding.facts, records.ToldReleased):
        here = area in {one.id for one in context.evaluation.areas}
        return words("action.told" if here else "action.told.nowhere", area=area, to=finding.facts.to, time=at) + then
    if finding.code != records.SLIP_NOT_UPHELD.name:
        return ""
    if released:
        return words("action.slip.other", area=area, told=typeset(context.said.observed(finding)))
    return words("action.slip", area=area, told=at) + then


class _SeveralTimes(NamedTuple):
    """A thing to do that is the same at several locations: by when and on what steel, and its tasks.

    ``primed`` is when the steel was primed that was to be measured bare.
    """

    until: str | None
    bare: bool
    primed: str | None
    tasks: list[Task]

    def told(self, context: Context) -> str:
        """What is to be done, where, and how many of it."""
        step, *others = self.tasks
        if step.code == COAT_BY.name and self.until is None:  # it had passed
            return _too_late(context, step)
        ids = [str(each.place.location) for each in self.tasks]
        where = (*filter(None, in_ranges(ids[:-1]).split(", ")), ids[-1])  # the last alone: there are several
        what = context.said.task_at(step, where) if others else context.said.task(step)
        count = sum(each.count or 0 for each in self.tasks)
        if count <= 1 or str(step.count) in context.said.task(step).split():
            return what
        return context.words("action.counted", what=what, count=count)


def _blasted_anyway(context: Context) -> set[str]:
    """The areas to prepare again of which another action says so: rework by blasting is raised, or nothing is yet."""
    findings = context.evaluation.findings
    raised = {
        one.area or "" for one in context.evaluation.nonconformances
        if (one.status, one.disposition) == ("open", "rework")
        and any(code in CODES and CODES[code].settled == "blasting" for code in one.findings)
    }  # fmt: skip
    unraised = {
        area.id for area, left in _kept_back(context, set())
        if any(effect_of(one) == "fails" and one.nonconformance is None for one in (findings[each] for each in left))
    }  # fmt: skip
    return raised | unraised


def _is_moot(task: Task, anew: Collection[str], told: Collection[str]) -> bool:
    """Whether nobody need do it on steel that is prepared ``anew``, or another action has ``told`` so of that."""
    return (task.area in anew and task.code in _OF_THE_STEEL) or (task.area in told and task.code == PREPARE_AGAIN.name)


def _standing(context: Context) -> Iterator[tuple[str, Action, bool]]:
    """What is still to be done: not what closes a nonconformance, nor readings of steel that is prepared again.

    What differs by its location alone is one thing to do. The last says whether it is done to the steel.
    """
    tasks = context.evaluation.measure_next
    again = [one for one in tasks if one.code == PREPARE_AGAIN.name]
    anew = {one.area for one in again if getattr(one.facts, "part", None) is None}
    told = anew & _blasted_anyway(context)
    moot = [one for one in tasks if one.code in CLOSING or _is_moot(one, anew, told)]
    several, findings = dict[tuple[object, ...], _SeveralTimes](), _by_code_and_area(context.evaluation.findings)
    for task in (one for one in tasks if one not in moot):
        about = answered(findings.get((task.answers, task.area), []), task)
        primed = context.primed_since(task, about)
        bare = not getattr(task.facts, "coated", None) and _stands_bare(context, task.area, about=about)
        until, somewhere = _until(context, task), task.place.location is not None
        same = context.said.task_at(task, ()) if somewhere else context.said.task(task)
        key = task.area, task.code, same, task.count, until, bare, somewhere, primed
        several.setdefault(key, _SeveralTimes(until, bare and not primed, primed, [])).tasks.append(task)
    yield from _no_longer(context, [one for one in several.values() if one.primed is not None])
    yield from _to_do(context, [one for one in several.values() if one.primed is None])


def _to_do(context: Context, steps: Sequence[_SeveralTimes]) -> Iterator[tuple[str, Action, bool]]:
    """What can be done, and whether it is done to the steel."""
    for one in steps:
        of_steel = one.tasks[0].code in (PREPARE_AGAIN.name, COAT_BY.name)
        yield one.tasks[0].area, _action(context, one.told(context), (None, one.until), bare=one.bare), of_steel


def _no_longer(context: Context, late: Sequence[_SeveralTimes]) -> Iterator[tuple[str, Action, bool]]:
    """What nobody can measure any more on primed steel, and what becomes of it: all of one area at once.

    Of an area to be reworked another action says what is to be decided.
    """
    reworked = {one.id for one in context.evaluation.areas if one.decision == "rework"}
    alike: dict[tuple[str, str | None], list[str]] = {}
    for one in late:
        alike.setdefault((one.tasks[0].area, one.primed), []).append(one.told(context))
    for (area, primed), told in alike.items():
        key = "primed-rework" if area in reworked else "primed"
        what = "; ".join((*told, context.said.say("too-late", key, time=primed)))
        yield area, _action(context, what, bare=False), False


def _by_code_and_area(findings: Sequence[Finding]) -> dict[tuple[str | None, str | None], list[Finding]]:
    """Findings by what a task says that it answers, as a day may have thousands of both."""
    found: dict[tuple[str | None, str | None], list[Finding]] = {}
    for finding in findings:
        found.setdefault((finding.code, finding.area), []).append(finding)
    return found


def _named(context: Context, raised: NonconformanceState, area: str) -> list[Finding]:
    """The findings that a nonconformance names: those at locations, or else the others."""
    named = [one for one in context.evaluation.findings if (one.nonconformance, one.area) == (raised.id, area)]
    return [one for one in named if one.location is not None] or [one for one in named if one.code in raised.findings]


def _parts(context: Context, area: str, about: Sequence[Finding]) -> list[SurfaceView]:
    """The steel of this report that findings are about."""
    known = JobView(context.job)
    inspected = [one for one in known.areas if one.id == area]
    return [part for one in inspected for each in about for part, _ in since_when(each, one, known)]


def _stands_bare(
    context: Context, area: str | None, raised: NonconformanceState | None = None, *, about: Sequence[Finding] = ()
) -> bool:
    """Whether the steel is bare that an action is about: of the area as the last report at hand enters it.

    Of a nonconformance it is the steel last blasted to close it, else that of the report which raised it. Of several
    parts of this report it is that which the findings are ``about``; where these do not tell, any bare one.
    """
    if not area:
        return False
    if raised is not None:
        about = _named(context, raised, area) if raised.raised_in == context.evaluation.report.number else ()
    if about and (parts := _parts(context, area, about)):
        return any(part.coated is None for part in parts)
    steel = _steel_of(context, area, raised)
    return not steel or any(not any(each.coated for each in one.records) for one in steel)


def _steel_of(context: Context, area: str, raised: NonconformanceState | None) -> list[OneBlasting]:
    """The steel of an area as the last report at hand enters it, or that of a nonconformance."""
    steel = blastings(map(JobView, at_hand(context.job)), area)
    own: list[OneBlasting] = []
    if raised is not None:
        own = [one for one in steel if any(raised.id in each.reinspects for each in one.records)][-1:]
        own = own or [one for one in steel if raised.raised_in in _reports(one)]
    last = [one for one in steel if context.evaluation.report.number in _reports(one)]
    for job in () if own or last else reversed(context.job.earlier):
        last = last or [one for one in steel if job.day.report.number in _reports(one)]
    return own or last


def _reports(steel: OneBlasting) -> set[str]:
    """The numbers of the reports that enter some steel."""
    return {view.job.day.report.number for view, _ in steel.entries}


def _until(context: Context, task: Task) -> str | None:
    """By when a thing must be done that has a time, unless that had passed when the report was issued."""
    return None if task.code != COAT_BY.name or context.is_past(context.moment(_limit(task))) else _limit(task)


def _limit(task: Task) -> str:
    """Until when to coat, as printed, with its date where that is stated."""
    return " ".join(filter(None, (getattr(task.facts, name, None) for name in ("date", "until"))))


def _too_late(context: Context, task: Task) -> str:
    """What is to be done where the time until which to coat had passed, and nothing tells whether somebody did."""
    bare = context.said.shown(getattr(task.facts, "bare", ()))
    return (f"{bare}: " if bare else "") + context.words("action.passed", passed=context.has_passed(_limit(task)))


def _late(context: Context) -> Iterator[tuple[str, Action, bool]]:
    """What is to be done to steel on hold whose time to coat had passed, and that no task names: once it is complete.

    What is missing may still be measured on it first.
    """
    for area in (one for one in inspected_areas(context) if one.decision == "hold"):
        if passed := context.passed(area.id):
            yield area.id, _action(context, context.words("action.passed", passed=passed), bare=True), False


def _releases_to_take_back(context: Context) -> dict[Action, list[str]]:
    """What whoever holds a slip that this report does not uphold, or was told *release*, has to be told, with its area.

    Of steel that is primed already nothing is left to stop.
    """
    found: dict[Action, list[str]] = {}
    told = [(one.area or "", _to_take_back(context, one)) for one in context.evaluation.findings]
    for area, what in (*told, *_no_longer_released(context)):
        if what:
            action = Action(f"{what[:1].upper()}{what[1:]}", context.words("action.nobody"),
                            context.words("action.at-once"), derived=True)  # fmt: skip
            found[action] = [area]
    return found


def _no_longer_released(context: Context) -> Iterator[tuple[str, str]]:
    """What somebody has to be told who was rightly told of a release which is over since, while steel is bare."""
    words, held = context.words, {one.id for one in inspected_areas(context) if one.decision != DECISIONS[0]}
    told = {(one.area, one.place.time) for one in context.evaluation.findings if one.code in _OF_TELLING}
    for one in context.job.day.told_released:
        at = context.at(one.time)
        if one.area in held and (one.area, at) not in told and not context.primed(one.area):
            what = words("action.told.no-more", area=one.area, to=one.to, time=at)
            yield one.area, f"{what}: {words('action.stop')}"


def _unanswered(context: Context, has_one: set[str]) -> Iterator[tuple[str, str, bool]]:
    """Areas that are not released, each with what keeps it from that and is no action yet, and whether that is rework.

    All that does where the area is not among those that have one. What holds steel is to be settled, also where other
    findings ask to prepare it again. Last come areas that were not inspected.
    """
    words, findings = context.words, context.evaluation.findings
    held: list[tuple[AreaResult, list[int]]] = []
    for area, own in _kept_back(context, has_one):
        anew = [one for one in own if area.decision == "rework" and not _holds(findings[one])]
        if told := told_of(context, area, anew, whole=True):
            part = context.parts_of(area.id, [findings[one] for one in anew])
            yield area.id, ": ".join(filter(None, (part, words("action.rework", what=told)))), True
        rest = [one for one in own if one not in anew or not told]
        held += [(area, rest)] * bool(rest or not own)
    yield from ((area, what, False) for area, what in _to_settle(context, held))
    yield from ((area, words("action.unseen", reason=why.rstrip(".")), False) for area, why in context.unseen.items())


def _holds(finding: Finding) -> bool:
    """Whether a finding holds steel that need not be prepared again, or is that none was raised about such a one."""
    facts = finding.facts
    return effect_of(finding) == "holds" or (isinstance(facts, Uncovered) and CODES[facts.code].effect == "holds")


def _to_settle(context: Context, held: Sequence[tuple[AreaResult, list[int]]]) -> Iterator[tuple[str, str]]:
    """Yield what is to be settled on each area, the failed check of a gauge that puts several in doubt in one text."""
    checks = _checks_of_several(context, held)
    for area, rest in held:
        texts = _settling(context, area, rest, checks)
        yield from ((area.id, context.words("action.settle", what=one)) for one in texts)
        if not texts:
            yield area.id, context.words("action.inspect")


def _settling(context: Context, area: AreaResult, rest: Sequence[int], checks: Mapping[int, str]) -> list[str]:
    """What is to be settled on an area: each of some checks with what nobody raised of it, then all else."""
    findings, several = context.evaluation.findings, dict.fromkeys(checks[one] for one in rest if one in checks)
    of_check = [one for one in rest if several and getattr(findings[one].facts, "code", "") == GAUGE_FAILED.name]
    unraised = [context.said.observed(findings[one]) for one in of_check]
    others = [one for one in rest if one not in checks and one not in of_check]
    told = told_of(context, area, others, whole=True) if others else ""
    return [*(typeset("; ".join((check, *unraised))) for check in several), *filter(None, [told])]


def _checks_of_several(context: Context, held: Sequence[tuple[AreaResult, list[int]]]) -> dict[int, str]:
    """Failed checks of gauges that hold more than one area, in words by the index of the finding on each."""
    told: dict[int, str] = {}
    for index, (place, facts) in enumerate((one.place, one.facts) for one in context.evaluation.findings):
        if isinstance(facts, GaugeFailed):
            seen = context.said.shown(facts.seen)
            told[index] = context.words("action.check", gauge=facts.gauge, time=place.time, seen=seen)
    areas = Counter(check for _, rest in held for check in {told[one] for one in rest if one in told})
    return {index: check for index, check in told.items() if areas[check] > 1}


def _kept_back(context: Context, has_one: set[str]) -> Iterator[tuple[AreaResult, list[int]]]:
    """Inspected areas that are not released, each with its findings that no task answers; where none are left, all.

    An area of which none are left is passed over where it is among those that have one.
    """
    tasks, findings = context.evaluation.measure_next, context.evaluation.findings
    answered = {(task.area, task.answers) for task in tasks}
    named = {getattr(task.facts, "nonconformance", None) for task in tasks} - {None}
    for area in (one for one in inspected_areas(context) if one.decision != DECISIONS[0]):
        counted = {one.finding: findings[one.finding] for one in area.reasons if not one.accepted}
        left = [
            index for index, one in counted.items()
            if not {(area.id, one.code), (None, one.code)} & answered and one.nonconformance not in named
        ]  # fmt: skip
        if left or area.id not in has_one:
            yield area, left or list(counted)


def actions_section(context: Context) -> list[Flowable]:
    """A row for each thing that must happen."""
    words = context.words
    note, listed = nonconformances_in_short(context), actions(context)
    if not listed:
        told = " · ".join((words("action.none").rstrip("."), note))
        return [SectionTitle(words("action.title"), "actions", note=told, ruled=False)]
    areas = max([text_width(one, BOLD, DENSE) for ids in listed.values() for one in ids] or [0.0]) + 8
    longest = max([0.0, *(text_width(", ".join(ids), BOLD, DENSE) for ids in listed.values())])
    first = min(120.0, max(areas, 44.0, longest / _LINES_OF_IDS))
    what = context.width - 12 - first - 66 - 62
    columns = [
        Column("", 12, ink=MUTED, gap=3),
        Column(words("areas.area"), first, face=BOLD),
        Column(words("action.what"), what, gap=10),
        Column(words("action.whom"), 66),
        Column(words("action.when"), 62, gap=0),
    ]
    rows: list[Row] = []
    for number, (action, ids) in enumerate(listed.items(), 1):
        marked = [Run(f" · {words('action.derived')}", REGULAR, MUTED)] if action.derived else []
        marked += [Run(f" · {words('action.stated', what=action.stated)}", REGULAR, INK)] if action.stated else []
        text = cell([Run(action.what, REGULAR, INK), *marked], what - 10)
        if number == len(listed):
            text.bookmark = f"actions{END}"
        rows.append((str(number), ", ".join(ids) or "–", text, action.whom, action.when))
    derived = any(action.derived for action in listed)
    notes = [running_text(words("action.derived.note"), "fine", before=2)] if derived else []
    return [*section(context, "action.title", "actions", table(context, "action.title", columns, rows), note), *notes]


def nonconformances_in_short(context: Context) -> str:
    """How many nonconformances were opened in this report, closed by it, and are open from earlier ones."""
    words, own = context.words, context.evaluation.report.number

    def part(key: str, some: list[NonconformanceState]) -> str:
        listed = f"{len(some)} ({', '.join(one.id for one in some)})" if some else words("action.ncr.none")
        return words(f"action.ncr.{key}", listed=listed)

    states = context.evaluation.nonconformances
    return " · ".join(
        (
            part("opened", [one for one in states if one.raised_in == own]),
            part("closed", [one for one in states if one.status == "closed"]),
            part("earlier", [one for one in states if one.status == "open" and one.raised_in != own]),
        )
    )
