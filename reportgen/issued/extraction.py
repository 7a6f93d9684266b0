"""From the files embedded in a report to its record, in the child process: anything may be wrong with the files."""

from __future__ import annotations

import datetime as dt
import json
from dataclasses import replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from reportgen.errors import InputError, QuantityError
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
    required,
)
from reportgen.formats.decoding import LONGEST, value_from
from reportgen.formats.evaluation import FORMAT
from reportgen.issued.corrected import notices
from reportgen.issued.entries import entries_of, moment_of, prime_by, readings_told
from reportgen.issued.record import (
    AreaRecord,
    BoundedRecord,
    FindingRecord,
    NonconformanceRecord,
    PartRecord,
    PersonRecord,
    ReportRecord,
    ScatterRecord,
    SuccessionRecord,
    SurfaceRecord,
)
from reportgen.issued.requirements import requirements_of
from reportgen.issued.slips import slips_among, with_slips
from reportgen.job.signatories import signatories_of
from reportgen.loader import job_from_files
from reportgen.metrology.exact import exact_square
from reportgen.names import perhaps_one, spelling
from reportgen.results.codes.follow_up import CLOSING, LEFT_OPEN
from reportgen.rules import evaluate
from reportgen.rules.scene import JobView
from reportgen.rules.uncertainty import spot_scatter
from reportgen.verification import Recomputed
from reportgen.words.sentences import sentences
from reportgen.words.told import told, told_json

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from reportgen.job import Job, Person, Surface
    from reportgen.names import Pin
    from reportgen.results import Evaluation

NOT_STATED = "not stated"
_NONE_OF = (
    "surfaces", "may_revise", "may_close", "may_name_successor", "requirements", "scatter", "planned", "instruments",
    "uses", "conditions", "photos",
)  # fmt: skip
"""Members of a record of which there are none where project and day file cannot be read."""
_AHEAD = "JOB226"
"""Code of a time after the moment of issue."""


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
        manifest = read_manifest(required(files, MANIFEST_NAME))
        moment = issue_moment(files)
        ahead: tuple[str, ...] = ()
        try:
            job = job_from_files(files, manifest.day, until=moment)
        except InputError as refusal:  # nobody could be issued such a report: it is told as what it is, and evaluated
            if any(one.code != _AHEAD for one in refusal.diagnostics):
                raise
            ahead = tuple(one.message for one in refusal.diagnostics)
            job = job_from_files(files, manifest.day)
        self.job = with_slips(job, slips_among(manifest, files), Recomputation)
        report = self.job.day.report
        place, began = str(self.job.project.project.site), self.job.clock.instant(report.shift.start)
        replaces = None if report.supersedes is None else (report.supersedes.revision, str(report.supersedes.reason))
        identity = str(report.number), report.revision, report.date.isoformat(), replaces
        signers = signatories_of(self.job)
        signers = signers[:1] if is_slip(files) else signers  # whoever countersigns signs the report
        stated = signers, place, *identity, began
        embedded = files.get(EVALUATION_NAME, b"")
        try:
            told = counters(embedded)
            edition = told.rules
        except ValueError:
            return Recomputed(None, b"", *stated, job=self.job, ahead=ahead)
        self.evaluation = evaluate(self.job, at=moment, edition=edition)
        again = encode(self.evaluation, told.format, rules_edition=edition.number)
        since = notices(self.job, self.evaluation, edition, moment) if again == embedded else ()
        return Recomputed(self.evaluation, again, *stated, since, self.job, ahead)


def is_slip(files: Mapping[str, bytes]) -> bool:
    """Whether files are those of a release slip, which is no report."""
    try:
        return read_issue(files).slip is not None
    except ValueError:
        return False


def record_of(known: Recomputation) -> ReportRecord | None:
    """Return the record of a report from its embedded evaluation; None when it holds none that can be read.

    What the evaluation does not hold (abrasive, contract, people) is taken from the embedded project and day files,
    and is *not stated* where those can no longer be read.
    """
    if is_slip(known.files):
        return None
    try:
        return value_from(ReportRecord, plain(_record(known)))
    except (LookupError, TypeError, ValueError, ArithmeticError, RecursionError, AttributeError, QuantityError):
        return None


def _record(known: Recomputation) -> ReportRecord:
    found = json.loads(known.files[EVALUATION_NAME], parse_float=Decimal)
    told = head(known.files[EVALUATION_NAME])
    issue = read_issue(known.files)
    manifest = read_manifest(known.files[MANIFEST_NAME])
    job = known.job
    stated = _stated(job, known.files)
    nonconformances: tuple[NonconformanceRecord, ...] = ()
    if told.format <= FORMAT:
        areas = _areas(found, job, stated)
        people = {} if job is None else {key: str(one.name) for key, one in job.project.people.items()}
        nonconformances = tuple(
            nonconformance_record(one, people, found.get("measure_next", ())) for one in found["nonconformances"]
        )
        findings = _findings(known.evaluation, found["findings"])
    else:  # what an evaluation of a later format says for certain
        unknown = {**dict.fromkeys(("structure", "structure_name", "name", "unit"), NOT_STATED), "n_locations": 0}
        areas = tuple(value_from(AreaRecord, {**plain(area), **unknown, "locations": []}) for area in told.areas)
        findings = tuple(FindingRecord(one.code, NOT_STATED) for one in told.findings)
    # what the report replaces, as it was issued, or at least as its day file says
    replaced = issue.supersedes or (None if job is None else job.day.report.supersedes)
    return ReportRecord(
        number=told.report.number,
        revision=told.report.revision,
        date=dt.date.fromisoformat(told.report.date).isoformat(),
        issued_at=issue.issued_at,
        status=issue.status,
        generator=issue.generator,
        verdict=found["verdict"],
        day_sha256=next(entry.sha256 for entry in manifest.files if entry.role == "day"),
        earlier=tuple(entry.sha256 for entry in manifest.files if entry.role == "earlier-day"),
        areas=areas,
        nonconformances=nonconformances,
        findings=findings,
        supersedes_revision=None if replaced is None else replaced.revision,
        supersedes_sha256=None if issue.supersedes is None else issue.supersedes.sha256,
        supersedes_reason=None if replaced is None else str(replaced.reason),
        **stated,
    )


def nonconformance_record(
    row: dict[str, Any], people: Mapping[str, str], tasks: Iterable[dict[str, Any]] = ()
) -> NonconformanceRecord:
    """Return the record of a nonconformance as an evaluation states it; what closed it is said in a sentence.

    ``people`` are the names of those whom the job names, by their ids: who decided is told by the name. ``tasks`` are
    what the evaluation says is to be done.
    """
    own = (one for one in tasks if one["code"] in CLOSING and one["facts"]["nonconformance"] == row["id"])
    task: dict[str, Any] = next((one for one in own if one["place"].get("area") == row.get("area")), {})
    closing = {"to_close": task.get("code"), "undecided": task.get("facts", {}).get("areas", ())}
    evidence = sentences().evidence(row.get("evidence"), row.get("closed_by"))
    decided = people.get(row["decided_by"], row["decided_by"])
    return value_from(NonconformanceRecord, {**row, **closing, "evidence": evidence, "decided_by": decided})


def _findings(evaluation: Evaluation | None, rows: list[dict[str, Any]]) -> tuple[FindingRecord, ...]:
    """Return the findings; what was observed is told where the embedded input can be evaluated again."""
    if evaluation is None:
        return tuple(
            FindingRecord(row["code"], row["severity"], "", row["place"].get("area"), row.get("clause")) for row in rows
        )
    found = []
    for one in evaluation.findings:
        observed = told_json(told("findings-told", what=(one,)))
        if len(observed) > LONGEST:
            observed = told_json(told("in-its-own-words", words=sentences().observed(one)))
        found.append(FindingRecord(one.code, one.severity, observed, one.area, one.clause))
    return tuple(found)


def _stated(job: Job | None, files: Mapping[str, bytes]) -> dict[str, Any]:
    """Return what the embedded project and day files say, which the evaluation does not hold."""
    if job is None:
        names = ("contract", "contract_name", "client", "contractor", "body", "inspector")
        absent = ("number_pattern", "minimum", "maximum", "unit")
        return {
            **dict.fromkeys(names, NOT_STATED),
            **dict.fromkeys(absent),
            **dict.fromkeys(_NONE_OF, ()),
            **dict.fromkeys(("site", "project_sha256", "began", "ended", "shift"), ""),
            **dict.fromkeys(("succession", "signs_with")),
        }
    project, profile = job.project.project, job.project.specification.profile
    limits = (profile.minimum, profile.maximum)
    low, high = (
        None if limit is None or not isinstance(limit.magnitude, Decimal) else limit.magnitude for limit in limits
    )
    people, told = job.project.people, job.as_told()
    own = people[job.day.report.inspector]
    return {
        "contract": str(project.contract),
        "contract_name": str(project.name),
        "client": str(project.client),
        "contractor": str(project.contractor),
        "body": str(job.project.inspection_body.name),
        "inspector": str(own.name),
        "number_pattern": None if project.report_numbers is None else str(project.report_numbers),
        "minimum": low,
        "maximum": high,
        "unit": next((limit.unit for limit in limits if limit is not None), None),
        "surfaces": _surfaces(job),
        "may_revise": _records(one for one in people.values() if one.answers_for(own)),
        "may_close": _records(one for one in people.values() if job.may_be_undone_by(one)),
        "may_name_successor": _records(one for one in people.values() if told.may_name_successor(one)),
        "succession": _succession(job),
        "signs_with": _pin(own),
        "shift": str(job.day.report.shift.start),
        "requirements": requirements_of(job),
        **entries_of(job, files),
        "scatter": tuple(
            ScatterRecord(
                str(read.gauge.serial),
                read.unit,
                pooled.dof,
                str(exact_square(pooled.standard_deviation)),
                step,
                f"{read.surface.record.area}, {_steel(job, read.surface.record)}, {location}",
            )
            for read, location, step, pooled in spot_scatter(job)
        ),
    }


def _records(people: Iterable[Person]) -> tuple[PersonRecord, ...]:
    return tuple(
        PersonRecord(str(one.name), None if one.organisation is None else str(one.organisation), _pin(one))
        for one in people
    )


def _pin(person: Person) -> Pin | None:
    return None if person.signs_with is None else person.signs_with.pin


def _succession(job: Job) -> SuccessionRecord | None:
    taken, people = job.inspector.takes_over, job.project.people
    if taken is None or taken.named_by not in people:
        return None
    former = people[taken.inspector].name if taken.inspector in people else taken.inspector
    report = job.day.report
    ids = [*report.countersigners, *(one.inspector for one in job.day.surfaces if one.inspector is not None)]
    there = [*report.present, *(people[name].name for name in ids if name in people)]
    still = "named" if any(perhaps_one(one.name, former) for one in people.values()) else ""
    still = "present" if any(perhaps_one(name, former) for name in there) else still
    return SuccessionRecord(str(former), str(people[taken.named_by].name), str(taken.evidence), still)


def _surfaces(job: Job) -> tuple[SurfaceRecord, ...]:
    records, view = [], JobView(job)
    for surface, readings in zip(job.day.surfaces, job.readings, strict=True):
        gauge = None if surface.profile is None else job.project.instruments[surface.profile.gauge]
        record = SurfaceRecord(
            area=str(surface.area),
            apparatus=str(surface.apparatus),
            abrasive=str(surface.blasted.abrasive),
            coated=None if surface.coated is None else job.clock.instant(surface.coated).isoformat(timespec="minutes"),
            gauge=None if gauge is None else str(gauge.serial),
            gauge_unit=None if gauge is None else gauge.unit,
            readings=tuple(reading.value for reading in readings if reading.value is not None),
            steel=_steel(job, surface),
            locations=tuple(str(reading.location) for reading in readings if reading.value is not None),
            cleaned="" if surface.cleaned is None else str(surface.cleaned),
            photos=len(surface.photos),
            began=moment_of(job, surface.blasted.start),
            ended=moment_of(job, surface.blasted.end),
            prime_by=prime_by(job, surface),
            inspector="" if surface.inspector is None else str(job.project.people[surface.inspector].name),
            **readings_told(view, surface, readings),
        )
        records.append(record)
    return tuple(records)


def _steel(job: Job, surface: Surface) -> str:
    """Name the steel of a surface as every report does that enters it: by apparatus and times of blasting."""
    start, end = (
        job.clock.instant(one).astimezone(dt.UTC).isoformat(timespec="minutes")
        for one in (surface.blasted.start, surface.blasted.end)
    )
    return f"{spelling(surface.apparatus) or surface.apparatus}, {start} to {end}"


def _areas(found: dict[str, Any], job: Job | None, stated: dict[str, Any]) -> tuple[AreaRecord, ...]:
    """Return the areas that an evaluation states, and those of which it only says that they stand bare too long."""
    late = [row for row in found["findings"] if row["code"] == LEFT_OPEN.name and "until" in row["facts"]]
    bare = {row["place"].get("area") for row in late}
    named = {row["id"] for row in found["areas"]}
    plans = [] if job is None else [(one, plan) for one in job.project.structures for plan in one.areas]
    unseen = {"verdict": "not evaluated", "decision": "hold", "unit": stated["unit"] or NOT_STATED, "n_locations": 0}
    rows = found["areas"] + [
        {"id": plan.id, "structure": structure.id, "name": plan.name, "locations": [], **unseen}
        for structure, plan in plans
        if plan.id in bare - named
    ]
    return tuple(_area(area, job, stated["surfaces"], bare=area["id"] in bare) for area in rows)


def _area(area: dict[str, Any], job: Job | None, surfaces: tuple[SurfaceRecord, ...], *, bare: bool) -> AreaRecord:
    names = {} if job is None else {structure.id: structure.name for structure in job.project.structures}
    locations = []
    for row in area["locations"]:
        apparatus = row.get("apparatus")
        own = [one for one in surfaces if one.area == area["id"] and apparatus in (None, one.apparatus)]
        location = {
            "id": row["id"],
            "profile": row.get("profile"),
            "verdict": row["verdict"],
            "spots": [spot["profile"] for spot in row["spots"] if "profile" in spot],
            "apparatus": " / ".join(dict.fromkeys(one.apparatus for one in own)) or None,
            "abrasive": " / ".join(dict.fromkeys(one.abrasive for one in own)) or None,
            "place": _place(row["id"].removesuffix(f" ({apparatus})"), own),
            "compared": row.get("compared"),
            "uncertainty": row.get("expanded_uncertainty"),
            "walk_out": row.get("walk_out"),
        }
        locations.append(location)
    structure_name = str(names.get(area["structure"], area["structure"]))
    record = value_from(
        AreaRecord, {**area, "structure_name": structure_name, "locations": locations, "bare": bare}
    )  # fmt: skip
    return replace(record, part=PartRecord.released(area), bounded=tuple(BoundedRecord.each_of(area)))


def _place(name: str, surfaces: Iterable[SurfaceRecord]) -> str | None:
    """Name a location with the steel that it is on: the last blasted, of several that have one of its name."""
    steel = [one.steel for one in surfaces if name in one.locations]
    return f"{steel[-1]}, {name}" if steel else None
