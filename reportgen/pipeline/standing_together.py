"""Files that are verified together, at hand for each other: which replaces which, which contradict, which forked."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from pathlib import PurePosixPath
from typing import TYPE_CHECKING

from reportgen.errors import UsageError
from reportgen.issued import (
    filed,
    issued_once,
    outcomes,
    read_pdf,
    shown_name,
    signed_apart,
    signed_less,
    slip_beside,
    standing_of,
    written_otherwise,
)
from reportgen.names import spelling, spelt_alike
from reportgen.verification import Notice
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Checks, Examined, Filed, Outcome, ReportRecord
    from reportgen.register import Issue
    from reportgen.verification import Verification

_STANDING = 12


def beside_each_other(found: Mapping[Path, Examined], checks: Checks) -> dict[Path, Verification]:
    """Return the answers on files that were given together and say something of each other, with what that is.

    Only a file that is proven no worse, and signed by one who may, supersedes another; one that failed says nothing.
    A release slip is held against the report of its shift with the limits of ``checks``.
    """
    answers: dict[Path, Verification] = {}
    for copies in _by_number(found) if len(found) > 1 else ():
        claims = [_best(list(each.values())) for each in copies]
        placed = outcomes(claims)
        for number, (each, outcome) in enumerate(zip(copies, placed, strict=True)):
            beside = {file: claims[other].revision for other in outcome.beside for file in copies[other]}
            others = _barred_from(number, placed, copies)
            answers |= {path: _beside(found[path].verification, outcome, beside, others) for path in each}
    answers = _with_slips(found, answers, checks)
    noted = _shown_by_others(found)
    return answers | {path: _noted(answers.get(path, found[path].verification), noted[path]) for path in noted}


def _barred_from(number: int, placed: Sequence[Outcome], copies: Sequence[Mapping[Path, Filed]]) -> list[Path]:
    """Return the files that may not revise what stands at the place ``number``."""
    barred = [
        each for one, each in zip(placed, copies, strict=True) if one.place == "not entitled" and number in one.beside
    ]
    return [path for each in barred for path in each]


def _not_enclosed(found: Mapping[Path, Examined]) -> dict[Path, list[Notice]]:
    """Return for each submittal which reports it revises that were given with it, and does not hold."""
    given = [(path, claim) for path, one in found.items() for _, claim in _claims([one])]
    inside = {path: list(_claims(one.originals)) for path, one in found.items() if one.verification.overall != "failed"}
    return {path: list(_revised(own, given)) for path, own in inside.items() if own}


def _revised(
    inside: Sequence[tuple[ReportRecord, Filed]], given: Sequence[tuple[Path, Filed]]
) -> Iterator[Notice]:  # fmt: skip
    held = {claim.signed.covered for _, claim in inside}
    for (record, claim), (file, before) in product(inside, given):
        if claim.supersedes in before.hashes and before.signed.covered not in held:
            what = told("a-revision", number=record.number, revision=record.revision)
            code = "revised-given" if claim.may_replace(before) else "revised-given-by-another"
            yield Notice("NOT_ENCLOSED", told(code, what=what, file=shown_name(file)))


def _claims(found: Iterable[Examined]) -> Iterator[tuple[ReportRecord, Filed]]:
    """Yield record and claim of the reports among ``found`` that did not fail."""
    for one in found:
        if one.record is not None and one.verification.overall != "failed":
            yield one.record, filed(one.verification, one.record)


def _with_slips(
    found: Mapping[Path, Examined], answers: Mapping[Path, Verification], checks: Checks
) -> dict[Path, Verification]:
    """Return the answers with what slips and reports say of each other."""
    answers = dict(answers)
    slips = {path: one.upon for path, one in found.items() if one.slip and one.verification.overall != "failed"}
    for path, slip in slips.items():
        answers |= _of_slip(path, slip, found, answers, checks)
    return answers


def _of_slip(
    path: Path,
    slip: Issue | None,
    found: Mapping[Path, Examined],
    answers: Mapping[Path, Verification],
    checks: Checks,
) -> dict[Path, Verification]:
    """Return the answers on a slip and on the last report of its number, with what that says of the area.

    The one that is proven less is told, and tells nothing of the other.
    """
    if slip is None or len(found) == 1:
        return {}
    answer = answers.get(path, found[path].verification)
    reports = {
        other: one.record
        for other, one in found.items()
        if one.record is not None
        and one.verification.overall != "failed"
        and (one.record.number == slip.number and spelt_alike(one.record.contract, slip.contract))
        and _weighs(one, found[path])
    }
    if not reports:
        return {path: _with_details(answer, told("no-register-no-report"))}
    other, record = max(reports.items(), key=lambda one: one[1].revision)
    its = {"number": record.number, "revision": record.revision}
    own = {"slip": PurePosixPath(shown_name(path)).stem, "area": slip.area}
    try:
        beside = slip_beside(read_pdf(path), read_pdf(other), shown_name(path), checks)
    except UsageError as fault:
        return {path: _with_details(answer, told("slip-not-compared", **its, why=fault.message))}
    says = told("report-agrees" if beside.why is None else "report-does-not-uphold")
    if any(getattr(one, "code", "") == "slip-and-report" for one in answer.step(_STANDING).details):
        return {}
    told_of = {
        path: _with_details(answer, told("no-register-but-report"), told("slip-and-report", **own, **its, says=says))
    }
    if beside.why is None:
        return told_of
    why = beside.why
    told_of[path] = _noted(told_of[path], [Notice("SLIP_NOT_UPHELD", told("slip-not-upheld-there", **its, why=why))])
    if not beside.held and _weighs(found[path], found[other]):
        notice = Notice("SLIP_NOT_UPHELD", told("slip-beside-not-upheld", **own, why=why))
        told_of[other] = _noted(answers.get(other, found[other].verification), [notice])
    return told_of


def _weighs(one: Examined, other: Examined) -> bool:
    """Whether a file is proven no worse than another."""
    return standing_of(one.verification).at_least(standing_of(other.verification))


def _with_details(answer: Verification, instead: Told, *more: Told) -> Verification:
    """Return an answer with more in step 12, and ``instead`` of that nothing was given."""
    step = answer.step(_STANDING)
    details = [one for one in step.details if getattr(one, "code", "") != "no-register-nor-files"]
    first = [instead] if len(details) < len(step.details) else []
    return answer.with_step(replace(step, details=(*first, *details, *more)))


def _noted(answer: Verification, notices: Sequence[Notice]) -> Verification:
    """Return an answer with further notices in step 12."""
    step = answer.step(_STANDING)
    return answer.with_step(replace(step, notices=(*step.notices, *notices)))


def _shown_by_others(found: Mapping[Path, Examined]) -> dict[Path, list[Notice]]:
    """Return for each file what others show of the register that it was issued upon, where it went on in two copies;
    for a submittal, what it revises and does not hold.

    None that is proven less speaks of another, and none that failed.
    """
    upon = [
        (path, one.upon.lying_at(shown_name(path.absolute())))
        for path, one in found.items()
        if one.upon and one.verification.overall != "failed"
    ]
    standing = {path: standing_of(found[path].verification) for path, _ in upon}
    held = {one.upon for path, one in upon if found[path].verification.register == "passed"}
    told_of = _not_enclosed(found)
    for path, notice in _copies_differing(found):
        told_of.setdefault(path, []).append(notice)
    for path, mine in upon:
        heard = [one for other, one in upon if standing[other].at_least(standing[path])]
        forked = [Notice("REGISTER_FORKED", one) for one in dict.fromkeys(_apart(mine, heard, held))]
        told_of.setdefault(path, []).extend(forked)
    return told_of


def _apart(mine: Issue, heard: Sequence[Issue], known: Collection[tuple[int, str]]) -> Iterator[Told]:
    """Yield what issues show of the register upon which one of them stands; ``known`` are rows of one that is given."""
    from reportgen.register import astray, forks, told_apart_by

    own = told_apart_by([*heard, mine])
    for fork in forks([one for one in heard if one.upon == mine.upon]):
        yield told("register-forked-beside", why=fork.sentence)
    for stray in astray(heard, known):
        if own[-1] in {own[place] for place in stray.about}:
            yield stray.sentence
        elif own[-1] in {own[place] for place in stray.issues}:
            later = heard[stray.about[0]]
            yield told("followed-astray", issues=(mine.title, later.title), row=later.sequence)


def _by_number(found: Mapping[Path, Examined]) -> list[list[dict[Path, Filed]]]:
    """Return for each number of a contract its reports, of each the copies: whatever was signed or written since."""
    numbers: dict[tuple[str, str], dict[Path, Filed]] = {}
    for path, one in found.items():
        if one.record is not None and one.verification.overall != "failed":
            number = (spelling(one.record.contract) or one.record.contract, one.record.number)
            numbers.setdefault(number, {})[path] = filed(one.verification, one.record)
    found_of: list[list[dict[Path, Filed]]] = []
    for claims in numbers.values():
        each, signed = list(claims.items()), [claim.signed for claim in claims.values()]
        found_of.append([dict(each[place] for place in places) for places in issued_once(signed)])
    return found_of


def _copies_differing(found: Mapping[Path, Examined]) -> Iterator[tuple[Path, Notice]]:
    """Yield each copy of a report with those in which what nobody signs is written otherwise, or others signed."""
    for copies in (*(each for reports in _by_number(found) for each in reports), *_signed_once(found)):
        answers = {path: found[path].verification for path in copies}
        apart = [*_signed_apart(found, copies), *_signed_less(answers)]
        yield from apart
        told_of = {path for path, _ in apart}
        for path, mine in answers.items():
            others = tuple(shown_name(other) for other, one in answers.items() if written_otherwise(mine, one))
            if others and path not in told_of:
                yield path, Notice("WRITTEN_OTHERWISE", told("copies-written-otherwise", files=others))


def _signed_apart(found: Mapping[Path, Examined], copies: Iterable[Path]) -> Iterator[tuple[Path, Notice]]:
    """Yield each of the copies of one report that has a field signed which another has with another certificate."""
    shown = {shown_name(path): path for path in copies}
    for one in signed_apart({name: found[path].verification for name, path in shown.items()}):
        for path in (shown[name] for files in one.files.values() for name in files):
            record = found[path].record
            what = told("in-its-own-words", words=shown_name(path))
            if record is not None:
                what = told("a-revision", number=record.number, revision=record.revision)
            yield path, Notice("SIGNED_BY_ANOTHER", one.sentence(what))


def _signed_less(answers: Mapping[Path, Verification]) -> Iterator[tuple[Path, Notice]]:
    """Yield for each copy with a field in which another certificate is proven better, and for those, that it is so."""
    shown = {shown_name(path): path for path in answers}
    for one in signed_less({name: answers[path] for name, path in shown.items()}):
        for name in (one.file, *one.others):
            yield shown[name], Notice("SIGNED_BY_ANOTHER", one.sentence)


def _signed_once(found: Mapping[Path, Examined]) -> list[list[Path]]:
    """Return the submittals, and the release pages, of which the first signature covers the same, whoever signed."""
    by: dict[str, list[Path]] = {}
    for path, one in found.items():
        page = one.reference is not None or one.told_by_page is not None
        if page and one.record is None and one.verification.covered and one.verification.overall != "failed":
            by.setdefault(one.verification.covered[0], []).append(path)
    return [paths for paths in by.values() if len(paths) > 1]


def _best(copies: Sequence[Filed]) -> Filed:
    """Return the best proven of the copies of one report, under the hashes of all."""
    hashes = dict.fromkeys(digest for one in copies for digest in one.hashes)
    best = copies[0]
    for one in copies[1:]:
        best = one if one.standing.better(best.standing) else best
    return replace(best, hashes=tuple(hashes))


def _beside(
    answer: Verification, outcome: Outcome, beside: Mapping[Path, int], others: Sequence[Path]
) -> Verification:  # fmt: skip
    """Return an answer with what became of its file beside the others, in step 12; ``others`` may not revise it."""
    if others:
        claims = tuple(shown_name(path) for path in others)
        answer = _noted(answer, [Notice("NOT_ENTITLED", told("revised-by-another", files=claims))])
    step = answer.step(_STANDING)
    files = tuple(shown_name(path) for path in beside)
    if outcome.place == "superseded":
        own = [told("superseded-by-revision", revision=max(beside.values())), told("superseded-by-files", files=files)]
        known = list(step.details) if step.status == "superseded" else []
        return answer.with_step(replace(step, status="superseded", details=tuple(known or own), broke_off=False))
    details = list(step.details)
    if [one.code for one in details if isinstance(one, Told)] == ["no-register-nor-files"]:
        details = [told("no-register-none-later")]
    if outcome.place == "not entitled":
        answer = _noted(answer, [Notice("NOT_ENTITLED", told("files-not-entitled", files=files))])
    elif outcome.place == "disputed":
        answer = _noted(answer, [Notice("NUMBER_DISPUTED", told("files-disputed", files=files))])
    elif outcome.place != "decides":
        details.append(told(f"files-{outcome.place.replace(' ', '-')}", files=files))
    return answer.with_step(replace(answer.step(_STANDING), details=tuple(details)))
