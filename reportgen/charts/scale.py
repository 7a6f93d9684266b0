"""The one profile scale of a report: every strip, histogram and locations chart uses it, so that pages compare."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from reportgen.units import printed

if TYPE_CHECKING:
    from collections.abc import Iterable
    from decimal import Decimal

_NICE = (Fraction(1), Fraction(2), Fraction(5, 2), Fraction(5), Fraction(10))
_STEPS_ABOUT = 7


@dataclass(frozen=True, slots=True)
class ProfileScale:
    """From ``low`` to ``high`` in steps of ``step``, with the limits, all exact, in the specification's ``unit``."""

    low: Fraction
    high: Fraction
    step: Fraction
    minimum: Decimal | None
    maximum: Decimal | None
    unit: str

    def ticks(self) -> tuple[Fraction, ...]:
        """Values that get a tick, from ``low`` to ``high``."""
        count = int((self.high - self.low) / self.step)
        return tuple(self.low + index * self.step for index in range(count + 1))

    def tick_text(self, value: Fraction, *, whole: bool = False) -> str:
        """Text of a tick: as many decimals as the step needs, none of a ``whole`` number."""
        if whole:
            return str(value)
        places = next((n for n in range(4) if (self.step * 10**n).denominator == 1), 4)
        return printed(f"{float(value):.{places}f}")

    def share(self, value: Decimal | Fraction | float) -> float:
        """Position of a value on the scale: 0 at ``low``, 1 at ``high``; values outside are held at the ends."""
        return min(1.0, max(0.0, float((Fraction(value) - self.low) / (self.high - self.low))))


def profile_scale(
    values: Iterable[Decimal], minimum: Decimal | None, maximum: Decimal | None, unit: str
) -> ProfileScale | None:
    """Return the scale that holds all values and both limits with a margin; None when there is nothing to show.

    The margin is a tenth of the range at each end; the ends are multiples of a step of 1, 2, 2.5 or 5 x 10^n.
    """
    shown = [Fraction(value) for value in values]
    shown += [Fraction(limit) for limit in (minimum, maximum) if limit is not None]
    if not shown:
        return None
    low, high = min(shown), max(shown)
    spread = (high - low) or abs(high) / 2 or Fraction(1)
    step = nice_step(spread * Fraction(6, 5), _STEPS_ABOUT)
    first = max(Fraction(0), (low - spread / 10) // step * step) if low >= 0 else (low - spread / 10) // step * step
    last = -((-high - spread / 10) // step) * step
    return ProfileScale(first, last, step, minimum, maximum, unit)


def nice_step(spread: Fraction, count: int) -> Fraction:
    """Return the smallest step of 1, 2, 2.5 or 5 x 10^n that covers ``spread`` (above zero) in ``count`` steps."""
    wanted = spread / count
    power = Fraction(1)
    while power > wanted:
        power /= 10
    while power * 10 <= wanted:
        power *= 10
    return next(power * nice for nice in _NICE if power * nice >= wanted)
