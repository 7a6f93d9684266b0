"""Files that are verified together, at hand for each other: which replaces which, which contradict, which forked."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.issued import filed, outcomes, shown_name, standing_of
from reportgen.names import spelling
from reportgen.verification import Notice
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Examined, Filed, Outcome
    from reportgen.verification import Verification

_STANDING = 12


def beside_each_other(found: Mapping[Path, Examined]) -> dict[Path, Verification]:
    """Return the answers on files that were given together and say something of each other, with what that is.

    Only a file that is proven no worse, and signed by one who may, supersedes another; one that failed says nothing.
    """
    answers: dict[Path, Verification] = {}
    for reports in _by_number(found) if len(found) > 1 else ():
        copies = list(reports.values())
        claims = [_best(list(each.values())) for each in copies]
        for each, outcome in zip(copies, outcomes(claims), strict=True):
            beside = {file: claims[number].revision for number in outcome.beside for file in copies[number]}
            answers |= {path: _beside(found[path].verification, outcome, beside) for path in each}
    forked = _forked(found)
    return answers | {path: _noted(answers.get(path, found[path].verification), forked[path]) for path in forked}


def _noted(answer: Verification, notices: Sequence[Notice]) -> Verification:
    """Return an answer with further notices in step 12."""
    step = next(step for step in answer.steps if step.number == _STANDING)
    return answer.with_step(replace(step, notices=(*step.notices, *notices)))


def _forked(found: Mapping[Path, Examined]) -> dict[Path, list[Notice]]:
    """Return for each file what others show of the register that it was issued upon, where it went on in two copies.

    None that is proven less speaks of another, and none that failed.
    """
    from reportgen.register import forks

    upon = [(path, one.upon) for path, one in found.items() if one.upon and one.verification.overall != "failed"]
    standing = {path: standing_of(found[path].verification) for path, _ in upon}
    told_of: dict[Path, list[Notice]] = {}
    for path, mine in upon:
        heard = [one for other, one in upon if standing[other].at_least(standing[path])]
        for fork in forks([one for one in heard if one.upon == mine.upon]):
            notice = Notice("REGISTER_FORKED", told("register-forked-beside", why=fork.sentence))
            told_of.setdefault(path, []).append(notice)
    return told_of


def _by_number(found: Mapping[Path, Examined]) -> list[dict[str, dict[Path, Filed]]]:
    """Return for each number of a contract its reports, of each the copies as each signature left them."""
    numbers: dict[tuple[str, str], dict[str, dict[Path, Filed]]] = {}
    for path, one in found.items():
        if one.record is not None and one.verification.overall != "failed":
            claim = filed(one.verification, one.record)
            number = (spelling(one.record.contract) or one.record.contract, one.record.number)
            numbers.setdefault(number, {}).setdefault(claim.hashes[0], {})[path] = claim
    return list(numbers.values())


def _best(copies: Sequence[Filed]) -> Filed:
    """Return the best proven of the copies of one report, under the hashes of all."""
    hashes = dict.fromkeys(digest for one in copies for digest in one.hashes)
    best = copies[0]
    for one in copies[1:]:
        best = one if one.standing.better(best.standing) else best
    return replace(best, hashes=tuple(hashes))


def _beside(answer: Verification, outcome: Outcome, beside: Mapping[Path, int]) -> Verification:
    """Return an answer with what became of its file beside the others, in step 12."""
    step = next(step for step in answer.steps if step.number == _STANDING)
    files = tuple(shown_name(path) for path in beside)
    if outcome.place == "superseded":
        own = [told("superseded-by-revision", revision=max(beside.values())), told("superseded-by-files", files=files)]
        known = list(step.details) if step.status == "superseded" else []
        return answer.with_step(replace(step, status="superseded", details=tuple(known or own), broke_off=False))
    details = list(step.details)
    if [one.code for one in details if isinstance(one, Told)] == ["no-register-nor-files"]:
        details = [told("no-register-none-later")]
    if outcome.place != "decides":
        details.append(told(f"files-{outcome.place.replace(' ', '-')}", files=files))
    return answer.with_step(replace(step, details=tuple(details)))
