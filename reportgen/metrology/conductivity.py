"""Uncertainty of what a conductivity meter shows, and of the soluble salts that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.errors import RangeError
from reportgen.metrology.contamination import MIXED_SALTS, PRECISION, PRECISION_RANGE
from reportgen.metrology.distributions import t_factor
from reportgen.metrology.uncertainty import Budget, Component, budget
from reportgen.units import Quantity, kind_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.metrology.exact import Exact

METHOD_SOURCE: Final = "nace-sp0508"


@dataclass(frozen=True, slots=True)
class Meter:
    """What is stated of a meter; None where it is not. A share is one of the reading.

    ``accuracy`` is a limit of error, ``uncertainty`` the certificate's U with the coverage ``factor``, ``resolution``
    the last digit.
    """

    accuracy: Quantity | None = None
    uncertainty: Quantity | None = None
    factor: Exact | None = None
    resolution: Quantity | None = None

    @property
    def shares(self) -> Meter:
        """What is stated as a share of the reading, which holds of a reading in any unit."""
        stated = (self.accuracy, self.uncertainty, self.resolution)
        accuracy, uncertainty, resolution = (
            one if one is not None and kind_of(one.unit) == "share" else None for one in stated
        )
        return Meter(accuracy, uncertainty, self.factor if uncertainty is not None else None, resolution)

    @property
    def known(self) -> bool:
        """Whether its error is stated; the resolution alone says nothing of it."""
        return self.accuracy is not None or self.uncertainty is not None


@dataclass(frozen=True, slots=True)
class Extraction:
    """One extraction of salts: what was measured, in one unit each, and the stated errors of volume and patch area."""

    sample: Quantity
    blank: Quantity
    volume: Quantity
    area: Quantity
    volume_error: Quantity | None = None
    area_error: Quantity | None = None


def stated_error(stated: Quantity, reading: Quantity, unit: str) -> Fraction:
    """Error of one reading from what is stated of the meter: a share of the reading, or a value.

    Parameters:
        stated : Quantity [share, or kind of the reading].
        reading : Quantity.
        unit : str, of the result.
    Returns:
        Error [unit], 0 or more.
    Source: meter-budget
    Examples:
        >>> from decimal import Decimal
        >>> float(stated_error(Quantity(Decimal(2), "%"), Quantity(Decimal(250), "uS/cm"), "uS/cm"))
        5.0
    """
    if kind_of(stated.unit) == "share":
        return abs(reading.in_unit(unit)) * stated.in_unit("%") / 100
    return stated.in_unit(unit)


def meter_components(
    name: str, meter: Meter, reading: Quantity, unit: str, slope: Exact = 1
) -> Iterator[Component]:  # fmt: skip
    """Yield what a meter brings to a result at one reading: limits of error, and the certificate's U beside them.

    Both count: the limits of error say how far the meter may be off its standards, U how well those were known.

    Parameters:
        name : str, of the components.
        meter : Meter.
        reading : Quantity.
        unit : str, of the reading in the budget.
        slope : number [unit of the result per unit], 0 or more.
    Returns:
        Components in the unit of the result, common to all readings of the meter.
    Source: meter-budget
    Examples:
        >>> from decimal import Decimal
        >>> meter = Meter(Quantity(Decimal(2), "%"))
        >>> [float(one.number) for one in meter_components("meter", meter, Quantity(Decimal(50), "uS/cm"), "uS/cm")]
        [1.0]
    """
    for stated, distribution, divisor, source in (
        (meter.accuracy, "rectangular", None, "limits-of-error"),
        (meter.uncertainty, "normal", meter.factor, "calibration-certificate"),
    ):
        if stated is not None:
            error = stated_error(stated, reading, unit) * Fraction(slope)
            yield Component(name, error, distribution, divisor, systematic=True, source=source)  # type: ignore[arg-type]


def precision_component(
    half_width: Exact, source: str, name: str = "method precision"
) -> Component:  # fmt: skip
    """Return the precision of a method, stated as a half-width at 95 %, as a component.

    Parameters:
        half_width : number [unit of the result], 0 or more.
        source : str.
        name : str.
    Returns:
        Component whose divisor is the factor for 95 %, so that it alone gives the half-width back as U.
    Source: meter-budget
    Examples:
        >>> round(float(precision_component(Fraction("8.2"), "nace-sp0508").standard), 3)
        4.184
    """
    return Component(name, half_width, divisor=t_factor(None, 95), source=source)


def salt_precision_component(density: Quantity, constant: Exact = MIXED_SALTS) -> Component:
    """Precision of a single result of the conductivity method, for the budget, at any density.

    It is published for 30 to 80 mg/m² alone, where it is constant in mg/m². Below, the same figure is taken: nothing
    says that it grows as less salt is there, and what is too wide there cannot let anything pass. Above, it is taken to
    grow with the density, as 8.2 to 80. A constant of the contract above that of mixed salts widens it alike; a smaller
    one does not narrow it.

    Parameters:
        density : Quantity [areal density], 0 or more.
        constant : number [kg/(m²·S)], by which the density was computed.
    Returns:
        Component in mg/m2.
    Valid range: published from 30 to 80 mg/m²; our reading of it beyond.
    Source: nace-sp0508
    Examples:
        >>> from decimal import Decimal
        >>> [float(salt_precision_component(Quantity(Decimal(text), "mg/m2")).number) for text in ("12", "45", "160")]
        [8.2, 8.2, 16.4]
    """
    low, high = (end.exact for end in PRECISION_RANGE)
    wider = max(Fraction(1), Fraction(constant) / MIXED_SALTS)
    value = density.in_unit("mg/m2")
    published = low <= value <= high and wider == 1
    half_width = PRECISION.exact * wider * max(Fraction(1), value / high)
    return precision_component(half_width, METHOD_SOURCE if published else "beyond-published")


def salt_budget(
    density: Quantity, made: Extraction, constant: Exact, meter: Meter, precision: Component
) -> Budget:  # fmt: skip
    """Budget of an areal density from conductivity, c·V·Δγ/A: precision of the method, meter, volume, patch.

    The precision holds what happens within one test: the resolution of the meter, the water measured and lost, times,
    the operator (NACE SP0508 1.1.2 names them). So resolution and repeatability are no components of their own. The
    limits of error that are stated of this meter, this syringe and this patch are: the trials cannot have held the
    errors of other apparatus as one that all tests of a day have in common. What the trials' own meters and syringes
    differed by is then counted twice, on the safe side, and it is little beside the precision. The two readings of the
    meter count as independent, although a common offset would cancel; for a share of the reading that is nearly the
    same, as a blank is small. The constant has no error: it is by what the contract expresses salts. Not contained are
    salts that stay on the steel, and a sample and a blank at different temperatures (about 2 % a kelvin).

    Parameters:
        density : Quantity [areal density].
        made : Extraction.
        constant : number [kg/(m²·S)].
        meter : Meter; one that states nothing brings nothing.
        precision : Component [mg/m2], of the method.
    Returns:
        Budget in mg/m2.
    Raises:
        RangeError: a volume or an area of 0 or less.
    Valid range: errors of volume and area small beside them.
    Accuracy: as budget; against the uncertainties package and Monte Carlo.
    Source: meter-budget, nace-sp0508
    Examples:
        >>> from decimal import Decimal
        >>> of = lambda text, unit: Quantity(Decimal(text), unit)
        >>> made = Extraction(of("39.6", "uS/cm"), of("2.1", "uS/cm"), of("3", "ml"), of("12.5", "cm2"))
        >>> found, precision = of("45", "mg/m2"), salt_precision_component(of("45", "mg/m2"))
        >>> round(float(salt_budget(found, made, 5, Meter(of("2", "%")), precision).expanded), 2)
        8.27
    """
    volume, area = made.volume.in_unit("ml"), made.area.in_unit("cm2")
    if volume <= 0 or area <= 0:
        raise RangeError(f"volume and area must be above 0, got {made.volume} and {made.area}")
    slope, exact = Fraction(constant) * volume / area, density.in_unit("mg/m2")
    parts = [precision]
    parts += meter_components("meter at sample", meter, made.sample, "uS/cm", slope)
    parts += meter_components("meter at blank", meter, made.blank, "uS/cm", slope)
    for name, error, whole, unit in (
        ("volume of water", made.volume_error, volume, "ml"), ("patch area", made.area_error, area, "cm2"),
    ):  # fmt: skip
        if error is not None:
            share = error.in_unit(unit) / whole
            parts.append(Component(name, exact * share, "rectangular", systematic=True, source="as-recorded"))
    return budget(parts, "mg/m2")


def reading_budget(
    reading: Quantity, unit: str, meter: Meter, precision: Sequence[Component] = ()
) -> Budget | None:  # fmt: skip
    """Budget of one reading: the meter's errors, half its last digit, and the method's precision where one is stated.

    A precision holds the resolution already. Where neither it nor the meter's error is stated nothing is known.

    Parameters:
        reading : Quantity.
        unit : str, of the result.
        meter : Meter.
        precision : Components [unit], of the method; none where it is not stated.
    Returns:
        Budget in ``unit``, or None.
    Valid range: what the method itself does to the result (slurry, temperature) is contained in a precision alone.
    Source: meter-budget
    Examples:
        >>> from decimal import Decimal
        >>> meter = Meter(Quantity(Decimal(2), "%"), resolution=Quantity(Decimal(1), "uS/cm"))
        >>> round(float(reading_budget(Quantity(Decimal(245), "uS/cm"), "uS/cm", meter).expanded), 2)
        5.57
    """
    if not meter.known and not precision:
        return None
    parts = [*precision, *meter_components("meter", meter, reading, unit)]
    if meter.resolution is not None and not precision:
        half = stated_error(meter.resolution, reading, unit) / 2
        parts.append(Component("meter resolution", half, "rectangular", systematic=True, source="last-digit"))
    return budget(parts, unit)
