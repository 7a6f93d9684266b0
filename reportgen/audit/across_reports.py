"""What the reports themselves say, followed across the archive: areas, nonconformances, coating, instruments.

Only reports that count are heard, and a later one overrides what is proven no better than itself.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple

from reportgen.audit.places import standing_from
from reportgen.audit.problems import Problem
from reportgen.issued import Said, last_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

_FINDINGS = {
    "coated-without-release": "coated-while-not-released",
    "calibration-overdue": "instrument-past-calibration",
}
_STANDING = "reports.date, reports.number, reports.path, reports.overall, reports.unproven, doubts, certificate, signer"


class _Word(NamedTuple):
    """What a report says of an area or a nonconformance: a decision or a status, and where it was raised."""

    number: str
    path: str
    overall: str
    unproven: bool
    word: str
    area: str = ""
    raised_in: str = ""


class State(NamedTuple):
    """An area as it stands: its decision, or ``disputed``; the report that decides, or the last that contradicts."""

    contract: str
    area: str
    decision: str
    path: str


def conduct_problems(index: Index) -> Iterator[Problem]:
    """Yield nonconformances left open, areas coated while not released, instruments used past calibration."""
    yield from _never_closed(index)
    for code, problem in _FINDINGS.items():
        yield from _found(index, code, problem)


def area_states(index: Index) -> Iterator[tuple[State, list[Problem]]]:
    """Yield each area as it stands, with what later but less proven reports say otherwise."""
    rows = index.each(
        f"SELECT contract, area, {_STANDING}, decision FROM areas JOIN reports USING (path)"  # noqa: S608 - our own words
        " WHERE counts ORDER BY contract, area, date, reports.number, revision, path"
    )
    for (contract, area), members in groupby(rows, key=_first_two):
        stands, less = last_words([_said(row[2:10], _word(row[2:10], row[10], area)) for row in members])
        decisions = dict.fromkeys(one.what.word for one in stands)
        last = stands[-1].what
        decision = last.word if len(decisions) == 1 else "disputed"
        yield (
            State(contract, area, decision, last.path),
            [_less_proven(contract, one.what, last, f"area {area}") for one in less if one.what.word not in decisions],
        )


def _never_closed(index: Index) -> Iterator[Problem]:
    rows = index.each(
        f"SELECT contract, id, {_STANDING}, nonconformances.status, area, raised_in FROM nonconformances"  # noqa: S608 - our own words
        " JOIN reports USING (path) WHERE counts ORDER BY contract, id, area, date, reports.number, revision, path"
    )  # a number used for two areas is two nonconformances: neither closes the other
    for (contract, name, _), members in groupby(rows, key=lambda row: (*row[:2], row[11])):
        stands, less = last_words([_said(row[2:10], _word(row[2:10], *row[10:])) for row in members])
        left_open = [one.what for one in stands if one.what.word == "open"]
        last = (left_open or [stands[-1].what])[-1]
        if left_open:
            sentence = f"{name}, raised in {last.raised_in}, was never closed; {last.number} is the last to name it"
            yield Problem(
                contract, last.raised_in, "nonconformance-never-closed", last.area, sentence, (last.path,),
                unproven=last.unproven,
            )  # fmt: skip
        for one in less:
            if one.what.word != last.word:
                yield _less_proven(contract, one.what, last, name)


def _first_two(row: tuple[Any, ...]) -> tuple[Any, ...]:
    return row[:2]


def _said(row: tuple[Any, ...], word: _Word) -> Said[_Word]:
    date, number, _, _, _, doubts, certificate, signer = row
    return Said((date, number), standing_from(doubts, certificate, signer), word)


def _word(row: tuple[Any, ...], word: str, area: str | None, raised_in: str = "") -> _Word:
    _, number, path, overall, unproven, *_ = row
    return _Word(number, path, overall, bool(unproven), word, area or "", raised_in)


def _less_proven(contract: str, less: _Word, last: _Word, what: str) -> Problem:
    sentence = (
        f"{less.path}, which is {less.overall}, says `{less.word}` of {what}; {last.path} is better proven and decides:"
        f" `{last.word}`"
    )
    return Problem(contract, less.number, "claim-less-proven", less.area, sentence, (less.path, last.path))


def _found(index: Index, code: str, problem: str) -> Iterator[Problem]:
    rows = index.rows(
        "SELECT DISTINCT reports.contract, reports.number, findings.area, findings.observed, reports.path, unproven"
        " FROM findings JOIN reports USING (path) WHERE findings.code = ? AND counts"
        " ORDER BY reports.path, findings.area, findings.observed",
        code,
    )
    for contract, number, area, observed, path, unproven in rows:
        place = f", area {area}" if area else ""
        sentence = f"{number}{place}: {observed}"
        yield Problem(contract, number, problem, area or "", sentence, (path,), unproven=bool(unproven))
