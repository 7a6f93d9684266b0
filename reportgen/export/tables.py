"""The results of one or more reports as tables: one per kind, units in the headings, values with their digits."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from reportgen.measurements import MEASUREMENTS, Measurement
from reportgen.results import Word
from reportgen.rules.also_recorded import also_recorded
from reportgen.rules.sampling import SHARES
from reportgen.units import DISPLAY
from reportgen.words.sentences import sentences

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from reportgen.job import Job
    from reportgen.results import Evaluation

    _Rows = Callable[["Exported"], Iterator["Row"]]

Value = Decimal | int | str | dt.date | dt.datetime | None
Row = tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class ExportedFile:
    """The file that a report was taken from: its name, how well it is proven, and what verifying it came to."""

    file: str
    standing: str
    verification: str


@dataclass(frozen=True, slots=True)
class Exported:
    """One report to export: its job and its evaluation; of many, also the file that each was taken from."""

    job: Job
    evaluation: Evaluation
    source: ExportedFile | None = None

    @property
    def ends(self) -> Row:
        """What its rows end with."""
        own = self.source
        return () if own is None else (own.file, own.standing, own.verification)


@dataclass(frozen=True, slots=True)
class Table:
    """One kind of result: headings with units, and rows of numbers, text, dates or nothing."""

    name: str
    headings: tuple[str, ...]
    rows: tuple[Row, ...]


_REPORT: Final = ("report", "revision", "date")
_SOURCE: Final = ("file", "standing", "verification")
_UNIT: Final = "_unit"
"""How the field of a result ends that is the unit of another."""

_TABLES: Final[list[tuple[str, tuple[str, ...], Callable[[Exported], Iterator[Row]]]]] = []
"""Name, headings and rows of each table, in the order in which they are declared below."""


def tables(reports: Sequence[Exported]) -> tuple[Table, ...]:
    """Return every table, the empty ones included, in a fixed order; each row begins with its report.

    Where the reports state the files that they were taken from, each row ends with its own.
    """
    gauges = [
        unit
        for report in reports for surface in report.job.day.surfaces if surface.profile is not None
        if (unit := report.job.project.instruments[surface.profile.gauge].unit) is not None
    ]  # fmt: skip
    units = {
        "profile": _unit([area.unit for report in reports for area in report.evaluation.areas]),
        "gauge": _unit(gauges),
    }
    ends = _SOURCE if any(report.source is not None for report in reports) else ()
    made = []
    for name, headings, rows in _TABLES:
        known = units | _units(name, reports)
        content: list[Row] = []
        for report in reports:
            identity = report.evaluation.report
            head = (identity.number, identity.revision, dt.date.fromisoformat(identity.date))
            content += [(*head, *row, *report.ends) for row in rows(report)]
        heads = (*_REPORT, *(_heading(heading, known) for heading in headings), *ends)
        made.append(Table(name, heads, tuple(content)))
    return tuple(made)


def _unit(units: Sequence[str]) -> str:
    """Return the unit of a column when all its values have one; else where it is stated."""
    different = set(units)
    if len(different) == 1:
        unit = different.pop()
        return DISPLAY.get(unit, unit)
    return "unit in its column" if different else ""


def _units(key: str, reports: Sequence[Exported]) -> dict[str, str]:
    """Return the unit of each column of a kind of measurement whose unit is a field of the results."""
    names = [name for kind in MEASUREMENTS if kind.key == key for name in kind.exported if name.endswith(_UNIT)]
    results = [one for report in reports for one in getattr(report.evaluation, key)] if names else []
    return {name: _unit([unit for one in results if (unit := getattr(one, name)) is not None]) for name in names}


def _heading(heading: str, units: Mapping[str, str]) -> str:
    for name, text in units.items():
        heading = heading.replace(f" ({{{name}}})", f" ({text})" if text else "")
    return heading


def _table(name: str, *headings: str) -> Callable[[_Rows], _Rows]:
    """Declare what makes the rows of a table; ``({profile})`` and ``({gauge})`` in a heading become the unit."""

    def declared(rows: _Rows) -> _Rows:
        _TABLES.append((name, headings, rows))
        return rows

    return declared


@_table("reports", "contract", "contract name", "verdict", "inspector", "areas", "findings")
def _reports(report: Exported) -> Iterator[Row]:
    day, evaluation = report.job.day, report.evaluation
    project = report.job.project
    inspector = project.people[day.report.inspector].name
    yield (
        project.project.contract, project.project.name, evaluation.verdict, inspector,
        len(evaluation.areas), len(evaluation.findings),
    )  # fmt: skip


@_table(
    "areas", "area", "structure", "name", "place", "verdict", "decision", "unit", "locations required", "locations",
    "spots", "mean ({profile})", "standard deviation ({profile})", "minimum ({profile})", "maximum ({profile})",
    "expanded uncertainty of the mean ({profile})", "coverage factor", "tolerance interval, from ({profile})",
    "tolerance interval, to ({profile})", "within limits (%)",
    *(f"chance to pass with {low} % not conforming" for low in SHARES), "reasons",
)  # fmt: skip
def _areas(report: Exported) -> Iterator[Row]:
    for area in report.evaluation.areas:
        yield (
            area.id, area.structure, area.name, area.place, area.verdict, area.decision, area.unit,
            area.required_locations, area.n_locations, area.n_spots, area.mean, area.standard_deviation, area.minimum,
            area.maximum, area.expanded_uncertainty, area.coverage_factor,
            *(area.tolerance_interval or (None, None)), area.percent_within_limits,
            *((None,) * len(SHARES) if area.can_miss is None else (one.passes for one in area.can_miss.chances)),
            "; ".join(sentences().reasons(report.evaluation, area)),
        )  # fmt: skip


@_table("sampling", "area", "apparatus", "period", "locations required", "locations")
def _sampling(report: Exported) -> Iterator[Row]:
    for area in report.evaluation.areas:
        for part in area.sampling:
            period = None if part.period is None else sentences().shown(part.period)
            yield area.id, part.apparatus, period, part.required, part.taken


@_table(
    "locations", "area", "location", "profile ({profile})", "unit", "verdict", "expanded uncertainty ({profile})",
    "probability of conformity", "walk-out from", "outlier", "grade seen",
)  # fmt: skip
def _locations(report: Exported) -> Iterator[Row]:
    for area in report.evaluation.areas:
        for one in area.locations:
            yield (
                area.id, one.id, one.profile, area.unit, one.verdict, one.expanded_uncertainty,
                one.probability_of_conformity, one.walk_out, "yes" if one.outlier else None, one.observed,
            )  # fmt: skip


@_table("spots", "area", "location", "spot", "profile ({profile})", "unit", "how", "grade seen")
def _spots(report: Exported) -> Iterator[Row]:
    for area in report.evaluation.areas:
        for location in area.locations:
            for spot in location.spots:
                yield area.id, location.id, spot.id, spot.profile, area.unit, spot.how, spot.observed


@_table(
    "readings", "area", "apparatus", "location", "spot", "roll", "grade", "reading ({gauge})", "net reading ({gauge})",
    "unit", "time", "grade seen", "confirmed",
)  # fmt: skip
def _readings(report: Exported) -> Iterator[Row]:
    project = report.job.project
    nets = {
        (area.id, location.apparatus, location.id, spot.id, reading.roll): reading.net
        for area in report.evaluation.areas
        for location in area.locations
        for spot in location.spots
        for reading in spot.readings
    }
    for surface, readings in zip(report.job.day.surfaces, report.job.readings, strict=True):
        unit = project.instruments[surface.profile.gauge].unit if surface.profile is not None else None
        for one in readings:
            grade = project.tape_rolls[one.roll].grade if one.roll is not None else None
            # several apparatus on an area may use the same names for locations
            taken = (one.location, one.spot, one.roll)
            net = nets.get((surface.area, surface.apparatus, *taken), nets.get((surface.area, None, *taken)))
            yield (
                surface.area, surface.apparatus, one.location, one.spot, one.roll, grade, one.value, net, unit,
                one.time, one.grade, "yes" if one.confirmed else None,
            )  # fmt: skip


def _headings(kind: Measurement[Any, Any, Any]) -> tuple[str, ...]:
    """Head each column of a kind of measurement; what its catalogue does not name is headed by its field."""
    said = sentences()
    keys = [(name, f"{kind.key}.{name}") for name in kind.exported]
    # units are filled in when the results are known
    units: dict[str, Any] = {name: f"{{{name}}}" for name in kind.exported if name.endswith(_UNIT)}
    return tuple(said.say("exported", key, **units) if said.knows("exported", key) else name for name, key in keys)


def _measured(kind: Measurement[Any, Any, Any], report: Exported) -> Iterator[Row]:
    for one in getattr(report.evaluation, kind.key):
        yield tuple(_cell(name, getattr(one, name)) for name in kind.exported)


def _cell(name: str, value: Any) -> Any:
    """Return a field of a result as it stands in its cell."""
    if isinstance(value, Word):
        return sentences().shown(value)
    if isinstance(value, tuple):
        return "; ".join(value)
    return DISPLAY.get(value, value) if name.endswith(_UNIT) else value


_TABLES.extend((kind.key, _headings(kind), partial(_measured, kind)) for kind in MEASUREMENTS)


@_table(
    "comparisons", "area", "apparatus", "by", "organisation", "gauge", "time", "unit", "locations",
    "mean difference ({profile})", "expanded uncertainty of the mean difference ({profile})", "coverage factor",
    "biased", "readings compared", "readings equal", "chance of all equal", "uncertainty",
)  # fmt: skip
def _comparisons(report: Exported) -> Iterator[Row]:
    for one in report.evaluation.comparisons:
        biased = None if one.biased is None else "yes" if one.biased else "no"
        yield (
            one.area, one.apparatus, one.by, one.organisation, one.gauge, one.time, one.unit, len(one.locations),
            one.mean_difference, one.expanded_uncertainty, one.coverage_factor, biased, one.compared, one.equal,
            one.chance_of_equal, sentences().shown(one.basis),
        )  # fmt: skip


@_table(
    "compared locations", "area", "apparatus", "by", "location", "profile by the other ({profile})",
    "profile by the inspector ({profile})", "difference ({profile})",
    "expanded uncertainty of the difference ({profile})", "E_n", "unit",
)  # fmt: skip
def _compared_locations(report: Exported) -> Iterator[Row]:
    for one in report.evaluation.comparisons:
        for at in one.locations:
            yield (
                one.area, one.apparatus, one.by, at.id, at.profile, at.by_inspector, at.difference,
                at.expanded_uncertainty, at.normalized_error, one.unit,
            )  # fmt: skip


@_table("checks", "check", "subject", "time", "observed", "requirement", "verdict")
def _checks(report: Exported) -> Iterator[Row]:
    words = sentences()
    for one in report.evaluation.checks:
        yield one.kind, words.check_of(one), one.time, words.checked(one), words.check_required(one), one.verdict


@_table("coating times", "area", "time to coat (h)", "limit (h)", "coat by", "verdict")
def _coating(report: Exported) -> Iterator[Row]:
    for one in report.evaluation.coating_times:
        yield one.area, one.hours, one.limit, one.coat_by, one.verdict


@_table("findings", "code", "severity", "area", "location", "observed", "requirement", "clause", "nonconformance")
def _findings(report: Exported) -> Iterator[Row]:
    words = sentences()
    for one in report.evaluation.findings:
        yield (
            one.code, one.severity, one.area, one.location, words.observed(one), words.required(one), one.clause,
            one.nonconformance,
        )  # fmt: skip


@_table(
    "nonconformances", "id", "area", "status", "raised in", "findings", "description", "disposition", "decided by",
    "corrective action", "evidence", "original values", "due", "responsible",
)  # fmt: skip
def _nonconformances(report: Exported) -> Iterator[Row]:
    words = sentences()
    for one in report.evaluation.nonconformances:
        yield (
            one.id, one.area, one.status, one.raised_in, ", ".join(one.findings), one.description, one.disposition,
            one.decided_by, one.corrective_action, words.evidence(one.evidence, one.closed_by),
            "; ".join(map(words.seen, one.original)), one.due, one.responsible,
        )  # fmt: skip


@_table("areas cleaned", "area", "cleaned today", "cleaned by now", "size", "unit", "share (%)")
def _cleaned(report: Exported) -> Iterator[Row]:
    for one in report.evaluation.areas:
        if (cleaned := one.cleaned) is not None:
            size, unit = None if cleaned.size is None else cleaned.size.value, cleaned.today.unit
            yield (
                one.id, cleaned.today.value, cleaned.by_now.value, size, DISPLAY.get(unit, unit), cleaned.share,
            )  # fmt: skip


@_table("also recorded", "what", "area", "where", "recorded")
def _recorded(report: Exported) -> Iterator[Row]:
    words = sentences()
    for one in also_recorded(report.job):
        yield words.shown(one.record), one.area, one.where, words.shown(one.value)


@_table("to measure next", "area", "what", "reason", "locations")
def _next(report: Exported) -> Iterator[Row]:
    for one in report.evaluation.measure_next:
        yield one.area, sentences().task(one), sentences().because(one), one.count
