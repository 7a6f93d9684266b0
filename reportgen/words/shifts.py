"""What the shifts of a contract show, in sentences: drift, trend and comparisons."""

from __future__ import annotations

from decimal import Decimal
from typing import TYPE_CHECKING

from reportgen.words.numbers import digits, shown_unit

if TYPE_CHECKING:
    from reportgen.shifts import GroupsCompared, Work
    from reportgen.words.catalogue import Words

_FINE_UNITS = frozenset({"mil"})


def shown(value: float, unit: str) -> str:
    """Return a value as far as it means anything: hundredths of a mil, tenths of a micrometre."""
    return digits(Decimal(f"{value:.{2 if unit in _FINE_UNITS else 1}f}"))


def drift(work: Work, words: Words) -> str:
    """Say whether the chart of shift means gave an alarm, and what it would have seen."""
    unit = work.done.unit
    if work.chart.alarms:
        days = ", ".join(work.shifts[at].name[:10] for at in work.chart.alarms)
        ways = {work.chart.levels[at] > 0 for at in work.chart.alarms}  # type: ignore[operator]
        way = "both" if len(ways) > 1 else "up" if True in ways else "down"
        return words(f"shifts.drift.{way}", days=days)
    if work.chart.step is None:
        return words("shifts.few", least=8)
    return words("shifts.drift.none", step=f"{shown(work.chart.step, unit)} {shown_unit(unit)}")


def trend(work: Work, words: Words) -> str:
    """Say whether shift means rise or fall over the whole time; empty where there are too few."""
    if work.trend is None:
        return ""
    unit = work.done.unit
    facts = {
        "tau": digits(Decimal(f"{work.trend.tau:.2f}")),
        "chance": digits(Decimal(f"{work.trend.probability:.3f}")),
    }
    if not work.trend.there:
        return words("shifts.trend.none", **facts)
    change = f"{shown(abs(work.trend.slope), unit)} {shown_unit(unit)}"
    return words("shifts.trend.up" if work.trend.slope > 0 else "shifts.trend.down", change=change, **facts)


def comparison(one: GroupsCompared, words: Words) -> str:
    """Say how far two kinds of work lie apart, with the interval, or that there are too few shifts to say."""
    first, second, unit = getattr(one.first, one.by), getattr(one.second, one.by), one.first.unit
    other = one.first.apparatus if one.by == "abrasive" else one.first.abrasive
    told = {"structure": one.first.structure, "other": other, "first": first, "second": second}
    if one.found is None:
        return words("shifts.compared.few", least=4, **told)
    lies = one.found
    below = lies.high < 0
    key = "below" if below else "above" if lies.low > 0 else "alike"
    ends = (-lies.high, -lies.low) if below else (lies.low, lies.high)
    low, high = (f"{shown(value, unit)} {shown_unit(unit)}" for value in ends)
    difference = f"{shown(abs(lies.difference) if below else lies.difference, unit)} {shown_unit(unit)}"
    counts = dict(zip(("before", "after"), lies.shifts, strict=True))
    return words(f"shifts.compared.{key}", difference=difference, low=low, high=high, **told, **counts)
