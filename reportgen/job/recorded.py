"""What an inspector records beside measurements: replicas, function checks, hold points, the site, and people."""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from reportgen.errors import QuantityError
from reportgen.fields import (
    AnyQuantity,
    Clause,
    Clock,
    Confirmed,
    Count,
    Duration,
    Height,
    Ident,
    Length,
    Model,
    Name,
    Named,
    Number,
    Percent,
    ProfileLimit,
    ProfileScatter,
    SizeDone,
    Temperature,
    Text,
    YesNo,
    is_placeholder,
    refusal,
    refuse_no_areas,
)
from reportgen.units import Kind, Quantity, UnitSystem, kind_of, parse_quantity

CHECKED_KINDS: dict[str, Kind] = {
    "hygrometer": "share",
    "psychrometer": "temperature",
    "surface thermometer": "temperature",
    "air thermometer": "temperature",
    "barometer": "pressure",
    "conductivity meter": "conductivity",
}
"""Kinds of instrument whose function is checked on site, and what each shows."""

TOLERATED: dict[Kind, tuple[Kind, ...]] = {
    "share": ("share",),
    "temperature": ("temperature difference",),
    "pressure": ("pressure",),
    "conductivity": ("conductivity", "share"),
}
"""What an instrument shows → kinds of quantity that may say how far off it may be; a share of a conductivity is one of
the reference."""

Work = Literal["blasting", "coating"]
"""What a hold point stops."""


class Replica(Model):
    """How a replica came out: of a spot, of a location, or of every reading on the surface that no other entry names.

    One that was thrown away is named with the reason; what it read, where it was read first, stays on record.
    """

    location: Ident | None = None
    spot: Ident | None = None
    roll: Ident | None = None
    grain: Annotated[
        Literal["uniform", "not uniform"] | None,
        Field(description="whether the grain is uniform over the whole circle"),
    ] = None
    rubbed: Literal["fully", "not fully", "slid"] | None = None
    kept: Annotated[Literal["affixed", "kept"] | None, Field(description="affixed to the report, or kept apart")] = None
    thrown_away: Annotated[Text | None, Field(description="why it was thrown away")] = None
    read: Annotated[Height | None, Field(description="what it read before it was thrown away")] = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if (self.grain, self.rubbed, self.kept, self.thrown_away) == (None, None, None, None):
            help_text = "state `grain`, `rubbed`, `kept` or `thrown_away`"
            raise refusal("JOB167", "the replica says nothing", help_text, ("grain",))
        if self.thrown_away is None and self.read is not None:
            raise refusal(
                "JOB167",
                "`read` is of a replica that was thrown away",
                "enter it among the readings, or say why it went",
            )
        if self.thrown_away is not None and self.kept is not None:
            raise refusal("JOB167", f"a replica is both thrown away and {self.kept}", "keep what is true")
        if self.location is None and (self.spot is not None or self.thrown_away is not None):
            raise refusal("JOB167", "nobody can tell which replica this is", "name its `location`", ("location",))
        return self

    def names(self, location: str, spot: str, roll: str | None) -> bool:
        """Whether it is about a reading."""
        told = ((self.location, location), (self.spot, spot), (self.roll, roll))
        return all(own is None or own == other for own, other in told)

    @property
    def faulty(self) -> bool:
        """Whether what was read on it says nothing of the steel."""
        return self.grain == "not uniform" or self.rubbed in ("not fully", "slid")

    @property
    def precision(self) -> int:
        """How closely it names its replica: the entry that does so most closely counts."""
        return sum(part is not None for part in (self.location, self.spot, self.roll))


class FunctionCheck(Model):
    """A check on site that an instrument shows what it should, against a stated reference."""

    time: Clock
    instrument: Ident
    reference: Annotated[AnyQuantity, Field(description="what it should show", examples=["75.3 %", "100 uS/cm"])]
    shown: Annotated[AnyQuantity, Field(description="what it showed", examples=["74 %", "98 uS/cm"])]
    tolerance: Annotated[
        AnyQuantity | None,
        Field(description="how far off it may be; without it the accuracy of the instrument", examples=["3 %"]),
    ] = None
    against: Annotated[Named | None, Field(description="the reference: salt solution, second instrument, standard")] = (
        None
    )
    confirmed: Confirmed = False

    @model_validator(mode="before")
    @classmethod
    def _read_quantities(cls, values: Any, told: ValidationInfo) -> Any:
        """Read reference and reading in one kind of quantity, and the tolerance in a kind that fits it."""
        if not isinstance(values, dict):
            return values
        found = dict(values)
        kinds: tuple[Kind, ...] = tuple(dict.fromkeys(CHECKED_KINDS.values()))
        for name in ("reference", "shown"):
            if _is_filled(found.get(name)):
                found[name], kind = _of_any(name, found[name], kinds, told.context)
                kinds = (kind,)
        if _is_filled(found.get("tolerance")):
            allowed = tuple(dict.fromkeys(one for kind in kinds for one in TOLERATED[kind]))
            found["tolerance"], _ = _of_any("tolerance", found["tolerance"], allowed, told.context)
        return found

    @property
    def kind(self) -> Kind:
        """Kind of quantity that was checked."""
        return kind_of(self.reference.unit)


def _is_filled(text: Any) -> bool:
    """Whether something was written there; what is still to be filled in is for the field to say."""
    return isinstance(text, str) and bool(text.strip()) and not is_placeholder(text)


def _of_any(name: str, text: str, kinds: tuple[Kind, ...], units: UnitSystem | None) -> tuple[Quantity, Kind]:
    failure: QuantityError | None = None
    for kind in kinds:
        try:
            return parse_quantity(text, kind, such_as=units.such_as(kind) if units else ()), kind
        except QuantityError as error:
            failure = failure or error
    assert failure is not None  # noqa: S101 - there is always a kind
    if len(kinds) == 1:
        raise refusal("JOB130", f"`{name}`: {failure.message}", failure.help_text)
    raise refusal(
        "JOB130", f"`{name}`: `{text}` is not what an instrument shows", "write `75 %`, `20.0 degC` or `98 uS/cm`"
    )


class HoldStep(Model):
    """A step at which the contract stops the work until somebody releases it."""

    step: Name
    before: Annotated[Work, Field(description="the work that must wait for it")]
    clause: Clause = None


class HoldPoint(Model):
    """A hold point as it was asked for, released or refused, by whom and when."""

    step: Name
    areas: Annotated[list[Ident], Field(description="areas it is about; all where the field is left out")] = []
    before: Annotated[
        Literal["blasting", "coating", "other"] | None,
        Field(description="the work that waits for it, where the project file does not list the step"),
    ] = None
    asked: Clock | None = None
    released: Clock | None = None
    refused: Clock | None = None
    by: Annotated[Named | None, Field(description="who released or refused it")] = None
    confirmed: Annotated[YesNo, Field(description="yes: `by` names who it was, though the project file does not")] = (
        False
    )
    remarks: Text | None = None

    _areas_named = model_validator(mode="before")(refuse_no_areas)

    @model_validator(mode="after")
    def _one_answer(self) -> Self:
        if (self.asked, self.released, self.refused) == (None, None, None):
            help_text = "state `asked`, `released` or `refused`"
            raise refusal("JOB166", f"hold point `{self.step}` has no time", help_text, ("asked",))
        if self.released is not None and self.refused is not None:
            help_text = "make two entries of what was refused first and released later"
            raise refusal("JOB166", f"hold point `{self.step}` is both released and refused", help_text)
        if (self.released or self.refused) is not None and self.by is None:
            raise refusal("JOB166", f"nobody can tell who answered hold point `{self.step}`", "state `by`", ("by",))
        return self

    @property
    def answered(self) -> Clock | None:
        """When it was released or refused."""
        return self.released if self.released is not None else self.refused


class ComparedValue(Model):
    """One reading of somebody else: at a spot, or of a whole location, as a profile."""

    location: Ident
    spot: Ident | None = None
    profile: Annotated[
        ProfileLimit, Field(description="net of the film of replica tape", examples=["2.6 mil", "66 um"])
    ]


class Comparison(Model):
    """Somebody else's readings at locations of a surface, beside the inspector's; they enter no verdict."""

    by: Annotated[Named, Field(description="who took them")]
    organisation: Named | None = None
    gauge: Annotated[Named | None, Field(description="serial number, or whatever names it")] = None
    time: Clock | None = None
    gauge_accuracy: Annotated[ProfileScatter | None, Field(description="limit of error of that gauge")] = None
    gauge_accuracy_of_reading: Annotated[
        Percent | None,
        Field(description="limit of error as a share of what it shows; beside `gauge_accuracy` both add up"),
    ] = None
    expanded_uncertainty: Annotated[
        ProfileScatter | None,
        Field(description="of one location's value, as they state it, the scatter of their spots in it"),
    ] = None
    coverage_factor: Annotated[Number | None, Field(description="of that uncertainty; 2 where none is stated")] = None
    same_replicas: Annotated[YesNo, Field(description="they read the inspector's replicas, and made none")] = False
    values: Annotated[list[ComparedValue], Field(min_length=1)]

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        help_text = "give one value for the location, or one for each of its spots"
        seen: set[tuple[str, str | None]] = set()
        for row in self.values:
            if (row.location, row.spot) in seen:
                message = f"location {row.location} has two values of one thing"
                raise refusal("JOB168", message, help_text)
            seen.add((row.location, row.spot))
        by_spots = {location for location, spot in seen if spot is not None}
        for number, row in enumerate(self.values):
            if row.spot is None and row.location in by_spots:
                message = f"location {row.location} has a value without `spot` beside those of its spots"
                raise refusal("JOB168", message, help_text, (("values", number, "spot"),))
        return self

    @model_validator(mode="after")
    def _factor_of_something(self) -> Self:
        if self.coverage_factor is not None and self.expanded_uncertainty is None:
            message = "`coverage_factor` belongs to an `expanded_uncertainty`"
            raise refusal("JOB168", message, "state both, or neither", ("expanded_uncertainty",))
        if self.coverage_factor is not None and self.coverage_factor <= 0:
            raise refusal("JOB168", f"`coverage_factor` {self.coverage_factor} is none", "write such as `2`")
        return self


class OilTest(Model):
    """Whether the steel was free of oil before it was blasted."""

    result: Annotated[
        Literal["clean", "oil removed", "oil"], Field(description="`oil` where it was found and not removed")
    ]
    method: Name | None = None
    time: Clock | None = None


class NoReading(Model):
    """A location at which no reading was possible, and why."""

    location: Ident
    reason: Text


class ReleaseTold(Model):
    """To whom it was said that an area is released, and when."""

    area: Ident
    to: Named
    time: Clock
    by: Named | None = None


class Site(Model):
    """Facts of the day; `none` is a statement, and a line left out says nothing."""

    weather: Annotated[Text | None, Field(description="in the morning and in the afternoon")] = None
    wind: Text | None = None
    high: Temperature | None = None
    low: Temperature | None = None
    blasters: Count | None = None
    equipment: Text | None = None
    agreements: Annotated[Text | None, Field(description="what was agreed by word of mouth, with whom")] = None
    deviations: Annotated[Text | None, Field(description="deviations from the method")] = None
    results_from_others: Text | None = None
    client_data: Annotated[Text | None, Field(description="data that the client supplied")] = None

    @model_validator(mode="after")
    def _high_above_low(self) -> Self:
        if self.high is not None and self.low is not None and self.high.in_unit("degC") < self.low.in_unit("degC"):
            message = f"`high` {self.high} is below `low` {self.low}"
            raise refusal("JOB169", message, "check which of the two is which")
        return self


class Reporting(Model):
    """How soon after the shift the report is due."""

    clause: Clause = None
    within: Duration


SizeCleaned = Annotated[SizeDone | None, Field(description="size of what this entry blasted today")]
Distance = Annotated[Length | None, Field(description="from the nozzle to the steel")]
Positions = Annotated[dict[Ident, Text], Field(description="location: where on the area it is")]
