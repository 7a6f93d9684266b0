"""Oil and salts in the abrasive, as the contract limits them and as the inspector records the checks."""

from typing import Annotated, Literal, Self

from pydantic import Field

from reportgen.fields import (
    Clause,
    Clock,
    Conductivity,
    DecisionRule,
    Duration,
    Ident,
    Model,
    Name,
    Named,
    YesNo,
    check_above_zero,
    checked_whole,
)

OilSeen = Literal["none seen", "film", "cloud"]
"""What the vial test shows."""


class AbrasiveLimits(Model):
    """Cleanliness of the abrasive."""

    clause: Clause = None
    maximum_conductivity: Conductivity | None = None
    conductivity_method: Name | None = None
    conductivity_precision: Annotated[
        Conductivity | None, Field(description="precision of the method (95 %) that the contract states")
    ] = None
    decision_rule: DecisionRule | None = None
    oil_free: Annotated[YesNo, Field(description="an oil test is required")] = False
    interval: Duration | None = None

    @checked_whole
    def _errs(self) -> Self:
        check_above_zero(self, "conductivity_precision")
        return self

    @property
    def rule(self) -> DecisionRule:
        """The decision rule; simple where the contract states none."""
        return self.decision_rule or "simple"


class AbrasiveCheck(Model):
    """Check of the abrasive: oil by vial test, conductivity of its leachate."""

    time: Clock
    abrasive: Named
    apparatus: Annotated[
        Name | None, Field(description="from which it was taken; without it the check is of all that blast with it")
    ] = None
    oil: OilSeen | None = None
    conductivity: Conductivity | None = None
    method: Name | None = None
    instrument: Ident | None = None
