"""One day as the rules found it, before what was raised earlier is carried on to it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from reportgen.names import spelling
from reportgen.results.codes.sampling import WALK_OUT_MISSING
from reportgen.rules.reinspection import Failure
from reportgen.rules.release import effect_of
from reportgen.rules.said_open import NOTHING_OPEN

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from reportgen.job import Job
    from reportgen.results import Finding
    from reportgen.results.values import Bounded
    from reportgen.rules.profile import AreaProfile
    from reportgen.rules.said_open import SaidOpen
    from reportgen.rules.scene import JobView, SurfaceView


Steel = tuple[str, str, tuple["dt.datetime", "dt.datetime"]]
"""Steel of one blasting: its area, its apparatus however that is spelt, from when to when."""


def steel_of(surface: SurfaceView) -> Steel:
    """Return by what the steel of an entry is known in any report."""
    name = surface.record.apparatus
    return surface.record.area, spelling(name) or name, surface.blasted


@dataclass(frozen=True)
class Inspected:
    """One day as the rules found it: its findings, those on steel blasted again in it, and the areas that passed.

    ``released`` are those that it releases, what earlier days found or raised aside. ``bounds`` are what the walk-outs
    of each area bound, ``profiles`` its locations as judged. ``said_open`` is what its report was issued with as open,
    upon one that was revised since. Of one that is ``replaced`` the findings are those that its revisions, the last
    of them ``left_out_by``, do not have. ``gone`` is the steel that its re-inspections say is gone, with the
    codes of what had failed on it.
    """

    view: JobView
    findings: Sequence[Finding]
    formerly: Sequence[Finding]
    passed: frozenset[str]
    released: frozenset[str] = frozenset()
    bounds: Mapping[str, tuple[Bounded, ...]] = field(default_factory=dict)
    profiles: Sequence[AreaProfile] = ()
    said_open: SaidOpen = NOTHING_OPEN
    left_out_by: int | None = None
    gone: Mapping[Steel, frozenset[str]] = field(default_factory=dict)

    @property
    def job(self) -> Job:
        """The day."""
        return self.view.job

    @property
    def replaced(self) -> bool:
        """Whether it is no report that counts, but what the revisions of one leave out."""
        return self.left_out_by is not None

    @cached_property
    def failures(self) -> list[tuple[Finding, Failure]]:
        """Every finding as a failure of this report."""
        before = self.view.as_replaced()
        open_ = {(one.area, str(one.location)) for one in self.findings if one.code == WALK_OUT_MISSING.name}
        return [
            (one, Failure(one.code, one.area, one.location, view, finding=one, bounds=bounds.get(str(one.area), ()),
                          unbounded=frozenset(name for area, name in open_ if area == one.area),
                          left_out_by=self.left_out_by))
            for found_here, view, bounds in ((self.findings, self.view, self.bounds), (self.formerly, before, {}))
            for one in found_here
        ]  # fmt: skip

    @property
    def failing(self) -> list[Failure]:
        """What of its findings fails."""
        return [failure for finding, failure in self.failures if effect_of(finding) == "fails"]

    @property
    def against(self) -> list[Failure]:
        """What of its findings fails or holds."""
        return [failure for finding, failure in self.failures if effect_of(finding) in ("fails", "holds")]
