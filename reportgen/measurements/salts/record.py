"""Soluble salts, as the contract limits them and as the inspector records a test."""

from typing import Literal, Self

from reportgen.fields import (
    Area,
    ArealDensity,
    Clause,
    Clock,
    Conductivity,
    Confirmed,
    Count,
    Ident,
    Model,
    Volume,
    checked_whole,
    refusal,
)


class SaltLimit(Model):
    """Limit of soluble salts, and what the number expresses."""

    clause: Clause = None
    maximum: ArealDensity
    expressed_as: Literal["mixed salts by conductivity", "chloride"]
    tests: Count | None = None
    first_area: Area | None = None
    further_area: Area | None = None
    further_tests: Count | None = None
    additional_per_failing: Count | None = None


class SaltTest(Model):
    """A soluble-salt test: by conductivity (blank and sample) or as chloride read directly."""

    location: Ident
    area: Area | None = None
    volume: Volume | None = None
    blank: Conductivity | None = None
    sample: Conductivity | None = None
    chloride: ArealDensity | None = None
    instrument: Ident | None = None
    time: Clock | None = None
    confirmed: Confirmed = False

    @property
    def expressed_as(self) -> str:
        """What its number expresses, as a limit says it."""
        return "mixed salts by conductivity" if self.chloride is None else "chloride"

    @checked_whole
    def _one_kind(self) -> Self:
        parts = {name: getattr(self, name) for name in ("area", "volume", "blank", "sample")}
        if self.chloride is not None:
            if any(value is not None for value in parts.values()):
                raise refusal(
                    "JOB162", "a salt test is either by conductivity or as chloride, not both", "make two tests of it"
                )
            return self
        missing = [name for name, value in parts.items() if value is None]
        if missing:
            raise refusal("JOB162", f"a salt test by conductivity needs `{missing[0]}`", f"add `{missing[0]}:`")
        if self.sample and self.blank and self.sample.in_unit("uS/cm") < self.blank.in_unit("uS/cm"):
            raise refusal("JOB162", f"`sample` {self.sample} is below `blank` {self.blank}", "check which is which")
        return self
