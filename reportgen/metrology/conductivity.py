"""Uncertainty of what a conductivity meter shows, and of the soluble salts that follow from it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.errors import RangeError
from reportgen.metrology.contamination import MIXED_SALTS, PRECISION, PRECISION_RANGE
from reportgen.metrology.distributions import t_factor
from reportgen.metrology.uncertainty import Budget, Component, Errors, budget, instrument_components

if TYPE_CHECKING:
    from reportgen.metrology.exact import Exact
    from reportgen.units import Quantity


@dataclass(frozen=True, slots=True)
class Extraction:
    """One extraction of salts: what was measured, and the stated errors of volume and patch area, None where not."""

    sample: Quantity
    blank: Quantity
    volume: Quantity
    area: Quantity
    volume_error: Quantity | None = None
    area_error: Quantity | None = None


def precision_component(half_width: Exact, source: str) -> Component:
    """Return the precision of a method, stated as a half-width at 95 %, as a component.

    Parameters:
        half_width : number [unit of the result], 0 or more.
        source : str.
    Returns:
        Component whose divisor is the factor for 95 %, so that it alone gives the half-width back as U.
    Source: meter-budget
    Examples:
        >>> round(float(precision_component(Fraction("8.2"), "contract").standard), 3)
        4.184
    """
    return Component("method precision", half_width, divisor=t_factor(None, 95), source=source)


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
        >>> from reportgen.units import Quantity
        >>> [float(salt_precision_component(Quantity(Decimal(text), "mg/m2")).number) for text in ("12", "45", "160")]
        [8.2, 8.2, 16.4]
    """
    low, high = (end.exact for end in PRECISION_RANGE)
    wider = max(Fraction(1), Fraction(constant) / MIXED_SALTS)
    value = density.in_unit("mg/m2")
    published = low <= value <= high and wider == 1
    half_width = PRECISION.exact * wider * max(Fraction(1), value / high)
    return precision_component(half_width, "published-precision" if published else "beyond-published")


def salt_budget(
    density: Quantity, made: Extraction, constant: Exact, precision: Component, *, at_sample: Errors, at_blank: Errors
) -> Budget:  # fmt: skip
    """Budget of an areal density from conductivity, c·V·Δγ/A: precision of the method, meter, volume, patch.

    The precision holds what happens within one test: the water measured and lost, times, the operator (NACE SP0508
    1.1.2 names them). So repeatability is no component of its own. The limits of error and the resolution that are
    stated of this meter, this syringe and this patch are: the trials cannot have held the errors of other apparatus,
    nor the last digit of a coarser meter. What the trials' own meters and syringes differed by is then counted twice,
    on the safe side, and it is little beside the precision. The two readings of the
    meter count as independent, although a common offset would cancel; for a share of the reading that is nearly the
    same, as a blank is small. The constant has no error: it is by what the contract expresses salts. Not contained are
    salts that stay on the steel, and a sample and a blank at different temperatures (about 2 % a kelvin).

    Parameters:
        density : Quantity [areal density].
        made : Extraction.
        constant : number [kg/(m²·S)].
        precision : Component [mg/m2], of the method.
        at_sample : Errors [uS/cm] of the meter at that reading; what is not known brings nothing.
        at_blank : Errors [uS/cm], the same at the blank.
    Returns:
        Budget in mg/m2.
    Raises:
        RangeError: a volume or an area of 0 or less.
    Valid range: errors of volume and area small beside them.
    Accuracy: as budget; against the uncertainties package and Monte Carlo.
    Source: meter-budget, nace-sp0508
    Examples:
        >>> from decimal import Decimal
        >>> from reportgen.units import Quantity
        >>> of = lambda text, unit: Quantity(Decimal(text), unit)
        >>> made = Extraction(of("39.6", "uS/cm"), of("2.1", "uS/cm"), of("3", "ml"), of("12.5", "cm2"))
        >>> found, precision = of("45", "mg/m2"), salt_precision_component(of("45", "mg/m2"))
        >>> errors = {"at_sample": Errors("uS/cm", Fraction("0.792")), "at_blank": Errors("uS/cm", Fraction("0.042"))}
        >>> round(float(salt_budget(found, made, 5, precision, **errors).expanded), 2)
        8.27
    """
    volume, area = made.volume.in_unit("ml"), made.area.in_unit("cm2")
    if volume <= 0 or area <= 0:
        raise RangeError(f"volume and area must be above 0, got {made.volume} and {made.area}")
    slope, exact = Fraction(constant) * volume / area, density.in_unit("mg/m2")
    parts = [precision]
    for name, errors in (("meter at sample", at_sample), ("meter at blank", at_blank)):
        parts += instrument_components(name, errors, slope)
    for name, error, whole, unit in (
        ("volume of water", made.volume_error, volume, "ml"), ("patch area", made.area_error, area, "cm2"),
    ):  # fmt: skip
        if error is not None:
            value = error.in_unit(unit)
            parts.append(Component(name, value, "rectangular", None, exact / whole, source="as-recorded", unit=unit))
    return budget(parts, "mg/m2")


def reading_budget(name: str, errors: Errors, precision: Component | None = None) -> Budget | None:
    """Budget of one reading: the instrument's errors, and the method's precision where one is stated.

    Where neither the precision nor the instrument's error is stated nothing is known.

    Parameters:
        name : str, of the instrument.
        errors : Errors [unit of the result].
        precision : Component [unit of the result], of the method, or None where it is not stated.
    Returns:
        Budget in the unit of the errors, or None.
    Valid range: what the method itself does to the result (slurry, temperature) is contained in a precision alone.
    Source: meter-budget
    Examples:
        >>> round(float(reading_budget("meter", Errors("uS/cm", Fraction("4.9"), resolution=1)).expanded), 2)
        5.57
    """
    if precision is None and not errors.known:
        return None
    return budget([*([] if precision is None else [precision]), *instrument_components(name, errors)], errors.unit)
