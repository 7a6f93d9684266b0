"""Questions about files, contracts and people, and about what an audit found across them."""

# ruff: noqa: S608 - the parts of the queries are our own
from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.audit.asked import ENDS, ENDS_OF_SEVERAL, OF_REPORTS, Question, area_of, like

if TYPE_CHECKING:
    from collections.abc import Mapping

_OF_FILES: Final = {
    "contract": "files.contract = :contract COLLATE NOCASE",
    "number": "files.number = :number COLLATE NOCASE",
    "standing": "files.standing = :standing",
}
_ENDS_OF_FILES: Final = (
    " files.holds_until, files.number, files.revision, files.path AS file, files.standing, files.overall AS verdict"
)
_WORST: Final = "CASE {} WHEN 'failed' THEN 0 WHEN 'doubtful' THEN 1 WHEN 'open' THEN 2 ELSE 3 END"
_ENDS_OF_A_PROBLEM: Final = (
    " problems.holds_until, problems.number, NULL AS revision,"
    " (SELECT group_concat(value, ', ') FROM json_each(problems.files)) AS file,"
    " (SELECT standing FROM json_each(problems.files) AS one JOIN files ON files.path = one.value"
    f" ORDER BY {_WORST.format('standing')} LIMIT 1) AS standing, problems.verdict"
)
_OF_PROBLEMS: Final = {
    "contract": "problems.contract = :contract COLLATE NOCASE",
    "number": "problems.number = :number COLLATE NOCASE",
    **area_of("problems"),
    **like("problems.code"),
}
_SIGNED: Final = "FROM files, json_each(files.signers) AS one"

OF_FILES: Mapping[str, Question] = {
    "files": Question(
        "every file with what it is and how it stands",
        f"SELECT kind, contract, sha256, size, inside, verified_at,{_ENDS_OF_FILES} FROM files WHERE {{where}}"
        " ORDER BY path",
        {**_OF_FILES, **like("files.overall")},
    ),
    "papers": Question(
        "files that are neither reports nor submittals, and what makes one doubtful",
        f"SELECT title, beginning, IIF(ours, 'yes', NULL) AS says_it_is_ours, names,"
        f" NULLIF(releases, '') AS releases,{_ENDS_OF_FILES}"
        " FROM papers JOIN files USING (path) WHERE {where} ORDER BY path",
        {"standing": _OF_FILES["standing"]},
    ),
    "submittals": Question(
        "each submittal with how many reports it encloses, and how many of these are nowhere else",
        "SELECT files.sha256, size, (SELECT COUNT(*) FROM enclosed WHERE enclosed.path = files.path) AS reports,"
        " (SELECT COUNT(*) FROM enclosed WHERE enclosed.path = files.path AND NOT EXISTS (SELECT 1 FROM files AS other"
        f" WHERE other.sha256 = enclosed.sha256 AND other.file != files.file)) AS only_here,{_ENDS_OF_FILES}"
        " FROM files WHERE kind = 'submittal' AND {where} ORDER BY path",
        {"standing": _OF_FILES["standing"]},
    ),
    "history": Question(
        "every revision of a number, and whether it counts",
        "SELECT contract, date, issued_at, reports.verdict AS result, place, supersedes_reason,"
        f"{ENDS} FROM reports WHERE {{where}} ORDER BY 1, reports.number, reports.revision, reports.path",
        {**OF_REPORTS, **like("reports.number")},
    ),
    "contracts": Question(
        "each contract: its reports that count, areas done of those listed, numbers issued and here",
        "SELECT reports.contract, MAX(projects.name) AS name, COUNT(DISTINCT reports.path) AS reports,"
        " MIN(date) AS first, MAX(date) AS last, SUM(reports.verdict = 'conforms') AS conforming,"
        " (SELECT COUNT(*) FROM areas_now WHERE areas_now.contract = reports.contract AND word != 'no longer listed')"
        " AS areas_listed, (SELECT COUNT(*) FROM areas_now WHERE areas_now.contract = reports.contract"
        " AND word IN ('released', 'coated')) AS areas_done, numbers.issued, numbers.here,"
        f"{ENDS_OF_SEVERAL} FROM reports LEFT JOIN projects ON projects.sha256 = reports.project"
        " LEFT JOIN (SELECT contract, SUM(issued) AS issued, SUM(here) AS here FROM numbers_now GROUP BY 1) AS numbers"
        " ON numbers.contract = reports.contract WHERE counts AND {where}"
        " GROUP BY reports.contract, reports.standing, reports.overall ORDER BY 1, reports.overall DESC",
        {**OF_REPORTS, **like("reports.contract")},
    ),
    "numbers": Question(
        "of each sequence of numbers how many reports were issued by its newest one, how many are here, which lack or"
        " failed",
        "SELECT numbers_now.contract, numbers_now.pattern, newest, numbers_now.by AS issued_by, issued, here,"
        " json_array_length(missing) AS lacking, (SELECT group_concat(value, ', ') FROM json_each(missing)) AS missing,"
        " (SELECT group_concat(number || ' (' || path || ')', ', ') FROM files WHERE files.contract ="
        " numbers_now.contract AND files.overall = 'failed') AS failed, further,"
        f"{ENDS} FROM numbers_now LEFT JOIN reports ON reports.path = (SELECT path FROM reports AS last"
        " WHERE last.contract = numbers_now.contract AND last.number = newest"
        " ORDER BY last.revision DESC, path LIMIT 1)"
        " WHERE {where} ORDER BY 1, 2",
        {"contract": "numbers_now.contract = :contract COLLATE NOCASE"},
    ),
    "people": Question(
        "who inspected, and by which certificate each signed",
        "SELECT reports.contract, reports.inspector, reports.signer, reports.certificate,"
        " COUNT(DISTINCT reports.path) AS reports, MIN(date) AS first, MAX(date) AS last,"
        f"{ENDS_OF_SEVERAL} FROM reports WHERE {{where}}"
        " GROUP BY 1, 2, 3, 4, reports.standing, reports.overall ORDER BY 1, 2, 4",
        OF_REPORTS,
    ),
    "signers": Question(
        "who signed how many files, by certificate",
        "SELECT json_extract(one.value, '$.subject') AS signer,"
        " json_extract(one.value, '$.fingerprint') AS certificate,"
        " COUNT(*) AS files, MIN(json_extract(one.value, '$.claimed_time')) AS first,"
        " MAX(json_extract(one.value, '$.claimed_time')) AS last, MIN(files.holds_until) AS holds_until,"
        " IIF(COUNT(*) = 1, MIN(files.number), NULL) AS number,"
        " IIF(COUNT(*) = 1, MIN(files.revision), NULL) AS revision,"
        " IIF(COUNT(*) = 1, MIN(files.path), COUNT(*) || ' files') AS file, files.standing, files.overall AS verdict"
        f" {_SIGNED} WHERE {{where}} GROUP BY 1, 2, files.standing, files.overall ORDER BY 3 DESC, 1, files.overall",
        {**_OF_FILES, **like("json_extract(one.value, '$.subject')")},
    ),
    "problems": Question(
        "everything the last audit objected to",
        "SELECT weight, code, problems.contract, area, told AS sentence, tests, expected, effect, interval,"
        f"{_ENDS_OF_A_PROBLEM} FROM problems WHERE {{where}} ORDER BY 3, problems.number, 2, 4",
        _OF_PROBLEMS,
    ),
    "alike": Question(
        "pairs of surfaces whose readings agree so that fewer than one such pair is due to chance, the likest first",
        "SELECT reports.contract, alike.area, other.contract AS other_contract, other.number AS other_number,"
        " alike.other_area, how, agreeing, alike.of AS out_of, tests, expected,"
        f"{ENDS} FROM alike JOIN reports ON reports.path = alike.path JOIN reports AS other ON"
        " other.path = alike.other_path WHERE {where} ORDER BY CAST(expected AS REAL), reports.number, 2",
        {**OF_REPORTS, **area_of("alike"), **like("reports.contract")},
    ),
    "screens": Question(
        "what each screen looked at, how many findings chance gives in that, and what it could not have seen",
        "SELECT contract, name AS screen, tests, level, expected, found, unseen, NULL AS holds_until, NULL AS number,"
        " NULL AS revision, NULL AS file, NULL AS standing, NULL AS verdict FROM screens WHERE {where} ORDER BY 1, 2",
        {"contract": "screens.contract = :contract COLLATE NOCASE"},
    ),
}
