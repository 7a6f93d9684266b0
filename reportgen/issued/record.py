"""The record of one report: what a submittal prints of it and an audit compares, small enough for thousands at once."""

from __future__ import annotations

from dataclasses import dataclass, fields, is_dataclass
from decimal import Decimal
from functools import cache
from types import NoneType, UnionType
from typing import Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from reportgen.results import Decision, Verdict  # noqa: TC001 - the hints are read while it runs

T = TypeVar("T")

LONGEST = 1 << 16
"""Characters of the longest text in a record; a job's longest has four thousand."""
_MOST_DIGITS = 40
_MOST_BITS = 63


@dataclass(frozen=True, slots=True)
class LocationRecord:
    """One location: profile and spots in the area's unit; by which apparatus and abrasive, where that is known."""

    id: str
    profile: Decimal | None
    verdict: Verdict
    spots: tuple[Decimal, ...]
    apparatus: str | None = None
    abrasive: str | None = None


@dataclass(frozen=True, slots=True)
class SurfaceRecord:
    """One surface of the day: how it was prepared, when coated, and its readings as entered, in order."""

    area: str
    apparatus: str
    abrasive: str
    coated: str | None
    gauge: str | None
    gauge_unit: str | None
    readings: tuple[Decimal, ...] = ()


@dataclass(frozen=True, slots=True)
class AreaRecord:
    """One area: verdict, decision with its reasons, and the statistics the report prints."""

    id: str
    structure: str
    structure_name: str
    name: str
    verdict: Verdict
    decision: Decision
    unit: str
    n_locations: int
    mean: Decimal | None
    standard_deviation: Decimal | None
    expanded_uncertainty: Decimal | None
    locations: tuple[LocationRecord, ...]


@dataclass(frozen=True, slots=True)
class NonconformanceRecord:
    """A nonconformance as it stood after the report."""

    id: str
    area: str | None
    findings: tuple[str, ...]
    description: str
    disposition: str
    decided_by: str
    status: Literal["open", "closed"]
    raised_in: str
    corrective_action: str | None = None
    evidence: str | None = None


@dataclass(frozen=True, slots=True)
class FindingRecord:
    """A finding of the report."""

    code: str
    severity: str
    observed: str
    requirement: str
    area: str | None = None
    clause: str | None = None


@dataclass(frozen=True, slots=True)
class PersonRecord:
    """Someone whom a job names; ``organisation`` where it states one."""

    name: str
    organisation: str | None = None


@dataclass(frozen=True, slots=True)
class ReportRecord:
    """One report. ``supersedes`` is revision, SHA-256 (where recorded) and reason; limits in the area's unit.

    ``may_revise`` is whom its job names as inspectors of its own or of the inspector's organisation. ``day_sha256`` is
    the hash of its day file, ``earlier`` those of the earlier day files it builds upon.
    """

    contract: str
    contract_name: str
    client: str
    contractor: str
    body: str
    number_pattern: str | None
    number: str
    revision: int
    date: str
    issued_at: str
    status: str
    generator: str
    inspector: str
    verdict: Verdict
    supersedes_revision: int | None
    supersedes_sha256: str | None
    supersedes_reason: str | None
    day_sha256: str
    earlier: tuple[str, ...]
    minimum: Decimal | None
    maximum: Decimal | None
    unit: str | None
    areas: tuple[AreaRecord, ...] = ()
    surfaces: tuple[SurfaceRecord, ...] = ()
    nonconformances: tuple[NonconformanceRecord, ...] = ()
    findings: tuple[FindingRecord, ...] = ()
    may_revise: tuple[PersonRecord, ...] = ()

    @property
    def title(self) -> str:
        """Number and revision, as ``AB-12-001 revision 0``."""
        return f"{self.number} revision {self.revision}"


def value_from(kind: type[T], data: Any) -> T:
    """Return the frozen value whose ``results.plain`` form is ``data`` (JSON with ``Decimal`` numbers).

    Raises:
        KeyError, TypeError, ValueError: when ``data`` is not that, or larger than anything a report holds: whole
        numbers of more than 63 bits, numbers of more than forty digits, texts longer than ``LONGEST``.
    """
    value: T = _value(kind, data)
    return value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


def _value(hint: Any, data: Any) -> Any:
    if is_dataclass(hint) and isinstance(hint, type):
        hints = _hints(hint)
        return hint(**{field.name: _value(hints[field.name], data[field.name]) for field in fields(hint)})
    origin = get_origin(hint)
    if origin in (Union, UnionType):
        inner = next(one for one in get_args(hint) if one is not NoneType)
        return None if data is None else _value(inner, data)
    if origin is tuple:
        return tuple(_value(get_args(hint)[0], item) for item in data)
    return _scalar(hint, data)


def _scalar(hint: Any, data: Any) -> Any:
    if get_origin(hint) is Literal:
        if data not in get_args(hint):
            raise ValueError("not one of the words that are known here")
        return data
    if hint is Decimal and isinstance(data, int | Decimal) and not isinstance(data, bool):
        return _measured(Decimal(data))
    if not isinstance(data, hint) or (hint is int and isinstance(data, bool)):
        raise TypeError(f"{hint.__name__} expected")
    if (len(data) > LONGEST) if isinstance(data, str) else (data.bit_length() > _MOST_BITS):
        raise ValueError("larger than anything a report holds")
    return data


def _measured(number: Decimal) -> Decimal:
    _, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int) or len(digits) > _MOST_DIGITS or abs(exponent) > _MOST_DIGITS:
        raise ValueError("larger than anything a report holds")
    return number
