"""Ambient conditions, as the contract limits them and as the inspector reads them."""

from typing import Annotated, Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from reportgen.fields import (
    Clause,
    Clock,
    Confirmed,
    DecisionRule,
    Duration,
    Ident,
    Margin,
    Model,
    Name,
    Percent,
    Pressure,
    Temperature,
    Text,
    YesNo,
    refusal,
    refuse_no_areas,
)
from reportgen.units import EXAMPLES


class ConditionLimits(Model):
    """Limits of the ambient conditions while blasting and coating."""

    clause: Clause = None
    dew_point_margin: Margin | None = None
    maximum_humidity: Percent | None = None
    minimum_steel: Temperature | None = None
    maximum_steel: Temperature | None = None
    minimum_air: Temperature | None = None
    maximum_air: Temperature | None = None
    interval: Duration | None = None
    decision_rule: DecisionRule | None = None
    psychrometer: Annotated[
        Literal["wmo", "ams"] | None,
        Field(description="formula for wet-bulb readings: WMO or AMS psychrometer coefficient"),
    ] = None


class Condition(Model):
    """One reading of the ambient conditions."""

    time: Clock
    place: Annotated[
        Name | None,
        Field(description="where it was taken: a `place` of the contract; needless where the contract has one"),
    ] = None
    areas: Annotated[list[Ident], Field(description="areas it covers, where it does not cover its whole place")] = []
    air: Temperature
    humidity: Percent | None = None
    wet_bulb: Temperature | None = None
    wet_bulb_iced: YesNo = False
    pressure: Pressure | None = None
    steel: Annotated[Temperature, Field(description="the coldest steel at the place")]
    steel_warmest: Temperature | None = None
    instruments: list[Ident] = []
    confirmed: Confirmed = False
    remarks: Text | None = None

    _areas_named = model_validator(mode="before")(refuse_no_areas)

    @model_validator(mode="after")
    def _humidity_once(self, told: ValidationInfo) -> Self:
        if (self.humidity is None) == (self.wet_bulb is None):
            lacks = ("humidity",) if self.humidity is None else ()
            raise refusal(
                "JOB160", "a conditions reading needs either `humidity` or `wet_bulb`", "state one of the two", lacks
            )
        if self.wet_bulb is not None and self.pressure is None:
            examples = told.context.such_as("pressure") if told.context else EXAMPLES["pressure"]
            such_as = " or ".join(f"`pressure: {example}`" for example in examples)
            raise refusal(
                "JOB160", "`wet_bulb` needs the air `pressure`", f"add the station pressure, such as {such_as}",
                ("pressure",),
            )  # fmt: skip
        if self.wet_bulb is not None and self.wet_bulb.in_unit("degC") > self.air.in_unit("degC"):
            raise refusal(
                "JOB160", f"`wet_bulb` {self.wet_bulb} is above `air` {self.air}", "check which thermometer is which"
            )
        return self

    @property
    def taken_at(self) -> str:
        """Where it was taken, as far as it says so: its place, the areas it lists, or both; empty otherwise."""
        areas = ", ".join(self.areas)
        if self.place is None:
            return areas
        return f"{self.place} ({areas})" if areas else self.place
