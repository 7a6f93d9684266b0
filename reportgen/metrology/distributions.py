"""Quantiles and critical values: 95 % values from shipped tables, everything else from scipy, imported late."""

from __future__ import annotations

import math
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

from reportgen.errors import RangeError
from reportgen.references import table

if TYPE_CHECKING:
    from reportgen.metrology.exact import Exact

Sides = Literal[1, 2]
Percent = int | Decimal

LARGEST_TABLED = 200
"""Largest degrees of freedom, or number of values, of the shipped tables."""
_BISECTIONS = 100
_AS_NORMAL = 2000


def normal_probability(z: Exact | float) -> float:
    """Probability that a standard normal variable does not exceed ``z``.

    Parameters:
        z : number [1], any finite value.
    Returns:
        Probability [1], 0 to 1.
    Valid range: all finite z.
    Accuracy: double precision, against scipy.special.ndtr.
    Source: jcgm-106
    Examples:
        >>> round(normal_probability(1), 4)
        0.8413
    """
    return math.erfc(-float(z) / math.sqrt(2)) / 2


def t_probability(t: float, dof: int | None) -> float:
    """Probability that Student's t does not exceed ``t``.

    With sin θ = t/√(dof + t²) it is an integral over cosᵐ, m = dof - 1, whose reduction formula is a finite sum.

    Parameters:
        t : number [1], any finite value.
        dof : int [1], degrees of freedom, 1 or more; None for infinitely many.
    Returns:
        Probability [1], 0 to 1.
    Raises:
        RangeError: dof below 1.
    Valid range: all finite t; above 2000 degrees of freedom the normal distribution stands in, off by 1e-4 at most.
    Accuracy: 1e-12, against scipy.special.stdtr.
    Source: student-t
    Examples:
        >>> round(t_probability(2.262157, 9), 6)
        0.975
    """
    if dof is not None and dof < 1:
        raise RangeError(f"a t distribution needs at least 1 degree of freedom, got {dof}")
    if dof is None or dof > _AS_NORMAL:
        return normal_probability(t)
    return cosine_share(t / math.sqrt(dof + t * t), dof - 1)


def cosine_share(sine: float, power: int) -> float:
    """Share of the integral of cos θ to a power over a half turn that lies below an angle given by its sine.

    Parameters:
        sine : number [1], -1 to 1.
        power : int [1], 0 or more.
    Returns:
        Share [1], 0 to 1. The symmetric beta distribution and Student's t are such integrals: here as finite sums of
        terms of one sign, exact, and cheaper than importing a library for them.
    Accuracy: 1e-12, against scipy.special.betainc.
    Source: student-t
    Examples:
        >>> cosine_share(0.0, 7), cosine_share(0.5, 1)
        (0.5, 0.75)
    """
    if abs(sine) >= 1:
        return float(sine > 0)
    cosine = math.sqrt(1 - sine * sine)
    at = power % 2
    share = (1 + sine) / 2 if at else 0.5 + math.asin(sine) / math.pi
    term = cosine * cosine * sine / 4 if at else cosine * sine / math.pi
    # each term is the integral's next two powers
    while at < power:
        at += 2
        share += term
        term *= cosine * cosine * at / (at + 1)
    return share


def chi_square_tail(value: float, dof: int) -> float:
    """Probability that chi-square exceeds a value.

    Parameters:
        value : number [1], 0 or more.
        dof : int [1], degrees of freedom, 1 or more.
    Returns:
        Probability [1], 0 to 1.
    Accuracy: as scipy.special.chdtrc.
    Source: bartlett
    Examples:
        >>> round(chi_square_tail(16.919, 9), 4)
        0.05
    """
    return float(_special().chdtrc(dof, value))


def variance_ratio_tail(ratio: Exact, numerator: int, denominator: int) -> float:
    """Probability that a ratio of two variances exceeds a value where they are equal in truth: F distribution.

    Parameters:
        ratio : exact number [1], 0 or more.
        numerator : int [1], degrees of freedom of the upper variance, 1 or more.
        denominator : int [1], those of the lower one, 1 or more.
    Returns:
        Probability [1], 0 to 1.
    Accuracy: as scipy.special.fdtrc.
    Source: f-test
    Examples:
        >>> round(variance_ratio_tail(Fraction("4.10"), 2, 10), 3)
        0.05
    """
    return float(_special().fdtrc(numerator, denominator, float(ratio)))


def deviation_interval(dof: int, confidence: Percent = 95) -> tuple[float, float]:
    """Factors on a standard deviation that give a two-sided confidence interval of it.

    Parameters:
        dof : int [1], degrees of freedom, 1 or more.
        confidence : number [%], above 0 and below 100.
    Returns:
        Lower and upper factor [1]: √(dof/χ²) at both ends.
    Valid range: a normal population.
    Accuracy: as scipy.special.chdtri.
    Source: nist-handbook-deviation
    Examples:
        >>> [round(factor, 3) for factor in deviation_interval(10)]
        [0.699, 1.755]
    """
    tail = float(1 - _share(confidence, "confidence")) / 2
    special = _special()
    low, high = (math.sqrt(dof / special.chdtri(dof, share)) for share in (tail, 1 - tail))
    return low, high


def t_factor(dof: int | None, confidence: Percent = 95) -> Fraction:
    """Two-sided quantile of Student's t: the factor that covers ``confidence`` percent.

    Parameters:
        dof : int [1], degrees of freedom, 1 or more; None for infinitely many (normal distribution).
        confidence : number [%], above 0 and below 100.
    Returns:
        Factor [1].
    Raises:
        RangeError: dof below 1, or confidence outside its range.
    Valid range: dof from 1; 95 % up to 200 degrees of freedom comes from the shipped table, beyond from an expansion.
    Accuracy: 9 decimals at 95 %, double precision elsewhere, against scipy.stats.t.
    Source: student-t
    Examples:
        >>> float(t_factor(9))
        2.262157163
    """
    if dof is not None and dof < 1:
        raise RangeError(f"a t factor needs at least 1 degree of freedom, got {dof}")
    share = _share(confidence, "confidence")
    if share == Fraction(19, 20):
        tabled = _tabled("student-t-95", "factor").get("inf" if dof is None else str(dof))
        if tabled is not None:
            return tabled
    if dof is not None and dof > LARGEST_TABLED and share == Fraction(19, 20):
        return Fraction(_t_of_many(dof))
    return Fraction(_t_quantile(dof, float((1 + share) / 2)))


def tolerance_factor(n: int, *, coverage: Percent = 95, confidence: Percent = 95) -> Fraction:
    """Exact factor k of a two-sided normal tolerance interval mean ± k·s.

    Parameters:
        n : int [1], number of values, 2 or more.
        coverage : number [%], share of the population covered, above 0 and below 100.
        confidence : number [%], above 0 and below 100.
    Returns:
        Factor k [1].
    Raises:
        RangeError: n below 2, or a percentage outside its range.
    Valid range: n from 2; 95/95 up to 200 comes from the shipped table.
    Accuracy: 6 decimals in the table; 1e-9 relative beyond, against published factors and the integral itself.
    Source: tolerance-intervals
    Examples:
        >>> float(tolerance_factor(10))
        3.393429
    """
    if n < 2:
        raise RangeError(f"a tolerance interval needs at least 2 values, got {n}")
    share, trust = _share(coverage, "coverage"), _share(confidence, "confidence")
    if share == trust == Fraction(19, 20):
        tabled = _tabled("tolerance-two-sided-95-95", "factor").get(str(n))
        if tabled is not None:
            return tabled
    return Fraction(computed_two_sided_factor(n, float(share), float(trust)))


def grubbs_critical(n: int, *, sides: Sides = 2, significance: Percent = 5) -> Fraction:
    """Critical value of Grubbs' test for one outlier.

    Parameters:
        n : int [1], number of values, 3 or more.
        sides : 1 (only the largest, or only the smallest, was suspected beforehand) or 2.
        significance : number [%], above 0 and below 100.
    Returns:
        Critical value of |x - mean|/s [1].
    Raises:
        RangeError: n below 3: two values are always equally far from their mean.
    Valid range: n from 3; 5 % up to 200 comes from the shipped table.
    Accuracy: 6 decimals in the table, against published critical values.
    Source: grubbs
    Examples:
        >>> float(grubbs_critical(6))
        1.887145
    """
    if n < 3:
        raise RangeError(f"an outlier test needs at least 3 values, got {n}")
    level = _share(significance, "significance")
    if level == Fraction(1, 20):
        tabled = _tabled("grubbs-5", "two_sided" if sides == 2 else "one_sided").get(str(n))
        if tabled is not None:
            return tabled
    return Fraction(computed_grubbs_critical(n, sides, float(level)))


def _share(percent: Percent, name: str) -> Fraction:
    if not 0 < percent < 100:
        raise RangeError(f"{name} must lie above 0 % and below 100 %, got {percent} %")
    return Fraction(percent) / 100


@lru_cache(maxsize=8)
def _tabled(name: str, column: str) -> dict[str, Fraction]:
    """Return first column → value of a shipped table."""
    rows = table(name).rows
    key = next(iter(rows[0]))
    return {row[key]: Fraction(row[column]) for row in rows}


def _special() -> Any:
    """Import scipy late: it costs more than a whole check of an ordinary day."""
    import scipy.special

    return scipy.special


def _t_of_many(dof: int) -> float:
    """95 % factor for many degrees of freedom, expanded about the normal quantile z in powers of 1/dof.

    A budget's effective degrees of freedom are often in the thousands, and importing scipy for them would cost more
    than the whole check. Expansion: Abramowitz and Stegun 26.7.5 (from memory), proven against scipy by a test.
    """
    z = float(_tabled("student-t-95", "factor")["inf"])
    terms = (
        z,
        (z**3 + z) / 4,
        (5 * z**5 + 16 * z**3 + 3 * z) / 96,
        (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / 384,
    )
    return math.fsum(term / dof**power for power, term in enumerate(terms))


@lru_cache(maxsize=1024)
def _t_quantile(dof: int | None, probability: float) -> float:
    special = _special()
    return float(special.ndtri(probability) if dof is None else special.stdtrit(dof, probability))


@lru_cache(maxsize=1024)
def computed_grubbs_critical(n: int, sides: Sides, level: float) -> float:
    """Grubbs' critical value from the t distribution; ``level`` is a share. Writes the shipped table."""
    t = _t_quantile(n - 2, 1 - level / (sides * n))
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


@lru_cache(maxsize=1024)
def computed_two_sided_factor(n: int, coverage: float, confidence: float) -> float:
    """Two-sided tolerance factor: the exact integral over the sample mean; arguments are shares.

    For a mean off by x standard deviations, the interval must reach r(x) to cover its share, where r²(x) is a
    quantile of the noncentral chi-square with one degree of freedom. Writes the shipped table.
    """
    special = _special()
    nodes, weights = special.roots_hermite(100)
    reach = (n - 1) * special.chndtrix(coverage, 1, 2 * nodes * nodes / n)
    low, high = 0.0, 1.0

    def attained(k: float) -> float:
        return float((weights * special.chdtrc(n - 1, reach / (k * k))).sum()) / math.sqrt(math.pi)

    while attained(high) < confidence:
        low, high = high, 2 * high
    for _ in range(_BISECTIONS):
        middle = (low + high) / 2
        low, high = (middle, high) if attained(middle) < confidence else (low, middle)
    return (low + high) / 2
