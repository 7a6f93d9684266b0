"""Instruments of which a report states other data than the reports before and after it in its contract.

A new certificate with a later calibration is what happens to every instrument, and is no difference; nor is what was
not stated before. What remains may be a slip, a project file that was not brought up to date, or two instruments.
"""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from itertools import groupby
from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.audit.problems import Problem
from reportgen.names import plain_serial, says_nothing, spelling, tells_nothing
from reportgen.units import DISPLAY
from reportgen.words.told import told

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from reportgen.audit.index import Index
    from reportgen.words.told import Told

_STATED: Final = """
SELECT reports.contract, kind, serial, number || ' r' || revision, path, unproven,
    tools.certificate, calibrated, due, accuracy, resolution
FROM instruments AS tools JOIN reports USING (project) WHERE counts AND serial != ''
ORDER BY reports.contract, ordered, path, id
"""
_CERTIFIED: Final = """
SELECT DISTINCT reports.contract, tools.kind, tools.certificate, tools.serial, number, revision, path, project
FROM instruments AS tools JOIN reports USING (project)
WHERE counts AND tools.serial != '' AND tools.certificate != '' ORDER BY reports.contract, ordered, path, id
"""
_MEMBERS: Final = ("certificate", "calibrated", "due", "accuracy", "resolution")
_MOST_NAMED: Final = 5


def shared_certificates(index: Index) -> Iterator[Problem]:
    """Yield each certificate that is stated of several instruments of a kind which were used in a contract.

    A note where one project file states it of both, as a laboratory may write one certificate for several; else a
    doubt.
    """
    found: dict[tuple[str, str, str], dict[tuple[str, ...], list[_Certified]]] = {}
    for contract, kind, certificate, *data in index.rows(_CERTIFIED):
        if not says_nothing(certificate) and not tells_nothing(certificate):
            one = _Certified(*data)
            serials = found.setdefault((contract, kind, spelling(certificate) or certificate), {})
            serials.setdefault(plain_serial(one.serial) or (one.serial,), []).append(one)
    for (contract, *_), serials in found.items():
        if len(serials) > 1:
            yield _shared(contract, [*serials.values()])


class _Certified(NamedTuple):
    """An instrument with a certificate, as a report states it."""

    serial: str
    number: str
    revision: int
    path: str
    project: str


def _shared(contract: str, stated: Sequence[Sequence[_Certified]]) -> Problem:
    """Return the problem of a certificate that is stated of several instruments, each as several reports have it."""
    first = [each[0] for each in stated]
    each = tuple(told("certificate-of", serial=one.serial, report=f"{one.number} r{one.revision}") for one in first)
    together = set.intersection(*({one.project for one in same} for same in stated))
    return Problem(
        contract, first[-1].number, "certificate-shared", "", told("certificate-shared", each=each),
        tuple(dict.fromkeys(one.path for one in first)), weighs="note" if together else None,
    )  # fmt: skip


class _Stated(NamedTuple):
    """What one report states of an instrument, as it is written and as it is compared."""

    serial: str
    report: str
    path: str
    unproven: bool
    written: dict[str, str]
    plain: tuple[str, ...]

    def is_newer(self, before: _Stated) -> bool:
        """Whether a later calibration, with a certificate of its own, explains every difference."""
        later = self.written["calibrated"] > before.written["calibrated"] > ""
        return later and "certificate" in self.differing(before)

    def differing(self, other: _Stated) -> list[str]:
        """Return what the two state otherwise."""
        return [name for name, one, its in zip(_MEMBERS, self.plain, other.plain, strict=True) if one != its]

    def of(self, members: Sequence[str]) -> tuple[Told, ...]:
        """Return what is stated of the members."""
        return tuple(told(f"instrument-{name}", value=_value(self.written[name])) for name in members)


def stated_otherwise(index: Index) -> Iterator[Problem]:
    """Yield each state of an instrument that differs from those around it; a doubt where the former one comes back."""
    found: dict[tuple[str, str, str], list[_Stated]] = {}
    for contract, kind, serial, report, path, unproven, *data in index.rows(_STATED):
        written = dict(zip(_MEMBERS, data, strict=True))
        one = _Stated(serial, report, path, bool(unproven), written, tuple(map(_plain, data)))
        found.setdefault((contract, kind, spelling(serial) or serial), []).append(one)
    for (contract, _, _), stated in found.items():
        if len({one.path for one in stated}) == len(stated):  # two in one project file are two, whatever is on them
            yield from _of_one(contract, stated)


def _of_one(contract: str, stated: Sequence[_Stated]) -> Iterator[Problem]:
    runs = [list(same) for _, same in groupby(stated, key=lambda one: one.plain)]
    seen = {runs[0][0].plain}
    for before, run, *later in zip(runs, runs[1:], [*runs[2:], None], strict=False):
        if run[0].plain in seen:
            continue
        after = later[0][0] if later[0] is not None and later[0][0].plain in seen else None
        seen.add(run[0].plain)
        members = _telling(before[-1], run[0], returns=after is not None)
        if members:
            yield _problem(contract, members, run, before[-1], after)


def _telling(before: _Stated, one: _Stated, *, returns: bool) -> list[str]:
    """Return what a report states otherwise than the one before it, unless that is what happens, or is told already."""
    members = one.differing(before)
    if not returns:
        members = [name for name in members if one.written[name] and before.written[name]]
        if one.is_newer(before):
            return []
    rewritten = one.written["certificate"] != "" and set(members) <= {"calibrated", "due"}
    return [] if rewritten else members


def _problem(
    contract: str, members: Sequence[str], run: Sequence[_Stated], before: _Stated, after: _Stated | None
) -> Problem:
    one, more = run[0], len(run) - _MOST_NAMED
    named = tuple(each.report for each in run[:_MOST_NAMED])
    reports = told("contract-number-list", numbers=named, more=more if more > 0 else None)
    sentence = told(
        "instrument-stated-otherwise", serial=one.serial, now=one.of(members), reports=reports,
        was=before.of(members), before=before.report, after=None if after is None else after.report,
    )  # fmt: skip
    held = [each for each in (one, before, after) if each is not None]
    files = tuple(each.path for each in held)
    return Problem(
        contract, one.report.rpartition(" r")[0], "instrument-stated-otherwise", "", sentence, files,
        unproven=any(each.unproven for each in held), weighs=None if after is None else "doubt",
    )  # fmt: skip


def _plain(text: str) -> str:
    """Return how something stated is compared: one number always alike, names as names are."""
    number, _, unit = text.partition(" ")
    try:
        return f"{Decimal(number).normalize():f} {unit}" if unit else spelling(text) or text
    except InvalidOperation:
        return spelling(text) or text


def _value(text: str) -> Told | str:
    """Return a quantity as pages print numbers, what is none as it is, and nothing as that."""
    number, _, unit = text.partition(" ")
    try:
        return told("number-and-unit", number=Decimal(number), unit=DISPLAY.get(unit, unit)) if unit else text or "–"
    except InvalidOperation:
        return text
