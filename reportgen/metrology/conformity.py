"""Conformity of one value with limits: decision rule, rounding, verdict, and the number that was compared."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal

from reportgen.errors import RangeError
from reportgen.metrology.distributions import normal_probability
from reportgen.metrology.uncertainty import printed_places, printed_uncertainty
from reportgen.units import Quantity, RoundingRule, rounded

if TYPE_CHECKING:
    from collections.abc import Iterable
    from decimal import Decimal

DecisionRule = Literal["simple", "guarded", "banded"]
Rounding = Literal["half-even", "half-up", "none"]
Verdict = Literal["conforms", "does not conform", "inconclusive", "not evaluated"]
Band = Literal["pass", "conditional pass", "conditional fail", "fail"]
Side = Literal["below-minimum", "above-maximum"]

_VERDICTS: Final[dict[DecisionRule, dict[Band, Verdict]]] = {
    "simple": {"pass": "conforms", "fail": "does not conform"},
    "guarded": {
        "pass": "conforms",
        "conditional pass": "does not conform",
        "conditional fail": "does not conform",
        "fail": "does not conform",
    },
    "banded": {
        "pass": "conforms",
        "conditional pass": "inconclusive",
        "conditional fail": "inconclusive",
        "fail": "does not conform",
    },
}
"""What each band means. Guarded acceptance is binary: what is not shown to conform does not conform. The banded rule
leaves both bands within U of the limit open: the measurement alone does not decide there, the contract's parties do."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Least and greatest value allowed, as the contract states them; both in one unit, one of them may be open.

    Both belong to the range, save a maximum that ``excludes_maximum``: a comparator's grade ends before its upper
    segment.
    """

    minimum: Quantity | None = None
    maximum: Quantity | None = None
    excludes_maximum: bool = False

    def __post_init__(self) -> None:
        stated = self.stated
        if not stated:
            raise RangeError("a requirement needs a minimum or a maximum")
        if any(isinstance(limit.magnitude, Fraction) for limit in stated):
            raise RangeError("a limit is judged as it is written: a converted one has no last digit to round to")
        if len({limit.unit for limit in stated}) > 1:
            raise RangeError(f"minimum and maximum must be stated in one unit, got {stated[0]} and {stated[1]}")
        if stated[0].exact > stated[-1].exact:
            raise RangeError(f"the minimum {stated[0]} is above the maximum {stated[1]}")

    @property
    def stated(self) -> tuple[Quantity, ...]:
        """Limits that are there, minimum first."""
        return tuple(limit for limit in (self.minimum, self.maximum) if limit is not None)

    @property
    def unit(self) -> str:
        """Unit of the requirement: everything is judged in it."""
        return self.stated[0].unit

    @property
    def places(self) -> int:
        """Decimals of the finer of the limits as written."""
        return max(limit.places for limit in self.stated)


@dataclass(frozen=True, slots=True)
class Judgement:
    """Verdict with the number that decided it: ``compared`` is what is printed, in ``unit``, with its digits.

    ``band`` is the ILAC band; ``side`` the limit that is not met, or (inside a guard band) is too near;
    ``guard`` the uncertainty used as guard band, as printed; ``expanded`` the uncertainty to print beside ``compared``.
    """

    verdict: Verdict
    band: Band
    compared: Decimal
    unit: str
    side: Side | None
    guard: Decimal | None
    expanded: Decimal | None

    @property
    def places(self) -> int:
        """Decimals of ``compared``."""
        return Quantity(self.compared, self.unit).places


def judge(
    value: Quantity, limits: Limits, *, rule: DecisionRule = "simple", rounding: Rounding = "half-even",
    expanded: Quantity | None = None,
) -> Judgement:  # fmt: skip
    """Judge one value against limits, in the unit of the limits, by a stated decision and rounding rule.

    Rounding ``half-even`` or ``half-up`` is the rounding method: the value is rounded to the last digit of the limits
    as written (of the guard band, where that is finer) and then compared. ``none`` is the absolute method: the
    unrounded value is compared, and as many digits are printed as show the same decision.

    Parameters:
        value : Quantity [kind of the limits].
        limits : Limits.
        rule : simple | guarded | banded.
        rounding : half-even | half-up | none.
        expanded : Quantity [kind of the limits], expanded uncertainty U; required for guarded and banded.
    Returns:
        Judgement whose compared number and verdict cannot disagree.
    Raises:
        QuantityError: value and limits of different kinds.
        RangeError: guarded or banded without an uncertainty.
    Valid range: all; a guard band wider than half the range lets nothing conform.
    Accuracy: exact.
    Source: ilac-g8, astm-e29
    Examples:
        >>> from decimal import Decimal
        >>> limits = Limits(Quantity(Decimal("2.0"), "mil"), Quantity(Decimal("3.5"), "mil"))
        >>> judge(Quantity(Decimal("1.96"), "mil"), limits).verdict
        'conforms'
        >>> judge(Quantity(Decimal("1.96"), "mil"), limits, rounding="none").verdict
        'does not conform'
    """
    unit = limits.unit
    exact = value.in_unit(unit)
    wide = None if expanded is None else expanded.in_unit(unit)
    guard = None
    if rule != "simple":
        if wide is None:
            raise RangeError(f"the decision rule `{rule}` needs an expanded uncertainty")
        guard = printed_uncertainty(wide)
    fine = printed_places(wide) if wide else limits.places
    places = max(limits.places, fine) if guard or rounding == "none" else limits.places
    width = Fraction(guard or 0)
    compared = _compared(exact, limits, width, places, rounding)
    band, side = _band(Fraction(compared), limits, width)
    shown = None if wide is None else printed_uncertainty(wide, min(fine, Quantity(compared, unit).places))
    return Judgement(_VERDICTS[rule][band], band, compared, unit, side, guard, guard or shown)


def _compared(exact: Fraction, limits: Limits, width: Fraction, places: int, rounding: Rounding) -> Decimal:
    """Return the number to compare and print; unrounded values get digits until they show their own decision."""
    if rounding != "none":
        return rounded(exact, places, rounding)
    truth = _band(exact, limits, width)
    shown = rounded(exact, places)
    while _band(Fraction(shown), limits, width) != truth:
        places += 1
        shown = rounded(exact, places)
    return shown


def _band(value: Fraction, limits: Limits, width: Fraction) -> tuple[Band, Side | None]:
    """Place a value by its distance inside the nearest limit: at least ``width`` passes, less than -``width`` fails."""
    distances: list[tuple[Fraction, Side]] = []
    if limits.minimum is not None:
        distances.append((value - limits.minimum.exact, "below-minimum"))
    if limits.maximum is not None:
        distances.append((limits.maximum.exact - value, "above-maximum"))
    inside, side = min(distances)
    if limits.excludes_maximum and limits.maximum is not None and value == limits.maximum.exact:
        return ("conditional fail" if width else "fail"), "above-maximum"
    if inside >= width:
        return "pass", None
    if inside >= 0:
        return "conditional pass", side
    return ("conditional fail", side) if inside >= -width else ("fail", side)


def probability_of_conformity(value: Quantity, standard_uncertainty: Quantity, limits: Limits) -> Fraction:
    """Probability that the true value lies within the limits, for a normal distribution about the measured one.

    Parameters:
        value : Quantity [kind of the limits].
        standard_uncertainty : Quantity [kind of the limits], 0 or more.
        limits : Limits.
    Returns:
        Probability [1], 0 to 1; 0 or 1 without uncertainty.
    Raises:
        QuantityError: different kinds.
        RangeError: a negative uncertainty.
    Valid range: no prior knowledge of the surface; a difference of temperature needs its own kind.
    Accuracy: double precision.
    Source: jcgm-106
    Examples:
        >>> from decimal import Decimal
        >>> mil = lambda text: Quantity(Decimal(text), "mil")
        >>> round(float(probability_of_conformity(mil("1.4"), mil("0.1"), Limits(mil("1.5"), mil("3.0")))), 4)
        0.1587
    """
    unit = limits.unit
    exact, spread = value.in_unit(unit), standard_uncertainty.in_unit(unit)
    if spread < 0:
        raise RangeError("an uncertainty is never negative")
    if not spread:
        return Fraction(_band(exact, limits, Fraction(0))[0] == "pass")
    upper = 1.0 if limits.maximum is None else normal_probability((limits.maximum.exact - exact) / spread)
    lower = 0.0 if limits.minimum is None else normal_probability((limits.minimum.exact - exact) / spread)
    return Fraction(max(0.0, upper - lower))


def combined_verdict(verdicts: Iterable[Verdict]) -> Verdict:
    """Verdict on a whole from the verdicts on its parts.

    Parameters:
        verdicts : iterable of Verdict.
    Returns:
        ``does not conform`` where one part does not; else ``inconclusive`` where one part is, or where some but not
        all parts were evaluated; ``conforms`` where all do; ``not evaluated`` where nothing was.
    Raises:
        nothing.
    Valid range: all.
    Accuracy: exact.
    Source: combined-verdict
    Examples:
        >>> combined_verdict(["conforms", "not evaluated"])
        'inconclusive'
    """
    seen = set(verdicts)
    if "does not conform" in seen:
        return "does not conform"
    if "inconclusive" in seen or {"conforms", "not evaluated"} <= seen:
        return "inconclusive"
    return "conforms" if "conforms" in seen else "not evaluated"


def rounding_rule(rounding: Rounding) -> RoundingRule:
    """Rule for printing beside a verdict: the stated one, and half to even where the absolute method states none.

    Parameters:
        rounding : half-even | half-up | none.
    Returns:
        half-even | half-up.
    Raises:
        nothing.
    Valid range: all.
    Accuracy: exact.
    Source: astm-e29
    Examples:
        >>> rounding_rule("none")
        'half-even'
    """
    return "half-even" if rounding == "none" else rounding
