"""How far spots scatter in the reports of a contract, by gauge and inspector: the value that it may state, and why."""

from __future__ import annotations

import re
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
    "contract", "gauge", "inspector", "reports", "degrees_of_freedom", "p_of_equal_scatter", "standard_deviation",
    "from", "to", "unit", "verdict", "holds_until",
)  # fmt: skip
LEAST_FREEDOM: Final = 20
"""Degrees of freedom below which no value is worth stating: with as many the true one may be 44 % larger, at 95 %."""
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
    """What the reports of one inspector with one gauge show, each by its number; in one unit.

    ``equal`` is the test of equal scatter of the reports, statistic and probability; None for a single one.
    """

    contract: str
    gauge: str
    inspector: str
    unit: str
    verdict: str
    reports: dict[str, Pooled]
    step: Fraction
    equal: tuple[float, float] | None
    holds_until: str | None

    @property
    def pooled(self) -> Pooled:
        """The scatter of all reports together, for what it is worth where they differ."""
        return _together(self.reports.values())

    @property
    def differs(self) -> bool:
        """Whether the reports scatter more differently than chance explains, so that one value is none of theirs."""
        return self.equal is not None and self.equal[1] < LEVEL

    def row(self) -> Row:
        """Return the group as a row of the answer: its standard deviation with the 95 % interval, if it has one."""
        pooled = self.pooled
        shown: list[str | None] = [None, None, None]
        if not self.differs:
            deviation = number_of(pooled.standard_deviation)
            factors = (1.0, *deviation_interval(pooled.dof))
            shown = [str(rounded(deviation * Fraction(factor), PLACES)) for factor in factors]
        chance = None if self.equal is None else f"{self.equal[1]:.3f}"
        told = (pooled.dof, chance, *shown, self.unit, self.verdict, self.holds_until)
        return (self.contract, self.gauge, self.inspector, len(self.reports), *told)

    def largest(self) -> _Group:
        """Return the group itself, or of reports that differ the one with the largest scatter."""
        if not self.differs:
            return self
        number = max(self.reports, key=lambda one: exact_square(self.reports[one].standard_deviation))
        return self._replace(reports={number: self.reports[number]}, equal=None)


def repeatability(rows: list[Row]) -> Answer:
    """Pool what each report of a gauge and an inspector shows, and say what a contract may state.

    ``rows`` are contract, gauge, inspector, unit, number, date, degrees of freedom, variance, step, verdict and until
    when that holds, sorted by
    contract, verdict, gauge and inspector. Only reports that passed make a value to state. Reports that scatter
    differently are not pooled: neither those of one gauge and inspector, nor of several of these.
    """
    groups = [_group(list(several)) for _, several in groupby(rows, key=lambda row: (*row[:4], row[9]))]
    below: list[str] = []
    for contract, of in groupby(groups, key=lambda group: group.contract):
        below += ["", *_stated(contract, [group for group in of if group.verdict == "passed"])]
    return Answer(list(HEADS), [group.row() for group in groups], tuple(below))


def _group(rows: Sequence[Row]) -> _Group:
    contract, gauge, inspector, unit = rows[0][:4]
    until = min((row[10] for row in rows if row[10] is not None), default=None)
    shown: dict[str, list[Pooled]] = {}
    for row in rows:
        shown.setdefault(row[4], []).append(Pooled(Root(Fraction(row[7])), row[6]))
    reports = {number: _together(several) for number, several in shown.items()}
    step = max(Fraction(row[8]) for row in rows)
    equal = homogeneity(list(reports.values()), step) if len(reports) > 1 else None
    return _Group(contract, gauge, inspector, unit, rows[0][9], reports, step, equal, until)


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
    held, lines = _one_for_all(contract, of)
    if held is None:
        chosen, numbers = (
            _together(group.pooled for group in of),
            sorted({one for group in of for one in group.reports}, key=_as_counted),
        )
        one = f"{of[0].gauge}, {of[0].inspector}"
        which = one if len(of) == 1 else f"{len(of)} pairs of gauge and inspector"
    else:
        chosen, numbers = held.pooled, sorted(held.reports, key=_as_counted)
        which = f"{held.gauge}, {held.inspector}"
    if chosen.dof < LEAST_FREEDOM:
        freedom = counted(chosen.dof, "degree of freedom is", "degrees of freedom are")
        few = f"{contract}: {freedom} too few to state a value"
        return [*lines, f"{few}; {LEAST_FREEDOM} are the least"]
    value = max(FINEST, rounded(number_of(chosen.standard_deviation), PLACES))
    reports = numbers[0] if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"
    source = f"{counted(len(numbers), 'verified report')}, {reports}; {which}".replace("'", "''")
    return [
        *lines, "to state in the project file, under `profile:` of the specification:", "", "    repeatability:",
        f"      value: {value} {unit}", f"      degrees_of_freedom: {chosen.dof}", f"      source: '{source}'",
    ]  # fmt: skip


def _as_counted(number: str) -> tuple[tuple[int, int | str], ...]:
    """Order numbers of reports as they are counted: 9 before 10."""
    parts = re.findall(r"[0-9]+|[^0-9]+", number)
    return tuple((0, int(part)) if part.isdigit() else (1, part) for part in parts)


def _one_for_all(contract: str, groups: Sequence[_Group]) -> tuple[_Group | None, list[str]]:
    """Return what holds for all where scatter differs, the largest; None where it does not; and what the tests say."""
    lines = [_told_apart(group) for group in groups if group.differs]
    if not lines:
        if len(groups) < 2:
            return None, []
        equal = homogeneity([group.pooled for group in groups], max(group.step for group in groups))
        told = f"{contract}: {_tested(equal, len(groups))}"
        if equal[1] >= LEVEL:
            return None, [f"{told}: nothing speaks against one value for all"]
        lines = [f"{told}: they differ, and none but the largest scatter can stand for all"]
    largest = (group.largest() for group in groups)
    return max(largest, key=lambda group: exact_square(group.pooled.standard_deviation)), lines


def _tested(equal: tuple[float, float], groups: int) -> str:
    return f"Bartlett's test of equal scatter: {equal[0]:.2f} for {groups - 1} d.o.f., p = {equal[1]:.3f}"


def _told_apart(group: _Group) -> str:
    """Say that the reports of a gauge and an inspector differ, which of them scatters most, and which least."""
    assert group.equal is not None  # noqa: S101 - a single report differs from none
    ordered = sorted(group.reports, key=lambda one: exact_square(group.reports[one].standard_deviation))
    ends = (
        f"{rounded(number_of(group.reports[one].standard_deviation), PLACES)} {group.unit} in {one}"
        for one in (ordered[-1], ordered[0])
    )
    return (
        f"{group.contract}: {group.gauge}, {group.inspector}: {_tested(group.equal, len(group.reports))}: the reports"
        f" differ and are not pooled, from {' down to '.join(ends)}; look for the cause, until then none but the"
        " largest scatter can stand for all"
    )


def _in_unit(group: _Group, unit: str) -> _Group:
    scale = Quantity(Fraction(1), group.unit).in_unit(unit)
    reports = {
        number: Pooled(Root(exact_square(shown.standard_deviation) * scale**2), shown.dof)
        for number, shown in group.reports.items()
    }
    return group._replace(unit=unit, reports=reports, step=group.step * scale)
