"""What a check of this shift says of steel of earlier reports: since the last good one nobody knows how it was then."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reportgen.measurements import LOGS
from reportgen.measurements.slice import SceneArea, SceneSurface
from reportgen.rules.doubts import doubts
from reportgen.rules.inspected import steel_of
from reportgen.rules.scene import scene_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.rules.scene import AreaView, JobView, SurfaceView

_REACHING: Final = tuple(kind for kind in LOGS if kind.reaches_back)


class Reached(NamedTuple):
    """A code that a check of a report yields of a surface of an earlier one, and the clause of that."""

    code: str
    clause: str | None
    view: JobView
    area: AreaView
    surface: SurfaceView


def reached_before(view: JobView) -> Iterator[Reached]:
    """Yield what the checks of a report say of the steel of earlier ones that it does not enter itself."""
    for kind in _REACHING:
        if view.before and kind.entries_in(view.job.day):
            scene = scene_of(view, kind, doubts(view))
            for report, area, surface in _steel_before(view):
                alone = SceneArea[Any](area.id, (_as_known(surface),), area.structure.name)
                limit = getattr(view.specification, kind.limit_key)
                found = kind.judge(limit, replace(scene, areas=(alone,))).findings
                told = {one.code: one.clause for one in found if one.code in kind.reaches_back}
                yield from (Reached(code, clause, report, area, surface) for code, clause in told.items())


def _as_known(surface: SurfaceView) -> SceneSurface[Any]:
    record = surface.record
    return SceneSurface(
        (),
        record.apparatus,
        record.blasted.abrasive,
        record.initial_condition,
        surface.blasted,
        surface.coated,
        known=True,
    )


def _steel_before(view: JobView) -> Iterator[tuple[JobView, AreaView, SurfaceView]]:
    """Yield the surfaces of earlier reports, each as the last of them enters it, but for those of this report."""
    here = {steel_of(one) for one in view.surfaces}
    last = {
        steel_of(surface): (stood.view, area, surface)
        for stood in view.before for area in stood.view.areas for surface in area.surfaces
    }  # fmt: skip
    yield from (one for steel, one in last.items() if steel not in here)
