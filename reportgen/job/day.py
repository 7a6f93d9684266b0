"""The day file: one shift."""

from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Discriminator,
    Field,
    PrivateAttr,
    Tag,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    field_validator,
    model_validator,
)

from reportgen.fields import (
    ITSELF,
    AirPressure,
    Clock,
    Confirmed,
    Count,
    Date,
    Format,
    Height,
    Ident,
    Length,
    Model,
    Name,
    Named,
    Pending,
    RelativePath,
    ReportNumber,
    Revision,
    Text,
    YesNo,
    refusal,
)
from reportgen.job.recorded import (
    Comparison,
    Distance,
    FunctionCheck,
    HoldPoint,
    NoReading,
    OilTest,
    Positions,
    ReleaseTold,
    Replica,
    Site,
    SizeCleaned,
)
from reportgen.measurements.abrasive import AbrasiveCheck
from reportgen.measurements.air import AirCheck
from reportgen.measurements.cleanliness import Cleanliness
from reportgen.measurements.conditions import Condition
from reportgen.measurements.dust import DustTest
from reportgen.measurements.salts import SaltTest
from reportgen.names import names_nobody, says_nothing
from reportgen.units import Quantity

READING_FIELDS = ("location", "spot", "time", "confirmed", "depth", "grade")
"""Columns of a reading row that are not the id of a tape roll.

``depth`` is a reading of a depth micrometer, ``grade`` what was seen beside a reference comparator.
"""


class Shift(Model):
    """Start and end of the shift, local time of the site; an end before the start is on the next day."""

    start: Clock
    end: Clock


class Supersedes(Model):
    """What a revision replaces, and why."""

    revision: Revision
    reason: Text


class Report(Model):
    """Identity of the report."""

    number: ReportNumber
    revision: Revision
    date: Date
    shift: Shift
    inspector: Ident
    present: Annotated[list[Name], Field(description="who else was present")] = []
    countersigners: Annotated[list[Ident], Field(description="people who will sign after the inspector")] = []
    supersedes: Supersedes | None = None
    entered: Annotated[Clock | None, Field(description="when it was entered from paper")] = None

    @field_validator("present")
    @classmethod
    def _somebody(cls, names: list[str]) -> list[str]:
        """Leave out words such as ``none``: nobody was present."""
        return [name for name in names if not names_nobody(name)]


class GaugeCheck(Model):
    """A check of the gauge: anvils, pre-set and shim of a thickness gauge; tip, zero and shim of a depth micrometer."""

    time: Clock
    gauge: Ident
    anvils: Annotated[
        Literal["clean", "cleaned", "not checked"] | None, Field(description="those of a thickness gauge")
    ] = None
    tip: Annotated[
        Literal["clean", "cleaned", "not checked"] | None, Field(description="tip and foot of a depth micrometer")
    ] = None
    zero: Annotated[
        Height | None, Field(description="what a depth micrometer shows on the flat plate, with its sign")
    ] = None
    preset: Annotated[
        Height | None,
        Field(description="what the dial shows with anvils closed; -2.0 mil or -50 um when the film is subtracted"),
    ] = None
    shim: Height | None = None
    shim_reading: Height | None = None
    confirmed: Confirmed = False

    @model_validator(mode="after")
    def _of_one_kind_of_gauge(self) -> Self:
        if (self.anvils is None) == (self.tip is None):
            neither = self.anvils is None
            raise refusal(
                "JOB161", f"the check states {'neither `anvils` nor `tip`' if neither else 'both `anvils` and `tip`'}",
                "write `anvils` for a thickness gauge, `tip` for a depth micrometer: `clean`, `cleaned`, `not checked`",
                (("anvils" if self.zero is None else "tip"),) if neither else (),
            )  # fmt: skip
        if self.zero is not None and self.tip is None:
            raise refusal("JOB161", "`zero` is of a depth micrometer", "write `preset` for a thickness gauge")
        if self.preset is not None and self.anvils is None:
            raise refusal("JOB161", "`preset` is of a thickness gauge", "write `zero` for a depth micrometer")
        return self

    @property
    def clean(self) -> str:
        """State of what touches the steel: anvils, or tip and foot."""
        return self.anvils or self.tip or ""

    @property
    def at_rest(self) -> Quantity | None:
        """What the gauge shows with nothing to measure: anvils closed, or on the flat plate."""
        return self.preset if self.tip is None else self.zero

    @model_validator(mode="after")
    def _shim_pair(self) -> Self:
        if (self.shim is None) != (self.shim_reading is None):
            lacks = ("shim",) if self.shim is None else ("shim_reading",)
            raise refusal("JOB161", "`shim` and `shim_reading` belong together", "state both or neither", lacks)
        return self


class TapeCheck(Model):
    """Thickness of unused tape of a roll, film subtracted as by the gauge's pre-set."""

    time: Clock
    roll: Ident
    gauge: Ident
    thickness: Height
    confirmed: Confirmed = False


class Blasted(Model):
    """When and with what the area was blasted."""

    start: Clock
    end: Clock
    abrasive: Named
    nozzle: Name | None = None
    pressure: AirPressure | None = None
    distance: Distance = None
    angle: Annotated[Name | None, Field(description="of the nozzle to the steel")] = None
    confirmed: Confirmed = False
    """Also of the name of the apparatus, where it looks like the names of several."""


class CsvReadings(Model):
    """Readings in a CSV file beside the day file."""

    csv: RelativePath
    rows: Annotated[Count | None, Field(description="number of rows of readings, to catch a cut or a footer")] = None


def _reading_rows(value: Any) -> Any:
    """Check the shape of inline rows; which rolls exist and what they read is checked against the project."""
    if not isinstance(value, list):
        return value
    if not value:
        until = "leave `profile` out until there are some (`intake` begins it)"
        help_text = f"{until}; if none are to come, say why under `remarks`"
        raise refusal("JOB170", "there are no readings", help_text, (ITSELF,))
    rows = [row if row != "" else {} for row in value]  # one that was begun lacks what rows are read for
    for index, row in enumerate(rows):
        if not isinstance(row, dict) or any(not isinstance(cell, str) for cell in row.values()):
            raise refusal(
                "JOB171",
                f"row {index + 1} is not a row of readings",
                "write `{location: 1, spot: a, <roll>: <reading>}`",
            )
    return rows


InlineReadings = Annotated[list[dict[str, str]], BeforeValidator(_reading_rows)]
Readings = Annotated[
    Annotated[InlineReadings, Tag("inline")] | Annotated[CsvReadings, Tag("csv")],
    Discriminator(lambda value: "csv" if isinstance(value, dict | CsvReadings) else "inline"),
]


class ComparatorRow(Model):
    """A visual comparison with a reference comparator at one location."""

    location: Ident
    grade: Annotated[Name, Field(description="as ISO 8503-2: `fine`, `medium`, `coarse`, or between segments")]


class Direction(Model):
    """One direction of a walk-out from a failing location."""

    towards: Name
    locations: list[Ident]
    no_room: YesNo = False


class WalkOut(Model):
    """Locations measured outward from a failing one until two consecutive ones comply."""

    failing: Ident
    interval: Length
    directions: Annotated[list[Direction], Field(min_length=1, max_length=4)]


class ProfileRecord(Model):
    """Profile measurements of an area; ``comparator`` is what was seen beside the readings, and counts for none."""

    gauge: Annotated[Ident, Field(description="the gauge, or the reference comparator, that was used")]
    film: Literal["subtracted", "included"] = "subtracted"
    readings: Readings
    walk_outs: list[WalkOut] = []
    comparator: list[ComparatorRow] = []

    @model_validator(mode="before")
    @classmethod
    def _comparison_alone(cls, values: Any) -> Any:
        """Say where a comparison belongs that stands beside nothing."""
        if isinstance(values, dict) and values.get("comparator") and "readings" not in values:
            raise refusal(
                "JOB170",
                "a comparison stands alone, and `comparator` is what was seen beside readings",
                "write each as a row of `readings`, `{location: 1, grade: medium}`, and its comparator under `gauge`",
            )
        return values


class Photo(Model):
    """A photo that belongs to an area."""

    file: RelativePath
    caption: Text
    time: Clock | None = None
    location: Ident | None = None
    turn: Annotated[
        Literal["90", "180", "270"] | None, Field(description="degrees to turn it by, clockwise, to stand upright")
    ] = None


class ProcessChange(Model):
    """A change of the blasting process during the shift, with locations before and after it."""

    time: Clock
    change: Text
    before: Ident
    after: Ident


def _names_something(value: list[str], info: ValidationInfo) -> list[str]:
    """Refuse a list that is there and empty: whoever wrote it meant to say something."""
    if not value:
        what = _NAMED[str(info.field_name)]
        raise refusal("JOB164", f"`{info.field_name}` names nothing", f"name {what}, or leave it out", (ITSELF,))
    return value


_NAMED = {
    "blasted_again": "the apparatus whose steel in an entry above or an earlier report was blasted again here",
    "reinspects": "the nonconformances that this re-inspection is to close",
}


class Surface(Model):
    """Everything recorded about one area on this shift."""

    area: Ident
    apparatus: Named
    initial_condition: Literal["A", "B", "C", "D", "coated"]
    blasted: Blasted
    cleanliness: Cleanliness | None = None
    profile: ProfileRecord | None = None
    salts: list[SaltTest] = []
    dust: list[DustTest] = []
    washed: Annotated[
        Clock | None,
        Field(description="when the steel was washed since it was blasted: after a salt or dust test that failed"),
    ] = None
    dust_removed: Annotated[
        Clock | None, Field(description="when dust was removed without water, after a dust test that failed")
    ] = None
    coated: Annotated[Clock | None, Field(description="when the primer was applied")] = None
    photos: list[Photo] = []
    process_changes: list[ProcessChange] = []
    replicas: list[Replica] = []
    cleaned: SizeCleaned = None
    inspector: Annotated[Ident | None, Field(description="who took the readings, where not the inspector")] = None
    oil_test: OilTest | None = None
    comparison: Comparison | None = None
    edges: Annotated[
        Literal["dressed", "not dressed"] | None, Field(description="edges, fins and slivers before blasting")
    ] = None
    positions: Positions = {}
    no_reading: list[NoReading] = []
    blasted_again: Annotated[
        list[Name],
        Field(
            description="apparatus whose steel on this area, in an entry above or an earlier report, was blasted again "
            "here, all of it: what was found on it before stays on record and no longer counts"
        ),
        AfterValidator(_names_something),
    ] = []
    reinspects: Annotated[
        list[Ident],
        Field(description="ids of nonconformances this re-inspection is to close"),
        AfterValidator(_names_something),
    ] = []
    remarks: Text | None = None
    _pending: frozenset[str] = PrivateAttr(default=frozenset())

    @property
    def pending(self) -> frozenset[str]:
        """Fields of which nobody knows yet what stands there: `blasted` for one of its own; nothing follows from them.

        What stands in them of the model only has their form.
        """
        return self._pending

    @property
    def steel_known(self) -> bool:
        """Whether it is known with what, when and by which apparatus it was blasted."""
        return not self._pending & {"apparatus", "blasted"}

    @model_validator(mode="wrap")
    @classmethod
    def _with_pending(cls, values: Any, handler: ValidatorFunctionWrapHandler) -> Self:
        blocks = {name: [value] for name, value in values.items()} if isinstance(values, dict) else {}
        if isinstance(blocks.get("blasted", [None])[0], dict):
            blocks["blasted"] = list(values["blasted"].values())
        pending = {name for name, told in blocks.items() if any(isinstance(one, Pending) for one in told)}
        kept = {name: one for name, one in values.items() if one or name not in pending} if pending else values
        made: Self = handler(kept)
        made._pending = frozenset(pending)
        return made


class NotInspected(Model):
    """An area that was due and not inspected, and why."""

    area: Ident
    reason: Text


class NotTaken(Model):
    """Something written on site that could not be taken in, as it was written, until somebody enters it."""

    area: Annotated[Ident | None, Field(description="area it is about; left out where it may be about all")] = None
    where: Annotated[Text, Field(description="file, page and row")]
    entry: Annotated[Text | None, Field(description="field, or row, line or area for a whole one")] = None
    written: Text | None = None
    reason: Annotated[Text | None, Field(description="why it was not taken")] = None


class Nonconformance(Model):
    """What the inspector raises against findings, until it is closed."""

    id: Ident
    area: Ident | None = None
    findings: Annotated[list[Ident], Field(min_length=1)]
    description: Text
    disposition: Literal["use-as-is", "rework", "repair", "reject"]
    decided_by: Annotated[
        Ident,
        Field(description="who decided; use-as-is and repair are not for an inspector or the contractor to decide"),
    ]
    corrective_action: Text | None = None
    status: Literal["open", "closed"]
    raised_in: Annotated[
        ReportNumber | None, Field(description="number of the report that raised it, when not this one")
    ] = None
    evidence: Annotated[Text | None, Field(description="what closed it")] = None
    due: Annotated[Date | None, Field(description="day by which it is to be settled")] = None
    responsible: Annotated[Named | None, Field(description="who is to settle it")] = None

    @model_validator(mode="after")
    def _closed_with_evidence(self) -> Self:
        if self.status == "closed" and (self.evidence is None or says_nothing(self.evidence)):
            raise refusal(
                "JOB163",
                f"nonconformance {self.id} is closed without `evidence`",
                "say which re-inspection or decision closed it",
                ("evidence",),
            )
        return self


class Day(Model):
    """The day file as a whole."""

    format: Format = 1
    project: RelativePath
    report: Report
    conditions: list[Condition] = []
    gauge_checks: list[GaugeCheck] = []
    tape_checks: list[TapeCheck] = []
    air_checks: list[AirCheck] = []
    abrasive_checks: list[AbrasiveCheck] = []
    function_checks: list[FunctionCheck] = []
    hold_points: list[HoldPoint] = []
    surfaces: list[Surface] = []
    not_inspected: list[NotInspected] = []
    not_taken: list[NotTaken] = []
    nonconformances: list[Nonconformance] = []
    told_released: list[ReleaseTold] = []
    site: Site | None = None
    remarks: Text | None = None

    @property
    def raised_on(self) -> set[str]:
        """The areas on which it raises a nonconformance; one of the whole report is raised on all of its own."""
        new = [one.area for one in self.nonconformances if one.raised_in in (None, self.report.number)]
        named = {area for area in new if area is not None}
        return named | {one.area for one in self.surfaces} if None in new else named
