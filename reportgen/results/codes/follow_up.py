"""What can be stated about nonconformances and re-inspections: facts, findings, things to do, closed lists.

A code within facts is a finding's, by its name in the closed list.
"""

from typing import Annotated, Any, Final

from reportgen.results.codes.whose import NotTheirs, OtherHouse, OtherPin
from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import Code, TaskCode, defers, fails, missing, notes

Disposition = Annotated[Word, "disposition", ("use-as-is", "rework", "repair", "reject")]
Again = Annotated[
    Word, "again",
    ("not-entered", "not-measured", "not-anew", "not-blasted", "entered", "measured", "anew", "blasted"),
]  # fmt: skip
"""What was done later of steel, or at a location, that was left open."""


class Uncovered(Facts):
    """The code of what no nonconformance was raised for."""

    code: str


class Failed(Facts):
    """What failed: its code, the report that found it, the location if it has one."""

    code: str
    report: str
    location: str | None = None


class FoundHere(Facts):
    """It was found in a report in which the steel was not blasted again after it."""

    found: Failed


class BlastedBefore(Facts):
    """The blasting of a ``later`` report ``began`` before the steel was last known to be so, at ``since``."""

    failed: Failed
    since: str
    began: str
    later: str


class OlderSteel(Facts):
    """The steel of a ``later`` report was blasted until ``ended``, that which failed after that, until ``blasted``."""

    failed: Failed
    blasted: str
    ended: str
    later: str


class NotTested(Facts):
    """What washing or cleaning removes was not tested again."""

    untested: Failed


class NotWashed(Facts):
    """It was tested again in a ``later`` report, and no entry says that the steel was washed between the two tests.

    ``report`` is the one that found it.
    """

    failed: Failed
    later: str
    report: str


class WashedOtherwise(Facts):
    """It was ``washed``, or its dust removed, not between the test that failed, ``at``, and that of ``again``."""

    failed: Failed
    washed: str
    at: str | None = None
    again: str | None = None


class UntimedTest(Facts):
    """It was tested ``at`` a time, and when it was tested again is not recorded."""

    failed: Failed
    at: str


class EarlierTest(Facts):
    """It was tested ``at`` a time, and the test that is to clear it, at ``again``, is not later."""

    failed: Failed
    at: str
    again: str


class FailedUntimed(Facts):
    """``report`` does not say when it was tested, and the test that is to clear it, at ``again``, is of its shift."""

    failed: Failed
    again: str
    report: str


class OtherSteel(Facts):
    """It failed on what ``apparatus`` blasted, and a ``later`` report enters only steel that was entered beside it."""

    failed: Failed
    apparatus: tuple[str, ...]
    later: str


class NotSaid(Facts):
    """It is of what ``apparatus`` blasted, and what ``again`` did in a ``later`` report re-inspects, and names none."""

    failed: Failed
    apparatus: tuple[str, ...]
    again: tuple[str, ...]
    later: str


class InPart(Facts):
    """It failed on what was ``cleaned``, and by the sizes entered only a part was blasted ``again``.

    ``lost`` is how much of what was blasted since is no better. ``uncounted`` are the reports whose rework does not
    count, as who inspected there may not undo it.
    """

    failed: Failed
    cleaned: Amount
    again: Amount
    lost: Amount | None = None
    uncounted: tuple[str, ...] = ()


class InPartOfBounds(Facts):
    """What failed is ``bounded`` by walk-outs, and by the sizes entered only a part was blasted ``again``.

    ``lost`` is how much of what was blasted since is no better. ``uncounted`` are the reports whose rework does not
    count, as who inspected there may not undo it.
    """

    failed: Failed
    bounded: Amount
    again: Amount
    lost: Amount | None = None
    uncounted: tuple[str, ...] = ()


class InPartOfArea(Facts):
    """It failed on steel of unstated size, so on the ``whole`` area, of which only a part was blasted ``again``.

    ``lost`` is how much of what was blasted since is no better. ``uncounted`` are the reports whose rework does not
    count, as who inspected there may not undo it.
    """

    failed: Failed
    again: Amount
    whole: Amount | None = None
    lost: Amount | None = None
    uncounted: tuple[str, ...] = ()


class PartAgain(Facts):
    """What was ``cleaned``, where that is stated, and how much of it was blasted ``again`` by the sizes entered.

    ``lost`` is how much of what was blasted since is no better. ``uncounted`` are the reports whose rework does not
    count, as who inspected there may not undo it.
    """

    cleaned: Amount | None
    again: Amount
    lost: Amount | None = None
    uncounted: tuple[str, ...] = ()


class StillSo(Facts):
    """The logs found it of the blasting, and of the blasting again nothing that was recorded says otherwise."""

    failed: Failed


class NotFound(Facts):
    """A nonconformance is written against what no rule found in its report, nor in an earlier one at hand."""

    claimed: Failed


class NotSeenAgain(Facts):
    """It was to be repaired, and nothing that a ``later`` report enters of it was measured or looked at after it."""

    failed: Failed
    later: str


NotReworked = (
    FoundHere
    | NotFound
    | BlastedBefore
    | OlderSteel
    | OtherSteel
    | NotSaid
    | InPart
    | InPartOfBounds
    | InPartOfArea
    | NotTested
    | NotWashed
    | WashedOtherwise
    | UntimedTest
    | EarlierTest
    | FailedUntimed
    | StillSo
    | NotSeenAgain
)
"""Why an inspection is not of steel reworked, or repaired, after what failed."""


class NotInspected(Facts):
    """It failed, and this report does not inspect its area."""

    failed: Failed


class NotPlanned(Facts):
    """It failed, and the project file has its area no longer."""

    failed: Failed


class NoLater(Facts):
    """It was measured ``at`` a time, and the reading that is to settle it, at ``again``, is not later."""

    at: str
    again: str


class AgainUntimed(Facts):
    """It was measured ``at`` a time, and when it was measured again is not recorded."""

    at: str


class FirstUntimed(Facts):
    """``report`` does not say when it was measured, and the reading that is to settle it, at ``again``, is no later."""

    again: str
    report: str


class AsIssued(Facts):
    """``report`` was issued with it open, upon an earlier report as that was before its revision."""

    report: str


NotClosed = NotReworked | NotTheirs | OtherPin | OtherHouse | NotInspected | NotPlanned | AsIssued
"""Why a report does not undo what failed, or close a nonconformance."""


class FailedBefore(Facts):
    """Why what failed stands, and where one leaves it out, the ``revision`` of a ``report`` that does."""

    why: NotClosed
    report: str | None = None
    revision: int | None = None


class AcceptedBefore(Facts):
    """What ``failed`` in an earlier report, on steel that stays as it is by the decision of a nonconformance."""

    nonconformance: str
    accepted: Disposition
    failed: Failed


class LeftOpen(Facts):
    """What ``report`` left open by ``code`` on what ``apparatus`` blasted, and nothing settled; times as printed."""

    code: str
    report: str
    date: str
    apparatus: str
    start: str
    end: str


class SteelOpen(LeftOpen):
    """Steel, and what was done ``again``; ``coated`` where it was primed, ``refused`` why what was done does not count.

    ``part`` is what of it was blasted again, where that is not all.
    """

    again: Again
    coated: str | None = None
    refused: NotTheirs | OtherPin | OtherHouse | NoLater | AgainUntimed | FirstUntimed | None = None
    part: PartAgain | None = None


class PlaceOpen(SteelOpen):
    """A location that is to be measured or tested again."""


class BlastingDoubted(SteelOpen):
    """Steel that a new blasting alone clears: how it was blasted, or what was begun on it, is in doubt."""


class DoubtedSince(BlastingDoubted):
    """The same by a check in ``report``, of steel that an earlier one enters."""


class ValuesDoubted(SteelOpen):
    """Steel on which what was measured or tested is in doubt."""


class ValueUndecided(LeftOpen):
    """The value was ``seen`` with ``expanded`` uncertainty, and what was measured ``again``, if it was, is no surer.

    ``refused`` is why what was ``tried`` does not count; without ``tried``, why what was measured again does not.
    """

    seen: Amount
    expanded: Amount
    again: Amount | None = None
    again_expanded: Amount | None = None
    tried: Again | None = None
    coated: str | None = None
    refused: NotTheirs | OtherPin | OtherHouse | NoLater | AgainUntimed | FirstUntimed | None = None
    part: PartAgain | None = None


class TestUndecided(ValueUndecided):
    """The same of a test of what can be washed off."""


class EntryOpen(SteelOpen):
    """What came in from the site was never taken."""


class SpotsOpen(EntryOpen):
    """A location has more spots than make one: other readings there leave open what those taken first showed."""


class DoubtOpen(EntryOpen):
    """An entry in doubt that may be of steel that fails: only its report can say what it should be."""


class TestDoubtOpen(DoubtOpen):
    """The same of a test of what can be washed off."""


class CheckDoubtOpen(DoubtOpen):
    """The same of a check of a gauge or of tape."""


class ReadingOpen(SteelOpen):
    """A location left incomplete, with a value outside the limits that a later report does not enter again."""


class Surer(Facts):
    """What ``report`` left undecided by ``code`` and saw, with its uncertainty, and what was measured ``again``."""

    code: str
    report: str
    seen: Amount
    expanded: Amount | None
    again: Amount
    again_expanded: Amount


class NotPrimedSince(LeftOpen):
    """The steel was entered bare, ``until`` the end of its time to coat, and no primer since."""

    until: str
    part: PartAgain | None = None


class StillOpen(Facts):
    """A nonconformance, the report that raised it, its disposition, and why its re-inspection does not close it."""

    nonconformance: str
    raised_in: str
    disposition: Disposition
    refused: NotClosed | None = None


class ClosedByInspector(Facts):
    """A nonconformance written as closed by an inspector, who does not decide on what it accepts."""

    nonconformance: str
    accepted: Disposition


class ClosedByContractor(Facts):
    """A nonconformance written as closed by one of the contractor, who does not accept what his own work lacks."""

    nonconformance: str
    accepted: Disposition


class ClosedOnPaper(Facts):
    """A nonconformance written as closed, whose disposition only a re-inspection that passes closes."""

    nonconformance: str
    disposition: Disposition


class ClosedTooEarly(Facts):
    """A nonconformance written as closed, and why its re-inspection does not close it."""

    nonconformance: str
    refused: NotClosed


class ClosedElsewhere(Facts):
    """A nonconformance written as closed by ``report``, which does not inspect the ``areas`` that it decides on."""

    nonconformance: str
    disposition: Disposition
    report: str
    areas: tuple[str, ...]


class ClosedBeforeEntry(Facts):
    """A nonconformance written as closed beside entries of its ``areas`` that are not finished yet."""

    nonconformance: str
    disposition: Disposition
    areas: tuple[str, ...]


class ClosedUnseen(Facts):
    """A nonconformance that is decided, and whose steel no report inspects as it was repaired."""

    nonconformance: str
    disposition: Disposition


class RaisedIn(Facts):
    """A nonconformance, and the ``report`` that is said to have raised it and is not at hand."""

    nonconformance: str
    report: str


class ToClose(Facts):
    """A nonconformance to close, in the words of who wrote it, without the full stop.

    ``raised_in`` is another report, ``refused`` why the re-inspection that was to close it does not, ``areas`` those
    that no report inspects which records its decision.
    """

    nonconformance: str
    disposition: Disposition
    description: str
    action: str | None = None
    raised_in: str | None = None
    refused: NotClosed | None = None
    areas: tuple[str, ...] = ()


class BoundsUndecided(Facts):
    """A nonconformance by which what failed at a location stays as it is, while nobody knows how far it reaches."""

    nonconformance: str


class DecidedElsewhere(Facts):
    """A nonconformance that decides on an area not inspected here, and the last ``report`` at hand that inspects it."""

    nonconformance: str
    disposition: Disposition
    report: str | None = None


class ClosedBefore(Facts):
    """A nonconformance entered as open, or with another disposition, that ``report`` of ``date`` had closed."""

    nonconformance: str
    report: str
    date: str


class WrittenOpen(Facts):
    """A nonconformance entered as open in ``report``, whose re-inspection closes it."""

    nonconformance: str
    report: str


class InError(Facts):
    """A nonconformance that a revision closes, as it finds nothing of its ``findings``, and what was misread."""

    nonconformance: str
    findings: tuple[str, ...]
    evidence: str


class FoundNoMore(Facts):
    """The same, closed in a later report than ``report``, which no longer finds it."""

    nonconformance: str
    findings: tuple[str, ...]
    evidence: str
    report: str


class Succeeded(Facts):
    """Who answers here for what ``former`` found in ``report``, named by whom, and by which evidence."""

    name: str
    former: str
    report: str
    named_by: str
    evidence: str


class RestsOn(Facts):
    """The file of an earlier day, or of the contract, that is not what was issued."""

    file: str


MISSING: Final = defers("nonconformance-missing", Uncovered)
FAILED_EARLIER: Final = defers("failed-earlier", FailedBefore)
LEFT_OPEN: Final[Code[Any]] = missing(
    "left-open-earlier", "standing", SteelOpen, PlaceOpen, BlastingDoubted, DoubtedSince, ValuesDoubted,
    ValueUndecided, TestUndecided, EntryOpen, SpotsOpen, DoubtOpen, TestDoubtOpen, CheckDoubtOpen,
    ReadingOpen, NotPrimedSince,
)  # fmt: skip
SURER: Final = notes("decided-by-surer", Surer)
ACCEPTED_EARLIER: Final = fails("accepted-earlier", "blasting", AcceptedBefore)
OPEN: Final = defers(
    "nonconformance-open", StillOpen, ClosedByInspector, ClosedByContractor, ClosedOnPaper, ClosedTooEarly,
    ClosedElsewhere, ClosedBeforeEntry, ClosedUnseen, part="next",
)  # fmt: skip
DECIDED_ELSEWHERE: Final = defers("decision-without-inspection", DecidedElsewhere, part="wrong")
REOPENED: Final = defers("closed-nonconformance-reopened", ClosedBefore, part="wrong")
CLOSED_THOUGH_OPEN: Final = notes("closed-though-open", WrittenOpen)
RAISED_IN_ERROR: Final = notes("raised-in-error", InError, FoundNoMore)
RAISED_ELSEWHERE: Final = notes("raised-elsewhere", RaisedIn)
SUCCEEDED: Final = notes("inspector-succeeded", Succeeded)
NOT_AS_ISSUED: Final = defers("earlier-not-as-issued", RestsOn, part="wrong")
INSPECT_AGAIN: Final = TaskCode("inspect-again", ToClose, answers=OPEN.name)
INSPECT_PREPARED: Final = TaskCode("inspect-prepared", ToClose, answers=OPEN.name)
"""What is left of that on a later day, where the steel passed and its entry did not name the nonconformance."""
CLOSE_AS_ERROR: Final = TaskCode("close-as-error", ToClose, answers=OPEN.name)
ENTER_WHAT_FAILED: Final = TaskCode("enter-what-failed", ToClose, answers=OPEN.name)
ENTER_REINSPECTION: Final = TaskCode("enter-reinspection", ToClose, answers=OPEN.name)
INSPECT_REPAIRED: Final = TaskCode("inspect-repaired", ToClose, answers=OPEN.name)
INSPECT_REWORKED: Final = TaskCode("inspect-reworked", FailedBefore, answers=FAILED_EARLIER.name)
BRING_EVIDENCE: Final = TaskCode("bring-evidence", ToClose, answers=OPEN.name)
HAVE_DECIDED: Final = TaskCode("have-decided", ToClose, answers=OPEN.name)
HAVE_CLIENT_DECIDE: Final = TaskCode("have-client-decide", ToClose, answers=OPEN.name)
DECIDE_BOUNDS: Final = TaskCode("decide-bounds", BoundsUndecided)
DECIDE_THERE: Final = TaskCode("decide-where-inspected", ToClose, answers=OPEN.name)
FINISH_ENTRY: Final = TaskCode("finish-entry-decided", ToClose, answers=OPEN.name)
CLOSING: Final[dict[str, TaskCode[ToClose]]] = {
    one.name: one for one in (
        INSPECT_AGAIN, ENTER_REINSPECTION, INSPECT_REPAIRED, BRING_EVIDENCE, HAVE_DECIDED, HAVE_CLIENT_DECIDE,
        DECIDE_THERE, FINISH_ENTRY,
    )
}  # fmt: skip
"""What closes a nonconformance, by code."""
ENTER_STEEL_AGAIN: Final = TaskCode("enter-steel-again", SteelOpen, answers=LEFT_OPEN.name)
MEASURE_THERE_AGAIN: Final = TaskCode("measure-there-again", PlaceOpen, answers=LEFT_OPEN.name)
BLAST_AGAIN: Final = TaskCode("blast-in-doubt-again", BlastingDoubted, answers=LEFT_OPEN.name)
MEASURE_ANEW: Final = TaskCode("measure-anew", ValuesDoubted, answers=LEFT_OPEN.name)
MEASURE_SURER: Final = TaskCode("measure-surer-there", ValueUndecided, answers=LEFT_OPEN.name)
TEST_SURER: Final = TaskCode("test-surer-there", TestUndecided, answers=LEFT_OPEN.name)
ENTER_IN_REVISION: Final = TaskCode("enter-in-revision", EntryOpen, answers=LEFT_OPEN.name)
ENTER_SPOTS: Final = TaskCode("enter-spots-apart", SpotsOpen, answers=LEFT_OPEN.name)
CLEAR_DOUBT: Final = TaskCode("clear-doubt", DoubtOpen, answers=LEFT_OPEN.name)
COMPLETE_LOCATION: Final = TaskCode("complete-location", ReadingOpen, answers=LEFT_OPEN.name)
ENTER_PRIMER: Final = TaskCode("enter-primer", NotPrimedSince, answers=LEFT_OPEN.name)
SETTLE: Final[dict[type[LeftOpen], TaskCode[Any]]] = {
    SteelOpen: ENTER_STEEL_AGAIN,
    PlaceOpen: MEASURE_THERE_AGAIN,
    BlastingDoubted: BLAST_AGAIN,
    DoubtedSince: BLAST_AGAIN,
    ValuesDoubted: MEASURE_ANEW,
    ValueUndecided: MEASURE_SURER,
    TestUndecided: TEST_SURER,
    EntryOpen: ENTER_IN_REVISION,
    SpotsOpen: ENTER_SPOTS,
    DoubtOpen: CLEAR_DOUBT,
    TestDoubtOpen: CLEAR_DOUBT,
    CheckDoubtOpen: CLEAR_DOUBT,
    ReadingOpen: COMPLETE_LOCATION,
    NotPrimedSince: ENTER_PRIMER,
}
"""What to do about each kind of what was left open."""
