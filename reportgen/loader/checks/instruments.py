"""An instrument must be of a kind that measures what the day file says it measured, and have been calibrated by then."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import closest

if TYPE_CHECKING:
    from collections.abc import Iterator

    from reportgen.loader.sheets import Loc, Sheets

_AMBIENT: Final = ("hygrometer", "psychrometer", "surface thermometer", "air thermometer", "barometer", "other")
_PROFILE: Final = ("thickness gauge", "depth micrometer")
_TAPE: Final = ("thickness gauge",)
_CONDUCTIVITY: Final = ("conductivity meter", "other")


def check_instruments(sheets: Sheets) -> None:
    """Refuse an instrument of another kind, and one calibrated after the report's date."""
    date = sheets.day.report.date
    for loc, name, kinds, purpose in _uses(sheets):
        instrument = sheets.instrument(name)
        if instrument is None:
            continue
        if instrument.kind not in kinds:
            message = f"`{name}` is a {instrument.kind}; {purpose} needs a {kinds[0]}"
            sheets.refuse(loc, "JOB205", message, _other(sheets, kinds))
        if instrument.calibrated is not None and instrument.calibrated > date:
            message = f"`{name}` was calibrated on {instrument.calibrated}, after the report's date {date}"
            help_text = "enter the calibration that was valid on the day, or correct the date"
            sheets.refuse(loc, "JOB225", message, help_text)
    _check_apparatus(sheets)


def _other(sheets: Sheets, kinds: tuple[str, ...]) -> str | None:
    """Name the instruments of the project that would do."""
    fit = [f"`{name}`" for name, instrument in sheets.project.instruments.items() if instrument.kind in kinds]
    return f"of that kind the project has {', '.join(fit)}" if fit else "enter one in the project file"


def _uses(sheets: Sheets) -> Iterator[tuple[Loc, str, tuple[str, ...], str]]:
    day = sheets.day
    for index, condition in enumerate(day.conditions):
        for number, name in enumerate(condition.instruments):
            yield ("conditions", index, "instruments", number), name, _AMBIENT, "a conditions reading"
    for index, gauge_check in enumerate(day.gauge_checks):
        yield ("gauge_checks", index, "gauge"), gauge_check.gauge, _PROFILE, "a gauge check"
    for index, tape_check in enumerate(day.tape_checks):
        yield ("tape_checks", index, "gauge"), tape_check.gauge, _TAPE, "a tape check"
    for index, abrasive in enumerate(day.abrasive_checks):
        if abrasive.instrument is not None:
            yield ("abrasive_checks", index, "instrument"), abrasive.instrument, _CONDUCTIVITY, "an abrasive check"
    for index, surface in enumerate(day.surfaces):
        if surface.profile is not None:
            yield ("surfaces", index, "profile", "gauge"), surface.profile.gauge, _PROFILE, "a profile"
        for number, salt in enumerate(surface.salts):
            if salt.instrument is not None:
                place: Loc = ("surfaces", index, "salts", number, "instrument")
                yield place, salt.instrument, _CONDUCTIVITY, "a salt test"


def _check_apparatus(sheets: Sheets) -> None:
    """Warn of a check of compressed air for an apparatus no surface was blasted with, when the name is nearly right."""
    used = {surface.apparatus for surface in sheets.day.surfaces}
    for index, check in enumerate(sheets.day.air_checks):
        meant = closest(check.apparatus, used)
        if check.apparatus not in used and meant is not None:
            span = sheets.place(("air_checks", index, "apparatus"))
            message = f"no surface of this day was blasted with `{check.apparatus}`"
            sheets.found.at(span, "JOB246", message, f"did you mean `{meant}`?", "warning")
