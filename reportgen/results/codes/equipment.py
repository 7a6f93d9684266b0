"""What can be stated about gauges, tape, calibrations and certificates."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import CheckCode, GapCode, TaskCode, holds, missing, notes

# Checks of a gauge


@dataclass(frozen=True, slots=True)
class GaugeSeen(Facts):
    """What a check of a gauge showed: state of its anvils, dial on closed anvils, reading on a shim."""

    anvils: Annotated[Word, "anvils"]
    preset: Amount | None = None
    shim: Amount | None = None
    shim_reading: Amount | None = None


@dataclass(frozen=True, slots=True)
class GaugeNotTried(Facts):
    """A check with neither pre-set nor shim."""

    anvils: Annotated[Word, "anvils"]


@dataclass(frozen=True, slots=True)
class LimitsOfError(Facts):
    """The gauge's limits of error, on either side."""

    value: Amount


@dataclass(frozen=True, slots=True)
class NoLimitsOfError(Facts):
    """No limits of error are on record."""


@dataclass(frozen=True, slots=True)
class GaugeDue(Facts):
    """What a check of a gauge must show: pre-set at minus the film, and shim, within the limits of error."""

    film: Amount
    limits: LimitsOfError | NoLimitsOfError


@dataclass(frozen=True, slots=True)
class GaugeChecked(Facts):
    """A check of a gauge, and what it must show."""

    seen: GaugeSeen | GaugeNotTried
    due: GaugeDue


@dataclass(frozen=True, slots=True)
class GaugeUnchecked(Facts):
    """A gauge without a complete check on one side of its readings; the time is that of the reading."""

    gauge: str
    side: Annotated[Word, "check-side"]
    reading: Annotated[Word, "check-reading"]


@dataclass(frozen=True, slots=True)
class InDoubt(Facts):
    """Locations with no good check between them and a failed one."""

    locations: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class NoneInDoubt(Facts):
    """No reading is put in doubt."""


@dataclass(frozen=True, slots=True)
class GaugeFailed(Facts):
    """A check that failed, what it should have shown, and what it puts in doubt; the time is that of the check."""

    gauge: str
    seen: GaugeSeen
    due: GaugeDue
    doubt: InDoubt | NoneInDoubt


@dataclass(frozen=True, slots=True)
class FilmContradicted(Facts):
    """How the readings are recorded, and a check beside them whose pre-set says otherwise; the time is the check's."""

    film: Annotated[Word, "film-recorded"]
    gauge: str
    seen: GaugeSeen


@dataclass(frozen=True, slots=True)
class GaugeMoved(Facts):
    """How far a gauge moved since the check before (time as printed); the time is that of the later check."""

    gauge: str
    moved: Amount
    since: str
    limits: Amount


# Tape


@dataclass(frozen=True, slots=True)
class UnusedTapeRange(Facts):
    """Published range of unused tape, film subtracted."""

    lowest: Amount
    highest: Amount


@dataclass(frozen=True, slots=True)
class NoTapeRange(Facts):
    """No range is published for the grade."""


@dataclass(frozen=True, slots=True)
class TapeChecked(Facts):
    """Thickness of unused tape, and the range that it must lie in."""

    thickness: Amount
    range: UnusedTapeRange | NoTapeRange


@dataclass(frozen=True, slots=True)
class TapeOutside(Facts):
    """A roll whose unused tape is not as thick as its grade should be; the time is that of the check."""

    roll: str
    thickness: Amount
    range: UnusedTapeRange


@dataclass(frozen=True, slots=True)
class TapeExpired(Facts):
    """A roll with the last date of its use and its date of expiry."""

    roll: str
    lot: str
    used: str
    expires: str


@dataclass(frozen=True, slots=True)
class TapeRollNamed(Facts):
    """A roll."""

    roll: str


@dataclass(frozen=True, slots=True)
class TapeOfGrade(Facts):
    """A roll and its grade."""

    roll: str
    tape_grade: Annotated[Word, "tape-grade"]


# Instruments and people


@dataclass(frozen=True, slots=True)
class InstrumentNamed(Facts):
    """An instrument by its id, kind and serial number."""

    id: str
    kind: Annotated[Word, "instrument-kind"]
    serial: str


@dataclass(frozen=True, slots=True)
class Calibration(Facts):
    """An instrument with a date of its use and the date on which its calibration falls due."""

    instrument: InstrumentNamed
    used: str
    due: str


@dataclass(frozen=True, slots=True)
class CalibrationUndated(Facts):
    """An instrument whose calibration has no due date."""

    instrument: InstrumentNamed


@dataclass(frozen=True, slots=True)
class Certificate(Facts):
    """A person's certificate, its date of expiry, and the last date of the report."""

    person: str
    certificate: str
    expires: str
    last: str


@dataclass(frozen=True, slots=True)
class PersonNamed(Facts):
    """A person."""

    person: str


GAUGE_UNCHECKED: Final = missing("gauge-check-missing", GaugeUnchecked)
GAUGE_FAILED: Final = holds("gauge-check-failed", GaugeFailed)
FILM_CONTRADICTED: Final = missing("film-contradicted", FilmContradicted, part="wrong")
GAUGE_MOVED: Final = notes("gauge-drift", GaugeMoved)
CALIBRATION_OVERDUE: Final = holds("calibration-overdue", Calibration)
TAPE_EXPIRED: Final = holds("tape-expired", TapeExpired)
TAPE_UNCHECKED: Final = notes("tape-check-missing", TapeRollNamed, part="missing")
TAPE_OUTSIDE: Final = holds("tape-check-outside-range", TapeOutside)
CERTIFICATE_EXPIRED: Final = holds("certificate-expired", Certificate)
MEASURE_UNUSED_TAPE: Final = TaskCode("measure-unused-tape", TapeRollNamed, answers=TAPE_UNCHECKED.name)
EXPIRY_NOT_STATED: Final = GapCode("tape-without-expiry", TapeRollNamed)
RANGE_NOT_PUBLISHED: Final = GapCode("tape-without-range", TapeOfGrade)
CALIBRATION_UNDATED: Final = GapCode("calibration-without-date", CalibrationUndated)
CERTIFICATE_NOT_STATED: Final = GapCode("certificate-not-stated", PersonNamed)
CERTIFICATE_UNDATED: Final = GapCode("certificate-without-expiry", PersonNamed)
GAUGE: Final = CheckCode("gauge", GaugeChecked)
TAPE: Final = CheckCode("tape", TapeChecked)
CALIBRATION: Final = CheckCode("calibration", Calibration)
CERTIFICATE: Final = CheckCode("certificate", Certificate)

STATEMENTS: Final = (
    GAUGE_UNCHECKED, GAUGE_FAILED, FILM_CONTRADICTED, GAUGE_MOVED, CALIBRATION_OVERDUE, TAPE_EXPIRED, TAPE_UNCHECKED,
    TAPE_OUTSIDE, CERTIFICATE_EXPIRED, MEASURE_UNUSED_TAPE, EXPIRY_NOT_STATED, RANGE_NOT_PUBLISHED, CALIBRATION_UNDATED,
    CERTIFICATE_NOT_STATED, CERTIFICATE_UNDATED, GAUGE, TAPE, CALIBRATION, CERTIFICATE,
)  # fmt: skip
WORDS: Final = {
    "anvils": ("clean", "cleaned", "not checked"),
    "check-side": ("before", "after"),
    "check-reading": ("first", "last"),
    "film-recorded": ("subtracted", "included"),
    "instrument-kind": (
        "thickness gauge", "depth micrometer", "hygrometer", "psychrometer", "surface thermometer", "air thermometer",
        "barometer", "conductivity meter", "comparator", "other",
    ),
}  # fmt: skip
"""Closed lists of words, by their group in the catalogues."""
