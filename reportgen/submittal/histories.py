"""Areas and nonconformances over time, from the reports of a submittal. No file, no page."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.issued import (
    Counting,
    Filed,
    Said,
    Settling,
    Spoken,
    Told,
    as_counted,
    as_successor,
    filed,
    last_words,
    left_out,
    measured_otherwise,
    not_covered,
    says_nothing_new,
    settled_as_successor,
    settled_in_doubt,
    settled_in_vain,
)
from reportgen.names import short_title
from reportgen.submittal.contract_now import listings
from reportgen.submittal.pages.model import AreaEvent, AreaHistory, Gone, LogRow
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterator, Mapping, Sequence

    from reportgen.issued import AreaRecord, NonconformanceRecord, ReportRecord
    from reportgen.submittal.enclosing import Enclosed
    from reportgen.words.told import Told as Sentence

_OPEN_FIRST = {"open": 0, "closed": 1}
_Event = tuple[AreaEvent, "AreaRecord", "Enclosed"]
_State = tuple["NonconformanceRecord", "ReportRecord"]


def histories(
    reports: Sequence[Enclosed], pooled: Sequence[Enclosed], held: Mapping[str, Sequence[str]]
) -> tuple[AreaHistory, ...]:
    """Return the areas in the order in which reports first name them, within their structures.

    They are as the reports ``pooled`` say, and one released is on hold by what is ``held``; an area that only others
    name is neither released nor coated by them.
    """
    heard = {one.standing.doubts for one in pooled}
    void = set(_released_in_vain(reports))
    uncovered = not_covered(listings(reports))
    asked = {(one.file, area) for area, told in _settlings(reports).items() for one in settled_in_doubt(told)}
    said: dict[str, list[Said[_Event]]] = {}
    barred: dict[str, list[AreaEvent]] = {}
    for one in reports:
        for event, area in _events(one):
            if one.counts and (one.file, area.id) not in void:
                said.setdefault(area.id, []).append(Said(_when(one), one.standing, (event, area, one)))
            elif one.counts or one.place == "not entitled":
                barred.setdefault(area.id, []).append(event)
    found = [
        _history(statements, heard, barred.get(area, ()), holding(held, area), asked)
        for area, statements in said.items()
    ]
    found = [held_by_size(one, uncovered.get(one.id)) for one in found]
    structures = list(dict.fromkeys(history.structure for history in found))
    return tuple(sorted(found, key=lambda history: (structures.index(history.structure), history.id)))


def held_by_size(area: AreaHistory, why: Sentence | None) -> AreaHistory:
    """Return an area, on hold where it would be released by a report of less than what failed."""
    if why is None or area.decision != "release":
        return area
    return replace(area, decision="hold", part="", uncovered=why)


def _released_in_vain(reports: Sequence[Enclosed]) -> Iterator[tuple[str, str]]:
    """Yield file and area of each release by a report whose signer one does not name that had not released it."""
    for area_id, settlings in _settlings(reports).items():
        yield from ((one.file, area_id) for one, _ in settled_in_vain(settlings))


def _settlings(reports: Sequence[Enclosed]) -> dict[str, list[Settling[Enclosed]]]:
    """Return by area which reports that count release it and which do not, in the order of time."""
    said: dict[str, list[Settling[Enclosed]]] = {}
    for one in sorted((one for one in reports if one.counts), key=_when):
        claim = filed(one.examined.verification, one.record)
        for area in (area for area in one.record.areas if area.inspected):
            settling = Settling(claim, one.record.number, area.decision == "release", one)
            said.setdefault(area.id, []).append(settling)
    return said


def by_successors(reports: Sequence[Enclosed]) -> Iterator[Sentence]:
    """Yield a sentence for what successors closed or, where they closed nothing there, released, to be asked about."""
    closed: set[tuple[str, str]] = set()
    for one, state in ((each, state) for each in reports for state in each.record.nonconformances):
        raised = _raised_elsewhere(one, state, reports, Filed.closes_as_successor)
        if raised is not None:
            closed.add((one.file, state.area or ""))
            yield _successor(one, told("does-close", name=state.id), raised)
    for area, settlings in _settlings(reports).items():
        for one, before in settled_as_successor(settlings):
            if (one.file, area) not in closed:
                yield _successor(one, told("does-release", area=area), before)


def _successor(one: Enclosed, what: Sentence, before: Enclosed) -> Sentence:
    titles = [told("a-revision", number=each.record.number, revision=each.record.revision) for each in (one, before)]
    return as_successor(titles[0], what, titles[1], filed(one.examined.verification, one.record))


def held_by(log: Sequence[LogRow]) -> Mapping[str, Sequence[str]]:
    """Return the nonconformances that count and are open, by area; without one for those on none in particular."""
    held: dict[str, list[str]] = {}
    for row in log:
        if row.status == "open" and row.counts:
            held.setdefault(row.area, []).append(row.id)
    return held


def holding(held: Mapping[str, Sequence[str]], area: str) -> tuple[str, ...]:
    """Return the open nonconformances that keep an area from being released."""
    return (*held.get(area, ()), *held.get("", ()))


def _events(one: Enclosed) -> Iterator[tuple[AreaEvent, AreaRecord]]:
    record = one.record
    coated = {surface.area for surface in record.surfaces if surface.coated}
    for area in record.areas:
        said = (area.verdict, area.told, area.id in coated, area.part_told)
        yield AreaEvent(record.date, record.number, record.revision, *said), area


def _when(one: Enclosed) -> tuple[str, str]:
    return (one.record.order, one.record.number)


def _history(
    said: Sequence[Said[_Event]],
    heard: set[frozenset[str]],
    barred: Sequence[AreaEvent],
    names: tuple[str, ...],
    asked: Collection[tuple[str, str]],
) -> AreaHistory:
    """Return an area over time; ``names`` are the open nonconformances on it, ``asked`` releases in doubt."""
    weighty = [one for one in said if one.standing.doubts in heard]
    stands, less = last_words(_of_the_steel(said))
    events = tuple(one.what[0] for one in weighty or said if one not in less)
    coated = any(event.coated for event in events)
    decisions = dict.fromkeys(one.what[1].decision for one in stands)
    last, area, _ = stands[-1].what
    by = [one.what[2] for one in stands]
    lacks = [short_title(one.record, one.lacks.revision) for one in by if one.lacks is not None]
    in_doubt = any((one.file, area.id) in asked for one in by)
    counted = as_counted(decisions, held=bool(names), lacking=bool(lacks), in_doubt=in_doubt)
    decision = "disputed" if _measured_otherwise(stands) else counted
    if not weighty:
        decision = "unproven"

    return AreaHistory(
        area.id,
        area.name,
        area.structure_name,
        events,
        decision=decision,
        part=last.part if decision == "release" else "",
        by=short_title(last),
        contested=_otherwise([one.what[0] for one in less], decisions, coated=coated),
        barred=_otherwise(barred, decisions, coated=coated),
        proven=all(one.standing.proven for one in stands),
        open=names * (decision == "hold" and "release" in decisions),
        lacks=", ".join(lacks),
        succeeded=in_doubt,
    )


def _otherwise(others: Sequence[AreaEvent], decisions: Collection[str], *, coated: bool) -> tuple[str, ...]:
    """Name those that say another decision than ``decisions``, or that what stands as bare was coated."""
    return tuple(
        short_title(event)
        for event in others
        if event.decision not in {*decisions, "unseen"} or (event.coated and not coated)
    )


def _measured_otherwise(stands: Sequence[Said[_Event]]) -> bool:
    """Whether files that claim one number measured an area otherwise, though they decide the same."""
    said = (one.what for one in stands)
    return bool(
        measured_otherwise(
            (event.number, tuple((one.id, one.profile, one.verdict) for one in area.locations))
            for event, area, _ in said
        )
    )


def _of_the_steel(said: Sequence[Said[_Event]]) -> list[Said[_Event]]:
    """Leave out the reports that did not inspect an area and leave it as it was."""
    ordered = sorted(said, key=lambda one: one.when)
    areas = [(one.what[1], one.standing) for one in ordered]
    silent = says_nothing_new(Told(one.decision if one.inspected else "", one.bare, by) for one, by in areas)
    return [one for one, left in zip(ordered, silent, strict=True) if not left]


def gone(reports: Sequence[Enclosed]) -> tuple[Gone, ...]:
    """Return the areas that a revision leaves out, which the one before it had not released, or nobody names now."""
    spoken: dict[str, list[Spoken[AreaEvent]]] = {}
    for one in (one for one in reports if one.counted):
        for event, area in _events(one):
            said = Said(_when(one), one.standing, event)
            spoken.setdefault(area.id, []).append(Spoken(one.file, one.record.revision, one.counts, said))
    counting = _counting(reports)
    found: dict[tuple[str, str], Gone] = {}
    for area_id, statements in sorted(spoken.items()):
        for was, by in left_out(statements, counting):
            event, silent = was.said.what, short_title(was.said.what, by.revision)
            found[area_id, event.number] = Gone(area_id, short_title(event), event.decision, silent)
    named = {area.id for one in reports if one.counts for area in one.record.areas if area.speaks}
    return tuple(one for one in found.values() if one.decision != "release" or one.area not in named)


def _counting(reports: Sequence[Enclosed]) -> dict[str, list[Counting]]:
    found: dict[str, list[Counting]] = {}
    for one in reports:
        if one.counts:
            found.setdefault(one.record.number, []).append(Counting(one.file, one.record.revision, one.record.order))
    return found


def log_of(reports: Sequence[Enclosed], pooled: Sequence[Enclosed]) -> tuple[LogRow, ...]:
    """Return each nonconformance as the last report that is proven enough left it, open ones first.

    A number used for two areas is two nonconformances: neither closes the other. One that only others than those
    ``pooled`` name is listed, and does not count. One that a revision leaves out is as open as before, and so is one
    that is closed by who may not revise the report that raised it.
    """
    heard = {one.standing.doubts for one in pooled}
    said: dict[tuple[str, str | None], list[Spoken[_State]]] = {}
    barred: dict[tuple[str, str | None], list[_State]] = {}
    void: dict[tuple[str, str | None], list[Spoken[_State]]] = {}
    for one, state in ((each, state) for each in reports for state in each.record.nonconformances):
        key, what = (state.id, state.area), (state, one.record)
        if one.counted:
            spoken = Spoken(one.file, one.record.revision, one.counts, Said(_when(one), one.standing, what))
            said.setdefault(key, []).append(spoken)
            if _raised_elsewhere(one, state, reports, Filed.may_not_close) is not None:
                void.setdefault(key, []).append(spoken)
                barred.setdefault(key, []).append(what)
        elif one.place == "not entitled":
            barred.setdefault(key, []).append(what)
    rows = [_standing_row(said[key], barred.get(key, ()), _counting(reports), heard, void.get(key, ())) for key in said]
    return tuple(sorted(filter(None, rows), key=lambda row: (_OPEN_FIRST[row.status], row.id)))


def _raised_elsewhere(
    one: Enclosed, state: NonconformanceRecord, reports: Sequence[Enclosed], how: Callable[[Filed, Filed], bool]
) -> Enclosed | None:
    """Return the report that raised what another one that counts closes, by one who stands so to it; None else."""
    if state.status != "closed" or not one.counts:
        return None
    own = filed(one.examined.verification, one.record)
    raising = (
        other
        for other in reports
        if other.counts
        and _when(other) < _when(one)
        and other.record.number != one.record.number
        and (state.id, state.area, other.record.number)
        in {(one.id, one.area, one.raised_in) for one in other.record.nonconformances}
        and how(own, filed(other.examined.verification, other.record))
    )
    return next(raising, None)


def _standing_row(
    statements: Sequence[Spoken[_State]],
    barred: Sequence[_State],
    counting: Mapping[str, Sequence[Counting]],
    heard: set[frozenset[str]],
    void: Sequence[Spoken[_State]],
) -> LogRow | None:
    """Return how a nonconformance stands; None for one that only replaced revisions name, not as open.

    ``void`` are those of the ``statements`` whose closing does not count, though they are no silence.
    """
    left = [(one.said, by) for one, by in left_out(statements, counting) if one.said.what[0].status == "open"]
    stands, _ = last_words(
        [*(one.said for one in statements if one.counts and one not in void), *(one for one, _ in left)]
    )
    if not stands:
        return None
    word = ([one for one in stands if one.what[0].status == "open"] or stands)[-1]
    silent = next((short_title(word.what[1], by.revision) for one, by in left if one is word), "")
    others = [record for state, record in barred if state.status != word.what[0].status]
    return _log_row(word, heard, silent, tuple(short_title(record) for record in others))


def _log_row(said: Said[_State], heard: set[frozenset[str]], silent: str, barred: tuple[str, ...]) -> LogRow:
    state, record = said.what
    return LogRow(
        id=state.id,
        area=state.area or "",
        description=state.description,
        disposition=state.disposition,
        decided_by=state.decided_by,
        raised_in=state.raised_in,
        status="closed" if state.status == "closed" else "open",
        last_in=record.number,
        action=state.corrective_action or "",
        to_close=state.to_close,
        undecided=state.undecided,
        evidence=state.evidence or "",
        proven=said.standing.proven,
        counts=said.standing.doubts in heard,
        silent=silent,
        barred=barred,
    )
