"""Revisions that a register has, by who signed them: one by whom the report revised does not name replaces nothing.

A register records what was issued in its folder; whether the signer may revise, the reports that lie there say.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from reportgen.issued import filed, outcomes, shown_name
from reportgen.pipeline.as_issued import Folder
from reportgen.verification import Notice
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence
    from pathlib import Path

    from reportgen.issued import Examined, Filed, ReportRecord
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
        own = _claim(one)
        if one.record is None or own is None:
            continue
        known = [revision for number, revision in folder.issued if number == one.record.number]
        others = _others(folder, one.record)
        lying |= {each: examine(each) for each in others if each not in lying}
        beside = list(_proven_enough({each: lying[each] for each in others}))
        told_of[path] = _placed(answers[path], own, beside, [revision for revision in known if revision > own.revision])
    return told_of


def barred_by(own: Filed, others: Sequence[Filed]) -> Iterator[str]:
    """Yield the hashes of each of ``others`` that claims to revise a report, and is signed by one who may not."""
    for one, outcome in zip(others, outcomes([own, *others])[1:], strict=True):
        if outcome.place == "not entitled" and 0 in outcome.beside:
            yield from one.hashes


class _Beside(NamedTuple):
    """Another revision that lies in the folder of the register, by its file."""

    file: str
    filed: Filed


def _proven_enough(found: Mapping[Path, Examined]) -> Iterator[_Beside]:
    """Yield what did not fail."""
    for file, one in found.items():
        claim = _claim(one)
        if claim is not None:
            yield _Beside(shown_name(file), claim)


def _others(folder: Folder, record: ReportRecord) -> list[Path]:
    """Return the other revisions of a report that lie in the folder of the register as they were issued."""
    return [
        folder.path / report.file
        for (number, revision), report in folder.issued.items()
        if number == record.number and revision != record.revision and folder.signed(report) is not None
    ]


def _claim(one: Examined) -> Filed | None:
    if one.record is None or one.verification.overall == "failed":
        return None
    return filed(one.verification, one.record)


def _placed(answer: Verification, own: Filed, beside: Sequence[_Beside], later: Sequence[int]) -> Verification:
    """Return an answer with step 12 by the other revisions at hand; the register has ``later`` ones."""
    mine = outcomes([own, *(one.filed for one in beside)])[0]
    if mine.place == "not entitled":
        files = tuple(beside[number - 1].file for number in mine.beside)
        answer = answer.with_step(replace(answer.step(_STANDING), status="not done", details=()))
        return _noted(answer, told("files-not-entitled", files=files))
    hashes = {*barred_by(own, [one.filed for one in beside])}
    barred = {one.filed.revision: one.file for one in beside if not hashes.isdisjoint(one.filed.hashes)}
    if not barred:
        return answer
    answer = _noted(answer, told("revised-by-another", files=tuple(barred.values())))
    valid = [revision for revision in later if revision not in barred]
    if answer.step(_STANDING).status != "superseded" or len(valid) == len(later):
        return answer
    if valid:
        details = (told("superseded-by-revision", revision=max(valid)),)
        return answer.with_step(replace(answer.step(_STANDING), details=details))
    return answer.with_step(replace(answer.step(_STANDING), status="passed", details=(told("current"),)))


def _noted(answer: Verification, sentence: Told) -> Verification:
    """Return an answer with a notice on who may not revise, unless the files given with it said so already."""
    step = answer.step(_STANDING)
    if any(getattr(one.sentence, "code", "") == sentence.code for one in step.notices):
        return answer
    return answer.with_step(replace(step, notices=(*step.notices, Notice("NOT_ENTITLED", sentence))))
