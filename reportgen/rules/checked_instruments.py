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
from reportgen.units import kind_of

if TYPE_CHECKING:
    import datetime as dt

    from reportgen.job import Condition, FunctionCheck, Instrument
    from reportgen.results import Verdict
    from reportgen.rules.scene import JobView
    from reportgen.units import Quantity

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
