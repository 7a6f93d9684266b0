"""Measuring instruments with the data of their certificates: what each kind may state of its errors."""

from typing import Annotated, Any, Final, Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from reportgen.errors import QuantityError
from reportgen.fields import AnyQuantity, Date, Model, Name, Number, NumberConfirmed, Percent, check_above_zero, refusal
from reportgen.references import Comparator
from reportgen.units import Kind, Quantity, UnitSystem, kind_of, parse_quantity

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
    "other": ("share", "height", "temperature difference", "pressure", "conductivity", "areal density"),
}
"""Kinds of quantity in which the accuracy of each kind of instrument may be stated."""

OF_READING: Final[frozenset[InstrumentKind]] = frozenset(
    {"thickness gauge", "depth micrometer", "hygrometer", "barometer", "conductivity meter", "other"}
)
"""Kinds of instrument of whose reading a share means something: not of a temperature, whose zero is the scale's."""


class Instrument(Model):
    """A measuring instrument with the data of its certificate."""

    kind: InstrumentKind
    serial: Name
    make: Name | None = None
    model: Name | None = None
    unit: Literal["mil", "um"] | None = None
    resolution: AnyQuantity | None = None
    accuracy: AnyQuantity | None = None
    accuracy_of_reading: Annotated[
        Percent | None, Field(description="limit of error as a share of what it shows; beside `accuracy` both add up")
    ] = None
    uncertainty: AnyQuantity | None = None
    uncertainty_of_reading: Annotated[
        Percent | None,
        Field(description="U of the certificate as a share of what it shows; beside `uncertainty` both add up"),
    ] = None
    coverage_factor: Number | None = None
    temperature_accuracy: Annotated[
        AnyQuantity | None, Field(description="limit of error of the thermometer in a hygrometer or psychrometer")
    ] = None
    shim_accuracy: Annotated[
        AnyQuantity | None, Field(description="limit of error of the shim on which a gauge is checked")
    ] = None
    comparator: Annotated[
        Comparator | None, Field(description="which reference comparator of ISO 8503-1 it is: G for grit, S for shot")
    ] = None
    certificate: Name | None = None
    calibrated: Date | None = None
    calibration_due: Date | None = None
    confirmed: NumberConfirmed = False

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
    def _errs(self) -> Self:
        names = ("accuracy", "resolution", "uncertainty", "temperature_accuracy", "shim_accuracy")
        check_above_zero(self, *names, "accuracy_of_reading", "uncertainty_of_reading")
        return self

    @model_validator(mode="after")
    def _shares_of_its_reading(self) -> Self:
        """Refuse a share of what has no meaning as one, one stated twice, and a dial of which nothing holds at zero."""
        for name in ("accuracy", "uncertainty"):
            share, fixed = getattr(self, f"{name}_of_reading"), getattr(self, name)
            if share is None:
                continue
            if self.kind not in OF_READING:
                raise refusal(
                    "JOB152",
                    f"`{name}_of_reading` of a {self.kind}: a share of what it shows would depend on the scale",
                    f"write `{name}:` as it is at the highest temperature that is read, such as `0.5 degC`",
                )
            if fixed is not None and kind_of(fixed.unit) == "share" and self.kind != "hygrometer":
                raise refusal(
                    "JOB152",
                    f"`{name}` {fixed} of a {self.kind} is a share of its reading, and so is `{name}_of_reading`",
                    "keep one of them",
                )
        on_shim = self.kind in {"thickness gauge", "depth micrometer"}
        if on_shim and self.accuracy_of_reading is not None and not (self.accuracy or self.resolution):
            raise refusal(
                "JOB152",
                f"`accuracy_of_reading` alone leaves the {self.kind} no error where it shows zero",
                "add `resolution:`, the last digit that it shows",
            )
        return self

    @model_validator(mode="after")
    def _gauge_is_described(self) -> Self:
        on_shim = self.kind in {"thickness gauge", "depth micrometer"}
        if self.shim_accuracy is not None and not on_shim:
            raise refusal("JOB152", f"a {self.kind} is not checked on a shim", "move `shim_accuracy` to the gauge")
        if self.comparator is not None and self.kind != "comparator":
            raise refusal("JOB152", f"a {self.kind} is no comparator", "move `comparator` to the reference comparator")
        if on_shim and self.unit is None:
            raise refusal("JOB152", f"the {self.kind} has no `unit`", "state the unit it shows: `mil` or `um`")
        if self.calibrated and self.calibration_due and self.calibration_due < self.calibrated:
            raise refusal(
                "JOB152", f"`calibration_due` {self.calibration_due} is before `calibrated` {self.calibrated}"
            )
        certified = self.uncertainty if self.uncertainty is not None else self.uncertainty_of_reading
        if (certified is None) != (self.coverage_factor is None):
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
    help_text = failure.help_text
    if kinds == ("height",) and text.rstrip().endswith("%"):
        help_text = (
            f"write a height; a share of the reading is `{field}_of_reading: {text.strip()}`"
            if field in ("accuracy", "uncertainty")
            else "write a height, such as `1 um`"
        )
    raise refusal("JOB130", f"`{field}`: {failure.message}", help_text)
