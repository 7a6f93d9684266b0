"""Conformity of one value with limits: decision rule, rounding, verdict, and the number that was compared."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Context, Decimal
from fractions import Fraction
from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from reportgen.errors import RangeError
from reportgen.metrology.distributions import t_probability
from reportgen.metrology.uncertainty import printed_places, printed_uncertainty
from reportgen.units import Quantity, rounded

if TYPE_CHECKING:
    from collections.abc import Iterable

DecisionRule = Literal["simple", "guarded", "banded"]
Rounding = Literal["half-even", "half-up", "none"]
Verdict = Literal["conforms", "does not conform", "inconclusive", "not evaluated"]
Band = Literal["pass", "conditional pass", "conditional fail", "fail"]
Side = Literal["below-minimum", "above-maximum"]

PROBABILITY_PLACES: Final = 4
"""Decimals with which a probability of conformity is printed."""
_VERDICTS: Final[dict[DecisionRule, dict[Band, Verdict]]] = {
    "simple": {"pass": "conforms", "fail": "does not conform"},
    "guarded": {
        "pass": "conforms",
        "conditional pass": "inconclusive",
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
"""What each band means. Guarded acceptance takes a value only where it is shown to conform; one within the limits but
nearer to them than U is not accepted, and does not fail either: it is measured again. The banded rule leaves both bands
within U of the limit open: the measurement alone does not decide there, the contract's parties do."""


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
    """Verdict with the numbers that show it, in ``unit``: judged again from what is printed, it is the same.

    ``band`` is the ILAC band; ``side`` the limit that is not met, or (inside a guard band) is too near.
    ``shown`` is the value and ``expanded`` its uncertainty, each with the digits to print; ``compared`` is what the
    rounding method compares with the limits, or ``shown`` by the absolute method. ``guarded``: U was a guard band.
    """

    verdict: Verdict
    band: Band
    shown: Decimal
    compared: Decimal
    unit: str
    side: Side | None
    expanded: Decimal | None
    guarded: bool


def judge(
    value: Quantity, limits: Limits, *, rule: DecisionRule = "simple", rounding: Rounding = "half-even",
    expanded: Quantity | None = None, places: int = 0,
) -> Judgement:  # fmt: skip
    """Judge one value against limits, in the unit of the limits, by a stated decision and rounding rule.

    Rounding ``half-even`` or ``half-up`` is the rounding method: the value is rounded to the last digit of the limits
    as written and then compared with them. ``none`` is the absolute method: the unrounded value is compared. A guard
    band is the exact U, and whether a value lies inside the limits by that much is judged on the exact value, so that
    no verdict depends on the unit or on the digits of an uncertainty.

    Parameters:
        value : Quantity [kind of the limits].
        limits : Limits.
        rule : simple | guarded | banded.
        rounding : half-even | half-up | none.
        expanded : Quantity [kind of the limits], expanded uncertainty U; required for guarded and banded. Its
            first 30 digits count, in the metric unit.
        places : int, decimals to print at least; more are printed where they are needed to show the verdict.
    Returns:
        Judgement whose printed numbers and verdict cannot disagree.
    Raises:
        QuantityError: value and limits of different kinds.
        RangeError: guarded or banded without an uncertainty.
    Valid range: all; a guard band wider than half the range lets nothing conform.
    Source: ilac-g8, astm-e29
    Examples:
        >>> from decimal import Decimal
        >>> mil = lambda text: Quantity(Decimal(text), "mil")
        >>> limits = Limits(mil("2.0"), mil("3.5"))
        >>> judge(mil("1.96"), limits).verdict
        'conforms'
        >>> judge(mil("1.96"), limits, rounding="none").verdict
        'does not conform'
        >>> judge(mil("2.1"), limits, rule="guarded", expanded=mil("0.3")).verdict
        'inconclusive'
    """
    exact = value.in_unit(limits.unit)
    wide = None if expanded is None else _known(expanded).in_unit(limits.unit)
    guarded = rule != "simple"
    if guarded and wide is None:
        raise RangeError(f"the decision rule `{rule}` needs an expanded uncertainty")
    place = _placed(exact, wide, limits, rule, rounding)
    fine = printed_places(wide) if wide else 0
    places = max(places, limits.places, fine if guarded or rounding == "none" else 0)
    while True:  # until the printed numbers show where the exact ones lie
        shown = rounded(exact, places)
        beside = None if wide is None else printed_uncertainty(wide, min(fine, places))
        if _placed(Fraction(shown), beside, limits, rule, rounding) == place:
            break
        places += 1
        if guarded:
            fine = max(fine, places)
    verdict = _VERDICTS[rule][place.band]
    compared = shown if place.rounded is None else place.rounded
    return Judgement(verdict, place.band, shown, compared, limits.unit, place.side, beside, guarded)


_DIGITS: Final = Context(prec=30)
"""To which an uncertainty counts: roots are known to 34, so one that is 6 may have come out as 5.99… with 33 nines."""


_CUT_IN: Final = {"mil": "um", "mm": "um", "delta_degF": "delta_degC"}
"""Where the digits of an uncertainty are counted: in one unit of its kind, or the contract's unit would decide."""


def _known(expanded: Quantity) -> Quantity:
    unit = _CUT_IN.get(expanded.unit, expanded.unit)
    exact = expanded.in_unit(unit)
    return Quantity(Fraction(_DIGITS.divide(Decimal(exact.numerator), Decimal(exact.denominator))), unit)


class _Place(NamedTuple):
    """Where a value lies; ``rounded`` is what the rounding method compares with the limits, None by the absolute."""

    band: Band
    side: Side | None
    rounded: Decimal | None


def _placed(
    value: Fraction, expanded: Fraction | Decimal | None, limits: Limits, rule: DecisionRule, rounding: Rounding
) -> _Place:
    """Place a value: within the limits or not as the contract rounds, and nearer to them than the guard or not."""
    guard = None if rule == "simple" or expanded is None else Fraction(expanded)
    compared = None if rounding == "none" else rounded(value, limits.places, rounding)
    at = value if compared is None else Fraction(compared)
    inside, side = _inside(at, limits)
    room, near = _inside(value, limits)
    if limits.excludes_maximum and limits.maximum is not None and at == limits.maximum.exact:
        return _Place("conditional fail" if guard else "fail", "above-maximum", compared)
    if inside < 0:
        return _Place("fail" if guard is None or room < -guard else "conditional fail", side, compared)
    if guard is None or room >= guard:
        return _Place("pass", None, compared)
    return _Place("conditional pass", near, compared)


def _inside(value: Fraction, limits: Limits) -> tuple[Fraction, Side]:
    """Distance inside the nearest limit, negative outside, and which limit that is."""
    distances: list[tuple[Fraction, Side]] = []
    if limits.minimum is not None:
        distances.append((value - limits.minimum.exact, "below-minimum"))
    if limits.maximum is not None:
        distances.append((limits.maximum.exact - value, "above-maximum"))
    return min(distances)


@dataclass(frozen=True, slots=True)
class Decided:
    """A judgement, and whether what the decision rule asks for is ``known``: without it there is no verdict.

    The numbers to print are those of the judgement either way.
    """

    judgement: Judgement
    known: bool = True

    @property
    def verdict(self) -> Verdict:
        """The verdict; inconclusive where the rule asks for an uncertainty that is not known."""
        return self.judgement.verdict if self.known else "inconclusive"


def decide(
    value: Quantity,
    limits: Limits,
    *,
    rule: DecisionRule,
    rounding: Rounding,
    expanded: Quantity | None,
    places: int = 0,
) -> Decided:
    """Judge a value by a rule that may ask for an uncertainty, whether that is known or not.

    Under the simple rule the uncertainty does not enter, and no digit is printed for it.

    Parameters:
        value : Quantity [kind of the limits].
        limits : Limits.
        rule : simple | guarded | banded.
        rounding : half-even | half-up | none.
        expanded : Quantity [kind of the limits], expanded uncertainty U, or None where it is not known.
        places : int, decimals to print at least.
    Returns:
        Decided. Without an uncertainty a banded rule leaves everything open; a guarded one only what is within the
        limits, as a value outside them does not conform however large U is.
    Raises:
        QuantityError: as judge.
    Source: ilac-g8
    Examples:
        >>> from decimal import Decimal
        >>> margin = lambda text: Quantity(Decimal(text), "delta_degC")
        >>> limits, open_ = Limits(margin("3")), {"rounding": "none", "expanded": None}
        >>> [decide(margin(text), limits, rule="guarded", **open_).verdict for text in ("3.7", "2.7")]
        ['inconclusive', 'does not conform']
    """
    simple = judge(value, limits, rounding=rounding, places=places)
    if rule == "simple":
        return Decided(simple)
    if expanded is None:
        return Decided(simple, known=rule == "guarded" and simple.verdict == "does not conform")
    return Decided(judge(value, limits, rule=rule, rounding=rounding, expanded=expanded, places=places))


def probability_of_conformity(
    value: Quantity, standard_uncertainty: Quantity, limits: Limits, dof: int | None = None
) -> Fraction:
    """Probability that the true value lies within the limits as stated, for a t distribution about the measured one.

    One value, one uncertainty and one range have one probability, by whatever rule the value is accepted: a rounding
    that takes 1.6 mil for a minimum of 2 mil does not bring the steel nearer to 2 mil.

    Parameters:
        value : Quantity [kind of the limits].
        standard_uncertainty : Quantity [kind of the limits], 0 or more.
        limits : Limits.
        dof : int [1], effective degrees of freedom of the uncertainty; None for infinitely many (normal distribution).
    Returns:
        Probability [1], 0 to 1; 0 or 1 without uncertainty.
    Raises:
        QuantityError: different kinds.
        RangeError: a negative uncertainty.
    Valid range: no prior knowledge of the surface: before the measurement every value is held to be as likely as any
        other (a flat prior). A difference of temperature needs its own kind.
    Accuracy: double precision; calibrated for steel of every height alike, by simulation.
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
        return Fraction(_placed(exact, None, limits, "simple", "none").band == "pass")
    upper = 1.0 if limits.maximum is None else t_probability(float((limits.maximum.exact - exact) / spread), dof)
    lower = 0.0 if limits.minimum is None else t_probability(float((limits.minimum.exact - exact) / spread), dof)
    return Fraction(max(0.0, upper - lower))


def combined_verdict(verdicts: Iterable[Verdict]) -> Verdict:
    """Verdict on a whole from the verdicts on its parts.

    Parameters:
        verdicts : iterable of Verdict.
    Returns:
        ``does not conform`` where one part does not; else ``inconclusive`` where one part is, or where some but not
        all parts were evaluated; ``conforms`` where all do; ``not evaluated`` where nothing was.
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
