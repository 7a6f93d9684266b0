"""What is left on the steel: soluble salts by conductivity, and dust on tape."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal, get_args

from reportgen.errors import RangeError
from reportgen.units import Quantity

if TYPE_CHECKING:
    from collections.abc import Collection

SaltKind = Literal["mixed salts by conductivity", "sodium chloride by conductivity", "chloride"]

MIXED_SALTS: Final = Fraction(5)
"""kg/(m²·S): areal density of mixed salts per unit of conductivity, volume and reciprocal area."""
SODIUM_CHLORIDE: Final = Fraction(47, 10)
"""kg/(m²·S), the same of sodium chloride at 25 °C: its molar mass over its molar conductivity in the dilution of an
extract, 0.1 to 1 mmol/l. It is 1 % more or less at the ends."""
PRECISION: Final = Quantity(Decimal("8.2"), "mg/m2")
"""95 % precision of a single result, constant over the range below."""
PRECISION_RANGE: Final = (Quantity(Decimal(30), "mg/m2"), Quantity(Decimal(80), "mg/m2"))
DUST_QUANTITIES: Final = range(6)
DUST_SIZES: Final = range(6)


@dataclass(frozen=True, slots=True)
class Dust:
    """Rating of one dust tape: quantity 0 to 5 and size class 0 to 5."""

    quantity: int
    size: int

    def __post_init__(self) -> None:
        if self.quantity not in DUST_QUANTITIES or self.size not in DUST_SIZES:
            raise RangeError(f"dust quantity and size are rated 0 to 5, got {self.quantity} and {self.size}")


def salt_density(sample: Quantity, blank: Quantity, volume: Quantity, area: Quantity) -> Quantity:
    """Areal density of soluble salts from the rise of conductivity of the water: c·V·Δγ/A.

    Parameters:
        sample : Quantity [conductivity], of the water after extraction.
        blank : Quantity [conductivity], of the same water before.
        volume : Quantity [volume], of water, above 0.
        area : Quantity [area], of steel extracted, above 0.
    Returns:
        Quantity [areal density] in mg/m2, mixed salts.
    Raises:
        RangeError: a sample below its blank; a volume or area of 0 or less.
    Valid range: both conductivities at one temperature.
    Accuracy: exact for the constant 5 kg/(m²·S).
    Source: iso-8502-9
    Examples:
        >>> us = lambda text: Quantity(Decimal(text), "uS/cm")
        >>> ml, cm2 = Quantity(Decimal(3), "ml"), Quantity(Decimal("12.5"), "cm2")
        >>> float(salt_density(us("12.1"), us("2.1"), ml, cm2).magnitude)
        12.0
    """
    rise = sample.in_unit("uS/cm") - blank.in_unit("uS/cm")
    if rise < 0:
        raise RangeError(f"the sample {sample} conducts less than the blank {blank}")
    water, extracted = volume.in_unit("ml"), area.in_unit("cm2")
    if water <= 0 or extracted <= 0:
        raise RangeError(f"volume and area must be above 0, got {volume} and {area}")
    return Quantity(MIXED_SALTS * water * rise / extracted, "mg/m2")


def expressed_by(density: Quantity, constant: Fraction) -> Quantity:
    """Areal density that the same rise of conductivity means by another constant than that of mixed salts.

    Parameters:
        density : Quantity [areal density], of mixed salts.
        constant : number [kg/(m²·S)], above 0.
    Returns:
        Quantity [areal density] in mg/m2.
    Raises:
        RangeError: a constant of 0 or less.
    Valid range: dilute extracts, where conductivity is proportional to what is dissolved.
    Accuracy: sodium chloride to 2 % from 0.1 to 1 mmol/l, against its printed conductivities.
    Source: sodium-chloride-conductivity
    Examples:
        >>> str(expressed_by(Quantity(Decimal(50), "mg/m2"), SODIUM_CHLORIDE).to("mg/m2").exact)
        '47'
    """
    if constant <= 0:
        raise RangeError(f"the constant must be above 0, got {constant}")
    return Quantity(density.in_unit("mg/m2") * constant / MIXED_SALTS, "mg/m2")


def salt_precision(density: Quantity) -> Quantity | None:
    """Precision of a single result of the conductivity method, where one is published.

    Parameters:
        density : Quantity [areal density].
    Returns:
        Quantity [areal density] in mg/m2, half-width at 95 %; None outside 30 to 80 mg/m2.
    Valid range: one operator's single result.
    Accuracy: as published.
    Source: nace-sp0508
    Examples:
        >>> str(salt_precision(Quantity(Decimal(45), "mg/m2")))
        '8.2 mg/m²'
    """
    low, high = (end.exact for end in PRECISION_RANGE)
    return PRECISION if low <= density.in_unit("mg/m2") <= high else None


def check_same_salts(measured: str, limited: str) -> None:
    """Refuse to compare one kind of salt result with a limit on another.

    Parameters:
        measured : name of what was measured.
        limited : name of what the contract limits.
    Raises:
        RangeError: an unknown name; two different kinds.
    Valid range: mixed salts by conductivity | sodium chloride by conductivity | chloride.
    Source: salt-kinds
    Examples:
        >>> check_same_salts("chloride", "chloride")
    """
    known = get_args(SaltKind)
    for name in (measured, limited):
        if name not in known:
            raise RangeError(f"`{name}` is not a way to express salts", help_text=f"expected {', '.join(known)}")
    if measured != limited:
        raise RangeError(f"a result as {measured} cannot be compared with a limit on {limited}")


def dust_within(observed: Dust, maximum_quantity: int, maximum_size: int) -> bool:
    """Whether a dust rating meets a maximum quantity and a maximum size class.

    Parameters:
        observed : Dust.
        maximum_quantity : int, 0 to 5.
        maximum_size : int, 0 to 5.
    Returns:
        True where neither is exceeded; no dust (quantity 0) meets every size.
    Raises:
        RangeError: a maximum outside 0 to 5.
    Valid range: pictorial ratings, not measurements.
    Source: iso-8502-3
    Examples:
        >>> dust_within(Dust(1, 2), 2, 2)
        True
    """
    allowed = Dust(maximum_quantity, maximum_size)
    if observed.quantity == 0:
        return True
    return observed.quantity <= allowed.quantity and observed.size <= allowed.size


def dust_of_sizes(observed: Dust, maximum_quantity: int, sizes: Collection[int]) -> bool | None:
    """Whether a dust rating meets a maximum quantity that is stated for some size classes alone.

    Parameters:
        observed : Dust.
        maximum_quantity : int, 0 to 5.
        sizes : size classes, 1 or more of 0 to 5, that the quantity is stated for.
    Returns:
        True where there is no more than that of any size; False where there is more, and it is of such a size or
        coarser than one; None where there is more of finer dust, of which the limit does not speak.
    Raises:
        RangeError: no size; a quantity or size outside 0 to 5.
    Valid range: pictorial ratings, not measurements.
    Source: iso-8502-3, imo-msc-215
    Examples:
        >>> [dust_of_sizes(Dust(2, size), 1, (3, 4, 5)) for size in (2, 3)]
        [None, False]
    """
    if not sizes:
        raise RangeError("a quantity for size classes needs at least one of them")
    finest = min(sizes)
    allowed = Dust(maximum_quantity, finest)
    if observed.quantity <= allowed.quantity:
        return True
    return None if observed.size < finest else False
