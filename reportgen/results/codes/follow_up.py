"""What can be stated about nonconformances and re-inspections: facts, findings, things to do, closed lists.

A code within facts is a finding's, by its name in the closed list.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Final

from reportgen.results.facts import Facts, Word
from reportgen.results.statements import TaskCode, defers

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Uncovered(Facts):
    """The code of what no nonconformance was raised for."""

    code: str


@dataclass(frozen=True, slots=True)
class Failed(Facts):
    """What failed: its code, the report that found it, the location if it has one."""

    code: str
    report: str
    location: str | None = None


@dataclass(frozen=True, slots=True)
class FoundHere(Facts):
    """It was found in this report, in which the steel was not blasted again after it."""

    found: Failed


@dataclass(frozen=True, slots=True)
class BlastedBefore(Facts):
    """The blasting that is to undo it ``began`` before the steel was last known to be so, at ``since``."""

    failed: Failed
    since: str
    began: str


@dataclass(frozen=True, slots=True)
class OlderSteel(Facts):
    """The steel inspected was blasted until ``ended``, that which failed later, until ``blasted``."""

    failed: Failed
    blasted: str
    ended: str


@dataclass(frozen=True, slots=True)
class NotTested(Facts):
    """What washing or cleaning removes was not tested again."""

    untested: Failed


@dataclass(frozen=True, slots=True)
class UntimedTest(Facts):
    """It was tested ``at`` a time, and when it was tested again is not recorded."""

    failed: Failed
    at: str


@dataclass(frozen=True, slots=True)
class EarlierTest(Facts):
    """It was tested ``at`` a time, and the test that is to clear it, at ``again``, is not later."""

    failed: Failed
    at: str
    again: str


@dataclass(frozen=True, slots=True)
class OtherSteel(Facts):
    """It failed on what ``apparatus`` blasted, and only steel that was entered beside it is entered again."""

    failed: Failed
    apparatus: tuple[str, ...]


NotReworked = FoundHere | BlastedBefore | OlderSteel | OtherSteel | NotTested | UntimedTest | EarlierTest
"""Why an inspection is not of steel reworked after what failed."""


@dataclass(frozen=True, slots=True)
class NotTheirs(Facts):
    """``inspector`` has neither the role nor the organisation of the inspector of ``report``, which raised it."""

    inspector: str
    report: str


NotClosed = NotReworked | NotTheirs
"""Why a report that is to close a nonconformance does not."""


@dataclass(frozen=True, slots=True)
class FailedBefore(Facts):
    """Why an area that failed in an earlier report is not shown to be reworked."""

    why: NotReworked


@dataclass(frozen=True, slots=True)
class StillOpen(Facts):
    """A nonconformance, the report that raised it, its disposition, and why its re-inspection does not close it."""

    nonconformance: str
    raised_in: str
    disposition: Annotated[Word, "disposition"]
    refused: NotClosed | None = None


@dataclass(frozen=True, slots=True)
class ClosedByInspector(Facts):
    """A nonconformance written as closed by an inspector, who does not decide on what it accepts."""

    nonconformance: str
    accepted: Annotated[Word, "disposition"]


@dataclass(frozen=True, slots=True)
class ClosedOnPaper(Facts):
    """A nonconformance written as closed, whose disposition only a re-inspection that passes closes."""

    nonconformance: str
    disposition: Annotated[Word, "disposition"]


@dataclass(frozen=True, slots=True)
class ClosedTooEarly(Facts):
    """A nonconformance written as closed, and why its re-inspection does not close it."""

    nonconformance: str
    refused: NotClosed


@dataclass(frozen=True, slots=True)
class ToClose(Facts):
    """A nonconformance to close, in the words of who wrote it, without the full stop.

    ``raised_in`` is another report, ``refused`` why the re-inspection that was to close it does not.
    """

    nonconformance: str
    disposition: Annotated[Word, "disposition"]
    description: str
    action: str | None = None
    raised_in: str | None = None
    refused: NotClosed | None = None


MISSING: Final = defers("nonconformance-missing", Uncovered)
FAILED_EARLIER: Final = defers("failed-earlier", FailedBefore)
OPEN: Final = defers(
    "nonconformance-open", StillOpen, ClosedByInspector, ClosedOnPaper, ClosedTooEarly, part="next"
)  # fmt: skip
INSPECT_AGAIN: Final = TaskCode("inspect-again", ToClose, answers=OPEN.name)
BRING_EVIDENCE: Final = TaskCode("bring-evidence", ToClose, answers=OPEN.name)
HAVE_DECIDED: Final = TaskCode("have-decided", ToClose, answers=OPEN.name)
STATEMENTS: Final = (MISSING, FAILED_EARLIER, OPEN, INSPECT_AGAIN, BRING_EVIDENCE, HAVE_DECIDED)
WORDS: Final[Mapping[str, tuple[str, ...]]] = {"disposition": ("use-as-is", "rework", "repair", "reject")}
