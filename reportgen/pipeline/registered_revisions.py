"""Revisions that a register has, by who signed them: one by whom the report revised does not name replaces nothing.

A register records what was issued in its folder; whether the signer may revise, the reports that lie there say.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from reportgen.issued import filed, outcomes, shown_name
from reportgen.pipeline.as_issued import Folder
from reportgen.verification import Notice
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Examined, Filed
    from reportgen.verification import Verification
    from reportgen.words.told import Told

_STANDING = 12


def beside_registered(
    answers: Mapping[Path, Verification],
    found: Mapping[Path, Examined],
    examine: Callable[[Path], Examined],
    register: Path,
) -> dict[Path, Verification]:
    """Return the answers on reports of which a register has other revisions, with step 12 by who may revise what.

    ``examine`` is for those revisions that lie in the folder of the register as they were issued.
    """
    folder, lying = Folder(register), dict(found)
    told_of = {}
    for path, one in found.items():
        record = one.record
        if record is None or one.verification.overall == "failed":
            continue
        others = {
            revision: folder.path / report.file
            for (number, revision), report in folder.issued.items()
            if number == record.number and revision != record.revision and folder.signed(report) is not None
        }
        lying |= {each: examine(each) for each in others.values() if each not in lying}
        registered = {revision: lying[each] for revision, each in others.items()}
        known = [revision for number, revision in folder.issued if number == record.number]
        claims = {revision: _claim(each) for revision, each in registered.items()}
        beside = {revision: claim for revision, claim in claims.items() if claim is not None}
        files = {revision: shown_name(others[revision]) for revision in beside}
        told_of[path] = _placed(answers[path], filed(one.verification, record), beside, files, known)
    return told_of


def _claim(one: Examined) -> Filed | None:
    failed = one.record is None or one.verification.overall == "failed"
    return None if failed or one.record is None else filed(one.verification, one.record)


def _placed(
    answer: Verification, own: Filed, beside: Mapping[int, Filed], files: Mapping[int, str], known: Sequence[int]
) -> Verification:
    """Return an answer with step 12 by the other revisions at hand, of those ``known`` to the register."""
    placed = outcomes([own, *beside.values()])
    revisions = [own.revision, *beside]
    barred = [revisions[number] for number, one in enumerate(placed) if one.place == "not entitled" and 0 in one.beside]
    step = next(one for one in answer.steps if one.number == _STANDING)
    if placed[0].place == "not entitled":
        of = tuple(files[revisions[number]] for number in placed[0].beside)
        answer = answer.with_step(replace(step, status="not done", details=()))
        return _noted(answer, told("files-not-entitled", files=of))
    later = [revision for revision in known if revision > own.revision]
    if not barred:
        return answer
    answer = _noted(answer, told("revised-by-another", files=tuple(files[one] for one in barred)))
    step = next(one for one in answer.steps if one.number == _STANDING)
    valid = [revision for revision in later if revision not in barred]
    if step.status != "superseded" or not {*barred} & {*later}:
        return answer
    if valid:
        return answer.with_step(replace(step, details=(told("superseded-by-revision", revision=max(valid)),)))
    return answer.with_step(replace(step, status="passed", details=(told("current"),)))


def _noted(answer: Verification, sentence: Told) -> Verification:
    """Return an answer with a notice on who may not revise, unless the files given with it said so already."""
    step = next(one for one in answer.steps if one.number == _STANDING)
    if any(getattr(one.sentence, "code", "") == sentence.code for one in step.notices):
        return answer
    return answer.with_step(replace(step, notices=(*step.notices, Notice("NOT_ENTITLED", sentence))))
