"""What can be stated about cleanliness: facts, findings, things to do, steps of a derivation."""

from typing import Annotated, Final

from reportgen.results.facts import Amount, Facts, Word
from reportgen.results.statements import StepCode, TaskCode, fails, missing

_GROUP: Final = "cleanliness"
NOT_RECORDED: Final = Word(_GROUP, "not-recorded")
STAINING_NOT_RECORDED: Final = Word(_GROUP, "staining-not-recorded")
UNKNOWN_RANK: Final = Word(_GROUP, "unknown-rank")
OTHER_ORDER: Final = Word(_GROUP, "other-order")
BEFORE_BLASTING: Final = Word(_GROUP, "before-blasting")
WORST_UNIT_AREA: Final = Word(_GROUP, "worst-unit-area")
NOTHING_OBSERVED: Final = Word(_GROUP, "nothing")
NOT_STATED: Final = Word(_GROUP, "not-stated")
Remark = Annotated[
    Word, _GROUP,
    (
        "not-recorded", "staining-not-recorded", "unknown-rank", "other-order", "before-blasting", "worst-unit-area",
        "nothing", "not-stated",
    ),
]  # fmt: skip


class GradeAllowed(Facts):
    """The grade specified with its edition; the highest share of stain per unit area and where that is looked at."""

    grade: str
    edition: str | None = None
    maximum_staining: Amount | None = None
    stain: Remark | None = None


class GradeSeen(Facts):
    """The grade observed, or that there is none; stain of the worst unit area; why the grade gives no verdict."""

    observed: str | Remark
    staining: Amount | None = None
    reason: Remark | None = None


class GradeNotMet(Facts):
    """The grade observed and the one specified."""

    observed: str
    grade: str


class StainAbove(Facts):
    """Stain of the worst unit area, and its highest share."""

    staining: Amount
    maximum: Amount


class GradeNotCompared(Facts):
    """A grade observed that cannot be compared with the one specified."""

    observed: str
    reason: Remark


class GradeRequired(Facts):
    """The grade specified."""

    grade: str


class StainAllowed(Facts):
    """The highest share of stain per unit area."""

    maximum: Amount


class CleanlinessLacking(Facts):
    """What is not known, and what it would be held against."""

    lacking: Remark | GradeNotCompared
    wanted: GradeRequired | StainAllowed


class GradeObserved(Facts):
    """The grade observed, or that there is none."""

    observed: str | Remark


class StainObserved(Facts):
    """The stain observed, or that none is stated."""

    staining: Amount | Remark


GRADE_NOT_MET: Final = fails("grade-not-met", "blasting", GradeNotMet)
STAIN_ABOVE: Final = fails("stain-above-limit", "blasting", StainAbove)
MISSING: Final = missing("cleanliness-missing", "entry", CleanlinessLacking)
GRADE: Final = TaskCode("grade-cleanliness", CleanlinessLacking, answers=MISSING.name, on_bare=True)
RECORD_STAIN: Final = TaskCode("record-staining", CleanlinessLacking, answers=MISSING.name, on_bare=True)
OBSERVED: Final = StepCode("grade-observed", GradeObserved)
STAINED: Final = StepCode("stain-observed", StainObserved)
