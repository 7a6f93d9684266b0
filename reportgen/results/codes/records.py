"""What can be stated about the record itself: replicas, function checks, hold points, areas, what must be recorded."""

from typing import Annotated, Final, get_args

from reportgen.results.codes.equipment import InstrumentNamed, NoneInDoubt
from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import (
    CheckCode,
    Code,
    GapCode,
    Settled,
    StepCode,
    TaskCode,
    defers,
    fails,
    holds,
    missing,
    notes,
)  # fmt: skip
from reportgen.results.values import Cleaned

Grain = Annotated[Word, "grain", ("uniform", "not uniform")]
Rubbed = Annotated[Word, "rubbed", ("fully", "not fully", "slid")]
Kept = Annotated[Word, "kept", ("affixed", "kept")]
Oil = Annotated[Word, "oil-seen", ("clean", "oil removed", "oil")]
OilLate = Annotated[Word, "oil-late", ("late",)]
Edges = Annotated[Word, "edges", ("dressed", "not dressed")]
HeldWork = Annotated[Word, "held-work", ("blasting", "coating")]
HoldState = Annotated[
    Word, "hold-state",
    ("not asked", "asked", "refused", "released", "released by the contractor", "said to be released"),
]  # fmt: skip
Record = Annotated[
    Word, "record",
    (
        # without these a release may rest on nothing
        "replicas", "function_checks", "hold_points", "oil_test", "edges", "conditions_per_area",
        # these tell the reader more
        "make_and_model", "area_cleaned", "nozzle", "blast_pressure", "distance_and_angle", "test_times", "positions",
        "photos", "comparison", "release_told", "due_and_responsible", "client_contact", "weather", "wind",
        "high_and_low", "blasters", "equipment", "agreements", "deviations", "results_from_others", "client_data",
        # these are recorded, and no contract need ask for them
        "inspector", "no_reading", "thrown_away", "entered", "washed", "dust_removed",
    ),
]  # fmt: skip
RECORDS: Final = get_args(Record)[2][:-6]
"""Keys that a contract may require."""
HOLDING: Final = frozenset(RECORDS[:6])
"""Keys whose record must be there before anything is released."""

# Replicas


class ReplicaFaulty(Facts):
    """A replica on which a reading was taken that says nothing of the steel: its grain, how it was rubbed, its roll."""

    grain: Grain | None = None
    rubbed: Rubbed | None = None
    roll: str | None = None


class ReplicaThrownAway(Facts):
    """A replica that was thrown away: its roll, the reason, what it read where it was read first."""

    why: str
    roll: str | None = None
    reading: Amount | None = None


class ReplicaOwed(Facts):
    """A replica to make again: why the first was thrown away, or its grain and how it was rubbed."""

    why: str | None = None
    grain: Grain | None = None
    rubbed: Rubbed | None = None


class ReplicaRecorded(Facts):
    """How a replica is recorded: its grain over the whole circle, how it was rubbed, whether it was kept."""

    grain: Grain | None = None
    rubbed: Rubbed | None = None
    kept: Kept | None = None


# Function checks on site


class FunctionSeen(Facts):
    """What an instrument should show, what it showed, and against what."""

    reference: Amount
    shown: Amount
    against: str | None = None


class Tolerated(Facts):
    """How far off an instrument may be."""

    tolerance: Amount


class NotTolerated(Facts):
    """Neither a tolerance nor the accuracy of the instrument is stated."""


class UsuallyTolerated(Facts):
    """How far off an instrument is at most allowed to be where neither its tolerance nor its accuracy is stated."""

    tolerance: Amount


class FunctionUndecided(Facts):
    """A check for which neither a tolerance nor the accuracy of the instrument is stated."""

    instrument: InstrumentNamed
    seen: FunctionSeen


class FunctionChecked(Facts):
    """A check of the function of an instrument on site, and what it is held against."""

    instrument: InstrumentNamed
    seen: FunctionSeen
    due: Tolerated | UsuallyTolerated | NotTolerated


class FunctionBeyond(Facts):
    """A check that passed with an error greater than the accuracy stated of the instrument."""

    instrument: InstrumentNamed
    seen: FunctionSeen
    accuracy: Amount


class TimesInDoubt(Facts):
    """Readings of the day with no good check between them and a failed one, by their times."""

    times: tuple[str, ...]


class TimesReplaced(Facts):
    """Readings of the day that are in doubt and do not count, as others stand for them; by their times."""

    times: tuple[str, ...]


class TestsInDoubt(Facts):
    """Tests of an area with no good check between them and a failed one, by their locations."""

    places: tuple[str, ...]


class TestsReplaced(Facts):
    """Tests of an area that are in doubt and do not count, as others there stand for them; by their locations."""

    places: tuple[str, ...]


class FunctionFailed(Facts):
    """A check that failed, and what it puts in doubt; the time is that of the check."""

    instrument: InstrumentNamed
    seen: FunctionSeen
    due: Tolerated | UsuallyTolerated
    doubt: TimesInDoubt | TimesReplaced | TestsInDoubt | TestsReplaced | NoneInDoubt


# Hold points


class HoldRecorded(Facts):
    """A hold point as recorded: areas that it is about, when it was asked for, how and when it was answered by whom."""

    areas: tuple[str, ...]
    state: HoldState
    asked: str | None = None
    answered: str | None = None
    by: str | None = None


class HoldDue(Facts):
    """What a hold point stops."""

    work: HeldWork | None = None


class HoldPointChecked(Facts):
    """A hold point as recorded, and what it stops."""

    recorded: HoldRecorded
    due: HoldDue


class HoldNotReleased(Facts):
    """A hold point that stands: its step, the work that must wait, how it stands since when and by whom."""

    step: str
    work: HeldWork
    state: HoldState
    since: str | None = None
    by: str | None = None


class HoldPassed(Facts):
    """Work that was begun although its hold point stood; the time is that of the beginning."""

    hold: HoldNotReleased


# Areas


class CleanedTooMuch(Facts):
    """More was cleaned in one day than the area has."""

    today: Amount
    size: Amount


class AreaCleaned(Facts):
    """How much of an area was cleaned by now."""

    cleaned: Cleaned


class OilFound(Facts):
    """Oil on the steel before it was blasted, and how it was looked for."""

    seen: Oil
    method: str | None = None


class OilTested(Facts):
    """What was seen of oil before the blasting, how it was looked for, and when; ``late`` where that had begun."""

    seen: Oil
    method: str | None = None
    at: str | None = None
    late: OilLate | None = None


class EdgesLeft(Facts):
    """Edges that were not dressed; the apparatus tells the entry."""

    state: Edges
    apparatus: str


class ToldReleased(Facts):
    """To whom it was said that an area is released."""

    to: str


SlipDifference = Annotated[
    Word, "slip-difference", ("release", "primed", "project", "steel", "limits", "checks", "readings"),
]  # fmt: skip
"""In what a report differs from a slip: one of these, or the entries of a kind of measurement, which adds itself."""


class SlipNotUpheld(Facts):
    """A release slip, and in what the report says otherwise."""

    file: str
    differs: tuple[SlipDifference, ...]


class ToldEarly(Facts):
    """To whom it was said that an area is released, and when the last was done that the release rests on."""

    to: str
    last: str


# What must be recorded, and when


class RecordMissing(Facts):
    """A record that the contract requires, whose it is where it is not of an area, and the lists that ask for it."""

    record: Record
    of: str | None = None
    lists: tuple[str, ...] = ()


class ReportLate(Facts):
    """When the report was issued or looked at, when it was due, and within what time of the shift."""

    at: str
    until: str
    within: Amount
    lists: tuple[str, ...] = ()


class Overdue(Facts):
    """An open nonconformance with the day by which it was to be settled, and by whom."""

    nonconformance: str
    due: str
    responsible: str | None = None


def function_settled(facts: FunctionFailed) -> Settled:
    """Tests are made anew; under which conditions steel was blasted nobody can read again."""
    return "measuring" if isinstance(facts.doubt, TestsInDoubt) else "blasting"


def hold_settled(facts: HoldNotReleased | HoldPassed) -> Settled:
    """A release that is asked about stands until work began on it; after that the steel is entered with who it was."""
    return "entry" if isinstance(facts, HoldPassed) else "standing"


REPLICA_FAULTY: Final = missing("replica-faulty", "measuring", ReplicaFaulty)
REPLICA_NOT_REPLACED: Final = missing("replica-not-replaced", "measuring", ReplicaThrownAway)
REPLICA_THROWN_AWAY: Final = notes("replica-thrown-away", ReplicaThrownAway)
FUNCTION_FAILED: Final = holds("function-check-failed", function_settled, FunctionFailed)
FUNCTION_BEYOND: Final = notes("function-error-beyond", FunctionBeyond)
FUNCTION_UNDECIDED: Final = GapCode("function-check-undecided", FunctionUndecided)
HOLD_PASSED: Final = holds("hold-point-passed", "blasting", HoldPassed)
HOLD_DOUBTFUL: Final = Code(
    "hold-point-doubtful", HoldNotReleased, "observation", "defers", hold_settled, "wrong", (HoldPassed,)
)
HOLD_CONFIRMED: Final = notes("hold-point-confirmed", HoldNotReleased)
HOLD_STANDS: Final = defers("hold-point-open", HoldNotReleased)
CLEANED_TOO_MUCH: Final = missing("cleaned-more-than-area", "entry", CleanedTooMuch, part="wrong")
PARTLY_CLEANED: Final = notes("area-partly-cleaned", AreaCleaned)
CLEANED_AGAIN: Final = notes("area-cleaned-again", AreaCleaned)
OIL_FOUND: Final = fails("oil-on-steel", "blasting", OilFound)
EDGES_LEFT: Final = holds("edges-not-dressed", "edges", EdgesLeft)
TOLD_RELEASED: Final = notes("told-without-release", ToldReleased, part="wrong")
SLIP_NOT_UPHELD: Final = notes("slip-not-upheld", SlipNotUpheld)
TOLD_EARLY: Final = notes("told-before-tested", ToldEarly, part="wrong")
RECORD_MISSING: Final = missing("record-missing", "entry", RecordMissing)
RECORD_NOT_STATED: Final = notes("record-not-stated", RecordMissing, part="missing")
REPORT_LATE: Final = notes("report-late", ReportLate)
NONCONFORMANCE_OVERDUE: Final = notes("nonconformance-overdue", Overdue, part="missing")
MAKE_REPLICA_AGAIN: Final = TaskCode("make-replica-again", ReplicaOwed, on_bare=True)
CHECK_FUNCTION: Final = TaskCode("check-function", InstrumentNamed, answers=FUNCTION_FAILED.name)
HAVE_RELEASED: Final = TaskCode("have-hold-released", HoldNotReleased, answers=HOLD_STANDS.name)
ENTER_RECORD: Final = TaskCode("enter-record", RecordMissing, answers=RECORD_MISSING.name)
REPLICA_RECORDED: Final = StepCode("replica-recorded", ReplicaRecorded)
OIL_TESTED: Final = StepCode("oil-tested", OilTested)
FUNCTION: Final = CheckCode("function", FunctionChecked)
HOLD_POINT: Final = CheckCode("hold-point", HoldPointChecked)
