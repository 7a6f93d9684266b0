"""Checks on site that instruments show what they should: how each is judged, and what is in doubt by those that failed.

As with a gauge, what an instrument showed between two good checks with a failed one in is in doubt.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any, Final

from reportgen.job.recorded import TOLERATED
from reportgen.measurements.shown_by import measured, shown_by
from reportgen.measurements.uncertain import share_of
from reportgen.metrology.exact import decimal_of
from reportgen.metrology.plausibility import reference_doubt, tolerance_doubt, widest_tolerance
from reportgen.metrology.uncertainty import with_share
from reportgen.results import Amount, Word
from reportgen.results.codes import records as codes
from reportgen.results.codes.equipment import InstrumentNamed
from reportgen.rules.gauges import spans_in_doubt
from reportgen.units import Quantity, kind_of, unit_of_difference

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Collection

    from reportgen.job import Condition, FunctionCheck, Instrument
    from reportgen.measurements import Measurement
    from reportgen.metrology.plausibility import Doubt
    from reportgen.results import Verdict
    from reportgen.rules.scene import JobView, SurfaceView

    Span = tuple[dt.datetime, dt.datetime]

_SHARED: Final = {"hygrometer": "share", "barometer": "pressure", "conductivity meter": "conductivity"}
"""Kind of instrument → kind of quantity of which its error may be a share of the reading."""
_MOST_PLACES: Final = 4
"""Decimals of an accuracy at a reference, which is a product."""


@dataclass(frozen=True, slots=True)
class InstrumentCheck:
    """One check, when it was made, and how it is judged."""

    record: FunctionCheck
    at: dt.datetime
    facts: codes.FunctionChecked
    verdict: Verdict
    asked: bool = False
    """Whether what it showed is to be looked at again, which says nothing until then."""


@dataclass(frozen=True, slots=True)
class Beyond:
    """A check that passed with an error greater than the accuracy, which stands in a ``field`` of the instrument."""

    check: InstrumentCheck
    field: str
    error: Quantity
    stated: Quantity


def checked(view: JobView) -> list[InstrumentCheck]:
    """Judge every check of the day, in order of time."""
    return sorted((_judged(view, one) for one in view.job.day.function_checks), key=lambda one: one.at)


def known_checks(view: JobView) -> list[InstrumentCheck]:
    """Judge the checks of the earlier reports at hand too: what failed stays in doubt until it is shown good."""
    every = (one for stood in view.before for one in checked(stood.view))
    return sorted((*every, *checked(view)), key=lambda one: one.at)


def good_checks(view: JobView) -> frozenset[str]:
    """Return the instruments with a check of the day that shows them good."""
    return frozenset(one.record.instrument for one in checked(view) if one.verdict == "conforms")


def in_doubt(view: JobView) -> dict[str, tuple[Span, ...]]:
    """Return by instrument the periods between good checks with a failed one in; none without a failed one."""
    by_name: dict[str, list[tuple[dt.datetime, Verdict]]] = {}
    for one in known_checks(view):
        for name in view.project.same_instrument(one.record.instrument):
            by_name.setdefault(name, []).append((one.at, one.verdict))
    spans = {name: spans_in_doubt(known) for name, known in by_name.items()}
    return {name: found for name, found in spans.items() if found}


def doubts_of(view: JobView) -> Callable[[str | None, str, dt.datetime], bool]:
    """Return what says of an instrument, or of any of a kind where none is named, whether it was in doubt at a time."""
    return lambda name, kind, at: _touched(view, name, (kind,), (at, at))


def _touched(view: JobView, name: str | None, kinds: Collection[str], when: Span) -> bool:
    """Whether an instrument, or any of some kinds where none is named, was in doubt somewhen from a time to another."""
    spans, tools = in_doubt(view), view.project.instruments
    known = (spans[each] for each in spans if name in (None, each) and tools[each].kind in kinds)
    return any(start < when[1] and when[0] < end for periods in known for start, end in periods)


def time_of_test(view: JobView, surface: SurfaceView, test: Any) -> Span:
    """Return from when to when a test of a surface may have been made.

    One without a time: from the beginning of the blasting until the primer.
    """
    if test.time is not None:
        return (view.at(test.time),) * 2
    return surface.blasted[0], surface.coated or max(view.shift[1], surface.blasted[0])


def may_be_in_doubt(view: JobView, surface: SurfaceView, kind: Measurement[Any, Any, Any], test: Any) -> bool:
    """Whether a failed check of its instrument may reach a test of a surface."""
    if not any(one.job.day.function_checks for one in (view, *(stood.view for stood in view.before))):
        return False
    return _touched(view, test.instrument, kind.may_show(test), time_of_test(view, surface, test))


def beyond_accuracy(view: JobView) -> tuple[Beyond, ...]:
    """Return for each accuracy of an instrument the largest error beyond it in a check that passed by its tolerance.

    It is known to err by that much, whatever its certificate says.
    """
    found: dict[tuple[str, str], Beyond] = {}
    least: dict[tuple[str, str], Fraction] = {}
    for one in checked(view):
        instrument = view.project.instruments[one.record.instrument]
        field = "accuracy" if _has_own_accuracy(one.record, instrument) else "temperature_accuracy"
        stated = _accuracy_at(one.record, instrument) if field == "accuracy" else instrument.temperature_accuracy
        if (
            one.verdict == "does not conform"
            or one.asked
            or stated is None
            or kind_of(stated.unit) not in TOLERATED[one.record.kind]
        ):
            continue
        error = Quantity(_error(one.record, stated.unit), stated.unit)
        beyond, key = error.exact - stated.exact, (one.record.instrument, field)
        if beyond > least.get(key, 0):
            least[key] = beyond
            found[key] = Beyond(one, field, error, stated)
    return tuple(found.values())


def with_shown_errors(view: JobView) -> dict[str, Instrument]:
    """Return the instruments, each with the limits of error that its checks of the day leave it."""
    tools = dict(view.project.instruments)
    for one in beyond_accuracy(view):
        name = one.check.record.instrument
        # what is a share of the reading stays one: the rest has grown by what the check showed beyond
        stated, unit = getattr(tools[name], one.field), one.stated.unit
        fixed = Fraction(0) if stated is None else stated.in_unit(unit)
        grown = Quantity(fixed + one.error.exact - one.stated.exact, unit)
        tools[name] = tools[name].model_copy(update={one.field: grown})
    return tools


def shown_limit(stated: Quantity) -> Amount:
    """Return a tolerance or an accuracy as it is told: with its own digits, as far as a person wants them."""
    return Amount.of(stated, min(stated.places, _MOST_PLACES))


def _error(record: FunctionCheck, unit: str) -> Fraction:
    """Return how far off an instrument was in an accuracy's unit; a share of a conductivity is one of the reference."""
    own = record.reference.unit
    off = abs(record.shown.in_unit(own) - record.reference.exact)
    if record.kind == "conductivity" and kind_of(unit) == "share":
        return 100 * off / abs(record.reference.exact) if off else off
    return Quantity(off, unit_of_difference(own)).in_unit(unit)


def made_with(view: JobView, record: Condition, name: str) -> bool:
    """Whether a reading of the conditions was made with an instrument, or may have been."""
    tools = view.project.instruments
    return name in record.instruments or any(name in shown_by(record, field, tools) for field in measured(record))


def _judged(view: JobView, record: FunctionCheck) -> InstrumentCheck:
    """Judge one check: what was shown against the reference, within the tolerance or the instrument's accuracy."""
    instrument = view.project.instruments[record.instrument]
    named = InstrumentNamed(record.instrument, Word("instrument-kind", instrument.kind), instrument.serial)
    seen = codes.FunctionSeen(Amount.of(record.reference), Amount.of(record.shown), record.against)
    stated = _allowed(record, instrument)
    at = view.at(record.time)
    if not record.confirmed and shown_doubt(view, record) is not None:
        limit: codes.Tolerated | codes.NotTolerated
        limit = codes.NotTolerated() if stated is None else codes.Tolerated(shown_limit(stated))
        return InstrumentCheck(record, at, codes.FunctionChecked(named, seen, limit), "inconclusive", asked=True)
    if stated is None:
        usual = widest_tolerance(TOLERATED[record.kind][0], record.reference)
        if _is_beyond(record, usual):
            facts = codes.FunctionChecked(named, seen, codes.UsuallyTolerated(shown_limit(usual)))
            return InstrumentCheck(record, at, facts, "does not conform")
        return InstrumentCheck(record, at, codes.FunctionChecked(named, seen, codes.NotTolerated()), "inconclusive")
    facts = codes.FunctionChecked(named, seen, codes.Tolerated(shown_limit(stated)))
    if _is_beyond(record, stated):
        return InstrumentCheck(record, at, facts, "does not conform")
    return InstrumentCheck(record, at, facts, "inconclusive" if _too_wide(record) else "conforms")


def _allowed(record: FunctionCheck, instrument: Instrument) -> Quantity | None:
    """Return how far off an instrument may be in a check; None where nothing is on record."""
    return record.tolerance or _accuracy_at(record, instrument) or _own_thermometer(record, instrument)


def shown_doubt(view: JobView, record: FunctionCheck) -> Doubt | None:
    """Return the doubt about what was shown in a check that would fail by it, confirmed or not."""
    allowed = _allowed(record, view.project.instruments[record.instrument])
    beyond = _is_beyond(record, allowed or widest_tolerance(TOLERATED[record.kind][0], record.reference))
    return reference_doubt(record.shown, record.reference) if beyond else None


def _is_beyond(record: FunctionCheck, allowed: Quantity) -> bool:
    """Whether an instrument was further off than it may be."""
    unit = record.reference.unit
    off = abs(record.shown.in_unit(unit) - record.reference.exact)
    if kind_of(allowed.unit) == "share" and record.kind == "conductivity":
        return off > abs(record.reference.exact) * allowed.in_unit("%") / 100
    return off > allowed.in_unit(unit_of_difference(unit))


def _own_thermometer(record: FunctionCheck, instrument: Instrument) -> Quantity | None:
    """Return the accuracy of the thermometer of an instrument that mainly shows else, where that was checked."""
    return instrument.temperature_accuracy if record.kind == "temperature" else None


def _too_wide(record: FunctionCheck) -> bool:
    """Whether the check could hardly fail, and nobody has looked again: it shows nothing good then."""
    if record.tolerance is None or record.confirmed:
        return False
    return tolerance_doubt(record.tolerance, record.reference) is not None


def _has_own_accuracy(record: FunctionCheck, instrument: Instrument) -> bool:
    """Whether the accuracy of an instrument is one of what was checked."""
    stated = instrument.accuracy
    if instrument.accuracy_of_reading is not None:
        return record.kind == _SHARED.get(instrument.kind, record.kind)
    return stated is not None and kind_of(stated.unit) in TOLERATED[record.kind]


def _accuracy_at(record: FunctionCheck, instrument: Instrument) -> Quantity | None:
    """Return the accuracy of an instrument at the reference of a check, where it is one of what was checked."""
    if not _has_own_accuracy(record, instrument):
        return None
    stated, share = instrument.accuracy, share_of(instrument.accuracy_of_reading)
    if share is None:
        return stated
    unit = record.reference.unit
    limit = with_share(None if stated is None else stated.in_unit(unit), share, record.reference.exact)
    return None if limit is None else Quantity(decimal_of(limit), unit)
