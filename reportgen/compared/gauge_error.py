"""How large an error of a gauge would change the verdict on each area that it read, by evaluating the report anew.

Every reading that the gauge gave in the report is taken to be false by one and the same amount, in whole steps of its
readings, too high and too low; what it read on unused tape and on shims is left as it is.
"""

from __future__ import annotations

from copy import deepcopy
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

from reportgen.compared.reports import side_of
from reportgen.errors import InputError
from reportgen.formats import canonical_json, plain

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from reportgen.compared.reports import ComparedSide
    from reportgen.results import Evaluation

MOST_STEPS: Final = 25
"""Steps of the gauge up to which an error is tried."""


@dataclass(frozen=True, slots=True)
class GaugeError:
    """The smallest error that changes the verdict on an area: its size, which way the gauge then reads, and to what.

    Without a ``size`` none up to ``tried`` does.
    """

    area: str
    unit: str
    tried: Decimal
    size: Decimal | None = None
    reads: str = ""
    would_be: str = ""

    def beside(self, first: GaugeError | None) -> GaugeError:
        """Return the smaller of two; of one size both ways, both."""
        if first is None:
            return self
        if first.size != self.size:
            return first
        return replace(first, reads="either way", would_be=" / ".join(dict.fromkeys((first.would_be, self.would_be))))


def gauge_errors_of(pdf: bytes, name: str, serial: str) -> bytes:
    """Return as JSON the smallest errors of a gauge in a report; for a child process."""
    return canonical_json(plain(list(gauge_errors(side_of(pdf, name), serial))))


def gauge_errors(side: ComparedSide, serial: str) -> Iterator[GaugeError]:
    """Yield for each area that a gauge read the smallest error of it that changes the area's verdict."""
    instruments = side.job.project.instruments
    ids = {key for key, one in instruments.items() if str(one.serial) == serial}
    read = [one for one in side.job.day.surfaces if one.profile is not None and one.profile.gauge in ids]
    areas = dict.fromkeys(str(one.area) for one in read)
    if areas:
        units = [instruments[one.profile.gauge].unit for one in read if one.profile is not None]
        step = _step(side, ids)
        found = _smallest(side, ids, step, areas)
        for area in areas:
            told = found.get(area, GaugeError(area, "", Decimal(0)))
            yield replace(told, unit=units[0] or "", tried=MOST_STEPS * step)


def _smallest(side: ComparedSide, gauges: set[str], step: Decimal, areas: Mapping[str, None]) -> dict[str, GaugeError]:
    own, found = _verdicts(side.evaluation, areas), dict[str, GaugeError]()
    for error in (count * step * way for count in range(1, MOST_STEPS + 1) for way in (1, -1)):
        if error > 0 and len(found) == len(areas):
            break
        other = _verdicts_with(side, gauges, error, areas)
        for area in (one for one in areas if other.get(one, own[one]) != own[one]):
            reads = "high" if error > 0 else "low"
            this = GaugeError(area, "", Decimal(0), abs(error), reads, other[area])
            found[area] = this.beside(found.get(area))
    return found


def _step(side: ComparedSide, gauges: set[str]) -> Decimal:
    """Return the step of the readings of gauges: of their last digit, or of the resolution where that is coarser."""
    steps = []
    for surface, readings in zip(side.job.day.surfaces, side.job.readings, strict=True):
        if surface.profile is None or surface.profile.gauge not in gauges:
            continue
        gauge = side.job.project.instruments[surface.profile.gauge]
        values = [one.value for one in readings if one.value is not None]
        exponents = [int(value.as_tuple().exponent) for value in values] or [0]
        digit = Decimal(1).scaleb(min(exponents))
        if gauge.resolution is not None and gauge.unit is not None:
            exact = gauge.resolution.in_unit(gauge.unit)
            stated = Decimal(exact.numerator) / Decimal(exact.denominator)
            digit = stated.normalize() if stated and all(value % stated == 0 for value in values) else digit
        steps.append(digit)
    return min(steps)


def _verdicts(evaluation: Evaluation, areas: Iterable[str]) -> dict[str, str]:
    return {one.id: one.verdict for one in evaluation.areas if one.id in areas}


def _verdicts_with(side: ComparedSide, gauges: set[str], error: Decimal, areas: Iterable[str]) -> dict[str, str]:
    """Return the verdicts if gauges read so much too high; nothing where such readings cannot be."""
    inputs: dict[str, Any] = {**side.inputs, "entries": deepcopy(side.inputs["entries"])}
    for surface in inputs["entries"]["day"]["surfaces"]:
        profile = surface.get("profile")
        if profile is not None and profile["gauge"] in gauges:
            for row in (one for one in profile["readings"] if "reading" in one):
                row["reading"] = f"{Decimal(row['reading']) - error:f}"
    try:
        return _verdicts(side.evaluated(inputs, side.pool), areas)
    except (InputError, ValueError):
        return {}
