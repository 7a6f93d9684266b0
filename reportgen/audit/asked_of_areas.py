"""Questions about areas, and about the gauges, limits and abrasives that their verdicts rest on."""

# ruff: noqa: S608 - the parts of the queries are our own
from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.audit.asked import ENDS, ENDS_OF_SEVERAL, OF_REPORTS, Question, area_of, gauge_of, like, told_in_sql
from reportgen.audit.repeatability import repeatability

if TYPE_CHECKING:
    from collections.abc import Mapping

_LEAST: Final = "json_object('number', projects.minimum)"
_MOST: Final = "json_object('number', projects.maximum)"
_UNIT: Final = "replace(projects.unit, 'um', 'µm')"
_LIMITS: Final = (
    "CASE WHEN projects.minimum IS NULL AND projects.maximum IS NULL THEN NULL"
    f" WHEN projects.maximum IS NULL THEN {told_in_sql('limit-least', least=_LEAST, unit=_UNIT)}"
    f" WHEN projects.minimum IS NULL THEN {told_in_sql('limit-most', most=_MOST, unit=_UNIT)}"
    f" ELSE {told_in_sql('limit-between', least=_LEAST, most=_MOST, unit=_UNIT)} END AS limits"
)
_OF_AN_AREA: Final = "FROM {} AS own WHERE own.path = areas.path AND own.area = areas.area"
_GAUGES: Final = f"(SELECT group_concat(DISTINCT gauge) {_OF_AN_AREA.format('surfaces')}) AS gauge"
_ABRASIVES: Final = f"(SELECT group_concat(DISTINCT abrasive) {_OF_AN_AREA.format('surfaces')}) AS abrasive"
_VALUED: Final = (
    f"(SELECT COUNT(*) {_OF_AN_AREA.format('locations')} AND own.profile IS NOT NULL AND own.walk_out IS NULL)"
)
"""Of how many locations the mean, the least and the greatest value are."""
_CODE: Final = told_in_sql("finding-named", code="code")
_CODES: Final = told_in_sql("names-told", names=f"json_group_array({_CODE})")
_REASONS: Final = (
    f"(SELECT IIF(COUNT(*), {_CODES}, NULL)"
    f" FROM (SELECT DISTINCT code {_OF_AN_AREA.format('findings')} AND severity != 'note')) AS reasons"
)
_FOUND: Final = told_in_sql("code-and-finding", code="code", what="json(observed)")
_ALL_FOUND: Final = told_in_sql("findings-told", what=f"json_group_array({_FOUND})")
_WHY: Final = f"(SELECT IIF(COUNT(*), {_ALL_FOUND}, NULL) {_OF_AN_AREA.format('findings')} AND severity != 'note')"
_GONE_AS: Final = told_in_sql(
    "area-because",
    word="json_object('code', 'word-' || states.decision, 'facts', json_object())",
    why=f"json(COALESCE({_WHY}, NULLIF(states.contested, ''), '[]'))",
)
_ONE: Final = "IIF(now.word = 'disputed', NULL, {})"
"""What files dispute is not told as one of them has it."""
_NOW: Final = (
    "(SELECT contract, area, name, structure, size, unit, word FROM areas_now UNION ALL SELECT contract, area, '', '',"
    " '', '', decision FROM states WHERE NOT EXISTS (SELECT 1 FROM areas_now AS known WHERE known.contract ="
    " states.contract AND known.area = states.area)) AS now"
)
_OF_CODES: Final = "(SELECT json_extract(files, '$[0]'), area FROM problems WHERE code IN ({}))"
_IN_VAIN: Final = f"((areas.path, areas.area) IN {_OF_CODES} OR (areas.path, '') IN {_OF_CODES})"
_NOT_THEIRS: Final = "'closing-not-entitled', 'release-not-entitled'"
_BY_SUCCESSOR: Final = "'closed-by-successor'"
_PLACE: Final = (
    "CASE WHEN NOT reports.counts OR areas.decision != 'release' THEN reports.place"
    f" WHEN {_IN_VAIN.format(_NOT_THEIRS, _NOT_THEIRS)} THEN 'not entitled'"
    f" WHEN {_IN_VAIN.format(_BY_SUCCESSOR, _BY_SUCCESSOR)} THEN 'disputed'"
    " ELSE reports.place END AS place"
)
"""A release by one whom the report that left the area open does not name decides nothing, whatever else it says."""
_RUNS: Final = """
SELECT run_path, run_area, MIN(date) OVER (PARTITION BY contract, run_area, run) AS run_since FROM (
    SELECT *, SUM(changed) OVER (PARTITION BY contract, run_area ORDER BY ordered, run_path) AS run FROM (
        SELECT areas.path AS run_path, areas.area AS run_area, contract, date, ordered, decision IS NOT LAG(decision)
            OVER (PARTITION BY contract, areas.area ORDER BY ordered, areas.path) AS changed
        FROM areas JOIN reports USING (path) WHERE counts AND speaks))
"""
"""Of each report on an area the first of those running that say the same of it."""
_STANDS: Final = (
    f"FROM {_NOW} LEFT JOIN states ON states.contract = now.contract AND states.area = now.area"
    " LEFT JOIN (SELECT numbers_now.contract AS whose, MAX(issued_at || char(9) || path) AS last FROM numbers_now"
    " JOIN reports ON reports.contract = numbers_now.contract AND reports.project = numbers_now.project WHERE counts"
    " GROUP BY 1) AS listing ON listing.whose = now.contract"  # of an area that no report names, the one that lists it
    " LEFT JOIN reports ON reports.path = COALESCE(states.path, substr(last, instr(last, char(9)) + 1))"
    " LEFT JOIN areas ON areas.path = states.path AND areas.area = now.area"
    f" LEFT JOIN ({_RUNS}) ON run_path = states.path AND run_area = now.area"
    " LEFT JOIN projects ON projects.sha256 = reports.project"
)
_OF_NOW: Final = {
    **OF_REPORTS,
    "contract": "now.contract = :contract COLLATE NOCASE",
    "area": "now.area = :area COLLATE NOCASE",
}

_OPEN: Final = f"""
WITH items AS (
    SELECT IIF(code = 'nonconformance-never-closed', 'nonconformance', code) AS kind, named.id, problems.contract,
        problems.area, told AS what, named.responsible AS who, named.due,
        (SELECT MIN(date) FROM (SELECT date FROM reports AS first
                WHERE first.contract = problems.contract AND first.number = problems.number
            UNION ALL SELECT date FROM nonconformances AS said JOIN reports AS first USING (path)
                WHERE said.id = named.id AND said.raised_in = named.raised_in AND first.contract = problems.contract)
        ) AS raised,
        json_extract(files, '$[0]') AS path
    FROM problems LEFT JOIN nonconformances AS named ON code = 'nonconformance-never-closed'
        AND named.path = json_extract(files, '$[0]') AND named.raised_in = problems.number
        AND COALESCE(named.area, '') = problems.area AND instr(sentence, named.id) > 0
    WHERE code IN ('nonconformance-never-closed', 'closing-not-entitled', 'failure-not-undone', 'release-not-entitled',
        'released-under-other-limits')
    UNION ALL
    SELECT CASE WHEN areas.speaks AND areas.n_locations = 0 AND areas.verdict = 'not evaluated'
        THEN 'unprimed past its time' WHEN now.word = 'released in part' THEN 'released in part' ELSE now.word END,
        '', now.contract, now.area, COALESCE(IIF(now.word = 'disputed', NULLIF(states.contested, ''), NULL), {_WHY},
            NULLIF(states.contested, '')), NULL, NULL, run_since, states.path
    {_STANDS} WHERE now.word IN ('hold', 'rework', 'disputed', 'unproven', 'released in part')
    UNION ALL
    SELECT now.word, '', now.contract, now.area, {told_in_sql("in-its-own-words", words="now.name")}, NULL, NULL,
        run_since, reports.path
    {_STANDS} WHERE now.word = 'not inspected'
    UNION ALL
    SELECT now.word, '', now.contract, now.area,
        IIF(states.decision IS NULL, {told_in_sql("in-its-own-words", words="now.name")}, {_GONE_AS}), NULL, NULL,
        run_since, reports.path
    {_STANDS} WHERE now.word = 'no longer listed' AND states.decision IS NOT 'release'
)
SELECT items.contract, kind, id, items.area, what, who, due, raised,
    IIF(raised > :as_of, NULL, CAST(julianday(:as_of) - julianday(raised) AS INTEGER)) AS age,
    IIF(due < :as_of, 'yes', NULL) AS overdue,
    reports.number AS last_named_in,{ENDS}
FROM items LEFT JOIN reports ON reports.path = items.path WHERE {{where}}
ORDER BY items.contract, age IS NULL, age DESC, kind, id, items.area
"""
_PARAMETERS: Final = f"""
WITH ordered_reports AS (
    SELECT *, LAG(requirements) OVER (PARTITION BY contract ORDER BY ordered, revision, path) AS former
    FROM reports WHERE counts AND requirements != ''
),
steps AS (SELECT * FROM ordered_reports WHERE former != requirements),
changed AS (
    SELECT steps.path, now.part, now.member, before.value AS before, now.value AS now
    FROM steps JOIN requirements AS now ON now.version = steps.requirements
    LEFT JOIN requirements AS before
        ON before.version = steps.former AND before.part = now.part AND before.member = now.member
    WHERE before.value IS NOT now.value
    UNION ALL
    SELECT steps.path, before.part, before.member, before.value, NULL
    FROM steps JOIN requirements AS before ON before.version = steps.former
    WHERE NOT EXISTS (SELECT 1 FROM requirements AS now WHERE now.version = steps.requirements
        AND now.part = before.part AND now.member = before.member)
)
SELECT reports.contract,
    json_object('code', 'part-' || replace(changed.part, ' ', '-'), 'facts', json_object()) AS part,
    changed.member AS field, reports.date AS from_date,
    reports.number || ' r' || reports.revision AS from_report, changed.before, changed.now,
    (SELECT group_concat(DISTINCT areas.area) FROM areas JOIN reports AS same USING (path)
        WHERE same.contract = reports.contract AND same.requirements = reports.requirements AND same.counts
        AND areas.n_locations > 0) AS areas_judged,{ENDS}
FROM changed JOIN reports USING (path) WHERE {{where}} ORDER BY reports.contract, reports.ordered, changed.part, 3
"""
_INSTRUMENTS: Final = f"""
WITH stated AS (
    SELECT reports.contract, uses.serial, kind, instruments.certificate, calibrated, due, MIN(uses.first) AS first_use,
        MAX(uses.last) AS last_use, COUNT(DISTINCT path) AS reports,
        MIN(reports.ordered || char(9) || path) AS first_in,
        MAX(reports.ordered || char(9) || path) AS last_in
    FROM uses JOIN reports USING (path) JOIN instruments ON instruments.project = reports.project
        AND instruments.id = uses.instrument
    WHERE reports.counts GROUP BY 1, 2, 3, 4, 5, 6
),
changes AS (
    SELECT *, LAG(serial) OVER (PARTITION BY contract, serial ORDER BY first_use, first_in) AS former FROM stated
)
SELECT changes.contract, changes.serial AS gauge, changes.kind, changes.certificate, changes.calibrated, changes.due,
    substr(first_use, 1, 16) AS first_use, substr(last_use, 1, 16) AS last_use, changes.reports,
    IIF(former IS NULL, NULL, (SELECT number FROM reports AS first
        WHERE first.path = substr(first_in, instr(first_in, char(9)) + 1))) AS changed_in,
    IIF(changes.due != '' AND changes.due < substr(last_use, 1, 10), 'yes', NULL) AS used_past_due,{ENDS}
FROM changes JOIN reports ON reports.path = substr(last_in, instr(last_in, char(9)) + 1)
WHERE {{where}} ORDER BY 1, 2, first_use
"""

OF_AREAS: Mapping[str, Question] = {
    "areas": Question(
        "each area that a contract lists as it stands, and who decides",
        "SELECT now.contract, COALESCE(NULLIF(now.structure, ''), areas.structure) AS structure, now.area,"
        " COALESCE(NULLIF(now.name, ''), areas.name) AS name, NULLIF(now.size, '') AS size, now.unit AS size_unit,"
        " now.word AS state, IIF(now.word = 'coated', areas.coated, run_since) AS since, states.decision,"
        f" IIF(now.word = 'disputed', '', COALESCE(areas.part, '')) AS part,"
        f" {_ONE.format('areas.n_locations')} AS locations, areas.required, {_ONE.format(_VALUED)} AS valued,"
        f" {_ONE.format('areas.mean')} AS mean,"
        f" {_ONE.format('areas.standard_deviation')} AS standard_deviation, {_ONE.format('areas.minimum')} AS minimum,"
        f" {_ONE.format('areas.maximum')} AS maximum, areas.unit, {_LIMITS}, {_ONE.format('areas.coated')} AS coated,"
        f" states.contested, states.open AS open_items,{ENDS} {_STANDS} WHERE {{where}} ORDER BY 1, 2, 3",
        {**_OF_NOW, **like("now.contract")},
    ),
    "area-history": Question(
        "every report that names an area, in the order of time, and whether it counts",
        "SELECT reports.contract, areas.area, reports.date, areas.decision, areas.verdict AS result,"
        f" {_PLACE}, {_REASONS}, areas.n_locations AS locations, {_VALUED} AS valued, areas.mean,"
        " areas.standard_deviation, areas.minimum,"
        f" areas.maximum, areas.unit, {_LIMITS}, NULLIF(listed.size, '') AS size, NULLIF(listed.unit, '') AS size_unit,"
        f" {_GAUGES}, reports.inspector, {_ABRASIVES}, areas.coated, areas.part,"
        f"{ENDS} FROM areas JOIN reports USING (path) LEFT JOIN projects ON projects.sha256 = reports.project"
        " LEFT JOIN planned_areas AS listed ON listed.project = reports.project AND listed.area = areas.area"
        " WHERE {where} ORDER BY reports.contract, reports.ordered, reports.revision, reports.path",
        {**OF_REPORTS, **area_of("areas")},
        ("area",),
    ),
    "open": Question(
        "what is open, by age: nonconformances, areas on hold, to be reworked or not inspected, those no longer listed"
        " and not released, steel bare past its time, and what was released or closed against another report",
        _OPEN,
        {
            **OF_REPORTS,
            "contract": "items.contract = :contract COLLATE NOCASE",
            **area_of("items"),
            **like("items.contract"),
        },
    ),
    "recall": Question(
        "which areas a gauge touched, and how large an error of it would change each verdict",
        "SELECT uses.serial AS gauge, reports.contract, uses.area, MIN(uses.first) AS first, MAX(uses.last) AS last,"
        " areas.n_locations AS locations, areas.verdict AS result, areas.decision, areas.coated, reports.place,"
        " NULL AS gauge_error, NULL AS gauge_unit, NULL AS gauge_reads, NULL AS would_be,"
        " NULL AS error_tried,"
        f"{ENDS} FROM uses JOIN reports USING (path) LEFT JOIN areas USING (path, area)"
        " WHERE uses.purpose = 'readings' AND {where} GROUP BY reports.path, uses.area"
        " ORDER BY reports.contract, 4, uses.area",
        {
            **OF_REPORTS,
            **area_of("uses"),
            **gauge_of("uses.serial"),
            "from": "substr(uses.last, 1, 10) >= :from",
            "to": "substr(uses.first, 1, 10) <= :to",
        },
        ("gauge",),
    ),
    "instruments": Question(
        "each instrument as the reports state it: certificate, when due, first and last use, and since which report",
        _INSTRUMENTS,
        {**OF_REPORTS, **gauge_of("changes.serial")},
    ),
    "gauges": Question(
        "which gauge gave how many readings in which contracts",
        "SELECT gauge, reports.contract, COUNT(DISTINCT path) AS reports,"
        " SUM(LENGTH(counted) - LENGTH(REPLACE(counted, ' ', '')) + (counted != '')) AS readings, MIN(date) AS first,"
        f" MAX(date) AS last,{ENDS_OF_SEVERAL} FROM reading_sets JOIN reports USING (path) WHERE {{where}}"
        " GROUP BY 1, 2, reports.standing, reports.overall ORDER BY 1, 2, reports.overall DESC",
        {**OF_REPORTS, **area_of("reading_sets"), **gauge_of("gauge"), **like("gauge")},
    ),
    "parameters": Question(
        "what changed in what a contract requires and of whom, from which report on, and which areas were judged so",
        _PARAMETERS,
        OF_REPORTS,
    ),
    "abrasives": Question(
        "by abrasive and apparatus: areas, locations and the mean of their profile",
        "SELECT reports.contract, locations.abrasive, locations.apparatus, COUNT(DISTINCT locations.area) AS areas,"
        " COUNT(*) AS locations, ROUND(AVG(CAST(locations.profile AS REAL)), 3) AS mean, areas.unit,"
        f" MIN(date) AS first, MAX(date) AS last,{ENDS_OF_SEVERAL}"
        " FROM locations JOIN reports USING (path) JOIN areas ON areas.path = locations.path"
        " AND areas.area = locations.area WHERE reports.counts AND locations.walk_out IS NULL"
        " AND locations.profile IS NOT NULL AND {where}"
        " GROUP BY 1, 2, 3, areas.unit, reports.standing, reports.overall ORDER BY 1, 2, 3",
        {**OF_REPORTS, **area_of("locations")},
    ),
    "conditions": Question(
        "every row of the conditions as entered",
        "SELECT reports.contract, at, conditions.place AS where_read, (SELECT group_concat(value, ', ') FROM"
        f" json_each(areas)) AS areas, air, humidity, wet_bulb, conditions.steel,{ENDS} FROM conditions"
        " JOIN reports USING (path) WHERE {where} ORDER BY 1, 2, 3",
        OF_REPORTS,
    ),
    "photos": Question(
        "every photo with what its original is: SHA-256",
        f"SELECT reports.contract, area, file AS photo, caption, at, location, original,{ENDS} FROM photos"
        " JOIN reports USING (path) WHERE {where} ORDER BY 1, 2, 3",
        {**OF_REPORTS, **area_of("photos")},
    ),
    "repeatability": Question(
        "how far spots scatter, by gauge and inspector, and the value to state",
        "SELECT contract, gauge, inspector, unit, number, date, dof, variance, step, overall AS verdict, holds_until"
        " FROM (SELECT *, ROW_NUMBER() OVER"
        " (PARTITION BY contract, overall, IIF(location = '', scatter.rowid, location)"
        " ORDER BY ordered DESC, path DESC) AS back FROM (SELECT rowid, * FROM scatter) AS scatter"
        " JOIN (SELECT * FROM reports WHERE counts) AS reports USING (path))"
        " WHERE back = 1 AND {where} ORDER BY 1, 10 DESC, 2, 3, 6, 5",
        {
            "contract": "contract = :contract COLLATE NOCASE",
            **gauge_of("gauge"),
            "inspector": "inspector = :inspector COLLATE NOCASE",
            **like("contract"),
        },
        made=repeatability,
    ),
}
