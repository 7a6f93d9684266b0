"""The project file: what stays the same on a contract."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from reportgen.errors import QuantityError
from reportgen.fields import (
    AnyQuantity,
    Area,
    Clause,
    Count,
    Date,
    Duration,
    Format,
    Ident,
    Length,
    Model,
    Name,
    Number,
    ProfileLimit,
    ProfileScatter,
    RelativePath,
    ReportNumberPattern,
    Text,
    refusal,
)
from reportgen.job.recorded import HoldStep, Reporting
from reportgen.job.trust import SignerPin
from reportgen.measurements.abrasive import AbrasiveLimits
from reportgen.measurements.air import CompressedAir
from reportgen.measurements.cleanliness import SurfacePreparation
from reportgen.measurements.conditions import ConditionLimits
from reportgen.measurements.dust import DustLimit
from reportgen.measurements.salts import SaltLimit
from reportgen.names import spelt_alike
from reportgen.units import Kind, Quantity, UnitSystem, kind_of, parse_quantity, unit_system

Place = Annotated[
    Name | None,
    Field(description="where it stands, when the contract has several places; conditions count at their own place"),
]

InstrumentKind = Literal[
    "thickness gauge",
    "depth micrometer",
    "hygrometer",
    "psychrometer",
    "surface thermometer",
    "air thermometer",
    "barometer",
    "conductivity meter",
    "comparator",
    "other",
]

ACCURACY_KINDS: dict[str, tuple[Kind, ...]] = {
    "thickness gauge": ("height",),
    "depth micrometer": ("height",),
    "hygrometer": ("share", "temperature difference"),
    "psychrometer": ("temperature difference", "share"),
    "surface thermometer": ("temperature difference",),
    "air thermometer": ("temperature difference",),
    "barometer": ("pressure",),
    "conductivity meter": ("share", "conductivity"),
    "comparator": ("height",),
    "other": ("share", "height", "temperature difference", "pressure", "conductivity"),
}
"""Kinds of quantity in which the accuracy of each kind of instrument may be stated."""


class Contract(Model):
    """The contract under inspection."""

    name: Name
    contract: Name
    client: Name
    contractor: Name
    site: Name
    time_zone: Annotated[Name, Field(description="IANA time zone of the site", examples=["UTC", "Europe/Oslo"])]
    report_numbers: Annotated[
        ReportNumberPattern | None,
        Field(description="pattern of the report numbers; # stands for a digit of the sequence"),
    ] = None
    client_contact: Name | None = None


class InspectionBody(Model):
    """Who inspects: printed on every page."""

    name: Name
    address: Text
    accreditation: Name | None = None
    contact: Name | None = None
    logo: RelativePath | None = None


class Repeatability(Model):
    """How far spots of one location scatter: a standard deviation known beforehand, as from earlier reports."""

    value: ProfileScatter
    degrees_of_freedom: Count
    source: Name


class ProfileRequirement(Model):
    """Required surface profile and the rules by which it is judged."""

    clause: Clause = None
    minimum: ProfileLimit | None = None
    maximum: ProfileLimit | None = None
    comparator_grade: Annotated[
        Name | None, Field(description="ISO 8503-1 grade instead of limits", examples=["medium G"])
    ] = None
    method: Name
    edition: Name
    overlap_rule: Literal["average", "non-averaging", "single-grade"] | None = None
    location_value: Literal["mean", "maximum"] = "mean"
    readings_per_location: Count
    decision_rule: Literal["simple", "guarded", "banded"]
    rounding: Literal["half-even", "half-up", "none"]
    agreement_tolerance: ProfileLimit | None = None
    repeatability: Annotated[
        Repeatability | None,
        Field(description="standard deviation of spots; `reportgen audit query repeatability` prints it from reports"),
    ] = None

    @model_validator(mode="after")
    def _limits_make_a_range(self) -> Self:
        if self.minimum is None and self.maximum is None and self.comparator_grade is None:
            raise refusal(
                "JOB150",
                "the profile has neither `minimum`, `maximum` nor `comparator_grade`",
                "state the specified range",
            )
        if self.comparator_grade is not None and (self.minimum or self.maximum):
            raise refusal(
                "JOB150", "the profile has both limits and a `comparator_grade`", "keep the one the contract states"
            )
        if self.minimum and self.maximum:
            if self.minimum.unit != self.maximum.unit:
                raise refusal(
                    "JOB150", "`minimum` and `maximum` are in different units", "use the unit of the specification"
                )
            if self.minimum.exact >= self.maximum.exact:
                raise refusal("JOB150", f"`minimum` {self.minimum} is not below `maximum` {self.maximum}")
        return self


class Sampling(Model):
    """How many locations the contract requires."""

    clause: Clause = None
    plan: Literal["per-shift-and-apparatus", "area-rate", "length-rate", "fixed"]
    locations: Annotated[
        Count | None, Field(description="locations per shift and apparatus, per area, or for the first step")
    ] = None
    first_area: Area | None = None
    further_area: Area | None = None
    further_locations: Count | None = None
    length: Annotated[Length | None, Field(description="length of weld or edge that needs `locations`")] = None
    additional_per_failing: Count | None = None
    unit_of_record: Literal["m2", "ft2", "m", "ft"] | None = None

    @model_validator(mode="after")
    def _plan_is_complete(self) -> Self:
        needed = {
            "per-shift-and-apparatus": ("locations",),
            "fixed": ("locations",),
            "area-rate": ("locations", "first_area"),
            "length-rate": ("locations", "length"),
        }[self.plan]
        missing = [name for name in needed if getattr(self, name) is None]
        if missing:
            raise refusal("JOB151", f"sampling plan `{self.plan}` needs `{missing[0]}`", f"add `{missing[0]}:`")
        if (self.further_area is None) != (self.further_locations is None):
            raise refusal("JOB151", "`further_area` and `further_locations` belong together", "state both or neither")
        return self


class TimeToCoat(Model):
    """Longest time from the end of blasting to the primer."""

    clause: Clause = None
    maximum: Duration


class Specification(Model):
    """What the contract requires."""

    document: Name
    surface_preparation: SurfacePreparation
    profile: ProfileRequirement
    sampling: Sampling
    conditions: ConditionLimits | None = None
    soluble_salts: SaltLimit | None = None
    dust: DustLimit | None = None
    compressed_air: CompressedAir | None = None
    abrasive: AbrasiveLimits | None = None
    time_to_coat: TimeToCoat | None = None
    hold_points: list[HoldStep] = []
    reporting: Reporting | None = None


class Person(Model):
    """Someone named in the reports."""

    name: Name
    role: Name
    certificate: Name | None = None
    certificate_expires: Date | None = None
    organisation: Name | None = None
    signs_with: Annotated[
        SignerPin | None, Field(description="the certificate this person signs with; no other is accepted")
    ] = None

    def answers_for(self, other: "Person") -> bool:
        """Say whether what ``other`` signed is this one's to revise or close: of one role, or of one organisation.

        A role is free text, so that only the same words are the same role; the client's or the contractor's people are
        named in a job too, and answer for other things.
        """
        if spelt_alike(self.role, other.role):
            return True
        return (
            self.organisation is not None
            and other.organisation is not None
            and spelt_alike(self.organisation, other.organisation)
        )


class Instrument(Model):
    """A measuring instrument with the data of its certificate."""

    kind: InstrumentKind
    serial: Name
    make: Name | None = None
    model: Name | None = None
    unit: Literal["mil", "um"] | None = None
    resolution: AnyQuantity | None = None
    accuracy: AnyQuantity | None = None
    uncertainty: AnyQuantity | None = None
    coverage_factor: Number | None = None
    temperature_accuracy: Annotated[
        AnyQuantity | None, Field(description="limit of error of the thermometer in a hygrometer or psychrometer")
    ] = None
    shim_accuracy: Annotated[
        AnyQuantity | None, Field(description="limit of error of the shim on which a gauge is checked")
    ] = None
    certificate: Name | None = None
    calibrated: Date | None = None
    calibration_due: Date | None = None

    @model_validator(mode="before")
    @classmethod
    def _read_accuracy(cls, values: Any, told: ValidationInfo) -> Any:
        """Read accuracy, resolution and uncertainty in a kind of quantity that fits the kind of instrument."""
        if not isinstance(values, dict):
            return values
        kinds = ACCURACY_KINDS.get(str(values.get("kind")), ())
        found = dict(values)
        if isinstance(text := found.get("temperature_accuracy"), str):
            thermometer: tuple[Kind, ...] = ("temperature difference",)
            found["temperature_accuracy"] = _quantity_of_any("temperature_accuracy", text, thermometer, told.context)
        for field in ("accuracy", "resolution", "uncertainty", "shim_accuracy"):
            if isinstance(found.get(field), str) and kinds:
                found[field] = _quantity_of_any(field, found[field], kinds, told.context)
        return found

    @model_validator(mode="after")
    def _gauge_is_described(self) -> Self:
        on_shim = self.kind in {"thickness gauge", "depth micrometer"}
        if self.shim_accuracy is not None and not on_shim:
            raise refusal("JOB152", f"a {self.kind} is not checked on a shim", "move `shim_accuracy` to the gauge")
        if on_shim and self.unit is None:
            raise refusal("JOB152", f"the {self.kind} has no `unit`", "state the unit it shows: `mil` or `um`")
        if self.calibrated and self.calibration_due and self.calibration_due < self.calibrated:
            raise refusal(
                "JOB152", f"`calibration_due` {self.calibration_due} is before `calibrated` {self.calibrated}"
            )
        if (self.uncertainty is None) != (self.coverage_factor is None):
            raise refusal(
                "JOB152", "`uncertainty` and `coverage_factor` belong together", "copy both from the certificate"
            )
        if self.temperature_accuracy is not None and (
            self.kind not in {"hygrometer", "psychrometer"}
            or (self.accuracy is not None and kind_of(self.accuracy.unit) == "temperature difference")
        ):
            raise refusal(
                "JOB152",
                f"`temperature_accuracy` of a {self.kind} whose `accuracy` is {self.accuracy or 'not stated'}",
                "state it beside the humidity's accuracy of a hygrometer or psychrometer; elsewhere use `accuracy`",
            )
        return self


def _quantity_of_any(field: str, text: str, kinds: tuple[Kind, ...], units: UnitSystem | None) -> Quantity:
    failure: QuantityError | None = None
    for kind in kinds:
        try:
            return parse_quantity(text, kind, such_as=units.such_as(kind) if units else ())
        except QuantityError as error:
            failure = failure or error
    assert failure is not None  # noqa: S101 - kinds is never empty here
    raise refusal("JOB130", f"`{field}`: {failure.message}", failure.help_text)


class TapeRoll(Model):
    """A roll of replica tape."""

    grade: Literal["coarse", "extra coarse"]
    lot: Name
    expires: Date | None = None
    make: Name | None = None
    model: Name | None = None


class AreaPlan(Model):
    """An area: what is released as one."""

    id: Ident
    name: Name
    size: Area | None = None
    weld_length: Length | None = None
    place: Place = None
    drawing: Name | None = None


class Structure(Model):
    """A structure and its areas."""

    id: Ident
    name: Name
    place: Place = None
    drawing: Name | None = None
    areas: Annotated[list[AreaPlan], Field(min_length=1)]


class Project(Model):
    """The project file as a whole."""

    format: Format = 1
    project: Contract
    inspection_body: InspectionBody
    specification: Specification
    people: dict[Ident, Person]
    instruments: dict[Ident, Instrument]
    tape_rolls: dict[Ident, TapeRoll] = {}
    structures: Annotated[list[Structure], Field(min_length=1)]
    template: Ident | None = None
    requires: Annotated[
        list[Name],
        Field(description="what the contract asks to be recorded: keys, or the source of a public list of them"),
    ] = []

    def organisation_of(self, person: Person) -> str | None:
        """Return whose a person is: an inspector for whom nothing is stated is of the inspection body."""
        return person.organisation or (self.inspection_body.name if person.role == "inspector" else None)

    def area(self, area_id: str) -> tuple[Structure, AreaPlan]:
        """Return the structure and the plan of an area; KeyError when the project has none of that id."""
        for structure in self.structures:
            for area in structure.areas:
                if area.id == area_id:
                    return structure, area
        raise KeyError(area_id)

    @property
    def units(self) -> UnitSystem:
        """The units that the contract is written in: what it states decides, where it is silent the gauge's unit."""
        profile, limits = self.specification.profile, self.specification.conditions
        gauges = [one.unit for one in self.instruments.values()]
        heights = [limit.unit for limit in (profile.minimum, profile.maximum) if limit is not None]
        temperatures = ("dew_point_margin", "minimum_steel", "maximum_steel", "minimum_air", "maximum_air")
        stated = [getattr(limits, name, None) for name in temperatures]
        stated += [self.specification.sampling.first_area]
        stated += [area.size for structure in self.structures for area in structure.areas]
        return unit_system([*gauges, *heights], [one.unit for one in stated if one is not None])
