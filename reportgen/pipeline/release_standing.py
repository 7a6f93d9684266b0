"""Release pages beside reports: whether each says what the report says that it names, and whether it holds still.

The reports are those given with it, loose or inside a submittal, and those that a register has, where one is given.
"""

from __future__ import annotations

import json
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from reportgen.diagnostics import printable
from reportgen.formats import EVALUATION_NAME
from reportgen.issued import (
    alone,
    filed,
    held_against,
    named_area,
    names_of_report,
    own_words,
    shown_name,
    signed_apart,
    standing_of,
)
from reportgen.names import spelt_alike
from reportgen.pipeline.as_issued import Folder
from reportgen.pipeline.registered_revisions import barred_by
from reportgen.submittal import area_now
from reportgen.verification import Notice, Reason
from reportgen.verification.verdict import step_of
from reportgen.words.filing import filing_words
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Examined, ReportRecord
    from reportgen.issued.release_file import ReleaseFile
    from reportgen.register import Chain
    from reportgen.submittal import AreaTogether
    from reportgen.verification import Verification
    from reportgen.words.told import Told

_EVALUATED, _REGISTER, _STANDING = 8, 11, 12


class _Report(NamedTuple):
    """A report at hand, by the name that is shown of it."""

    file: str
    examined: Examined
    record: ReportRecord


class _Later(NamedTuple):
    """A later report, what it says against the release (None: nothing), and whether it overrides the page."""

    report: _Report
    revises: bool
    against: Told | None
    overrides: bool

    @property
    def its(self) -> dict[str, object]:
        """Its number and revision, as facts."""
        return {"number": self.report.record.number, "revision": self.report.record.revision}

    @property
    def told(self) -> Told:
        """What it says against the release, and how it is proven where it is less so than the page."""
        verdict = None if self.overrides else told(f"overall-{self.report.examined.verification.overall}")
        return told("release-withdrawn", **self.its, file=self.report.file, says=self.against, verdict=verdict)


def pages_beside(
    found: Mapping[Path, Examined], examine: Callable[[Path], Examined], register: Path | None, chain: Chain | None
) -> dict[Path, Verification]:
    """Return the answers on release pages: held against the reports at hand, and against the register, if any.

    ``examine`` is for the reports that bear on a page and lie in the folder of the register.
    """
    given = list(_reports(found))
    held = {one.examined.verification.sha256 for one in given}
    answers = {}
    for path, page in found.items():
        said = page.told_by_page
        if said is not None:
            lying = _registered(Folder(register), said) if register is not None and chain is not None else ()
            registered = _reports({each: examine(each) for each in lying})
            others = [one for one in registered if one.examined.verification.sha256 not in held]
            answers[path] = _beside(page, said, [*given, *others], chain)
    return answers


def _reports(found: Mapping[Path, Examined]) -> Iterator[_Report]:
    for path, one in found.items():
        for each in (one, *one.originals):
            if each.record is not None:
                yield _Report(shown_name(path) + (f"/{each.inside}" if each.inside else ""), each, each.record)


def _registered(folder: Folder, said: ReleaseFile) -> Iterator[Path]:
    """Yield the reports of a contract folder that bear on a release: of its number, or that do not release the area or
    name a nonconformance on it.
    """
    one = said.released
    for (number, _), report in folder.issued.items():
        own = number == one.number
        if not own:
            with suppress(ValueError, LookupError, TypeError):
                found = json.loads((folder.files_of(report) or {}).get(EVALUATION_NAME, b"{}"))
                own = any(each["id"] == one.area and each["decision"] != "release" for each in found["areas"])
                own = own or any(each["area"] in (None, one.area) for each in found["nonconformances"])
        if own and folder.signed(report) is not None:
            yield folder.path / report.file


def _beside(page: Examined, said: ReleaseFile, reports: Sequence[_Report], chain: Chain | None) -> Verification:
    named = sorted(
        (one for one in reports if names_of_report(page, one.examined)),
        key=lambda one: one.examined.verification.overall != "passed",
    )
    first = next(iter(named), None)
    answer = page.verification if first is None else held_against(page, first.examined).verification
    of_page = said.released
    others = [one for one in reports if one not in named and spelt_alike(one.record.contract, of_page.contract)]
    bearing = [one.examined for one in (*named, *others)]
    now = area_now(bearing, of_page.area) if bearing else None
    later = list(_later(page, said, first, others, now))
    its = (of_page.number, of_page.revision)
    same = tuple(one.file for one in others if (one.record.number, one.record.revision) == its)
    if first is None and same:
        answer = _with_details(answer, 8, [told("release-other-file", files=same)])
    if chain is not None:
        answer = _by_register(answer, said, first, chain, others)
    answer = _by_all(_standing(answer, later, reports), said, now if first is not None else None)
    answer = _by_copies(_disputed(answer, said, first, others, now), said, named)
    return answer if first is None else _in_own_words(answer, said, first, others)


def _in_own_words(
    answer: Verification, said: ReleaseFile, named: _Report, others: Sequence[_Report]
) -> Verification:  # fmt: skip
    """Return the answer with a notice of what the page says that no report does which is at least as well proven."""
    weight = standing_of(named.examined.verification)
    answers = ((one.record, one.examined.verification) for one in others)
    heard = [one for one, its in answers if its.overall != "failed" and standing_of(its).at_least(weight)]
    words = own_words(said, named.examined, heard)
    step = answer.step(_EVALUATED)
    if words is None or step.status != "passed":
        return answer
    return answer.with_step(replace(step, notices=(*step.notices, Notice("OWN_WORDS", words))))


def _later(
    page: Examined, said: ReleaseFile, named: _Report | None, others: Sequence[_Report], now: AreaTogether | None
) -> Iterator[_Later]:
    """Yield the reports that came after the one that a page names, and speak of its area or revise that report."""
    weight = standing_of(alone(page.verification))
    for one in others:
        record, released = one.record, said.released
        revises = record.number == released.number
        if revises:
            after = record.revision > released.revision
        elif named is not None:
            after = record.order > named.record.order
        else:
            after = record.date > released.date or record.issued_at > said.issued_at
        if not after or one.examined.verification.overall == "failed":
            continue
        against = _against(record, released.area, () if now is None else now.closed, revises=revises)
        claim = filed(one.examined.verification, record)
        entitled = named is None or not revises or claim.may_replace(filed(named.examined.verification, named.record))
        if revises or against is not None:
            yield _Later(one, revises, against, entitled and claim.standing.at_least(weight))


def _disputed(
    answer: Verification, said: ReleaseFile, named: _Report | None, others: Sequence[_Report], now: AreaTogether | None
) -> Verification:  # fmt: skip
    """Return the answer with step 12 by other files of the number and revision that a page names: those proven no
    worse than it that do not release the area, so that nobody knows which was issued.
    """
    weight = standing_of(alone(answer) if named is None else named.examined.verification)
    its = {"number": said.released.number, "revision": said.released.revision}
    closed = () if now is None else now.closed
    against = [
        told("release-withdrawn-by-other", **its, file=one.file, says=says)
        for one in others
        if (one.record.number, one.record.revision) == (its["number"], its["revision"])
        and one.examined.verification.overall != "failed"
        and standing_of(one.examined.verification).at_least(weight)
        and (says := _against(one.record, said.released.area, closed, revises=True)) is not None
    ]
    step = answer.step(_STANDING)
    if not against or step.status == "superseded":
        return answer
    details = (told("release-disputed", **its), *step.details)
    notices = (*step.notices, *(Notice("RELEASE_WITHDRAWN", one) for one in against))
    return answer.with_step(replace(step, status="superseded", details=details, notices=notices))


def _by_copies(answer: Verification, said: ReleaseFile, named: Sequence[_Report]) -> Verification:
    """Return the answer with step 12 by copies of the report that a page names in which others signed one field."""
    step, its = answer.step(_STANDING), {"number": said.released.number, "revision": said.released.revision}
    apart = signed_apart({one.file: one.examined.verification for one in named})
    if not apart or step.status == "superseded":
        return answer
    details = (told("release-copies-disputed", **its), *step.details)
    notices = [Notice("SIGNED_BY_ANOTHER", one.sentence(told("a-revision", **its))) for one in apart]
    return answer.with_step(replace(step, status="superseded", details=details, notices=(*step.notices, *notices)))


def _against(record: ReportRecord, area: str, closed: Sequence[str], *, revises: bool) -> Told | None:
    """Return what a later report says against the release of an area; None where it says nothing of it, or as much.

    What it leaves open on the area, or on none in particular, counts whether it inspected the area or not, unless
    another report has it ``closed`` since.
    """
    own = named_area(record, area)
    if own is not None and own.speaks:
        if own.decision != "release" or own.bare:
            return told(f"decides-{'hold' if own.bare else own.decision}")
        if own.part is not None:
            return told("decides-part", part=own.part.cleaned, size=own.part.size)
    left = _left_open(record, area, closed)
    if left:
        return told("decides-but-open", ids=left)
    return told("decides-nothing") if revises and (own is None or not own.speaks) else None


def _left_open(record: ReportRecord, area: str, closed: Sequence[str]) -> tuple[str, ...]:
    """Return the nonconformances on an area, or on none in particular, that are open and not ``closed`` elsewhere."""
    still = [one for one in record.nonconformances if one.status == "open" and one.id not in closed]
    return tuple(one.id for one in still if one.area is None or printable(one.area) == area)


def _later_rows(chain: Chain, said: ReleaseFile, named: _Report | None, others: Sequence[_Report]) -> list[int]:
    """Return the later revisions that a register has, but for those at hand whose signer may not revise the report."""
    its, barred = said.released, frozenset[str]()
    if named is not None:
        same = [one for one in others if one.record.number == named.record.number]
        claims = [
            filed(one.examined.verification, one.record)
            for one in same
            if one.examined.verification.overall != "failed"
        ]
        barred = frozenset(barred_by(filed(named.examined.verification, named.record), claims))
    rows = ((key, row.report) for key, row in chain.issued.items())
    later = [(key, report) for key, report in rows if key[0] == its.number and key[1] > its.revision]
    return [revision for (_, revision), report in later if report is None or report.signed_sha256 not in barred]


def _by_register(
    answer: Verification, said: ReleaseFile, named: _Report | None, chain: Chain, others: Sequence[_Report]
) -> Verification:  # fmt: skip
    """Return the answer with steps 11 and 12 by a register: has it the report, as named, and no later revision?"""
    released = said.released
    its = {"number": released.number, "revision": released.revision}
    row = chain.issued.get((released.number, released.revision))
    if row is None or row.report is None:
        if chain.unread is not None:
            return _with_details(answer, _REGISTER, [told("register-of-later-release")])
        reason = Reason("REGISTER_DISAGREES", told("release-not-registered", **its))
        return answer.with_step(step_of(_REGISTER, [reason]))
    known = {released.sha256} if named is None else {*filed(named.examined.verification, named.record).hashes}
    known |= set() if named is None or named.examined.upon is None else {*named.examined.upon.before_signing}
    if known.isdisjoint({row.report.signed_sha256, row.report.unsigned_sha256}):
        if named is None:  # it may be the registered file with countersignatures
            return _with_details(answer, _REGISTER, [told("release-registered-otherwise", **its)])
        reason = Reason("REGISTER_DISAGREES", told("release-of-another-file", **its))
        return answer.with_step(step_of(_REGISTER, [reason]))
    strange = _of_no_row(said, chain)
    answer = answer.with_step(step_of(_REGISTER, strange, [told("register-knows", **its, row=row.sequence)]))
    later = _later_rows(chain, said, named, others)
    twelfth = step_of(_STANDING, [], [told("current")])
    if later:
        details = (told("superseded-by-revision", revision=max(later)),)
        twelfth = replace(twelfth, status="superseded", details=details)
    elif chain.unread is not None:
        return _with_details(answer, _STANDING, [told("register-of-later-release")])
    return answer.with_step(twelfth)


def _of_no_row(said: ReleaseFile, chain: Chain) -> list[Reason]:
    """Return that the row which a page prints is none that a report of this register was issued upon.

    One that was rebuilt, or read in part, has rows of its own.
    """
    if not said.register or chain.rebuilt or chain.unread is not None:
        return []
    words = filing_words(said.language)
    upon = [(row.sequence - 1, row.report.number) for row in chain.rows if row.report is not None]
    rows = {words("release.row", row=at, sha256=chain.hashes[at], number=number) for at, number in upon}
    return (
        [] if said.register in rows else [Reason("REGISTER_DISAGREES", told("release-row-strange", row=said.register))]
    )


def _standing(answer: Verification, later: Sequence[_Later], reports: Sequence[_Report]) -> Verification:
    """Return the answer with step 12 by the reports at hand that came later, and a notice for each that withdraws."""
    step, over = answer.step(_STANDING), [one for one in later if one.overrides]
    revisions = [one for one in over if one.revises]
    withdrawing = [one for one in later if one.against is not None]
    status, details = step.status, step.details
    if revisions and status != "superseded":
        newest = max(revisions, key=lambda one: one.report.record.revision)
        of_revision = told("superseded-by-revision", revision=newest.report.record.revision)
        details = (of_revision, told("superseded-by-files", files=tuple(one.report.file for one in revisions)))
        status = "superseded"
    elif over and status != "superseded":
        last = max(over, key=lambda one: one.report.record.order)
        status, details = "superseded", (told("superseded-by-report", number=last.report.record.number),)
    elif reports and not later and status == "not done":
        details = (told("release-none-later"),)
    still = [told("release-there-too", **one.its, file=one.report.file) for one in revisions if one.against is None]
    notices = [Notice("RELEASE_WITHDRAWN", one.told) for one in withdrawing]
    return answer.with_step(replace(step, status=status, details=(*details, *still), notices=(*step.notices, *notices)))


def _by_all(answer: Verification, said: ReleaseFile, now: AreaTogether | None) -> Verification:
    """Return the answer with step 12 by how all reports at hand together leave the area, as an audit of them says."""
    step = answer.step(_STANDING)
    if now is None or now.decision in (None, "release") or step.status == "superseded":
        return answer
    why = told("release-withdrawn-by-all", area=said.released.area, state=told(f"now-{now.decision}"), ids=now.open)
    by_all = (told("superseded-by-reports"), *step.details)
    notices = (*step.notices, Notice("RELEASE_WITHDRAWN", why))
    return answer.with_step(replace(step, status="superseded", details=by_all, notices=notices))


def _with_details(answer: Verification, number: int, details: Sequence[Told]) -> Verification:
    step = answer.step(number)
    return answer.with_step(replace(step, details=(*step.details, *details)))
