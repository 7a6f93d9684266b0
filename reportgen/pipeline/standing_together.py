"""Files that are verified together, at hand for each other: which of them replaces which, and which contradict."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.issued import filed, outcomes, shown_name
from reportgen.names import spelling
from reportgen.words.told import Told, told

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Examined, Filed, Outcome
    from reportgen.verification import Verification

_STANDING = 12


def beside_each_other(found: Mapping[Path, Examined]) -> dict[Path, Verification]:
    """Return the answers on reports of one number that were given together, each with what the others say of it.

    Only a file that is proven no worse, and signed by one who may, supersedes another; one that failed says nothing.
    """
    answers: dict[Path, Verification] = {}
    for reports in _by_number(found) if len(found) > 1 else ():
        copies = list(reports.values())
        claims = [_best(list(each.values())) for each in copies]
        for each, outcome in zip(copies, outcomes(claims), strict=True):
            beside = {file: claims[number].revision for number in outcome.beside for file in copies[number]}
            answers |= {path: _beside(found[path].verification, outcome, beside) for path in each}
    return answers


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
