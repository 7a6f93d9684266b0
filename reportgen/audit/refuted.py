"""What a report released or closed, against other reports of its contract that it was not built upon.

Who inspects in a folder of their own does not see what failed in another's; who was right upon a report does not see
what a revision of it, issued since, found instead. Each report that releases an area, or closes a nonconformance, is
judged again beside those of the contract that count, are not later days, and found against the same area, have it
primed or raised that nonconformance, unless it was built upon their days.

Limits may change by agreement on steel that nobody has judged yet. What an earlier report was judged by stays the
measure of its area and its day: steel that misses it is accepted by a decision on a nonconformance, not by other
limits, and a limit that was written wrongly is put right by a revision of the report that has it, which then no longer
counts here. So a release is judged again under the limits of such a report, where they differ. It is a fault where both
name the same document; where the specification names another one, whether that was agreed is for a person to ask.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from reportgen.audit.problems import Problem, a_revision
from reportgen.errors import UsageError
from reportgen.issued import variation, what_undone, which_of
from reportgen.names import spelt_alike
from reportgen.words.told import told, words_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.audit.index import Index
    from reportgen.issued import SlipBeside, Undone
    from reportgen.words.told import Told


class Judge(Protocol):
    """Judges a report again, all reports named by their paths; ``UsageError`` where one cannot be read."""

    def beside(self, path: str, others: Sequence[str]) -> Sequence[Undone]:
        """Return what it would not release or close beside the days of others."""

    def under(self, path: str, other: str) -> Sequence[Undone]:
        """Return what it would not release under the limits of another."""

    def slip(self, path: str, report: str) -> SlipBeside:
        """Return how a release slip stands against a report of its number."""


_PAIRS = """
WITH counting AS (SELECT * FROM reports WHERE counts),
pairs AS (
    SELECT mine.path AS path, other.path AS other
    FROM counting AS mine JOIN areas ON areas.path = mine.path AND areas.decision = 'release'
    JOIN counting AS other ON other.contract = mine.contract
    JOIN areas AS theirs ON theirs.path = other.path AND theirs.area = areas.area
        AND (theirs.decision != 'release' OR theirs.coated IS NOT NULL)
    UNION
    SELECT mine.path, other.path
    FROM counting AS mine JOIN nonconformances AS closed ON closed.path = mine.path AND closed.status = 'closed'
    JOIN counting AS other ON other.contract = mine.contract AND other.number = closed.raised_in
)
SELECT mine.contract, mine.number, mine.revision, mine.path, mine.issued_at, mine.unproven,
    other.path, other.number, other.revision, other.issued_at, other.unproven
FROM pairs JOIN reports AS mine ON mine.path = pairs.path JOIN reports AS other ON other.path = pairs.other
WHERE other.number != mine.number AND other.date <= mine.date
AND other.day_sha256 NOT IN (SELECT day_sha256 FROM earlier WHERE earlier.path = mine.path)
ORDER BY mine.contract, mine.ordered, mine.path, other.path
"""
_LIMITS = """
SELECT mine.contract, mine.number, mine.revision, mine.path, mine.document, mine.unproven OR other.unproven, other.path,
    other.number, other.revision, other.document, other.limits, areas.area
FROM reports AS mine JOIN areas ON areas.path = mine.path AND areas.decision = 'release'
JOIN reports AS other ON other.contract = mine.contract AND other.number != mine.number
    AND other.limits NOT IN ('', mine.limits) AND other.ordered < mine.ordered
WHERE mine.counts AND other.counts AND mine.limits != ''
AND (other.date = mine.date OR areas.area IN (SELECT area FROM areas AS theirs WHERE theirs.path = other.path))
AND mine.contract IN (SELECT contract FROM reports GROUP BY contract HAVING COUNT(DISTINCT limits) > 1)
ORDER BY mine.contract, mine.ordered, mine.path, other.ordered, other.path, areas.area
"""

_SLIPS = """
SELECT upon.path, area, upon.contract, doubted OR reports.unproven, reports.path, reports.contract, reports.number,
    reports.revision
FROM upon JOIN reports ON reports.number = upon.number AND reports.counts
WHERE area IS NOT NULL ORDER BY upon.path, reports.path
"""


class Refuted(NamedTuple):
    """What a report released or closed, against others: an area, or a nonconformance, and the problem that it is.

    ``by`` names the others.
    """

    path: str
    area: str
    nonconformance: str
    problem: Problem
    by: Told


def refuted(index: Index, judge: Judge) -> Iterator[Refuted]:
    """Yield what reports release or close that they would not beside other reports of their contract."""
    yield from _beside(index, judge)
    yield from _under(index, judge)
    yield from _slips(index, judge)


def _beside(index: Index, judge: Judge) -> Iterator[Refuted]:
    for (contract, number, revision, path, issued_at), members in groupby(index.rows(_PAIRS), key=lambda row: row[:5]):
        others = list(members)
        files = (path, *(row[6] for row in others))
        unproven = any(row[5] or row[10] for row in others)
        title, named = a_revision(number, revision), tuple(a_revision(row[7], row[8]) for row in others)
        by = told("open-beside", by=named)
        try:
            found = judge.beside(path, files[1:])
        except UsageError as fault:
            sentence = told("not-held-beside", what=title, by=named, why=words_of(fault))
            yield Refuted(path, "", "", Problem(contract, number, "not-compared", "", sentence, files), by)
            continue
        beside = which_of((name, row[9] > issued_at) for row, name in zip(others, named, strict=True))
        for one in found:
            sentence = told("undone-beside", what=title, does=what_undone(one), beside=beside, why=one.why)
            problem = Problem(contract, number, "failure-not-undone", one.area, sentence, files, unproven=unproven)
            yield Refuted(path, one.area, one.nonconformance, problem, by)


def _slips(index: Index, judge: Judge) -> Iterator[Refuted]:
    """Yield release slips that the report of their shift does not list and does not uphold; others it tells itself."""
    for path, area, own, unproven, report, contract, number, revision in index.rows(_SLIPS):
        if not spelt_alike(own, contract):
            continue
        its = {"number": number, "revision": revision}
        try:
            beside = judge.slip(path, report)
        except UsageError as fault:
            sentence = told("slip-not-compared", **its, why=words_of(fault))
            problem = Problem(contract, number, "not-compared", "", sentence, (path, report))
            yield Refuted(path, "", "", problem, a_revision(number, revision))
            continue
        if beside.why is not None and not beside.held:
            sentence = told("of-a-file", file=path, what=told("slip-not-upheld-there", **its, why=beside.why))
            files = (path, report)
            problem = Problem(contract, number, "slip-contradicted", area, sentence, files, unproven=bool(unproven))
            yield Refuted(path, area, "", problem, a_revision(number, revision))


def _under(index: Index, judge: Judge) -> Iterator[Refuted]:
    """Yield releases that are none under other limits: of several reports with the same ones the last is asked."""
    asked: dict[tuple[Any, ...], dict[str, tuple[Any, ...]]] = {}
    for *mine, theirs, unproven, other, its_number, its_revision, document, limits, area in index.rows(_LIMITS):
        by = a_revision(its_number, its_revision)
        asked.setdefault((*mine, limits), {})[area] = (unproven, other, by, variation(document, theirs))
    pairs = [(mine, areas, one) for mine, areas in asked.items() for one in dict.fromkeys(areas.values())]
    for (contract, number, revision, path, _), areas, asked_of in pairs:
        unproven, other, by, stated = asked_of
        title, files = a_revision(number, revision), (path, other)
        code = "released-under-varied-limits" if stated else "released-under-other-limits"
        try:
            found = judge.under(path, other)
        except UsageError as fault:
            sentence = told("not-judged-under", what=title, by=by, why=words_of(fault))
            yield Refuted(path, "", "", Problem(contract, number, "not-compared", "", sentence, files), by)
            continue
        for one in (each for each in found if areas.get(each.area) == asked_of):
            why = (*one.why, *([stated] if stated else []))
            sentence = told("undone-under", what=title, area=one.area, by=by, why=why)
            problem = Problem(contract, number, code, one.area, sentence, files, unproven=bool(unproven))
            yield Refuted(path, one.area, "", problem, told("open-by-limits", by=by))
