"""From the files embedded in a report to its record, in the child process: anything may be wrong with the files."""

from __future__ import annotations

import datetime as dt
import json
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from reportgen.formats import (
    EVALUATION_NAME,
    MANIFEST_NAME,
    counters,
    encode,
    head,
    issue_moment,
    plain,
    read_issue,
    read_manifest,
)
from reportgen.formats.decoding import value_from
from reportgen.formats.evaluation import FORMAT
from reportgen.increments import signatories_of
from reportgen.issued.corrected import notices
from reportgen.issued.record import (
    AreaRecord,
    FindingRecord,
    NonconformanceRecord,
    PersonRecord,
    ReportRecord,
    SurfaceRecord,
)
from reportgen.issued.requirements import requirements_of
from reportgen.loader import job_from_files
from reportgen.rules import evaluate
from reportgen.verification import Recomputed
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.formats import EvaluationHead, IssueFacts
    from reportgen.job import Job
    from reportgen.results import Evaluation

NOT_STATED = "not stated"


class Recomputation:
    """Evaluates embedded input again for step 8 of a verification, and keeps what it read for the record."""

    def __init__(self) -> None:
        self.files: Mapping[str, bytes] = {}
        self.job: Job | None = None
        self.evaluation: Evaluation | None = None

    def __call__(self, files: Mapping[str, bytes]) -> Recomputed:
        """Return what follows from the embedded input; InputError when it can no longer be read.

        It is evaluated by the rules, and written in the format, that the embedded evaluation names.
        """
        self.files = files
        self.job = job_from_files(files, read_manifest(files[MANIFEST_NAME]).day, have_photos=False)
        people = signatories_of(self.job), self.job.project.project.site
        embedded, moment = files.get(EVALUATION_NAME, b""), issue_moment(files)
        try:
            told = counters(embedded)
            edition = told.rules
        except ValueError:
            return Recomputed(None, b"", *people)
        self.evaluation = evaluate(self.job, at=moment, edition=edition)
        again = encode(self.evaluation, told.format, rules_edition=edition.number)
        since = notices(self.job, self.evaluation, edition, moment) if again == embedded else ()
        return Recomputed(self.evaluation, again, *people, since)


def record_of(known: Recomputation) -> ReportRecord | None:
    """Return the record of a report from its embedded evaluation; None when it holds none that can be read.

    What the evaluation does not hold (abrasive, contract, people) is taken from the embedded project and day files,
    and is *not stated* where those can no longer be read.
    """
    try:
        return value_from(ReportRecord, plain(_record(known)))
    except (KeyError, TypeError, ValueError, ArithmeticError, RecursionError, AttributeError):
        return None


def _record(known: Recomputation) -> ReportRecord:
    found = json.loads(known.files[EVALUATION_NAME], parse_float=Decimal)
    told = head(known.files[EVALUATION_NAME])
    issue = read_issue(known.files)
    manifest = read_manifest(known.files[MANIFEST_NAME])
    day_hash = next(entry.sha256 for entry in manifest.files if entry.role == "day")
    surfaces = () if known.job is None else _surfaces(known.job)
    return ReportRecord(
        number=told.report.number,
        revision=told.report.revision,
        date=dt.date.fromisoformat(told.report.date).isoformat(),
        issued_at=issue.issued_at,
        status=issue.status,
        generator=issue.generator,
        verdict=found["verdict"],
        day_sha256=day_hash,
        earlier=tuple(entry.sha256 for entry in manifest.files if entry.role == "earlier-day"),
        surfaces=surfaces,
        **_results(known, found, surfaces) if told.format <= FORMAT else _head_alone(told),
        **_supersedes(known.job, issue),
        may_revise=() if known.job is None else _may_revise(known.job),
        requirements=() if known.job is None else requirements_of(known.job),
        **_contract(known.job),
    )


def _may_revise(job: Job) -> tuple[PersonRecord, ...]:
    """Return whom the job lets sign a revision: who answers for what the report's inspector signed."""
    people = job.project.people
    own = people[job.day.report.inspector]
    return tuple(
        PersonRecord(str(one.name), None if one.organisation is None else str(one.organisation))
        for one in people.values()
        if one.answers_for(own)
    )


def _results(known: Recomputation, found: dict[str, Any], surfaces: tuple[SurfaceRecord, ...]) -> dict[str, Any]:
    return {
        "areas": tuple(_area(area, known.job, surfaces) for area in found["areas"]),
        "nonconformances": tuple(_nonconformance(row) for row in found["nonconformances"]),
        "findings": _findings(known.evaluation, found["findings"]),
    }


def _head_alone(told: EvaluationHead) -> dict[str, Any]:
    """What an evaluation of a later format says for certain."""
    unknown = {"structure": NOT_STATED, "structure_name": NOT_STATED, "name": NOT_STATED, "unit": NOT_STATED}
    areas = [{**plain(area), **unknown, "n_locations": 0, "locations": []} for area in told.areas]
    return {
        "areas": tuple(value_from(AreaRecord, area) for area in areas),
        "findings": tuple(FindingRecord(one.code, NOT_STATED, NOT_STATED, NOT_STATED) for one in told.findings),
    }


def _nonconformance(row: dict[str, Any]) -> NonconformanceRecord:
    evidence = sentences().evidence(row.get("evidence"), row.get("closed_by"))
    return value_from(NonconformanceRecord, {**row, "evidence": evidence})


def _findings(evaluation: Evaluation | None, rows: list[dict[str, Any]]) -> tuple[FindingRecord, ...]:
    """Return the findings; what was observed is said where the embedded input can be evaluated again."""
    if evaluation is None:
        return tuple(
            FindingRecord(row["code"], row["severity"], "", "", row["place"].get("area"), row.get("clause"))
            for row in rows
        )
    said = sentences()
    return tuple(
        FindingRecord(one.code, one.severity, said.observed(one), said.required(one), one.area, one.clause)
        for one in evaluation.findings
    )


def _supersedes(job: Job | None, issue: IssueFacts) -> dict[str, Any]:
    """What the report replaces: as it was issued, or at least as its day file says."""
    told = issue.supersedes
    if told is not None:
        return {
            "supersedes_revision": told.revision,
            "supersedes_sha256": told.sha256,
            "supersedes_reason": told.reason,
        }
    stated = None if job is None else job.day.report.supersedes
    return {
        "supersedes_revision": None if stated is None else stated.revision,
        "supersedes_sha256": None,
        "supersedes_reason": None if stated is None else str(stated.reason),
    }


def _contract(job: Job | None) -> dict[str, Any]:
    if job is None:
        names = ("contract", "contract_name", "client", "contractor", "body", "inspector")
        absent = ("number_pattern", "minimum", "maximum", "unit")
        return {**dict.fromkeys(names, NOT_STATED), **dict.fromkeys(absent)}
    project, profile = job.project.project, job.project.specification.profile
    limits = [limit for limit in (profile.minimum, profile.maximum) if limit is not None]
    low, high = (
        None if limit is None or not isinstance(limit.magnitude, Decimal) else limit.magnitude
        for limit in (profile.minimum, profile.maximum)
    )
    return {
        "contract": str(project.contract),
        "contract_name": str(project.name),
        "client": str(project.client),
        "contractor": str(project.contractor),
        "body": str(job.project.inspection_body.name),
        "inspector": str(job.project.people[job.day.report.inspector].name),
        "number_pattern": None if project.report_numbers is None else str(project.report_numbers),
        "minimum": low,
        "maximum": high,
        "unit": limits[0].unit if limits else None,
    }


def _surfaces(job: Job) -> tuple[SurfaceRecord, ...]:
    return tuple(
        SurfaceRecord(
            area=str(surface.area),
            apparatus=str(surface.apparatus),
            abrasive=str(surface.blasted.abrasive),
            coated=None if surface.coated is None else job.clock.instant(surface.coated).isoformat(timespec="minutes"),
            gauge=None if surface.profile is None else _serial(job, str(surface.profile.gauge)),
            gauge_unit=None if surface.profile is None else job.project.instruments[surface.profile.gauge].unit,
            readings=tuple(reading.value for reading in readings),
        )
        for surface, readings in zip(job.day.surfaces, job.readings, strict=True)
    )


def _serial(job: Job, gauge: str) -> str:
    return str(job.project.instruments[gauge].serial)


def _area(area: dict[str, Any], job: Job | None, surfaces: tuple[SurfaceRecord, ...]) -> AreaRecord:
    own = [surface for surface in surfaces if surface.area == area["id"]]
    names = {} if job is None else {structure.id: structure.name for structure in job.project.structures}
    structure_name = str(names.get(area["structure"], area["structure"]))
    locations = [_location(row, own) for row in area["locations"]]
    return value_from(AreaRecord, {**area, "structure_name": structure_name, "locations": locations})


def _location(row: dict[str, Any], surfaces: list[SurfaceRecord]) -> dict[str, Any]:
    of_it = [one for one in surfaces if row.get("apparatus") in (None, one.apparatus)]
    apparatus = dict.fromkeys(one.apparatus for one in of_it)
    abrasives = dict.fromkeys(one.abrasive for one in of_it)
    return {
        "id": row["id"],
        "profile": row.get("profile"),
        "verdict": row["verdict"],
        "spots": [spot["profile"] for spot in row["spots"] if "profile" in spot],
        "apparatus": " / ".join(apparatus) or None,
        "abrasive": " / ".join(abrasives) or None,
    }
