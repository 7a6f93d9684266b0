"""What the project files of an archive say otherwise of areas that were inspected by them, contract by contract."""

from __future__ import annotations

from functools import lru_cache
from itertools import groupby
from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.problems import Problem, a_revision
from reportgen.issued import (
    LIMITS,
    NOT_STATED,
    Listing,
    PlannedAreaRecord,
    in_sequence,
    listed_otherwise,
    not_covered,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index
    from reportgen.words.told import Told

    _Listed = dict[str, PlannedAreaRecord]

_REPORTS = """
SELECT reports.contract, reports.number, reports.revision, path, counts, project, requirements, row, issued_at, date
FROM reports LEFT JOIN upon USING (path)
WHERE NOT unproven AND requirements != '' AND project != '' AND place IN ('decides', 'disputed', 'superseded')
    AND reports.contract IN (SELECT contract FROM reports GROUP BY contract HAVING COUNT(DISTINCT project) > 1)
ORDER BY reports.contract, issued_at, date, reports.number, reports.revision, path
"""
_FOUND = """
SELECT area, decision, part != '' FROM areas WHERE path = ? AND (verdict != 'not evaluated' OR n_locations > 0)
"""
_NOTED = "SELECT area, id, status FROM nonconformances WHERE path = ? AND area IS NOT NULL"
_LISTED = """
SELECT area, name, structure, structure_name, size, unit FROM planned_areas WHERE project = ? ORDER BY area
"""
_LIMITS = "SELECT member, value FROM requirements WHERE version = ? AND part = ?"


class ListedSince(NamedTuple):
    """What is in doubt about areas by the lists of their contract, and why releases do not cover what failed."""

    problems: tuple[Problem, ...]
    not_covered: dict[tuple[str, str], Told]


def listed_since(index: Index) -> ListedSince:
    """Return what the project files of each contract say otherwise than those before, in the order of their issue."""
    problems: list[Problem] = []
    why: dict[tuple[str, str], Told] = {}
    for contract, reports in listings_of(index):
        for one in listed_otherwise(reports):
            files = (one.after.file, one.before.file)
            problems.append(Problem(contract, one.after.number, one.code, one.area, one.sentence, files))
        why |= {(contract, area): told for area, told in not_covered(reports).items()}
    return ListedSince(tuple(problems), why)


def listings_of(index: Index) -> Iterator[tuple[str, list[Listing]]]:
    """Yield each contract with more than one project file, with its reports in the order of their issue."""

    @lru_cache(maxsize=64)
    def listed(project: str) -> dict[str, PlannedAreaRecord]:
        return {row[0]: PlannedAreaRecord(*row) for row in index.rows(_LISTED, project)}

    @lru_cache(maxsize=64)
    def limits(version: str) -> dict[str, str]:
        return dict(index.rows(_LIMITS, version, LIMITS))

    for contract, members in groupby(index.rows(_REPORTS), key=lambda row: row[0]):
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        ordered = in_sequence(members, lambda one: one[7], lambda one: one[8:])
        yield contract, [_listing(index, *row[1:5], listed=listed(row[5]), limits=limits(row[6])) for row in ordered]


def _listing(
    index: Index,
    number: str,
    revision: int,
    path: str,
    counts: int,
    *,
    listed: dict[str, PlannedAreaRecord],
    limits: dict[str, str],
) -> Listing:
    """Return a report as far as its list is compared with those of others."""
    found = index.rows(_FOUND, path)
    return Listing(
        a_revision(number, revision), path, number, not counts,
        {area: decision for area, decision, _ in found}, listed, limits,
        {row[:2]: row[2] for row in index.rows(_NOTED, path)}, frozenset(area for area, _, part in found if part),
    )  # fmt: skip
