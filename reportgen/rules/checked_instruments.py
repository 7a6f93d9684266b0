"""Checks on site that instruments show what they should: how each is judged, and what is in doubt by those that failed.

As with a gauge, what an instrument showed between two good checks with a failed one in is in doubt.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Final

from reportgen.job.recorded import TOLERATED
from reportgen.metrology.plausibility import tolerance_doubt
from reportgen.results import Amount, Word
from reportgen.results.codes import records as codes
from reportgen.results.codes.equipment import InstrumentNamed
from reportgen.rules.gauges import spans_in_doubt
from reportgen.units import Quantity, kind_of

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.job import Condition, FunctionCheck, Instrument
    from reportgen.results import Verdict
    from reportgen.rules.scene import JobView

    Span = tuple[dt.datetime, dt.datetime]

_SHOWN_IN: Final = {
    "hygrometer": "humidity", "psychrometer": "wet_bulb", "surface thermometer": "steel", "air thermometer": "air",
    "barometer": "pressure",
}  # fmt: skip
"""Kind of instrument → field of a reading of the conditions that it shows."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One check, when it was made, and how it is judged."""

    record: FunctionCheck
    at: dt.datetime
    facts: codes.FunctionChecked
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Beyond:
    """A check that passed with an error greater than the accuracy, which stands in a ``field`` of the instrument."""

    check: Checked
    field: str
    error: Quantity
    stated: Quantity


def checked(view: JobView) -> list[Checked]:
    """Judge every check of the day, in order of time."""
    return sorted((_judged(view, one) for one in view.job.day.function_checks), key=lambda one: one.at)


def good_checks(view: JobView) -> frozenset[str]:
    """Return the instruments with a check of the day that shows them good."""
    return frozenset(one.record.instrument for one in checked(view) if one.verdict == "conforms")


def in_doubt(view: JobView) -> dict[str, tuple[Span, ...]]:
    """Return by instrument the periods between good checks with a failed one in; none without a failed one."""
    by_name: dict[str, list[tuple[dt.datetime, Verdict]]] = {}
    for one in checked(view):
        by_name.setdefault(one.record.instrument, []).append((one.at, one.verdict))
    spans = {name: spans_in_doubt(known) for name, known in by_name.items()}
    return {name: found for name, found in spans.items() if found}


def beyond_accuracy(view: JobView) -> tuple[Beyond, ...]:
    """Return for each accuracy of an instrument the largest error beyond it in a check that passed by its tolerance.

    It is known to err by that much, whatever its certificate says.
    """
    found: dict[tuple[str, str], Beyond] = {}
    for one in checked(view):
        instrument = view.project.instruments[one.record.instrument]
        field = "accuracy" if _own_accuracy(one.record, instrument) else "temperature_accuracy"
        stated = getattr(instrument, field)
        if (
            one.verdict == "does not conform"
            or stated is None
            or kind_of(stated.unit) not in TOLERATED[one.record.kind]
        ):
            continue
        error = Quantity(_error(one.record, stated.unit), stated.unit)
        key = (one.record.instrument, field)
        least = found[key].error if key in found else stated
        if error.exact > least.in_unit(stated.unit):
            found[key] = Beyond(one, field, error, stated)
    return tuple(found.values())


def with_shown_errors(view: JobView) -> dict[str, Instrument]:
    """Return the instruments, each with the limits of error that its checks of the day leave it."""
    tools = dict(view.project.instruments)
    for one in beyond_accuracy(view):
        name = one.check.record.instrument
        tools[name] = tools[name].model_copy(update={one.field: one.error})
    return tools


def _error(record: FunctionCheck, unit: str) -> Fraction:
    """Return how far off an instrument was in an accuracy's unit; a share of a conductivity is one of the reference."""
    own = record.reference.unit
    off = abs(record.shown.in_unit(own) - record.reference.exact)
    if record.kind == "conductivity" and kind_of(unit) == "share":
        return 100 * off / abs(record.reference.exact) if off else off
    return Quantity(off, f"delta_{own}" if record.kind == "temperature" else own).in_unit(unit)


def made_with(record: Condition, name: str, kind: str) -> bool:
    """Whether a reading of the conditions was made with an instrument, or may have been."""
    if record.instruments:
        return name in record.instruments
    return kind in _SHOWN_IN and getattr(record, _SHOWN_IN[kind]) is not None


def _judged(view: JobView, record: FunctionCheck) -> Checked:
    """Judge one check: what was shown against the reference, within the tolerance or the instrument's accuracy."""
    instrument = view.project.instruments[record.instrument]
    named = InstrumentNamed(record.instrument, Word("instrument-kind", instrument.kind), instrument.serial)
    seen = codes.FunctionSeen(Amount.of(record.reference), Amount.of(record.shown), record.against)
    stated = record.tolerance or _own_accuracy(record, instrument)
    at = view.at(record.time)
    if stated is None:
        return Checked(record, at, codes.FunctionChecked(named, seen, codes.NotTolerated()), "inconclusive")
    unit = record.reference.unit
    off = abs(record.shown.in_unit(unit) - record.reference.exact)
    kind = kind_of(stated.unit)
    if kind == "share" and record.kind == "conductivity":
        allowed = abs(record.reference.exact) * stated.in_unit("%") / 100
    elif record.kind == "temperature":
        allowed = stated.in_unit(f"delta_{unit}")
    else:
        allowed = stated.in_unit(unit)
    facts = codes.FunctionChecked(named, seen, codes.Tolerated(Amount.of(stated)))
    if off > Fraction(allowed):
        return Checked(record, at, facts, "does not conform")
    return Checked(record, at, facts, "inconclusive" if _too_wide(record) else "conforms")


def _too_wide(record: FunctionCheck) -> bool:
    """Whether the check could hardly fail, and nobody has looked again: it shows nothing good then."""
    if record.tolerance is None or record.confirmed:
        return False
    return tolerance_doubt(record.tolerance, record.reference) is not None


def _own_accuracy(record: FunctionCheck, instrument: Instrument) -> Quantity | None:
    """Return the accuracy of an instrument where it is one of what was checked."""
    stated = instrument.accuracy
    return stated if stated is not None and kind_of(stated.unit) in TOLERATED[record.kind] else None
