"""What the reports themselves say, followed across the archive: nonconformances, coating, instruments.

Only the latest revision of each report counts.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from reportgen.audit.problems import Problem

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

_FINDINGS = {
    "coated-without-release": "coated-while-not-released",
    "calibration-overdue": "instrument-past-calibration",
}


def conduct_problems(index: Index) -> Iterator[Problem]:
    """Yield nonconformances left open, areas coated while not released, instruments used past calibration."""
    yield from _never_closed(index)
    for code, problem in _FINDINGS.items():
        yield from _found(index, code, problem)


def _never_closed(index: Index) -> Iterator[Problem]:
    rows = index.rows(
        "SELECT reports.contract, reports.number, nonconformances.id, nonconformances.area, nonconformances.status,"
        " nonconformances.raised_in, reports.path FROM nonconformances JOIN reports USING (path) WHERE reports.latest"
        " ORDER BY reports.contract, nonconformances.id, reports.date, reports.number, reports.revision"
    )
    last: dict[tuple[str, str], tuple[str, ...]] = {}
    for contract, number, name, area, status, raised_in, path in rows:
        last[contract, name] = (number, area or "", status, raised_in, path)
    for (contract, name), (number, area, status, raised_in, path) in last.items():
        if status == "open":
            sentence = f"{name}, raised in {raised_in}, was never closed; {number} is the last to name it"
            yield Problem(contract, raised_in, "nonconformance-never-closed", area, sentence, (path,))


def _found(index: Index, code: str, problem: str) -> Iterator[Problem]:
    rows = index.rows(
        "SELECT DISTINCT reports.contract, reports.number, findings.area, findings.observed, reports.path"
        " FROM findings JOIN reports USING (path) WHERE findings.code = ? AND reports.latest"
        " ORDER BY reports.path, findings.area, findings.observed",
        code,
    )
    for contract, number, area, observed, path in rows:
        place = f", area {area}" if area else ""
        yield Problem(contract, number, problem, area or "", f"{number}{place}: {observed}", (path,))
