"""Questions an index answers later, by name. Each is one query over the tables in ``schema.sql``."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from reportgen.audit.repeatability import Answer, Row, repeatability
from reportgen.errors import UsageError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from reportgen.audit.index import Index


class Question(NamedTuple):
    """What is asked, in words and in SQL; ``:value`` is what the user gives with it, ``%`` without.

    ``made`` makes the answer of the rows where SQL alone cannot.
    """

    asks: str
    query: str
    made: Callable[[list[Row]], Answer] | None = None


QUESTIONS: Mapping[str, Question] = {
    "files": Question(
        "every file with its verdict; of one verdict with --value failed",
        "SELECT kind, contract, number, revision, sha256, path AS file, overall AS verdict, holds_until"
        " FROM files WHERE overall LIKE :value ORDER BY path",
    ),
    "problems": Question(
        "everything the last audit objected to; of one code with --value CODE",
        "SELECT weight, code, contract, number, area, sentence, (SELECT group_concat(value, ', ') FROM"
        " json_each(problems.files)) AS files, verdict, holds_until FROM problems WHERE code LIKE :value"
        " ORDER BY 3, 4, 2, 5",
    ),
    "contracts": Question(
        "each contract with its reports that count and the time they cover, by verdict",
        "SELECT contract, COUNT(*) AS reports, MIN(date) AS first, MAX(date) AS last,"
        " SUM(verdict = 'conforms') AS conforming, overall AS verdict, MIN(holds_until) AS holds_until"
        " FROM reports WHERE counts AND contract LIKE :value GROUP BY contract, overall ORDER BY 1, 6 DESC",
    ),
    "areas": Question(
        "each area as it stands, who decides and what does not count; of one contract with --value CONTRACT",
        "SELECT states.contract, structure, states.area, date || ' ' || number AS last_report, states.decision,"
        " IIF(states.decision = 'release', part, '') AS part, mean,"
        " unit, coated, contested, open AS held_by, path AS file, overall AS verdict, holds_until"
        " FROM states JOIN reports USING (path) JOIN areas USING (path, area)"
        " WHERE states.contract LIKE :value ORDER BY 1, 2, 3",
    ),
    "open": Question(
        "nonconformances left open by the last report to name them; what was released or closed against another report",
        "SELECT contract, number, area, sentence, json_extract(files, '$[0]') AS file, verdict, holds_until"
        " FROM problems WHERE code IN ('nonconformance-never-closed', 'closing-not-entitled', 'failure-not-undone',"
        " 'release-not-entitled', 'released-under-other-limits') AND contract LIKE :value ORDER BY 1, 2, 3",
    ),
    "signers": Question(
        "who signed how many files, by certificate and verdict",
        "SELECT json_extract(one.value, '$.subject') AS signer,"
        " json_extract(one.value, '$.fingerprint') AS certificate,"
        " COUNT(*) AS files, MIN(json_extract(one.value, '$.claimed_time')) AS first,"
        " MAX(json_extract(one.value, '$.claimed_time')) AS last, overall AS verdict,"
        " MIN(holds_until) AS holds_until FROM files, json_each(files.signers) AS one WHERE signer LIKE :value"
        " GROUP BY 1, 2, 6 ORDER BY 3 DESC, 1, 6",
    ),
    "gauges": Question(
        "which gauge gave how many readings in which contracts, by verdict",
        "SELECT gauge, contract, COUNT(DISTINCT path) AS reports,"
        " SUM(LENGTH(counted) - LENGTH(REPLACE(counted, ' ', '')) + (counted != '')) AS readings, MIN(date) AS first,"
        " MAX(date) AS last, overall AS verdict, MIN(holds_until) AS holds_until"
        " FROM reading_sets JOIN reports USING (path)"
        " WHERE gauge LIKE :value"
        " GROUP BY 1, 2, 7 ORDER BY 1, 2, 7 DESC",
    ),
    "repeatability": Question(
        "how far spots scatter, by gauge and inspector, and the value to state; of one contract with --value CONTRACT",
        "SELECT contract, gauge, inspector, unit, number, date, dof, variance, step, overall AS verdict, holds_until"
        " FROM (SELECT *, ROW_NUMBER() OVER"
        " (PARTITION BY contract, overall, IIF(location = '', scatter.rowid, location)"
        " ORDER BY ordered DESC, path DESC) AS back FROM (SELECT rowid, * FROM scatter) AS scatter"
        " JOIN (SELECT * FROM reports WHERE counts) AS reports USING (path))"
        " WHERE back = 1 AND contract LIKE :value ORDER BY 1, 10 DESC, 2, 3, 6, 5",
        repeatability,
    ),
    "history": Question(
        "every revision of a number, and whether it counts; --value NUMBER",
        "SELECT contract, number, revision, date, issued_at, reports.verdict AS result, place, supersedes_reason,"
        " path AS file, overall AS verdict, holds_until FROM reports WHERE number LIKE :value ORDER BY 1, 2, 3, 9",
    ),
}
"""Every question there is. Each row of an answer ends with the verdict on its file, or on all files it counts, and
with the moment until which that holds: of several files the first."""


def ask(index: Index, name: str, value: str | None = None) -> Answer:
    """Return the columns and rows that answer the question called ``name``, and what is said below them.

    Raises:
        UsageError: when there is no such question.
    """
    if name not in QUESTIONS:
        raise UsageError(
            f"there is no question `{name}`", help_text=f"ask one of {', '.join(f'`{one}`' for one in QUESTIONS)}"
        )
    question = QUESTIONS[name]
    heads, rows = index.named(question.query, {"value": value or "%"})
    return Answer(heads, rows) if question.made is None else question.made(rows)
