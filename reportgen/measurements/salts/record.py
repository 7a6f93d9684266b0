"""Soluble salts, as the contract limits them and as the inspector records a test."""

from fractions import Fraction
from typing import Annotated, Self

from pydantic import Field

from reportgen.fields import (
    Area,
    ArealDensity,
    Clause,
    Clock,
    Conductivity,
    Confirmed,
    Count,
    DecisionRule,
    Ident,
    Model,
    Number,
    Volume,
    VolumeError,
    check_above_zero,
    check_area_rate,
    checked_whole,
    refusal,
)
from reportgen.metrology.contamination import SaltKind
from reportgen.units import Quantity

LEAST_CONSTANT, LARGEST_CONSTANT = 1, 20
"""kg/(m²·S), between which lies every salt and every ion of one."""
LARGEST_SHARE = 5
"""An error of more than one part in so many is no error of a syringe or a patch."""


class SaltLimit(Model):
    """Limit of soluble salts, what the number expresses, and the rules by which a result is judged."""

    clause: Clause = None
    maximum: ArealDensity
    expressed_as: SaltKind
    constant: Annotated[
        Number | None,
        Field(description="kg/(m2 S): the contract's own factor from conductivity to the salt that the limit is of"),
    ] = None
    precision: Annotated[
        ArealDensity | None,
        Field(description="precision of a single result (95 %) that the contract states; else the published one"),
    ] = None
    decision_rule: DecisionRule | None = None
    tests: Count | None = None
    first_area: Area | None = None
    further_area: Area | None = None
    further_tests: Count | None = None
    additional_per_failing: Count | None = None

    @property
    def rule(self) -> DecisionRule:
        """The decision rule; simple where the contract states none."""
        return self.decision_rule or "simple"

    @checked_whole
    def _constant_is_one(self) -> Self:
        if self.constant is not None and not LEAST_CONSTANT <= self.constant <= LARGEST_CONSTANT:
            raise refusal(
                "JOB162",
                f"`constant` {self.constant} turns no conductivity into a density of salts",
                f"write it in kg/(m2 S), from {LEAST_CONSTANT} to {LARGEST_CONSTANT}; mixed salts have 5",
            )
        return self

    @checked_whole
    def _errs(self) -> Self:
        check_above_zero(self, "precision")
        return self

    @checked_whole
    def _rate_is_one(self) -> Self:
        if self.further_tests is not None and self.further_area is None:
            raise refusal("JOB151", "`further_tests` says nothing without `further_area`", "state both or neither")
        check_area_rate(self.first_area, self.further_area)
        return self


class SaltTest(Model):
    """A soluble-salt test: by conductivity (blank and sample) or as chloride read directly."""

    location: Ident
    area: Area | None = None
    volume: Volume | None = None
    blank: Conductivity | None = None
    sample: Conductivity | None = None
    area_error: Annotated[Area | None, Field(description="limit of error of the patch's area")] = None
    volume_error: Annotated[VolumeError | None, Field(description="limit of error of the volume of water")] = None
    chloride: ArealDensity | None = None
    instrument: Ident | None = None
    time: Clock | None = None
    confirmed: Confirmed = False

    @property
    def below_blank(self) -> Fraction:
        """By how much the sample lies below the blank [µS/cm]; 0 where it does not."""
        if self.sample is None or self.blank is None:
            return Fraction(0)
        return max(Fraction(0), self.blank.in_unit("uS/cm") - self.sample.in_unit("uS/cm"))

    @property
    def _digit(self) -> Fraction:
        """The last digit of blank and sample, the coarser of the two [µS/cm]: by that much a meter may flicker."""
        read = [one for one in (self.sample, self.blank) if one is not None]
        steps = (Quantity(Fraction(1, 10**one.places), one.unit).in_unit("uS/cm") for one in read)
        return max(steps, default=Fraction(0))

    @checked_whole
    def _errs(self) -> Self:
        check_above_zero(self, "area_error")
        return self

    @checked_whole
    def _one_kind(self) -> Self:
        parts = {name: getattr(self, name) for name in ("area", "volume", "blank", "sample")}
        errors = {"area": self.area_error, "volume": self.volume_error}
        if self.chloride is not None:
            if any(value is not None for value in (*parts.values(), *errors.values())):
                raise refusal(
                    "JOB162", "a salt test is either by conductivity or as chloride, not both", "make two tests of it"
                )
            return self
        missing = [name for name, value in parts.items() if value is None]
        if missing:
            raise refusal(
                "JOB162", f"a salt test by conductivity needs `{missing[0]}`", f"add `{missing[0]}:`", tuple(missing)
            )
        if self.below_blank > self._digit:
            raise refusal("JOB162", f"`sample` {self.sample} is below `blank` {self.blank}", "check which is which")
        for name, error in errors.items():
            if error is not None and error.in_unit(parts[name].unit) * LARGEST_SHARE > parts[name].exact:
                raise refusal(
                    "JOB162", f"`{name}_error` {error} is more than a fifth of `{name}` {parts[name]}",
                    "write the limit of error, such as `0.1 ml`",
                )  # fmt: skip
        return self
