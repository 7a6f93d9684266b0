"""What the page of an area shows of what went before and what did not comply: steel inspected again, walk-outs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from reportgen.browser.fields import Field, beginning, field
from reportgen.intake.changes import Address, Entry
from reportgen.metrology.sampling import DIRECTIONS
from reportgen.results.codes.sampling import WALK_OUT_MISSING
from reportgen.rules.anew import RETESTED

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from reportgen.browser.area_views import AreaSight
    from reportgen.browser.sight import Sight


def again_fields(here: AreaSight) -> list[Field]:
    """Return what an entry says of steel that was inspected before: size blasted now, what it closes, what it replaces.

    What nothing was raised against, and nobody blasted before, is not asked. What is blasted again is to say how much:
    without a size it is all that failed.
    """
    say = here.sight.say
    size = here.plan.size
    again = bool(here.entry.get("reinspects") or here.entry.get("blasted_again"))
    cleaned = here.field(
        "cleaned", say("entry.cleaned-again" if again else "entry.cleaned"), kind="number", wanted=again,
        unit=here.sight.project.units.area if size is None else size.unit,
    )  # fmt: skip
    choices = (("reinspects", _open(here)), ("blasted_again", _blasted_before(here)))
    made = [
        here.field(name, say(f"entry.{name}"), kind="several", options=options) for name, options in choices if options
    ]
    return [cleaned, *made, *_washed(here, before=bool(choices[0][1]))]


def _washed(here: AreaSight, *, before: bool) -> list[Field]:
    """Return when what tests found was taken off the steel: where something was found before, or the entry says so."""
    limits = here.sight.project.specification
    names = (("washed", limits.soluble_salts or limits.dust), ("dust_removed", limits.dust))
    asked = [name for name, limit in names if name in here.entry or (before and limit is not None)]
    return [here.field(name, here.sight.say(f"entry.{name}"), kind="clock") for name in asked]


def _open(here: AreaSight) -> tuple[tuple[str, str], ...]:
    """Return the nonconformances that an entry may close: those it names, and open ones that were raised before it.

    What an earlier report found and was washed off since may be raised by the one that tests it again.
    """
    own, above = here.entry.get("reinspects") or [], bool(_above(here))
    before = any(one.area == here.plan.id for job in here.sight.job.earlier for one in job.day.surfaces)
    found = {
        one.id: f"{one.id}: {one.description}" for one in here.sight.evaluation.nonconformances
        if one.area in (None, here.plan.id)
        and (one.id in own or (one.status == "open" and (
            above or one.raised_in != here.sight.job.day.report.number or (before and RETESTED.keys() & {*one.findings})
        )))
    }  # fmt: skip
    return tuple((found | {name: found.get(name, name) for name in own}).items())


def _above(here: AreaSight) -> list[Mapping[str, Any]]:
    surfaces = here.sight.data.get("surfaces") or []
    at = next((n for n, one in enumerate(surfaces) if one is here.entry), len(surfaces))
    return [one for one in surfaces[:at] if one.get("area") == here.plan.id]


def _blasted_before(here: AreaSight) -> tuple[tuple[str, str], ...]:
    """Return whose steel on the area may have been blasted again: by entries above, and by earlier reports."""
    earlier = [one.apparatus for job in here.sight.job.earlier for one in job.day.surfaces if one.area == here.plan.id]
    names = [
        *earlier,
        *(str(one.get("apparatus", "")) for one in _above(here)),
        *(here.entry.get("blasted_again") or []),
    ]
    return tuple((name, name) for name in dict.fromkeys(filter(None, names)))


def not_inspected(here: AreaSight) -> Field | None:
    """Return the field for why an area was not inspected; none where something was entered of it."""
    if here.entry:
        return None
    at = Address((Entry("not_inspected", (("area", here.plan.id),)), "reason"))
    return field(here.sight.data, at, here.sight.say("entry.not-inspected"), kind="long", wide=True)


# Walk-outs


def walk_outs(here: AreaSight) -> list[dict[str, Any]]:
    """Return the walk-outs of an area: of each location that does not conform, and of those that are recorded."""
    profile = here.entry.get("profile") or {}
    records = {str(one.get("failing", "")): one for one in profile.get("walk_outs") or []}
    failing = [
        one.id for one in here.locations if one.walk_out is None and one.verdict == "does not conform"
    ]  # fmt: skip
    rows = profile.get("readings") or []
    measured = {one.id for one in here.locations}
    measured |= {str(one.get("location", "")) for one in rows if isinstance(one, dict) and len(one) > 1}
    return [_walk_out(here, name, records.get(name, {}), measured) for name in dict.fromkeys([*failing, *records])]


def to_measure(walks: Sequence[Mapping[str, Any]]) -> list[str]:
    """Return the locations of walk-outs that have no readings, in the order in which they are named."""
    return [name for walk in walks for direction in walk["directions"] for name in direction["unmeasured"]]


def _walk_out(here: AreaSight, name: str, record: Mapping[str, Any], measured: set[str]) -> dict[str, Any]:
    sight, say = here.sight, here.sight.say
    at = Address((*here.at.steps, "profile", Entry("walk_outs", (("failing", name),))))
    unit = sight.project.units.length
    interval = field(sight.data, at / "interval", say("walk.interval"), kind="number", unit=unit, wanted=True)
    stated = [str(one.get("towards", "")) for one in record.get("directions") or []]
    directions = [_direction(sight, at, towards, measured) for towards in stated if towards]
    fresh = None
    if record and len(stated) < len(DIRECTIONS):
        fresh = beginning(
            at / "directions", {}, say("walk.towards", number=len(stated) + 1), "towards",
            wanted=all(not one["open"] for one in directions),
        )  # fmt: skip
    missing = [
        sight.said.told(one) for one in sight.evaluation.findings
        if (one.code, one.area, one.location) == (WALK_OUT_MISSING.name, here.plan.id, name)
    ]  # fmt: skip
    return {
        "failing": name, "interval": interval, "directions": directions, "fresh": fresh, "missing": missing,
        "at": str(at), "recorded": bool(record),
    }  # fmt: skip


def _direction(sight: Sight, walk: Address, towards: str, measured: set[str]) -> dict[str, Any]:
    at = walk / Entry("directions", (("towards", towards),))
    no_room = field(
        sight.data, at / "no_room", sight.say("walk.no-room"), kind="choice",
        options=tuple((one, sight.say(f"walk.{one}")) for one in ("yes", "no")),
    )  # fmt: skip
    locations = field(
        sight.data, at / "locations", sight.say("walk.locations"), kind="list", wanted=no_room.value != "yes"
    )
    names = locations.value.replace(",", " ").split()
    return {
        "towards": towards, "at": str(at), "fields": [locations, no_room], "open": locations.wanted,
        "unmeasured": [name for name in names if name not in measured],
    }  # fmt: skip
