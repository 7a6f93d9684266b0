"""Reports of one contract whose project files differ: in limits and rules, areas, people, owner or inspection body.

Agreed changes happen on real contracts, and who may agree to them is not in the files: it is a doubt, which says what
differs and from when; areas and people that were added are none. Owner and inspection body of one contract number are
one; two are a fault.
"""

from __future__ import annotations

from itertools import groupby
from typing import TYPE_CHECKING

from reportgen.audit.problems import Problem
from reportgen.issued import NOT_STATED, Judged, RequirementRecord, changes

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.audit.index import Index

_REPORTS = """
SELECT contract, number, revision, date, unproven, requirements, path FROM reports
WHERE requirements != '' AND place IN ('decides', 'disputed', 'superseded') AND contract IN
    (SELECT contract FROM reports GROUP BY contract HAVING COUNT(DISTINCT requirements) > 1)
ORDER BY contract, date, number, revision, path
"""


def requirement_problems(index: Index) -> Iterator[Problem]:
    """Yield each version of the requirements of a contract that is not that of the report before."""

    def read(version: str) -> list[RequirementRecord]:
        rows = index.rows("SELECT part, member, value FROM requirements WHERE version = ?", version)
        return [RequirementRecord(*row) for row in rows]

    for contract, members in groupby(index.rows(_REPORTS), key=lambda row: row[0]):
        if contract.startswith(f"{NOT_STATED} ("):
            continue
        reports = {
            path: (number, Judged(f"{number} revision {revision}", date, bool(unproven), version, path))
            for _, number, revision, date, unproven, version, path in members
        }
        for one in changes((report for _, report in reports.values()), read):
            number, files = reports[one.after.file][0], (one.after.file, one.before.file)
            code = "contract-not-one" if one.difference.whose else "requirements-differ"
            yield Problem(contract, number, code, "", one.sentence, files, unproven=one.after.unproven)
