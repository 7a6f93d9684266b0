"""What can be stated about gauges, tape, calibrations and certificates."""

from typing import Annotated, Final

from reportgen.results.codes.profile import TapeGrade
from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import CheckCode, Code, GapCode, Settled, TaskCode, holds, missing, notes

Anvils = Annotated[Word, "anvils", ("clean", "cleaned", "not checked")]
CheckSide = Annotated[Word, "check-side", ("before", "after")]
CheckReading = Annotated[Word, "check-reading", ("first", "last")]
GaugePart = Annotated[Word, "gauge-part", ("pre-set", "zero", "shim")]
GaugeUnfit = Annotated[Word, "gauge-unfit", ("failed", "overdue", "unchecked")]
FilmRecorded = Annotated[Word, "film-recorded", ("subtracted", "included")]
InstrumentKind = Annotated[
    Word, "instrument-kind",
    (
        "thickness gauge", "depth micrometer", "hygrometer", "psychrometer", "surface thermometer", "air thermometer",
        "barometer", "conductivity meter", "comparator", "other",
    ),
]  # fmt: skip

# Checks of a gauge


class GaugeSeen(Facts):
    """What a check of a gauge showed: state of its anvils, dial on closed anvils, reading on a shim."""

    anvils: Anvils
    preset: Amount | None = None
    shim: Amount | None = None
    shim_reading: Amount | None = None


class GaugeNotTried(Facts):
    """A check with neither pre-set nor shim."""

    anvils: Anvils


class PlateSeen(Facts):
    """What a check of a depth micrometer showed: state of its tip, reading on the flat plate and on a shim."""

    tip: Anvils
    zero: Amount | None = None
    shim: Amount | None = None
    shim_reading: Amount | None = None


class PlateNotTried(Facts):
    """A check of a depth micrometer with neither zero nor shim."""

    tip: Anvils


class LimitsOfError(Facts):
    """The gauge's limits of error, on either side, at zero; the shim's own, and what of the reading comes on top."""

    value: Amount
    shim: Amount | None = None
    of_reading: Amount | None = None


class NoLimitsOfError(Facts):
    """No limits of error are on record: a gauge may be off by one digit of its own, where that is known."""

    digit: Amount | None = None


class GaugeDue(Facts):
    """What a check of a gauge must show: pre-set at minus the film, and shim, within the limits of error."""

    film: Amount
    limits: LimitsOfError | NoLimitsOfError


class PlateDue(Facts):
    """What a check of a depth micrometer must show: zero on the flat plate, and shim, within the limits of error."""

    limits: LimitsOfError | NoLimitsOfError


class GaugeChecked(Facts):
    """A check of a gauge, and what it must show."""

    seen: GaugeSeen | GaugeNotTried | PlateSeen | PlateNotTried
    due: GaugeDue | PlateDue


class GaugeUnchecked(Facts):
    """A gauge without a complete check on one side of its readings; the time is that of the reading.

    ``blasted`` is the end of a blasting before the shift: readings without a time may be as early.
    """

    gauge: str
    side: CheckSide
    reading: CheckReading
    blasted: str | None = None


class InDoubt(Facts):
    """Locations with no good check between them and a failed one."""

    locations: tuple[str, ...]


class NoneInDoubt(Facts):
    """No reading is put in doubt."""


class GaugePartUntried(Facts):
    """What no check of the shift tried on a gauge that was read with: its rest, or the span on a shim."""

    gauge: str
    part: GaugePart


class ShimErrorUnknown(Facts):
    """A gauge that was checked on a shim whose own error is not on record."""

    gauge: str


class CheckBeyond(Facts):
    """What a gauge showed in a check ``at`` a time, so far off that it fails the gauge and is no error of a reading."""

    gauge: str
    seen: GaugeSeen | PlateSeen
    at: str


class GaugeFailed(Facts):
    """A check that failed, what it should have shown, and what it puts in doubt; the time is that of the check."""

    gauge: str
    seen: GaugeSeen | PlateSeen
    due: GaugeDue | PlateDue
    doubt: InDoubt | NoneInDoubt


class FilmContradicted(Facts):
    """How the readings are recorded, and a check beside them whose pre-set says otherwise; the time is the check's."""

    film: FilmRecorded
    gauge: str
    seen: GaugeSeen


class GaugeMoved(Facts):
    """How far a gauge moved since the check before (time as printed); the time is that of the later check."""

    gauge: str
    moved: Amount
    since: str
    limits: Amount


# Tape


class UnusedTapeRange(Facts):
    """Published range of unused tape, film subtracted."""

    lowest: Amount
    highest: Amount


class NoTapeRange(Facts):
    """No range is published for the grade."""


class TapeChecked(Facts):
    """Thickness of unused tape, and the range that it must lie in."""

    thickness: Amount
    range: UnusedTapeRange | NoTapeRange


class TapeOutside(Facts):
    """A roll whose unused tape is not as thick as its grade should be; the time is that of the check."""

    roll: str
    thickness: Amount
    range: UnusedTapeRange


class TapeExpired(Facts):
    """A roll with the last date of its use and its date of expiry."""

    roll: str
    lot: str
    used: str
    expires: str


class TapeRollNamed(Facts):
    """A roll."""

    roll: str


class TapeUnproven(Facts):
    """A roll whose unused tape was measured, and with a gauge that proves nothing."""

    roll: str
    gauge: str
    why: GaugeUnfit


class TapeOfGrade(Facts):
    """A roll and its grade."""

    roll: str
    tape_grade: TapeGrade


# Instruments and people


class OtherMethod(Facts):
    """With what the profile was read, and the method that the contract names."""

    gauge: InstrumentKind
    method: str


class InstrumentNamed(Facts):
    """An instrument by its id, kind and serial number."""

    id: str
    kind: InstrumentKind
    serial: str


class Calibration(Facts):
    """An instrument with a date of its use and the date on which its calibration falls due."""

    instrument: InstrumentNamed
    used: str
    due: str


class PerhapsUsed(Facts):
    """As above, of an instrument that may have shown what an entry holds that names none of its kind."""

    instrument: InstrumentNamed
    used: str
    due: str


class CalibrationUndated(Facts):
    """An instrument whose calibration has no due date."""

    instrument: InstrumentNamed


class Certificate(Facts):
    """A person's certificate, its date of expiry, and the last date of the report."""

    person: str
    certificate: str
    expires: str
    last: str


class PersonNamed(Facts):
    """A person."""

    person: str


_READ_AT_WORK: Final = frozenset(
    {"hygrometer", "psychrometer", "surface thermometer", "air thermometer", "barometer"}
)  # fmt: skip
"""Kinds of instrument for the conditions, which nobody can read again."""


def calibration_settled(facts: Calibration | PerhapsUsed) -> Settled:
    """What a gauge or a meter of tests showed is measured anew."""
    return "blasting" if facts.instrument.kind.key in _READ_AT_WORK else "measuring"


OTHER_METHOD: Final = missing("other-method", "measuring", OtherMethod)
GAUGE_UNCHECKED: Final = missing("gauge-check-missing", "entry", GaugeUnchecked)
GAUGE_FAILED: Final = holds("gauge-check-failed", "measuring", GaugeFailed)
FILM_CONTRADICTED: Final = missing("film-contradicted", "measuring", FilmContradicted, part="wrong")
GAUGE_MOVED: Final = notes("gauge-drift", GaugeMoved)
CALIBRATION_OVERDUE: Final = holds("calibration-overdue", calibration_settled, Calibration, PerhapsUsed)
TAPE_EXPIRED: Final = holds("tape-expired", "measuring", TapeExpired)
TAPE_UNCHECKED: Final[Code[TapeRollNamed | TapeUnproven]] = notes(
    "tape-check-missing", TapeRollNamed, TapeUnproven, part="missing"
)
TAPE_OUTSIDE: Final = holds("tape-check-outside-range", "measuring", TapeOutside)
CERTIFICATE_EXPIRED: Final = holds("certificate-expired", "measuring", Certificate)
MEASURE_UNUSED_TAPE: Final = TaskCode("measure-unused-tape", TapeRollNamed, answers=TAPE_UNCHECKED.name)
EXPIRY_NOT_STATED: Final = GapCode("tape-without-expiry", TapeRollNamed)
RANGE_NOT_PUBLISHED: Final = GapCode("tape-without-range", TapeOfGrade)
PART_UNTRIED: Final = GapCode("gauge-part-unchecked", GaugePartUntried)
SHIM_ERROR: Final = GapCode("shim-error-unknown", ShimErrorUnknown, beyond_uncertainty=True)
CHECK_BEYOND: Final = GapCode("gauge-check-beyond", CheckBeyond, beyond_uncertainty=True)
CALIBRATION_UNDATED: Final = GapCode("calibration-without-date", CalibrationUndated)
CERTIFICATE_NOT_STATED: Final = GapCode("certificate-not-stated", PersonNamed)
CERTIFICATE_UNDATED: Final = GapCode("certificate-without-expiry", PersonNamed)
GAUGE: Final = CheckCode("gauge", GaugeChecked)
TAPE: Final = CheckCode("tape", TapeChecked)
CALIBRATION: Final = CheckCode("calibration", Calibration)
CERTIFICATE: Final = CheckCode("certificate", Certificate)
