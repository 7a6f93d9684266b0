"""Nonconformances: which finding each covers, what it originally saw, and what closes it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import chain, product
from typing import TYPE_CHECKING, Literal

from reportgen.results import NonconformanceState, Outcome
from reportgen.results.codes import follow_up
from reportgen.results.codes.sampling import WALK_OUT_MISSING
from reportgen.results.codes.whose import NotTheirs
from reportgen.rules.deciding import ACCEPTING, covers, covers_left_open, decided_by_barred, is_decided, may_withdraw
from reportgen.rules.inspected import steel_of
from reportgen.rules.reinspection import (
    Failure,
    ends_with_rework,
    found_again,
    found_before,
    gone_with,
    not_theirs,
    on_the_same_steel,
    shows_rework,
    why_failed_still,
    why_in_part,
    why_not_reworked,
    why_not_seen_since,
)
from reportgen.rules.release import acceptance, effect_of
from reportgen.rules.what_closes import (
    closed_though_open,
    decided_elsewhere,
    is_judged_good,
    open_finding,
    raised_by,
    raised_elsewhere,
    raised_in_error,
    raised_on,
    reopened,
    reopens,
    to_close,
    unseen,
)

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from reportgen.job import Job, Nonconformance
    from reportgen.results import Finding
    from reportgen.results.codes.follow_up import NotClosed
    from reportgen.rules.inspected import Inspected, Steel
    from reportgen.rules.release import Acceptance
    from reportgen.rules.scene import JobView


@dataclass(frozen=True, slots=True)
class Raised:
    """A nonconformance as last written down, with the report that raised it and the values that it saw.

    ``areas`` are those that it was raised on, ``again`` those of them that passed a re-inspection since. ``failures``
    are what it was written against, and what was found of the same since; ``refused`` says why the last report that was
    to close it does not. ``repaired`` are the areas of which a later report inspects the steel as it was repaired.
    ``tried`` are the areas of which a re-inspection, by one who may, found steel reworked and good, if not all of it.
    ``kept`` is whether the last report was issued with it open, whatever is known since of what that rests upon.
    ``raising`` are the reports that found it, where they are at hand. ``decided`` are the areas inspected by the
    reports that record the decision, ``recorded`` the last of these, ``begun`` the areas of which that has an entry not
    finished yet. ``stood`` is how it was last written down by a report whose decision is not refused.
    ``unfound`` is whether the report that raised it was revised, and no rule finds in the revision what it names,
    ``good`` whether that is judged there, with nothing against it; ``withdrawn`` whether who decided that it was raised
    in error is neither an inspector nor of the contractor.
    """

    record: Nonconformance
    report: str
    original: tuple[Finding, ...]
    barred: Literal["inspector", "contractor"] | None
    areas: frozenset[str]
    failures: tuple[Failure, ...]
    seen: tuple[Finding, ...]
    again: frozenset[str] = frozenset()
    closed_by: str | None = None
    refused: NotClosed | None = None
    raising: tuple[Job, ...] = ()
    decided: frozenset[str] = frozenset()
    recorded: str | None = None
    begun: frozenset[str] = frozenset()
    repaired: frozenset[str] = frozenset()
    tried: frozenset[str] = frozenset()
    kept: bool = False
    stood: Nonconformance | None = None
    unfound: bool = False
    good: bool = False
    withdrawn: bool = False

    @property
    def status(self) -> Literal["open", "closed"]:
        """Whether it is closed: by a decision that counts, or by a re-inspection that passed."""
        on_paper = is_decided(self.record) and not self.is_unseen
        decided = on_paper and not self.undecided and not self.is_refused and not self.is_dropped
        closed = (decided or self.in_error) and not self.kept
        return "closed" if closed or self.closed_by is not None else "open"

    @property
    def in_error(self) -> bool:
        """Whether it is closed as raised in error: the revision has what was misread put right, and says so.

        Whatever was decided of it: where nothing is found there is nothing to use as it is, nor to reject. A repair has
        changed the steel, and is seen first.
        """
        closed = self.record.status == "closed" and self.record.disposition != "repair"
        return self.unfound and self.good and self.withdrawn and closed

    @property
    def is_dropped(self) -> bool:
        """Whether what a revision does not find any more is not judged there, or closed by one who may not say so."""
        return self.unfound and not (self.good and self.withdrawn) and self.record.disposition != "repair"

    @property
    def is_refused(self) -> bool:
        """Whether what was last decided is refused for who decided it."""
        return self.barred is not None or isinstance(self.refused, NotTheirs)

    @property
    def is_unseen(self) -> bool:
        """Whether it is to be repaired, and no report inspects the steel as it was repaired."""
        seen = bool(self.repaired) and self.areas <= self.repaired
        return self.record.disposition == "repair" and not seen

    @property
    def in_part(self) -> frozenset[str]:
        """The areas re-inspected, with failed steel left, where it is said to be closed: by any report of the rest."""
        steel = all(ends_with_rework(one) for one in self.failures)
        said = self.closed_by is None and self.record.status == "closed"
        return self.tried - self.again if said and steel else frozenset()

    @property
    def undecided(self) -> tuple[str, ...]:
        """The areas whose steel no report has inspected that records the decision: it says nothing of them."""
        return tuple(sorted(self.areas - self.decided)) if is_decided(self.record) else ()

    @property
    def is_accepted(self) -> bool:
        """Whether it is closed, and by the decision that the steel stays."""
        accepts = self.record.disposition in ACCEPTING and not self.in_error
        return accepts and self.closed_by is None and self.status == "closed"

    @property
    def is_rejected(self) -> bool:
        """Whether it is closed, and by the decision that the steel is not accepted."""
        return self.record.disposition == "reject" and self.closed_by is None and self.status == "closed"

    @property
    def pairs(self) -> list[tuple[Finding, Failure]]:
        """What failed, each as a finding and as a failure of its report."""
        seen = {(one.code, one.area, one.location): one for one in self.seen if effect_of(one) == "fails"}
        named = ((seen.get((one.code, one.area, one.location)), one) for one in self.failures)
        return [(finding, one) for finding, one in named if finding is not None]


_Key = tuple[str, str | None]


class _Carried:
    """What is known of the nonconformances after each day, and the findings that none was written against.

    ``known`` is by number and area: one number on two areas is two nonconformances, and neither closes the other.
    ``covering`` has the key of what covers each failure of the last day, in their order; ``late`` that of what was
    raised by a later report. ``uncovered`` are what failed or held its area, ``reworked`` those of them, and of what
    was accepted, after which a report, of one who may undo them, shows the area to be reworked or repaired.
    ``gone`` is the steel that re-inspections of the last day say is gone, with the codes of what had failed on it.
    """

    def __init__(self) -> None:
        self.known: dict[_Key, Raised] = {}
        self.uncovered: list[tuple[Finding, Failure]] = []
        self.reworked: set[Failure] = set()
        self.covering: list[_Key | None] = []
        self.late: dict[Failure, _Key] = {}
        self.gone: dict[Steel, frozenset[str]] = {}

    def take(self, day: Inspected) -> None:
        """Add a day: what it raises and changes, what failed in it, and what its re-inspections close.

        Of what a day was revised from, and that leaves out, that it stands: it withdraws nothing.
        """
        if day.replaced:
            self.covering = [self._standing_for(one) for one, _ in day.failures]
            self._add_failures(day)
            self.gone = {}
            return
        before = {key for key, raised in self.known.items() if raised.status == "closed"}
        former, reworked = dict(self.known), set(self.reworked)
        self._take_up(day)
        self._cover(day, before)
        self._add_failures(day)
        self._close(day)
        self._keep_rejected()
        failed = chain((one for _, one in self.uncovered), (one for _, one in self.accepted()))
        self.reworked |= {failure for failure in failed if self._is_reworked(failure, day)}
        self._keep_open(day, former, reworked)
        self.gone = {}
        for steel, code in self._gone(day, former):
            self.gone[steel] = self.gone.get(steel, frozenset()) | {code}

    def _gone(self, day: Inspected, former: Mapping[_Key, Raised]) -> Iterator[tuple[Steel, str]]:
        """Yield the steel that failed and is gone, with what had failed, as re-inspections of a day that pass say."""
        for area, (key, raised) in product(day.view.areas, self.known.items()):
            if area.id in raised.again - (former[key].again if key in former else frozenset()):
                failures = (one for one in raised.failures if one.area in (None, area.id))
                yield from ((steel_of(each), one.code) for one in failures for each in gone_with(one, day.view, area))

    def about(self, failure: Failure) -> frozenset[str]:
        """Return the numbers of the nonconformances that cover a failure."""
        return frozenset(name for (name, _), raised in self.known.items() if failure in raised.failures)

    def _is_reworked(self, failure: Failure, day: Inspected) -> bool:
        """Whether a report shows what failed before to be reworked, and is by one who may undo it."""
        areas = [area for area in day.view.areas if area.id == failure.area and failure.view is not day.view]
        return any(why_failed_still(failure, day.view, area, self.about(failure)) is None for area in areas)

    def _keep_open(self, day: Inspected, former: Mapping[_Key, Raised], reworked: Collection[Failure]) -> None:
        """Keep what a day was issued with as open, though by what is known since it settles that.

        What a report before it states as closed itself, in a revision, is closed by that.
        """
        said = day.said_open
        for key in said.nonconformances & self.known.keys():
            raised, before = self.known[key], former.get(key)
            if raised.status == "closed" and (before is None or before.status == "open"):
                again = frozenset() if before is None else before.again
                refused = follow_up.AsIssued(day.job.day.report.number)
                self.known[key] = replace(raised, closed_by=None, again=again, refused=refused, kept=True)
        self.reworked = {
            one for one in self.reworked
            if one in reworked or not said.has_failed(one.area, one.code, one.view.job.day.report.number)
        }  # fmt: skip

    def linked(
        self, day: Inspected, covering: Sequence[_Key | None]
    ) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:  # fmt: skip
        """Return the findings of a day, and those on steel blasted again in it, with what covers each."""
        keys = [key or self.late.get(failure) for (_, failure), key in zip(day.failures, covering, strict=True)]
        pairs = zip(day.failures, keys, strict=True)
        found = tuple(one if key is None else replace(one, nonconformance=key[0]) for (one, _), key in pairs)
        return found[: len(day.findings)], found[len(day.findings) :]

    def unheard(self, left: Inspected, day: Inspected) -> Inspected:
        """Return what a day leaves out of a report that it replaces: on areas of which it says nothing else."""
        inspected = {area.id for area in day.view.areas}
        found = [one for one in left.findings if one.area not in inspected and self._standing_for(one) is None]
        return replace(left, findings=tuple(one for one in found if one.area is not None))

    def _standing_for(self, finding: Finding) -> _Key | None:
        able = [(key, one) for key, one in self.known.items() if one.status == "open" or one.is_accepted]
        keys = (key for key, one in able if covers(one.record, finding))
        return min(keys, key=lambda key: key[1] is None, default=None)

    def failed(self) -> list[Failure]:
        """Return what failed, is covered by none or was rejected, and is not shown to be reworked."""
        failed = (one for finding, one in self.uncovered if effect_of(finding) == "fails")
        return [one for one in failed if one not in self.reworked]

    def accepted(self) -> list[tuple[Raised, Failure]]:
        """Return what failed, was accepted by a decision, and is not shown to be reworked or repaired."""
        raised = [one for one in self.known.values() if one.is_accepted]
        return [(one, failure) for one in raised for _, failure in one.pairs if failure not in self.reworked]

    def released(self, day: Inspected) -> frozenset[str]:
        """Return what the last day taken released: no open nonconformance stood against it, nor an earlier failure."""
        raised = [one for one in self.known.values() if one.status == "open"]
        held = {one.area for one in self.failed()}.union(*(one.areas or day.released for one in raised))
        return frozenset(day.released - held)

    def _take_up(self, day: Inspected) -> None:
        """Add or update the nonconformances of a day; what was originally seen is kept from the first time."""
        number = day.job.day.report.number
        for record in day.job.day.nonconformances:
            key = (record.id, record.area)
            before = self.known.get(key)
            barred = decided_by_barred(day.job, record)
            if before is not None and before.closed_by is not None and reopens(before, record):
                continue  # what a re-inspection closed stays as it was closed, and is told of
            if before is not None:
                self.known[key] = _with_decision(_taken_on(before, record, day.job, barred), day)
                continue
            covered = [*self._still_uncovered(record, day), *_found_here(record, day)]
            seen = tuple(finding for finding, _ in covered)
            failures = (*(failure for _, failure in covered), *unseen(record, seen, day))
            on = raised_on(record, day.job, seen)
            raising = raised_by(record, failures, day)
            new = Raised(record, record.raised_in or number, seen, barred, on, failures, seen, raising=raising)
            unfound = _is_unfound(new, day.job)
            good = unfound and is_judged_good(new, day)
            new = replace(new, unfound=unfound, good=good, withdrawn=may_withdraw(day.job, record))
            new = replace(new, refused=_refused(new, day.job) if record.status == "closed" else None)
            self.known[key] = _with_decision(new, day)
            self._cover_late(record, key)

    def _cover_late(self, record: Nonconformance, key: tuple[str, str | None]) -> None:
        """Take what failed before, and a new nonconformance covers, from what is covered by none."""
        late = self._covered_before(record)
        self.late.update((failure, key) for _, failure in late)
        self.uncovered = [pair for pair in self.uncovered if pair not in late]

    def _cover(self, day: Inspected, closed_before: set[tuple[str, str | None]]) -> None:
        """Say what covers each failure of a day: what is of its area before what is of the whole report."""
        named = {(record.id, record.area) for record in day.job.day.nonconformances}
        able = sorted(
            (
                (key, raised)
                for key, raised in self.known.items()
                if key not in closed_before or key in named or raised.is_accepted
            ),
            key=lambda pair: pair[0][1] is None,
        )
        self.covering = [
            next((key for key, raised in able if _still_covers(raised, finding, failure, day)), None)
            for finding, failure in day.failures
        ]

    def _covered_before(self, record: Nonconformance) -> list[tuple[Finding, Failure]]:
        """Return what failed or held before, and a new nonconformance covers: by its code, or as left open.

        The bounds of what failed are left open only where that was accepted: else nobody was asked for them.
        """
        by_code = [finding for finding, _ in self.uncovered if covers(record, finding)]
        accepted = by_code if record.disposition in ACCEPTING else []
        for raised in self.known.values():
            if raised.record.disposition in ACCEPTING and raised.status == "closed":
                accepted = [*accepted, *raised.seen]
        places = {(one.area, one.location) for one in accepted if effect_of(one) == "fails"}
        return [
            (finding, failure)
            for finding, failure in self.uncovered
            if covers(record, finding)
            or (
                covers_left_open(record, finding)
                and (finding.code != WALK_OUT_MISSING.name or (finding.area, finding.location) in places)
            )
        ]

    def _still_uncovered(self, record: Nonconformance, day: Inspected) -> list[tuple[Finding, Failure]]:
        """Return what failed before and a new nonconformance covers; of steel reworked since only if nothing else."""
        before = self._covered_before(record)
        if not any(covers(record, finding) for finding, _ in day.failures):
            return before
        areas = {area.id: area for area in day.view.areas}
        return [
            (finding, failure)
            for finding, failure in before
            if (area := areas.get(failure.area or "")) is None
            or why_not_reworked(failure, day.view, area, {record.id}) is not None
        ]

    def _add_failures(self, day: Inspected) -> None:
        """Add what failed on a day to the open nonconformance that covers it, and the rest to the uncovered."""
        for (finding, failure), key in zip(day.failures, self.covering, strict=True):
            if key is not None:
                raised = self.known[key]
                if raised.status == "open" and failure not in raised.failures:
                    self.known[key] = replace(
                        raised, failures=(*raised.failures, failure), seen=(*raised.seen, finding)
                    )
            elif failure.view is day.view and (
                effect_of(finding) == "holds" or (effect_of(finding) == "fails" and finding.area is not None)
            ):
                self.uncovered.append((finding, failure))

    def _close(self, day: Inspected) -> None:
        """Mark as closed what re-inspections were to close, once every area that it was raised on passed one."""
        for index, surface in enumerate(day.job.day.surfaces):
            for key, raised in self.known.items():
                if key[0] in surface.reinspects and surface.area in (raised.areas or {surface.area}):
                    self.known[key] = self._inspected_again(raised, day, index)
        for key, raised in self.known.items():
            for name in sorted(raised.in_part & day.passed):
                self.known[key] = _closed_again(self.known[key], day, name)

    def _inspected_again(self, raised: Raised, day: Inspected, index: int) -> Raised:
        """Return a nonconformance after a re-inspection: by one that passes, else by one of the steel as repaired.

        What that finds again is covered by the decision; what was found before it is of the steel as it was.
        """
        name = day.job.day.surfaces[index].area
        if _not_theirs(raised, day.job) is None and shows_rework(raised.failures, day.against, day.view, index):
            raised = replace(raised, tried=raised.tried | {name})
        part = why_in_part(raised.failures, day.view, name) or raised.refused
        passed = _closed_again(raised, day, name) if name in day.passed else replace(raised, refused=part)
        if raised.record.disposition != "repair" or passed.closed_by is not None:
            return passed
        area = next(one for one in day.view.areas if one.id == name)
        before = found_before(raised.failures, day.view, name)
        reasons = (
            _not_theirs(raised, day.job),
            *(why_not_seen_since(one, day.view, area, raised.record.id) for one in before),
        )
        refused = next((reason for reason in reasons if reason is not None), None)
        if refused is not None or (raised.failures and not before):
            return replace(passed, refused=refused or passed.refused)
        self.reworked |= set(before)
        return replace(passed, repaired=raised.repaired | {name}, refused=None)

    def _keep_rejected(self) -> None:
        """Add what was rejected to what nothing covers: the decision is made, and the steel is as bad as before."""
        known = {one for _, one in self.uncovered}
        rejected = (one for raised in self.known.values() if raised.is_rejected for one in raised.pairs)
        self.uncovered += [(finding, one) for finding, one in rejected if one not in known]


def _closed_again(raised: Raised, day: Inspected, name: str) -> Raised:
    """Return a nonconformance after a re-inspection of an area that passed: closed, or why not all is reworked steel.

    What is said to be closed, and is not, as another part was still to be reworked, is with the report that shows that.
    """
    area = next(one for one in day.view.areas if one.id == name)
    failures = [failure for failure in raised.failures if failure.area in (None, name)]
    about = {raised.record.id}
    reasons = (_not_theirs(raised, day.job), *(why_not_reworked(one, day.view, area, about) for one in failures))
    refused = next((reason for reason in reasons if reason is not None), None)
    if refused is not None:
        return replace(raised, refused=refused)
    again = raised.again | {name}
    closed_by = day.job.day.report.number if raised.areas <= again else None
    own = (raised.record.id, raised.record.area) in {(one.id, one.area) for one in day.job.day.nonconformances}
    record = raised.record if own else raised.record.model_copy(update={"evidence": None})  # of what closed nothing
    return replace(raised, record=record, again=again, closed_by=closed_by, refused=None, kept=False)


def _is_unentered(raised: Raised, day: Inspected) -> bool:
    """Whether a day passes steel that was reworked, and only its entry does not say that this is the re-inspection."""
    entered = {one.area for one in day.job.day.surfaces if raised.record.id in one.reinspects}
    areas = day.passed & (raised.areas or day.passed)
    return any(_closed_again(raised, day, name).refused is None for name in areas - entered)


def _refused(raised: Raised, job: Job) -> NotClosed | None:
    """Return why a decision that a report records does not close what was raised."""
    return _not_theirs(raised, job) or (None if isinstance(raised.refused, NotTheirs) else raised.refused)


def _is_unfound(raised: Raised, job: Job) -> bool:
    """Whether a revision of the report that raised a nonconformance finds nothing of what that was written against."""
    report = job.day.report
    here = raised.report == report.number and report.revision > 0
    return here and bool(raised.failures) and not any(one.found for one in raised.failures)


def _not_theirs(raised: Raised, job: Job) -> NotTheirs | None:
    return next(filter(None, (not_theirs(job, found) for found in raised.raising)), None)


@dataclass(frozen=True, slots=True)
class Followed:
    """What nonconformances are after a report, with the findings of it and of what was blasted again linked to them.

    ``earlier`` are the days before it with their findings linked; ``accepted`` tells the findings of any of them whose
    nonconformance is closed with a decision that lets the steel stay; ``released`` are the earlier days with the areas
    that each released. ``failed`` is what failed before, with no nonconformance that is open or accepts it, ``about``
    the numbers of those that cover it; ``kept`` what was accepted, with the nonconformance, of steel not shown to be
    reworked or repaired since. ``gone`` is the steel that its re-inspections say is gone, with what had failed on it.
    """

    outcome: Outcome[NonconformanceState]
    findings: tuple[Finding, ...]
    formerly: tuple[Finding, ...]
    earlier: tuple[Inspected, ...]
    accepted: Acceptance
    released: tuple[tuple[JobView, frozenset[str]], ...]
    failed: tuple[Failure, ...]
    kept: tuple[tuple[NonconformanceState, Failure], ...]
    about: Mapping[Failure, frozenset[str]]
    gone: Mapping[Steel, frozenset[str]]


def followed(day: Inspected, earlier: Sequence[Inspected], left: Sequence[Inspected] = ()) -> Followed:
    """Carry nonconformances forward and state each as it stands after this report.

    Parameters:
        day: the day of the report; it passed where its rules found nothing against release.
        earlier: the days before it that count, oldest first.
        left: what it leaves out of the reports that it replaces. What is of areas that it inspects is for whoever holds
            the two against each other.
    Returns:
        States of all nonconformances that are new, changed or open, findings about the open ones and about those that
        are decided, or said to be raised, elsewhere, and what failed before.
    """
    carried = _Carried()
    covering, released, gone_by = [], [], []
    for before in earlier:
        carried.take(before)
        covering.append(carried.covering)
        released.append((before.view, carried.released(before)))
        gone_by.append(carried.gone)
    closed = {name: raised for name, raised in carried.known.items() if raised.status == "closed"}
    carried.take(day)
    named = {(record.id, record.area) for record in day.job.day.nonconformances}
    shown = [name for name in carried.known if name not in closed or name in named]
    states = tuple(_state(carried.known[name]) for name in shown)
    still_open = [state for state in states if state.status == "open"]
    number = day.job.day.report.number
    outcome = Outcome(
        states,
        (
            *(open_finding(state, carried.known[state.id, state.area]) for state in still_open),
            *decided_elsewhere(day, earlier, carried.known),
            *reopened(day, earlier, closed),
            *closed_though_open(day, carried.known),
            *raised_in_error(day, carried.known),
            *raised_elsewhere(day, earlier),
        ),
        measure_next=tuple(
            to_close(state, raised, number, entered=not _is_unentered(raised, day))
            for state, raised in ((one, carried.known[one.id, one.area]) for one in still_open)
        ),
    )
    accepted = acceptance(_state(raised) for raised in carried.known.values())
    linked = tuple(
        replace(before, findings=carried.linked(before, keys)[0], gone=steel)
        for before, keys, steel in zip(earlier, covering, gone_by, strict=True)
    )  # fmt: skip
    kept = tuple((_state(raised), failure) for raised, failure in carried.accepted())
    both = carried.linked(day, carried.covering)
    gone = [carried.unheard(one, day) for one in left]
    failed = (*carried.failed(), *(each for one in gone for each in one.failing))
    about = {one: carried.about(one) for one in failed}
    return Followed(outcome, *both, (*linked, *gone), accepted, tuple(released), failed, kept, about, carried.gone)


def _found_here(record: Nonconformance, day: Inspected) -> list[tuple[Finding, Failure]]:
    raised_here = record.raised_in in (None, day.job.day.report.number)
    return [one for one in day.failures if covers(record, one[0])] if raised_here else []


def _taken_on(
    before: Raised, record: Nonconformance, job: Job, barred: Literal["inspector", "contractor"] | None
) -> Raised:
    """Return a nonconformance as a later day states it; what that does not state again stays."""
    refused = before.refused if record.status == "open" else _refused(before, job)
    stays = {name: getattr(record, name) or getattr(before.record, name) for name in ("due", "responsible")}
    counted = not before.is_refused
    decided = before.decided if counted and record.disposition == before.record.disposition else frozenset()
    taken, stood = record.model_copy(update=stays), before.record if counted else before.stood
    return replace(
        before, record=taken, barred=barred, refused=refused, decided=decided, kept=False, stood=stood,
        withdrawn=may_withdraw(job, record),
    )  # fmt: skip


def _still_covers(raised: Raised, finding: Finding, failure: Failure, day: Inspected) -> bool:
    """Whether a nonconformance covers a finding of a day: one of its own report, or one that is no other since.

    That is one of the steel that it was written against, as long as it is open, or of a re-inspection that is to close
    it; after that only what was found there, at the same place. What is found on steel blasted since is another.
    """
    if not covers(raised.record, finding):
        return False
    if raised.report == day.job.day.report.number:
        return True
    if finding.area is not None and raised.areas and finding.area not in raised.areas:
        return False
    if (
        raised.is_accepted
        and effect_of(finding) != "holds"
        and raised.record.id not in {one.id for one in day.job.day.nonconformances}
    ):
        return False  # what failed is kept by the decision, and found again it is told of by itself
    if raised.status == "closed":  # what it was closed upon, and nothing worse or other at the same place
        same = any((finding.code, finding.facts) == (one.code, one.facts) for one in raised.seen)
        return same and any(found_again(failure, one) for one in raised.failures)
    again = (raised.record.id in one.reinspects and finding.area in (None, one.area) for one in day.job.day.surfaces)
    return any(again) or any(on_the_same_steel(failure, one) for one in raised.failures)


def _with_decision(raised: Raised, day: Inspected) -> Raised:
    """Return a nonconformance with the areas of which a report that records its decision inspects the steel.

    A decision is on steel as a report shows it; of an area that is not inspected beside it, it says nothing.
    """
    if not is_decided(raised.record):
        recorded = day.job.day.report.number if raised.record.status == "closed" else None
        return replace(raised, decided=frozenset(), recorded=recorded, begun=frozenset())
    areas = frozenset(area.id for area in day.view.areas)
    inspected = frozenset(area.id for area in day.view.areas if not any(one.record.pending for one in area.surfaces))
    return replace(
        raised, decided=raised.decided | inspected, recorded=day.job.day.report.number,
        begun=(areas | frozenset(day.job.begun)) - inspected,
    )  # fmt: skip


def _state(raised: Raised) -> NonconformanceState:
    record, status = raised.record, raised.status
    evidence = record.evidence if status == "closed" else None  # of what closed nothing
    # what was carried out is what was decided by one who may, whatever was refused meanwhile
    carried_out = raised.stood if raised.closed_by is not None and raised.is_refused else None
    decided = carried_out or record
    return NonconformanceState(
        record.id, record.area, tuple(record.findings), record.description, decided.disposition, decided.decided_by,
        status, raised.report, record.corrective_action, evidence,
        raised.original, raised.closed_by, None if record.due is None else record.due.isoformat(), record.responsible,
    )  # fmt: skip
