"""An instrument must be of a kind that measures what the day file says, and have been calibrated by then."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from reportgen.diagnostics import closest
from reportgen.job.recorded import CHECKED_KINDS
from reportgen.loader.checks.uses import uses_of
from reportgen.measurements import MEASUREMENTS

if TYPE_CHECKING:
    from collections.abc import Mapping

    from reportgen.loader.sheets import Loc, Sheets

_PROFILE: Final = ("thickness gauge", "depth micrometer", "comparator")
_ON_SHIM: Final = ("thickness gauge", "depth micrometer")

_NAMED: Final = 3
"""Instruments that are named; of others it says how many."""
_MARK: Final = re.compile(r"[0-9]+|\b[A-Za-z]\b")

_NEEDS: Final[dict[str, tuple[tuple[str, ...], str]]] = {
    "gauge_checks": (_ON_SHIM, f"a gauge check needs a {_ON_SHIM[0]}"),
    "tape_checks": (("thickness gauge",), "a tape check needs a thickness gauge"),
    "function_checks": (tuple(CHECKED_KINDS), f"a function check needs a {next(iter(CHECKED_KINDS))}"),
    "profile": (_PROFILE, f"a profile needs a {_PROFILE[0]}"),
    **{
        kind.day_key: (
            kind.instruments,
            f"{'an' if kind.noun[0] in 'aeiou' else 'a'} {kind.noun} needs a {kind.instruments[0]}",
        )
        for kind in MEASUREMENTS
        if kind.instruments
    },
    **{
        f"{kind.key}.{field}": ((fitting,), f"`{field}` needs an instrument of kind `{fitting}`")
        for kind in MEASUREMENTS for field, fitting in kind.narrowed.items()
    },
}  # fmt: skip
"""Block of the day file, or one field of it → kinds of instrument that fit, and what needs which."""


def check_instruments(sheets: Sheets) -> None:
    """Refuse an instrument of another kind, and one calibrated after the report's date: once, however often used.

    Where several were, it is the date that is wrong.
    """
    later: dict[str, Loc] = {}
    for use in uses_of(sheets.day):
        instrument = sheets.instrument(use.name) if use.kind == "instrument" else None
        if instrument is None:
            continue
        kinds, needs = _NEEDS[use.block]
        if instrument.kind not in kinds:
            message = f"`{use.name}` is a {instrument.kind}; {needs}"
            sheets.refuse(use.loc, "JOB205", message, _other(sheets, kinds))
        if instrument.calibrated is not None and instrument.calibrated > sheets.day.report.date:
            later.setdefault(use.name, use.loc)
    if later:
        _refuse_date(sheets, later)
    _check_apparatus(sheets)


def _refuse_date(sheets: Sheets, later: Mapping[str, Loc]) -> None:
    told = [f"`{one}` was calibrated on {sheets.project.instruments[one].calibrated}" for one in later]
    more = f" and {len(told) - _NAMED} more" if len(told) > _NAMED else ""
    message = f"{', '.join(told[:_NAMED])}{more}, after the report's date {sheets.day.report.date}"
    place: Loc = ("report", "date") if len(later) > 1 else next(iter(later.values()))
    sheets.refuse(place, "JOB225", message, "enter the calibration that was valid on the day, or correct the date")


def check_gauge_checks(sheets: Sheets) -> None:
    """A check says what its kind of gauge shows: anvils and pre-set, or tip and zero on the plate."""
    for index, check in enumerate(sheets.day.gauge_checks):
        gauge = sheets.instrument(check.gauge)
        if gauge is None or gauge.kind not in _ON_SHIM or (gauge.kind == "depth micrometer") == (check.tip is not None):
            continue
        right, wrong = ("`tip` and `zero`", "anvils") if check.tip is None else ("`anvils` and `preset`", "tip")
        message = f"`{check.gauge}` is a {gauge.kind}, which has no {wrong}"
        sheets.refuse(("gauge_checks", index, wrong), "JOB161", message, f"write {right} instead", key=True)


def _other(sheets: Sheets, kinds: tuple[str, ...]) -> str | None:
    """Name the instruments of the project that would do."""
    fit = [f"`{name}`" for name, instrument in sheets.project.instruments.items() if instrument.kind in kinds]
    return f"of that kind the project has {', '.join(fit)}" if fit else "enter one in the project file"


def _check_apparatus(sheets: Sheets) -> None:
    """Warn of a check of compressed air for an apparatus no surface was blasted with, when the name is nearly right.

    `pot 1` beside `pot 2` is another apparatus: checked, and not used because its area was not inspected.
    """
    used = {surface.apparatus for surface in sheets.day.surfaces}
    for index, check in enumerate(sheets.day.air_checks):
        meant = closest(check.apparatus, used)
        if check.apparatus in used or meant is None:
            continue
        # the number or the single letter by which people tell things apart
        marks = [_MARK.findall(name) for name in (check.apparatus, meant)]
        if not all(marks) or marks[0] == marks[1]:
            span = sheets.place(("air_checks", index, "apparatus"))
            message = f"no surface of this day was blasted with `{check.apparatus}`"
            sheets.found.at(span, "JOB246", message, f"did you mean `{meant}`?", "warning")
