"""What is in doubt on steel, and whether a later report measures or tests it anew: to enter it again answers nothing.

Nothing is anew that is not known to be made after what is in doubt; nor is anything so beside that, entered once more.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from reportgen.measurements import CODES, OF_A_SURFACE, TESTS
from reportgen.results import Word
from reportgen.results.codes import equipment
from reportgen.results.codes.doubts import DoubtedEntry, doubt_settled
from reportgen.results.codes.order import MeasuredEarly
from reportgen.results.codes.records import TestsInDoubt
from reportgen.results.statements import Code
from reportgen.rules.entered_before import entries_on, last_made, moments

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator

    from reportgen.results import Finding
    from reportgen.rules.entered_before import LastMade, MadeAt
    from reportgen.rules.scene import JobView, SurfaceView

PROFILE: Final = "profile"
"""The series of readings and visual comparisons; the others have the names of kinds of tests and grades."""
SERIES_OF: Final = {one.name: kind.key for kind in TESTS for one in kind.statements if isinstance(one, Code)}
"""Codes of findings on tests, with the series of entries that they are about."""
RETESTED: Final = {code: key for code, key in SERIES_OF.items() if CODES[code].settled == "washing"}
"""Codes of what washing or cleaning removes, with the tests of a surface that show it gone."""
SALTS: Final = "salts"
"""The tests of which an entry may be in doubt so that washing settles that."""


def may_hide(finding: Finding) -> frozenset[str]:
    """Return the codes of what failed, if anything did, where an entry in doubt of a test leaves that open."""
    if finding.code in RETESTED or CODES[finding.code].settled_by(finding.facts) != "washing":
        return frozenset()
    return frozenset(code for code, key in RETESTED.items() if key == SALTS)


class Anew(NamedTuple):
    """What is to be made anew of some ``series``, ``at`` a location where that is known; in place of what was ``made``.

    Without that any entry will do. ``doubted`` are the locations in doubt, all where there is none; ``spot`` is the
    spot there.
    """

    series: frozenset[str]
    at: str | None = None
    made: LastMade | None = None
    doubted: frozenset[str] = frozenset()
    spot: str | None = None

    def is_anew(self, one: MadeAt) -> bool:
        """Whether an entry of a later report is known to be made after what is in doubt."""
        return self.made is None or (not one.known and self.made.is_before(one))

    def is_met(self, view: JobView, surface: SurfaceView, *, beside: bool = False) -> bool:
        """Whether an entry of the steel has it all anew, and nothing in doubt but with ``beside``."""
        for each in self.series:
            there = [one for one in made_on(view, surface, {each}) if self.at in (None, one.location)]
            doubted = [one for one in there if self._is_doubted(one, surface)]
            if not any(map(self.is_anew, there)) or not (beside or all(map(self.is_anew, doubted))):
                return False
        return True

    def _is_doubted(self, one: MadeAt, surface: SurfaceView) -> bool:
        names = {one.location, f"{one.location} ({surface.record.apparatus})"}
        there = not self.doubted or bool(names & self.doubted)
        return there and (None in {self.spot, one.spot} or self.spot == one.spot)


def made_on(view: JobView, surface: SurfaceView, series: Collection[str]) -> Iterator[MadeAt]:
    """Yield when each entry of some series of a surface was made; for the profile, readings and comparisons."""
    known = [key for each in series for key in (("reading", "comparison") if each == PROFILE else (each,))]
    yield from (one for key in known for one in moments(view, surface, key))


def told_in_doubt(finding: Finding) -> frozenset[str]:
    """Return the locations that the facts of a finding say are in doubt, where they name any."""
    doubt = getattr(finding.facts, "doubt", None)
    if isinstance(doubt, equipment.InDoubt):
        return frozenset(doubt.locations)
    return frozenset(doubt.places) if isinstance(doubt, TestsInDoubt) else frozenset()


def in_doubt_by(finding: Finding, view: JobView, surface: SurfaceView, location: str | None) -> Anew:
    """Return what a finding puts in doubt on a surface of its report, at its ``location`` if it has one."""
    series = frozenset(_series(finding, view, surface))
    made = last_made(view, [one for one in made_on(view, surface, series) if location in (None, one.location)])
    facts, doubted = finding.facts, told_in_doubt(finding)
    roll = getattr(facts, "roll", None)
    if isinstance(facts, MeasuredEarly):  # the rest was made when it was done
        every = entries_on(view, surface.record, (*surface.readings, *surface.early))
        early = (one for one in every if one.at is not None and one.at < surface.blasted[1])
        doubted = frozenset(one.location for one in early if one.location is not None)
    elif roll is not None and location is None:
        doubted = frozenset(one.location for one in surface.readings if one.roll == roll)
    return Anew(series, location, made, doubted, finding.place.spot)


def _series(finding: Finding, view: JobView, surface: SurfaceView) -> set[str]:
    """Return the series that a finding is about; an entry in doubt is one of a salt test, or of the profile."""
    if isinstance(finding.facts, DoubtedEntry):
        return {SALTS} if doubt_settled(finding.facts) == "washing" else {PROFILE}
    return _series_told(finding, view, surface)


def _series_told(finding: Finding, view: JobView, surface: SurfaceView) -> set[str]:
    """Return the series that facts tell: of an instrument, those made with its kind; of a person, all."""
    facts = finding.facts
    what = getattr(facts, "what", None)
    if finding.code in SERIES_OF or isinstance(what, Word):
        name = SERIES_OF.get(finding.code, what.key if isinstance(what, Word) else "")
        return {PROFILE if name == "reading" else name}
    if isinstance(facts, equipment.Certificate):
        every = {one.series for one in entries_on(view, surface.record, surface.readings)}
        return {PROFILE if one in ("reading", "comparison") else one for one in every} or {PROFILE}
    named = getattr(facts, "instrument", None)
    known = view.project.instruments.get(named) if isinstance(named, str) else named
    kind = getattr(known, "kind", None)
    by_kind = kind.key if isinstance(kind, Word) else kind
    by = {one.key for one in (*OF_A_SURFACE, *TESTS) if by_kind in one.instruments}
    return by or {PROFILE}
