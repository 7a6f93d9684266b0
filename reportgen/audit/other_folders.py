"""Reports of one contract that do not hold each other: what was released or closed by one while another speaks against.

Who inspects in a folder of their own does not see what failed in another's. Each report that releases an area, or
closes a nonconformance, is judged again beside those of the contract that count, are not later, and found against the
same area or raised that nonconformance, unless it was built upon their days.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.problems import Problem
from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index
    from reportgen.issued import Undone

Together = Callable[[str, Sequence[str]], "Sequence[Undone]"]
"""Judges a report beside others, all named by their paths; ``UsageError`` where one cannot be read."""

_PAIRS = """
WITH counting AS (SELECT * FROM reports WHERE counts),
pairs AS (
    SELECT mine.path AS path, other.path AS other
    FROM counting AS mine JOIN areas ON areas.path = mine.path AND areas.decision = 'release'
    JOIN counting AS other ON other.contract = mine.contract
    JOIN areas AS theirs ON theirs.path = other.path AND theirs.area = areas.area AND theirs.decision != 'release'
    UNION
    SELECT mine.path, other.path
    FROM counting AS mine JOIN nonconformances AS closed ON closed.path = mine.path AND closed.status = 'closed'
    JOIN counting AS other ON other.contract = mine.contract AND other.number = closed.raised_in
)
SELECT mine.contract, mine.number, mine.revision, mine.path, mine.date, mine.unproven, other.path, other.unproven
FROM pairs JOIN reports AS mine ON mine.path = pairs.path JOIN reports AS other ON other.path = pairs.other
WHERE other.number != mine.number AND other.date <= mine.date
AND other.day_sha256 NOT IN (SELECT day_sha256 FROM earlier WHERE earlier.path = mine.path)
ORDER BY mine.contract, mine.date, mine.number, mine.path, other.path
"""


class Refuted(NamedTuple):
    """What a report released or closed, against another: an area, or a nonconformance, and the problem that it is."""

    path: str
    area: str
    nonconformance: str
    problem: Problem


def refuted(index: Index, together: Together) -> Iterator[Refuted]:
    """Yield what reports release or close that they would not beside the other reports of their contract."""
    rows = index.rows(_PAIRS)
    for (contract, number, revision, path), members in groupby(rows, key=lambda row: row[:4]):
        others = list(members)
        files = (path, *(row[6] for row in others))
        unproven = any(row[5] or row[7] for row in others)
        title = f"{number} revision {revision}"
        try:
            found = together(path, files[1:])
        except UsageError as fault:
            sentence = f"{title} could not be held against the reports of other folders: {fault.message}"
            yield Refuted(path, "", "", Problem(contract, number, "not-compared", "", sentence, files))
            continue
        closed = {one.area for one in found if one.nonconformance}
        for one in found:
            if one.nonconformance or not closed.intersection({one.area, ""}):
                what = f"closes {one.nonconformance}" if one.nonconformance else f"releases area {one.area}"
                sentence = f"{title} {what}; beside the reports that it was not built upon it may not: {one.why}"
                problem = Problem(contract, number, "failure-not-undone", one.area, sentence, files, unproven=unproven)
                yield Refuted(path, one.area, one.nonconformance, problem)
