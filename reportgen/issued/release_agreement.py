"""What a report says of an area that a release page repeats: the page is made of it, and held against it again.

Whoever holds a trusted certificate can sign a page of any content. So a page by itself proves nothing of the steel: it
is compared with the report that it names, datum by datum, and is not proven where that report is not at hand.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import fields, replace
from typing import TYPE_CHECKING, Final, get_args

from reportgen.diagnostics import printable
from reportgen.issued.release_file import CLOCKS, GaugeUsed, ReleasedArea, ReleasedLocation
from reportgen.issued.revisions import filed
from reportgen.names import spelt_alike
from reportgen.results import Verdict
from reportgen.units import DISPLAY
from reportgen.verification import Reason
from reportgen.verification.verdict import not_done, step_of
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.issued.examination import Examined
    from reportgen.issued.record import AreaRecord, ReportRecord
    from reportgen.issued.release_file import ReleaseFile
    from reportgen.verification import Verification
    from reportgen.words.told import Told

_EVALUATED: Final = 8
_NOT_STATED: Final = frozenset({"file", "sha256", "covered", "locations"})
"""Where the report lay is the page's own word; its hash is how it was found, and locations are compared each."""


def named_area(record: ReportRecord, area: str) -> AreaRecord | None:
    """Return what a report says of an area; None where it does not name it."""
    return next((one for one in record.areas if printable(one.id) == area), None)


def released_area(
    record: ReportRecord, own: AreaRecord, *, file: str, sha256: str, covered: str | None = None
) -> ReleasedArea:
    """Return what a release page says of an area by a report, of which ``file``, hash and what is ``covered`` are."""
    plan = next((one for one in record.planned if one.area == own.id), None)
    coated = [one.coated for one in record.surfaces if one.area == own.id and one.coated]
    return ReleasedArea(
        contract=printable(record.contract),
        project=printable(record.contract_name),
        area=printable(own.id),
        name=printable(own.name),
        structure=printable(own.structure_name),
        size=f"{plan.size} {DISPLAY.get(plan.unit, plan.unit)}" if plan is not None and plan.size else "",
        number=printable(record.number),
        revision=record.revision,
        date=record.date,
        inspector=printable(record.inspector),
        file=file,
        sha256=sha256,
        minimum=record.minimum,
        maximum=record.maximum,
        unit=own.unit,
        mean=own.mean,
        lowest=own.minimum,
        highest=own.maximum,
        coated=coated[-1] if coated else "",
        locations=tuple(
            ReleasedLocation(printable(one.id), one.profile, one.uncertainty, one.verdict)
            for one in own.locations
            if one.walk_out is None
        ),
        covered=covered,
    )


def gauges_used(record: ReportRecord, own: AreaRecord) -> tuple[GaugeUsed, ...]:
    """Return the gauges that gave the readings of an area, by serial number."""
    known = {one.id: one for one in record.instruments}
    used = [
        known[one.instrument]
        for one in record.uses
        if one.area == own.id and one.purpose == "readings" and one.instrument in known
    ]
    found = {GaugeUsed(printable(one.serial), printable(one.certificate), one.due) for one in used}
    return tuple(sorted(found, key=lambda one: (one.serial, one.certificate, one.due)))


def held_against(page: Examined, report: Examined) -> Examined:
    """Return a release page with step 8: whether it says what ``report``, which it names by its hash, says.

    What a page says otherwise than that very file is *failed*, however well the file is proven; where it is not, that
    both say the same proves nothing, and the step stays *not done*. One that failed says nothing.
    """
    told_by, record = page.told_by_page, report.record
    if told_by is None:
        return page
    its = {"number": told_by.released.number, "revision": told_by.released.revision}
    verdict = told(f"overall-{report.verification.overall}")
    if record is None or report.verification.overall == "failed":
        step = not_done(_EVALUATED, told("release-report-unproven", **its, verdict=verdict))
        return replace(page, verification=page.verification.with_step(step))
    reasons = [Reason("RELEASE_DIFFERS", one) for one in differences(told_by, record)]
    step = step_of(_EVALUATED, reasons, [told("release-agrees", **its)])
    if not reasons and report.verification.overall != "passed":
        step = not_done(_EVALUATED, told("release-report-unproven", **its, verdict=verdict))
    answer = page.verification.with_step(step)
    return replace(page, verification=replace(answer, ends=(*answer.ends, *report.verification.ends)))


def names_of_report(page: Examined, report: Examined) -> bool:
    """Whether a release page names a report: by the hash of the file, as some signature left it, or, as a copy has it
    too, by that of what its first signature covers.
    """
    if page.told_by_page is None or report.record is None:
        return False
    named = page.told_by_page.released
    own = filed(report.verification, report.record)
    return named.sha256 in own.hashes or named.covered in own.covered[:1]


def alone(answer: Verification) -> Verification:
    """Return the answer on a release page as it would be if the report that it names bore it out."""
    return replace(answer, required=tuple(number for number in answer.required if number != _EVALUATED))


def differences(page: ReleaseFile, record: ReportRecord) -> list[Told]:
    """Return what a release page says otherwise than the report that it names, each with what the report says."""
    one = page.released
    whose = {"number": record.number, "revision": record.revision}
    own = named_area(record, one.area)
    if own is None:
        return [told("release-area-unknown", area=one.area, **whose)]
    found = []
    if own.decision != "release":
        decides = told(f"decides-{own.decision}" if own.inspected else "decides-nothing")
        found.append(told("release-unfounded", area=one.area, **whose, decides=decides))
    elif own.part is not None:
        found.append(told("release-of-part", area=one.area, **whose, part=own.part.cleaned, size=own.part.size))
    stated = released_area(record, own, file=one.file, sha256=one.sha256)
    told_otherwise = [
        *_members(page, stated, gauges_used(record, own)),
        *_locations(one.locations, stated.locations),
        *_nonconformances(page, record, own),
    ]
    found += [
        told("release-differs", what=what, said=said, report=stated, **whose) for what, said, stated in told_otherwise
    ]
    if page.moments is None or min(page.moments) + CLOCKS < dt.datetime.fromisoformat(record.issued_at):
        found.append(told("release-before-report", at=page.issued_at, as_of=page.as_of, then=record.issued_at, **whose))
    return found


Otherwise = tuple["Told", object, object]


def _members(page: ReleaseFile, stated: ReleasedArea, gauges: tuple[GaugeUsed, ...]) -> Iterator[Otherwise]:
    members = [one.name for one in fields(ReleasedArea) if one.name not in _NOT_STATED]
    found = [(name, getattr(page.released, name), getattr(stated, name)) for name in members]
    for name, mine, theirs in (*found, ("gauges", _rows(page.gauges), _rows(gauges))):
        if mine != theirs and not (name == "contract" and spelt_alike(mine, theirs)):
            yield told(f"datum-{name}"), _shown(mine), _shown(theirs)


def _rows(gauges: tuple[GaugeUsed, ...]) -> tuple[str, ...]:
    return tuple(f"{one.serial} ({one.certificate}, {one.due})" for one in gauges)


def _locations(said: Sequence[ReleasedLocation], stated: Sequence[ReleasedLocation]) -> Iterator[Otherwise]:
    mine, theirs = {one.location: one for one in said}, {one.location: one for one in stated}
    for name in dict.fromkeys([*theirs, *mine]):
        if mine.get(name) != theirs.get(name):
            yield told("datum-location", location=name), _location(mine.get(name)), _location(theirs.get(name))
    if len(said) != len(mine):  # one name twice
        yield told("datum-locations"), len(said), len(stated)


def _location(one: ReleasedLocation | None) -> object:
    if one is None:
        return told("datum-none")
    judged = told(f"judged-{one.verdict.replace(' ', '-')}") if one.verdict in get_args(Verdict) else one.verdict
    return told("datum-of-location", profile=_shown(one.profile), uncertainty=one.uncertainty, verdict=judged)


def _nonconformances(page: ReleaseFile, record: ReportRecord, own: AreaRecord) -> Iterator[Otherwise]:
    """Yield what a page says otherwise of nonconformances on the area; what the report has open others may have closed.

    Where the page says that another report closed one, that is compared with nothing; but what it says this report
    raised, this report has.
    """
    known = {(printable(one.id), printable(one.raised_in)): one for one in record.nonconformances if one.area == own.id}
    closed = {key: printable(one.description) for key, one in known.items() if one.status == "closed"}
    stated = {**dict.fromkeys(known, told("datum-open")), **closed}
    said = {(one.id, one.raised_in): one for one in page.closed}
    for key in dict.fromkeys([*known, *said]):
        mine = said.get(key)
        if mine is not None and mine.closed_in != record.number:
            if key not in known and mine.raised_in == record.number:  # it would have to be there
                yield told("datum-closed", id=key[0]), mine.what, told("datum-none")
        elif mine is None or mine.what != closed.get(key):
            yield told("datum-closed", id=key[0]), _shown(mine and mine.what), _shown(stated.get(key))


def own_words(page: ReleaseFile, report: Examined, others: Sequence[ReportRecord]) -> Told | None:
    """Return what a page says that neither the report it names says nor ``others`` do; None where there is nothing.

    No page is wrong by it: a report that closed something may be absent, or revised since.
    """
    record, words = report.record, []
    if record is None:
        return None
    if page.released.sha256 not in filed(report.verification, record).hashes:
        words.append(told("own-file", sha256=page.released.sha256))
    roles = [
        one.value.partition(", ")[0]
        for one in record.requirements
        if one.part == "people" and spelt_alike(one.member, page.signer)
    ]
    if not any(spelt_alike(role, page.role) for role in roles):
        words.append(told("own-role", signer=page.signer, role=page.role))
    if page.noted:
        words.append(told("own-notes", codes=tuple(dict.fromkeys(one.code for one in page.noted))))
    closed = {
        (printable(one.id), printable(one.raised_in), each.number, printable(one.description))
        for each in (record, *others)
        for one in each.nonconformances
        if one.status == "closed" and one.area is not None and printable(one.area) == page.released.area
    }
    stated = [one for one in page.closed if (one.id, one.raised_in, one.closed_in, one.what) not in closed]
    words += [told("own-closed", id=one.id, number=one.closed_in) for one in stated]
    return told("release-own-words", words=tuple(words)) if words else None


def _shown(value: object) -> object:
    return told("datum-none") if value in (None, "", ()) else value
