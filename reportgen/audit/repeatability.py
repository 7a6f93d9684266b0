"""How far spots scatter in the reports of a contract, by gauge and inspector: the value that it may state, and why."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.metrology.distributions import deviation_interval
from reportgen.metrology.exact import Root, exact_square, number_of
from reportgen.metrology.uncertainty import Pooled, homogeneity
from reportgen.units import Quantity, rounded
from reportgen.words.numbers import counted

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

Row = tuple[Any, ...]
HEADS: Final = (
    "contract", "gauge", "inspector", "reports", "degrees_of_freedom", "standard_deviation", "from", "to", "unit",
    "verdict", "holds_until",
)  # fmt: skip
LEAST_FREEDOM: Final = 20
"""Degrees of freedom below which no value is worth stating: it may still be 44 % too small at 95 %."""
LEVEL: Final = 0.05
"""Level of the test of equal scatter."""
PLACES: Final = 3
FINEST: Final = Decimal("0.001")


class Answer(NamedTuple):
    """Columns and rows that answer a question, and what is said below them."""

    heads: list[str]
    rows: list[Row]
    below: tuple[str, ...] = ()


class _Group(NamedTuple):
    """Reports read by one inspector with one gauge, or several of these pooled; in one unit."""

    contract: str
    gauge: str
    inspector: str
    unit: str
    verdict: str
    numbers: tuple[str, ...]
    pooled: Pooled
    step: Fraction
    holds_until: str | None

    def row(self) -> Row:
        """Return the group as a row of the answer, its standard deviation with the 95 % interval."""
        deviation = number_of(self.pooled.standard_deviation)
        low, high = deviation_interval(self.pooled.dof)
        ends = [str(rounded(deviation * Fraction(factor), PLACES)) for factor in (low, high)]
        told = (self.pooled.dof, str(rounded(deviation, PLACES)), *ends, self.unit, self.verdict, self.holds_until)
        return (self.contract, self.gauge, self.inspector, len(self.numbers), *told)


def repeatability(rows: list[Row]) -> Answer:
    """Pool what each report of a gauge and an inspector shows, and say what a contract may state.

    ``rows`` are contract, gauge, inspector, unit, number, date, degrees of freedom, variance, step, verdict and until
    when that holds, sorted by
    contract, verdict, gauge and inspector. Only reports that passed make a value to state.
    """
    groups = [_pooled(list(several)) for _, several in groupby(rows, key=lambda row: (*row[:4], row[9]))]
    below: list[str] = []
    for contract, of in groupby(groups, key=lambda group: group.contract):
        below += ["", *_stated(contract, [group for group in of if group.verdict == "passed"])]
    return Answer(list(HEADS), [group.row() for group in groups], tuple(below))


def _pooled(rows: Sequence[Row]) -> _Group:
    contract, gauge, inspector, unit = rows[0][:4]
    until = min((row[10] for row in rows if row[10] is not None), default=None)
    several = [Pooled(Root(Fraction(row[7])), row[6]) for row in rows]
    numbers = tuple(dict.fromkeys(row[4] for row in rows))
    step = max(Fraction(row[8]) for row in rows)
    return _Group(contract, gauge, inspector, unit, rows[0][9], numbers, _together(several), step, until)


def _together(several: Iterable[Pooled]) -> Pooled:
    known = list(several)
    dof = sum(one.dof for one in known)
    squares = sum((Fraction(one.dof) * exact_square(one.standard_deviation) for one in known), Fraction(0))
    return Pooled(Root(squares / dof), dof)


def _stated(contract: str, groups: Sequence[_Group]) -> list[str]:
    """Return the lines for one contract: the test of equal scatter, and the block to paste into its project file."""
    if not groups:
        return [f"{contract}: no report passed, and others are no ground for a value; see `--trust`"]
    unit = max(groups, key=lambda group: group.pooled.dof).unit
    of = [_in_unit(group, unit) for group in groups]
    chosen, lines = _together(group.pooled for group in of), []
    which = f"{counted(len(of), 'gauge and inspector', 'gauges and inspectors')}"
    numbers = sorted({number for group in of for number in group.numbers})
    if len(of) > 1:
        statistic, chance = homogeneity([group.pooled for group in of], max(group.step for group in of))
        told = f"Bartlett's test of equal scatter: {statistic:.2f} for {len(of) - 1} d.o.f., p = {chance:.3f}"
        if chance >= LEVEL:
            lines.append(f"{contract}: {told}: nothing speaks against one value for all")
        else:
            worst = max(of, key=lambda group: exact_square(group.pooled.standard_deviation))
            chosen, numbers, which = worst.pooled, sorted(worst.numbers), f"{worst.gauge}, {worst.inspector}"
            lines.append(f"{contract}: {told}: they differ, and the largest scatter is the one that holds for all")
    if chosen.dof < LEAST_FREEDOM:
        few = f"{contract}: {counted(chosen.dof, 'degree', 'degrees')} of freedom are too few to state a value"
        return [*lines, f"{few}; {LEAST_FREEDOM} are the least"]
    value = max(FINEST, rounded(number_of(chosen.standard_deviation), PLACES))
    reports = numbers[0] if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
    source = f"{counted(len(numbers), 'verified report')}, {reports}; {which}".replace("'", "''")
    return [
        *lines, "to state in the project file, under `profile:` of the specification:", "", "    repeatability:",
        f"      value: {value} {unit}", f"      degrees_of_freedom: {chosen.dof}", f"      source: '{source}'",
    ]  # fmt: skip


def _in_unit(group: _Group, unit: str) -> _Group:
    scale = Quantity(Fraction(1), group.unit).in_unit(unit)
    pooled = Pooled(Root(exact_square(group.pooled.standard_deviation) * scale**2), group.pooled.dof)
    return group._replace(unit=unit, pooled=pooled, step=group.step * scale)
