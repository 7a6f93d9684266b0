"""What can be stated about the order of the day, the pace of the readings, and who was where: facts and codes."""

from typing import Annotated, Any, Final

from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import Code, missing, notes

Made = Annotated[Word, "tests", ("reading", "comparison")]
"""What was made: readings, visual comparisons, or tests of a kind of measurement; each kind adds itself."""


class MeasuredEarly(Facts):
    """How many of what were made from when to when, and since when, or until when, the steel was blasted."""

    what: Made
    count: int
    first: str
    last: str | None = None
    began: str | None = None
    until: str | None = None


class MeasuredOnGone(Facts):
    """How many of what were made from when to when, in the entry of what ``apparatus`` blasted until ``end``.

    ``began`` is from when nothing of that stood as it was.
    """

    what: Made
    count: int
    first: str
    last: str | None
    apparatus: str
    end: str
    began: str


class MeasuredLate(Facts):
    """How many of what were made from when to when, and when the steel was primed."""

    what: Made
    count: int
    first: str
    last: str | None
    primed: str


class UntimedLate(Facts):
    """How many of what was made have no time, when the steel was primed, and when the shift after that began."""

    what: Made
    count: int
    primed: str
    began: str


class StatedLate(Facts):
    """How many of what was made from when to when, in the shift of ``report``, which lacks it; when it was primed."""

    what: Made
    count: int
    first: str
    last: str | None
    report: str
    primed: str


class EarlyTest(Facts):
    """A test, ``count`` 1, and when the blasting began after it; its own time is that of the place."""

    what: Made
    count: int
    began: str


class ReadTooFast(Facts):
    """How many readings of one gauge were taken at one time, or from when to when; the time that one needs."""

    count: int
    gauge: str
    shortest: Amount
    at: str | None = None
    first: str | None = None
    last: str | None = None


class SeenAt(Facts):
    """A place of the contract, and the area where the work there was on one."""

    place: str
    area: str | None = None


class InstrumentSeen(Facts):
    """Where an instrument was used at the time of the place."""

    instrument: str
    seen: tuple[SeenAt, ...]


class InspectorSeen(Facts):
    """Where measurements by hand were made at the time of the place."""

    seen: tuple[SeenAt, ...]


MEASURED_BEFORE_BLASTING: Final = missing("measured-before-blasting", "measuring", MeasuredEarly, part="wrong")
MEASURED_AFTER_PRIMER: Final[Code[Any]] = missing(
    "measured-after-primer", "blasting", MeasuredLate, UntimedLate, StatedLate, part="wrong"
)  # fmt: skip
MEASURED_AFTER_REWORK: Final = missing("measured-after-rework", "measuring", MeasuredOnGone, part="wrong")
TEST_BEFORE_BLASTING: Final = notes("test-before-blasting", EarlyTest)
READINGS_TOO_FAST: Final = missing("readings-too-fast", "measuring", ReadTooFast, part="wrong")
INSTRUMENT_IN_TWO_PLACES: Final = missing("instrument-in-two-places", "measuring", InstrumentSeen, part="wrong")
INSPECTOR_IN_TWO_PLACES: Final = notes("inspector-in-two-places", InspectorSeen)
